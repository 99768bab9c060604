package web

import (
	"bytes"
	"cmp"
	"context"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"time"

	"example.org/roundsman/models"
)

// request is one request of a viewer.
type request struct {
	site  *Site
	w     http.ResponseWriter
	r     *http.Request
	now   time.Time
	lang  string
	user  models.User // zero: not logged in
	token string      // digest of the session's secret
	scope scope       // machines as this viewer may see them

	status int   // of the page, where it shows a form that was refused; 0: it shows none
	tried  tried // that form
}

func (rq *request) ctx() context.Context { return rq.r.Context() }

// today gives the shop's date.
func (rq *request) today() models.Date { return models.DateOf(rq.now.In(rq.site.Zone)) }

func (rq *request) instant() models.Instant { return models.InstantOf(rq.now) }

// entry begins an entry of facts by the viewer.
func (rq *request) entry(means string) models.Entry {
	return models.Entry{RecordedAt: rq.instant(), Actor: rq.user.Name, Means: means, Note: "pages"}
}

// serve makes a handler of a route: who is it, may they, do it, and what to
// say where it fails.
func (s *Site) serve(rt route) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		rq := &request{site: s, w: w, r: r, now: s.Clock.Now(), lang: s.Language}
		defer func() {
			if p := recover(); p != nil {
				s.Log.Error("page broke off", "method", r.Method, "path", r.URL.Path, "panic", p)
				rq.fail(models.Errorf(models.CodeInternal, "", "broke off"))
			}
		}()
		if err := rq.run(rt); err != nil {
			rq.fail(err)
		}
	})
}

func (rq *request) run(rt route) error {
	if !strings.HasPrefix(rq.r.URL.Path, "/static/") {
		if err := rq.identify(); err != nil {
			return err
		}
	}
	if rt.roles != nil && rq.user.ID == 0 {
		if rq.r.Method != http.MethodGet {
			return rq.to("/login", "")
		}
		return rq.to("/login?next="+url.QueryEscape(rq.r.URL.RequestURI()), "")
	}
	if rt.roles != nil && !rt.may(rq.user.Role) {
		return errNotYours
	}
	if rq.r.Method == http.MethodPost {
		read := rq.r.ParseForm
		if strings.HasPrefix(rq.r.Header.Get("Content-Type"), "multipart/form-data") { // as RFC 8058 lets mail programs send
			read = func() error { return rq.r.ParseMultipartForm(maxBody) }
		}
		if err := read(); err != nil {
			return formError(err)
		}
	}
	return rt.do(rq)
}

// formError says that a form could not be read.
func formError(err error) error {
	if status, _, _ := statusOf(err, ""); status == errTooLarge.status {
		return errTooLarge
	}
	return models.Errorf(models.CodeInvalid, "go back and send it again", "the form could not be read")
}

// value gives one field of the form, trimmed.
func (rq *request) value(name string) string { return strings.TrimSpace(rq.r.PostFormValue(name)) }

// text gives one field of a form on one line; one longer than max characters
// is refused.
func (rq *request) text(name string, max int) (string, error) {
	s := strings.Join(strings.Fields(strings.ToValidUTF8(rq.r.PostFormValue(name), "")), " ")
	if n := len([]rune(s)); n > max {
		return "", models.Errorf(models.CodeInvalid, "say it shorter", "that has %d characters; at most %d fit", n, max)
	}
	return s, nil
}

// render writes a page.
func (rq *request) render(name string, data any) error {
	return rq.renderAs(cmp.Or(rq.status, http.StatusOK), name, data)
}

func (rq *request) renderAs(status int, name string, data any) error {
	body, err := rq.site.pages.render(name, data)
	if err != nil {
		return err
	}
	rq.write(status, body)
	return nil
}

func (rq *request) write(status int, body *bytes.Buffer) {
	rq.w.Header().Set("Content-Type", "text/html; charset=utf-8")
	rq.w.WriteHeader(status)
	if _, err := body.WriteTo(rq.w); err != nil {
		rq.site.Log.Debug("page not taken", "path", rq.r.URL.Path, "err", err)
	}
}

// to leads the browser on; said names one of the sentences of said.
func (rq *request) to(path, said string) error {
	if said != "" {
		path, fragment, _ := strings.Cut(path, "#")
		sep := "?"
		if strings.Contains(path, "?") {
			sep = "&"
		}
		path += sep + "said=" + said
		if fragment != "" {
			path += "#" + fragment
		}
		http.Redirect(rq.w, rq.r, path, http.StatusSeeOther)
		return nil
	}
	http.Redirect(rq.w, rq.r, path, http.StatusSeeOther)
	return nil
}

// trace writes a line of the audit trail.
func (rq *request) trace(who, what, about, detail string) error {
	return rq.site.store.AddTrace(rq.ctx(), models.AuditEntry{At: rq.instant(), Who: models.Shorten(who, 80), From: rq.address(),
		What: what, About: models.Shorten(about, 200), Detail: models.Shorten(detail, 500)})
}

// did writes a line of the trail for the viewer.
func (rq *request) did(what, about, detail string) error {
	return rq.trace(rq.user.Name, what, about, detail)
}

// address gives the viewer's network address. What a proxy says of it is
// believed where the proxy is on this host, and then its last word only.
func (rq *request) address() string {
	host, _, err := net.SplitHostPort(rq.r.RemoteAddr)
	if err != nil {
		host = rq.r.RemoteAddr
	}
	ip, err := netip.ParseAddr(host)
	if err != nil || !ip.IsLoopback() {
		return host
	}
	said := strings.Join(rq.r.Header.Values("X-Forwarded-For"), ",")
	if said = strings.TrimSpace(said[strings.LastIndexByte(said, ',')+1:]); said != "" {
		if far, err := netip.ParseAddr(said); err == nil {
			return far.String()
		}
	}
	return host
}

// network gives the part of an address that one customer of a provider has to
// himself: IPv6 by its /64, so that a limit is not dodged by its other halves.
func network(address string) string {
	ip, err := netip.ParseAddr(address)
	if err != nil || !ip.Is6() || ip.Is4In6() {
		return address
	}
	p, err := ip.Prefix(64)
	if err != nil {
		return address
	}
	return p.String()
}

// knownHost refuses requests that name a host other than the pages' own, so
// that a name which somebody points at this computer opens nothing.
func (s *Site) knownHost(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		host := r.Host
		if h, _, err := net.SplitHostPort(host); err == nil {
			host = h
		}
		host = strings.Trim(host, "[]")
		_, err := netip.ParseAddr(host)
		own := err == nil || host == "localhost" || s.public != nil && strings.EqualFold(host, s.public.Hostname())
		if !own {
			s.refuse(w, r, errWrongHost)
			return
		}
		next.ServeHTTP(w, r)
	})
}
