package main

import (
	"bytes"
	"compress/gzip"
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
	"example.org/roundsman/scheduler/visit"
)

const smallShop = "testdata/plan/shop.json"

// solved reads back a plan that was written, and checks it rule by rule.
func solved(t *testing.T, problem, plan string) visit.Plan {
	t.Helper()
	p, err := readProblem(problem)
	require.NoError(t, err)
	b, err := os.ReadFile(plan)
	require.NoError(t, err)
	var got visit.Plan
	require.NoError(t, json.Unmarshal(b, &got))
	report := visit.Check(&p, got.Visits)
	assert.Empty(t, report.Broken)
	assert.Equal(t, report.Cost.Total(), got.Cost, "the cost as printed is the cost as checked")
	assert.Equal(t, visit.Format, got.Format)
	assert.LessOrEqual(t, got.Bound, got.Cost)
	assert.InDelta(t, float64(got.Cost-got.Bound)/float64(got.Cost), got.Gap, 1e-9)
	return got
}

func TestPlanSolve(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	out, prices := filepath.Join(dir, "plan.json"), filepath.Join(dir, "prices.json")
	var said map[string]any
	text := must(t, "", "plan", "solve", smallShop, "--out", out, "--steps", "400", "--prices", prices, "--json")
	require.NoError(t, json.Unmarshal([]byte(text), &said))
	for _, key := range []string{"cost", "bound", "gap", "optimal", "first_plan_ms", "steps", "ms"} {
		assert.Contains(t, said, key)
	}
	plan := solved(t, smallShop, out)
	assert.EqualValues(t, plan.Cost, said["cost"])
	b, err := os.ReadFile(prices)
	require.NoError(t, err)
	var stored visit.Prices
	require.NoError(t, json.Unmarshal(b, &stored))
	problem, err := readProblem(smallShop)
	require.NoError(t, err)
	bound, err := visit.Bound(&problem, nil, stored)
	require.NoError(t, err)
	assert.Equal(t, plan.Bound, bound, "the bound can be recomputed from the prices")
	assert.Positive(t, bound)
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, entries, 2, "no half-written file stays")

	// The same seed and steps give the same bytes, and from a packed file too.
	raw, err := os.ReadFile(smallShop)
	require.NoError(t, err)
	var zipped bytes.Buffer
	z := gzip.NewWriter(&zipped)
	_, err = z.Write(raw)
	require.NoError(t, err)
	require.NoError(t, z.Close())
	packed := filepath.Join(dir, "shop.json.gz")
	require.NoError(t, os.WriteFile(packed, zipped.Bytes(), 0o600))
	again := filepath.Join(dir, "again.json")
	assert.Contains(t, must(t, "", "plan", "solve", packed, "--out", again, "--steps", "400"), "items")
	first, err := os.ReadFile(out)
	require.NoError(t, err)
	second, err := os.ReadFile(again)
	require.NoError(t, err)
	assert.Equal(t, string(first), string(second))
}

// A faulty or impossible problem ends with 2, one line for each fault, and
// writes nothing.
func TestPlanSolveRefuses(t *testing.T) {
	t.Parallel()
	raw, err := os.ReadFile(smallShop)
	require.NoError(t, err)
	change := func(fn func(p map[string]any)) string {
		var p map[string]any
		require.NoError(t, json.Unmarshal(raw, &p))
		fn(p)
		b, err := json.Marshal(p)
		require.NoError(t, err)
		return string(b)
	}
	item := func(p map[string]any) map[string]any { return p["items"].([]any)[0].(map[string]any) }
	for name, tc := range map[string]struct {
		text string
		args []string
		want string
	}{
		"no json":  {text: "{", want: "is not JSON"},
		"format":   {text: `{"format":"something"}`, want: "write " + visit.Format},
		"class":    {text: change(func(p map[string]any) { p["machines"].([]any)[0].(map[string]any)["class"] = "boat" }), want: `"boat" is not an id in classes`},
		"slip":     {text: change(func(p map[string]any) { item(p)["latests"] = 3 }), want: "latests"},
		"fraction": {text: change(func(p map[string]any) { item(p)["due"] = 3.5 }), want: "whole number"},
		"lock in a blackout": {text: change(func(p map[string]any) {
			it := item(p)
			p["blackouts"] = []any{map[string]any{"from": 0, "to": 29}}
			p["locked"] = []any{map[string]any{"machine": it["machine"], "day": 2, "bay": p["bays"].([]any)[0].(map[string]any)["id"], "items": []any{it["id"]}}}
		}), want: "cannot be kept"},
		"packed badly": {text: "\x1f\x8bnonsense", want: "cannot be unpacked"},
		"budget":       {text: string(raw), args: []string{"--budget", "soon"}, want: "is no length of time"},
		"steps":        {text: string(raw), args: []string{"--steps=-1"}, want: "is no number of steps"},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			in, out := filepath.Join(dir, "p.json"), filepath.Join(dir, "plan.json")
			require.NoError(t, os.WriteFile(in, []byte(tc.text), 0o600))
			o := command(t, "", append([]string{"plan", "solve", in, "--out", out}, tc.args...)...)
			assert.Equal(t, exitInput, o.code, o.errs)
			assert.Contains(t, o.errs, tc.want)
			assert.Empty(t, o.out)
			assert.NoFileExists(t, out)
		})
	}
	o := command(t, "", "plan", "solve", "nowhere.json", "--out", filepath.Join(t.TempDir(), "plan.json"))
	assert.Equal(t, exitInput, o.code)
	assert.Equal(t, 1, strings.Count(o.errs, "\n"))
}

// A search that is stopped writes the best plan so far.
func TestPlanSolveStopped(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	out := filepath.Join(t.TempDir(), "plan.json")
	var said, errs bytes.Buffer
	code := run(ctx, host{args: []string{"plan", "solve", smallShop, "--out", out}, in: strings.NewReader(""), out: &said, errs: &errs,
		clock: models.ClockFunc(func() time.Time { return testNow })})
	assert.Equal(t, exitDone, code, errs.String())
	assert.NotEmpty(t, solved(t, smallShop, out).Visits)
}

func TestMoney(t *testing.T) {
	t.Parallel()
	for cents, want := range map[int64]string{0: "0.00", 7: "0.07", 123450: "1,234.50", -1999: "-19.99"} {
		assert.Equal(t, want, money(cents))
	}
}
