package models

import "time"

// Rhythm is how often a contact wants to hear of what can wait; "" is as
// seldom as the machines allow. What is late, or was asked for, keeps no
// rhythm.
type Rhythm string

// Rhythms besides the days of the week, which are named by their English
// names in small letters ("monday").
const (
	RhythmWeekly  Rhythm = "weekly"  // a week after the last message
	RhythmMonthly Rhythm = "monthly" // from the first of each month
)

// rhythmDays are the days of the week, Sunday the first.
var rhythmDays = [...]Rhythm{"sunday", "monday", "tuesday", "wednesday", "thursday", "friday", "saturday"}

// Rhythms lists every rhythm that can be chosen.
func Rhythms() []Rhythm { return append([]Rhythm{RhythmWeekly, RhythmMonthly}, rhythmDays[:]...) }

// In gives a rhythm's words in a language (BCP 47).
func (r Rhythm) In(language string) string {
	return rhythmWords[r].In(language)
}

var rhythmWords = map[Rhythm]Phrase{
	RhythmWeekly:  {EN: "once a week", ES: "una vez por semana"},
	RhythmMonthly: {EN: "at the first of the month", ES: "a primeros de mes"},
	"sunday":      {EN: "on Sundays", ES: "los domingos"},
	"monday":      {EN: "on Mondays", ES: "los lunes"},
	"tuesday":     {EN: "on Tuesdays", ES: "los martes"},
	"wednesday":   {EN: "on Wednesdays", ES: "los miércoles"},
	"thursday":    {EN: "on Thursdays", ES: "los jueves"},
	"friday":      {EN: "on Fridays", ES: "los viernes"},
	"saturday":    {EN: "on Saturdays", ES: "los sábados"},
}

// Next gives the first day from a day on which a digest may come, when the
// last message came on another (none: never). ok is false where there is no
// rhythm.
func (r Rhythm) Next(from, last Date) (on Date, ok bool) {
	switch r {
	case "":
		return from, false
	case RhythmWeekly:
		return later(from, last, 7), true
	case RhythmMonthly:
		if !last.IsZero() {
			y, m, _ := last.Civil()
			from = max(from, NewDate(y, m+1, 1))
		}
		return later(from, last, 7), true
	}
	for i, day := range rhythmDays {
		if r == day {
			return later(from, last, digestGap).next(time.Weekday(i)), true
		}
	}
	return from, false
}

// digestGap is how many days a weekly digest keeps from a message that could
// not wait for it.
const digestGap = 4

// later gives the first day from a day on that lies so many days after the
// last; a last of none bars nothing.
func later(from, last Date, days int) Date {
	if last.IsZero() {
		return from
	}
	return max(from, last.AddDays(days))
}

// next gives the first day from d on that is a day of the week.
func (d Date) next(day time.Weekday) Date {
	return d.AddDays((int(day) - int(d.Weekday()) + 7) % 7)
}
