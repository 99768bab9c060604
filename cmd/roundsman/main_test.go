package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// TestMain lets the test program play the command itself, so that tests can
// start it as a process of its own and end it with SIGKILL.
func TestMain(m *testing.M) {
	if os.Getenv("ROUNDSMAN_TEST_PLAY") == "command" {
		main()
		return
	}
	os.Exit(m.Run())
}

// testNow is the moment at which commands run in tests: Monday, November 2,
// 2026, 10:00 in Denver.
var testNow = time.Date(2026, 11, 2, 17, 0, 0, 0, time.UTC)

func testClock() time.Time { return testNow }

// outcome is what a command did.
type outcome struct {
	code      int
	out, errs string
}

// at runs a command at a time in a folder of its own database.
func at(t *testing.T, now time.Time, db string, args ...string) outcome {
	t.Helper()
	var out, errs bytes.Buffer
	if db != "" {
		args = append([]string{"--db", db}, args...)
	}
	code := run(t.Context(), host{args: args, env: nil, in: strings.NewReader(""), out: &out, errs: &errs,
		clock: models.ClockFunc(func() time.Time { return now })})
	return outcome{code, out.String(), errs.String()}
}

func command(t *testing.T, db string, args ...string) outcome {
	t.Helper()
	return at(t, testNow, db, args...)
}

// must runs a command that has to succeed and gives its output.
func must(t *testing.T, db string, args ...string) string {
	t.Helper()
	o := command(t, db, args...)
	require.Equal(t, exitDone, o.code, "%v: %s%s", args, o.out, o.errs)
	return o.out
}

// write puts files into a new folder.
func write(t *testing.T, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
	}
	return dir
}

func newDB(t *testing.T) string { return filepath.Join(t.TempDir(), "facts.db") }

// books is a small shop's folder.
var books = map[string]string{
	"owners.csv":   "owner,name,type\nO1,Juniper Flat,ranch\n",
	"contacts.csv": "owner,name,role,mail,mobile,prefers,sms_consent_on,mail_consent_on\nO1,Ada Reyes,service,ada@example.com,,mail,,2025-01-01\n",
	"machines.csv": "machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max,cooling\nM1,R1,utv,O1,both,2025-01-10,0,0,,liquid\nM2,R2,generator,O1,hours,2025-01-10,,0,,liquid\n",
	"readings.csv": "machine,at,miles,hours,source\nM1,2025-06-01,812.4,70,owner\nM1,2026-01-15,1630,141,shop\nM1,2026-09-01,2611.5,228,owner\nM2,2026-02-01,,41.5,owner\n",
	"services.csv": "machine,item,at,miles,hours\nM1,oil,2026-01-15,1630,141\n",
	"releases.csv": "machine,state\nM1,released\nM2,released\n",
}

func TestImportExportImportGivesTheSameBytes(t *testing.T) {
	t.Parallel()
	first, second := newDB(t), newDB(t)
	must(t, first, "import", write(t, books))
	a, b := t.TempDir(), t.TempDir()
	must(t, first, "export", a)
	must(t, second, "import", a)
	must(t, second, "export", b)
	entries, err := os.ReadDir(a)
	require.NoError(t, err)
	require.NotEmpty(t, entries)
	for _, e := range entries {
		want, err := os.ReadFile(filepath.Join(a, e.Name()))
		require.NoError(t, err)
		got, err := os.ReadFile(filepath.Join(b, e.Name()))
		require.NoError(t, err)
		assert.Equal(t, string(want), string(got), e.Name())
	}
	assert.Contains(t, must(t, second, "import", a), "Nothing new.")
}

func TestDueJSONKeepsItsContract(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	must(t, db, "import", write(t, books))
	var rows []map[string]any
	require.NoError(t, json.Unmarshal([]byte(must(t, db, "due", "--json")), &rows))
	require.NotEmpty(t, rows)
	stages := map[string]bool{}
	for _, r := range rows {
		for _, key := range []string{"owner", "machine", "tag", "item", "stage", "reason", "driver", "early_on", "due_on", "late_on", "remaining"} {
			assert.Contains(t, r, key)
		}
		stages[r["stage"].(string)] = true
		left := r["remaining"].(map[string]any)
		for _, key := range []string{"miles", "km", "hours", "days"} {
			assert.Contains(t, left, key)
		}
	}
	assert.True(t, stages["clear"], "all stages without --stage")
	require.NoError(t, json.Unmarshal([]byte(must(t, db, "due", "--json", "--stage", "late,due")), &rows))
	for _, r := range rows {
		assert.Contains(t, []string{"late", "due"}, r["stage"])
	}
}

