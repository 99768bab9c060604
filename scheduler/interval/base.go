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
	half  bool                           // found fine and not changed: half an interval is left
	about models.Baseline                // what it counts from where that was only said; zero: nothing
	meter map[models.Meter]models.Number // what the meters showed then, as far as somebody wrote it down
}

// baseOf finds what an item's interval counts from: its last service, or what
// was said of it when the books began. A machine that came new, and whose books
// begin near that day, counts as done on it; on any other, an item never done
// has no base, unless fromStart asks to count from in_service all the same.
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
	b.done = len(days)
	said, ok := baselineOf(h, item)
	if ok {
		b = b.orSaid(said, item)
	}
	if b.done == 0 {
		b = b.orSaid(firstLook(h, item), item)
	}
	if b.done > 0 || ok { // ok: nobody knows
		return b
	}
	used, known := h.Machine.BoughtUsed()
	b.isNew = known && !used && !h.Machine.InService.IsZero() && (fromStart || wholeRecord(h))
	if b.isNew || fromStart {
		b.on = h.Machine.InService
		for _, m := range meters {
			b.meter[m] = h.Machine.Start(m)
		}
	}
	return b
}

// baselineOf gives what was said of an item when the books began.
func baselineOf(h models.History, item string) (found models.Baseline, ok bool) {
	for _, b := range h.Baselines {
		if b.Item == item {
			return b, true
		}
		if models.CountsFor(b.Item, item) && b.State == models.BaselineDone {
			found, ok = b, true
		}
	}
	return found, ok
}

// firstLook gives what the first inspection said of an item: that it was fine.
// What was not is mended and has a record of its own.
func firstLook(h models.History, item string) models.Baseline {
	b := models.Baseline{Item: item, State: models.BaselineUnknown}
	for i := range h.Services {
		s := &h.Services[i]
		if s.Item == models.ItemFirstInspection && s.At > b.On && (h.AsOf.IsZero() || s.At <= h.AsOf) {
			b.State, b.On = models.BaselineFine, s.At
		}
	}
	return b
}

// orSaid gives the base with what was said of the item, where no service came
// later. An inspection that found it fine is the service of an item that is
// only looked at; one that is changed by age has half an interval left (common
// practice, no source).
func (b base) orSaid(said models.Baseline, item string) base {
	if said.State == models.BaselineUnknown {
		return b
	}
	on := said.Since()
	b.done++
	if on < b.on || b.done > 1 && on == b.on {
		return b
	}
	b.on, b.about = on, said
	work := models.ItemOf(item).Work
	b.half = said.State == models.BaselineFine && work != models.WorkInspection && work != models.WorkTest
	b.meter = map[models.Meter]models.Number{}
	for _, m := range meters {
		if v := said.Value(m); v.Known {
			b.meter[m] = v
		}
	}
	return b
}

// dayAt gives the day on which a meter likely showed a value, between the day
// the machine came (or twenty years back) and a day; that day where it cannot
// be told.
func (in Input) dayAt(m models.Meter, value float64, until models.Date) models.Date {
	target, ok := in.Scale.Cumulative(m, until, value)
	low := max(in.History.Machine.InService, until.AddDays(-20*365))
	if now, known := in.Use.At(m, until); !ok || !known || now.Likely <= target {
		return until
	}
	for high := until; low < high; {
		mid := low + (high-low)/2
		if r, known := in.Use.At(m, mid); known && r.Likely < target {
			low = mid + 1
		} else {
			high = mid
		}
	}
	return low
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

// halved gives the limits of half an interval; months are rounded down, but
// not to none.
func (t terms) halved() terms {
	for m, v := range t.every {
		t.every[m] = v / 2
	}
	if t.months > 1 {
		t.months /= 2
	}
	return t
}

// from works out where the limits lie, counted from a base. A day of the year
// counts from the first one to come since the machine and the rule are known,
// as long as nothing was ever done for it.
func (t terms) from(b base, in Input, known models.Date) terms {
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
		t.season = calendar.LastBefore(t.by, b.on.AddDays(seasonReach))
		if b.done == 0 && known >= b.on {
			t.season = calendar.LastBefore(t.by, known)
		}
	}
	return t
}

// toCome gives the last day before the next day of the year that still counts
// for a rule that has no other limit, and whether days before it were skipped:
// one that was missed by more than half a year makes way for the next, and a
// machine that is laid up then needs no laying up.
func (in Input) toCome(r models.Rule, t terms) (next models.Date, skipped bool) {
	s, season := in.History.Standing(), t.season
	for !season.IsZero() && len(t.every) == 0 && t.months == 0 {
		missed := in.Today > season.AddDays(seasonReach)
		asleep := r.Item == models.ItemLayUp && s.State == models.StandsLaidUp && s.On <= season && season < s.Until
		if !missed && !asleep {
			break
		}
		season, skipped = calendar.LastBefore(r.By, season.AddDays(1)), true
	}
	return season, skipped
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
