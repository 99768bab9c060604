package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/alecthomas/kong"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// The README's table of commands lists every command that exists.
func TestREADMEListsEveryCommand(t *testing.T) {
	t.Parallel()
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	parser, err := kong.New(&commands{}, kong.Name("roundsman"))
	require.NoError(t, err)
	leaves := parser.Model.Leaves(true)
	require.Greater(t, len(leaves), 30)
	for _, leaf := range leaves {
		name := leaf.Name
		if leaf.Parent != nil && leaf.Parent.Parent != nil {
			name = leaf.Parent.Name + " " + name
		}
		assert.Regexp(t, "\\| `[^|]*\\b"+name+"\\b", string(readme))
	}
}

// The README's line on kinds names every kind that is understood.
func TestREADMEListsEveryKind(t *testing.T) {
	t.Parallel()
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	line := regexp.MustCompile("(?m)^`kind` is .*?Rules come with").FindString(string(readme))
	require.NotEmpty(t, line)
	for _, k := range models.Kinds() {
		assert.Regexp(t, `\b`+k.ID+`\b`, line)
	}
}

// TestREADMEsWordsOnColumnsHold: what the README says of the columns that a new
// shop asks about is so.
func TestREADMEsWordsOnColumnsHold(t *testing.T) {
	raw, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	readme := string(raw)
	says := func(words string) {
		t.Helper()
		require.Contains(t, readme, words)
	}
	start := func(n models.Number) (used, known bool) {
		return models.Machine{Meters: models.MetersMiles, MilesStart: n}.BoughtUsed()
	}
	says("0 for a new machine, above 0 for one bought used, empty for not known")
	for n, want := range map[models.Number][2]bool{models.Num(0): {false, true}, models.Num(12): {true, true}, {}: {false, false}} {
		used, known := start(n)
		assert.Equal(t, want, [2]bool{used, known}, "%v", n)
	}
	for _, m := range regexp.MustCompile(`([a-z_]+) \(([^)]*)\)`).FindAllStringSubmatch(regexp.MustCompile("(?m)^`kind` is .*?Rules come with").FindString(readme), -1) {
		for _, word := range strings.Split(m[2], ", ") {
			assert.Equal(t, m[1], models.KindID(word), word)
		}
	}

	db, dir := newDB(t), filepath.Join(t.TempDir(), "out")
	const head = "machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max,books_since\n"
	must(t, db, "import", booksWith(t, map[string]string{
		"machines.csv": head + "M1,R1,utv,O1,both,2019-01-10,0,0,,\nM2,R2,generator,O1,hours,2026-08-10,,0,,2026-08-10\nM3,R3,generator,O1,hours,2026-08-10,,about 40,,\n",
		"readings.csv": "machine,at,miles,hours,source\nM1,2026-09-01,2611.5,228,owner\n",
		"services.csv": "machine,item,at,miles,hours\nM1,oil,2026-07-15,about 2500,\n",
		"releases.csv": "machine,state\n",
	}))
	must(t, db, "export", dir)
	file := func(name string) string {
		data, err := os.ReadFile(filepath.Join(dir, name))
		require.NoError(t, err)
		return string(data)
	}
	says("`books_since` is the day from which your record of the machine is whole; empty: the day on which it is recorded")
	assert.Regexp(t, `(?m)^M1,.*,2026-11-02,,$`, file("machines.csv"))
	assert.Regexp(t, `(?m)^M2,.*,2026-08-10,,$`, file("machines.csv"))
	says("A service and the start of a machine keep no guess: it becomes a reading of that day")
	assert.Contains(t, file("services.csv"), "M1,oil,2026-07-15,,,")
	assert.Contains(t, file("readings.csv"), "M1,2026-07-15,2500,,shop,,125")
	assert.Contains(t, file("readings.csv"), "M3,2026-08-10,,40,shop,,5")
	says("what has no record falls due from `in_service` where your record began within half a year of it")
	says("else it stands in the first inspection")
	var rows []struct {
		Machine, Item string
		LastOn        string `json:"last_on"`
	}
	require.NoError(t, json.Unmarshal([]byte(must(t, db, "due", "--json")), &rows))
	from := map[string]map[string]string{"M1": {}, "M2": {}}
	for _, r := range rows {
		if from[r.Machine] != nil {
			from[r.Machine][r.Item] = r.LastOn
		}
	}
	assert.Equal(t, "2026-08-10", from["M2"]["air_filter"])
	assert.Contains(t, from["M1"], models.ItemFirstInspection)
	assert.NotContains(t, from["M1"], "air_filter")

	says("A name that begins with `id:` is a machine's id and nothing else")
	must(t, db, "sheet", "id:M1")
	assert.Equal(t, exitInput, command(t, db, "sheet", "id:R1").code)
}
