package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// The figures are those of the package's own tests, which name their sources.
func TestMixCommands(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		args []string
		want []string
	}{
		{[]string{"mix", "protect", "--glycol", "eg", "--percent", "50"}, []string{"freezes at -35 °F (-37.0 °C)", "boils at 226 °F (108 °C)", "ASTM D4985", "ASHRAE"}},
		{[]string{"mix", "protect", "--glycol", "pg", "--percent", "49.9"}, []string{"freezes at -28 °F (-33.5 °C)", "50 % by volume only"}},
		{[]string{"mix", "need", "--glycol", "eg", "--stands=-30"}, []string{"at least 44.7 % by volume"}},
		{[]string{"mix", "need", "--glycol", "eg", "--stands", "-22F"}, []string{"For -22 °F (-30.0 °C): at least 44.7 %"}},
		{[]string{"mix", "adjust", "--glycol", "eg", "--system", "10", "--now", "30", "--want", "50", "--fill", "100"}, []string{"drain 3.02 qt (2.86 L), add 3.02 qt", "50.0 %"}},
		{[]string{"mix", "adjust", "--glycol", "eg", "--system", "10", "--freezes", "-10", "--stands", "-30C", "--drain", "4"}, []string{"From 21.7 % to 44.7 %"}},
		{[]string{"mix", "buy", "--glycol", "eg", "--system", "6qt", "--drained", "4 qt", "--product", "50"}, []string{"Buy 1 container of 50 %", "Fill 4.00 qt (3.79 L) at 50 %"}},
		{[]string{"mix", "rounds", "--system", "4", "--drain", "2.5"}, []string{"4 rounds", "after round 4: 2.0 %"}},
		{[]string{"mix", "change", "--system", "4L", "--drain", "2500ml", "--from", "IAT", "--to", "OAT", "--old", "eg", "--new", "pg"}, []string{"4 drains", "fill last 2.64 qt (2.50 L) at 80 %", "no tester tells"}},
	} {
		out := must(t, "", tc.args...)
		for _, w := range append(tc.want, "! Let it go cold first") {
			assert.Contains(t, out, w, "%v", tc.args)
		}
	}
}

func TestMixJSON(t *testing.T) {
	t.Parallel()
	var got struct {
		Result struct {
			FreezeC float64  `json:"freeze_c"`
			BoilC   *float64 `json:"boil_c"`
		} `json:"result"`
		Cautions []models.Caution `json:"cautions"`
	}
	require.NoError(t, json.Unmarshal([]byte(must(t, "", "mix", "protect", "--glycol", "eg", "--percent", "47.6", "--json")), &got))
	assert.InDelta(t, -33.8, got.Result.FreezeC, 1e-9)
	assert.Nil(t, got.Result.BoilC)
	assert.NotEmpty(t, got.Cautions)
}

// A refusal is exit code 2 with the reason and what to do, in one line.
func TestMixRefuses(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		args []string
		want string
	}{
		{[]string{"mix", "protect", "--glycol", "eg", "--percent", "70"}, "the table ends at 57.8 %"},
		{[]string{"mix", "protect", "--glycol", "green", "--percent", "50"}, "write ethylene or propylene"},
		{[]string{"mix", "need", "--glycol", "pg", "--stands=-60"}, "park it warmer"},
		{[]string{"mix", "adjust", "--glycol", "pg", "--system", "10", "--freezes=-10", "--tester", "eg", "--want", "50"}, "misreads propylene"},
		{[]string{"mix", "adjust", "--glycol", "pg", "--system", "10", "--want", "50"}, "add --now PERCENT"},
		{[]string{"mix", "adjust", "--glycol", "pg", "--system", "10", "--now", "50"}, "add --want PERCENT"},
		{[]string{"mix", "rounds", "--system", "4", "--drain", "5"}, "is more than 4 L"},
		{[]string{"mix", "rounds", "--system", "a lot", "--drain", "5"}, "is not a volume"},
		{[]string{"mix", "need", "--glycol", "pg", "--stands", "cold"}, "is not a temperature"},
		{[]string{"mix", "need", "--glycol", "pg", "--stands", "--json"}, "is not a temperature"},
		{[]string{"mix", "need", "--glycol", "pg", "--stands"}, "a temperature is missing"},
	} {
		o := command(t, "", tc.args...)
		assert.Equal(t, exitInput, o.code, "%v", tc.args)
		assert.Contains(t, o.errs, tc.want)
		assert.Empty(t, o.out)
	}
}

// warmLog is a log by hand: warm, then a dropout to minus 27.
func warmLog(unit string, convert func(c float64) float64) string {
	var b strings.Builder
	fmt.Fprintf(&b, "seconds,temp_%s\n", unit)
	for s := 0; s <= 900; s += 2 {
		c := min(15+0.17*float64(s), 84+float64(s%20)/20)
		if s >= 700 && s < 706 {
			c = -27
		}
		fmt.Fprintf(&b, "%d,%.1f\n", s, convert(c))
	}
	return b.String()
}

func TestWarmup(t *testing.T) {
	t.Parallel()
	dir := write(t, map[string]string{
		"c.csv":   warmLog("c", func(c float64) float64 { return c }),
		"f.csv":   warmLog("f", func(c float64) float64 { return c*1.8 + 32 }),
		"bad.csv": "seconds,temp_c\n0,warm\nzero,20\n",
	})
	out := must(t, "", "warmup", filepath.Join(dir, "c.csv"), "--opens", "82C", "--fan-on", "96")
	for _, w := range []string{"cold_jump", "an intermittent sensor circuit, not a cold engine", "Showed at 700 s", "P0119", "connector", "! Let it go cold first"} {
		assert.Contains(t, out, w)
	}
	assert.NotContains(t, strings.ToLower(out), "replace")

	var got struct {
		Verdict     string   `json:"verdict"`
		AtS         float64  `json:"at_s"`
		Evidence    []string `json:"evidence"`
		Codes       []string `json:"codes"`
		OtherCauses []string `json:"other_causes"`
		MeasureNext []string `json:"measure_next"`
	}
	require.NoError(t, json.Unmarshal([]byte(must(t, "", "warmup", filepath.Join(dir, "f.csv"), "--opens", "180F", "--json")), &got))
	assert.Equal(t, "cold_jump", got.Verdict)
	assert.Equal(t, 700.0, got.AtS)
	assert.Equal(t, []string{"P0119", "P0118"}, got.Codes)
	assert.NotEmpty(t, got.Evidence)
	assert.NotEmpty(t, got.MeasureNext)
	require.Greater(t, len(got.OtherCauses), 2)

	o := command(t, "", "warmup", filepath.Join(dir, "bad.csv"))
	assert.Equal(t, exitInput, o.code)
	assert.Contains(t, o.errs, "bad.csv:2: temp_c \"warm\" is not a number")
	assert.Contains(t, o.errs, "bad.csv:3", "all faults in one go")
	o = command(t, "", "warmup", filepath.Join(dir, "none.csv"))
	assert.Equal(t, exitInput, o.code)
	assert.NoFileExists(t, filepath.Join(dir, "facts.db"))
	_, err := os.Stat("roundsman.db")
	assert.True(t, os.IsNotExist(err), "the bench opens no database")
}
