package inbox

import (
	"bufio"
	"cmp"
	"encoding/json"
	"fmt"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/inbox/mailbox"
)

// played is a reply that somebody wrote who had not seen this package, with
// what a careful person at the desk would do on it. testdata/README.md tells
// the form.
type played struct {
	ID, Class, Lang, Situation, Via, Subject, Reply string
	Plain                                           bool
	Want, Allowed, Never                            []string
}

// ranch is the fleet of the situation "fleet"; the others know its R12 only.
func ranch() []Known {
	var out []Known
	for _, tag := range []string{"U1", "U2", "U3", "U4"} {
		out = append(out, Known{Machine: models.Machine{ID: "m-" + tag, Tag: tag, Kind: "utv", Meters: models.MetersBoth},
			Miles: span(3000, 6000, 9000), Hours: span(300, 600, 900)})
	}
	out[0].Items, out[2].Items = []string{models.ItemBelt}, []string{models.ItemCoolantLook}
	return append(out,
		Known{Machine: models.Machine{ID: "m-U5", Tag: "U5", Kind: "atv", Meters: models.MetersMiles}, Miles: span(2150, 2200, 2280)},
		Known{Machine: models.Machine{ID: "m-U6", Tag: "U6", Kind: "generator", Meters: models.MetersHours},
			Hours: span(1420, 1450, 1500), Items: []string{models.ItemOil}},
		Known{Machine: models.Machine{ID: "m-U7", Tag: "U7", Kind: "tractor", Meters: models.MetersHours}, Hours: span(590, 610, 650)})
}

// before gives what is known when a reply comes in, on Wednesday, November 25, 2026.
func (p played) before(t *testing.T) Asked {
	t.Helper()
	r12 := Known{Machine: models.Machine{ID: "m-R12", Tag: "R12", Kind: "utv", Meters: models.MetersBoth},
		Miles: span(6050, 6135, 6225), Hours: span(398, 412, 428)}
	a := Asked{Today: models.MustDate("2026-11-25"), Language: cmp.Or(map[string]string{"es": "es-US"}[p.Lang], "en"), Subject: p.Subject,
		About: []string{"m-R12"}}
	booked := models.MustDate("2026-12-01")
	switch p.Situation {
	case "reading":
		a.Purpose = models.PurposeReading
	case "due":
		a.Purpose, r12.Items = models.PurposeNotices, []string{models.ItemCoolantLook, models.ItemOil}
	case "check":
		a.Purpose, r12.Check = models.PurposeCheck, "7"
	case "visit", "asked-old":
		a.Purpose, a.Days = models.PurposeVisit, []models.Date{booked}
	case "offer":
		a.Purpose, r12.Items = models.PurposeNotices, []string{models.ItemCoolantLook, models.ItemOil}
		a.Pending = &Question{Kind: AskDay, Act: Act{Machine: "m-R12"}, Days: []models.Date{booked, booked.AddDays(2), booked.AddDays(3)}}
	case "fleet":
		a.Purpose, a.Machines, a.About = models.PurposeNotices, ranch(), []string{"m-U6", "m-U3", "m-U1"}
		return a
	case "asked":
		a.Purpose = models.PurposeReading
		a.Pending = &Question{Kind: AskValue, Act: Act{Kind: KindReading, Machine: "m-R12"}, Value: models.Num(4912), Meter: models.Odometer}
	case "first", "ready", "quiet":
	default:
		t.Fatalf("no situation %q", p.Situation)
	}
	a.Machines = []Known{r12}
	return a
}

// itemNames are the writers' words for items of the catalogue.
var itemNames = map[string]string{"coolant-test": models.ItemCoolantLook, "spark-plug": models.ItemPlugs, "temp-sensor": models.ItemECTSensor,
	"oil-filter": models.ItemOilFilter, "air-filter": models.ItemAirFilter, "brake-fluid": "brake_fluid",
	models.ItemThermostatChange: models.ItemThermostat, models.ItemECTSensorChange: models.ItemECTSensor}

// saying is one act in the words of the files: a reading of two meters is two.
type saying struct {
	kind, machine, mi, h, on string
	items                    []string
	about                    bool
}

func sayingOf(s string) []saying {
	words := strings.Fields(s)
	out := saying{kind: words[0]}
	for _, w := range words[1:] {
		key, v, ok := strings.Cut(w, "=")
		switch {
		case w == "about":
			out.about = true
		case !ok:
			out.machine = w
		case key == "mi":
			out.mi = v
		case key == "h":
			out.h = v
		case key == "on":
			out.on = v
		case key == "items":
			for _, it := range strings.Split(strings.TrimSuffix(v, "*"), ",") {
				out.items = append(out.items, cmp.Or(itemNames[it], it))
			}
			slices.Sort(out.items)
		}
	}
	if out.mi == "" || out.h == "" {
		return []saying{out}
	}
	other := out
	out.h, other.mi = "", ""
	return []saying{out, other}
}

