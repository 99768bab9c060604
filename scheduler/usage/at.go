package usage

import (
	"math"
	"sort"

	"example.org/roundsman/models"
)

// Range is an 80 % range of a meter's true value.
type Range struct {
	Low, Likely, High float64 // 10th, 50th and 90th percentile, true scale
}

// At gives the likely true value of a meter on the evening of a day: between
// the points of a day that lies behind, by the forecast after the last. ok is
// false when the machine has no such meter, or no dated fact is known of it.
func (m *Model) At(meter models.Meter, on models.Date) (r Range, ok bool) {
	if !m.has(meter) || m.last.IsZero() { // no dated fact to count from
		return Range{}, false
	}
	last, per := m.track.lastHr, m.track.perHr
	if meter == models.Odometer {
		last, per = m.track.lastMi, m.track.perMi
	}
	if float64(on) <= m.from {
		act, side := m.behind(float64(on))
		v := last
		if n := m.track.n(); n > 0 {
			v -= (m.track.act[n-1] - act) / per
		}
		return Range{v - side[0]/per, v, v + side[1]/per}, true
	}
	value := func(q float64) float64 { return last + m.amount(float64(on), q)/per }
	r = Range{value(0.1), value(0.5), value(0.9)}
	if sd := z90 * m.track.spreadOn(m.from) / per; sd > 0 {
		r.Low, r.High = r.Likely-math.Hypot(r.Likely-r.Low, sd), r.Likely+math.Hypot(r.High-r.Likely, sd)
	}
	return r, true
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

// behind gives the activity by a day that lies behind, and how far down and up
// an 80 % range goes: between two points the way is a bridge of a process whose
// variance is grain times its mean.
func (m *Model) behind(day float64) (act float64, side [2]float64) {
	t := &m.track
	act = t.on(day)
	i := sort.SearchFloat64s(t.days, day)
	off := z90 * t.spreadOn(day)
	if i == 0 || i >= t.n() || t.days[i] == day {
		return act, [2]float64{off, off}
	}
	use := t.act[i] - t.act[i-1]
	f := (day - t.days[i-1]) / (t.days[i] - t.days[i-1])
	sd := z90 * math.Sqrt(use*m.grain*f*(1-f))
	return act, [2]float64{math.Hypot(math.Min(sd, act-t.act[i-1]), off), math.Hypot(math.Min(sd, t.act[i]-act), off)}
}

// z90 is the 90 % quantile of the standard normal distribution.
const z90 = 1.2815515655446004

// ReadingWorth gives the days by which the expected absolute error of the
// first passage falls if the meters were read on a day: what lies behind the
// reading is known then, and the rate is known better for what is ahead
// (preposterior analysis: Raiffa and Schlaifer, Applied Statistical Decision
// Theory, 1961, chapter 4). It is 0 where there is nothing left to learn, by
// the last point's day or when a limit was passed.
func (m *Model) ReadingWorth(limits []Limit, on models.Date) float64 {
	c := m.First(limits, 0)
	if c.Reached || c.IsZero() || float64(on) <= m.from || len(m.parts) == 0 {
		return 0
	}
	need := math.Inf(1)
	for _, l := range limits {
		if m.has(l.Meter) {
			need = math.Min(need, m.track.need(l))
		}
	}
	p := &m.parts[0]
	y := math.Max(need/m.grain, 0.15)
	done := math.Min(1, p.clock(float64(on))/math.Max(p.clock(float64(c.Likely)), 1e-9))
	// The mean absolute error of a normal is 0.798 of its standard deviation,
	// 0.311 of its 80 % range.
	missed := 0.311 * float64(c.Late-c.Early)
	before := 1/y + 1/p.shape
	left := 1 - done
	after := left*left/p.shapeAfter(done*y) + left/y
	return missed * (1 - math.Sqrt(math.Min(1, after/before)))
}

// shapeAfter gives the shape of the rate's gamma after so many counts more.
func (p *part) shapeAfter(counts float64) float64 {
	return math.Max(p.shape, math.Min(certainty, p.shape+counts))
}