func TestAtHidesLaterFacts(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	must(t, db, "import", write(t, books))
	var rows []struct {
		Machine, Item string
		LastOn        string `json:"last_on"`
	}
	require.NoError(t, json.Unmarshal([]byte(must(t, db, "due", "--json", "--at", "2026-01-14")), &rows))
	for _, r := range rows {
		if r.Machine == "M1" && r.Item == "oil" {
			assert.Equal(t, "2025-01-10", r.LastOn, "the service of the day after is not known yet")
			return
		}
	}
	t.Fatal("no oil for M1")
}

func TestReadingIsScreened(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	must(t, db, "import", write(t, books))
	assert.Equal(t, "R1: recorded 2710.2 mi on 2026-11-02.\n", must(t, db, "reading", "R1", "--miles", "2710.2"))
	o := command(t, db, "reading", "R1", "--miles", "27205")
	assert.Equal(t, exitInput, o.code)
	assert.Contains(t, o.errs, "is doubtful")
	assert.Contains(t, o.errs, "--sure")
	assert.Contains(t, must(t, db, "reading", "R1", "--miles", "27205", "--sure"), "recorded")
	assert.Contains(t, must(t, db, "reading", "R1", "--miles", "27205", "--sure"), "recorded already")
	for _, bad := range [][]string{
		{"R1"}, {"R1", "--miles", "many"}, {"R1", "--miles=-5"}, {"R2", "--miles", "5"}, {"R9", "--hours", "5"},
		{"R1", "--miles", "2712", "--on", "2026-11-03"}, {"R1", "--miles", "2712", "--on", "yesterday"},
	} {
		o := command(t, db, append([]string{"reading"}, bad...)...)
		assert.Equal(t, exitInput, o.code, "%v: %s", bad, o.errs)
		assert.Equal(t, 1, strings.Count(o.errs, "\n"), "one clear line for %v: %s", bad, o.errs)
	}
}

func TestRoundSaysWhatItDid(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	must(t, db, "import", write(t, books))
	dry := must(t, db, "round", "--dry-run")
	assert.Contains(t, dry, "would go into the outbox")
	out := must(t, db, "round")
	assert.Contains(t, out, "looked at 2 machines")
	assert.Contains(t, out, "in 1 message in the outbox")
	again := at(t, testNow.Add(time.Hour), db, "round")
	assert.Contains(t, again.out, "looked at 0 machines")
	back := command(t, db, "round", "--at", "2026-10-01")
	assert.Equal(t, exitInput, back.code)
	assert.Contains(t, back.errs, "a round has been held")
	box := must(t, db, "outbox")
	assert.Contains(t, box, "ada@example.com")
	assert.Contains(t, box, "queued")
}

func TestOutboxRetryDropAndSendTest(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	dir := write(t, map[string]string{"roundsman.toml": "[mail]\nspool = \"spool\"\n[sms]\nspool = \"spool\"\n"})
	settings := filepath.Join(dir, "roundsman.toml")
	must(t, db, "import", write(t, books))
	must(t, db, "round")
	assert.Contains(t, must(t, db, "outbox", "1", "--drop"), "will not go")
	assert.Equal(t, exitInput, command(t, db, "outbox", "1", "--drop").code, "it is dropped already")
	assert.Contains(t, must(t, db, "outbox", "1", "--retry"), "goes when the service looks next")
	assert.Equal(t, exitInput, command(t, db, "outbox", "7", "--retry").code)
	assert.Equal(t, exitInput, command(t, db, "outbox", "--retry").code)

	assert.Contains(t, must(t, db, "--config", settings, "send-test", "you@example.com"), "Sent to you@example.com")
	assert.Contains(t, must(t, db, "--config", settings, "send-test", "+12025550123", "--lang", "es"), "Sent to +12025550123")
	assert.Equal(t, exitInput, command(t, db, "send-test", "nobody").code)
	files, err := filepath.Glob(filepath.Join(dir, "spool", "*"))
	require.NoError(t, err)
	assert.Len(t, files, 3, "the notices, retried, and both tests")
}

func TestReplyCommand(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	must(t, db, "import", write(t, books))
	assert.Contains(t, must(t, db, "reply", "--from", "ada@example.com", "--text", "R1 2700 mi"), "R1: reading, 2700 mi on ")
	o := command(t, db, "reply", "--from", "ada@example.com", "--text", "the goat ate it, what now")
	assert.Equal(t, exitPartial, o.code)
	assert.Contains(t, must(t, db, "reply", "--list"), "the goat ate it")
	assert.Contains(t, must(t, db, "reply", "--list"), "today: ")
	assert.Contains(t, must(t, db, "reply", "--undo", "1", "--note", "that was another machine"), "R1: took back the reading of ")
	assert.Contains(t, must(t, db, "withdraw", "R1"), "withdrawn: that was another machine")
	assert.Equal(t, exitInput, command(t, db, "reply", "--undo", "1", "--note", "again").code, "once is enough")
	assert.Equal(t, exitInput, command(t, db, "reply", "--undo", "2").code, "it says why")
	must(t, db, "reply", "--done", "2", "--note", "rang")
	assert.Contains(t, must(t, db, "reply", "--list"), "No reply waits")
	for _, bad := range [][]string{{}, {"--from", "12", "--text", "x"}, {"--from", "+12025550123"}, {"--done", "99"}} {
		assert.Equal(t, exitInput, command(t, db, append([]string{"reply"}, bad...)...).code, "%v", bad)
	}
}

