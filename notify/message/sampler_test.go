package message

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/inbox"
)

// situation is one message that the program sends.
type situation struct {
	name string
	e    models.Envelope
	// says what a text of it must hold besides shop and phone; a situation
	// that is about no machine has neither.
	machine, day bool
	noText       bool
}

// fleet makes invented machines of every sort: f1, f2 ...
func fleet(n int, tag func(i int) string) map[string]models.Machine {
	out := map[string]models.Machine{}
	kinds := []models.Machine{
		{Kind: "utv", Meters: models.MetersBoth, Year: 2021, Make: "Alder", Model: "Trail 500", Site: "north barn"},
		{Kind: "generator", Meters: models.MetersHours},
		{Kind: "tractor", Meters: models.MetersHours, Make: "Sorrel", Model: "28C", Site: "gravel pit"},
		{Kind: "atv", Meters: models.MetersKM},
	}
	for i := 1; i <= n; i++ {
		m := kinds[(i-1)%len(kinds)]
		m.ID, m.Tag = fmt.Sprintf("f%d", i), tag(i)
		out[m.ID] = m
	}
	return out
}

// tags are those of a usual fleet; longTags those of one that writes all into
// them.
func tags(i int) string { return []string{"R", "G", "T", "Q"}[(i-1)%4] + fmt.Sprint(i+10) }
func longTags(i int) string {
	return fmt.Sprintf("Lower Ranch Loader and Plow %d-%d", 2000+i, i)
}

