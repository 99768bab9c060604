package main

import (
	"encoding/json"
	"encoding/xml"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/config"
	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
)

// ranchBooks are two owners' machines with much due: one takes mail and texts,
// the other has agreed to nothing.
var ranchBooks = map[string]string{
	"owners.csv": "owner,name,type\nO1,Juniper Flat,ranch\nO2,Elk Bend Lodge,resort\n",
	"contacts.csv": "owner,name,role,mail,mobile,prefers,sms_consent_on,mail_consent_on\n" +
		"O1,Ada Reyes,service,ada@example.com,,mail,,2025-01-01\nO1,Ben Ortiz,service,,+12025550101,sms,2025-01-01,\n" +
		"O2,Cy Marsh,service,cy@example.com,,mail,,\n",
	"machines.csv": "machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max,cooling,site\n" +
		"M1,R1,utv,O1,both,2023-01-10,0,0,,liquid,north barn\nM2,R2,generator,O1,hours,2025-01-10,,0,,liquid,\nM3,R3,utv,O2,both,2023-01-10,0,0,,liquid,\n",
	"readings.csv": "machine,at,miles,hours,source\nM1,2025-06-01,812.4,70,owner\nM1,2026-01-15,1630,141,shop\nM1,2026-09-01,2611.5,228,owner\nM2,2026-02-01,,41.5,owner\nM3,2026-06-01,900,80,owner\n",
	"services.csv": "machine,item,at,miles,hours\nM1,oil,2026-01-15,1630,141\n" +
		"M1,coolant,2024-12-20,,\nM1,thermostat,2023-01-10,,\nM2,oil,2025-12-01,,30\nM3,oil,2025-11-15,,40\nM3,coolant,2024-12-10,,\n",
	"items.csv": "kind,item,miles,hours,months,teardown,work_min,access_min,parts_days\n" +
		"utv,oil,1000,100,12,oil_drain,30,15,\nutv,coolant,,,24,cooling_drain,15,60,3\nutv,thermostat,,,48,cooling_drain,20,60,5\n" +
		"generator,oil,,150,12,,40,,\n",
	"releases.csv": "machine,state\nM1,released\nM2,released\nM3,released\n",
}

// ranchDB gives a database of these books in which no other rules hold.
func ranchDB(t *testing.T) string {
	t.Helper()
	db := newDB(t)
	shipped, err := config.Shipped()
	require.NoError(t, err)
	none := "kind,item,miles,hours,months,retired\n"
	for _, r := range shipped.Rules {
		none += fmt.Sprintf("%s,%s,,,,yes\n", r.Kind, r.Item)
	}
	must(t, db, "import", write(t, map[string]string{"machines.csv": ranchBooks["machines.csv"], "items.csv": none}))
	must(t, db, "import", write(t, ranchBooks))
	return db
}

// planned reads the plan as a script does.
func planned(t *testing.T, db string, args ...string) planDoc {
	t.Helper()
	var doc planDoc
	require.NoError(t, json.Unmarshal([]byte(must(t, db, append([]string{"plan", "--json"}, args...)...)), &doc))
	return doc
}

// stopOf gives the first visit of a machine.
func stopOf(t *testing.T, doc planDoc, machine string) planVisit {
	t.Helper()
	for _, v := range doc.Visits {
		if v.Machine == machine {
			return v
		}
	}
	require.Fail(t, "no visit of "+machine)
	return planVisit{}
}

// opened opens the database of a test with everything but the network, its
// spool beside it.
func opened(t *testing.T, db string, fn func(a *app.App)) {
	t.Helper()
	s := config.Defaults()
	s.Database.Path = db
	s.Mail.Spool, s.SMS.Spool = filepath.Join(filepath.Dir(db), "spool"), filepath.Join(filepath.Dir(db), "spool")
	a, err := app.New(t.Context(), s, app.Options{Clock: models.ClockFunc(func() time.Time { return testNow })})
	require.NoError(t, err)
	fn(a)
	require.NoError(t, a.Close())
}