// heard puts what was read into the words of the files.
func heard(a Asked, r Reply) []string {
	var out []string
	for _, act := range r.Acts {
		w := string(act.Kind)
		if act.Kind == KindOK && act.Check == "" {
			w = "thanks" // nothing was asked that it could answer
		}
		if act.Machine != "" {
			k, _ := a.machine(act.Machine)
			w += " " + k.Machine.Tag
		}
		if act.Kind == KindDone { // its meter values are a reading of that day, and asked for as one
			act.Miles, act.Hours = models.Number{}, models.Number{}
		}
		items := make([]string, 0, len(act.Items))
		for _, it := range act.Items { // the files call a test and a change alike
			items = append(items, cmp.Or(itemNames[it], it))
		}
		for _, v := range []struct {
			known bool
			words string
		}{{act.Miles.Known, "mi=" + act.Miles.String()}, {act.Hours.Known, "h=" + act.Hours.String()}, {act.On != 0, "on=" + act.On.String()},
			{len(act.Items) > 0, "items=" + strings.Join(items, ",")}, {act.About || act.Guess, "about"}} {
			if v.known {
				w += " " + v.words
			}
		}
		out = append(out, strings.ReplaceAll(w, "wrong number", "wrong-number"))
	}
	return out
}

func globbed(pattern, s string) bool {
	ok, err := path.Match(pattern, s)
	return err == nil && ok
}

// meets says whether an act that was read is the one that was wanted.
func (want saying) meets(got saying, today string) bool {
	return want.kind == got.kind && (want.machine == got.machine || want.machine == "" || got.machine == "") &&
		want.mi == got.mi && want.h == got.h && (!want.about || got.about || want.kind != "reading") &&
		(want.on == got.on || want.on == "" && (got.on == today || got.kind != "reading") || want.about) && slices.Equal(want.items, got.items)
}

// fears says whether an act that was read is one that must never be.
func (never saying) fears(got saying) bool {
	if never.kind != got.kind || never.machine != "" && never.machine != "*" && got.machine != "" && never.machine != got.machine {
		return false
	}
	for _, v := range [][2]string{{never.mi, got.mi}, {never.h, got.h}, {never.on, got.on}} {
		if v[0] != "" && !globbed(v[0], v[1]) {
			return false
		}
	}
	if never.mi+never.h != "" && !strings.Contains(never.mi+never.h, "*") && got.about && !never.about {
		return false // the same value, but as a guess
	}
	return !slices.ContainsFunc(never.items, func(it string) bool { return !slices.Contains(got.items, it) })
}

// score is what became of one reply.
type score struct{ dangerous, wrong, taken, person bool }

// judge holds what was read against what a careful person would do.
func (p played) judge(a Asked, r Reply) (s score, why string) {
	today := a.Today.String()
	expected := func(list []string) (out []saying) {
		for _, w := range list {
			out = append(out, sayingOf(w)...)
		}
		return out
	}
	want, allowed := expected(p.Want), expected(p.Allowed)
	var got []saying
	for i, w := range heard(a, r) {
		if q := a.Pending; q != nil && q.Kind == AskValue && r.Acts[i].Kind == KindReading && r.Acts[i].Miles == q.Value &&
			slices.ContainsFunc(append(slices.Clone(p.Want), p.Allowed...), func(s string) bool { return s == "agree" }) {
			w = "agree"
		}
		got = append(got, sayingOf(w)...)
	}
	s.person = r.Person != "" || r.Ask != nil
	var bad []string
	has := func(kinds ...string) bool {
		return slices.ContainsFunc(got, func(g saying) bool { return slices.Contains(kinds, g.kind) })
	}
	for _, n := range expected(p.Never) {
		missing, _ := strings.CutPrefix(n.kind, "missing-")
		switch {
		case n.kind == "missing-stop" && !has("stop", "wrong-number") && !(s.person && (r.Person == models.ReasonNoMore || slices.Contains(p.Allowed, "person"))),
			n.kind == "missing-trouble" && !has("trouble", "back") && !s.person,
			n.kind == "missing-person" && !s.person && !has("stop", "help", "sold", "trouble", "back", "wrong-number"):
			s.dangerous, bad = true, append(bad, missing+" is missing")
		}
	}
	fits := func(list []saying, g saying) bool {
		return slices.ContainsFunc(list, func(w saying) bool { return w.meets(g, today) })
	}
	for _, g := range got {
		switch {
		case fits(want, g) || fits(allowed, g):
		case slices.ContainsFunc(p.Never, func(n string) bool {
			parts := sayingOf(n) // of two meters both must be so
			return slices.ContainsFunc(parts, func(n saying) bool { return n.fears(g) }) && !slices.ContainsFunc(parts, func(n saying) bool {
				return !slices.ContainsFunc(got, n.fears)
			})
		}):
			s.dangerous, bad = true, append(bad, fmt.Sprintf("never %+v", g))
		case g.kind != "thanks" && g.kind != "none":
			s.wrong, bad = true, append(bad, fmt.Sprintf("not %+v", g))
		}
	}
	lost := false
	for _, w := range want {
		if w.kind == "reading" && slices.ContainsFunc(r.Acts, func(act Act) bool {
			return act.Kind == KindDone && (w.mi != "" && w.mi == act.Miles.String() || w.h != "" && w.h == act.Hours.String())
		}) {
			continue
		}
		switch w.kind {
		case "thanks", "none", "ask", "person":
			lost = lost || (w.kind == "ask" || w.kind == "person") && !s.person && !slices.ContainsFunc(got, func(g saying) bool { return fits(allowed, g) && g.kind != "thanks" })
		default:
			ok := slices.ContainsFunc(got, func(g saying) bool { return w.meets(g, today) }) ||
				slices.ContainsFunc(got, func(g saying) bool { return fits(allowed, g) && (g.kind != "thanks" || len(want) == 1) }) ||
				len(got) == 0 && slices.ContainsFunc(allowed, func(e saying) bool { return e.kind == "none" || e.kind == "thanks" })
			lost = lost || !ok && !(w.kind == "ok" && a.Purpose != models.PurposeCheck)
		}
	}
	if lost && !s.person {
		s.wrong, bad = true, append(bad, "something is lost")
	}
	s.taken = !s.dangerous && !s.wrong && !s.person && !lost
	return s, strings.Join(bad, "; ")
}

