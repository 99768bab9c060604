package main

import (
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/cmd/roundsman/web"
	"example.org/roundsman/config"
	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
	"example.org/roundsman/scheduler/usage"
)

// parityDay is the day on which the readings of TestEveryFaceTakesAReadingAlike
// come in.
var parityDay = models.MustDate("2026-11-02")

// parityBooks is one machine that was read every month at 300 miles a month,
// 6,200 miles last, two weeks before parityDay.
func parityBooks() map[string]string {
	rows := "machine,at,miles,hours,source\n"
	for i := range 18 {
		rows += fmt.Sprintf("M1,%s,%d,,owner\n", parityDay.AddDays(-14-30*(17-i)), 1100+300*i)
	}
	return map[string]string{
		"owners.csv":   books["owners.csv"],
		"contacts.csv": books["contacts.csv"],
		"machines.csv": "machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max,cooling\nM1,R1,utv,O1,miles,2025-01-10,300,,,liquid\n",
		"readings.csv": rows,
	}
}

// face brings one typed value of the odometer in.
type face struct {
	name string
	// bring gives what happened as far as the face tells it: the words shown.
	bring func(t *testing.T, db, typed string, sure bool) (accepted bool, words string)
	// keeps says that a doubtful value is stored and left out, not refused.
	keeps bool
	// plain takes figures only, without marks of thousands or words.
	plain bool
}

func faces() []face {
	withSure := func(sure bool, args ...string) []string {
		if sure {
			args = append(args, "--sure")
		}
		return args
	}
	byCommand := func(args ...string) func(*testing.T, string, string, bool) (bool, string) {
		return func(t *testing.T, db, typed string, sure bool) (bool, string) {
			o := command(t, db, withSure(sure, append(args, "--miles", typed)...)...)
			return o.code == exitDone, o.errs
		}
	}
	return []face{
		{name: "command", bring: byCommand("reading", "R1")},
		{name: "job opened by command", bring: byCommand("job", "open", "R1", "--complaint", "squeaks")},
		{name: "job done by command", bring: func(t *testing.T, db, typed string, sure bool) (bool, string) {
			must(t, db, "job", "open", "R1", "--complaint", "squeaks")
			return byCommand("job", "done", "1", "--correction", "greased")(t, db, typed, sure)
		}},
		{name: "machine page", bring: byPage("/machines/M1/reading")},
		{name: "job opened by page", bring: byPage("/machines/M1/jobs")},
		{name: "job done by page", bring: func(t *testing.T, db, typed string, sure bool) (bool, string) {
			must(t, db, "job", "open", "R1", "--complaint", "squeaks")
			return byPage("/jobs/1/done")(t, db, typed, sure)
		}},
		{name: "owner's link", bring: byLink},
		{name: "reply", plain: true, bring: func(t *testing.T, db, typed string, sure bool) (bool, string) {
			text := []string{"reply", "--from", "ada@example.com", "--text", typed + " mi"}
			o := command(t, db, text...)
			if sure { // the answer to what was asked back
				o = at(t, testNow.Add(2*time.Hour), db, text...)
			}
			return !strings.Contains(o.out, "asked back"), o.out
		}},
		{name: "import", plain: true, keeps: true, bring: func(t *testing.T, db, typed string, sure bool) (bool, string) {
			said := ""
			if sure {
				said = "yes"
			}
			o := command(t, db, "import", write(t, map[string]string{
				"machines.csv": parityBooks()["machines.csv"],
				"readings.csv": fmt.Sprintf("machine,at,miles,hours,source,sure\nM1,%s,%s,,shop,%s\n", parityDay, typed, said),
			}))
			doubted := strings.Contains(o.errs, "is kept and left out")
			require.Equal(t, map[bool]int{false: exitDone, true: exitPartial}[doubted], o.code, o.errs)
			return !doubted, o.errs
		}},
	}
}

// openPages opens a database's pages, logged in as the desk.
func openPages(t *testing.T, db string) (*app.App, *httptest.Server, *http.Client) {
	t.Helper()
	s := config.Defaults()
	s.Database.Path = db
	zone, err := config.ParseZone("UTC")
	require.NoError(t, err)
	s.Shop.TimeZone = zone
	a, err := app.New(t.Context(), s, app.Options{Clock: models.ClockFunc(func() time.Time { return testNow })})
	require.NoError(t, err)
	pages, err := a.Pages(t.Context(), nil)
	require.NoError(t, err)
	srv := httptest.NewServer(pages.Handler(nil))
	t.Cleanup(func() {
		srv.Close()
		pages.Close()
		require.NoError(t, a.Close())
	})
	hash, err := web.HashPassword("a long password", 4)
	require.NoError(t, err)
	_, err = a.Store.AddUser(t.Context(), models.User{Name: "Dana", Role: models.UserDesk, CreatedAt: 1, Hash: hash})
	require.NoError(t, err)
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	client := &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	code, body := postForm(t, client, srv.URL+"/login", url.Values{"name": {"Dana"}, "password": {"a long password"}})
	require.Equal(t, http.StatusSeeOther, code, body)
	return a, srv, client
}

func postForm(t *testing.T, c *http.Client, to string, form url.Values) (int, string) {
	t.Helper()
	req, err := http.NewRequestWithContext(t.Context(), http.MethodPost, to, strings.NewReader(form.Encode()))
	require.NoError(t, err)
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	res, err := c.Do(req)
	require.NoError(t, err)
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	return res.StatusCode, string(body)
}

