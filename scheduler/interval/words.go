package interval

import (
	"fmt"
	"strings"

	"example.org/roundsman/models"
)

// detail says in words what was counted and from where: "1,000 mi or 12
// months since 2026-03-01 at 5,120 mi and 410 h, and by October 14 each
// year".
func (in Input) detail(t terms, b base) string {
	var limits []string
	for _, l := range t.meters {
		limits = append(limits, in.amount(l.Meter, t.every[l.Meter], true))
	}
	if t.months > 0 {
		limits = append(limits, count(t.months, "month"))
	}
	since, last := b.on.String(), "last done"
	switch grounds := b.about.Grounds(); {
	case b.isNew:
		since = "new on " + since
	case grounds == models.GroundsLooked:
		since, last = "looked over "+since, ""
	case grounds == models.GroundsMonth:
		since = "about " + since[:len("2006-01")]
	case grounds == models.GroundsYear:
		since = "about " + since[:len("2006")]
	}
	var at []string
	for _, m := range meters {
		if v := b.meter[m]; v.Known && in.History.Machine.Meters.Has(m) && !b.isNew {
			at = append(at, in.amount(m, v.F, false))
		}
	}
	if len(at) > 0 {
		since += " at " + strings.Join(at, " and ")
	}
	var s string
	switch season := "by " + t.season.Format("January 2") + " each year"; {
	case t.by.IsZero():
		s = strings.Join(limits, " or ") + " since " + since
	case len(limits) > 0:
		s = strings.Join(limits, " or ") + " since " + since + ", and " + season
	case b.isNew:
		s = season + "; " + since
	default:
		s = season + "; " + strings.TrimSpace(last+" "+since)
	}
	if in.History.Machine.Duty == models.DutySevere {
		s += " (severe duty)"
	}
	return s
}

// amount words a distance or a number of hours: in miles, turned to what the
// odometer counts, or as the meter shows it.
func (in Input) amount(m models.Meter, v float64, inMiles bool) string {
	if m == models.HourMeter {
		return models.Grouped(tenths(v)) + " h"
	}
	kit := in.History.Machine.Meters
	if inMiles {
		v = kit.Shown(v)
	}
	if kit.Metric() {
		return models.Grouped(tenths(v)) + " km"
	}
	return models.Grouped(tenths(v)) + " mi"
}

// noRecord says why nothing is known of an item, "" where somebody said so.
func (in Input) noRecord() string {
	m := in.History.Machine
	used, known := m.BoughtUsed()
	switch {
	case used:
		return "the machine came used"
	case known && m.InService.IsZero():
		return "not known when the machine came"
	case known && !wholeRecord(in.History):
		return "its record is not whole since it came"
	case known:
		return ""
	}
	return "not known whether the machine came new"
}

// noLimit says why a rule cannot be counted on a machine.
func (in Input) noLimit(t terms) string {
	var limits []string
	for _, m := range meters {
		if every, ok := t.every[m]; ok {
			unit := "miles"
			if m == models.HourMeter {
				unit = "hours"
			}
			limits = append(limits, models.Grouped(tenths(every))+" "+unit)
		}
	}
	return "the rule counts " + strings.Join(limits, " or ") + ", which the machine has no meter for"
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