// playedFiles are the project's own, or those that ROUNDSMAN_REPLIES names (a
// pattern), so that replies can be held back for judging.
func playedFiles(t *testing.T) []string {
	t.Helper()
	files, err := filepath.Glob(cmp.Or(os.Getenv("ROUNDSMAN_REPLIES"), "testdata/played/*.jsonl"))
	require.NoError(t, err)
	require.NotEmpty(t, files)
	return files
}

func readPlayed(t *testing.T, files []string) (out []played) {
	t.Helper()
	for _, name := range files {
		f, err := os.Open(name)
		require.NoError(t, err)
		lines := bufio.NewScanner(f)
		lines.Buffer(nil, 1<<20)
		for lines.Scan() {
			var p played
			require.NoError(t, json.Unmarshal(lines.Bytes(), &p), lines.Text())
			out = append(out, p)
		}
		require.NoError(t, lines.Err())
		require.NoError(t, f.Close())
	}
	return out
}

// Nothing that people write is read dangerously: no wrong fact, no refusal or
// complaint lost, nothing closed or opened falsely. At most two in a hundred
// are read wrongly at all, and of what is plain six in ten need no person.
// -v tells what was counted, by class, and what missed.
func TestPlayedReplies(t *testing.T) {
	type tally struct{ n, dangerous, wrong, plain, taken int }
	byClass := map[string]*tally{}
	for _, p := range readPlayed(t, playedFiles(t)) {
		a := p.before(t)
		text := p.Reply
		if p.Via == "mail" {
			text = mailbox.Own(text)
		}
		r := Read(text, a)
		s, why := p.judge(a, r)
		for _, class := range []string{p.Class, "all"} {
			c := byClass[class]
			if c == nil {
				c = &tally{}
				byClass[class] = c
			}
			c.n++
			for _, v := range []struct {
				so bool
				n  *int
			}{{s.dangerous, &c.dangerous}, {s.wrong, &c.wrong}, {p.Plain, &c.plain}, {p.Plain && s.taken, &c.taken}} {
				if v.so {
					*v.n++
				}
			}
		}
		if s.dangerous || s.wrong || p.Plain && !s.taken {
			t.Logf("%s %s %s dangerous=%t wrong=%t %q: %q person: %s; %s; wanted %q", p.ID, p.Situation, p.Class, s.dangerous, s.wrong, p.Reply, heard(a, r), r.Person, why, p.Want)
		}
	}
	for _, class := range slices.Sorted(func(yield func(string) bool) {
		for k := range byClass {
			if !yield(k) {
				return
			}
		}
	}) {
		c := byClass[class]
		t.Logf("%-16s %4d replies, %2d dangerous, %3d wrong, %3d of %3d plain ones taken without a person", class, c.n, c.dangerous, c.wrong, c.taken, c.plain)
	}
	all := byClass["all"]
	assert.Zero(t, all.dangerous)
	assert.LessOrEqual(t, float64(all.wrong), 0.02*float64(all.n))
	assert.GreaterOrEqual(t, float64(all.taken), 0.6*float64(all.plain))
}
