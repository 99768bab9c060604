// Package trial plays forecasts on days in the past: for each case it gives
// the forecast that would have been given on that day from what was known
// then, and nothing later of any machine. It is pure: a fleet in memory goes
// in, answers come out.
package trial

import (
	"cmp"
	"slices"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/usage"
)

// Horizon is the last day that a forecast names, in days after the day asked.
const Horizon = 400

// Case asks when an item of a machine falls due, as known on the evening of a
// day.
type Case struct {
	Machine string
	Item    string
	AsOf    models.Date
}

// Interval is a rule in force for one machine and item; limits that are not
// known or 0 do not apply. Miles are miles, whatever the odometer shows.
type Interval struct {
	Miles, Hours models.Number
	Months       int
}

// Fleet is what the forecasts may draw on.
type Fleet struct {
	Histories []models.History // whole histories, in any order; AsOf is not looked at
	// Interval gives the rule for an item; first is true while the item was
	// never done on a machine that came new. ok is false where no rule holds.
	Interval func(m models.Machine, item string, first bool) (v Interval, ok bool)
}

// Answer is the forecast of a case. OK is false when the machine or its rule
// is not known.
type Answer struct {
	Case
	Due, Early, Late models.Date // each at most AsOf + Horizon
	OK               bool
}

// Doubted is a reading that was doubted on the day of a machine's case.
type Doubted struct {
	Reading models.Reading
	Doubts  []models.Doubt
}

// Forecast answers the cases in their order, and lists the readings doubted
// on the days asked, by machine, date and row. A reading doubted in several
// cases of a machine is listed once.
func Forecast(f Fleet, cases []Case) ([]Answer, []Doubted) {
	r := newRunner(f)
	order := make([]int, len(cases))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		x, y := cases[a], cases[b]
		return cmp.Or(cmp.Compare(x.AsOf, y.AsOf), cmp.Compare(x.Machine, y.Machine))
	})
	out := make([]Answer, len(cases))
	for _, i := range order {
		out[i] = r.answer(cases[i])
	}
	return out, r.doubted()
}

// runner works through cases by date.
type runner struct {
	fleet    Fleet
	machines []*past
	index    map[string]*past
	profile  *usage.Profile
	number   int // of the profile
	seen     map[doubtKey]*Doubted
}

type doubtKey struct {
	machine string
	row     int64
}

// past is one machine's history, sorted by date, with the last screening.
type past struct {
	h       models.History
	facts   int // facts in the last screening for a profile
	screen  usage.Screened
	summary usage.Summary
	model   *usage.Model // of the last case's day
	modelOn models.Date
	modelS  usage.Screened
}

func newRunner(f Fleet) *runner {
	r := &runner{fleet: f, index: map[string]*past{}, seen: map[doubtKey]*Doubted{}}
	for _, h := range f.Histories {
		p := &past{h: h, facts: -1}
		p.h.Readings = slices.Clone(h.Readings)
		p.h.Services = slices.Clone(h.Services)
		p.h.Swaps = slices.Clone(h.Swaps)
		slices.SortStableFunc(p.h.Readings, func(a, b models.Reading) int { return cmp.Compare(a.At, b.At) })
		slices.SortStableFunc(p.h.Services, func(a, b models.Service) int { return cmp.Compare(a.At, b.At) })
		slices.SortStableFunc(p.h.Swaps, func(a, b models.Swap) int { return cmp.Compare(a.At, b.At) })
		r.machines = append(r.machines, p)
		r.index[h.Machine.ID] = p
	}
	return r
}

// until gives the history as it was known on the evening of a day.
func (p *past) until(on models.Date) models.History {
	h := p.h
	h.AsOf = on
	h.Readings = h.Readings[:upTo(h.Readings, on, func(r models.Reading) models.Date { return r.At })]
	h.Services = h.Services[:upTo(h.Services, on, func(s models.Service) models.Date { return s.At })]
	h.Swaps = h.Swaps[:upTo(h.Swaps, on, func(s models.Swap) models.Date { return s.At })]
	return h
}

func upTo[T any](list []T, on models.Date, at func(T) models.Date) int {
	n, _ := slices.BinarySearchFunc(list, on+1, func(t T, d models.Date) int { return cmp.Compare(at(t), d) })
	return n
}

// refit makes the profile in force on a day from the facts dated before the
// first of its month.
func (r *runner) refit(on models.Date) error {
	number := models.ProfileNumber(on, 0)
	if number == r.number {
		return nil
	}
	cut := on.FirstOfMonth().AddDays(-1)
	f := usage.NewFitter(number)
	for _, p := range r.machines {
		if p.h.Machine.InService > cut {
			continue
		}
		h := p.until(cut)
		if n := len(h.Readings) + len(h.Services) + len(h.Swaps); n != p.facts {
			p.facts = n
			p.screen = usage.Screen(h)
			p.summary = usage.Summarize(&p.screen)
		}
		f.AddSummary(p.summary)
	}
	pr, err := f.Profile()
	if err != nil {
		return err
	}
	r.profile, r.number = pr, number
	return nil
}