func TestPlanReadsAtAGlance(t *testing.T) {
	t.Parallel()
	db := ranchDB(t)
	opened(t, db, func(a *app.App) {
		_, err := a.Store.Record(t.Context(), models.FactSet{Closures: []models.Closure{
			{Sort: models.ClosureBlack, Site: "O2", From: models.MustDate("2026-11-02"), To: models.MustDate("2026-11-13"), Note: "the elk season"}}}, models.Entry{Means: "test"})
		require.NoError(t, err)
	})
	page := must(t, db, "plan", "--days", "40")
	for i, l := range strings.Split(page, "\n") {
		assert.LessOrEqual(t, utf8.RuneCountInString(l), 80, "line %d: %s", i+1, l)
	}
	assert.Contains(t, page, "November 2026  1 2             9             16            23            30\n")
	assert.Contains(t, page, "               s M T W T F s s M T W")
	row := regexp.MustCompile(`(?m)^Elk Bend Lodge +x x x x x x x x x x x x `).FindString(page)
	assert.NotEmpty(t, row, "the days on which the lodge can spare none:\n%s", page)
	assert.Contains(t, page, "R1, north barn; bay 1, ")
	assert.Contains(t, page, "; next best ")
	assert.Contains(t, page, "first open day after the elk season", page)
	assert.Contains(t, strings.Join(strings.Fields(page), " "), "proven to be the best possible")
}

func TestPlanJSONKeepsItsContract(t *testing.T) {
	t.Parallel()
	db := ranchDB(t)
	doc := planned(t, db)
	require.NotEmpty(t, doc.Visits)
	assert.Equal(t, models.MustDate("2026-11-02"), doc.From)
	assert.Equal(t, models.MustDate("2026-12-31"), doc.Until, "60 days, as the settings say")
	assert.Len(t, doc.Days, 60)
	assert.Equal(t, "Veterans Day", doc.Days[9].Closed)
	assert.LessOrEqual(t, doc.Bound, doc.Cost)
	for _, v := range doc.Visits {
		assert.NotEmpty(t, v.Items)
		assert.NotEmpty(t, v.Why)
		assert.NotEmpty(t, v.Alternatives)
		assert.Equal(t, "new", string(v.Standing))
	}
	var raw map[string]any
	require.NoError(t, json.Unmarshal([]byte(must(t, db, "plan", "--json")), &raw))
	first := raw["visits"].([]any)[0].(map[string]any)
	alternative := first["alternatives"].([]any)[0].(map[string]any)
	assert.Contains(t, alternative, "day")
	assert.Contains(t, alternative, "extra_cents")
	assert.Equal(t, doc, planned(t, db), "the same facts give the same plan")
	only := planned(t, db, "--owner", "Elk Bend Lodge")
	for _, v := range only.Visits {
		assert.Equal(t, "O2", v.Owner)
	}
	from := planned(t, db, "--from", "2026-12-01", "--days", "10")
	for _, v := range from.Visits {
		assert.True(t, v.Day >= models.MustDate("2026-12-01") && v.Day <= models.MustDate("2026-12-10"))
	}
}

// told reads the outcome of an act.
func told(t *testing.T, db string, args ...string) toldJSON {
	t.Helper()
	var out toldJSON
	require.NoError(t, json.Unmarshal([]byte(must(t, db, append(append([]string{"plan"}, args...), "--json")...)), &out))
	return out
}

// calendars gives the calendar parts of all messages, the oldest first.
func calendars(t *testing.T, db string) (out []string) {
	t.Helper()
	opened(t, db, func(a *app.App) {
		logs, err := a.Store.Messages(t.Context(), store.MessageFilter{})
		require.NoError(t, err)
		for _, l := range logs {
			if c := l.Message.Composed.Calendar; c != "" {
				out = append(out, strings.ReplaceAll(c, "\r\n ", ""))
			}
		}
	})
	return out
}

// sendWaiting sends what waits.
func sendWaiting(t *testing.T, db string) {
	t.Helper()
	opened(t, db, func(a *app.App) {
		courier, release, err := a.Courier(a.Clock)
		require.NoError(t, err)
		_, err = courier.Drain(t.Context())
		require.NoError(t, err)
		require.NoError(t, release())
	})
}

