package web

import (
	"io/fs"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

var (
	quoted   = regexp.MustCompile(`"((?:[^"\\]|\\.)*)"`)
	inPages  = regexp.MustCompile(`\.(?:T|N)\s[^}]*`)
	inSource = regexp.MustCompile(`\.(?:T|N|frame)\((?:[^")]*, )?"((?:[^"\\]|\\.)*)"(?:, "((?:[^"\\]|\\.)*)")?`)
)

// texts gives every text that the templates and handlers hand to T and N.
func texts(t *testing.T) map[string]string {
	t.Helper()
	found := map[string]string{}
	names, err := fs.Glob(templateFiles, "templates/*.html")
	require.NoError(t, err)
	for _, name := range names {
		data, err := templateFiles.ReadFile(name)
		require.NoError(t, err)
		for _, call := range inPages.FindAllString(string(data), -1) {
			for _, q := range quoted.FindAllStringSubmatch(call, -1) {
				found[q[1]] = name
			}
		}
	}
	files, err := os.ReadDir(".")
	require.NoError(t, err)
	for _, f := range files {
		if strings.HasSuffix(f.Name(), ".go") && !strings.HasSuffix(f.Name(), "_test.go") {
			data, err := os.ReadFile(f.Name())
			require.NoError(t, err)
			for _, q := range inSource.FindAllStringSubmatch(string(data), -1) {
				found[q[1]], found[q[2]] = f.Name(), f.Name()
			}
		}
	}
	delete(found, "")
	return found
}

func TestEveryTextIsInSpanish(t *testing.T) {
	t.Parallel()
	found := texts(t)
	require.Greater(t, len(found), 200)
	for text, where := range found {
		if text == "hours" || text == "sending" || text == "item" || text == "done" || text == "handed over" || text == "closed" {
			continue // compared with, not shown
		}
		assert.Contains(t, spanish, text, where)
	}
	verbs := regexp.MustCompile(`%[sd]`)
	for en, es := range spanish {
		assert.Equal(t, verbs.FindAllString(en, -1), verbs.FindAllString(es, -1), en)
	}
}

// What the facts call things is said in Spanish too.
func TestTheWordsOfFactsAreInSpanish(t *testing.T) {
	t.Parallel()
	var words []string
	for _, s := range models.Stages() {
		words = append(words, string(s))
	}
	for _, s := range models.JobStates() {
		words = append(words, string(s))
	}
	for _, s := range models.CheckResults() {
		words = append(words, string(s))
	}
	for _, s := range models.UserRoles() {
		words = append(words, string(s))
	}
	for _, s := range models.Roles() {
		words = append(words, string(s))
	}
	for _, s := range models.VisitStates() {
		words = append(words, string(s))
	}
	for _, w := range words {
		if w == "dropped" { // of messages and visits alike
			continue
		}
		assert.Contains(t, spanish, w)
	}
}

func TestNumbersAndDates(t *testing.T) {
	t.Parallel()
	en, es := sampleFrame("en"), sampleFrame("es") // both on November 2, 2026
	assert.Equal(t, "6,120.4", en.Num(models.Num(6120.4)))
	assert.Equal(t, "6\u202f120.4", es.Num(models.Num(6120.4)))
	assert.Equal(t, "0.1", en.Num(models.Num(0.06)))
	assert.Equal(t, "-0.5", en.Num(models.Num(-0.5)))
	assert.Equal(t, "", en.Num(models.Number{}))
	assert.Equal(t, "1,000,000", en.Int(1_000_000))
	assert.Equal(t, "-1,000", en.Int(-1000))
	assert.Equal(t, "100", en.Int(100))
	for day, want := range map[string][2]string{
		"2026-11-02": {"Nov 2", "2 nov"},
		"2026-03-31": {"Mar 31", "31 mar"},
		"2027-03-31": {"Mar 31", "31 mar"}, // within half a year
		"2027-09-30": {"Sep 30, 2027", "30 sep 2027"},
		"2025-12-31": {"Dec 31, 2025", "31 dic 2025"},
	} {
		assert.Equal(t, want, [2]string{en.Day(models.MustDate(day)), es.Day(models.MustDate(day))}, day)
	}
	assert.Equal(t, "Monday, Nov 2", en.Weekday(models.MustDate("2026-11-02")))
	assert.Equal(t, "lunes 2 nov", es.Weekday(models.MustDate("2026-11-02")))
	assert.Equal(t, "9:05", strings.TrimPrefix(en.When(models.InstantOf(time.Date(2026, 11, 2, 9, 5, 0, 0, time.UTC))), "0"))
	// NIST SP 811, appendix B.8: one US liquid quart is 0.946 352 9 liter.
	assert.Equal(t, "4 qt", en.Volume(models.Num(3.7854118)))
	assert.Equal(t, "-40 °F", en.Degrees(models.Num(-40)))
	assert.Equal(t, "212 °F", en.Degrees(models.Num(100)))
	assert.Equal(t, "$1,234.05", en.Money(123405))
	assert.Equal(t, "-$0.50", en.Money(-50))
	assert.Equal(t, "2 h 5 min", en.Hours(125))
}

// People type blanks, and commas of both kinds.
func TestNumbersAsPeopleTypeThem(t *testing.T) {
	t.Parallel()
	for typed, want := range map[string]string{
		"6120": "6120", "6,120": "6120", "6 120.4": "6120.4", "6120,4": "6120.4", "1,234,567": "1234567", "412,55": "412.55", "6\u202f120": "6120", ",5": ".5",
	} {
		assert.Equal(t, want, plainNumber(typed), typed)
	}
}

func TestALimiterSlidesAndStaysSmall(t *testing.T) {
	t.Parallel()
	l := newLimiter(3, 10*time.Minute)
	at := time.Date(2026, 11, 2, 9, 0, 0, 0, time.UTC)
	for range 3 {
		assert.False(t, l.full("a", at))
		l.count("a", at)
	}
	assert.True(t, l.full("a", at))
	assert.False(t, l.full("b", at))
	assert.True(t, l.full("a", at.Add(6*time.Minute)), "still within the window")
	assert.False(t, l.full("a", at.Add(12*time.Minute)))
	for i := range 3 * maxKeys {
		l.count(strings.Repeat("k", i%7)+string(rune(i)), at.Add(12*time.Minute))
	}
	assert.LessOrEqual(t, len(l.now)+len(l.before), 2*maxKeys)
}

func FuzzLinks(f *testing.F) {
	links, err := NewLinks([]byte(strings.Repeat("k", 32)))
	require.NoError(f, err)
	f.Add(links.Make("c1", 1000), int64(1000))
	f.Add("", int64(0))
	f.Add("AAAA", int64(-1))
	f.Fuzz(func(t *testing.T, link string, now int64) {
		contact, given, ok := links.Read(link, models.Instant(now))
		if ok && links.Make(contact, given) != link {
			t.Fatalf("%q opens and is not what was given out", link)
		}
	})
}

func FuzzOwnPath(f *testing.F) {
	for _, s := range []string{"/", "/fleet?x=1", "//evil.example", "https://evil.example", "/\\evil", "", "/a\nb"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		p := ownPath(s)
		if !strings.HasPrefix(p, "/") || strings.HasPrefix(p, "//") || strings.HasPrefix(p, `/\`) {
			t.Fatalf("%q leads to %q", s, p)
		}
	})
}
