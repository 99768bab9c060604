package main

import (
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/models/folder"
	"example.org/roundsman/models/store"
)

// booksWith gives the small shop's folder with some files in other words.
func booksWith(t *testing.T, other map[string]string) string {
	t.Helper()
	files := maps.Clone(books)
	maps.Copy(files, other)
	return write(t, files)
}

// TestImportSaysWhatItTookWithDoubt: a typing slip and a kind without rules
// are named with file and line, and the board says so too.
func TestImportSaysWhatItTookWithDoubt(t *testing.T) {
	db := newDB(t)
	o := command(t, db, "import", booksWith(t, map[string]string{
		"machines.csv": "machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max,cooling\n" +
			"M1,R1,Side by Side,O1,both,2025-01-10,0,0,,liquid\nM2,R2,wood chipper,O1,hours,2025-01-10,,0,,liquid\n",
		"readings.csv": "machine,at,miles,hours,source\nM1,2025-06-01,812.4,70,owner\nM1,2026-01-15,1630,141,shop\n" +
			"M1,2026-07-01,22400,190,owner\nM1,2026-09-01,2611.5,228,owner\n",
	}))
	require.Equal(t, exitPartial, o.code, o.errs)
	assert.Contains(t, o.errs, `machines.csv:3: kind "wood chipper" has no rules, so that nothing falls due on such a machine`)
	assert.Contains(t, o.errs, `readings.csv:4: miles "22400" of R1 on 2026-07-01 is kept and left out`)
	assert.Contains(t, o.errs, "it probably showed 2240")

	board := command(t, db, "due")
	assert.Contains(t, board.errs, "No rules for kind wood chipper (1 machine): nothing falls due")
	assert.Contains(t, board.errs, "1 value is in doubt and left out (R1)")
	assert.Contains(t, board.out, "\tR1\t", "a side by side has the rules of its kind")

	assert.Contains(t, must(t, db, "sheet", "R1"), "22400 mi on 2026-07-01")
	assert.Contains(t, must(t, db, "sheet", "R2"), "wood chipper")
}

func TestImportJSONUsesTheNamesOfTheFiles(t *testing.T) {
	var doc struct {
		Recorded map[string]any   `json:"recorded"`
		Warnings []map[string]any `json:"warnings"`
		Retired  []map[string]any `json:"retired_rules"`
	}
	dir := booksWith(t, map[string]string{"items.csv": "kind,item,miles,hours,months,retired\nutv,grease,,,,yes\n"})
	require.NoError(t, json.Unmarshal([]byte(must(t, newDB(t), "import", dir, "--json")), &doc))
	require.Len(t, doc.Retired, 1)
	assert.Equal(t, "grease", doc.Retired[0]["item"])
	for _, name := range folder.Names() {
		stem := name[:len(name)-len(filepath.Ext(name))]
		require.Contains(t, doc.Recorded, stem)
		assert.Contains(t, doc.Recorded[stem], "new")
	}
}

// TestOwnExportChangesNothing: importing what was exported says so, also with
// a kind in the shop's own word and rules changed and retired.
func TestOwnExportChangesNothing(t *testing.T) {
	db, dir := newDB(t), filepath.Join(t.TempDir(), "books")
	must(t, db, "import", booksWith(t, map[string]string{"items.csv": "kind,item,miles,hours,months,retired\nutv,grease,,,,yes\nutv,oil,900,,,\n"}))
	must(t, db, "export", dir)
	assert.Contains(t, must(t, db, "import", dir), "Nothing new.")
	other := newDB(t)
	must(t, other, "import", dir)
	assert.Equal(t, must(t, db, "rules", "list", "--all"), must(t, other, "rules", "list", "--all"))
}

func TestExportSparesAFolderFilledByHand(t *testing.T) {
	db, dir := newDB(t), write(t, books)
	must(t, db, "import", dir)
	o := command(t, db, "export", dir)
	assert.Equal(t, exitInput, o.code)
	assert.Contains(t, o.errs, "holds something else already: ")
	assert.Contains(t, o.errs, "export into a new folder")
	kept, err := os.ReadFile(filepath.Join(dir, "machines.csv"))
	require.NoError(t, err)
	assert.Equal(t, books["machines.csv"], string(kept))
}

