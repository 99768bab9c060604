package message

import (
	"math"
	"strconv"
	"strings"

	"example.org/roundsman/models"
)

// unit gives the sign of a unit, the same in both languages.
func unit(d models.Driver) string {
	switch d {
	case models.DriverKM:
		return "km"
	case models.DriverHours:
		return "h"
	}
	return "mi"
}

// whole writes a figure rounded to a whole number with commas between the
// thousands, as both languages do in the United States.
func whole(f float64) string {
	return models.Grouped(math.Abs(math.Round(f)))
}

// amount writes a distance or hours with its unit, rounded to what a reader
// cares for: whole tens above a hundred, as the figure is an estimate; "" for
// less than a whole one.
func amount(f float64, unit string) string {
	f = math.Abs(f)
	if f >= 100 {
		f = math.Round(f/10) * 10
	}
	if math.Round(f) == 0 {
		return ""
	}
	return whole(f) + " " + unit
}

// driven gives what is left until the limit that is reached first, in its
// words, the meter's mark at which it is due, and whether it is passed; ok is
// false where no meter drives it.
func driven(n models.Notice, s Shop) (left, mark string, over, ok bool) {
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
	if left = amount(rest.F, unit(n.Driver)); left != "" {
		left += inOther(rest.F, n.Driver, s)
	}
	if at.Known {
		mark = whole(at.F) + " " + unit(n.Driver)
	}
	return left, mark, rest.F < 0, true
}

// inOther gives a distance in the shop's own unit in parentheses, where that
// is another than the odometer's.
func inOther(f float64, d models.Driver, s Shop) string {
	other := ""
	switch {
	case d == models.DriverMiles && s.Distance == models.DriverKM:
		other = amount(f*models.KilometersPerMile, unit(models.DriverKM))
	case d == models.DriverKM && s.Distance == models.DriverMiles:
		other = amount(f/models.KilometersPerMile, unit(models.DriverMiles))
	}
	if other == "" {
		return ""
	}
	return " (" + other + ")"
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
	mark := ""
	if rest, ok := strings.CutPrefix(s, "¿"); ok {
		mark, s = "¿", rest
	}
	for i, r := range s {
		return mark + strings.ToUpper(string(r)) + s[i+len(string(r)):]
	}
	return s
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
