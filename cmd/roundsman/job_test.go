package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
	"example.org/roundsman/notify/policy"
	"example.org/roundsman/scheduler"
	"example.org/roundsman/scheduler/job"
)

// shopWithR1 is the small shop's database.
func shopWithR1(t *testing.T) string {
	t.Helper()
	db := newDB(t)
	must(t, db, "import", write(t, books))
	return db
}

// jobs reads what a command prints as JSON.
func jobsJSON(t *testing.T, out string) jobRow {
	t.Helper()
	var r jobRow
	require.NoError(t, json.Unmarshal([]byte(out), &r))
	return r
}

// refusal runs a command that must be refused and change nothing.
func refusal(t *testing.T, db string, code int, says string, args ...string) {
	t.Helper()
	o := command(t, db, args...)
	assert.Equal(t, code, o.code, "%v: %s%s", args, o.out, o.errs)
	assert.Contains(t, o.errs+o.out, says)
}

// A repair of the cooling system from the complaint to "it's back": services
// are recorded, no machine leaves with an open check before hand-over, the owner's bad
// answer reopens the job and tells the shop.
func TestACoolingJobFromComplaintToComeback(t *testing.T) {
	t.Parallel()
	db := shopWithR1(t)
	o := jobsJSON(t, must(t, db, "job", "open", "R1", "--complaint", "runs hot on hills", "--code", "p0217", "--miles", "2790", "--json"))
	assert.Equal(t, "1", o.ID)
	assert.Equal(t, []string{"P0217"}, o.Codes)
	assert.Contains(t, must(t, db, "job", "line", "1", "--item", "thermostat_change", "--by", "Pat"), "opens the cooling system")
	must(t, db, "job", "part", "1", "--name", "thermostat", "--number", "TH-82", "--cost", "24.50", "--line", "1")
	refusal(t, db, exitInput, "say first what was done", "job", "handover", "1")

	o = jobsJSON(t, must(t, db, "job", "done", "1", "--cause", "stuck shut", "--correction", "new thermostat", "--by", "Pat", "--json"))
	assert.Equal(t, 2450.0, o.Parts[0].CostCents.F)
	require.Len(t, o.Checks, 6)
	board := must(t, db, "due", "--json")
	assert.Contains(t, board, `"thermostat"`)
	refusal(t, db, exitInput, "1 (Cold, high point", "job", "handover", "1")
	refusal(t, db, exitInput, "5 (No drip", "job", "close", "1")
	refusal(t, db, exitInput, "needs a name", "job", "handover", "1", "--override", "in a hurry")
	for _, k := range o.Checks[:5] {
		must(t, db, "check", "answer", k.Check, "--ok")
	}
	assert.Contains(t, must(t, db, "job", "handover", "1"), "The owner will be asked by 2026-11-09")

	assert.Contains(t, must(t, db, "check", "list", "R1"), "Is it running right")
	back := must(t, db, "check", "answer", "6", "--bad", "--words", "it's back", "--by", "Ada Reyes")
	assert.Contains(t, back, "reopened (attempt 2)")
	outbox := must(t, db, "outbox", "--json")
	assert.Contains(t, outbox, "alert/check/6/")
	assert.Contains(t, must(t, db, "job", "show", "1"), "it's back (Ada Reyes)")
	assert.Contains(t, must(t, db, "job", "comebacks"), "thermostat change  1     1          100 %")
	refusal(t, db, exitInput, "go on with that job", "job", "open", "R1", "--back-of", "1")
}