// A visit is agreed, moved and dropped: it is locked meanwhile, and each act
// goes to its owner's people, mails with the entry for their calendars.
func TestPlanKeepMoveDrop(t *testing.T) {
	t.Parallel()
	db := ranchDB(t)
	was := stopOf(t, planned(t, db), "M1")
	kept := told(t, db, "keep", "R1")
	assert.Equal(t, models.VisitAgreed, kept.State)
	assert.Equal(t, was.Day, kept.Day)
	assert.Equal(t, 0, kept.Sequence)
	require.Len(t, kept.Messages, 2, "one by mail, one by text")
	agreed := stopOf(t, planned(t, db), "M1")
	assert.Equal(t, "agreed", string(agreed.Standing))
	assert.Equal(t, kept.Visit, agreed.Visit)
	assert.Contains(t, agreed.Why, "agreed with the owner")

	again := command(t, db, "plan", "keep", "R1", "--on", was.Day.String())
	assert.Equal(t, exitInput, again.code, "it is agreed already")
	sunday := command(t, db, "plan", "move", "R1", "--to", "2026-11-08")
	assert.Equal(t, exitInput, sunday.code)
	assert.Contains(t, sunday.errs, "the shop is closed on its day")
	past := command(t, db, "plan", "move", "R1", "--to", "2026-11-01")
	assert.Equal(t, exitInput, past.code)

	sendWaiting(t, db) // of what waits only the newest word would go
	moved := told(t, db, "move", "R1", "--to", "2026-11-19")
	assert.Equal(t, kept.UID, moved.UID)
	assert.Equal(t, 1, moved.Sequence)
	assert.Equal(t, kept.Day, moved.WasOn)
	assert.Equal(t, models.MustDate("2026-11-19"), stopOf(t, planned(t, db), "M1").Day)
	sendWaiting(t, db)
	dropped := told(t, db, "drop", "R1", "--why", "sold")
	assert.Equal(t, 2, dropped.Sequence)
	assert.Equal(t, models.VisitDropped, dropped.State)
	assert.NotEqual(t, "agreed", string(stopOf(t, planned(t, db), "M1").Standing))

	cals := calendars(t, db)
	require.Len(t, cals, 3)
	assert.Equal(t, "thermostat", was.Items[len(was.Items)-1].Item, "it shares the teardown of the coolant")
	for i, want := range []string{"METHOD:REQUEST", "METHOD:REQUEST", "METHOD:CANCEL"} {
		assert.Contains(t, cals[i], want+"\r\n")
		assert.Contains(t, cals[i], "UID:"+kept.UID+"\r\n")
		assert.Contains(t, cals[i], "SEQUENCE:"+string(rune('0'+i))+"\r\n")
		assert.Contains(t, cals[i], "mailto:ada@example.com")
	}
	assert.Contains(t, cals[1], "DTSTART;VALUE=DATE:20261119\r\n")
	assert.Contains(t, cals[1], "STATUS:CONFIRMED")
	assert.Contains(t, cals[1], "hot coolant", "work on the cooling system carries its cautions")
	assert.Contains(t, cals[2], "STATUS:CANCELLED")

	// What goes out says the same and carries the entry.
	sendWaiting(t, db)
	files, err := filepath.Glob(filepath.Join(filepath.Dir(db), "spool", "*ada*visit*.eml"))
	if len(files) == 0 {
		files, err = filepath.Glob(filepath.Join(filepath.Dir(db), "spool", "*visit*.eml"))
	}
	require.NoError(t, err)
	require.Len(t, files, 3)
	all := ""
	for _, f := range files {
		b, err := os.ReadFile(f)
		require.NoError(t, err)
		all += string(b)
		assert.Contains(t, string(b), "text/calendar; method=")
	}
	assert.Contains(t, all, "method=CANCEL")
	assert.Contains(t, all, "shop visit: the one on ")
	texts, err := filepath.Glob(filepath.Join(filepath.Dir(db), "spool", "*visit*.txt"))
	require.NoError(t, err)
	assert.Len(t, texts, 3)
}

