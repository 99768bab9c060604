package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// doubtBooks is one machine with one reading.
func doubtBooks() map[string]string {
	return map[string]string{
		"machines.csv": "machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max\nG1,G1,generator,O1,hours,,,,\n",
		"readings.csv": "machine,at,miles,hours,source\nG1,2026-10-20,,1500,shop\n",
	}
}

// TestASwapAndABaselineAreAskedAbout: what a meter is said to have shown is
// screened, by command and by page, as a reading is.
func TestASwapAndABaselineAreAskedAbout(t *testing.T) {
	for name, c := range map[string]struct{ doubtful, right []string }{
		"swap":               {[]string{"swap", "G1", "hours", "--old", "15100"}, []string{"swap", "G1", "hours", "--old", "1,510 h"}},
		"swap that falls":    {[]string{"swap", "G1", "hours", "--old", "150"}, []string{"swap", "G1", "hours", "--sure"}},
		"baseline":           {[]string{"baseline", "G1", "oil=done:15200h"}, []string{"baseline", "G1", "oil=done:about 1,480 h"}},
		"baseline, of a day": {[]string{"baseline", "G1", "oil=done:2026-10-24@15200"}, []string{"baseline", "G1", "oil=done:2026-10@1480"}},
	} {
		t.Run(name, func(t *testing.T) {
			db := newDB(t)
			must(t, db, "import", write(t, doubtBooks()))
			o := command(t, db, c.doubtful...)
			assert.Equal(t, exitInput, o.code, o.out)
			assert.Contains(t, o.errs, "doubtful")
			assert.Contains(t, o.errs, "roundsman withdraw")
			assert.NotContains(t, must(t, db, "withdraw", "G1"), "swap-")
			must(t, db, c.right...)

			db = newDB(t)
			must(t, db, "import", write(t, doubtBooks()))
			must(t, db, append(c.doubtful, "--sure")...)
		})
	}
}

// TestAnImportSaysWhatIsDoubtful: it is kept, each row is named with its line,
// and the exit code says so.
func TestAnImportSaysWhatIsDoubtful(t *testing.T) {
	books := doubtBooks()
	books["readings.csv"] += "G1,2026-10-28,,15200,owner\n"
	books["services.csv"] = "machine,item,at,miles,hours\nG1,oil,2026-10-25,,15100\n"
	books["swaps.csv"] = "machine,at,meter,old_value,new_value\nG1,2026-10-29,hours,15300,0\n"
	books["baselines.csv"] = "machine,item,on,state,done_on,done_within,miles,hours,by\nG1,air_filter,2026-10-20,done,,,,14900,\n"
	for _, n := range []string{"1501", "1502", "1503", "1504"} { // by now it is well known
		books["readings.csv"] += "G1,2026-10-2" + n[3:] + ",," + n + ",shop\n"
	}
	db := newDB(t)
	o := command(t, db, "import", write(t, books), "--json")
	require.Equal(t, exitPartial, o.code, o.errs)
	for _, want := range []string{`readings.csv:3: hours "15200" of G1 on 2026-10-28`, `services.csv:2: hours "15100"`, `swaps.csv:2: hours "15300"`, `baselines.csv:2: hours "14900"`, "roundsman withdraw"} {
		assert.Contains(t, o.errs, want)
	}
	var said struct {
		Doubtful []struct {
			File string
			Line int
		}
	}
	require.NoError(t, json.Unmarshal([]byte(o.out), &said))
	assert.Len(t, said.Doubtful, 4)
	list := must(t, db, "withdraw", "G1")
	assert.Regexp(t, `(?m)^reading-2 .*15200 h +doubtful: `, list)
	assert.Regexp(t, `(?m)^service-1 .*15100 h +doubtful: `, list)
	sheet := must(t, db, "sheet", "G1")
	assert.Contains(t, sheet, "Last read 1504 h")
	assert.Regexp(t, `at a meter\s+value that is left out as doubtful`, sheet)
}

// TestTheNewMeterIsReadOnTheDayOfItsSwap: what it shows is taken, and what
// neither meter can have shown is asked about.
func TestTheNewMeterIsReadOnTheDayOfItsSwap(t *testing.T) {
	db := newDB(t)
	must(t, db, "import", write(t, doubtBooks()))
	must(t, db, "swap", "G1", "hours", "--old", "1505")
	o := command(t, db, "reading", "G1", "--hours", "1512")
	assert.Equal(t, exitInput, o.code, o.out)
	assert.Contains(t, o.errs, "more than the replaced meter showed last")
	must(t, db, "reading", "G1", "--hours", "0.4")
	assert.Equal(t, 0, strings.Count(must(t, db, "withdraw", "G1"), "doubtful"))
}

