package web

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"log/slog"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"time"

	"example.org/roundsman/models"
)

//go:embed templates/*.html
var templateFiles embed.FS

//go:embed static/*
var staticFiles embed.FS

// Options are what the pages are told of the shop. All but Log, PublicURL,
// Settings and Cost are required.
type Options struct {
	Shop      string // its name
	Phone     string // shown to owners; "" shows none
	Zone      *time.Location
	Language  string        // "en" or "es"
	Distance  models.Driver // miles or km: of distances that no odometer shows
	Celsius   bool
	Liters    bool
	PublicURL string // how owners reach the pages; "" where they do not
	LinkKey   []byte // signs owners' links; at least 32 bytes
	Country   string // whose telephone numbers are shown without a country code
	PlanDays  int    // how far ahead downtime is planned
	Settings  []Setting
	Clock     models.Clock
	Log       *slog.Logger
	Cost      int // of password hashes; 0: 12
}

// Site is the pages, ready to serve.
type Site struct {
	Options
	store    Store
	jobs     Jobs
	readings Readings
	owners   Owners
	registry Registry
	outbox   Outbox
	care     Care
	plans    *planDesk
	pages    *pages
	calls    keptCalls
	links    Links
	static   map[string]asset
	logins   *limiter               // failed log-ins of one address with one name
	guesses  *limiter               // failed log-ins of one address
	accounts *limiter               // failed log-ins with one name
	openings *limiter               // requests of one address for links that are none
	nobody   func() (string, error) // hash compared with where there is no such user
	public   *url.URL               // nil: none
}

// asset is one embedded file.
type asset struct {
	body []byte
	kind string
	etag string
}

// New readies the pages. Every template is tried out on sample data in every
// language; one that fails is an error.
func New(p Ports, o Options) (*Site, error) {
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Cost == 0 {
		o.Cost = hashCost
	}
	s := &Site{
		Options: o, store: p.Store, jobs: p.Jobs, care: p.Care, readings: p.Readings, registry: p.Registry, outbox: p.Outbox, owners: p.Owners, plans: newPlanDesk(p.Plans, o.PlanDays), static: map[string]asset{},
		logins:   newLimiter(5, 10*time.Minute),
		guesses:  newLimiter(30, 10*time.Minute),
		accounts: newLimiter(60, time.Hour),
		openings: newLimiter(40, 10*time.Minute),
	}
	var err error
	if s.links, err = NewLinks(o.LinkKey); err != nil {
		return nil, err
	}
	if o.PublicURL != "" {
		if s.public, err = url.Parse(o.PublicURL); err != nil {
			return nil, fmt.Errorf("reading the public address: %w", err)
		}
	}
	s.nobody = sync.OnceValues(func() (string, error) { return s.hash("nobody has this password") })
	if err := s.loadStatic(); err != nil {
		return nil, err
	}
	if s.pages, err = loadPages(); err != nil {
		return nil, err
	}
	if err := s.pages.tryOut(s.samples()); err != nil {
		return nil, err
	}
	return s, nil
}

// Close ends what goes on behind the pages.
func (s *Site) Close() { s.plans.close() }

func (s *Site) loadStatic() error {
	entries, err := staticFiles.ReadDir("static")
	if err != nil {
		return fmt.Errorf("reading the embedded files: %w", err)
	}
	kinds := map[string]string{"css": "text/css; charset=utf-8", "js": "text/javascript; charset=utf-8", "svg": "image/svg+xml"}
	for _, e := range entries {
		body, err := staticFiles.ReadFile("static/" + e.Name())
		if err != nil {
			return fmt.Errorf("reading the embedded files: %w", err)
		}
		sum := sha256.Sum256(body)
		_, ext, _ := strings.Cut(e.Name(), ".")
		s.static[e.Name()] = asset{body: body, kind: kinds[ext], etag: `"` + hex.EncodeToString(sum[:8]) + `"`}
	}
	return nil
}

// maxBody bounds what a form may send, in bytes. The rules page takes a file's
// worth of text.
const maxBody = 256 << 10

// Handler gives the pages with all that guards them. hooks are handlers of
// other programs' posts, by their paths; they have guards of their own.
func (s *Site) Handler(hooks map[string]http.Handler) http.Handler {
	mux := http.NewServeMux()
	for _, r := range routes {
		mux.Handle(r.pattern, s.serve(r))
	}
	mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		s.refuse(w, r, models.Errorf(models.CodeNotFound, "", "no such page"))
	})
	origin := http.NewCrossOriginProtection()
	origin.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.refuse(w, r, errCrossSite)
	}))
	guarded := s.headers(s.knownHost(origin.Handler(mux)))
	outer := http.NewServeMux()
	outer.Handle("/", guarded)
	for path, h := range hooks {
		outer.Handle("POST "+path, h)
	}
	return outer
}

// headers sets what every answer carries, and bounds what a request may send.
func (s *Site) headers(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; "+
			"form-action 'self'; frame-ancestors 'none'; base-uri 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=()")
		h.Set("Cache-Control", "no-store")
		r.Body = http.MaxBytesReader(w, r.Body, maxBody)
		next.ServeHTTP(w, r)
	})
}
