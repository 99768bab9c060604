package shop

import (
	"cmp"
	"fmt"
	"slices"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/visit"
)

// New makes the planning problem. It fails only where the length is out of
// range or the shop is never open.
func New(in Input) (*Draft, error) {
	if in.Days < 1 || in.Days > visit.MaxDays {
		return nil, models.Errorf(models.CodeInvalid, fmt.Sprintf("write a number from 1 to %d", visit.MaxDays), "a plan of %d days cannot be made", in.Days)
	}
	if in.From < in.Today {
		return nil, models.Errorf(models.CodeInvalid, "begin today or later", "a plan cannot begin on %s, before today, %s", in.From, in.Today)
	}
	if in.Settings.OpenMin == ([7]int{}) {
		return nil, models.Errorf(models.CodeInvalid, "set plan.open_minutes", "the shop is open on no day of the week")
	}
	d := &Draft{in: in, begin: in.From, machines: make(map[string]models.Machine, len(in.Machines)), items: map[string]*planItem{}, offers: map[string][]models.Rule{},
		agreed: map[string]models.Visit{}}
	for _, m := range in.Machines {
		d.machines[m.ID] = m
	}
	d.look()
	p := &d.Problem
	p.Format, p.Start, p.Days = visit.Format, d.begin, d.begin.DaysTo(in.From)+in.Days
	d.places()
	d.closures()
	d.plannable()
	d.keep()
	if err := p.Validate("plan"); err != nil {
		return nil, fmt.Errorf("the plan's problem is faulty: %w", err)
	}
	return d, nil
}

// look sorts out the visits that stand and finds the first day of the problem.
func (d *Draft) look() {
	for _, v := range d.in.PlanningData.Visits {
		if _, known := d.machines[v.Machine]; !known || !v.Stands() || v.Until < d.in.From {
			continue
		}
		if v.State == models.VisitPlanned && v.On < d.in.From {
			continue // shown for a day that has passed and never agreed
		}
		d.standing = append(d.standing, v)
		if v.State == models.VisitAgreed {
			d.begin = min(d.begin, v.On)
		}
	}
	// The order in which they were agreed decides which give way.
	slices.SortStableFunc(d.standing, func(a, b models.Visit) int { return cmp.Compare(a.Row, b.Row) })
}

// day gives a date as a day number of the problem.
func (d *Draft) day(on models.Date) int { return d.begin.DaysTo(on) }

// date gives a day number of the problem as a date.
func (d *Draft) date(day int) models.Date { return d.begin.AddDays(day) }

// first gives the number of the first day on which something new may be
// planned.
func (d *Draft) first() int { return d.day(d.in.From) }

// plannable adds the machines and their items.
func (d *Draft) plannable() {
	forecasts := map[string][]models.Forecast{}
	for _, f := range d.in.Forecasts {
		forecasts[f.Machine] = append(forecasts[f.Machine], f)
	}
	later := map[string]bool{} // items agreed for after the plan
	for _, v := range d.standing {
		if v.State == models.VisitAgreed && d.day(v.On) >= d.Problem.Days {
			for _, item := range v.Items.List() {
				later[itemID(v.Machine, item)] = true
			}
		}
	}
	access := accessMinutes(d.in.Teardowns)
	for _, m := range d.in.Machines {
		rules := map[string]models.Rule{}
		var all []models.Rule
		if d.in.Rules != nil {
			all = d.in.Rules(m)
		}
		for _, r := range all {
			rules[r.Item] = r
		}
		d.offers[m.ID] = models.Offered(all, forecasts[m.ID], d.in.Today)
		var items []*planItem
		for _, f := range forecasts[m.ID] {
			if r, ok := rules[f.Item]; ok && f.DueOn != 0 && !later[itemID(m.ID, f.Item)] {
				items = append(items, &planItem{machine: m.ID, item: f.Item, forecast: f, rule: r})
			}
		}
		items = append(items, d.agreedOnly(m, items, rules)...)
		d.addMachine(m, items, all, access)
	}
}

