package main

import (
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// contents gives every exported file of a database as one text.
func contents(t *testing.T, db string) string {
	t.Helper()
	dir := t.TempDir()
	must(t, db, "export", dir)
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	var b strings.Builder
	for _, e := range entries {
		data, err := os.ReadFile(filepath.Join(dir, e.Name()))
		require.NoError(t, err)
		fmt.Fprintf(&b, "== %s\n%s", e.Name(), data)
	}
	return b.String()
}

// binary is what a picture or a program looks like.
var binary = "\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\xff\xfe\x00\x01"

// TestBadFoldersAreRefusedWholeWithOneLineEach tries every kind of bad file;
// the answer is exit code 2, one line for each fault that names the file, and
// a store as it was.
func TestBadFoldersAreRefusedWholeWithOneLineEach(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	must(t, db, "import", write(t, books))
	before := contents(t, db)
	machines := books["machines.csv"]
	head := "machine,at,miles,hours,source\n"
	hundred := head
	for range 100 {
		hundred += "M1,2026-03-40,12,1,owner\n"
	}
	cases := map[string]struct {
		file, text string
		lines      int      // faults wanted
		says       []string // parts of the first
	}{
		"empty file":           {"machines.csv", "", 1, []string{"machines.csv"}},
		"binary":               {"readings.csv", binary, 2, []string{"readings.csv"}},
		"UTF-16":               {"readings.csv", "\xff\xfem\x00a\x00", 1, []string{"readings.csv", "UTF-8"}},
		"Latin-1":              {"owners.csv", "owner,name,type\nO1,Ca\xf1on Ranch,ranch\n", 1, []string{"owners.csv:2", "UTF-8"}},
		"unknown column":       {"machines.csv", "machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max,color\n", 1, []string{"machines.csv:1", "color"}},
		"column twice":         {"readings.csv", "machine,at,miles,hours,source,miles\n", 1, []string{"readings.csv:1", "miles"}},
		"no such machine":      {"readings.csv", head + "M9,2026-03-01,12,1,owner\n", 1, []string{"readings.csv:2", "M9"}},
		"unknown owner":        {"machines.csv", machines + "M3,R3,utv,O9,miles,,,,,\n", 1, []string{"machines.csv:4", "O9"}},
		"negative meter":       {"readings.csv", head + "M1,2026-03-01,-12,1,owner\n", 1, []string{"readings.csv:2", "-12", "negative"}},
		"not a number":         {"readings.csv", head + "M1,2026-03-01,12k,1,owner\n", 1, []string{"readings.csv:2", "12k"}},
		"no value":             {"readings.csv", head + "M1,2026-03-01,,,owner\n", 1, []string{"readings.csv:2"}},
		"date in the future":   {"readings.csv", head + "M1,2026-11-03,12,1,owner\n", 1, []string{"readings.csv:2", "2026-11-03"}},
		"no date":              {"readings.csv", head + "M1,2026-02-30,12,1,owner\n", 1, []string{"readings.csv:2", "2026-02-30"}},
		"meter it lacks":       {"readings.csv", head + "M2,2026-03-01,12,1,owner\n", 1, []string{"readings.csv:2", "hour meter"}},
		"differing duplicates": {"machines.csv", machines + "M1,R9,utv,O1,both,2025-01-10,0,0,,\n", 1, []string{"machines.csv:4", "M1"}},
		"ragged row":           {"readings.csv", head + "M1,2026-03-01\n", 1, []string{"readings.csv:2"}},
		"unknown meters":       {"machines.csv", machines + "M3,R3,utv,O1,leagues,,,,,\n", 1, []string{"machines.csv:4", "leagues"}},
		"a hundred bad rows":   {"readings.csv", hundred, 100, []string{"readings.csv:2", "2026-03-40"}},
		"huge field":           {"owners.csv", "owner,name,type\nO1," + strings.Repeat("x", 1<<20) + ",ranch\n", 1, []string{"owners.csv:2"}},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			files := maps.Clone(books)
			files[c.file] = c.text
			o := command(t, db, "import", write(t, files))
			assert.Equal(t, exitInput, o.code, o.errs)
			assert.Empty(t, o.out)
			var faults []string
			for line := range strings.Lines(o.errs) {
				if !strings.HasPrefix(line, "note:") && !strings.HasPrefix(line, "roundsman:") {
					faults = append(faults, line)
				}
				assert.Less(t, len(line), 1000, "a line that can be read")
			}
			if assert.Len(t, faults, c.lines, o.errs) {
				for _, part := range c.says {
					assert.Contains(t, faults[0], part)
				}
			}
			assert.True(t, before == contents(t, db), "the store must be unharmed")
		})
	}
}

func TestBadFilesOfOtherCommands(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	must(t, db, "import", write(t, books))
	before := contents(t, db)
	dir := write(t, map[string]string{
		"binary": binary, "empty": "", "text.db": strings.Repeat("a letter to a friend. ", 300),
		"cases-head.csv": "machine,item\nM1,oil\n", "cases-date.csv": "machine,item,as_of\nM1,oil,soon\n",
		"settings.toml": "[shop]\nnam = \"x\"\n", "rules.toml": "[[rule]]\nkind = \"utv\"\nitem = \"oil\"\nmiles = -5\n",
	})
	p := func(name string) string { return filepath.Join(dir, name) }
	out := p("out.csv")
	for _, c := range []struct {
		args []string
		says string
	}{
		{[]string{"forecast", "--cases", p("missing.csv"), "--out", out}, "missing.csv"},
		{[]string{"forecast", "--cases", p("empty"), "--out", out}, "header"},
		{[]string{"forecast", "--cases", p("binary"), "--out", out}, "binary"},
		{[]string{"forecast", "--cases", p("cases-head.csv"), "--out", out}, "as_of"},
		{[]string{"forecast", "--cases", p("cases-date.csv"), "--out", out}, "cases-date.csv:2:8"},
		{[]string{"--config", p("settings.toml"), "settings", "check"}, "settings.toml:2"},
		{[]string{"--config", p("binary"), "due"}, "binary"},
		{[]string{"--config", p("missing.toml"), "due"}, "missing.toml"},
		{[]string{"rules", "check", p("rules.toml")}, "rules.toml:4"},
		{[]string{"rules", "load", p("rules.toml")}, "rules.toml:4"},
		{[]string{"rules", "load", p("binary")}, "binary"},
		{[]string{"due", "--owner", "nobody"}, "nobody"},
		{[]string{"outbox", "99"}, "99"},
	} {
		o := command(t, db, c.args...)
		assert.Equal(t, exitInput, o.code, "%v: %s", c.args, o.errs)
		assert.Contains(t, o.errs, c.says, "%v", c.args)
		assert.NoFileExists(t, out)
	}
	o := command(t, p("text.db"), "due")
	assert.Equal(t, exitInput, o.code)
	assert.Contains(t, o.errs, "not a database")
	assert.Equal(t, before, contents(t, db))
}