// TestASaleIsTakenBackByCommand: the machine is the seller's again, what went
// out meanwhile is told, and the old folder does not sell it anew.
func TestASaleIsTakenBackByCommand(t *testing.T) {
	db, dir := newDB(t), write(t, books)
	must(t, db, "import", dir)
	must(t, db, "release", "R1")
	must(t, db, "standing", "R1", "sold", "--to-new", "Sage Hollow")
	require.Contains(t, must(t, db, "standing", "R1"), "sold")
	var facts []factJSON
	require.NoError(t, json.Unmarshal([]byte(must(t, db, "withdraw", "R1", "--json")), &facts))
	no := func(sort string) string {
		for _, f := range facts {
			if f.Sort == sort {
				return f.No
			}
		}
		require.Fail(t, "no such fact", "%s among %+v", sort, facts)
		return ""
	}
	assert.Contains(t, must(t, db, "withdraw", "R1", no("standing"), "--why", "the buyer stepped back"), "took back the standing")
	after := must(t, db, "standing", "R1")
	assert.Contains(t, after, "in use")
	assert.Contains(t, must(t, db, "standing", "R1", "--json"), `"owner": "O1"`)
	o := command(t, db, "withdraw", "R1", no("release"), "--why", "too early")
	assert.Contains(t, o.errs, "it is withdrawn already: the buyer stepped back", "that it was held back for the sale goes with it")
	must(t, db, "import", dir)
	assert.Contains(t, must(t, db, "standing", "R1"), "in use", "the old folder sells nothing anew")
}

// TestWithdrawByCommand: a service on the wrong machine is picked from the
// list, taken back with a reason, and gone from the board's reckoning.
func TestWithdrawByCommand(t *testing.T) {
	db, dir := newDB(t), write(t, books)
	must(t, db, "import", dir)
	list := must(t, db, "withdraw", "R1")
	assert.Contains(t, list, "service-1  2026-01-15  engine oil")
	o := command(t, db, "withdraw", "R1", "service-1")
	assert.Equal(t, exitInput, o.code)
	assert.Contains(t, o.errs, "add --why")
	assert.Contains(t, must(t, db, "withdraw", "R1", "service-1", "--why", "was done on R2", "--by", "Kim"), "It counts nowhere any more.")
	assert.Contains(t, must(t, db, "withdraw", "R1"), "withdrawn: was done on R2 (Kim)")
	assert.Contains(t, must(t, db, "import", dir), "Nothing new.")
	var facts []factJSON
	require.NoError(t, json.Unmarshal([]byte(must(t, db, "withdraw", "R1", "--json")), &facts))
	require.Len(t, facts, 5)
	var rows []struct {
		Machine, Item string
		LastOn        string `json:"last_on"`
	}
	require.NoError(t, json.Unmarshal([]byte(must(t, db, "due", "--json")), &rows))
	for _, r := range rows {
		if r.Machine == "M1" && r.Item == "oil" {
			assert.Equal(t, "2025-01-10", r.LastOn, "of the day it was new")
		}
	}
}

// TestItemsAreUnderstoodInFiles: names as lists print them go for ids, and what
// is probably misspelt is told, with an exit code of its own.
func TestItemsAreUnderstoodInFiles(t *testing.T) {
	db := newDB(t)
	must(t, db, "import", booksWith(t, map[string]string{
		"items.csv":     "kind,item,miles,hours,months\nutv,Engine oil change,900,,\nutv,winch rope,,,12\n",
		"services.csv":  "machine,item,at,miles,hours\nM1,engine oil change,2026-01-15,1630,141\nM1,Air filter,2026-01-15,,\nM1,winch rope,2026-01-15,,\n",
		"baselines.csv": "machine,item,on,state\nM1,spark plugs,2026-01-15,fine\n",
	}))
	facts := must(t, db, "withdraw", "R1", "--json")
	for _, id := range []string{`"oil"`, `"air_filter"`, `"winch rope"`} {
		assert.Contains(t, facts, id)
	}
	assert.Contains(t, must(t, db, "baseline", "R1", "--json"), `"fine"`)

	slips := map[string]string{
		"items.csv":    "kind,item,miles,hours,months\nutv,coolent,,,24\nutw,oil,,,12\nwood chipper,knives,,,12\n",
		"services.csv": "machine,item,at,miles,hours\nM1,air fltr,2026-01-15,,\n",
	}
	o := command(t, db, "import", booksWith(t, slips))
	assert.Equal(t, exitPartial, o.code, o.errs)
	assert.Contains(t, o.errs, `items.csv:2:5: item "coolent" is taken as an item of your own; if you mean coolant, write that`)
	assert.Contains(t, o.errs, `items.csv:3:1: kind "utw" is taken as a kind of your own; if you mean utv, write that`)
	assert.Contains(t, o.errs, `services.csv:2:4: item "air fltr" has no rule, so nothing falls due from it; if you mean air_filter, write that`)
	assert.NotContains(t, o.errs, "chipper")
	slips["services.csv"] = books["services.csv"]
	must(t, db, "import", booksWith(t, slips))
}