// The export is complete: jobs, checks and answers come back byte for byte.
func TestJobsAreExportedWhole(t *testing.T) {
	t.Parallel()
	db := shopWithR1(t)
	must(t, db, "job", "open", "R1", "--complaint", "hot, \"boils\"", "--code", "P0217,SPN 110 FMI 16", "--miles", "2790")
	must(t, db, "job", "line", "1", "--item", "thermostat_change", "--minutes", "40")
	must(t, db, "job", "line", "1", "--repair", "fins cleaned")
	must(t, db, "job", "line", "1", "--drop", "2")
	must(t, db, "job", "part", "1", "--name", "thermostat", "--equivalent", "A1,A2", "--cost", "24.5", "--qty", "1")
	must(t, db, "job", "done", "1")
	must(t, db, "check", "answer", "1", "--bad", "--words", "air")
	must(t, db, "check", "answer", "1", "--ok")
	must(t, db, "check", "answer", "2", "--not-fitted")
	must(t, db, "job", "handover", "1", "--override", "road call", "--by", "Lee")
	must(t, db, "check", "answer", "6", "--bad", "--words", "back")
	a, b, other := t.TempDir(), t.TempDir(), newDB(t)
	must(t, db, "export", a)
	must(t, other, "import", a)
	must(t, other, "export", b)
	for _, name := range []string{"jobs.csv", "job_lines.csv", "parts.csv", "checks.csv", "check_answers.csv", "check_defs.csv", "services.csv", "readings.csv"} {
		want, err := os.ReadFile(filepath.Join(a, name))
		require.NoError(t, err)
		got, err := os.ReadFile(filepath.Join(b, name))
		require.NoError(t, err)
		assert.Equal(t, string(want), string(got), name)
	}
	assert.Contains(t, must(t, other, "import", a), "Nothing new.")
	assert.Equal(t, must(t, db, "job", "show", "1", "--json"), must(t, other, "job", "show", "1", "--json"))

	// Snapshots that skip the bench are refused by name, and nothing is kept.
	snap := func(rows string) map[string]string {
		files := map[string]string{"machines.csv": books["machines.csv"]}
		files["jobs.csv"] = "job,machine,opened_on,complaint,done_on,handed_on\n" + rows
		return files
	}
	files := snap("7,M1,2026-10-01,leaks,2026-10-02,2026-10-03\n")
	files["checks.csv"] = "check,job,kind,question_en\n70,7,bench,No drip?\n"
	refusal(t, other, exitInput, "70 (No drip?)", "import", write(t, files))
	must(t, other, "import", write(t, snap("8,M1,2026-10-01,leaks,,\n")))
	refusal(t, other, exitInput, "open to done to handed over", "import", write(t, snap("8,M1,2026-10-01,leaks,2026-10-02,2026-10-03\n")))
}

func TestAnOverrideIsKept(t *testing.T) {
	t.Parallel()
	db := shopWithR1(t)
	must(t, db, "job", "open", "R1")
	must(t, db, "job", "line", "1", "--item", "coolant")
	o := command(t, db, "job", "close", "1", "--correction", "fresh coolant")
	assert.Equal(t, exitPartial, o.code, "done, but not handed over")
	assert.Contains(t, o.out, "not handed over")
	r := jobsJSON(t, must(t, db, "job", "close", "1", "--override", "road call tomorrow", "--by", "Lee", "--json"))
	assert.Equal(t, []string{"handed over", "road call tomorrow", "Lee"}, []string{string(r.State), r.OverrideWhy, r.OverrideBy})
}

