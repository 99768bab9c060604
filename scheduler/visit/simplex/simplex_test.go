package simplex

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"
	"pgregory.net/rapid"
)

// Dantzig's own small case is solved by hand: 3x+5y where x<=4, 2y<=12,
// 3x+2y<=18 is 36 at (2,6) (Hillier and Lieberman, "Introduction to Operations
// Research", the Wyndor Glass example).
func TestKnownProgramme(t *testing.T) {
	p := New([]float64{4, 12, 18})
	p.AddColumn(3, []Entry{{0, 1}, {2, 3}})
	p.AddColumn(5, []Entry{{1, 2}, {2, 2}})
	require.True(t, p.Solve(10, math.Inf(-1)))
	assert.InDelta(t, 36, p.Objective(), 1e-4)
	assert.InDeltaSlice(t, []float64{2, 6}, p.Values(), 1e-4)
	assert.InDeltaSlice(t, []float64{0, 1.5, 1}, p.Duals(), 1e-9)

	p.AddRow(5, func(col int) float64 { return []float64{0, 1}[col] }) // y <= 5 breaks it
	require.True(t, p.Solve(10, math.Inf(-1)))
	assert.InDelta(t, 8.0/3*3+25, p.Objective(), 1e-4)
}

func TestNoBound(t *testing.T) {
	p := New([]float64{1})
	p.AddColumn(1, nil)
	assert.False(t, p.Solve(10, math.Inf(-1)))
}

// Random packing programmes, made larger step by step, have the value that
// another solver (gonum's tableau) finds, and duals that prove it.
func TestValueEqualsAnotherSolver(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.IntRange(1, 8).Draw(t, "rows")
		rhs := make([]float64, m)
		for i := range rhs {
			rhs[i] = float64(rapid.IntRange(0, 9).Draw(t, "rhs"))
		}
		p := New(rhs)
		var a [][]float64
		var cost []float64
		for range rapid.IntRange(1, 4).Draw(t, "steps") {
			for range rapid.IntRange(1, 6).Draw(t, "columns") {
				col, entries := make([]float64, len(rhs)), []Entry(nil)
				for r := range col {
					if c := rapid.IntRange(0, 3).Draw(t, "coef"); c > 0 || r == len(cost)%len(col) {
						col[r] = float64(max(c, 1))
						entries = append(entries, Entry{r, col[r]})
					}
				}
				cost = append(cost, float64(rapid.IntRange(-3, 20).Draw(t, "cost")))
				a = append(a, col)
				p.AddColumn(cost[len(cost)-1], entries)
			}
			require.True(t, p.Solve(1000, math.Inf(-1)))
			if rapid.Bool().Draw(t, "row") {
				rhs = append(rhs, float64(rapid.IntRange(0, 5).Draw(t, "rhs")))
				for j := range a {
					a[j] = append(a[j], float64(rapid.IntRange(0, 2).Draw(t, "coef")))
				}
				p.AddRow(rhs[len(rhs)-1], func(j int) float64 { return a[j][len(rhs)-1] })
			}
		}
		require.True(t, p.Solve(1000, math.Inf(-1)))
		for j := range a { // held at 0, which the tableau knows as a cost
			if rapid.IntRange(0, 4).Draw(t, "barred") == 0 {
				cost[j] = -1
				p.Bar(j, true)
			}
		}
		require.True(t, p.Solve(1000, math.Inf(-1)))
		if rapid.Bool().Draw(t, "renewed") {
			require.True(t, p.renew())
			require.True(t, p.Solve(1000, math.Inf(-1)))
		}
		require.InDelta(t, tableau(t, a, rhs, cost), p.Objective(), 1e-3)
		bound := 0.0
		for i, y := range p.Duals() {
			require.GreaterOrEqual(t, y, -1e-6)
			bound += y * rhs[i]
		}
		require.InDelta(t, bound, p.Objective(), 1e-3)
	})
}

// tableau solves the same programme with gonum.
func tableau(t *rapid.T, a [][]float64, rhs, cost []float64) float64 {
	m, n := len(rhs), len(a)
	A, c := mat.NewDense(m, n+m, nil), make([]float64, n+m)
	for j := range a {
		c[j] = -cost[j]
		for i := range rhs {
			A.Set(i, j, a[j][i])
		}
	}
	for i := range rhs {
		A.Set(i, n+i, 1)
	}
	opt, _, err := lp.Simplex(c, A, rhs, 1e-10, nil)
	if err != nil {
		t.Skip("gonum gives up: " + err.Error())
	}
	return -opt
}

// BenchmarkSolve solves a packing programme of a hundred rows and a thousand
// columns.
func BenchmarkSolve(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 2))
	rhs, cols, cost := make([]float64, 100), make([][]Entry, 1000), make([]float64, 1000)
	for i := range rhs {
		rhs[i] = 1
	}
	for j := range cols {
		for _, r := range rng.Perm(100)[:2+rng.IntN(5)] {
			cols[j] = append(cols[j], Entry{r, 1})
		}
		cost[j] = float64(len(cols[j])*1000 + rng.IntN(2000))
	}
	for b.Loop() {
		p := New(rhs)
		for j := range cols {
			p.AddColumn(cost[j], cols[j])
		}
		require.True(b, p.Solve(100_000, math.Inf(-1)))
	}
}
