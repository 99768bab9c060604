package interval

import (
	"slices"

	"example.org/roundsman/models"
)

// When the record of a machine that came new is taken for whole, so that what
// it does not hold was not done (common practice, no source).
const (
	nearStart  = 183 // days after the machine came within which a record that was kept ever since began
	recordGap  = 457 // most days between two visits of one that was loaded later: a yearly one and a season's slack
	fewestDays = 2   // on which services were done: a single one proves only itself
)

// wholeRecord says whether a machine's record since it came holds all that was
// done on it. That of a machine which the shop has recorded from its first half
// year on does. An older one does where services were recorded regularly from
// the beginning to the day on which the shop began to record them itself.
//
// Of the past before that day no more is known than what was loaded: as seen
// from a day in it, the record is taken to reach to its last fact.
func wholeRecord(h models.History) bool {
	came, until := h.Machine.InService, h.Machine.BooksSince
	days := make([]models.Date, 0, len(h.Services))
	for i := range h.Services {
		if at := h.Services[i].At; at > came && (h.AsOf.IsZero() || at <= h.AsOf) {
			days = append(days, at)
		}
	}
	slices.Sort(days)
	days = slices.Compact(days)
	if until.IsZero() || !h.AsOf.IsZero() && until > h.AsOf {
		last := came
		for i := range h.Readings {
			last = max(last, h.Readings[i].At)
		}
		if len(days) > 0 {
			last = max(last, days[len(days)-1])
		}
		until = last
	}
	if came.DaysTo(until) <= nearStart {
		return true
	}
	visits, last := 0, came
	for _, day := range days {
		if day > until {
			break
		}
		if last.DaysTo(day) > recordGap {
			return false
		}
		visits, last = visits+1, day
	}
	return visits >= fewestDays && last.DaysTo(until) <= recordGap
}
