package web_test

import (
	"bytes"
	"encoding/base64"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/cmd/roundsman/web"
	"example.org/roundsman/config"
	"example.org/roundsman/models"
)

// link gives the link of a contact given out at a moment.
func (s *testShop) link(contact string, at time.Time) string {
	s.t.Helper()
	key, err := s.app.Store.WebKey(s.t.Context(), "links", []byte("unused"))
	require.NoError(s.t, err)
	links, err := web.NewLinks(key)
	require.NoError(s.t, err)
	return links.Make(contact, models.InstantOf(at))
}

func (s *testShop) contactOf(owner string) models.Contact {
	s.t.Helper()
	cs, err := s.app.Store.ContactsOf(s.t.Context(), []string{owner})
	require.NoError(s.t, err)
	for _, c := range cs {
		if c.Mail != "" && c.MailStopOn == 0 {
			return c
		}
	}
	s.t.Fatal("no contact")
	return models.Contact{}
}

func TestNothingIsShownOrDoneWithoutLoggingIn(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	m := s.machineOf(s.ours)
	for _, path := range []string{"/", "/today", "/fleet", "/shop", "/plan", "/rules", "/settings", "/trail", "/jobs/1",
		"/machines/" + m.ID, "/machines/" + m.ID + "/use.svg"} {
		a := s.visitor().get(path)
		assert.Equal(t, http.StatusSeeOther, a.code, path)
		assert.True(t, strings.HasPrefix(a.to, "/login"), path)
		assert.NotContains(t, a.body, m.Label()+"<", path)
	}
	for _, path := range []string{"/messages/1/send", "/messages/1/drop", "/calls", "/replies/1", "/replies/1/undo", "/machines/" + m.ID + "/reading",
		"/machines/" + m.ID + "/jobs", "/jobs/1/done", "/jobs/1/checks/1", "/rules", "/plan/keep", "/closures", "/closures/1/retire",
		"/owners/" + s.ours + "/withdraw", "/language", "/logout"} {
		a := s.visitor().post(path, url.Values{"miles": {"1"}})
		assert.Equal(t, http.StatusSeeOther, a.code, path)
		assert.Equal(t, "/login", a.to, path)
	}
	entry, err := s.app.Store.LastEntry(t.Context())
	require.NoError(t, err)
	fresh := newShop(t)
	before, err := fresh.app.Store.LastEntry(t.Context())
	require.NoError(t, err)
	assert.Equal(t, before, entry, "a fact was recorded")
}

// A manager sees the own owner's machines and nothing of anybody else's, by
// whatever address.
func TestAManagerSeesOneOwnersMachinesOnly(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	rosa := s.as("Rosa")
	ours, his := s.machineOf(s.ours), s.machineOf(s.his)
	require.NotEqual(t, ours.Owner, his.Owner)

	assert.Equal(t, http.StatusOK, rosa.get("/machines/"+ours.ID).code)
	nowhere := rosa.get("/machines/there-is-no-such-machine")
	for _, path := range []string{"/machines/" + his.ID, "/machines/" + his.ID + "/use.svg"} {
		a := rosa.get(path)
		assert.Equal(t, http.StatusNotFound, a.code, path)
		assert.Equal(t, nowhere.body, a.body, "a machine of others is told from none")
	}
	assert.Equal(t, http.StatusNotFound, rosa.post("/machines/"+his.ID+"/reading", url.Values{"miles": {"99999"}, "hours": {"9999"}, "sure": {"yes"}}).code)
	assert.Equal(t, http.StatusNotFound, rosa.post("/plan/keep", url.Values{"machine": {his.ID}}).code)
	assert.Equal(t, http.StatusNotFound, rosa.post("/plan/move", url.Values{"machine": {his.ID}, "to": {"2026-12-01"}}).code)
	assert.Equal(t, http.StatusNotFound, rosa.post("/closures", url.Values{"sort": {"blackout"}, "from": {"2026-12-01"}, "to": {"2026-12-02"}, "site": {""}}).code,
		"closing every site is closing others' sites")
	assert.Equal(t, http.StatusForbidden, rosa.post("/closures", url.Values{"sort": {"closed"}, "from": {"2026-12-01"}, "to": {"2026-12-02"}}).code)
	for _, path := range []string{"/today", "/shop", "/jobs/1", "/rules", "/settings", "/trail"} {
		assert.Equal(t, http.StatusForbidden, rosa.get(path).code, path)
	}
	for _, path := range []string{"/messages/1/send", "/calls", "/replies/1", "/replies/1/undo", "/machines/" + ours.ID + "/jobs", "/rules", "/owners/" + s.ours + "/withdraw"} {
		assert.Equal(t, http.StatusForbidden, rosa.post(path, url.Values{}).code, path)
	}
	// No list, search or plan of hers names a machine or owner of others.
	all, err := s.app.Store.Fleet(t.Context(), models.FleetFilter{Owner: s.his, Limit: 100})
	require.NoError(t, err)
	require.NotEmpty(t, all.Lines)
	for _, path := range []string{"/fleet", "/fleet?owner=" + s.his, "/fleet?find=" + his.ID, "/fleet?page=2", "/plan", "/machines/" + ours.ID} {
		body := rosa.get(path).body
		assert.NotContains(t, body, all.Lines[0].Owner.Name, path)
		for _, l := range all.Lines {
			assert.NotContains(t, body, "/machines/"+l.Machine.ID+`"`, path)
		}
	}
}