func TestJobsRefuseWhatCannotBe(t *testing.T) {
	t.Parallel()
	db := shopWithR1(t)
	must(t, db, "job", "open", "R1", "--complaint", "squeals")
	for says, args := range map[string][]string{
		"no machine is called":   {"job", "open", "R99"},
		"is doubtful":            {"job", "open", "R1", "--miles", "27"},
		"no such meter":          {"job", "open", "R2", "--miles", "27"},
		"is not a trouble code":  {"job", "open", "R1", "--code", "hot"},
		"lies after today":       {"job", "open", "R1", "--on", "2026-12-01"},
		"there is no job 9":      {"job", "show", "9"},
		"there is no item":       {"job", "line", "1", "--item", "flux"},
		"two things":             {"job", "line", "1", "--item", "oil", "--repair", "x"},
		"the line says nothing":  {"job", "line", "1"},
		"no number and no name":  {"job", "part", "1", "--place", "left"},
		"nothing is written":     {"job", "done", "1"},
		"is not a number":        {"job", "part", "1", "--name", "x", "--qty", "two"},
		"no answer is given":     {"check", "answer", "1"},
		"there is no check 9":    {"check", "answer", "9", "--ok"},
		"add --owner":            {"check", "add", "1", "--ask", "x", "--after-days", "3"},
		"is no state":            {"job", "list", "--state", "lost"},
		"expected":               {"job", "withdraw", "1", "--why"},
		"is not a time":          {"sheet", "R1", "--at", "R1"},
		"there is no item \"x\"": {"sheet", "R1", "--item", "x"},
	} {
		refusal(t, db, exitInput, says, args...)
	}
	rows := must(t, db, "job", "list", "--json")
	var list []jobRow
	require.NoError(t, json.Unmarshal([]byte(rows), &list))
	require.Len(t, list, 1)
	assert.Empty(t, list[0].Lines, "nothing refused was kept")
	must(t, db, "job", "withdraw", "1", "--why", "opened twice")
	assert.Contains(t, must(t, db, "job", "list"), "No job.")
	assert.Contains(t, must(t, db, "job", "list", "R1"), "withdrawn")
}

// A machine with 40 jobs: the sheet is one page, says first what was done
// last, what to do while in there and what to buy, and comes in an instant.
func TestSheetOfAMachineWithFortyJobs(t *testing.T) {
	t.Parallel()
	db := shopWithR1(t)
	on := time.Date(2025, 6, 2, 17, 0, 0, 0, time.UTC)
	play := func(args ...string) string {
		o := at(t, on, db, args...)
		require.Equal(t, exitDone, o.code, "%v: %s%s", args, o.out, o.errs)
		return o.out
	}
	thirtyEight(t, db, on)
	on = time.Date(2026, 10, 12, 17, 0, 0, 0, time.UTC)
	play("job", "open", "R1", "--complaint", "overheats on hills", "--miles", "2720")
	play("job", "line", "39", "--item", "thermostat_change", "--by", "Kim")
	play("job", "done", "39", "--correction", "new thermostat")
	for i := range 6 {
		id := checkOf(t, play("job", "show", "39", "--json"), i)
		if i < 5 {
			play("check", "answer", id, "--ok")
		}
	}
	play("job", "handover", "39")
	on = testNow
	assert.Contains(t, play("job", "open", "R1", "--complaint", "runs hot again"), "looks like job 39")

	begin := time.Now()
	text := play("sheet", "R1")
	took := time.Since(begin)
	assert.Less(t, took, 5*time.Second)
	lines := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
	assert.LessOrEqual(t, len(lines), 60)
	first := strings.Join(lines[:min(30, len(lines))], "\n")
	assert.Contains(t, first, "LAST     2026-10-12")
	assert.Contains(t, first, "JOB      40, open since 2026-11-02: \"runs hot again\"")
	assert.Contains(t, first, "BACK?  job 39")
	assert.Contains(t, first, "WITH IT")
	assert.Contains(t, first, "BUY ")
	assert.Contains(t, text, "hot coolant burns")

	// As it was before the thermostat.
	then := play("sheet", "R1", "--at", "2026-10-01")
	assert.NotContains(t, then, "overheats on hills")
	assert.Contains(t, then, "job 38")
	var s map[string]any
	require.NoError(t, json.Unmarshal([]byte(play("sheet", "R1", "--json")), &s))
	for _, key := range []string{"machine", "owner", "meters", "last", "job", "alike", "within", "due", "buy", "checks", "history", "parts", "cautions"} {
		assert.Contains(t, s, key)
	}
	t.Logf("the sheet took %s:\n%s", took, text)
}