// typedForm is a form with a typed odometer, and a word that must not be lost.
func typedForm(typed string, sure bool) url.Values {
	form := url.Values{"miles": {typed}, "machine": {"M1"}, "complaint": {"squeaks"}, "correction": {"greased"}}
	if sure {
		form.Set("sure", "yes")
	}
	return form
}

func byPage(path string) func(*testing.T, string, string, bool) (bool, string) {
	return func(t *testing.T, db, typed string, sure bool) (bool, string) {
		_, srv, client := openPages(t, db)
		code, body := postForm(t, client, srv.URL+path, typedForm(typed, sure))
		if code != http.StatusSeeOther {
			assert.Contains(t, body, `value="`+typed+`"`, "what was typed is kept")
			if strings.HasSuffix(path, "/done") {
				assert.Contains(t, body, `value="greased"`, "what was typed is kept")
			}
		}
		return code == http.StatusSeeOther, body
	}
}

func byLink(t *testing.T, db, typed string, sure bool) (bool, string) {
	a, srv, client := openPages(t, db)
	key, err := a.Store.WebKey(t.Context(), "links", make([]byte, 32)) // that of the opened pages
	require.NoError(t, err)
	links, err := web.NewLinks(key)
	require.NoError(t, err)
	contacts, err := a.Store.ContactsOf(t.Context(), []string{"O1"})
	require.NoError(t, err)
	link := srv.URL + "/o/" + links.Make(contacts[0].ID, models.InstantOf(testNow))
	code, body := postForm(t, client, link+"/reading", typedForm(typed, sure))
	return code == http.StatusSeeOther, body
}

// storedOn gives what stands in a database for a day, sources apart, and why
// it is doubted.
func storedOn(t *testing.T, db string) (rows []string, doubt models.Reason) {
	t.Helper()
	st, err := store.Open(t.Context(), db, store.Options{})
	require.NoError(t, err)
	defer func() { require.NoError(t, st.Close()) }()
	h, err := st.History(t.Context(), "M1", models.Window{})
	require.NoError(t, err)
	screened := usage.Screen(h)
	for _, r := range h.Readings {
		if r.At != parityDay {
			continue
		}
		rows = append(rows, fmt.Sprintf("%s mi, %s h, +-%s, %s", r.Miles, r.Hours, r.Width, r.Standing))
		for _, d := range screened.Doubts {
			if d.Reading == r.Row {
				doubt = d.Reason
			}
		}
	}
	return rows, doubt
}

// TestEveryFaceTakesAReadingAlike drives the same facts through every face:
// the same are accepted, the same are doubted for the same reason, and the same
// rows are stored.
func TestEveryFaceTakesAReadingAlike(t *testing.T) {
	started := map[bool]string{} // shops with their books, by whether only the last reading is known
	for _, few := range []bool{false, true} {
		books := parityBooks()
		if rows := strings.SplitAfter(books["readings.csv"], "\n"); few {
			books["readings.csv"] = rows[0] + strings.Replace(rows[len(rows)-2], "owner", "shop", 1)
		}
		started[few] = newDB(t)
		must(t, started[few], "import", write(t, books))
	}
	for _, c := range []struct {
		name, typed string
		sure        bool
		words       bool // more than a plain figure
		few         bool // only the last reading is known
		doubt       models.Reason
		row         string
	}{
		{name: "a plain value", typed: "6330.5", row: "6330.5 mi,  h, +-, "},
		{name: "with the marks of thousands", typed: "6,330.5", words: true, row: "6330.5 mi,  h, +-, "},
		{name: "a decimal comma", typed: "6 330,5", words: true, row: "6330.5 mi,  h, +-, "},
		{name: "with its unit", typed: "6330 miles", words: true, row: "6330 mi,  h, +-, "},
		{name: "a guess", typed: "about 6300", words: true, row: "6300 mi,  h, +-315, "},
		{name: "ten times too much", typed: "63300", doubt: models.ReasonTenths},
		{name: "it falls", typed: "3100", doubt: models.ReasonFalls},
		{name: "a digit too many after one reading", typed: "62050", few: true, doubt: models.ReasonTenths},
		{name: "it falls after one reading", typed: "62", few: true, doubt: models.ReasonTrip},
		{name: "plain after one reading", typed: "6330.5", few: true, row: "6330.5 mi,  h, +-, "},
		{name: "a digit too many after one reading, sure", typed: "62050", few: true, sure: true, row: "62050 mi,  h, +-, confirmed"},
		{name: "ten times too much, sure", typed: "63300", sure: true, row: "63300 mi,  h, +-, confirmed"},
	} {
		for _, f := range faces() {
			if f.plain && c.words {
				continue
			}
			t.Run(c.name+"/"+f.name, func(t *testing.T) {
				t.Parallel()
				db := newDB(t)
				shop, err := os.ReadFile(started[c.few])
				require.NoError(t, err)
				require.NoError(t, os.WriteFile(db, shop, 0o600))
				accepted, words := f.bring(t, db, c.typed, c.sure)
				rows, doubt := storedOn(t, db)
				assert.Equal(t, c.doubt == "", accepted, words)
				if c.doubt == "" {
					assert.Equal(t, []string{c.row}, rows)
					assert.Empty(t, doubt)
					return
				}
				if f.keeps {
					assert.Len(t, rows, 1, "kept")
					assert.Equal(t, c.doubt, doubt)
				} else {
					assert.Empty(t, rows, "refused, and nothing stored")
				}
				if f.name != "reply" { // which asks in words of its own
					assert.Contains(t, words, string(c.doubt))
				}
			})
		}
	}
}