// agreedOnly gives items of agreed visits of which no date is known.
func (d *Draft) agreedOnly(m models.Machine, items []*planItem, rules map[string]models.Rule) (more []*planItem) {
	for _, v := range d.standing {
		if v.Machine != m.ID || v.State != models.VisitAgreed || d.day(v.On) >= d.Problem.Days {
			continue
		}
		for _, item := range v.Items.List() {
			known := func(p *planItem) bool { return p.item == item }
			if slices.ContainsFunc(items, known) || slices.ContainsFunc(more, known) {
				continue
			}
			more = append(more, &planItem{machine: m.ID, item: item, rule: rules[item],
				forecast: models.Forecast{Machine: m.ID, Item: item, DueOn: v.On, EarlyOn: v.On, LateOn: v.On}})
		}
	}
	return more
}

// accessMinutes gives the minutes of teardowns by kind and name.
func accessMinutes(ts []models.Teardown) map[[2]string]int {
	out := make(map[[2]string]int, len(ts))
	for _, t := range ts {
		out[[2]string{models.KindID(t.Kind), t.ID}] = t.AccessMin
	}
	return out
}

// addMachine adds a machine with its items to the problem, where one of them
// may be done within it.
func (d *Draft) addMachine(m models.Machine, items []*planItem, rules []models.Rule, recorded map[[2]string]int) {
	pm := visit.Machine{ID: m.ID, Class: models.KindID(m.Kind), Site: siteOf(m), Access: map[string]int{}}
	for _, r := range rules {
		if r.Teardown == "" {
			continue
		}
		minutes, known := recorded[[2]string{models.KindID(m.Kind), r.Teardown}]
		if !known {
			minutes = max(pm.Access[r.Teardown], r.AccessMin)
		}
		pm.Access[r.Teardown] = min(minutes, visit.MaxWork)
	}
	trip := d.transport(pm.Site)
	added := false
	first := len(d.Problem.Items)
	for _, p := range items {
		it, ok := d.item(p, m, pm.Access, trip)
		if !ok {
			continue
		}
		if _, twice := d.items[it.ID]; twice {
			continue
		}
		p.at = len(d.Problem.Items)
		d.items[it.ID] = p
		d.Problem.Items = append(d.Problem.Items, it)
		added = true
	}
	d.calm(first, trip)
	if added {
		d.Problem.Machines = append(d.Problem.Machines, pm)
	}
}

// calm sees to it that the optional items of a machine, those from a place in
// the list on, do not pay for a visit together.
func (d *Draft) calm(from int, trip int64) {
	most := (trip + d.in.Settings.DowntimeCents) * calmShare / 100
	sum := int64(0)
	items := d.Problem.Items[from:]
	for i := range items {
		if d.items[items[i].ID].optional {
			sum += items[i].Skip
		}
	}
	for i := range items {
		if sum > most && d.items[items[i].ID].optional {
			items[i].Skip = items[i].Skip * most / sum
		}
	}
}

// item makes an item of the problem; ok is false where it cannot be done
// within the plan and is in no agreed visit.
func (d *Draft) item(p *planItem, m models.Machine, access map[string]int, trip int64) (it visit.Item, ok bool) {
	f, r := p.forecast, p.rule
	last := d.Problem.Days - 1
	it = visit.Item{ID: itemID(m.ID, p.item), Machine: m.ID, Access: r.Teardown, Interval: intervalDays(f, r), Work: r.WorkMin}
	if it.Work == 0 {
		it.Work = usualWork
	}
	if r.Teardown == "" {
		it.Work += r.AccessMin
	}
	it.Work = min(it.Work, visit.MaxWork)
	due := d.day(f.DueOn)
	it.Earliest = max(d.first(), due-int(models.EarlyShare*float64(it.Interval)))
	it.Due = max(due, d.first()-sunkDays)
	if r.PartsDays > 0 {
		it.Lead = d.day(d.in.Today) + r.PartsDays
	}
	if bar := due; f.Reason == models.ReasonSeason && bar >= max(it.Earliest, it.Lead) {
		it.Latest = &bar
	}
	p.optional = due > last || f.Stage == models.StageUnsure
	d.in.Settings.prices(&it, p, m, access[r.Teardown], trip, last)
	if it.Earliest <= last {
		return it, true
	}
	return it, d.isAgreed(m.ID, p.item)
}

// isAgreed says whether an item is in an agreed visit that the plan looks at.
func (d *Draft) isAgreed(machine, item string) bool {
	return slices.ContainsFunc(d.standing, func(v models.Visit) bool {
		return v.Machine == machine && v.State == models.VisitAgreed && v.Items.Has(item)
	})
}