// thirtyEight plays as many jobs on R1 as the store takes them, one in twelve
// days.
func thirtyEight(t *testing.T, db string, on time.Time) {
	t.Helper()
	s, err := store.Open(t.Context(), db, store.Options{})
	require.NoError(t, err)
	defer func() { assert.NoError(t, s.Close()) }()
	jobs := scheduler.Jobs{Store: s, Notify: policy.Settings{Zone: time.UTC}}
	m, err := s.FindMachine(t.Context(), "R1")
	require.NoError(t, err)
	works := []job.Work{{Item: "oil"}, {What: "new brake pads"}, {Item: "belt"}, {What: "tie rod end"}}
	complaints := []string{"", "brakes squeak", "belt slips", "pulls left"}
	for i := range 38 {
		act := scheduler.Act{At: on, By: "Pat", Means: "job"}
		w, err := jobs.Open(t.Context(), act, job.Opening{Machine: m, On: jobs.On(act), Complaint: complaints[i%4]}, scheduler.TypedMeters{})
		require.NoError(t, err)
		for _, rule := range []func(scheduler.Known) (models.JobChange, error){
			func(k scheduler.Known) (models.JobChange, error) {
				return job.AddLine(k.Job, k.Machine, k.Defs, works[i%4])
			},
			func(k scheduler.Known) (models.JobChange, error) {
				return job.AddPart(k.Job, models.Part{Name: "part", Number: fmt.Sprintf("N-%d", i%4), Line: 1})
			},
			func(k scheduler.Known) (models.JobChange, error) {
				return job.Done(k.Job, k.Machine, k.Defs, job.Finish{On: jobs.On(act), By: "Pat"})
			},
			func(k scheduler.Known) (models.JobChange, error) {
				return job.HandOver(k.Job, job.Hand{On: jobs.On(act)})
			},
		} {
			_, _, err = jobs.Do(t.Context(), act, w.Job.ID, "", rule)
			require.NoError(t, err)
		}
		on = on.AddDate(0, 0, 12)
	}
}

func checkOf(t *testing.T, out string, i int) string {
	t.Helper()
	return jobsJSON(t, out).Checks[i].Check
}

// The commands and the store agree: a database written by the one is refused
// by the other alike.
func TestTheStoreRefusesWhatTheCommandRefuses(t *testing.T) {
	t.Parallel()
	db := shopWithR1(t)
	must(t, db, "job", "open", "R1")
	must(t, db, "job", "line", "1", "--item", "hoses")
	must(t, db, "job", "done", "1")
	s, err := store.Open(t.Context(), filepath.Clean(db), store.Options{})
	require.NoError(t, err)
	defer func() { assert.NoError(t, s.Close()) }()
	w, err := s.Job(t.Context(), "1")
	require.NoError(t, err)
	owed, err := s.OwedChecks(t.Context(), nil, "bench")
	require.NoError(t, err)
	assert.Len(t, owed, 5)
	assert.Len(t, w.Checks, 6)
}

// TestAMachineInTheShopIsNotPlanned: what is being done there is not planned
// once more, and is planned again when nobody hands it over.
func TestAMachineInTheShopIsNotPlanned(t *testing.T) {
	db := shopWithR1(t)
	planned := func() bool {
		return strings.Contains(must(t, db, "plan", "--days", "120", "--json"), `"machine": "M1"`)
	}
	require.True(t, planned(), "something falls due on R1")
	must(t, db, "job", "open", "R1", "--complaint", "planned service")
	assert.False(t, planned())
	o := command(t, db, "job", "done", "1", "--correction", "greased")
	require.Equal(t, exitDone, o.code, o.errs)
	assert.Contains(t, o.errs, "no item was written down as done in job 1, so no interval begins anew")
	assert.False(t, planned(), "it waits for the hand-over")
	must(t, db, "job", "handover", "1")
	assert.True(t, planned(), "it is back with its owner")
}
