package policy

import (
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/calendar"
)

// span is a stretch of quiet hours of every day; both ends the same is none.
type span struct{ from, to models.TimeOfDay }

// quietHours gives the quiet hours that hold: the shop's, by default 20:00 to
// 08:00, and the contact's own, whose missing end is the shop's. Both hold, so
// that the stricter one decides: a contact may widen what the rule keeps quiet
// and never narrow it.
func (a Ask) quietHours() [2]span {
	shop := span{models.At(20, 0), models.At(8, 0)}.with(a.Rules.QuietFrom, a.Rules.QuietTo)
	return [2]span{shop, shop.with(a.Contact.QuietFrom, a.Contact.QuietTo)}
}

// with gives the span with those ends that are set.
func (s span) with(from, to models.TimeOfDay) span {
	if !from.IsZero() {
		s.from = from
	}
	if !to.IsZero() {
		s.to = to
	}
	return s
}

// steps bounds how often one span may lead into the other; two that leave a
// free moment on a day need no more than a few.
const steps = 10

// release gives the first moment from a time on at which a message may go,
// and why it is not that time itself; the zero time when there is none within
// a year.
func (a Ask) release(from time.Time) (time.Time, models.Reason) {
	options := calendar.Options{Sundays: a.Rules.NoSundays, Holidays: a.Rules.Holidays}
	at, settled := from, false
	for range steps {
		before := at
		for _, s := range a.quietHours() {
			if at = calendar.NextAllowed(at, s.from, s.to, a.zone(), options); at.IsZero() {
				return at, models.ReasonNeverAllowed
			}
		}
		if settled = at.Equal(before); settled {
			break
		}
	}
	if !settled {
		return time.Time{}, models.ReasonNeverAllowed
	}
	if at.Equal(from) {
		return from, models.ReasonMayGo
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