// TestAnImpossibleFirstMeterIsAskedAbout: what no machine ever runs is taken
// only from who is sure of it.
func TestAnImpossibleFirstMeterIsAskedAbout(t *testing.T) {
	for says, c := range map[string][]string{
		"9999999 h of M1 is doubtful: more than such a machine ever runs":                   {"generator", "--hours", "9999999"},
		"31000000 mi of M1 is doubtful: more than such a machine ever runs":                 {"utv", "--miles", "31000000"},
		"96000 h of M1 is doubtful: more than such a machine ever runs":                     {"quad", "--hours", "96000"},
		"41000 h of M1 is doubtful: more hours than such a machine can have, perhaps miles": {"quad", "--hours", "41000"},
		"21000 h of M1 is doubtful: more hours than have passed since it was built":         {"generator", "--hours", "21000", "--year", "2026"},
		`hours_start "96000" is more than such a machine ever runs`:                         {"quad", "--meters", "hours", "--hours-start", "96000", "--in-service", "2026-01-05"},
	} {
		db := newDB(t)
		add := append([]string{"machine", "add", "--new", "--new-owner", "Elk Bend", "--tag", "M1", "--kind"}, c...)
		o := command(t, db, add...)
		assert.Equal(t, exitInput, o.code, o.out)
		assert.Contains(t, o.errs, says)
		assert.Contains(t, o.errs, "--sure")
		must(t, db, append(add, "--sure")...)
		must(t, db, "sheet", "M1")
	}
}

// TestAnImpossibleFirstMeterByEveryDoor is asked about, or left out by an
// import, and passes from who is sure; what follows it then passes by itself.
func TestAnImpossibleFirstMeterByEveryDoor(t *testing.T) {
	books := map[string]string{"machines.csv": "machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max\nQ1,Q1,quad,o,hours,,,,\n"}
	for name, args := range map[string][]string{
		"reading":       {"reading", "Q1", "--hours", "96000"},
		"job opening":   {"job", "open", "Q1", "--complaint", "rattles", "--hours", "96000"},
		"baseline":      {"baseline", "Q1", "engine_oil=done:96000h"},
		"swap":          {"swap", "Q1", "hours", "--old", "96000", "--new", "0"},
		"about, a year": {"reading", "Q1", "--hours", "about 96000"},
	} {
		t.Run(name, func(t *testing.T) {
			db := newDB(t)
			must(t, db, "import", write(t, books))
			o := command(t, db, args...)
			assert.Equal(t, exitInput, o.code, o.out)
			assert.Contains(t, o.errs, "more than such a machine ever runs")
			must(t, db, append(args, "--sure")...)
		})
	}
	db := newDB(t)
	books["readings.csv"] = "machine,at,miles,hours,source\nQ1,2026-10-01,,96000,shop\nQ1,2026-10-20,,96010,shop\n"
	books["services.csv"] = "machine,item,at,miles,hours\nQ1,engine_oil,2026-10-21,,96011\n"
	o := command(t, db, "import", write(t, books))
	assert.Equal(t, exitPartial, o.code)
	for _, says := range []string{`readings.csv:2: hours "96000"`, `readings.csv:3: hours "96010"`, `services.csv:2: hours "96011"`} {
		assert.Contains(t, o.errs, says)
	}
	must(t, db, "reading", "Q1", "--hours", "96010", "--on", "2026-10-20", "--sure")
	must(t, db, "reading", "Q1", "--hours", "96030")
	assert.NotContains(t, must(t, db, "withdraw", "Q1"), "doubtful", "one sure look is enough")
}

// TestADoubtfulSwapInAnImportTakesNoEffect until somebody is sure of it, and a
// dry run says the same with the same exit code.
func TestADoubtfulSwapInAnImportTakesNoEffect(t *testing.T) {
	books := doubtBooks()
	books["swaps.csv"] = "machine,at,meter,old_value,new_value\nG1,2026-10-29,hours,15300,0\n"
	books["readings.csv"] += "G1,2026-10-30,,1504,shop\n"
	dir, db := write(t, books), newDB(t)
	told := func(args ...string) {
		o := command(t, db, append([]string{"import", dir}, args...)...)
		require.Equal(t, exitPartial, o.code, o.errs)
		assert.Contains(t, o.errs, `swaps.csv:2: hours "15300" of G1 on 2026-10-29 is doubtful, and the change of meter is not taken`)
		assert.Contains(t, o.errs, "roundsman swap G1 hours --old 15300")
		assert.Equal(t, 1, strings.Count(o.errs, "doubtful:"), o.errs)
	}
	told("--dry-run")
	told()
	assert.Contains(t, must(t, db, "sheet", "G1"), "Last read 1504 h")
	assert.NotContains(t, must(t, db, "withdraw", "G1"), "swap-")
	must(t, db, "reading", "G1", "--hours", "1505")
	must(t, db, "swap", "G1", "hours", "--old", "15300", "--new", "0", "--on", "2026-10-29", "--sure")
	must(t, db, "import", dir) // it is on record, and stays
}

