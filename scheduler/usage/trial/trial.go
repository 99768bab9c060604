// Package trial plays forecasts on days in the past: for each case it gives
// the forecast that would have been given on that day from what was known
// then, and nothing later of any machine. It is pure: a fleet in memory goes
// in, answers come out.
package trial

import (
	"cmp"
	"slices"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/interval"
	"example.org/roundsman/scheduler/usage"
)

// horizon is the last day that a forecast names, in days after the day asked.
const horizon = interval.LateHorizon

// Case asks when an item of a machine falls due, as known on the evening of a
// day.
type Case struct {
	Machine string
	Item    string
	AsOf    models.Date
}

// Fleet is what the forecasts may draw on.
type Fleet struct {
	Histories []models.History // whole histories, in any order; AsOf is not looked at
	// Rules gives the rules that hold for a machine, as interval.Book.For does.
	Rules func(m models.Machine) []models.Rule
}

// Answer is the forecast of a case. OK is false when the machine or its rule
// is not known.
type Answer struct {
	Case
	Due, Early, Late models.Date // each at most AsOf + horizon
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
	h.Services = p.modelS.Trusted(h.Services)
	in := interval.Input{History: h, Rules: r.fleet.Rules(h.Machine), Scale: &p.modelS, Use: p.model}
	dates, ok := interval.Case(in, c.Item, c.AsOf)
	a.OK, a.Early, a.Due, a.Late = ok, dates.EarlyOn, dates.DueOn, dates.LateOn
	return a
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
