package visit

import (
	"compress/gzip"
	"context"
	"encoding/json"
	"flag"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

var (
	instances = flag.String("instances", "", "folder of planning problems to measure; empty: none")
	budget    = flag.Duration("budget", 10*time.Second, "time for each instance")
	maxSteps  = flag.Int64("steps", 0, "steps for each instance; 0: until the budget is spent")
	only      = flag.String("only", "", "part of the instance's name")
	plansTo   = flag.String("plans", "", "folder to write the plans to")
	seed      = flag.Uint64("planseed", 1, "seed")
)

func readInstance(t testing.TB, path string) Problem {
	t.Helper()
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	var r io.Reader = f
	if strings.HasSuffix(path, ".gz") {
		r, err = gzip.NewReader(f)
		require.NoError(t, err)
	}
	data, err := io.ReadAll(r)
	require.NoError(t, err)
	p, err := Decode(data, filepath.Base(path))
	require.NoError(t, err)
	return p
}

// sideBySide runs things on as many cores as there are.
func sideBySide(n int, fn func(int)) {
	var wg sync.WaitGroup
	for i := range n {
		wg.Go(func() { fn(i) })
	}
	wg.Wait()
}

// TestInstances measures the planner on a folder of instances.
func TestInstances(t *testing.T) {
	if *instances == "" {
		t.Skip("no -instances given")
	}
	files, err := filepath.Glob(filepath.Join(*instances, "*.json*"))
	require.NoError(t, err)
	for _, f := range files {
		if !strings.Contains(f, *only) {
			continue
		}
		began := time.Now()
		p := readInstance(t, f)
		read := time.Since(began)
		began = time.Now()
		o := Options{Seed: *seed, Steps: *maxSteps, Parallel: sideBySide}
		o.Spent = func() bool { return time.Since(began) > *budget }
		o.Used = func() float64 { return min(1, time.Since(began).Seconds()/budget.Seconds()) }
		var first time.Duration
		o.First = func() { first = time.Since(began) }
		plan, err := Solve(context.Background(), p, o)
		require.NoError(t, err)
		took := time.Since(began)
		require.Empty(t, Check(&p, plan.Visits).Broken)
		again, err := Bound(&p, nil, plan.Prices)
		require.NoError(t, err)
		require.Equal(t, plan.Bound, again)
		require.True(t, !plan.Optimal || plan.Bound <= plan.Cost)
		t.Logf("%-16s cost %10d bound %10d gap %6.3f%% optimal %-5v steps %8d read %6.3fs first %6.3fs took %6.2fs", p.Name, plan.Cost, plan.Bound, 100*plan.Gap, plan.Optimal,
			plan.Steps, read.Seconds(), first.Seconds(), took.Seconds())
		if *plansTo != "" {
			b, err := json.Marshal(plan)
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(filepath.Join(*plansTo, p.Name+".json"), b, 0o644))
		}
	}
}
