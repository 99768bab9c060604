package usage

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// lgamma against the standard library.
func TestLgamma(t *testing.T) {
	for _, x := range []float64{1e-3, 0.1, 0.5, 1, 1.5, 2, 3.7, 8, 25, 1e3, 1e6} {
		want, _ := math.Lgamma(x)
		assert.InDelta(t, want, lgamma(x), 1e-8*math.Max(1, math.Abs(want)), "x = %v", x)
	}
}

// passage against the exact law, the regularized incomplete beta function:
// P(G(y) <= x G(a)) = I(x/(1+x); y, a) (gonum mathext.RegIncBeta; Johnson,
// Kotz and Balakrishnan, Continuous Univariate Distributions 2, chapter 25).
func TestPassage(t *testing.T) {
	for _, a := range []float64{1, 2.5, 8, 30} {
		for _, y := range []float64{0.5, 1, 4, 20, 80} {
			for _, f := range []float64{0.3, 0.7, 1, 1.5, 3} {
				x := f * y / a
				ca, cy := newCubic(a), newCubic(y)
				assert.InDelta(t, mathext.RegIncBeta(y, a, x/(1+x)), passage(x, &ca, &cy), 0.03, "a %v y %v x %v", a, y, x)
			}
		}
	}
}

// logNegBin (with its 1/y!) sums to one over whole counts, and has the gamma
// mixed Poisson's probabilities (integrated with gonum's quadrature).
func TestLogNegBin(t *testing.T) {
	const a, b, time = 2.2, 3.1, 5.0
	sum := 0.0
	for y := range 400 {
		sum += math.Exp(logNegBin(float64(y), time, a, b) - lgamma(float64(y)+1))
	}
	assert.InDelta(t, 1, sum, 1e-6)
	rate := distuv.Gamma{Alpha: a, Beta: b}
	mixed := quad.Fixed(func(r float64) float64 {
		return rate.Prob(r) * distuv.Poisson{Lambda: r * time}.Prob(4)
	}, 1e-9, 12, 400, nil, 0)
	assert.InDelta(t, mixed, math.Exp(logNegBin(4, time, a, b)-lgamma(5)), 1e-6)
}

// The operational clock runs on evenly over the years, a whole year a year.
func TestSeasonClock(t *testing.T) {
	for _, s := range seeds() {
		last := s.op(newYear2000)
		assert.InDelta(t, 0, last, 1e-9)
		for d := 1.0; d <= 3*366; d++ {
			v := s.op(newYear2000 + d)
			assert.Greater(t, v, last)
			last = v
		}
		assert.InDelta(t, yearDays, s.op(newYear2000+1000+yearDays)-s.op(newYear2000+1000), 1e-6)
	}
	assert.InDelta(t, 100, evenSeason.op(newYear2000+400)-evenSeason.op(newYear2000+300), 1e-9)
}

// The days and shares of spread add up.
func TestSpread(t *testing.T) {
	days := 0.0
	var by [bins]float64
	spread(newYear2000-40, newYear2000+yearDays-40, func(bin int, d float64) { days += d; by[bin] += d })
	assert.InDelta(t, yearDays, days, 1e-6)
	for _, d := range by {
		assert.InDelta(t, yearDays/bins, d, 1e-6)
	}
}