// Nobody is written to without consent; the act stands, and says so.
func TestPlanKeepSaysWhoIsNotTold(t *testing.T) {
	t.Parallel()
	db := ranchDB(t)
	out := must(t, db, "plan", "keep", "R3")
	assert.Contains(t, out, "is agreed for")
	assert.Contains(t, out, "is not told: no consent")
	assert.Empty(t, calendars(t, db))
	assert.Contains(t, must(t, db, "plan", "drop", "R3"), "is dropped")
	o := command(t, db, "plan", "drop", "R3")
	assert.Equal(t, exitInput, o.code)
	assert.Contains(t, o.errs, "no visit of R3 is planned or agreed")
}

// What stands in the calendar of a shop: its entries keep their names, and
// their sequence grows only when something changed.
func TestPlanCalendar(t *testing.T) {
	t.Parallel()
	db := ranchDB(t)
	dir := t.TempDir()
	feed := func(name string, args ...string) string {
		path := filepath.Join(dir, name)
		must(t, db, append([]string{"plan", "--ics", path}, args...)...)
		b, err := os.ReadFile(path)
		require.NoError(t, err)
		return strings.ReplaceAll(string(b), "\r\n ", "")
	}
	first := feed("a.ics")
	assert.Contains(t, first, "METHOD:PUBLISH\r\n")
	assert.Contains(t, first, "STATUS:TENTATIVE")
	assert.Equal(t, first, feed("b.ics"), "a second time changes nothing")
	assert.Equal(t, "shown", string(stopOf(t, planned(t, db), "M1").Standing))

	uids := func(s string) []string { return regexp.MustCompile(`UID:(\S+)`).FindAllString(s, -1) }
	kept := told(t, db, "keep", "R1")
	assert.Equal(t, 1, kept.Sequence, "planned was 0")
	second := feed("c.ics")
	assert.ElementsMatch(t, uids(first), uids(second))
	assert.Contains(t, second, "UID:"+kept.UID+"\r\nSEQUENCE:1\r\n")
	assert.Contains(t, second, "STATUS:CONFIRMED")
	told(t, db, "drop", "R1")
	assert.Contains(t, feed("d.ics"), "STATUS:CANCELLED")

	lodge := feed("e.ics", "--owner", "O2")
	assert.Contains(t, lodge, "SUMMARY:R3 at the shop")
	assert.NotContains(t, lodge, "SUMMARY:R1 at the shop")
	barn := feed("f.ics", "--site", "north barn")
	assert.NotContains(t, barn, "SUMMARY:R3 at the shop")
}

func TestPlanPostAndPicture(t *testing.T) {
	t.Parallel()
	db := ranchDB(t)
	assert.Contains(t, must(t, db, "plan", "post"), "visits written")
	assert.Contains(t, must(t, db, "plan", "post"), "0 visits written")
	assert.Empty(t, calendars(t, db), "nobody is written to")
	path := filepath.Join(t.TempDir(), "plan.svg")
	must(t, db, "plan", "--svg", path)
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	for d := xml.NewDecoder(f); ; {
		if _, err := d.Token(); err == io.EOF {
			break
		} else {
			require.NoError(t, err)
		}
	}
}

// Something recorded since forbids an agreed day: the plan says so and goes on.
func TestPlanTellsWhatCannotBeKept(t *testing.T) {
	t.Parallel()
	db := ranchDB(t)
	kept := told(t, db, "keep", "R1")
	opened(t, db, func(a *app.App) {
		_, err := a.Store.Record(t.Context(), models.FactSet{Closures: []models.Closure{{Sort: models.ClosureShop, From: kept.Day, To: kept.Day, Note: "funeral"}}}, models.Entry{Means: "test"})
		require.NoError(t, err)
	})
	out := must(t, db, "plan")
	assert.Contains(t, strings.ReplaceAll(out, "\n", " "), "! Visit 1 is agreed for "+kept.Day.String()+" and cannot be kept: the shop is closed on its day. Move or drop it.")
	doc := planned(t, db)
	require.Len(t, doc.Conflicts, 1)
	assert.Equal(t, "moved", string(stopOf(t, doc, "M1").Standing))
	again := told(t, db, "keep", "R1")
	assert.Equal(t, kept.Visit, again.Visit)
	assert.Equal(t, kept.Day, again.WasOn, "the owner had been told that day")
}