// TestServiceTwiceOnADay: a corrected row of services.csv is another service,
// and the import says how the first is taken back.
func TestServiceTwiceOnADay(t *testing.T) {
	db := newDB(t)
	must(t, db, "import", write(t, books))
	o := command(t, db, "import", booksWith(t, map[string]string{"services.csv": "machine,item,at,miles,hours\nM1,oil,2026-01-15,1630,142\n"}))
	assert.Equal(t, exitDone, o.code)
	assert.Contains(t, o.errs, `services.csv:2: item "oil" is also on record for M1 on that day, 2026-01-15; if this row corrects it, take that one back: `+
		"`roundsman withdraw M1 service-1 --why TEXT`")
	must(t, db, "withdraw", "M1", "service-1", "--why", "141 was a slip")
	assert.NotContains(t, must(t, db, "import", write(t, books)), "service-2")
}

// TestMachineWithoutMeter: a pump is taken in, falls due by the calendar, and
// nobody is asked what its meter shows.
func TestMachineWithoutMeter(t *testing.T) {
	db := newDB(t)
	must(t, db, "import", booksWith(t, map[string]string{
		"machines.csv": "machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max\nP1,P1,pump,O1,none,2025-10-10,,,\n",
		"items.csv":    "kind,item,miles,hours,months\npump,oil,,,12\npump,grease,,50,\n",
		"readings.csv": "machine,at,miles,hours,source\n", "services.csv": "machine,item,at,miles,hours\nP1,oil,2025-10-10,,\nP1,grease,2025-10-10,,\n",
		"releases.csv": "machine,state\nP1,released\n",
	}))
	board := must(t, db, "due", "--json")
	assert.Contains(t, board, "the rule counts 50 hours, which the machine has no meter for")
	assert.Contains(t, board, `"due_on": "2026-10-10"`)
	must(t, db, "round")
	mail := must(t, db, "outbox", "1")
	assert.Contains(t, mail, "engine oil change")
	assert.NotContains(t, mail, "meter")
	assert.Contains(t, must(t, db, "sheet", "P1"), "oil")
	o := command(t, db, "reading", "P1", "--hours", "5")
	assert.Equal(t, exitInput, o.code)
	assert.Contains(t, o.errs, "P1 has no such meter (its meters: none)")
	must(t, db, "machine", "add", "--owner", "O1", "--tag", "P2", "--kind", "pump", "--meters", "none")
	assert.Contains(t, must(t, db, "machine", "list"), "P2")
}

// TestWithdrawnRowsAreNotWarnedOf: what was taken back is carried by an export,
// and nobody hears of it again when it is loaded.
func TestWithdrawnRowsAreNotWarnedOf(t *testing.T) {
	db, dir := newDB(t), filepath.Join(t.TempDir(), "books")
	o := command(t, db, "import", booksWith(t, map[string]string{
		"readings.csv": "machine,at,miles,hours,source\nM1,2026-02-01,999999,,owner\n",
		"services.csv": "machine,item,at,miles,hours\nM1,air fltr,2026-01-15,,\n",
	}))
	require.Equal(t, exitPartial, o.code)
	must(t, db, "withdraw", "R1", "reading-1", "--why", "a digit too many")
	must(t, db, "withdraw", "R1", "service-1", "--why", "misspelt")
	must(t, db, "export", dir)
	for _, into := range []string{db, newDB(t), db} {
		o = command(t, into, "import", dir)
		assert.Equal(t, exitDone, o.code)
		assert.Empty(t, o.errs)
	}
	assert.Contains(t, o.out, "Nothing new.")
}

