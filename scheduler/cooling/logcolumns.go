package cooling

import (
	"bytes"
	"slices"
	"strings"
	"unicode"

	"example.org/roundsman/models"
)

// logColumns says which columns of a log are read.
type logColumns struct {
	count, seconds, temp int
	unitS                float64 // seconds in one of the time column's units
	fahrenheit           bool
	ignored              []string
}

const headerRemedy = "the header is seconds,temp_c or seconds,temp_f"

// partedBy tells by the header row which sign parts the fields: the one of
// tab, semicolon and comma that it has, in this order.
func partedBy(data []byte) rune {
	head, _, _ := bytes.Cut(bytes.TrimLeft(data, "\r\n"), []byte("\n"))
	for _, sign := range "\t;" {
		if bytes.ContainsRune(head, sign) {
			return sign
		}
	}
	return ','
}

// columnsOf finds the time and the coolant temperature among a header's
// columns. Names may carry their unit; of several temperatures the one named
// for the coolant is meant.
func columnsOf(fields []string) (logColumns, []models.Fault) {
	c := logColumns{count: len(fields), seconds: -1, temp: -1, unitS: 1}
	var faults []models.Fault
	fault := func(field, value, problem, remedy string) {
		faults = append(faults, models.Fault{Field: field, Value: value, Problem: problem, Remedy: remedy})
	}
	var temps []int // of the best rank
	best := 0
	for i, f := range fields {
		words := headerWords(f)
		if unit, ok := timeUnit(words); ok {
			if c.seconds >= 0 {
				fault(columnSeconds, strings.TrimSpace(f), "is a second column of time", "keep one")
			}
			c.seconds, c.unitS = i, unit
			continue
		}
		switch rank := tempRank(words); {
		case rank == 0:
		case rank > best:
			best, temps = rank, []int{i}
		case rank == best:
			temps = append(temps, i)
		}
	}
	if c.seconds < 0 {
		fault(columnSeconds, "", "column is missing", headerRemedy)
	}
	switch len(temps) {
	case 0:
		fault(columnC, "", "or temp_f column is missing", headerRemedy)
	case 1:
		c.temp = temps[0]
		var known bool
		if c.fahrenheit, known = degreesOf(headerWords(fields[c.temp])); !known {
			fault("column", strings.TrimSpace(fields[c.temp]), "does not say whether it is in °C or °F", "name it temp_c or temp_f")
		}
	default:
		fault("column", strings.TrimSpace(fields[temps[1]]), "is a second temperature column", "keep one, named temp_c or temp_f")
	}
	for i, f := range fields {
		if i != c.seconds && i != c.temp {
			c.ignored = append(c.ignored, strings.TrimSpace(f))
		}
	}
	return c, faults
}

// headerWords gives the words of a column's name, small.
func headerWords(name string) []string {
	return strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return !unicode.IsLetter(r) })
}

// timeUnit says whether words name the time of a row, and its unit in seconds.
func timeUnit(words []string) (float64, bool) {
	if len(words) == 0 || len(words) > 3 {
		return 0, false
	}
	units := map[string]float64{"seconds": 1, "second": 1, "secs": 1, "sec": 1, "s": 1,
		"milliseconds": 0.001, "millis": 0.001, "ms": 0.001, "minutes": 60, "min": 60}
	unit, named := 1.0, false
	for _, w := range words {
		switch u, ok := units[w]; {
		case ok:
			unit, named = u, true
		case w == "time" || w == "elapsed":
			named = true
		default:
			return 0, false
		}
	}
	return unit, named
}

// tempRank says how surely words name the coolant's temperature; 0 not at all.
func tempRank(words []string) int {
	has := func(w ...string) bool {
		return slices.ContainsFunc(w, func(v string) bool { return slices.Contains(words, v) })
	}
	_, unit := degreesOf(words)
	switch {
	case has("coolant", "ect"):
		return 3
	case len(words) == 2 && has("temp") && unit:
		return 2
	case has("temp", "temperature") && has("engine", "water"):
		return 2
	case len(words) <= 2 && has("temp", "temperature"):
		return 1
	}
	return 0
}

// degreesOf tells Fahrenheit from Celsius by a column's words.
func degreesOf(words []string) (fahrenheit, known bool) {
	for _, w := range words {
		switch w {
		case "f", "fahrenheit", "degf":
			return true, true
		case "c", "celsius", "degc":
			return false, true
		}
	}
	return false, false
}
