package interval

import "example.org/roundsman/models"

// LateHorizon is how far past the day asked a late date is shown, in days.
const LateHorizon = 400

// lastDay gives the last day on which an item is due and not yet late: both
// late_on and the grace have to pass. Grace runs from due_on or, where it came
// later, from the day on which a reading showed that the limit was passed.
func lastDay(f models.Forecast) models.Date {
	return max(f.LateOn, max(f.DueOn, f.KnownOn).AddDays(f.GraceDays))
}

// LateFrom gives the day from which an item is late.
func LateFrom(f models.Forecast) models.Date { return lastDay(f).AddDays(1) }

// wide says whether a forecast's range is too wide for its date to be told by
// itself.
func wide(f models.Forecast) bool { return models.Wide(f.EarlyOn, f.LateOn) }

// StageOn gives the stage of a forecast on a day: late after the grace and the
// late date (never by a look or a guess, which is not known to the day), due from due_on, unsure before it where the range is wider than
// 180 days or no date is claimed, coming from the lead before the early date
// (never more than half the interval before due_on), else clear.
func StageOn(f models.Forecast, today models.Date) models.Stage {
	switch {
	case f.DueOn.IsZero():
		return models.StageUnsure
	case today > lastDay(f) && f.LastBy == models.GroundsDone:
		return models.StageLate
	case today >= f.DueOn:
		return models.StageDue
	case wide(f):
		return models.StageUnsure
	case today >= comingFrom(f):
		return models.StageComing
	}
	return models.StageClear
}

// NextLook gives the first day after today on which the stage changes without
// a new fact; none when it stays for good.
func NextLook(f models.Forecast, today models.Date) models.Date {
	if f.DueOn.IsZero() {
		return 0
	}
	now := StageOn(f, today)
	last := models.StageLate
	if f.LastBy != models.GroundsDone {
		last = models.StageDue
	}
	if missed := f.DueOn.AddDays(seasonReach + 1); f.Reason == models.ReasonSeason && now.Rank() <= last.Rank() && missed > today {
		return missed // and the next one counts
	}
	for _, d := range []models.Date{comingFrom(f), f.DueOn, lastDay(f).AddDays(1)} {
		if d > today && StageOn(f, d) != now {
			return d
		}
	}
	return 0
}

// ReasonOn gives the reason of the stage on a day: the forecast's own, but
// "range too wide" where that makes it unsure, and "passed, not reported done"
// once it is due.
func ReasonOn(f models.Forecast, today models.Date) models.Reason {
	switch StageOn(f, today) {
	case models.StageUnsure:
		if !f.DueOn.IsZero() {
			return models.ReasonWide
		}
	case models.StageDue, models.StageLate:
		return models.ReasonOverdueOpen
	}
	return f.Reason
}

// Tells says whether a stage makes notices.
func Tells(s models.Stage) bool {
	return s == models.StageComing || s == models.StageDue || s == models.StageLate
}

// Capped gives a forecast as it is shown on a day: late_on at most so many
// days after it, but never before due_on; LateOpen says that it was cut there.
// The stage goes by the forecast as it
// was, whose late date does not move with the day.
func Capped(f models.Forecast, asked models.Date, days int) models.Forecast {
	if f.LateOn.IsZero() || asked.IsZero() {
		return f
	}
	if last := max(f.DueOn, asked.AddDays(days)); f.LateOn > last {
		f.LateOn, f.LateOpen = last, true
	}
	return f
}

// What makes a date that was told worth a correction: people plan by the month,
// and by the part of the interval that they would give away (common practice,
// no source).
const (
	movedLeast = 45 // days
	movedShare = 4  // part of the interval
)

// Moved says whether a date that was told in a notice has swung back so far
// that people would do something else: the same cycle's due_on lies that much
// later, after the range that was told, and is not even coming. told is the forecast as it was told; its stage
// is one that makes notices. Then one correction goes out and a new cycle
// begins.
func Moved(told, now models.Forecast) bool {
	enough := max(movedLeast, now.LeadDays, now.LastOn.DaysTo(now.DueOn)/movedShare)
	return Tells(told.Stage) && told.Machine == now.Machine && told.Item == now.Item && told.Cycle == now.Cycle &&
		!told.DueOn.IsZero() && !now.DueOn.IsZero() && told.DueOn.DaysTo(now.DueOn) > enough && now.DueOn > told.LateOn && !Tells(now.Stage)
}

// leadFrom is the day from which a lead counts: early_on, since the limit may be
// reached then, but no sooner than leaves the lead within the half of the
// interval before due_on.
func leadFrom(f models.Forecast) models.Date {
	half := f.DueOn.AddDays(-f.LastOn.DaysTo(f.DueOn) / leadMost)
	return min(f.DueOn, max(f.EarlyOn, half.AddDays(f.LeadDays)))
}

// comingFrom gives the first day on which a date is coming, if its range is not
// too wide.
func comingFrom(f models.Forecast) models.Date { return leadFrom(f).AddDays(-f.LeadDays) }

// aloneLeast is how many days of a lead are left at least, where it has so many,
// when a date to come is worth a message of its own (common practice, no source).
const aloneLeast = 7

// AloneFrom gives the day on which a date to come is worth a message of its
// own: at half its lead, or a week before the lead's end. Before it goes along
// with others.
func AloneFrom(f models.Forecast) models.Date {
	return leadFrom(f).AddDays(-max(f.LeadDays/2, min(f.LeadDays, aloneLeast)))
}

// joinsMost is how many days before due_on one that may fall due any time is
// told along at most, so that nothing is told half a year off (common practice,
// no source).
const joinsMost = 120

// JoinsFrom gives the first day on which a forecast may be told as coming in a
// message that goes anyway: from so many days before due_on, but never more
// than the lead's part of the interval, or where it may fall due before the
// contact's next turn, in the later two thirds of the interval; none for never.
// One whose range is too wide to make a message goes along so too: it may fall
// due unseen.
func JoinsFrom(f models.Forecast, ahead, turn int) models.Date {
	if f.DueOn.IsZero() {
		return 0
	}
	days := f.LastOn.DaysTo(f.DueOn)
	if f.Reason != models.ReasonSeason {
		ahead = min(ahead, days/leadShare)
	}
	early := max(f.EarlyOn.AddDays(-turn), f.DueOn.AddDays(-min(days*2/leadShare, joinsMost)))
	first := min(f.DueOn.AddDays(-ahead), early)
	if wide(f) {
		return first
	}
	return min(first, comingFrom(f))
}

// MayBeDueFrom gives the day from which an item that is unsure may be due without
// anybody's knowing, and is worth telling as that; none for one that is not, or
// that claims no date. ahead and turn are those of JoinsFrom.
func MayBeDueFrom(f models.Forecast, ahead, turn int) models.Date {
	if f.Stage != models.StageUnsure || f.DueOn.IsZero() {
		return 0
	}
	return max(f.EarlyOn, JoinsFrom(f, ahead, turn))
}