// TestADryRunSaysItsDoubts as the import does.
func TestADryRunSaysItsDoubts(t *testing.T) {
	books := doubtBooks()
	books["readings.csv"] += "G1,2026-10-21,,1501,shop\nG1,2026-10-28,,15200,owner\n"
	dir, db := write(t, books), newDB(t)
	dry, real := command(t, db, "import", dir, "--dry-run"), command(t, db, "import", dir)
	assert.Equal(t, exitPartial, dry.code)
	assert.Equal(t, real.code, dry.code)
	assert.Equal(t, real.errs, dry.errs)
	assert.Contains(t, dry.errs, `readings.csv:4: hours "15200"`)
}

// TestAnImportTellsOnlyNewDoubts: what it pushes out of the record is told, and
// what was told before is not told at each import.
func TestAnImportTellsOnlyNewDoubts(t *testing.T) {
	books := doubtBooks()
	books["readings.csv"] = "machine,at,miles,hours,source\nG1,2026-10-12,,15000,shop\n"
	db := newDB(t)
	must(t, db, "import", write(t, books))
	const head = "machine,at,miles,hours,source\n"
	books["readings.csv"] = head
	for _, n := range []string{"1501", "1502", "1503", "1504"} {
		books["readings.csv"] += "G1,2026-10-2" + n[3:] + ",," + n + ",shop\n"
	}
	books["baselines.csv"] = "machine,item,on,state,done_on,done_within,miles,hours,by\nG1,air_filter,2026-10-20,done,,,,24900,\n"
	const pushed = "on record: hours \"15000\" of G1 on 2026-10-12 is left out now, for what this import brought"
	dry := command(t, db, "import", write(t, books), "--dry-run")
	assert.Contains(t, dry.errs, pushed)
	o := command(t, db, "import", write(t, books))
	assert.Equal(t, exitPartial, o.code)
	assert.Equal(t, dry.errs, o.errs)
	assert.Contains(t, o.errs, `baselines.csv:2: hours "24900"`)

	books["readings.csv"] += "G1,2026-10-25,,1505,shop\n"
	o = command(t, db, "import", write(t, books))
	assert.Equal(t, exitDone, o.code, o.errs)
	assert.Empty(t, o.errs)
	books["readings.csv"] += "G1,2026-10-26,,15060,shop\n"
	o = command(t, db, "import", write(t, books))
	assert.Equal(t, exitPartial, o.code)
	assert.Equal(t, 1, strings.Count(o.errs, "doubtful:"), o.errs)
	assert.Contains(t, o.errs, `readings.csv:7: hours "15060"`)
}

// TestARefusedFirstImportLeavesNothing, so that a wrong folder is still told
// from a shop; so does any first command that is refused.
func TestARefusedFirstImportLeavesNothing(t *testing.T) {
	dir := t.TempDir()
	db := filepath.Join(dir, "roundsman.db")
	for _, args := range [][]string{
		{"import", write(t, map[string]string{"machines.csv": "machine,tag\nM1\n"})},
		{"machine", "add", "--new", "--new-owner", "Elk Bend", "--kind", "quad", "--hours", "96000"},
	} {
		o := command(t, db, args...)
		assert.Equal(t, exitInput, o.code)
		there, err := os.ReadDir(dir)
		require.NoError(t, err)
		assert.Empty(t, there)
	}
	o := command(t, db, "rules", "list")
	assert.Equal(t, exitDone, o.code)
	assert.Contains(t, o.errs, "there is no shop here yet; these rules come with the program")
	assert.Contains(t, o.out, "utv")
	o = command(t, db, "due")
	assert.Contains(t, o.errs, "there is no database")
}

