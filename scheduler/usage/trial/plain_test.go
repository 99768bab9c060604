package trial

import (
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/interval"
	"example.org/roundsman/scheduler/usage"
)

// What follows is written anew on purpose, without the interval package: the
// simple rules that forecasts are compared with must not share its faults.

// plain is a rule in force for one machine and item; limits that are not
// known or 0 do not apply. Miles are miles, whatever the odometer shows.
type plain struct {
	Miles, Hours models.Number
	Months       int
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

// limitsOf gives the true values at which an interval ends: from the last
// service, or from the machine's start when it was never done. Where the
// service does not say what a meter showed, its likely value on that day
// stands in; a machine of unknown start has no limit until the first service.
func limitsOf(m *usage.Model, s *usage.Screened, last *models.Service, v plain) []usage.Limit {
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

// rulesOf makes rules of plain intervals, for every kind.
func rulesOf(kind string, items map[string]plain) []models.Rule {
	var out []models.Rule
	for item, v := range items {
		out = append(out, models.Rule{Kind: kind, Item: item, Miles: v.Miles, Hours: v.Hours, Months: v.Months})
	}
	return out
}

// bookOf gives the rules of a fleet as the program resolves them.
func bookOf(rules []models.Rule) func(models.Machine) []models.Rule {
	return interval.NewBook(rules).For
}
