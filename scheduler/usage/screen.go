package usage

import (
	"cmp"
	"math"
	"slices"

	"example.org/roundsman/models"
)

// Screened is what the screening leaves of a history: the points that the
// usage model may learn from, and the readings in doubt.
type Screened struct {
	Machine models.Machine
	Owner   models.Owner
	Points  []Point        // accepted, by date, meter and value
	Doubts  []models.Doubt // by reading and meter
	Doubted []DoubtedService
	AsOf    models.Date // the day of the newest fact that was looked at, doubted or not

	scales []scale // of the meters that the machine has
}

// DoubtedService is a service whose meter value does not fit; that the work was
// done is not doubted.
type DoubtedService struct {
	Service int64 // its row
	Meter   models.Meter
	Reason  models.Reason
	Likely  models.Number
}

// look is one value of one meter before it is judged.
type look struct {
	on        models.Date
	shown     float64 // as the meter showed
	value     float64 // true units, through swaps, before turns
	width     float64 // of a guess, on either side, true units
	rows      []int64 // readings that say so; none for a service or start
	services  []int64 // services that say so
	shop      bool
	start     bool // what the machine came with: never doubted
	confirmed bool
	turn      float64       // turns of the odometer that value holds
	kept      bool          // in the chain
	cannot    models.Reason // why it cannot be, whatever the others say
	reason    models.Reason // doubted for this reason
	likely    models.Number
}

// Screen sorts a machine's facts into points and doubts. Facts dated after
// h.AsOf (where it is given) are not looked at; withdrawn readings are left
// out without being doubts.
func Screen(h models.History) Screened {
	s := Screened{Machine: h.Machine, Owner: h.Owner}
	s.AsOf = newest(h)
	for _, b := range judge(h) {
		for j := range b.looks {
			s.keep(b.c, &b.looks[j])
		}
		sortPoints(b.c.points)
		settleGuesses(b.c.points)
		s.scales = append(s.scales, *b.c)
	}
	s.early(h)
	for _, c := range s.scales {
		s.Points = append(s.Points, c.points...)
	}
	sortPoints(s.Points)
	slices.SortFunc(s.Doubts, func(a, b models.Doubt) int {
		return cmp.Or(cmp.Compare(a.Reading, b.Reading), cmp.Compare(a.Meter, b.Meter))
	})
	return s
}

// tooEarly says whether a reading is dated before the machine came to its
// owner; a person may have said that it is right all the same.
func tooEarly(m models.Machine, r *models.Reading) bool {
	return !m.InService.IsZero() && r.At < m.InService && r.Standing != models.StandingConfirmed
}

// early doubts the readings that are dated before the machine came.
func (s *Screened) early(h models.History) {
	for i := range h.Readings {
		r := &h.Readings[i]
		if !inTime(&h, r.At) || r.Standing == models.StandingWithdrawn || !tooEarly(h.Machine, r) {
			continue
		}
		for _, m := range []models.Meter{models.Odometer, models.HourMeter} {
			if r.Value(m).Known && h.Machine.Meters.Has(m) {
				s.Doubts = append(s.Doubts, models.Doubt{Machine: s.Machine.ID, Reading: r.Row, Meter: m, Reason: models.ReasonBefore})
			}
		}
	}
}

// keep files a judged look under the points or under the doubts.
func (s *Screened) keep(c *scale, l *look) {
	if l.reason == "" {
		p := Point{Meter: c.meter, On: l.on, Value: l.value, Shown: l.shown, Shop: l.shop, Spread: l.width / guessSpread}
		if len(l.rows) > 0 {
			p.Reading = l.rows[0]
		}
		c.points = append(c.points, p)
		return
	}
	for _, row := range l.rows {
		s.Doubts = append(s.Doubts, models.Doubt{Machine: s.Machine.ID, Reading: row,
			Meter: c.meter, Reason: l.reason, Likely: l.likely})
	}
	for _, row := range l.services {
		s.Doubted = append(s.Doubted, DoubtedService{Service: row, Meter: c.meter, Reason: l.reason, Likely: l.likely})
	}
}

// Trusted gives the services of a history without the meter values in doubt.
func (s *Screened) Trusted(services []models.Service) []models.Service {
	if len(s.Doubted) == 0 {
		return services
	}
	out := slices.Clone(services)
	for _, d := range s.Doubted {
		for i := range out {
			switch {
			case out[i].Row != d.Service:
			case d.Meter == models.HourMeter:
				out[i].Hours = models.Number{}
			default:
				out[i].Miles = models.Number{}
			}
		}
	}
	return out
}

func sortPoints(p []Point) {
	slices.SortFunc(p, func(a, b Point) int {
		return cmp.Or(cmp.Compare(a.On, b.On), cmp.Compare(a.Meter, b.Meter),
			cmp.Compare(a.Value, b.Value), cmp.Compare(a.Reading, b.Reading))
	})
}

// inTime says whether a fact's day is among those to look at.
func inTime(h *models.History, on models.Date) bool {
	return !on.IsZero() && (h.AsOf.IsZero() || on <= h.AsOf)
}

// newest gives the day of the newest fact.
func newest(h models.History) models.Date {
	last := models.Date(0)
	see := func(d models.Date) {
		if inTime(&h, d) && d > last {
			last = d
		}
	}
	see(h.Machine.InService)
	for i := range h.Readings {
		see(h.Readings[i].At)
	}
	for i := range h.Swaps {
		see(h.Swaps[i].At)
	}
	for i := range h.Services {
		see(h.Services[i].At)
	}
	return last
}

