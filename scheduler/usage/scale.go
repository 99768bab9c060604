package usage

import (
	"math"
	"sort"

	"example.org/roundsman/models"
)

// Point is one accepted value of a meter on the true scale: miles (also for a
// kilometer odometer) or hours that go on through swaps and rollovers.
type Point struct {
	Meter   models.Meter
	On      models.Date // the value holds for the evening of that day
	Value   float64     // true scale
	Shown   float64     // what the meter showed
	Spread  float64     // of a guess: standard deviation, true scale; 0: read exactly
	Shop    bool        // read by the shop: a service, a shop or dealer reading, a start
	Reading int64       // the reading's row; 0 for a service or a machine's start
}

// scale puts what one meter showed onto the true scale.
type scale struct {
	meter  models.Meter
	metric bool
	wrap   float64 // one turn of the odometer, true units; 0: it does not turn
	steps  []step  // by date; the first has after = 0
	points []Point // accepted, by date and value
}

// step is the stretch of one meter between two swaps.
type step struct {
	after models.Date // the stretch begins with the day after
	add   float64     // true value = shown value + add + turns*wrap
	from  float64     // the true value at which the meter was fitted
}

// at gives the stretch that holds on a day.
func (c *scale) at(on models.Date) *step {
	i := sort.Search(len(c.steps), func(i int) bool { return c.steps[i].after >= on })
	return &c.steps[max(0, i-1)]
}

// of gives the stretch that a value shown on a day is of: on the day of a swap
// either meter may have been read, and the one counts whose value is the nearer
// to where they changed over.
func (c *scale) of(on models.Date, shown float64) *step {
	old, v := c.at(on), c.unit(shown)
	if fitted := c.fitted(on); fitted != nil && math.Abs(v+fitted.add-fitted.from) < math.Abs(v+old.add-fitted.from) {
		return fitted
	}
	return old
}

// fitted gives the stretch of a meter that was fitted on a day, nil for none.
func (c *scale) fitted(on models.Date) *step {
	for i := 1; i < len(c.steps); i++ {
		if c.steps[i].after == on {
			return &c.steps[i]
		}
	}
	return nil
}

// unit turns a shown value into true units.
func (c *scale) unit(shown float64) float64 {
	if c.metric {
		return shown / models.KilometersPerMile
	}
	return shown
}

// maxTurns bounds the turns of an odometer that are tried.
const maxTurns = 8

// cumulative gives the true value of a shown one, choosing among the turns of
// the odometer the one that fits best between the accepted points around it.
func (c *scale) cumulative(on models.Date, shown float64) float64 {
	v := c.unit(shown) + c.of(on, shown).add
	if c.wrap <= 0 || len(c.points) == 0 {
		return v
	}
	i := sort.Search(len(c.points), func(i int) bool { return c.points[i].On > on })
	lo, hi := math.Inf(-1), math.Inf(1)
	if i > 0 {
		lo = c.points[i-1].Value
		if c.points[i-1].On == on { // the same day: either side of it
			lo -= 0.5 * c.wrap
		}
	}
	if i < len(c.points) {
		hi = c.points[i].Value
	}
	best, cost := v, math.Inf(1)
	for n := 0; n <= maxTurns; n++ {
		x := v + float64(n)*c.wrap
		miss := math.Max(0, lo-x) + math.Max(0, x-hi)
		if miss < cost-1e-9 {
			best, cost = x, miss
		}
	}
	return best
}

// shown gives what the present meter would show at a true value.
func (c *scale) shown(value float64) float64 {
	v := value - c.steps[len(c.steps)-1].add
	if c.wrap > 0 {
		v = math.Mod(v, c.wrap)
		if v < 0 {
			v += c.wrap
		}
	}
	if c.metric {
		v *= models.KilometersPerMile
	}
	return math.Max(0, v) // from before the present meter was fitted
}

// Cumulative gives the true value of what a meter showed on the evening of a
// day: miles for any odometer, hours for an hour meter. ok is false when the
// machine has no such meter.
func (s *Screened) Cumulative(meter models.Meter, on models.Date, shown float64) (value float64, ok bool) {
	c := s.scale(meter)
	if c == nil {
		return 0, false
	}
	return c.cumulative(on, shown), true
}

// Shown gives what the present meter of the machine shows at a true value:
// kilometers on a kilometer odometer, wrapped where the odometer turns over.
// Without such a meter the value comes back as it is.
func (s *Screened) Shown(meter models.Meter, cumulative float64) float64 {
	c := s.scale(meter)
	if c == nil {
		return cumulative
	}
	return c.shown(cumulative)
}

func (s *Screened) scale(meter models.Meter) *scale {
	for i := range s.scales {
		if s.scales[i].meter == meter {
			return &s.scales[i]
		}
	}
	return nil
}

// Of gives the accepted points of one meter, by date. The caller must not
// change them.
func (s *Screened) Of(meter models.Meter) []Point {
	if c := s.scale(meter); c != nil {
		return c.points
	}
	return nil
}
