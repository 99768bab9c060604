package policy

import (
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/calendar"
)

// quietHours gives the quiet hours that hold: the contact's own ends where
// they are set, else the shop's, else 20:00 to 08:00.
func (a Ask) quietHours() (from, to models.TimeOfDay) {
	from, to = models.At(20, 0), models.At(8, 0)
	for _, set := range [...]struct{ from, to models.TimeOfDay }{
		{a.Rules.QuietFrom, a.Rules.QuietTo},
		{a.Contact.QuietFrom, a.Contact.QuietTo},
	} {
		if !set.from.IsZero() {
			from = set.from
		}
		if !set.to.IsZero() {
			to = set.to
		}
	}
	return from, to
}

// release gives the first moment from a time on at which a message may go,
// and why it is not that time itself; the zero time when there is none within
// a year.
func (a Ask) release(from time.Time) (time.Time, models.Reason) {
	quietFrom, quietTo := a.quietHours()
	options := calendar.Options{Sundays: a.Rules.NoSundays, Holidays: a.Rules.Holidays}
	at := calendar.NextAllowed(from, quietFrom, quietTo, a.zone(), options)
	if at.Equal(from) {
		return from, models.ReasonMayGo
	}
	if at.IsZero() {
		return at, models.ReasonNeverAllowed
	}
	switch first := models.DateOf(from.In(a.zone())); {
	case a.Rules.Holidays != nil && a.Rules.Holidays(first):
		return at, models.ReasonHoliday
	case a.Rules.NoSundays && first.Weekday() == time.Sunday:
		return at, models.ReasonSunday
	}
	return at, models.ReasonQuiet
}

// afterGap gives the beginning of the day on which the next message may go
// while the last ones have no answer, at least now.
func (a Ask) afterGap() time.Time {
	if a.LastSent.IsZero() {
		return a.Now
	}
	last := models.DateOf(a.LastSent.In(a.zone()))
	day := calendar.Resolve(last.AddDays(a.Rules.gap(a.Unanswered)), models.At(0, 0), a.zone())
	if day.Before(a.Now) {
		return a.Now
	}
	return day
}

// gap gives the days from one message to the next after n (>= 1) messages
// without an answer.
func (r Rules) gap(n int) int {
	gaps := r.Gaps
	if gaps == nil {
		gaps = []int{firstGapDays, laterGapDays}
	}
	if len(gaps) == 0 {
		return 0
	}
	return gaps[min(n, len(gaps))-1]
}

func (r Rules) patience() int {
	if r.Patience > 0 {
		return r.Patience
	}
	return defaultPatience
}
