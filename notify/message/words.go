package message

import (
	"math"
	"strconv"
	"strings"

	"example.org/roundsman/models"
)

// words is a language: all that is more than a template can do.
type words interface {
	date(models.Date) string                        // June 3, 2026
	day(d models.Date, year int) string             // Jun 3, with the year where it is another
	greeting(name string) string                    // "" is nobody by name
	stage(models.Stage) string                      // one or two words for a label
	when(models.Notice) string                      // a sentence on the date and its range
	shortWhen(n models.Notice, y int) string        // the same in a few words
	why(left, mark string, over bool) string        // a sentence on what drives it
	byCalendar(n models.Notice) string              // the same where months or a season do
	weekday(models.Date) string                     // Tuesday, June 9, 2026
	unrecorded(items int) (state, line string)      // of the first inspection
	asked(models.Notice) (name, state, line string) // notices that are not about an item
	last(n models.Notice, since bool) string        // when it was last done
	fitted(on models.Date) string                   // since when a part is in the machine; none: not known
	unit(models.Driver) string                      // mi, km, h
	list(items []string, more int) string           // a, b and 2 more
	subject(Page) string                            // of a mail with notices
	stopHint() string                               // the end of the first text to a number
	pageHint() string                               // before the address of the receiver's own page
	coldHint() string                               // the shortest caution on the cooling system
	about(m models.Machine) string                  // what a machine is, besides its tag
	label(m models.Machine) string                  // its tag, in words that stand in a sentence
}

// wordsOf gives the words of a language: Spanish, else English.
func wordsOf(language string) words {
	if models.Spanish(language) {
		return spanish{}
	}
	return english{}
}

// languageOf gives the language that messages are written in for a BCP 47
// tag: "es" or "en".
func languageOf(tag string) string {
	if models.Spanish(tag) {
		return "es"
	}
	return "en"
}

// whole writes a figure rounded to a whole number with commas between the
// thousands, as both languages do in the United States.
func whole(f float64) string {
	return models.Grouped(math.Abs(math.Round(f)))
}

// amount writes a distance or hours with its unit, rounded to what a reader
// cares for: whole tens above a hundred, as the figure is an estimate.
func amount(f float64, unit string) string {
	f = math.Abs(f)
	if f >= 100 {
		f = math.Round(f/10) * 10
	}
	return whole(f) + " " + unit
}

// driven gives what is left until the limit that is reached first, in its
// words, the meter's mark at which it is due, and whether it is passed; ok is
// false where no meter drives it.
func driven(n models.Notice, s Shop, w words) (left, mark string, over, ok bool) {
	var rest, at models.Number
	switch n.Driver {
	case models.DriverMiles:
		rest, at = n.Remaining.Miles, n.AtMiles
	case models.DriverKM:
		rest, at = n.Remaining.KM, n.AtMiles
	case models.DriverHours:
		rest, at = n.Remaining.Hours, n.AtHours
	}
	if !rest.Known {
		return "", "", false, false
	}
	unit := w.unit(n.Driver)
	left = amount(rest.F, unit) + inOther(rest.F, n.Driver, s, w)
	if at.Known {
		mark = whole(at.F) + " " + unit
	}
	return left, mark, rest.F < 0, true
}

// inOther gives a distance in the shop's own unit in parentheses, where that
// is another than the odometer's.
func inOther(f float64, d models.Driver, s Shop, w words) string {
	switch {
	case d == models.DriverMiles && s.Distance == models.DriverKM:
		return " (" + amount(f*models.KilometersPerMile, w.unit(models.DriverKM)) + ")"
	case d == models.DriverKM && s.Distance == models.DriverMiles:
		return " (" + amount(f/models.KilometersPerMile, w.unit(models.DriverMiles)) + ")"
	}
	return ""
}

// widest is how many days after its likely date a late one is still worth
// telling.
const widest = 400

// ranged says whether the dates of a notice are a range worth telling.
func ranged(n models.Notice) bool {
	return !n.EarlyOn.IsZero() && !n.LateOn.IsZero() && n.EarlyOn < n.LateOn && n.DueOn.DaysTo(n.LateOn) <= widest
}

// sentence makes the first letter large.
func sentence(s string) string {
	for i, r := range s {
		return strings.ToUpper(string(r)) + s[i+len(string(r)):]
	}
	return s
}

// labelled gives a machine's tag, after a word for it where the tag is a mere
// number, which reads like a count in a sentence.
func labelled(m models.Machine, unit string) string {
	tag := m.Label()
	if tag != "" && strings.Trim(tag, "0123456789") == "" {
		return unit + " " + tag
	}
	return tag
}

// kindWord writes a kind of machine as people do: UTV, tractor.
func kindWord(kind string) string {
	switch kind {
	case "utv", "atv":
		return strings.ToUpper(kind)
	}
	return kind
}

// machineName gives make, model and year as people say them, "" for none.
func machineName(m models.Machine) string {
	var parts []string
	if m.Year > 0 {
		parts = append(parts, strconv.Itoa(m.Year))
	}
	for _, s := range []string{m.Make, m.Model} {
		if s != "" {
			parts = append(parts, s)
		}
	}
	return strings.Join(parts, " ")
}
