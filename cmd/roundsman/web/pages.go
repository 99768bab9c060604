package web

import (
	"bytes"
	"fmt"
	"html/template"
	"io/fs"
	"path"
	"slices"
	"strings"

	"example.org/roundsman/models"
)

// pages are the templates, each together with the layout.
type pages struct{ byName map[string]*template.Template }

// layoutFiles are the templates that every page is parsed with.
var layoutFiles = []string{"templates/layout.html", "templates/parts.html"}

func loadPages() (*pages, error) {
	names, err := fs.Glob(templateFiles, "templates/*.html")
	if err != nil {
		return nil, fmt.Errorf("listing the templates: %w", err)
	}
	p := &pages{byName: map[string]*template.Template{}}
	for _, name := range names {
		if slices.Contains(layoutFiles, name) {
			continue
		}
		t, err := template.New("layout.html").Option("missingkey=error").Funcs(funcs).ParseFS(templateFiles, append(slices.Clone(layoutFiles), name)...)
		if err != nil {
			return nil, fmt.Errorf("reading the template %s: %w", name, err)
		}
		p.byName[strings.TrimSuffix(path.Base(name), ".html")] = t
	}
	return p, nil
}

// funcs are what templates may use besides the methods of the page's frame.
var funcs = template.FuncMap{
	"pair": func(page, one any) pair { return pair{page, one} },
	"list": func(v ...string) []string { return v },
}

// pair hands a page and one thing of it to a part of a template.
type pair struct{ Page, One any }

// render makes a page whole before a byte of it goes out.
func (p *pages) render(name string, data any) (*bytes.Buffer, error) {
	t, ok := p.byName[name]
	if !ok {
		return nil, fmt.Errorf("there is no template %s", name)
	}
	var b bytes.Buffer
	if err := t.Execute(&b, data); err != nil {
		return nil, fmt.Errorf("rendering %s: %w", name, err)
	}
	return &b, nil
}

// tryOut renders every template with sample data in every language.
func (p *pages) tryOut(samples map[string]func(lang string) any) error {
	for name := range p.byName {
		sample, ok := samples[name]
		if !ok {
			return fmt.Errorf("the template %s has no sample data to be tried out on", name)
		}
		for _, lang := range []string{"en", "es"} {
			out, err := p.render(name, sample(lang))
			if err != nil {
				return err
			}
			// html/template writes this where it holds an address for unsafe: a dead link.
			if bytes.Contains(out.Bytes(), []byte("ZgotmplZ")) {
				return fmt.Errorf("the template %s has an address that is not let through", name)
			}
		}
	}
	return nil
}

// frame is what every page has; templates reach its methods as $.T and so on.
type frame struct {
	Lang  string
	Title string
	Shop  string
	Today models.Date
	User  models.User // zero: nobody is logged in
	Path  string      // of this page, to come back to
	Said  string      // what was done a moment ago
	Tabs  []tab
	Km    bool // distances that no odometer shows are told in kilometers
	Litre bool
	Deg   bool // Celsius
	Zone  zone

	Country string // whose telephone numbers are shown without a country code
	tried
}

// tab is one entry of the pages' menu.
type tab struct {
	Path, Name string
	Here       bool
}

// frame begins a page.
func (rq *request) frame(title string) frame {
	f := frame{Lang: rq.lang, Shop: rq.site.Shop, Today: rq.today(), User: rq.user, Path: rq.r.URL.RequestURI(),
		Km: rq.site.Distance == models.DriverKM, Litre: rq.site.Liters, Deg: rq.site.Celsius, Zone: zone{rq.site.Zone}, Country: rq.site.Country, tried: rq.tried}
	if title != "" {
		f.Title = f.T(title)
	}
	if rq.r.Method != "GET" {
		f.Path = "/"
	}
	f.Said = f.said(rq.r.URL.Query().Get("said"))
	if rq.user.ID == 0 {
		return f
	}
	for _, t := range []struct {
		path, name string
		roles      []models.UserRole
	}{
		{"/today", "Today", desk}, {"/shop", "In the shop", crew}, {"/fleet", "Machines", everyone},
		{"/plan", "Downtime", planners}, {"/rules", "Rules", crew}, {"/settings", "Settings", desk},
	} {
		if slices.Contains(t.roles, rq.user.Role) {
			f.Tabs = append(f.Tabs, tab{t.path, f.T(t.name), strings.HasPrefix(rq.r.URL.Path, t.path)})
		}
	}
	return f
}

// said gives the sentence on what was done a moment ago. It is picked from a
// list by its name, so that a link cannot put words on a page.
func (f frame) said(name string) string {
	words := map[string]string{
		"out":       "You are logged out.",
		"takenin":   "It is written down.",
		"reading":   "The reading is recorded.",
		"same":      "That reading is recorded already.",
		"opened":    "The job is open.",
		"line":      "Written down.",
		"done":      "The work is done. Checks before hand-over come next.",
		"handed":    "The machine is handed over.",
		"answered":  "The answer is recorded.",
		"sent":      "It goes now.",
		"later":     "It goes first as soon as the hours allow; its line says when.",
		"held":      "Held.",
		"dropped":   "Taken out; it will not go.",
		"called":    "The call is recorded.",
		"marked":    "Marked as dealt with.",
		"rules":     "The rules are recorded. The next round works with them.",
		"nothing":   "Nothing new in that.",
		"withdrew":  "All links given out so far are withdrawn.",
		"thanks":    "Thank you. It is recorded.",
		"back":      "Thank you. The shop has been told and will call.",
		"stopped":   "You get no more messages from us.",
		"day":       "Thank you. The shop has your day and will confirm it.",
		"kept":      "Agreed. The owner's people are told.",
		"moved":     "Moved and agreed. The owner's people are told.",
		"off":       "The visit is off.",
		"closure":   "Recorded. The plan is worked out anew.",
		"withdrawn": "It is taken back and counts nowhere any more.",
		"care":      "Recorded.",
		"unruled":   "It is recorded, but no rule is for its kind: nothing can fall due on it.",
	}
	if w := words[name]; w != "" {
		return f.T(w)
	}
	return ""
}

// sampleFrame is the frame of sample pages.
func sampleFrame(lang string) frame {
	return frame{Lang: lang, Title: "Sample", Shop: "Sample shop", Today: models.MustDate("2026-11-02"),
		User: models.User{ID: 1, Name: "Sam", Role: models.UserDesk}, Path: "/today", Said: "Done.",
		Tabs: []tab{{"/today", "Today", true}}, Zone: zone{}, Country: "US"}
}

// sampleTried is the frame of a sample page on which a form was refused.
func sampleTried(lang, act string) frame {
	f := sampleFrame(lang)
	f.tried = tried{Tried: act, refusal: refusal{Why: models.ReasonLeaps, Likely: "6120", Faulty: "no", Remedy: "yes"}}
	return f
}