// situations lists every message that rounds, visits and people bring about.
func situations(lang string, ch models.Channel, tag func(int) string) []situation {
	d, num := models.MustDate, models.Num
	es := lang == "es"
	item := func(f int, id string, stage models.Stage, due string) models.Notice {
		n := models.Notice{Machine: fmt.Sprintf("f%d", f), Subject: models.SubjectItem, Item: id, Stage: stage, DueOn: d(due),
			EarlyOn: d(due).AddDays(-17), LateOn: d(due).AddDays(25), Driver: models.DriverMiles, Reason: models.ReasonUse,
			LastOn: d("2024-06-01"), AtMiles: num(6120), Remaining: models.Remaining{Miles: num(243)}}
		switch stage {
		case models.StageLate:
			n.Remaining.Miles = num(-312)
		case models.StageDue:
			n.Remaining.Miles = num(-21)
		}
		if stage == models.StageMoved {
			n.WasOn = d("2026-06-01")
		}
		return n
	}
	calendar := func(n models.Notice, why models.Reason) models.Notice {
		n.Driver, n.Reason, n.Remaining, n.EarlyOn, n.LateOn = models.DriverCalendar, why, models.Remaining{}, n.DueOn, n.DueOn
		return n
	}
	zero := item(2, models.ItemOil, models.StageDue, "2026-05-20")
	zero.Driver, zero.AtHours, zero.Remaining = models.DriverHours, num(400), models.Remaining{Hours: num(0.3)}
	first := models.Notice{Machine: "f1", Subject: models.SubjectItem, Item: models.ItemFirstInspection, Detail: "belt, battery, hoses", Stage: models.StageUnsure}
	wide := item(1, models.ItemCoolant, models.StageComing, "2026-08-24")
	wide.EarlyOn, wide.LateOn = models.MustDate("2026-05-01"), models.MustDate("2026-12-18")
	never := item(1, models.ItemBelt, models.StageDue, "2026-05-11")
	never.LastOn = 0
	reading := func(f int) models.Notice {
		return models.Notice{Machine: fmt.Sprintf("f%d", f), Subject: models.SubjectReading, LastOn: d("2026-02-03")}
	}
	check := func(f int) models.Notice {
		what := map[bool]string{false: "runs hot uphill", true: "se calienta en subida"}[es]
		return models.Notice{Machine: fmt.Sprintf("f%d", f), Subject: models.SubjectCheck, Item: "7", Detail: what, LastOn: d("2026-05-06")}
	}
	visit := func(f int, on, until, was string) models.Notice {
		n := models.Notice{Machine: fmt.Sprintf("f%d", f), Subject: models.SubjectVisit, Item: "3",
			Detail: models.ItemCoolant + ", " + models.ItemHoses}
		for to, s := range map[*models.Date]string{&n.DueOn: on, &n.LateOn: until, &n.WasOn: was} {
			if s != "" {
				*to = d(s)
			}
		}
		return n
	}
	seven := []models.Notice{
		item(1, models.ItemCoolantLook, models.StageLate, "2026-03-30"), item(1, models.ItemOil, models.StageLate, "2026-04-20"),
		item(1, models.ItemBelt, models.StageComing, "2026-06-19"), item(2, models.ItemOil, models.StageLate, "2026-04-11"),
		item(3, models.ItemCoolant, models.StageDue, "2026-05-12"), item(4, models.ItemPlugs, models.StageDue, "2026-05-17"),
		item(5, models.ItemGrease, models.StageComing, "2026-06-02"), item(6, models.ItemBattery, models.StageComing, "2026-06-14"),
		item(7, models.ItemHoses, models.StageMoved, "2027-01-15"),
	}
	var forty []models.Notice
	ids := []string{models.ItemOil, models.ItemCoolant, models.ItemBelt, models.ItemGrease, models.ItemBattery, models.ItemAirFilter}
	for f := 1; f <= 40; f++ {
		stage, due := models.StageComing, d("2026-06-01").AddDays(f%20)
		switch {
		case f%8 == 3:
			stage, due = models.StageLate, d("2026-04-02").AddDays(f/2)
		case f%4 == 1:
			stage, due = models.StageDue, d("2026-05-02").AddDays(f%15)
		}
		for k := range 1 + f%3 {
			forty = append(forty, item(f, ids[(f+k)%len(ids)], stage, due.AddDays(k%2).String()))
		}
	}
	envelope := func(p models.Purpose, ns ...models.Notice) models.Envelope {
		return models.Envelope{
			Message: models.Message{Key: "sampler", Purpose: p, Channel: ch, Language: lang,
				QueuedAt: models.InstantOf(d("2026-05-20").In(time.UTC))},
			Contact: models.Contact{ID: "ana", Owner: "mesa", Name: "Ana"}, Owner: models.Owner{ID: "mesa", Name: "Mesa Verde Ranch"},
			Notices: ns, Machines: fleet(40, tag),
		}
	}
	due := func(name string, ns ...models.Notice) situation {
		return situation{name: name, e: envelope(models.PurposeNotices, ns...), machine: true, day: true}
	}
	of := func(p models.Purpose, name string, ns ...models.Notice) situation {
		s := due(name, ns...)
		s.e.Message.Purpose = p
		return s
	}
	plain := func(p models.Purpose, name string) situation { return situation{name: name, e: envelope(p)} }
	firstTo := func(s situation) situation {
		s.name, s.e.First = s.name+", the first message to the address", true
		return s
	}
	out := []situation{
		firstTo(due("coming up", item(1, models.ItemCoolant, models.StageComing, "2026-06-14"))),
		due("coming up", item(1, models.ItemCoolant, models.StageComing, "2026-06-14")),
		due("coming up, nobody knows when", wide),
		due("due", item(1, models.ItemCoolant, models.StageDue, "2026-05-12")),
		due("late", item(1, models.ItemCoolant, models.StageLate, "2026-04-02")),
		due("can wait", item(1, models.ItemCoolant, models.StageMoved, "2027-01-15")),
		due("late, no cooling work", item(1, models.ItemOil, models.StageLate, "2026-04-02")),
		due("by the calendar", calendar(item(1, models.ItemHoses, models.StageDue, "2026-05-18"), models.ReasonCalendar)),
		due("before the season", calendar(item(1, models.ItemLayUp, models.StageComing, "2026-10-15"), models.ReasonSeason)),
		due("right at its mark", zero),
		due("never recorded", never),
		due("a test", item(1, models.ItemThermostat, models.StageLate, "2026-04-28")),
		due("a part changed on condition", item(1, models.ItemThermostatChange, models.StageLate, "2026-04-28")),
		due("an item of the shop's own", item(1, "winch_rope", models.StageDue, "2026-05-18")),
		due("one machine, four items", item(1, models.ItemOil, models.StageLate, "2026-04-02"), item(1, models.ItemOilFilter, models.StageLate, "2026-04-02"),
			item(1, models.ItemCoolant, models.StageDue, "2026-05-12"), item(1, models.ItemBelt, models.StageComing, "2026-06-14")),
		due("besides a first inspection", never, first),
		due("besides a reading asked for", item(4, models.ItemBelt, models.StageDue, "2026-05-19"), reading(4)),
		due("besides a check", item(1, models.ItemBelt, models.StageComing, "2026-06-19"), check(1)),
		due("a check and a reading", check(1), reading(4)),
		due("two machines", item(1, models.ItemCoolant, models.StageDue, "2026-05-12"), item(2, models.ItemOil, models.StageComing, "2026-06-01")),
		due("three machines that can wait", item(1, models.ItemCoolant, models.StageMoved, "2027-01-15"),
			item(2, models.ItemOil, models.StageMoved, "2026-09-01"), item(3, models.ItemGrease, models.StageMoved, "2026-11-03")),
		due("seven machines", seven...),
		due("forty machines", forty...),
		firstTo(due("forty machines", forty...)),
		of(models.PurposeReading, "a reading is asked for", reading(1)),
		firstTo(of(models.PurposeReading, "a reading is asked for", reading(1))),
		of(models.PurposeReading, "four readings are asked for", reading(1), reading(2), reading(3), reading(4)),
		of(models.PurposeCheck, "has the repair held", check(1)),
		firstTo(of(models.PurposeCheck, "has the repair held", check(1))),
		of(models.PurposeCheck, "have two repairs held", check(1), check(3)),
		of(models.PurposeVisit, "a visit is agreed", visit(1, "2026-06-09", "2026-06-09", "")),
		firstTo(of(models.PurposeVisit, "a visit is agreed", visit(1, "2026-06-09", "2026-06-09", ""))),
		of(models.PurposeVisit, "a visit of two days", visit(1, "2026-06-09", "2026-06-10", "")),
		of(models.PurposeVisit, "a visit is moved", visit(1, "2026-06-11", "2026-06-11", "2026-06-09")),
		of(models.PurposeVisit, "a visit is canceled", visit(1, "", "", "2026-06-09")),
		of(models.PurposeVisit, "one visit moved, one canceled", visit(1, "2026-06-11", "2026-06-11", "2026-06-09"), visit(2, "", "", "2026-06-10")),
		plain(models.PurposeStopped, "the answer to STOP"),
		plain(models.PurposeStarted, "the answer to START"),
		plain(models.PurposeHelp, "the answer to HELP, and to: who is this?"),
		plain(models.PurposeTest, "a test by hand"),
	}
	for _, a := range answers(lang) {
		a.e.Message.Channel = ch
		out = append(out, a)
	}
	return out
}

