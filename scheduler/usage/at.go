package usage

import (
	"math"

	"example.org/roundsman/models"
)

// Range is an 80 % range of a meter's true value.
type Range struct {
	Low, Likely, High float64 // 10th, 50th and 90th percentile, true scale
}

// At gives the likely true value of a meter on the evening of a day: between
// the points of a day that lies behind, by the forecast after the last. ok is
// false when the machine has no such meter.
func (m *Model) At(meter models.Meter, on models.Date) (r Range, ok bool) {
	if !m.has(meter) {
		return Range{}, false
	}
	last, per := m.track.lastHr, m.track.perHr
	if meter == models.Odometer {
		last, per = m.track.lastMi, m.track.perMi
	}
	if float64(on) <= m.from {
		v := last
		if n := m.track.n(); n > 0 {
			v -= (m.track.act[n-1] - m.track.on(float64(on))) / per
		}
		return Range{v, v, v}, true
	}
	value := func(q float64) float64 { return last + m.amount(float64(on), q)/per }
	return Range{value(0.1), value(0.5), value(0.9)}, true
}

// amount gives the activity that is not exceeded by a day with probability q.
func (m *Model) amount(day, q float64) float64 {
	lo, hi := 0.0, m.grain
	more := func(u float64) bool { // the chance of at least u is still above 1-q
		y := newCubic(math.Max(u/m.grain, 0.15))
		return m.chance(day, &y) > 1-q
	}
	for more(hi) && hi < 1e7 {
		lo, hi = hi, 2*hi
	}
	for range 40 {
		mid := (lo + hi) / 2
		if more(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// ReadingWorth gives the days by which the expected absolute error of the
// first passage falls if the meters were read on a day.
func (m *Model) ReadingWorth(limits []Limit, on models.Date) float64 {
	c := m.First(limits, 0)
	if c.Reached || c.IsZero() {
		return 0
	}
	gone, left := float64(on)-m.from, float64(c.Likely)-m.from
	if gone <= 0 || left <= 0 {
		return 0
	}
	// The spread of what is left shrinks with its square root.
	return 0.31 * float64(c.Late-c.Early) * (1 - math.Sqrt(math.Max(0, 1-gone/left)))
}
