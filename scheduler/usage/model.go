package usage

import (
	"math"

	"example.org/roundsman/models"
)

// Horizon is how far past the newest fact dates are given, in days; a date
// there means "not before".
const Horizon = 3653

// Limit is a true value of a meter whose first passage is asked for.
type Limit struct {
	Meter  models.Meter
	Target float64 // true scale: miles or hours
}

// Crossing says when the first of some limits is reached.
type Crossing struct {
	Early, Likely, Late models.Date  // 10th, 50th and 90th percentile
	Meter               models.Meter // the meter that most likely gets there first
	Reached             bool         // an accepted point stands at or past a limit
	Known               models.Date  // Reached: the day of the fact from which that is known
}

// IsZero says whether there was no limit that the machine's meters can reach.
func (c Crossing) IsZero() bool { return c.Meter == "" }

// Range is an 80 % range of a meter's true value.
type Range struct {
	Low, Likely, High float64 // 10th, 50th and 90th percentile, true scale
}

// Model is what is known of one machine's use.
type Model struct {
	last   models.Date
	meters []gauge
}

// gauge is the use that one meter counts.
type gauge struct {
	meter  models.Meter
	points []Point
	from   models.Date // day of the last point
	value  float64     // value of the last point
	rate   float64     // per day
	shape  float64     // of the rate's gamma posterior
	grain  float64     // variance per mean of an increment, true units
}

// Fit learns a machine's use from its points and the fleet's profile.
func Fit(s *Screened, p *Profile) *Model {
	m := &Model{last: s.AsOf}
	for i := range s.scales {
		c := &s.scales[i]
		g := gauge{meter: c.meter, points: c.points, from: s.AsOf, grain: 40, rate: 3}
		if c.meter == models.HourMeter {
			g.grain, g.rate = 4, 0.3
		}
		a, b := 1.5, 1.5/g.rate
		if n := len(c.points); n > 0 {
			g.from, g.value = c.points[n-1].On, c.points[n-1].Value
			used, days := g.value-c.points[0].Value, float64(g.from-c.points[0].On)
			k := math.Min(1, 180*g.rate/g.grain/math.Max(1, used/g.grain))
			a += k * used / g.grain
			b += k * days / g.grain
		}
		g.rate, g.shape = a/b, a
		m.meters = append(m.meters, g)
	}
	return m
}

// First gives the date on which the first of the limits is reached. Limits of
// meters that the machine lacks are left aside. A zero notYetBy asks for the
// plain forecast, a function of facts and profile; a day there weighs in that
// the work was not known to be done by that day.
func (m *Model) First(limits []Limit, notYetBy models.Date) Crossing {
	var out Crossing
	for _, l := range limits {
		g := m.gauge(l.Meter)
		if g == nil {
			continue
		}
		c := g.first(l.Target)
		if out.IsZero() {
			out = c
			continue
		}
		if c.Likely < out.Likely || c.Likely == out.Likely && c.Meter < out.Meter {
			out.Meter = c.Meter
		}
		if c.Reached && (!out.Reached || c.Known < out.Known) {
			out.Reached, out.Known = true, c.Known
		}
		out.Early, out.Likely, out.Late = min(out.Early, c.Early), min(out.Likely, c.Likely), min(out.Late, c.Late)
	}
	return out
}

func (m *Model) gauge(meter models.Meter) *gauge {
	for i := range m.meters {
		if m.meters[i].meter == meter {
			return &m.meters[i]
		}
	}
	return nil
}

func (g *gauge) first(target float64) Crossing {
	c := Crossing{Meter: g.meter}
	if on, known, ok := passed(g.points, target); ok {
		c.Early, c.Likely, c.Late, c.Reached, c.Known = on, on, on, true, known
		return c
	}
	need := target - g.value
	days := need / g.rate
	s := math.Min(2, math.Sqrt(1/g.shape+g.grain/need))
	at := func(z float64) models.Date {
		return g.from.AddDays(int(math.Ceil(math.Min(Horizon, days*math.Exp(z*s)))))
	}
	c.Early, c.Likely, c.Late = at(-z90), at(0), at(z90)
	return c
}

// z90 is the 90 % quantile of the standard normal distribution.
const z90 = 1.2815515655446004

// At gives the likely true value of a meter on the evening of a day. ok is
// false when the machine has no such meter.
func (m *Model) At(meter models.Meter, on models.Date) (r Range, ok bool) {
	g := m.gauge(meter)
	if g == nil {
		return Range{}, false
	}
	days := math.Max(0, float64(on-g.from))
	mean := g.rate * days
	if mean <= 0 {
		return Range{g.value, g.value, g.value}, true
	}
	s := math.Sqrt(1/g.shape + g.grain/mean)
	return Range{g.value + mean*math.Exp(-z90*s), g.value + mean, g.value + mean*math.Exp(z90*s)}, true
}

// ReadingWorth gives the days by which the expected absolute error of the
// first passage falls if the meters were read on a day.
func (m *Model) ReadingWorth(limits []Limit, on models.Date) float64 {
	c := m.First(limits, 0)
	if c.Reached || c.IsZero() {
		return 0
	}
	gone, left := float64(on-m.last), float64(c.Likely-m.last)
	if gone <= 0 || left <= 0 {
		return 0
	}
	// The spread of what is left shrinks with its square root.
	return 0.31 * float64(c.Late-c.Early) * (1 - math.Sqrt(math.Max(0, 1-gone/left)))
}