func TestPlanRefuses(t *testing.T) {
	t.Parallel()
	db := ranchDB(t)
	for _, tc := range []struct {
		args []string
		want string
	}{
		{[]string{"plan", "--days=-1"}, "plan of -1 days"},
		{[]string{"plan", "--from", "2026-10-01"}, "before today"},
		{[]string{"plan", "--from", "soon"}, "is not a date"},
		{[]string{"plan", "--budget", "soon"}, "is no length of time"},
		{[]string{"plan", "--owner", "nobody"}, `no owner is called "nobody"`},
		{[]string{"plan", "keep", "R9"}, `no machine is called "R9"`},
		{[]string{"plan", "keep", "R1", "--on", "2026-11-29"}, "no visit of R1 is planned"},
		{[]string{"plan", "move", "R1", "--to", "x"}, "--to"},
		{[]string{"plan", "move", "R1", "--to", "2026-11-19", "--bay", "9"}, "its bay is not there any more"},
		{[]string{"plan", "drop", "R1"}, "no visit of R1"},
		{[]string{"plan", "--json", "--svg", "x.svg"}, "can't be used together"},
	} {
		o := command(t, db, tc.args...)
		assert.Equal(t, exitInput, o.code, "%v: %s", tc.args, o.errs)
		assert.Contains(t, o.errs, tc.want, "%v", tc.args)
		assert.Empty(t, o.out, "%v", tc.args)
	}
}

// Sites, bays, people, closures and visits come in from the folder, bear on
// the plan, and go out again byte for byte.
func TestPlanFactsAreExportedWhole(t *testing.T) {
	t.Parallel()
	files := map[string]string{
		"sites.csv":       "site,name,transport_cents\nnorth barn,North barn,2500\n",
		"bays.csv":        "bay,kinds\nlift,utv\nyard,generator\n",
		"technicians.csv": "technician,name,mon,tue,wed,thu,fri\nsam,Sam,480,480,480,480,300\n",
		"closures.csv":    "sort,from,to,site,kind,max_out,technician,note\nclosed,2026-11-09,,,,,,inventory\naway,2026-11-10,2026-11-11,,,,sam,\n",
	}
	db, other := ranchDB(t), newDB(t)
	files["machines.csv"] = ranchBooks["machines.csv"]
	must(t, db, "import", write(t, files))
	doc := planned(t, db)
	for _, v := range doc.Visits {
		assert.Equal(t, v.Machine != "M2", v.Bay == "lift", "%s goes where its kind is taken", v.Machine)
	}
	assert.Equal(t, "inventory", doc.Days[7].Closed)
	assert.Equal(t, 0, doc.Days[8].Open, "the only one is away")
	must(t, db, "plan", "post")
	told(t, db, "keep", "R1")
	told(t, db, "drop", "R3")
	a, b := t.TempDir(), t.TempDir()
	must(t, db, "export", a)
	must(t, other, "import", a)
	must(t, other, "export", b)
	for name := range files {
		want, err := os.ReadFile(filepath.Join(a, name))
		require.NoError(t, err)
		got, err := os.ReadFile(filepath.Join(b, name))
		require.NoError(t, err)
		assert.Equal(t, string(want), string(got), name)
	}
	want, err := os.ReadFile(filepath.Join(a, "visits.csv"))
	require.NoError(t, err)
	assert.Contains(t, string(want), ",agreed,")
	assert.Contains(t, string(want), ",dropped,")
	assert.Contains(t, must(t, other, "import", a), "Nothing new.")
	assert.Equal(t, stopOf(t, planned(t, db), "M1").UID, stopOf(t, planned(t, other), "M1").UID)
}