func TestATechnicianDoesNotDecideForTheDesk(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	tomas := s.as("Tomas")
	for _, path := range []string{"/today", "/settings", "/trail", "/plan", "/intake", "/owners/" + s.ours} {
		assert.Equal(t, http.StatusForbidden, tomas.get(path).code, path)
	}
	for _, path := range []string{"/messages/1/drop", "/calls", "/rules", "/plan/keep", "/owners/" + s.ours + "/withdraw", "/intake", "/owners/" + s.ours, "/owners/" + s.ours + "/contacts"} {
		assert.Equal(t, http.StatusForbidden, tomas.post(path, url.Values{}).code, path)
	}
}

func TestPostsFromOtherSitesDoNothing(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	dana := s.as("Dana")
	m := s.machineOf(s.ours)
	before, err := s.app.Store.LastEntry(t.Context())
	require.NoError(t, err)
	form := url.Values{"sure": {"yes"}}
	for _, meter := range []models.Meter{models.Odometer, models.HourMeter} {
		if m.Meters.Has(meter) {
			form.Set(string(meter), "12345")
		}
	}
	for _, head := range [][]string{
		{"Sec-Fetch-Site", "cross-site", "Origin", "https://evil.example"},
		{"Sec-Fetch-Site", "same-site", "Origin", "http://other.127.0.0.1"},
		{"Origin", "https://evil.example"}, // a browser that does not send Sec-Fetch-Site
		{"Origin", "null"},
	} {
		a := dana.post("/machines/"+m.ID+"/reading", form, head...)
		assert.Equal(t, http.StatusForbidden, a.code, head)
		assert.Contains(t, a.body, "another site")
	}
	after, err := s.app.Store.LastEntry(t.Context())
	require.NoError(t, err)
	assert.Equal(t, before, after)
	assert.Equal(t, http.StatusSeeOther, dana.post("/machines/"+m.ID+"/reading", form, "Sec-Fetch-Site", "same-origin").code)
}

// A name that somebody points at this computer opens nothing.
func TestOtherNamesOfThisHostOpenNothing(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	for host, want := range map[string]int{"rebound.example:80": http.StatusMisdirectedRequest, "localhost:8080": http.StatusOK, "[::1]:8080": http.StatusOK, "127.0.0.1": http.StatusOK} {
		req, err := http.NewRequestWithContext(t.Context(), http.MethodGet, s.srv.URL+"/login", nil)
		require.NoError(t, err)
		req.Host = host
		assert.Equal(t, want, s.visitor().do(req).code, host)
	}
}

func TestGuessingPasswordsIsSlowedDown(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	v := s.visitor()
	wrong := url.Values{"name": {"Dana"}, "password": {"a wrong password"}}
	for range 5 {
		assert.Equal(t, http.StatusUnprocessableEntity, v.post("/login", wrong).code)
	}
	assert.Equal(t, http.StatusTooManyRequests, v.post("/login", wrong).code)
	right := url.Values{"name": {"dana"}, "password": {password}}
	assert.Equal(t, http.StatusTooManyRequests, v.post("/login", right).code, "the name's letters in another case")
	// The real Dana comes from elsewhere, through the shop's own proxy.
	assert.Equal(t, http.StatusSeeOther, v.post("/login", right, "X-Forwarded-For", "192.0.2.7").code)
	// A guesser with many addresses runs into the account's own limit.
	refused := 0
	for i := range 80 {
		a := v.post("/login", wrong, "X-Forwarded-For", "198.51.100."+string(rune('0'+i%10))+string(rune('0'+i/10)))
		if a.code == http.StatusTooManyRequests {
			refused++
		}
	}
	assert.Positive(t, refused)
	s.pass(2 * time.Hour)
	assert.Equal(t, http.StatusSeeOther, v.post("/login", right).code, "it passes")
}