func (r *runner) answer(c Case) Answer {
	a := Answer{Case: c}
	p := r.index[c.Machine]
	if p == nil || c.AsOf.IsZero() {
		return a
	}
	if err := r.refit(c.AsOf); err != nil {
		return a
	}
	h := p.until(c.AsOf)
	if p.model == nil || p.modelOn != c.AsOf {
		p.modelS = usage.Screen(h)
		p.model = usage.Fit(&p.modelS, r.profile)
		p.modelOn = c.AsOf
		r.note(h, p.modelS)
	}
	last := lastDone(h, c.Item)
	v, ok := r.fleet.Interval(h.Machine, c.Item, last == nil)
	if !ok {
		return a
	}
	a.OK = true
	a.Early, a.Due, a.Late = dates(p.model, Limits(p.model, &p.modelS, last, v), calendarLimit(h, last, v.Months), c.AsOf)
	return a
}

// lastDone gives the last service of an item, nil for none.
func lastDone(h models.History, item string) *models.Service {
	var last *models.Service
	for i := range h.Services {
		if s := &h.Services[i]; s.Item == item && (last == nil || s.At >= last.At) {
			last = s
		}
	}
	return last
}

// Limits gives the true values at which an interval ends: from the last
// service, or from the machine's start when it was never done. Where the
// service does not say what a meter showed, its likely value on that day
// stands in; a machine of unknown start has no limit until the first service.
func Limits(m *usage.Model, s *usage.Screened, last *models.Service, v Interval) []usage.Limit {
	var out []usage.Limit
	for _, x := range []struct {
		meter models.Meter
		every models.Number
	}{{models.Odometer, v.Miles}, {models.HourMeter, v.Hours}} {
		if !x.every.Known || x.every.F <= 0 {
			continue
		}
		shown, on := s.Machine.Start(x.meter), s.Machine.InService.AddDays(-1)
		if last != nil {
			shown, on = last.Value(x.meter), last.At
			if likely, ok := m.At(x.meter, on); ok && !shown.Known {
				out = append(out, usage.Limit{Meter: x.meter, Target: likely.Likely + x.every.F})
			}
		}
		if !shown.Known {
			continue
		}
		if base, ok := s.Cumulative(x.meter, on, shown.F); ok {
			out = append(out, usage.Limit{Meter: x.meter, Target: base + x.every.F})
		}
	}
	return out
}

// calendarLimit gives the day on which the months are up, none for no limit.
func calendarLimit(h models.History, last *models.Service, months int) models.Date {
	from := h.Machine.InService
	if last != nil {
		from = last.At
	}
	if months <= 0 || from.IsZero() {
		return 0
	}
	return addMonths(from, months)
}

// addMonths adds months to a date; a day that the month lacks becomes its last.
func addMonths(d models.Date, n int) models.Date {
	y, m, day := d.Civil()
	out := models.NewDate(y, m, 1)
	oy, om, _ := out.Civil()
	first := models.NewDate(oy, om+time.Month(n), 1)
	fy, fm, _ := first.Civil()
	end := models.NewDate(fy, fm+1, 1).AddDays(-1)
	_, _, length := end.Civil()
	return first.AddDays(min(day, length) - 1)
}

// dates gives the three dates of a forecast, cut at the calendar's limit and
// at the horizon.
func dates(m *usage.Model, limits []usage.Limit, calendar, asOf models.Date) (early, due, late models.Date) {
	end := asOf.AddDays(Horizon)
	if !calendar.IsZero() {
		end = min(end, calendar)
	}
	if len(limits) == 0 {
		return end, end, end
	}
	c := m.First(limits, asOf)
	if c.IsZero() {
		return end, end, end
	}
	return min(c.Early, end), min(c.Likely, end), min(c.Late, end)
}

// note remembers the readings doubted in a screening.
func (r *runner) note(h models.History, s usage.Screened) {
	if len(s.Doubts) == 0 {
		return
	}
	rows := map[int64]models.Reading{}
	for _, x := range h.Readings {
		rows[x.Row] = x
	}
	for _, d := range s.Doubts {
		k := doubtKey{h.Machine.ID, d.Reading}
		if r.seen[k] == nil {
			r.seen[k] = &Doubted{Reading: rows[d.Reading]}
		}
		r.seen[k].Doubts = append(r.seen[k].Doubts, d)
	}
}

func (r *runner) doubted() []Doubted {
	out := make([]Doubted, 0, len(r.seen))
	for _, d := range r.seen {
		out = append(out, *d)
	}
	slices.SortFunc(out, func(a, b Doubted) int {
		return cmp.Or(cmp.Compare(a.Reading.Machine, b.Reading.Machine),
			cmp.Compare(a.Reading.At, b.Reading.At), cmp.Compare(a.Reading.Row, b.Reading.Row))
	})
	return out
}