// collect gathers the values of one meter, by date and value; identical ones
// of a day are one look.
func collect(h models.History, meter models.Meter) []look {
	var ls []look
	if v := h.Machine.Start(meter); v.Known && inTime(&h, h.Machine.InService) {
		// The start is the value before the first day's use.
		ls = append(ls, look{on: h.Machine.InService.AddDays(-1), shown: v.F, shop: true, start: true})
	}
	for i := range h.Services {
		if v := h.Services[i].Value(meter); v.Known && inTime(&h, h.Services[i].At) {
			ls = append(ls, look{on: h.Services[i].At, shown: v.F, shop: true, services: []int64{h.Services[i].Row}})
		}
	}
	for i := range h.Readings {
		r := &h.Readings[i]
		v := r.Value(meter)
		if !v.Known || !inTime(&h, r.At) || r.Standing == models.StandingWithdrawn || tooEarly(h.Machine, r) {
			continue
		}
		ls = append(ls, look{on: r.At, shown: v.F, rows: []int64{r.Row}, width: trueUnits(h.Machine, meter, r.Width.F),
			shop:      (r.Source == models.SourceShop || r.Source == "dealer") && !r.Width.Known,
			confirmed: r.Standing == models.StandingConfirmed})
	}
	slices.SortFunc(ls, func(a, b look) int {
		return cmp.Or(cmp.Compare(a.on, b.on), cmp.Compare(a.shown, b.shown),
			cmp.Compare(len(a.rows), len(b.rows)), slices.Compare(a.rows, b.rows), slices.Compare(a.services, b.services))
	})
	out := ls[:0]
	for _, l := range ls {
		if n := len(out); n > 0 && out[n-1].on == l.on && out[n-1].shown == l.shown {
			o := &out[n-1]
			o.rows = append(slices.Clip(o.rows), l.rows...)
			o.services = append(slices.Clip(o.services), l.services...)
			o.shop = o.shop || l.shop
			o.start = o.start || l.start
			o.width = min(o.width, l.width)
			o.confirmed = o.confirmed || l.confirmed
			continue
		}
		out = append(out, l)
	}
	return out
}

// newScale lays out the stretches between swaps and sets the looks' values.
func newScale(h models.History, meter models.Meter, looks []look) scale {
	c := scale{meter: meter, steps: []step{{}}}
	if meter == models.Odometer {
		c.metric = h.Machine.Meters.Metric()
		if m := h.Machine.MilesMax; m.Known && m.F > 0 {
			c.wrap = c.unit(math.Round(m.F + 0.1))
		}
	}
	var swaps []models.Swap
	for _, w := range h.Swaps {
		if w.Meter == meter && inTime(&h, w.At) {
			swaps = append(swaps, w)
		}
	}
	slices.SortFunc(swaps, func(a, b models.Swap) int {
		return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.OldValue.F, b.OldValue.F),
			cmp.Compare(a.NewValue.F, b.NewValue.F), cmp.Compare(a.Row, b.Row))
	})
	for _, w := range swaps {
		if last := c.steps[len(c.steps)-1]; last.after == w.At {
			continue // the same swap told twice
		}
		add := c.at(w.At).add
		old := w.OldValue
		if !old.Known {
			old = models.Num(lastShown(looks, c.steps[len(c.steps)-1].after, w.At))
		}
		c.steps = append(c.steps, step{after: w.At, add: add + c.unit(old.F-w.NewValue.F), from: add + c.unit(old.F)})
	}
	for i := range looks {
		l := &looks[i]
		l.value = c.unit(l.shown) + c.of(l.on, l.shown).add
		l.cannot = c.cannot(l)
	}
	doubtBeyond(h.Machine, meter, looks)
	slices.SortStableFunc(looks, func(a, b look) int { return cmp.Or(cmp.Compare(a.on, b.on), cmp.Compare(a.value, b.value)) })
	return c
}

// swapSlack is how much more than the old meter is said to have shown last may
// have been read off it that day: people round up.
const swapSlack = 1.0

// cannot gives why a look cannot be, whatever the looks around it say; "" where
// it can.
func (c *scale) cannot(l *look) models.Reason {
	if l.start || l.confirmed {
		return ""
	}
	fitted := c.fitted(l.on)
	if fitted != nil && c.wrap == 0 && c.of(l.on, l.shown) != fitted && l.value-l.width > fitted.from+swapSlack {
		return models.ReasonPastSwap
	}
	return ""
}

// doubtBeyond doubts the looks that are more than such a machine can have,
// unless somebody is sure of one of them, or others lead up there: it runs on
// then as no other does.
func doubtBeyond(m models.Machine, meter models.Meter, looks []look) {
	reach, beyond := m.Reach(meter), map[int]models.Reason{}
	if reach.Beyond(trueUnits(m, meter, m.Start(meter).F), m.InService) != "" {
		return
	}
	for i, l := range looks {
		why := reach.Beyond(l.value-l.width, l.on)
		if why != "" && l.confirmed || why == "" && reach.Near(l.value) {
			return
		}
		if why != "" && l.cannot == "" {
			beyond[i] = why
		}
	}
	for i, why := range beyond {
		looks[i].cannot = why
	}
}

// lastShown estimates what a meter showed when it was taken off on a day: the
// last value the shop or, failing that, anybody read off it.
func lastShown(looks []look, after, until models.Date) float64 {
	shop, other := 0.0, 0.0
	for _, l := range looks {
		if l.on <= after || l.on > until || l.on == until && l.shown < shop { // of the new meter
			continue
		}
		if l.shop {
			shop = l.shown
		}
		other = math.Max(other, l.shown)
	}
	if other > shop && (shop == 0 || other < 1.5*shop+500) {
		return other
	}
	return shop
}
