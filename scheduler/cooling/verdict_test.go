package cooling_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/scheduler/cooling"
)

// confusion counts verdicts given for verdicts true.
type confusion map[cooling.Verdict]map[cooling.Verdict]int

// share gives how often a truth was found.
func (c confusion) share(v cooling.Verdict) float64 {
	all := 0
	for _, n := range c[v] {
		all += n
	}
	return float64(c[v][v]) / float64(all)
}

// String gives the table, the truth on the left.
func (c confusion) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%-11s", "")
	for _, v := range cooling.Verdicts() {
		fmt.Fprintf(&b, "%11s", v)
	}
	for _, want := range cooling.Verdicts() {
		if len(c[want]) == 0 {
			continue
		}
		fmt.Fprintf(&b, "\n%-11s", want)
		for _, got := range cooling.Verdicts() {
			fmt.Fprintf(&b, "%11d", c[want][got])
		}
		fmt.Fprintf(&b, "   %.2f %%", 100*c.share(want))
	}
	return b.String()
}

// Seeds of the cases that the limits were chosen on, and of those kept back.
const (
	seedBuild = 1
	seedHeld  = 20260214
)

func judgeMany(t *testing.T, seed uint64, each int, draw func(*rand.Rand, cooling.Verdict) labeled) confusion {
	t.Helper()
	c := confusion{}
	for k, want := range cooling.Verdicts() {
		c[want] = map[cooling.Verdict]int{}
		r := rand.New(rand.NewPCG(seed, uint64(k)))
		for i := range each {
			l := draw(r, want)
			f, err := cooling.Judge(l.log, l.options)
			require.NoError(t, err)
			c[want][f.Verdict]++
			if *showMisses && (f.Verdict != want || want == cooling.Hot || want == cooling.FanAbsent) {
				t.Logf("case %d: "+l.note+" want %s got %s: %s; opens %s fan %s", i, want, f.Verdict, strings.Join(f.Evidence, "; "), l.options.OpensC, l.options.FanOnC)
			}
		}
	}
	return c
}

// Targets of the project: healthy at least 99 %, each fault at least 95 %.
func assertTargets(t *testing.T, c confusion) {
	t.Helper()
	for _, v := range cooling.Verdicts() {
		target := 0.95
		if v == cooling.Healthy {
			target = 0.99
		}
		assert.GreaterOrEqual(t, c.share(v), target, "%s", v)
	}
}

func TestVerdictsOnMadeUpLogs(t *testing.T) {
	each := 400
	if testing.Short() {
		each = 100
	}
	for _, tc := range []struct {
		name string
		seed uint64
		draw func(*rand.Rand, cooling.Verdict) labeled
	}{
		{"two bodies, seeds of building", seedBuild, draw},
		{"two bodies, seeds kept back", seedHeld, draw},
		{"one body, seeds of building", seedBuild, drawLumped},
	} {
		t.Run(tc.name, func(t *testing.T) {
			c := judgeMany(t, tc.seed, each, tc.draw)
			t.Logf("%d logs of each, truth on the left:\n%s", each, c)
			assertTargets(t, c)
		})
	}
}
