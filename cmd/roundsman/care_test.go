package main

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// halfKnown is a shop as it comes in: 12 owners and 20 machines, whose
// in_service is the year in which they were built, each with one reading and
// some with a service or two.
func halfKnown() map[string]string {
	kinds := [][2]string{{"utv", "both"}, {"atv", "both"}, {"tractor", "hours"}, {"generator", "hours"}, {"utv", "both"}}
	years := []int{2009, 2014, 2018, 2021, 2023}
	files := map[string]string{
		"owners.csv":   "owner,name,type\n",
		"contacts.csv": "owner,name,role,mail,mobile,prefers,sms_consent_on,mail_consent_on,language\n",
		"machines.csv": "machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max,year,cooling\n",
		"readings.csv": "machine,at,miles,hours,source\n",
		"services.csv": "machine,item,at,miles,hours\n",
	}
	for i := 1; i <= 12; i++ {
		files["owners.csv"] += fmt.Sprintf("o%d,Ranch %d,ranch\n", i, i)
		files["contacts.csv"] += fmt.Sprintf("o%d,Ana %d,owner,a%d@example.com,,mail,,2026-01-01,%s\n", i, i, i, []string{"en", "es"}[i%2])
	}
	for i := 1; i <= 20; i++ {
		k := kinds[i%5]
		miles, start := "", ""
		if k[1] == "both" {
			miles, start = fmt.Sprint(700*i), "0"
		}
		cooling := ""
		if i%3 > 0 {
			cooling = "liquid"
		}
		files["machines.csv"] += fmt.Sprintf("m%d,U-%d,%s,o%d,%s,%d-05-01,%s,0,,%d,%s\n", i, i, k[0], (i-1)%12+1, k[1], years[i%5], start, years[i%5], cooling)
		files["readings.csv"] += fmt.Sprintf("m%d,2026-09-20,%s,%d,shop\n", i, miles, 60*i)
		if i%2 == 0 {
			files["services.csv"] += fmt.Sprintf("m%d,oil,2026-0%d-12,,\n", i, i%8+1)
		}
		if i%4 == 0 {
			files["services.csv"] += fmt.Sprintf("m%d,coolant,2024-0%d-12,,\n", i, i%8+1)
		}
	}
	return files
}

// A shop with half-known histories: the first board is true and short, nothing
// goes to anybody before release, and what would go is said word for word.
func TestDayOneIsQuietTrueAndShort(t *testing.T) {
	db := newDB(t)
	must(t, db, "import", write(t, halfKnown()))
	var board struct {
		Lines []struct{ Tag, Item, Stage, Detail string }
	}
	out := must(t, db, "due", "--json", "--at", "2026-10-01")
	require.NoError(t, json.Unmarshal([]byte(out), &board.Lines), out)
	shown, inspections := 0, 0
	for _, l := range board.Lines {
		if l.Stage != "clear" {
			shown++
		}
		assert.NotContains(t, l.Item, "break_in", "%s was built years ago", l.Tag)
		if l.Item == "first_inspection" {
			inspections++
			assert.Contains(t, l.Detail, "without a record")
		}
		if l.Stage == "late" {
			assert.Equal(t, "coolant", l.Item, "only what has a record can be late")
		}
	}
	assert.Less(t, shown, 30)
	assert.Equal(t, 20, inspections, "one line a machine")

	text := must(t, db, "round", "--at", "2026-10-01")
	assert.Contains(t, text, "0 notices in 0 messages")
	assert.Contains(t, text, "no machine is released yet")
	assert.Contains(t, must(t, db, "outbox"), "No messages.")
	assert.Contains(t, must(t, db, "outbox", "--withheld"), "held back until released")

	preview := must(t, db, "release", "--all", "--dry-run", "--at", "2026-10-01")
	assert.Contains(t, preview, "To Ana 12 (o12), by mail to a12@example.com")
	assert.Contains(t, preview, "Coolant change: overdue")
	assert.Regexp(t, `First inspection: \d+ items without a record`, preview)
	assert.NotContains(t, preview, "Break-in")
	assert.Contains(t, must(t, db, "outbox"), "No messages.", "a preview sends nothing")

	must(t, db, "release", "U-12")
	assert.Contains(t, must(t, db, "round", "--at", "2026-10-01T13:00:00Z"), "19 of 20 machines are held back")
	sent := must(t, db, "outbox")
	assert.Contains(t, sent, "a12@example.com")
	assert.Equal(t, 1, strings.Count(sent, "@example.com"), "one was released")
}