// TestTagLikeAnID: a tag that is another machine's id is told when it is
// written down.
func TestTagLikeAnID(t *testing.T) {
	db := newDB(t)
	must(t, db, "import", write(t, books))
	add := []string{"machine", "add", "--owner", "O1", "--tag", "M1", "--kind", "utv", "--miles", "5"}
	o := command(t, db, add...)
	assert.Equal(t, exitInput, o.code, "it is asked about")
	assert.Contains(t, o.errs, `tag "M1" is the id of another machine; name that one id:M1, and this one by its own id or owner/tag`)
	must(t, db, append(add, "--sure")...)
}

// TestOldTwinsAreLoadedAndTold: a shop whose database has two machines of one
// tag goes on with it, and its export loads into an empty one; a new twin is
// refused, and nothing is recorded.
func TestOldTwinsAreLoadedAndTold(t *testing.T) {
	db, dir := newDB(t), filepath.Join(t.TempDir(), "books")
	const head = "machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max\n"
	must(t, db, "import", booksWith(t, map[string]string{"machines.csv": head + "M1,R1,utv,O1,both,2025-01-10,0,0,\nM2,R2,utv,O1,hours,2025-01-10,,0,\n"}))
	o := command(t, db, "import", booksWith(t, map[string]string{"machines.csv": head + "M1,R1,utv,O1,both,2025-01-10,0,0,\nM2,r-1,utv,O1,hours,2025-01-10,,0,\n"}))
	require.Equal(t, exitInput, o.code)
	assert.Contains(t, o.errs, `machines.csv:3: tag "r-1" is that of another machine of the same owner: M1`)
	writeTwins(t, db)
	must(t, db, "export", dir)
	for _, into := range []string{db, newDB(t)} {
		o := command(t, into, "import", dir)
		assert.Equal(t, exitDone, o.code, o.errs)
		assert.Contains(t, o.errs, `tag "R1" is that of another machine of the same owner: M1`)
	}
	assert.Contains(t, must(t, db, "due"), "R1")
}

// writeTwins gives M2 the tag of M1, as databases of before have it.
func writeTwins(t *testing.T, db string) {
	t.Helper()
	st, err := store.Open(t.Context(), db, store.Options{})
	require.NoError(t, err)
	m, err := st.FindMachine(t.Context(), "id:M2")
	require.NoError(t, err)
	m.Tag = "R1"
	_, err = st.Record(t.Context(), models.FactSet{Machines: []models.Machine{m}}, models.Entry{RecordedAt: 1_700_000_000, Means: "import"})
	require.NoError(t, err)
	require.NoError(t, st.Close())
}

// TestImportSaysWhatItChanged: which fields of which rows, of the first twenty,
// with the counts of the rest; all in JSON.
func TestImportSaysWhatItChanged(t *testing.T) {
	db := newDB(t)
	machines := func(year, tag string) string {
		text := "machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max,year\n"
		for i := range 24 {
			text += fmt.Sprintf("M%02d,%s%d,utv,O1,both,2025-01-10,0,0,,%s\n", i+1, tag, i+1, year)
		}
		return text
	}
	books := map[string]string{"owners.csv": books["owners.csv"], "machines.csv": machines("2020", "R")}
	first := must(t, db, "import", write(t, books))
	assert.NotContains(t, first, "changed:")
	books["machines.csv"], books["owners.csv"] = machines("2021", "S"), "owner,name,type\nO1,Juniper Flat East,ranch\n"
	books["items.csv"] = "kind,item,miles,hours,months\nutv,oil,900,,\n"
	out := must(t, db, "import", write(t, books))
	assert.Contains(t, out, `changed: owners.csv O1: name "Juniper Flat" is "Juniper Flat East" now`+"\n")
	assert.Contains(t, out, `changed: machines.csv M01: tag "R1" is "S1" now, year "2020" is "2021" now`+"\n")
	assert.Equal(t, 21, strings.Count(out, "changed: "))
	assert.Contains(t, out, "changed: 6 rows more (5 of machines.csv, 1 of items.csv); --json lists them all\n")

	books["machines.csv"] = machines("", "S")
	var doc struct{ Changed []folder.RowChange }
	require.NoError(t, json.Unmarshal([]byte(must(t, db, "import", write(t, books), "--json")), &doc))
	require.Len(t, doc.Changed, 24)
	assert.Equal(t, folder.RowChange{File: "machines.csv", Row: "M24", Fields: []folder.FieldChange{{Field: "year", Was: "2021"}}}, doc.Changed[23])
}