// TestWhatIsProbablyNotMeantIsSaid: a name that two machines answer to, an owner
// whose name is nearly known, a rule for nobody, a change of meter without a
// figure.
func TestWhatIsProbablyNotMeantIsSaid(t *testing.T) {
	db := newDB(t)
	must(t, db, "import", write(t, map[string]string{"machines.csv": "machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max,make,model\nM1,R12,utv,juniper-flat,hours,,,,,Acme,Trail 900\n"}))
	says := func(code int, words string, args ...string) {
		t.Helper()
		o := command(t, db, args...)
		assert.Equal(t, code, o.code, o.errs)
		assert.Contains(t, o.errs, words)
	}
	add := []string{"machine", "add", "--owner", "juniper-flat", "--tag", "X1", "--kind", "utv", "--hours", "4", "--id", "R12"}
	says(exitInput, `machine "R12" is the tag of another machine; name this one id:R12`, add...)
	must(t, db, append(add, "--sure")...)
	must(t, db, "machine", "change", "id:R12", "--duty", "severe")
	says(exitInput, `if you mean juniper-flat, write that`, "owner", "change", "junper-flat", "--name", "x")
	says(exitInput, `if you mean juniper-flat, write that`, "standing", "M1", "sold", "--to", "junper-flat")
	says(exitInput, "nothing says what the old meter of R12 showed last", "swap", "id:M1", "hours")
	must(t, db, "swap", "id:M1", "hours", "--sure")
	rule := write(t, map[string]string{
		"machines.csv":  "machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max\n",
		"items.csv":     "kind,item,miles,hours,months,make,model\nutv,coolant,,,20,Acme,Trial 900\n",
		"standings.csv": "machine,on,state,new_owner\n",
	})
	says(exitPartial, `items.csv:2: model "Trial 900" is for a model that no machine is of; if you mean Acme Trail 900, write that`, "import", rule)
	says(exitInput, `correct the id; perhaps juniper-flat is meant`, "import", write(t, map[string]string{
		"owners.csv":    "owner,name,type\njuniper-flat,Juniper Flat,ranch\n",
		"machines.csv":  "machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max\n",
		"standings.csv": "machine,on,state,new_owner\nM1,2026-10-01,sold,junper-flat\n",
	}))
}

// TestAChangeThatMakesMuchLateIsSaidFirst, at the desk with "sure?", at an import
// as a note; the break-in service of an old machine is not told.
func TestAChangeThatMakesMuchLateIsSaidFirst(t *testing.T) {
	db := newDB(t)
	const head = "machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max,cooling,books_since\n"
	must(t, db, "import", write(t, map[string]string{
		"machines.csv": head + "M1,R1,utv,o,both,2019-03-01,0,0,,liquid,2026-10-01\n",
		"readings.csv": "machine,at,miles,hours,source\nM1,2026-10-01,14000,1900,shop\nM1,2026-10-20,14060,1908,shop\n",
	}))
	o := command(t, db, "machine", "change", "R1", "--books-since", "2019-03-01")
	require.Equal(t, exitInput, o.code, o.out)
	assert.Regexp(t, `machine: books_since "2019-03-01" makes items late that were not: \d+ \([^)]+, [^)]+, [^)]+ \.\.\.\)`, o.errs)
	assert.Contains(t, o.errs, "--sure")
	dry := command(t, db, "import", "--dry-run", write(t, map[string]string{"machines.csv": head + "M1,R1,utv,o,both,2019-03-01,0,0,,liquid,2019-03-01\n"}))
	assert.Equal(t, exitDone, dry.code)
	assert.Regexp(t, `machines.csv:2: books_since "2019-03-01" makes items late that were not: \d+ `, dry.errs)
	must(t, db, "machine", "change", "R1", "--books-since", "2019-03-01", "--sure")
	must(t, db, "round")
	due := must(t, db, "due", "--json")
	assert.Contains(t, due, `"air_filter"`)
	assert.NotContains(t, due, `"break_in"`)
}

// TestAServiceOfAJobTakenBackSaysWhatStays: the job's line, which is taken back
// too, and its checks; the sheet then does not show the job as done.
func TestAServiceOfAJobTakenBackSaysWhatStays(t *testing.T) {
	db := newDB(t)
	must(t, db, "import", write(t, map[string]string{"machines.csv": "machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max,cooling\nM1,R1,utv,o,hours,,,,,liquid\n"}))
	must(t, db, "job", "open", "R1", "--complaint", "yearly service")
	must(t, db, "job", "line", "1", "--item", "coolant")
	must(t, db, "job", "done", "1")
	assert.NotRegexp(t, `"history": (\[\]|null)`, must(t, db, "sheet", "R1", "--json"))
	said := must(t, db, "withdraw", "R1", "service-1", "--why", "was done on R2")
	assert.Contains(t, said, "Job 1 goes on saying that it was done: take back its line-1 too")
	assert.Regexp(t, `Checks of that job stay open: \d`, said)
	said = must(t, db, "withdraw", "R1", "line-1", "--why", "was done on R2")
	assert.NotContains(t, said, "goes on saying")
	assert.Contains(t, said, "stay open")
	assert.Regexp(t, `"history": (\[\]|null)`, must(t, db, "sheet", "R1", "--json"))
}