func TestExitCodesAndHelp(t *testing.T) {
	t.Parallel()
	for _, c := range []string{"demo", "serve", "round", "import", "export", "due", "forecast", "reading", "outbox", "reply", "send-test",
		"settings check", "rules check", "rules load", "rules list"} {
		o := command(t, "", append(strings.Fields(c), "--help")...)
		assert.Equal(t, exitDone, o.code, c)
		assert.Contains(t, o.out, "Example:", c)
	}
	for _, bad := range [][]string{{}, {"nonsense"}, {"due", "--nonsense"}, {"due", "--at", "noon"}, {"due", "--stage", "red"},
		{"due", "--within", "soon"}, {"import"}, {"import", "/nowhere"}, {"outbox", "--state", "gone"}} {
		o := command(t, newDB(t), bad...)
		assert.Equal(t, exitInput, o.code, "%v", bad)
		assert.NotEmpty(t, o.errs, "%v", bad)
	}
}

func TestForecastCasesAnswersInOrderAndSaysWhatItCannot(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	must(t, db, "import", write(t, books))
	dir := write(t, map[string]string{"cases.csv": "machine,item,as_of\nM1,oil,2026-06-01\nM9,oil,2026-06-01\n"})
	out := filepath.Join(dir, "out.csv")
	o := command(t, db, "forecast", "--cases", filepath.Join(dir, "cases.csv"), "--out", out, "--doubted", filepath.Join(dir, "d.csv"))
	assert.Equal(t, exitPartial, o.code)
	assert.Contains(t, o.errs, `machine "M9"`)
	data, err := os.ReadFile(out)
	require.NoError(t, err)
	lines := strings.Split(strings.TrimSpace(string(data)), "\n")
	require.Len(t, lines, 2)
	assert.Equal(t, "machine,item,as_of,due_on,early_on,late_on", lines[0])
	assert.True(t, strings.HasPrefix(lines[1], "M1,oil,2026-06-01,"), lines[1])
}

func TestDemoOnce(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "demo")
	out := must(t, "", "demo", "--once", "--dir", dir)
	for _, heading := range []string{"LATE", "DUE", "COMING", "UNSURE", "Try next"} {
		assert.Contains(t, out, heading)
	}
	mails, err := filepath.Glob(filepath.Join(dir, "spool", "*.eml"))
	require.NoError(t, err)
	assert.NotEmpty(t, mails)
	texts, err := filepath.Glob(filepath.Join(dir, "spool", "*.txt"))
	require.NoError(t, err)
	assert.NotEmpty(t, texts)
	assert.Equal(t, out, must(t, "", "demo", "--once", "--dir", dir), "a rerun rebuilds the same demo")
	box := must(t, "", "--config", filepath.Join(dir, demoSettingsFile), "outbox")
	assert.Contains(t, box, "2026-11-02 07:00", "the demo's settings go by the invented shop's clock")

	full := write(t, map[string]string{"letter.txt": "dear"})
	o := command(t, "", "demo", "--once", "--dir", full)
	assert.Equal(t, exitInput, o.code)
	assert.FileExists(t, filepath.Join(full, "letter.txt"))
}

func TestServeStopsInOrder(t *testing.T) {
	t.Parallel()
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	dir := t.TempDir()
	settings := filepath.Join(dir, "roundsman.toml")
	require.NoError(t, os.WriteFile(settings, []byte("[database]\npath = \"facts.db\"\n[mail]\nspool = \"spool\"\n[sms]\nspool = \"spool\"\n[web]\nlisten = \"127.0.0.1:0\"\n"), 0o600))
	var errs lockedBuffer
	ended := make(chan int, 1)
	go func() {
		ended <- run(ctx, host{args: []string{"--config", settings, "serve"}, out: &bytes.Buffer{}, errs: &errs,
			clock: models.ClockFunc(func() time.Time { return testNow })})
	}()
	assert.Eventually(t, func() bool { return strings.Contains(errs.String(), "round held") }, 2*time.Minute, 20*time.Millisecond)
	stop()
	select {
	case code := <-ended:
		assert.Equal(t, exitDone, code, errs.String())
	case <-time.After(2 * time.Minute):
		require.Fail(t, "the service does not end", errs.String())
	}
	assert.Contains(t, errs.String(), "service stopped")
}
