package interval

import (
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/calendar"
	"example.org/roundsman/scheduler/usage"
)

// seasonReach is how many days before its day of the year a service counts for
// that day: what was done within half a year before the snow need not be done
// again for it, and what was done late counts for the day that was missed.
const seasonReach = 183

// base is what an interval counts from.
type base struct {
	on    models.Date                    // the last service, or in_service where it counts; none: no record
	done  int                            // days on which the item was done
	isNew bool                           // never done, and the machine came new
	meter map[models.Meter]models.Number // what the meters showed then, as far as somebody wrote it down
}

// baseOf finds what an item's interval counts from. A machine that came new
// counts as done on the day it came into service; on one that was bought used
// or of an unknown past, an item never done has no base, unless fromStart asks
// to count from in_service all the same.
func baseOf(h models.History, item string, fromStart bool) base {
	b := base{meter: map[models.Meter]models.Number{}}
	days := map[models.Date]bool{}
	for i := range h.Services {
		s := &h.Services[i]
		if !models.CountsFor(s.Item, item) || s.At.IsZero() || !h.AsOf.IsZero() && s.At > h.AsOf {
			continue
		}
		days[s.At] = true
		if s.At > b.on {
			b.on, b.meter = s.At, map[models.Meter]models.Number{}
		}
		if s.At < b.on {
			continue
		}
		for _, m := range meters {
			// Two services of one day: the higher value is the later one.
			if v := s.Value(m); v.Known && (!b.meter[m].Known || v.F > b.meter[m].F) {
				b.meter[m] = v
			}
		}
	}
	if b.done = len(days); b.done > 0 {
		return b
	}
	used, known := h.Machine.BoughtUsed()
	b.isNew = known && !used && !h.Machine.InService.IsZero()
	if b.isNew || fromStart {
		b.on = h.Machine.InService
		for _, m := range meters {
			b.meter[m] = h.Machine.Start(m)
		}
	}
	return b
}

// meters in the order in which they are spoken of.
var meters = [...]models.Meter{models.Odometer, models.HourMeter}

// terms are the limits of a rule that apply to one interval, as far as the
// machine can count them.
type terms struct {
	every    map[models.Meter]float64 // miles or hours
	months   int
	by       models.MonthDay
	meters   []usage.Limit
	monthsUp models.Date // the day on which the months are up; none: no such limit
	season   models.Date // the last day before the rule's day of the year; none: no such limit
}

// applies gives the limits of a rule without the dates: those of the first
// interval on a new machine, where they differ.
func applies(r models.Rule, first bool) terms {
	t := terms{every: map[models.Meter]float64{}, months: r.Months, by: r.By}
	miles, hours := r.Miles, r.Hours
	if first {
		if r.FirstMiles.Known {
			miles = r.FirstMiles
		}
		if r.FirstHours.Known {
			hours = r.FirstHours
		}
		if r.FirstMonths > 0 {
			t.months = r.FirstMonths
		}
	}
	if miles.F > 0 {
		t.every[models.Odometer] = miles.F
	}
	if hours.F > 0 {
		t.every[models.HourMeter] = hours.F
	}
	return t
}

// isEmpty says whether a rule has no limit at all for the interval, as a
// break-in service has none once it is done.
func (t terms) isEmpty() bool { return len(t.every) == 0 && t.months <= 0 && t.by.IsZero() }

// from works out where the limits lie, counted from a base.
func (t terms) from(b base, in Input) terms {
	for _, m := range meters {
		every, ok := t.every[m]
		if !ok {
			continue
		}
		at, ok := in.valueThen(m, b)
		if !ok {
			continue
		}
		t.meters = append(t.meters, usage.Limit{Meter: m, Target: at + every})
	}
	if t.months > 0 {
		t.monthsUp = calendar.AddMonths(b.on, t.months)
	}
	if !t.by.IsZero() {
		t.season = calendar.NextYearly(t.by, b.on.AddDays(seasonReach+1)).AddDays(-1)
	}
	return t
}

// valueThen gives a meter's true value when an interval began: as written
// down, else the likely value of that day.
func (in Input) valueThen(m models.Meter, b base) (float64, bool) {
	if !in.History.Machine.Meters.Has(m) {
		return 0, false
	}
	if shown := b.meter[m]; shown.Known {
		on := b.on
		if b.done == 0 {
			on = on.AddDays(-1) // a start is what the meter showed before the first day's use
		}
		return in.Scale.Cumulative(m, on, shown.F)
	}
	r, ok := in.Use.At(m, b.on)
	return r.Likely, ok
}

// byCalendar gives the earlier of the calendar's limits, and whether it is the
// day of the year; none for neither.
func (t terms) byCalendar() (on models.Date, season bool) {
	if t.season.IsZero() || !t.monthsUp.IsZero() && t.monthsUp <= t.season {
		return t.monthsUp, false
	}
	return t.season, true
}