func TestABaselineAnswersTheFirstInspection(t *testing.T) {
	db := newDB(t)
	must(t, db, "import", write(t, halfKnown()))
	item := func(name string) map[string]any {
		var lines []map[string]any
		require.NoError(t, json.Unmarshal([]byte(must(t, db, "due", "--json", "--at", "2026-10-01", "--owner", "o1")), &lines))
		for _, l := range lines {
			if l["item"] == name && l["tag"] == "U-1" {
				return l
			}
		}
		return nil
	}
	require.Nil(t, item("coolant"), "it stands in the first inspection")
	must(t, db, "baseline", "U-1", "coolant=done:2025-05", "coolant_look=fine", "cap=fine", "oil=done:600mi", "--on", "2026-09-20")
	assert.Equal(t, "2027-05-15", item("coolant")["due_on"], "24 months after about the middle of May")
	assert.Equal(t, "2027-03-20", item("coolant_look")["due_on"], "an inspection is done with a look: 6 months")
	assert.Equal(t, "2027-09-20", item("cap")["due_on"], "a change by age has half of its 24 months left")
	assert.Equal(t, "1,000 mi or 100 h or 12 months since about 2024-12 at 600 mi", item("oil")["detail"], "on the day on which it likely stood there")
	must(t, db, "baseline", "U-1", "rest=fine", "--on", "2026-09-20")
	assert.Nil(t, item("first_inspection"))

	refusal(t, db, exitInput, "done:2025-05", "baseline", "U-1", "coolant=maybe")
	refusal(t, db, exitInput, "lists the items", "baseline", "U-1", "nonsense=fine")
	refusal(t, db, exitInput, "still to come", "baseline", "U-1", "coolant=done:2031")
}

// A recorded first inspection makes a record of every item without one.
func TestAFirstInspectionIsAService(t *testing.T) {
	db := newDB(t)
	files := halfKnown()
	files["services.csv"] += "m1,first_inspection,2026-09-25,,\n"
	must(t, db, "import", write(t, files))
	out := must(t, db, "due", "--json", "--at", "2026-10-01", "--owner", "o1")
	var lines []map[string]any
	require.NoError(t, json.Unmarshal([]byte(out), &lines))
	for _, l := range lines {
		if l["tag"] == "U-1" {
			assert.NotEqual(t, "first_inspection", l["item"])
			assert.NotEqual(t, "late", l["stage"])
		}
	}
}

func TestASoldMachineIsNobodysAnyMore(t *testing.T) {
	db := newDB(t)
	must(t, db, "import", write(t, halfKnown()))
	must(t, db, "release", "--all")
	must(t, db, "round", "--at", "2026-10-01")
	require.Contains(t, must(t, db, "outbox"), "a12@example.com")

	must(t, db, "standing", "U-12", "sold", "--to-new", "Sage Hollow", "--on", "2026-10-01")
	assert.NotContains(t, must(t, db, "outbox", "--state", "queued"), "a12@example.com", "what waits stops at once")
	assert.Contains(t, must(t, db, "sheet", "U-12"), "Sage Hollow")
	assert.Contains(t, must(t, db, "sheet", "U-12"), "2024", "its history stays with it")
	must(t, db, "standing", "U-16", "scrapped", "--on", "2026-10-01")
	assert.NotContains(t, must(t, db, "due", "--json", "--at", "2026-10-01"), `"U-16"`)
	assert.NotContains(t, must(t, db, "machine", "list"), "U-16")
	assert.Contains(t, must(t, db, "machine", "list", "--all"), "U-16")
	assert.Contains(t, must(t, db, "machine", "list"), "U-12", "the buyer's")
	must(t, db, "round", "--at", "2026-11-02")
	assert.NotContains(t, must(t, db, "outbox", "--state", "queued"), "a12@example.com")
	assert.Contains(t, must(t, db, "sheet", "U-16"), "2024", "the sheet still shows it")

	// The folder again: it does not bring the machine back to its seller.
	must(t, db, "import", write(t, halfKnown()))
	assert.Contains(t, must(t, db, "sheet", "U-12"), "Sage Hollow")

	refusal(t, db, exitInput, "out of the shop's care already", "standing", "U-16", "scrapped", "--on", "2026-10-02")
	refusal(t, db, exitInput, "there is no owner", "standing", "U-2", "sold", "--to", "nobody", "--on", "2026-10-01")
	refusal(t, db, exitInput, "until a day", "standing", "U-2", "laid_up", "--on", "2026-10-01")
	refusal(t, db, exitInput, "no state", "standing", "U-2", "lost")
	must(t, db, "standing", "U-16", "in_use", "--on", "2026-10-02")
	assert.Contains(t, must(t, db, "due", "--json", "--at", "2026-10-03"), `"U-16"`)
}