// Neither the words nor the status tell whether there is such a user.
func TestAWrongNameLooksLikeAWrongPassword(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	a := s.visitor().post("/login", url.Values{"name": {"Dana"}, "password": {"wrong wrong wrong"}})
	b := s.visitor().post("/login", url.Values{"name": {"Nobody"}, "password": {"wrong wrong wrong"}})
	assert.Equal(t, a.code, b.code)
	assert.Equal(t, strings.ReplaceAll(a.body, "Dana", "X"), strings.ReplaceAll(b.body, "Nobody", "X"))
	long := s.visitor().post("/login", url.Values{"name": {"Dana"}, "password": {password + strings.Repeat("x", 100)}})
	assert.Equal(t, http.StatusUnprocessableEntity, long.code, "bcrypt reads 72 bytes: a longer password must not match by its head")
}

func TestSessionsEnd(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	dana := s.as("Dana")
	assert.Equal(t, http.StatusOK, dana.get("/today").code)
	other := s.as("Dana")
	assert.Equal(t, http.StatusSeeOther, dana.post("/logout", nil).code)
	assert.Equal(t, http.StatusSeeOther, dana.get("/today").code, "logged out")
	assert.Equal(t, http.StatusOK, other.get("/today").code, "the other browser goes on")
	s.pass(8 * 24 * time.Hour)
	assert.Equal(t, http.StatusSeeOther, other.get("/today").code, "a week without use")

	daily := s.as("Dana")
	for range 29 {
		s.pass(24 * time.Hour)
		require.Equal(t, http.StatusOK, daily.get("/settings").code)
	}
	s.pass(2 * 24 * time.Hour)
	assert.Equal(t, http.StatusSeeOther, daily.get("/settings").code, "a month at most")

	last := s.as("Dana")
	require.NoError(t, s.app.Store.RemoveUser(t.Context(), "Dana", models.InstantOf(s.clock())))
	assert.Equal(t, http.StatusSeeOther, last.get("/today").code, "removed")
}

func TestTheSessionsCookieIsGuarded(t *testing.T) {
	t.Parallel()
	s := newShop(t, func(c *config.Settings) { c.Web.PublicURL = "https://shop.example.com" })
	v := s.visitor()
	a := v.post("/login", url.Values{"name": {"Dana"}, "password": {password}})
	assert.Regexp(t, `^roundsman=[\w-]{43}; Path=/; Max-Age=\d+; HttpOnly; SameSite=Lax$`, a.header.Get("Set-Cookie"))

	req, err := http.NewRequestWithContext(t.Context(), http.MethodPost, s.srv.URL+"/login", strings.NewReader(url.Values{"name": {"Dana"}, "password": {password}}.Encode()))
	require.NoError(t, err)
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Host = "shop.example.com"
	b := s.visitor().do(req)
	assert.Regexp(t, `^__Host-roundsman=[\w-]{43}; Path=/; Max-Age=\d+; HttpOnly; Secure; SameSite=Lax$`, b.header.Get("Set-Cookie"))
}

func TestAOneTimeLogInWorksOnceAndNotByLooking(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	u, ok, err := s.app.Store.UserNamed(t.Context(), "Tomas")
	require.NoError(t, err)
	require.True(t, ok)
	link, err := s.app.OneTimeLogin(t.Context(), u, s.srv.URL)
	require.NoError(t, err)
	path := strings.TrimPrefix(link, s.srv.URL)
	for range 3 { // mail scanners look
		assert.Equal(t, http.StatusOK, s.visitor().get(path).code)
	}
	v := s.visitor()
	assert.Equal(t, http.StatusUnprocessableEntity, v.post(path, url.Values{"password": {"short"}}).code, "a bad password does not use it up")
	assert.Equal(t, http.StatusSeeOther, v.post(path, url.Values{"password": {"another four words"}}).code)
	assert.Equal(t, http.StatusOK, v.get("/shop").code)
	assert.Equal(t, http.StatusGone, s.visitor().post(path, nil).code, "used")
	assert.Equal(t, http.StatusSeeOther, s.visitor().post("/login", url.Values{"name": {"Tomas"}, "password": {"another four words"}}).code)

	link, err = s.app.OneTimeLogin(t.Context(), u, s.srv.URL)
	require.NoError(t, err)
	s.pass(4 * 24 * time.Hour)
	assert.Equal(t, http.StatusGone, s.visitor().post(strings.TrimPrefix(link, s.srv.URL), nil).code, "expired")
}

