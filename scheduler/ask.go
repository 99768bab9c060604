package scheduler

import (
	"cmp"
	"slices"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/usage"
)

// Readings are asked for where an answer tells most, and not of everybody
// every month. Whether a machine is asked for depends on dates only, so that
// it changes on days that are known beforehand; what an answer would be worth
// on the day decides who comes first.
const (
	askWidth = 28  // days of range from which a date is worth sharpening
	askAhead = 180 // days ahead within which that date must lie
	askAgain = 45  // days since the last reading, and since the last time of asking
	askTimes = 2   // asks without a reading since; then the board alone says so
	askAlone = 90  // days since the last message after which asking makes one of its own
	askMost  = 3   // machines for each contact in models.AskedLatelyDays: those that tell most
)

// ReadingAsk is a reading that is worth asking for.
type ReadingAsk struct {
	notice models.Notice
	worth  float64 // days by which an answer is expected to sharpen the date
}

// readingAsk decides whether a machine's owner is to be asked for a reading.
// next is the day on which to look again; none where nothing will change by
// itself.
func readingAsk(m models.Machine, fs []models.Forecast, s *usage.Screened, told []models.Notice,
	dateOf func(models.Instant) models.Date, today models.Date) (ask *ReadingAsk, next models.Date) {
	var first models.Date // the day from which one of its dates is near enough
	worth, words := -1.0, models.Ask("")
	for _, f := range fs {
		open := f.Stage == models.StageUnsure || f.Stage == models.StageComing || f.Stage == models.StageClear
		if !open || f.DueOn == 0 || !f.Worth.Known || f.EarlyOn.DaysTo(f.LateOn) < askWidth {
			continue
		}
		from := f.DueOn.AddDays(-askAhead)
		if first == 0 || from < first {
			first = from
		}
		if from <= today && f.Worth.F > worth {
			worth, words = f.Worth.F, f.Ask
		}
	}
	if first == 0 {
		return nil, 0
	}
	if words == "" {
		words = models.AskMeter
	}
	last := m.InService
	for _, p := range s.Points {
		last = max(last, p.On)
	}
	n := models.Notice{Machine: m.ID, Owner: m.Owner, Subject: models.SubjectReading, Item: "since " + last.String(),
		Stage: models.StageUnsure, Detail: string(words), LastOn: last}
	from := max(first, last.AddDays(askAgain))
	for _, t := range told {
		if t.Subject == n.Subject && t.Item == n.Item && !t.Withheld() {
			from = max(from, dateOf(t.DecidedAt).AddDays(askAgain))
		}
	}
	if today < from {
		return nil, from
	}
	return &ReadingAsk{notice: n, worth: worth}, 0
}

// chosen gives the asks that go to one contact: of at most so many machines
// those that tell most, each at most askTimes since the last reading. later are the machines that wait
// for another time.
func chosen(asks []ReadingAsk, contact string, most int, told map[string][]models.Notice) (now []models.Notice, later []string) {
	asks = slices.Clone(asks)
	slices.SortStableFunc(asks, func(a, b ReadingAsk) int {
		return cmp.Or(cmp.Compare(b.worth, a.worth), cmp.Compare(a.notice.Machine, b.notice.Machine))
	})
	for _, a := range asks {
		n := a.notice
		n.Contact = contact
		sent := 0
		for _, t := range told[n.Machine] {
			if sameKey(t, n) {
				n.Ordinal++
				if !t.Withheld() {
					sent++
				}
			}
		}
		switch {
		case sent >= askTimes:
		case len(now) >= most:
			later = append(later, n.Machine)
		default:
			now = append(now, n)
		}
	}
	return now, later
}