func TestALaidUpMachineIsLeftAlone(t *testing.T) {
	db := newDB(t)
	must(t, db, "import", write(t, halfKnown()))
	must(t, db, "release", "U-4")
	must(t, db, "baseline", "U-4", "coolant_look=done:2026-05-10", "--on", "2026-09-20")
	must(t, db, "standing", "U-4", "laid_up", "--until", "2027-04-01", "--on", "2026-10-01")
	out := must(t, db, "due", "--json", "--at", "2026-11-01", "--owner", "o4")
	assert.Contains(t, out, "2027-04-01", "what falls due meanwhile waits for the day")
	assert.Contains(t, must(t, db, "round", "--at", "2026-11-01"), "0 notices in 0 messages")
}

func TestASwapIsRecordedOnce(t *testing.T) {
	db := newDB(t)
	must(t, db, "import", write(t, halfKnown()))
	must(t, db, "swap", "U-1", "miles", "--old", "700", "--on", "2026-09-25")
	refusal(t, db, exitInput, "already", "swap", "U-1", "miles", "--on", "2026-09-25")
	refusal(t, db, exitInput, "no such meter", "swap", "U-3", "miles", "--on", "2026-09-25")
	must(t, db, "reading", "U-1", "--miles", "12", "--hours", "62", "--on", "2026-09-30")
}

// The sheet names the first inspection in one line, in either language.
func TestTheSheetShowsTheFirstInspection(t *testing.T) {
	db := newDB(t)
	must(t, db, "import", write(t, halfKnown()))
	out := must(t, db, "sheet", "U-1")
	assert.Equal(t, 1, strings.Count(out, "first inspection"), out)
	assert.Contains(t, out, "no record")
}

// A year that is a slip of the typing is refused by command and file alike.
func TestADayTooFarAheadIsRefused(t *testing.T) {
	db := newDB(t)
	must(t, db, "import", write(t, books))
	const remedy = "look at the year, and write a day up to 2031-11-02"
	refusal(t, db, exitInput, "2062-05-01 lies more than 5 years ahead; "+remedy, "standing", "R1", "laid_up", "--until", "2062-05-01")
	refusal(t, db, exitInput, remedy, "plan", "move", "R1", "--to", "2062-05-01")
	refusal(t, db, exitInput, "2062-05-01 is still to come", "standing", "R1", "sold", "--on", "2062-05-01")
	o := command(t, db, "import", booksWith(t, map[string]string{"standings.csv": "machine,on,state,until\nM1,2026-10-01,laid_up,2062-05-01\n"}))
	assert.Equal(t, exitInput, o.code)
	assert.Contains(t, o.errs, `standings.csv:2:23: until "2062-05-01" lies too far ahead; `+remedy)
	must(t, db, "standing", "R1", "laid_up", "--until", "2031-11-02")
}

// TestWithdrawListsFirstWordsLast: a full baseline pushes no service off the
// list of what may be taken back, and what the list leaves out is told.
func TestWithdrawListsFirstWordsLast(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	must(t, db, "machine", "add", "--new", "--new-owner", "Juniper Flat", "--tag", "R1", "--kind", "utv", "--miles", "500")
	must(t, db, "baseline", "R1", "rest=fine")
	must(t, db, "reading", "R1", "--miles", "500")
	must(t, db, "baseline", "R1", "coolant=unknown", "oil=unknown", "air_filter=unknown")
	o := command(t, db, "withdraw", "R1")
	lines := strings.Split(strings.TrimSpace(o.out), "\n")
	assert.True(t, strings.HasPrefix(lines[0], "reading-"), o.out)
	assert.True(t, strings.HasPrefix(lines[len(lines)-1], "baseline-"), o.out)
	assert.Len(t, lines, 30)
	assert.Regexp(t, `[0-9]+ more are written down; --all lists all`, o.errs)
	assert.Greater(t, strings.Count(must(t, db, "withdraw", "R1", "--all"), "\n"), 30)
}
