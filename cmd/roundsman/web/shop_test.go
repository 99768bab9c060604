package web_test

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/cmd/roundsman/demo"
	"example.org/roundsman/cmd/roundsman/web"
	"example.org/roundsman/config"
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
)

// password is that of every user of the tests.
const password = "four plain words here"

// hashed is its hash, at bcrypt's least cost.
var hashed = sync.OnceValues(func() (string, error) { return web.HashPassword(password, 4) })

// testShop is the demo's shop with its pages, on a store of its own.
type testShop struct {
	t    *testing.T
	app  *app.App
	srv  *httptest.Server
	log  *strings.Builder
	mu   sync.Mutex
	now  time.Time
	ours string // an owner
	his  string // another owner
}

// built is the demo's database after its round, made once.
var built = sync.OnceValues(func() ([]byte, error) {
	dir, err := os.MkdirTemp("", "roundsman")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	a, err := app.New(context.Background(), settings(dir), app.Options{Clock: models.ClockFunc(demo.At)})
	if err != nil {
		return nil, err
	}
	if err := a.LoadDemo(context.Background()); err != nil {
		return nil, err
	}
	if _, err := a.Runner.Run(context.Background(), scheduler.HandSlot(demo.At()), demo.At()); err != nil {
		return nil, err
	}
	path := a.Store.Path()
	if err := a.Close(); err != nil {
		return nil, err
	}
	return os.ReadFile(path)
})

func settings(dir string) config.Settings {
	s := config.Defaults()
	s.Shop.Name, s.Shop.Phone, s.Shop.MailFrom = demo.ShopName, demo.ShopPhone, demo.ShopMail
	if z, err := config.ParseZone(demo.TimeZone); err == nil {
		s.Shop.TimeZone = z
	}
	s.Database.Path = filepath.Join(dir, "shop.db")
	s.Mail.Spool, s.SMS.Spool = filepath.Join(dir, "spool"), filepath.Join(dir, "spool")
	return s
}

// newShop opens the demo's shop three hours after its round.
func newShop(t *testing.T, change ...func(*config.Settings)) *testShop {
	t.Helper()
	data, err := built()
	require.NoError(t, err)
	shop := openShop(t, data, change...)
	owners, err := shop.app.Store.Owners(t.Context())
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(owners), 2)
	shop.ours, shop.his = owners[0].ID, owners[1].ID
	shop.addUser(models.User{Name: "Rosa", Role: models.UserManager, Owner: shop.ours})
	return shop
}

// emptyShop opens a shop of which nothing is known but the rules that come with
// the program.
func emptyShop(t *testing.T, change ...func(*config.Settings)) *testShop {
	t.Helper()
	return openShop(t, nil, change...)
}

// openShop opens a shop on a database's bytes, with a service desk and a
// technician.
func openShop(t *testing.T, data []byte, change ...func(*config.Settings)) *testShop {
	t.Helper()
	dir := t.TempDir()
	s := settings(dir)
	for _, fn := range change {
		fn(&s)
	}
	if data != nil {
		require.NoError(t, os.WriteFile(s.Database.Path, data, 0o600))
	}
	shop := &testShop{t: t, now: demo.At().Add(3 * time.Hour), log: &strings.Builder{}}
	log := slog.New(slog.NewTextHandler(lockedWriter{&shop.mu, shop.log}, nil))
	var err error
	shop.app, err = app.New(t.Context(), s, app.Options{Clock: models.ClockFunc(shop.clock), Log: log})
	require.NoError(t, err)
	pages, err := shop.app.Pages(t.Context(), nil)
	require.NoError(t, err)
	shop.srv = httptest.NewServer(pages.Handler(nil))
	t.Cleanup(func() {
		shop.srv.Close()
		pages.Close()
		require.NoError(t, shop.app.Close())
	})
	shop.addUser(models.User{Name: "Dana", Role: models.UserDesk})
	shop.addUser(models.User{Name: "Tomas", Role: models.UserTechnician})
	return shop
}

func (s *testShop) addUser(u models.User) {
	s.t.Helper()
	hash, err := hashed()
	require.NoError(s.t, err)
	u.CreatedAt, u.Hash = 1, hash
	_, err = s.app.Store.AddUser(s.t.Context(), u)
	require.NoError(s.t, err)
}

type lockedWriter struct {
	mu *sync.Mutex
	w  io.Writer
}

func (l lockedWriter) Write(b []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.w.Write(b)
}

func (s *testShop) clock() time.Time {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.now
}

func (s *testShop) pass(d time.Duration) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.now = s.now.Add(d)
}

// machineOf gives the first machine of an owner.
func (s *testShop) machineOf(owner string) models.Machine {
	s.t.Helper()
	page, err := s.app.Store.Fleet(s.t.Context(), models.FleetFilter{Owner: owner, Limit: 1})
	require.NoError(s.t, err)
	require.NotEmpty(s.t, page.Lines)
	return page.Lines[0].Machine
}

// visitor is a browser without a screen.
type visitor struct {
	t      *testing.T
	base   string
	client *http.Client
}

func (s *testShop) visitor() *visitor {
	jar, err := cookiejar.New(nil)
	require.NoError(s.t, err)
	return &visitor{t: s.t, base: s.srv.URL, client: &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error {
		return http.ErrUseLastResponse
	}}}
}

// as logs a user in.
func (s *testShop) as(name string) *visitor {
	s.t.Helper()
	v := s.visitor()
	a := v.post("/login", url.Values{"name": {name}, "password": {password}})
	require.Equal(s.t, http.StatusSeeOther, a.code, a.body)
	return v
}

// answer is what came back.
type answer struct {
	code   int
	body   string
	to     string // where a redirect leads
	header http.Header
}

func (v *visitor) get(path string) answer {
	v.t.Helper()
	req, err := http.NewRequestWithContext(v.t.Context(), http.MethodGet, v.base+path, nil)
	require.NoError(v.t, err)
	return v.do(req)
}

func (v *visitor) post(path string, form url.Values, head ...string) answer {
	v.t.Helper()
	req, err := http.NewRequestWithContext(v.t.Context(), http.MethodPost, v.base+path, strings.NewReader(form.Encode()))
	require.NoError(v.t, err)
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	for i := 0; i+1 < len(head); i += 2 {
		req.Header.Set(head[i], head[i+1])
	}
	return v.do(req)
}

func (v *visitor) do(req *http.Request) answer {
	v.t.Helper()
	res, err := v.client.Do(req)
	require.NoError(v.t, err)
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	require.NoError(v.t, err)
	return answer{res.StatusCode, string(body), res.Header.Get("Location"), res.Header}
}