// answers lists the questions that are asked back, in the words of the inbox.
func answers(lang string) []situation {
	machines := fleet(4, tags)
	label := func(id string) string { m := machines[id]; return m.Label() }
	today := models.MustDate("2026-05-20")
	var out []situation
	act := inbox.Act{Machine: "f1"}
	for _, c := range []struct {
		name string
		q    inbox.Question
	}{
		{"which machine?", inbox.Question{Kind: inbox.AskMachine, Machines: []string{"f1", "f2", "f3"}, Value: models.Num(6120)}},
		{"miles or hours?", inbox.Question{Kind: inbox.AskMeter, Act: act, Value: models.Num(412)}},
		{"is the value right?", inbox.Question{Kind: inbox.AskValue, Act: act, Meter: models.Odometer, Value: models.Num(61200), Likely: models.Num(6120)}},
		{"what was done?", inbox.Question{Kind: inbox.AskItem, Act: act, Items: []string{models.ItemOil, models.ItemCoolant}}},
	} {
		e := models.Envelope{
			Message: models.Message{Key: "sampler", Purpose: models.PurposeAnswer, Language: lang, QueuedAt: models.InstantOf(today.In(time.UTC)),
				Body: c.q.Wording(lang, label)},
			Contact: models.Contact{ID: "ana", Owner: "mesa", Name: "Ana"}, Owner: models.Owner{ID: "mesa", Name: "Mesa Verde Ranch"},
		}
		out = append(out, situation{name: c.name, e: e})
	}
	return out
}