func TestLoggingInLeadsNowhereElse(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	for _, next := range []string{"https://evil.example/", "//evil.example", "/\\evil.example", "javascript:alert(1)", "\t//evil.example", "/login?next=/login"} {
		a := s.visitor().post("/login", url.Values{"name": {"Dana"}, "password": {password}, "next": {next}})
		assert.Equal(t, "/", a.to, next)
	}
	a := s.visitor().post("/login", url.Values{"name": {"Dana"}, "password": {password}, "next": {"/fleet?find=U-6"}})
	assert.Equal(t, "/fleet?find=U-6", a.to)
}

// A link opens its contact's machines and nothing else, until it expires or is
// withdrawn; a link that was altered in any character opens nothing.
func TestOwnersLinks(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	c := s.contactOf(s.ours)
	good := s.link(c.ID, s.clock())
	v := s.visitor()
	a := v.get("/o/" + good)
	require.Equal(t, http.StatusOK, a.code)
	ours, his := s.machineOf(s.ours), s.machineOf(s.his)
	assert.Contains(t, a.body, ours.Label())
	assert.Equal(t, http.StatusNotFound, v.post("/o/"+good+"/reading", url.Values{"machine": {his.ID}, "hours": {"9999"}, "miles": {"99999"}, "sure": {"yes"}}).code)
	assert.Equal(t, http.StatusNotFound, v.post("/o/"+good+"/back", url.Values{"machine": {his.ID}}).code)
	assert.Equal(t, http.StatusNotFound, v.post("/o/"+good+"/day", url.Values{"machine": {his.ID}, "day": {"2026-12-01"}}).code)
	for _, path := range []string{"/fleet", "/machines/" + ours.ID} {
		assert.Equal(t, http.StatusSeeOther, v.get(path).code, "the link logs nobody in")
	}

	raw, err := base64.RawURLEncoding.DecodeString(good)
	require.NoError(t, err)
	for i := 0; i < len(raw); i += 3 {
		bad := append([]byte(nil), raw...)
		bad[i] ^= 1
		assert.Equal(t, http.StatusGone, func() int {
			w := s.visitor()
			return w.post("/o/"+base64.RawURLEncoding.EncodeToString(bad)+"/stop", nil, "X-Forwarded-For", "192.0.2."+string(rune('1'+i%9))).code
		}(), "byte %d", i)
	}
	other := s.contactOf(s.his)
	forged := append(append([]byte(nil), raw[:24]...), other.ID...)
	assert.Equal(t, http.StatusGone, s.visitor().get("/o/"+base64.RawURLEncoding.EncodeToString(forged)).code, "another contact under the same signature")

	s.pass(61 * 24 * time.Hour)
	assert.Equal(t, http.StatusGone, v.get("/o/"+good).code, "expired")
	fresh := s.link(c.ID, s.clock())
	assert.Equal(t, http.StatusOK, v.get("/o/"+fresh).code)
	dana := s.as("Dana")
	assert.Equal(t, http.StatusSeeOther, dana.post("/owners/"+s.ours+"/withdraw", nil).code)
	assert.Equal(t, http.StatusGone, v.get("/o/"+fresh).code, "withdrawn")
	s.pass(time.Minute)
	assert.Equal(t, http.StatusOK, v.get("/o/"+s.link(c.ID, s.clock())).code, "a new one works")
}

func TestGuessingLinksIsSlowedDown(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	v := s.visitor()
	last := 0
	for range 60 {
		secret, _ := web.NewSecret()
		last = v.get("/o/" + secret).code
	}
	assert.Equal(t, http.StatusTooManyRequests, last)
	assert.Equal(t, http.StatusTooManyRequests, v.get("/calendar/"+s.link("x", s.clock())).code)
}

// Opening a link, as mail scanners do, changes nothing; stopping takes one
// press, or one POST of a mail program (RFC 8058, 3.2).
func TestALinkStopsMessagesByPostOnly(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	c := s.contactOf(s.ours)
	link := s.link(c.ID, s.clock())
	v := s.visitor()
	for range 3 {
		require.Equal(t, http.StatusOK, v.get("/o/"+link).code)
		page := v.get("/o/" + link + "/stop")
		require.Equal(t, http.StatusOK, page.code, "a person who opens it gets a page")
		assert.Contains(t, page.body, `<details open><summary>Stop messages`)
	}
	now, _, err := s.app.Store.Contact(t.Context(), c.ID)
	require.NoError(t, err)
	assert.Zero(t, now.MailStopOn)
	var form bytes.Buffer
	parts := multipart.NewWriter(&form)
	require.NoError(t, parts.WriteField("List-Unsubscribe", "One-Click"))
	require.NoError(t, parts.Close())
	req, err := http.NewRequestWithContext(t.Context(), http.MethodPost, v.base+"/o/"+link+"/stop", &form)
	require.NoError(t, err)
	req.Header.Set("Content-Type", parts.FormDataContentType())
	assert.Equal(t, http.StatusOK, v.do(req).code, "a one-click request is not led on (RFC 8058, 3.1), in either form")
	a := v.post("/o/"+link+"/stop", url.Values{"List-Unsubscribe": {"One-Click"}})
	assert.Equal(t, http.StatusOK, a.code)
	now, _, err = s.app.Store.Contact(t.Context(), c.ID)
	require.NoError(t, err)
	assert.NotZero(t, now.MailStopOn)
	assert.Zero(t, now.SMSStopOn, "the mail program stops mail")
}

