package inbox

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

func span(least, likely, most float64) Span {
	return Span{Least: models.Num(least), Likely: models.Num(likely), Most: models.Num(most),
		Last: models.Num(least), LastOn: models.MustDate("2026-11-10")}
}

// fleet is an invented ranch: a side-by-side with both meters, a quad whose
// whole tag is a digit, a generator.
func fleet() []Known {
	return []Known{
		{Machine: models.Machine{ID: "m-12", Tag: "R12", Kind: "utv", Meters: models.MetersBoth},
			Miles: span(6050, 6120, 6300), Hours: span(400, 412, 440), Items: []string{"coolant"}, Check: "7"},
		{Machine: models.Machine{ID: "m-4", Tag: "4", Kind: "atv", Meters: models.MetersMiles},
			Miles: span(2100, 2150, 2300), Items: []string{"oil", "belt"}},
		{Machine: models.Machine{ID: "m-gen", Tag: "GEN1", Kind: "generator", Meters: models.MetersHours},
			Hours: span(1200, 1250, 1400), Check: "8"},
	}
}

// situation sets up what was asked before the replies of a section of
// testdata/replies.txt came in, on Wednesday, November 25, 2026.
func situation(t *testing.T, name string) Asked {
	t.Helper()
	if sent, ok := strings.CutPrefix(name, "sent "); ok { // what the replies of testdata/played answer
		return played{Situation: sent}.before(t)
	}
	a := Asked{Today: models.MustDate("2026-11-25"), Language: "en", Purpose: models.PurposeReading,
		Machines: fleet(), About: []string{"m-12"}}
	reading := Act{Kind: KindReading, Machine: "m-12"}
	switch name {
	case "one":
	case "fleet":
		a.About = []string{"m-gen", "m-12", "m-4"}
	case "notice":
		a.Purpose = models.PurposeNotices
	case "two":
		a.Purpose, a.About = models.PurposeNotices, []string{"m-12", "m-4"}
	case "check":
		a.Purpose = models.PurposeCheck
	case "checks":
		a.Purpose, a.About = models.PurposeCheck, []string{"m-12", "m-gen"}
	case "visit":
		a.Purpose = models.PurposeVisit
	case "none":
		a.Purpose, a.About = "", nil
	case "value?":
		a.Pending = &Question{Kind: AskValue, Act: reading, Value: models.Num(61200), Meter: models.Odometer, Likely: models.Num(6120)}
	case "which?":
		a.Pending = &Question{Kind: AskMachine, Act: Act{Kind: KindReading}, Machines: []string{"m-12", "m-4"}, Value: models.Num(6120)}
	case "meter?":
		a.Pending = &Question{Kind: AskMeter, Act: reading, Value: models.Num(412)}
	case "item?":
		a.Pending = &Question{Kind: AskItem, Act: Act{Kind: KindDone, Machine: "m-4"}, Items: []string{"oil", "belt"}}
	case "when?":
		a.Pending = &Question{Kind: AskWhen, Act: Act{Kind: KindDone, Machine: "m-4", Items: []string{"oil"}}}
	case "spanish":
		a.Language, a.Purpose = "es-MX", models.PurposeNotices
	case "revision":
		a.Language, a.Purpose = "es", models.PurposeCheck
	default:
		t.Fatalf("no situation %q", name)
	}
	return a
}

func tagOf(id string) string {
	for _, k := range fleet() {
		if k.Machine.ID == id {
			return k.Machine.Tag
		}
	}
	return strings.TrimPrefix(id, "m-")
}

func tags(ids []string) string {
	out := make([]string, len(ids))
	for i, id := range ids {
		out[i] = tagOf(id)
	}
	return strings.Join(out, ",")
}

// write gives a reply in the form of testdata/replies.txt.
func write(r Reply) string {
	var out []string
	for _, a := range r.Acts {
		w := []string{string(a.Kind)}
		add := func(ok bool, format string, args ...any) {
			if ok {
				w = append(w, fmt.Sprintf(format, args...))
			}
		}
		add(a.Machine != "", "%s", tagOf(a.Machine))
		add(a.Miles.Known, "mi=%s", a.Miles)
		add(a.Hours.Known, "h=%s", a.Hours)
		add(a.On != 0, "on=%s", a.On)
		add(a.About, "about")
		add(a.Guess, "guess")
		add(a.Sure, "sure")
		add(len(a.Items) > 0, "items=%s", strings.Join(a.Items, ","))
		add(a.Check != "", "check=%s", a.Check)
		add(a.Cancel, "cancel")
		out = append(out, strings.Join(w, " "))
	}
	if q := r.Ask; q != nil {
		w := []string{"ask", string(q.Kind)}
		if q.Kind == AskMachine {
			w = append(w, tags(q.Machines))
		} else {
			w = append(w, tagOf(q.Act.Machine))
		}
		if q.Value.Known {
			w = append(w, q.Value.String())
		}
		if q.Likely.Known {
			w = append(w, "likely="+q.Likely.String())
		}
		if len(q.Items) > 0 {
			w = append(w, strings.Join(q.Items, ","))
		}
		out = append(out, strings.Join(w, " "))
	}
	if r.Person != "" {
		out = append(out, "person: "+string(r.Person))
	}
	return strings.Join(out, " | ")
}

type sample struct{ situation, text, want string }

func samples(t testing.TB) []sample {
	t.Helper()
	b, err := os.ReadFile("testdata/replies.txt")
	require.NoError(t, err)
	var out []sample
	section := ""
	for _, line := range strings.Split(strings.TrimRight(string(b), "\n"), "\n") {
		if name, ok := strings.CutPrefix(line, "= "); ok {
			section = name
			continue
		}
		text, want, ok := strings.Cut(line, "\t")
		require.True(t, ok, line)
		out = append(out, sample{section, strings.ReplaceAll(text, `\n`, "\n"), strings.TrimLeft(want, "\t")})
	}
	return out
}

func TestReplies(t *testing.T) {
	all := samples(t)
	require.GreaterOrEqual(t, len(all), 150)
	for _, s := range all {
		assert.Equal(t, s.want, write(Read(s.text, situation(t, s.situation))), "%s: %q", s.situation, s.text)
	}
}
