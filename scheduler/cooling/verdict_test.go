package cooling_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/cooling"
)

// verdicts lists every verdict.
var verdicts = []cooling.Verdict{cooling.Healthy, cooling.ColdJump, cooling.HotJump, cooling.StepJump, cooling.Noisy, cooling.Open, cooling.Short,
	cooling.StuckOpen, cooling.Hot, cooling.FanAbsent, cooling.Unsure}

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
	for _, v := range verdicts {
		fmt.Fprintf(&b, "%11s", v)
	}
	for _, want := range verdicts {
		if len(c[want]) == 0 {
			continue
		}
		fmt.Fprintf(&b, "\n%-11s", want)
		for _, got := range verdicts {
			fmt.Fprintf(&b, "%11d", c[want][got])
		}
		fmt.Fprintf(&b, "   %.2f %%", 100*c.share(want))
	}
	return b.String()
}

// Seeds of the cases that the limits were chosen on, and of those kept back.
const (
	seedBuild = 1
	seedHeld  = 4409021
)

// newRand makes the chance of one verdict's cases.
func newRand(seed uint64, verdict int) *rand.Rand {
	return rand.New(rand.NewPCG(seed, uint64(verdict)))
}

func judgeMany(t *testing.T, seed uint64, each int, draw func(*rand.Rand, cooling.Verdict) labeled) confusion {
	t.Helper()
	c := confusion{}
	for k, want := range verdicts {
		c[want] = map[cooling.Verdict]int{}
		r := newRand(seed, k)
		for i := range each {
			l := draw(r, want)
			f, err := cooling.Judge(l.log, l.options)
			require.NoError(t, err)
			c[want][f.Verdict]++
			if *showMisses && f.Verdict != want {
				t.Logf("case %d (%s): want %s got %s: %s; opens %s fan %s", i, l.note, want, f.Verdict, strings.Join(f.Evidence, "; "), l.options.OpensC, l.options.FanOnC)
			}
		}
	}
	return c
}

// Targets of the project: healthy at least 99 %, each fault at least 95 %. A
// short run has too few logs to hold them to the percent.
func assertTargets(t *testing.T, c confusion) {
	t.Helper()
	for _, v := range verdicts {
		target := 0.95
		if v == cooling.Healthy {
			target = 0.99
		}
		if testing.Short() {
			target -= 0.06
		}
		assert.GreaterOrEqual(t, c.share(v), target, "%s", v)
	}
}

func TestVerdictsOnMadeUpLogs(t *testing.T) {
	each := 150
	if testing.Short() {
		each = 40
	}
	for _, tc := range []struct {
		name string
		seed uint64
		draw func(*rand.Rand, cooling.Verdict) labeled
	}{
		{"two bodies, seeds of building", seedBuild, draw},
		{"one body, seeds of building", seedBuild, drawLumped},
		{"two bodies, seeds kept back", seedHeld, draw},
		{"one body, seeds kept back", seedHeld, drawLumped},
	} {
		t.Run(tc.name, func(t *testing.T) {
			c := judgeMany(t, tc.seed, each, tc.draw)
			t.Logf("%d logs of each, truth on the left:\n%s", each, c)
			assertTargets(t, c)
		})
	}
}

// Without the thermostat's temperature that part is not judged; the rest is.
func TestVerdictsWithoutTheThermostat(t *testing.T) {
	bare := func(r *rand.Rand, want cooling.Verdict) labeled {
		l := draw(r, want)
		l.options.OpensC = models.Celsius{}
		return l
	}
	c := judgeMany(t, seedHeld, 60, bare)
	t.Logf("truth on the left:\n%s", c)
	for _, v := range []cooling.Verdict{cooling.Healthy, cooling.ColdJump, cooling.StepJump, cooling.Open, cooling.Short, cooling.Hot, cooling.FanAbsent} {
		assert.GreaterOrEqual(t, c.share(v), 0.9, "%s", v)
	}
	for _, v := range verdicts {
		assert.Zero(t, c[v][cooling.StuckOpen], "the thermostat was judged on %s", v)
	}
}

// sampled makes a log of a truth at an interval, without noise.
func sampled(truth []float64, every float64) []cooling.Sample {
	var s []cooling.Sample
	for i := 0; i < len(truth); i += int(every/tick + 0.5) {
		s = append(s, cooling.Sample{AtS: float64(i) * tick, TempC: truth[i]})
	}
	return s
}

// steady draws a truth that shows a verdict at any sampling rate: a fault of
// the circuit lasts longer than the longest interval.
func steady(r *rand.Rand, want cooling.Verdict) ([]float64, cooling.Options) {
	for {
		e := newEngine(r)
		truth, ok := e.truth(r, want)
		if !ok {
			continue
		}
		mark := len(truth) * 7 / 10
		switch want {
		case cooling.ColdJump:
			for i := mark; i < min(mark+150, len(truth)-60); i++ {
				truth[i] = -27
			}
		case cooling.HotJump:
			for i := mark; i < min(mark+150, len(truth)-60); i++ {
				truth[i] = 215
			}
		case cooling.Noisy:
			for i := range truth { // one deviation every half second, so that each rate sees its own
				truth[i] += 4 * r.NormFloat64()
			}
		case cooling.StepJump:
			for i := mark; i < len(truth); i++ {
				truth[i] += 24
			}
		case cooling.Open, cooling.Short:
			for i := mark; i < len(truth); i++ {
				truth[i] = map[cooling.Verdict]float64{cooling.Open: -40, cooling.Short: 215}[want]
			}
		}
		return truth, cooling.Options{OpensC: models.Degrees(e.opens), FanOnC: models.Degrees(e.fanOn)}
	}
}

// A verdict does not depend on the sampling rate (0.2 to 5 s), on the unit,
// or on a few missing samples.
func TestVerdictDoesNotDependOnTheLogger(t *testing.T) {
	each := 60
	if testing.Short() {
		each = 15
	}
	tipped, asked := 0, 0
	judge := func(s []cooling.Sample, o cooling.Options) cooling.Verdict {
		f, err := cooling.Judge(s, o)
		require.NoError(t, err)
		return f.Verdict
	}
	for k, want := range verdicts {
		r := newRand(7, k)
		for i := range each {
			truth, o := steady(r, want)
			base := sampled(truth, 1)
			first := judge(base, o)

			// Units: a log written in Fahrenheit, exactly, is the same log.
			f := make([]cooling.Sample, len(base))
			for j, v := range base {
				f[j] = cooling.Sample{AtS: v.AtS, TempC: cooling.ToCelsius(cooling.ToFahrenheit(v.TempC))}
			}
			assert.Equal(t, first, judge(f, o), "%s %d in Fahrenheit", want, i)

			// The second at which the log begins to count is the logger's own.
			for j := range f {
				f[j].AtS += 1000
			}
			assert.Equal(t, first, judge(f, o), "%s %d, counted from 1000 s", want, i)

			for _, every := range []float64{0.2, 0.5, 2, 5} {
				asked++
				if got := judge(sampled(truth, every), o); got != first {
					tipped++
					t.Logf("%s %d: %s at 1 s, %s at %g s", want, i, first, got, every)
				}
			}
			var few []cooling.Sample
			for j, v := range base {
				if j%23 != 5 && (j < 40 || j > 48) { // single ones and a gap of nine seconds
					few = append(few, v)
				}
			}
			asked++
			if got := judge(few, o); got != first {
				tipped++
				t.Logf("%s %d: %s whole, %s with samples missing", want, i, first, got)
			}
		}
	}
	t.Logf("%d of %d comparisons tipped", tipped, asked)
	assert.Zero(t, tipped)
}