// sampleBench is the shop of the sampler.
func sampleBench() Shop {
	s := sampleShop()
	s.BringAt = models.At(8, 0)
	return s
}

// The sampler: every message as it goes out, by the real composer, a page for
// each language and way, to be read as a whole. Run with -update to write it.
func TestSampler(t *testing.T) {
	for _, lang := range Languages() {
		for _, ch := range models.Channels() {
			t.Run(lang+"/"+string(ch), func(t *testing.T) {
				var page strings.Builder
				for _, s := range situations(lang, ch, tags) {
					if ch == models.ChannelSMS && s.noText {
						continue
					}
					c, err := Compose(sampleBench(), s.e)
					require.NoError(t, err, s.name)
					fmt.Fprintf(&page, "##### %s: %s\n", s.e.Message.Purpose, s.name)
					if ch == models.ChannelSMS {
						n := utf8.RuneCountInString(c.Text)
						fmt.Fprintf(&page, "%s\n[%d characters, %d segment(s)]\n\n", c.Text, n, c.Segments)
						continue
					}
					fmt.Fprintf(&page, "Subject: %s\n\n%s\n\n", c.Subject, c.Text)
				}
				golden(t, fmt.Sprintf("%s.%s.txt", ch, lang), page.String())
			})
		}
	}
}

func golden(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("testdata", "sampler", name)
	if *update {
		require.NoError(t, os.MkdirAll(filepath.Dir(file), 0o755))
		require.NoError(t, os.WriteFile(file, []byte(got), 0o644))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err, "run the test with -update once")
	assert.Equal(t, string(want), got)
}

// shortDay is a day as texts write it, in either language.
var shortDay = regexp.MustCompile(`\b(Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec) \d{1,2}\b|\b\d{1,2} (ene|feb|mar|abr|may|jun|jul|ago|sep|oct|nov|dic)\b`)

// Each text names the shop, the machine, the day and the phone and fits one
// segment, also where shop and machines have long names: those are cut then,
// never the phone or the day.
func TestEachTextSaysWhoWhatWhenAndWhereToCall(t *testing.T) {
	long := sampleBench()
	long.Name, long.Phone = "Juniper Creek Small Engine Co.", "+1 303-555-0142" // 30 characters: no shop's name is longer
	for _, b := range []struct {
		name       string
		shop       Shop
		tag        func(int) string
		shopIs, is string // what is left of the names at least
	}{
		{"usual names", sampleBench(), tags, "Juniper Creek Service: ", ""},
		{"long names", long, longTags, "Juniper Creek", "Lowe"},
	} {
		for _, lang := range Languages() {
			for _, first := range []bool{false, true} {
				for _, s := range situations(lang, models.ChannelSMS, b.tag) {
					if s.noText {
						continue
					}
					s.e.First = s.e.First || first
					c, err := Compose(b.shop, s.e)
					require.NoError(t, err)
					where := fmt.Sprintf("%s, %s, %s: %s", b.name, lang, s.name, c.Text)
					several := len(s.e.Notices) > 1 && s.e.Notices[0].Machine != s.e.Notices[len(s.e.Notices)-1].Machine
					answer := s.e.Message.Purpose == models.PurposeAnswer
					assert.True(t, c.Segments == 1 || (several || answer) && c.Segments == 2, where) // two are stated for several machines, and for answers
					assert.True(t, strings.HasPrefix(c.Text, b.shopIs), where)
					assert.Contains(t, c.Text, b.shop.Phone, where)
					if s.machine && b.is == "" {
						assert.Regexp(t, `\b[RGTQ]\d\d\b`, c.Text, where)
					} else if s.machine {
						assert.Contains(t, c.Text, b.is, where)
					}
					if s.day {
						assert.Regexp(t, shortDay, c.Text, where)
					}
					if s.e.First && s.e.Message.Purpose != models.PurposeStopped {
						assert.Contains(t, c.Text, "STOP", where)
						if s.e.Message.Purpose != models.PurposeHelp {
							assert.Regexp(t, "HELP|AYUDA", c.Text, where)
						}
					}
				}
			}
		}
	}
}