func TestACalendarsAddressOpensItsOwnersVisitsOnly(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	body := s.as("Rosa").get("/plan").body
	at := strings.Index(body, "/calendar/")
	require.Positive(t, at)
	path := body[at : at+strings.IndexByte(body[at:], '"')]
	a := s.visitor().get(path)
	require.Equal(t, http.StatusOK, a.code)
	assert.Contains(t, a.body, "BEGIN:VCALENDAR")
	assert.Equal(t, http.StatusGone, s.visitor().get("/calendar/"+s.link(s.contactOf(s.ours).ID, s.clock())).code, "an owner's link is no calendar's address")
	assert.Equal(t, http.StatusGone, s.visitor().get("/o/"+strings.TrimPrefix(path, "/calendar/")).code, "and the other way round")
}

func TestHugeFormsAreRefused(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	dana := s.as("Dana")
	m := s.machineOf(s.ours)
	a := dana.post("/machines/"+m.ID+"/jobs", url.Values{"complaint": {strings.Repeat("x", 1<<20)}})
	assert.Equal(t, http.StatusRequestEntityTooLarge, a.code)
	a = dana.post("/machines/"+m.ID+"/jobs", url.Values{"complaint": {strings.Repeat("long ", 200)}})
	assert.Equal(t, http.StatusUnprocessableEntity, a.code)
	req, err := http.NewRequestWithContext(t.Context(), http.MethodPost, s.srv.URL+"/calls", strings.NewReader("%zz=&&&=%"))
	require.NoError(t, err)
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	assert.Equal(t, http.StatusUnprocessableEntity, dana.do(req).code)
	find := dana.get("/fleet?find=" + url.QueryEscape(strings.Repeat("%_' OR 1=1 -- ", 400)))
	assert.Equal(t, http.StatusOK, find.code)
	assert.Contains(t, find.body, "No machine here.")
}

// Odd addresses end in a page that says nothing of the inside.
func TestErrorPagesLeakNothing(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	dana := s.as("Dana")
	for _, path := range []string{"/nowhere", "/machines/%00", "/machines/%2e%2e%2fetc", "/jobs/x'--", "/static/..%2fweb.go", "/static/nothing",
		"/o/", "/o/%ff%fe", "/enter/x", "/machines/" + strings.Repeat("a", 5000), "/trail?before=x", "/fleet?page=-1", "/fleet?page=99999999999999999999"} {
		a := dana.get(path)
		assert.Less(t, a.code, 500, path)
		for _, word := range []string{"goroutine", "gorm", "SQL", "sql:", ".go:", "template", "/tmp/", "panic"} {
			assert.NotContains(t, a.body, word, path)
		}
	}
	require.NoError(t, s.app.Store.Close())
	a := dana.get("/today")
	assert.GreaterOrEqual(t, a.code, 500)
	assert.NotContains(t, a.body, "database is closed")
	assert.Contains(t, s.log.String(), "database is closed", "the log has it")
}

func TestEveryAnswerCarriesItsGuards(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	dana := s.as("Dana")
	for _, path := range []string{"/today", "/login", "/nowhere", "/static/site.css", "/fleet"} {
		h := dana.get(path).header
		csp := h.Get("Content-Security-Policy")
		assert.Contains(t, csp, "default-src 'none'", path)
		assert.NotContains(t, csp, "unsafe", path)
		assert.Contains(t, csp, "frame-ancestors 'none'", path)
		assert.Equal(t, "nosniff", h.Get("X-Content-Type-Options"), path)
		assert.Equal(t, "same-origin", h.Get("Referrer-Policy"), path)
	}
	assert.Equal(t, "no-store", dana.get("/today").header.Get("Cache-Control"))
	body := dana.get("/today").body
	for _, inline := range []string{"<style", " style=", "<script>", " onclick=", " onload=", "javascript:", "http://", "https://"} {
		assert.NotContains(t, body, inline)
	}
}
