package sheet

import (
	"cmp"
	"slices"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/calendar"
	"example.org/roundsman/scheduler/job"
)

// told marks services of which a job tells.
type told map[toldKey]bool

type toldKey struct {
	item string
	on   models.Date
}

// history lists what was done, the newest first: jobs with what they did, and
// services that no job tells of.
func (b *builder) history() {
	known := told{}
	events := append(b.jobEvents(known), b.serviceEvents(known)...)
	for i := range events {
		e := &events[i]
		e.SinceDays = e.On.DaysTo(b.Today)
		var miles, hours bool
		e.Since, miles = b.since(models.Odometer, e.On, e.Miles)
		e.SinceHours, hours = b.since(models.HourMeter, e.On, e.Hours)
		e.Doubtful = b.isSlip(models.Odometer, e.On, e.Miles) || b.isSlip(models.HourMeter, e.On, e.Hours)
		e.About = miles || hours && !e.Since.Known
	}
	slices.SortStableFunc(events, func(x, y Event) int { return cmp.Compare(y.On, x.On) })
	b.sheet.History = events
	if len(events) > 0 {
		b.sheet.Last = &events[0]
	}
}

// jobEvents tells of jobs on which something was done.
func (b *builder) jobEvents(known told) []Event {
	var events []Event
	for _, w := range b.Jobs {
		j := w.Job
		if j.State == models.JobWithdrawn || j.DoneOn == 0 && j.State.Begun() && j.Turn == 1 {
			continue
		}
		if len(w.Lines) > 0 && len(job.LinesOf(w, 0)) == 0 && j.Correction == "" {
			continue // all of it was taken back
		}
		e := Event{On: j.At(), Job: j.ID, Miles: j.Miles, Hours: j.Hours, Complaint: j.Complaint, By: j.DoneBy, Back: j.Turn - 1, Override: j.OverrideWhy}
		if j.State.Begun() {
			e.On = j.OpenedOn // of a reopened job the earlier turns are told
		}
		for _, l := range job.LinesOf(w, 0) {
			if l.Turn == j.Turn && j.State.Begun() {
				continue
			}
			e.What = append(e.What, l.Title(b.Language))
			known[toldKey{l.Item, j.DoneOn}] = true
		}
		if j.Correction != "" && !slices.Contains(e.What, j.Correction) {
			e.What = append(e.What, j.Correction)
		}
		events = append(events, e)
	}
	return events
}

// serviceEvents tells of the services of which no job tells, day by day.
func (b *builder) serviceEvents(known told) []Event {
	days := map[models.Date]int{}
	var events []Event
	for _, s := range b.History.Services {
		if known[toldKey{s.Item, s.At}] {
			continue
		}
		i, ok := days[s.At]
		if !ok {
			i = len(events)
			days[s.At] = i
			events = append(events, Event{On: s.At, Miles: s.Miles, Hours: s.Hours})
		}
		e := &events[i]
		if name := models.ItemName(s.Item, b.Language); !slices.Contains(e.What, name) {
			e.What = append(e.What, name)
		}
		if !e.Miles.Known {
			e.Miles = s.Miles
		}
		if !e.Hours.Known {
			e.Hours = s.Hours
		}
	}
	return events
}

// parts lists the parts on the machine with their age: of those with the same
// name and place, or the same number, the newest.
func (b *builder) parts() {
	var out []Part
	for _, w := range b.Jobs {
		j := w.Job
		if j.State == models.JobWithdrawn {
			continue
		}
		for _, p := range job.PartsOf(w, 0) {
			on, miles, hours := j.At(), j.Miles, j.Hours
			if p.Turn < j.Turn { // the day of an earlier turn's end is not kept
				on, miles, hours = j.OpenedOn, models.Number{}, models.Number{}
			}
			age, _ := b.since(models.Odometer, on, miles)
			ageHours, _ := b.since(models.HourMeter, on, hours)
			out = append(out, Part{
				Name: p.Name, Number: p.Number, Maker: p.Maker, Equivalents: p.Equivalents, Place: p.Place, Qty: p.Qty, On: on, Job: j.ID,
				AgeDays: on.DaysTo(b.Today), AgeMonths: monthsBetween(on, b.Today),
				Age: age, AgeHours: ageHours,
			})
		}
	}
	slices.SortStableFunc(out, func(x, y Part) int { return cmp.Compare(y.On, x.On) })
	seen := map[string]bool{}
	for _, p := range out {
		k := strings.ToLower(p.Name + "\x1f" + p.Place)
		if p.Name == "" {
			k = p.Number + "\x1f" + strings.ToLower(p.Place)
		}
		if !seen[k] {
			seen[k] = true
			b.sheet.Parts = append(b.sheet.Parts, p)
		}
	}
}

// monthsBetween gives the whole months from one day to another, 0 at least.
func monthsBetween(from, to models.Date) int {
	y0, m0, _ := from.Civil()
	y1, m1, _ := to.Civil()
	n := (y1-y0)*12 + int(m1) - int(m0)
	if n > 0 && calendar.AddMonths(from, n) > to {
		n--
	}
	return max(n, 0)
}
