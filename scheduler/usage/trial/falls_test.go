package trial

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/usage"
)

// monthly reads a machine once a month; use gives the miles of each month.
func monthly(id string, months int, use func(month int) float64) models.History {
	day := models.MustDate("2018-01-01")
	h := models.History{Machine: models.Machine{ID: id, Kind: "utv", Owner: id, Meters: models.MetersMiles}}
	miles := 0.0
	for i := range months + 1 {
		r := models.Reading{Machine: id, At: day.AddDays(30 * i), Miles: models.Num(math.Round(miles)), Source: models.SourceShop}
		r.Row = int64(i + 1)
		h.Readings = append(h.Readings, r)
		miles += use(i)
	}
	h.AsOf = h.Readings[months].At
	return h
}

// unevenClass is the profile of sixty machines whose months differ from each
// other by a factor of two or so, with idle ones between.
func unevenClass(t *testing.T) *usage.Profile {
	rng := rand.New(rand.NewPCG(5, 9))
	f := usage.NewFitter(202012)
	for i := range 60 {
		level := 300 * math.Exp(0.7*rng.NormFloat64())
		s := usage.Screen(monthly(fmt.Sprint("u", i), 30, func(int) float64 {
			if rng.Float64() < 0.15 {
				return 0
			}
			return level * math.Exp(0.6*rng.NormFloat64())
		}))
		f.Add(&s)
	}
	p, err := f.Profile()
	require.NoError(t, err)
	return p
}

// steady gives a month's use of a machine that runs 300 miles a month, by a
// third more or less, until a month, and then so many.
func steady(seed uint64, until int, then float64) func(int) float64 {
	rng := rand.New(rand.NewPCG(seed, 1))
	return func(month int) float64 {
		v := math.Exp(0.3 * rng.NormFloat64())
		if month < until {
			return 300 * v
		}
		return then * v
	}
}

// readingsToLearn counts the monthly readings after a lasting change of use
// until the 80 % range of the next thousand miles' date holds the truth.
func readingsToLearn(p *usage.Profile, seed uint64, then float64) int {
	const before = 36
	for n := 1; n < 48; n++ {
		h := monthly("m", before+n, steady(seed, before, then))
		s := usage.Screen(h)
		last := h.Readings[len(h.Readings)-1]
		c := usage.Fit(&s, p).First([]usage.Limit{{Meter: models.Odometer, Target: last.Miles.F + 1000}}, 0)
		truth := last.At.AddDays(int(1000 / then * 30))
		if c.Early <= truth && truth <= c.Late {
			return n
		}
	}
	return 48
}

// A lasting fall of use to a fifth, and a rise to three times, are learned in
// so many readings; the middle of nine machines.
func TestLastingChangeIsLearned(t *testing.T) {
	for _, c := range []struct {
		name  string
		class *usage.Profile
		then  float64
		most  int
	}{
		{"fall, no fleet", nil, 60, 6},
		{"fall, uneven class", unevenClass(t), 60, 8},
		{"rise, no fleet", nil, 900, 4},
		{"rise, uneven class", unevenClass(t), 900, 4},
	} {
		var all []float64
		for seed := range uint64(9) {
			all = append(all, float64(readingsToLearn(c.class, seed, c.then)))
		}
		t.Logf("%s: %v", c.name, all)
		assert.LessOrEqual(t, medianOf(all), float64(c.most), c.name)
	}
}

// A machine that stands still for a year is not foretold as though it ran.
func TestDeadStop(t *testing.T) {
	for _, c := range []struct {
		name  string
		class *usage.Profile
	}{{"no fleet", nil}, {"uneven class", unevenClass(t)}} {
		for _, months := range []int{1, 2, 3, 6, 12} {
			h := monthly("m", 36+months, steady(3, 36, 0))
			s := usage.Screen(h)
			last := h.Readings[len(h.Readings)-1]
			x := usage.Fit(&s, c.class).First([]usage.Limit{{Meter: models.Odometer, Target: last.Miles.F + 500}}, 0)
			t.Logf("%s, %d months without use: early %d likely %d late %d days", c.name, months, x.Early-last.At, x.Likely-last.At, x.Late-last.At)
			if months == 12 {
				assert.Greater(t, int(x.Likely-last.At), 365, c.name)
				assert.Equal(t, h.Readings[36].At, s.PaceOf().Since)
			}
		}
	}
}
