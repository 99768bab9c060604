package models

import (
	"errors"
	"math"
	"regexp"
	"strings"
	"unicode"
)

// ErrOtherUnit says that a value was given in a unit that the meter does not
// show.
var ErrOtherUnit = errors.New("is in a unit that the meter does not show")

// MeterValue is one value of a meter as somebody gave it.
type MeterValue struct {
	Number
	Width Number // how far the meter may have stood on either side; unknown: it was read exactly
}

// How wide a guess is taken to be that names no width of its own (common
// practice, no source).
const (
	guessShare = 0.05 // of the value
	guessMiles = 50.0 // at least, in miles
	guessHours = 5.0
)

// Guessed gives an approximate value of a meter with the width that is usual for
// one. metric says that the odometer shows kilometers.
func Guessed(f float64, meter Meter, metric bool) MeterValue {
	least := guessHours
	if meter == Odometer {
		if least = guessMiles; metric {
			least = math.Round(guessMiles * KilometersPerMile)
		}
	}
	return MeterValue{Num(f), Num(math.Max(least, math.Round(f*guessShare)))}
}

// The words around a figure by which people say that it is a guess, in English
// and Spanish.
var (
	hedgeBefore = regexp.MustCompile(`^(?:(?:it'?s|at|just|maybe|probably)\s+)?(?:~|≈|about|around|approx\.?|approximately|roughly|some|circa|ca\.?|c\.|unos|unas|como|alrededor de|cerca de|aproximadamente|aprox\.?|más o menos|mas o menos)\s*`)
	hedgeAfter  = regexp.MustCompile(`(?:-?\s*ish|\s+or so|\s+more or less|\s+o así|\s+más o menos|\s+mas o menos|\s*\?)$`)
	unitAfter   = regexp.MustCompile(`\s*(mi|miles?|millas?|km|kms|kilometers?|kilometres?|kil[oó]metros?|h|hrs?|hours?|horas?)\.?$`)
	widthAfter  = regexp.MustCompile(`^(.*\S)\s*(?:±|\+/-|\+-|\+\s*/\s*-)\s*(\S.*)$`)
	between     = regexp.MustCompile(`^(\d[\d.,' ]*?)\s*(?:-|–|to|a|hasta)\s*(\d[\d.,' ]*)$`)
)

// ParseMeterValue reads what somebody typed for a meter: a figure with or
// without the marks of thousands and with a decimal point or comma ("6,120.4",
// "6 120,4"), with or without the meter's own unit, or a guess ("about 1500",
// "~1500", "1500 or so", "1500 +-100", "1400-1600"). "" is not known. metric
// says that the odometer shows kilometers. A unit that the meter does not show
// is ErrOtherUnit; the other errors are those of ParseNumber.
func ParseMeterValue(text string, meter Meter, metric bool) (MeterValue, error) {
	s := strings.ToLower(strings.Join(strings.Fields(text), " "))
	if s == "" {
		return MeterValue{}, nil
	}
	rest := hedgeBefore.ReplaceAllString(s, "")
	guess := rest != s
	cut := func(re *regexp.Regexp) bool {
		short := re.ReplaceAllString(rest, "")
		found := short != rest
		rest = short
		return found
	}
	guess = cut(hedgeAfter) || guess
	if m := unitAfter.FindStringSubmatch(rest); m != nil {
		if !shows(m[1], meter, metric) {
			return MeterValue{}, ErrOtherUnit
		}
		cut(unitAfter)
		guess = cut(hedgeAfter) || guess
	}
	if m := widthAfter.FindStringSubmatch(rest); m != nil {
		return ranged(m[1], m[2], func(v, w float64) (float64, float64) { return v, w })
	}
	if m := between.FindStringSubmatch(rest); m != nil {
		return ranged(m[1], m[2], func(low, high float64) (float64, float64) { return (low + high) / 2, (high - low) / 2 })
	}
	n, err := ParseTyped(rest)
	if err == nil && !n.Known {
		err = ErrNotANumber
	}
	if err != nil || !guess {
		return MeterValue{Number: n}, err
	}
	return Guessed(n.F, meter, metric), nil
}

// ranged makes a value with a width from two figures.
func ranged(a, b string, of func(a, b float64) (value, width float64)) (MeterValue, error) {
	x, err := ParseTyped(a)
	if err != nil {
		return MeterValue{}, err
	}
	y, err := ParseTyped(b)
	if err != nil {
		return MeterValue{}, err
	}
	v, w := of(x.F, y.F)
	if !x.Known || !y.Known || w < 0 {
		return MeterValue{}, ErrNotANumber
	}
	if w == 0 {
		return MeterValue{Number: Num(v)}, nil
	}
	return MeterValue{Num(v), Num(w)}, nil
}

// shows says whether a meter shows a unit.
func shows(unit string, meter Meter, metric bool) bool {
	if unit[0] == 'h' {
		return meter == HourMeter
	}
	return meter == Odometer && (unit[0] == 'k') == metric
}

// The forms of a typed figure besides the plain one: marks between the
// thousands, the same throughout, with a decimal point; and a decimal comma of
// one or two digits.
var (
	withMarks = regexp.MustCompile(`^\d{1,3}(?:(?:,\d{3})+|(?: \d{3})+|(?:'\d{3})+)(?:\.\d+)?$`)
	withComma = regexp.MustCompile(`^(?:\d*|\d{1,3}(?:(?:\.\d{3})+|(?: \d{3})+|(?:'\d{3})+)),\d{1,2}$`)
)

// ParseTyped reads a number as people type it: as ParseNumber does, and with
// marks between the thousands (comma, blank, apostrophe; point before a decimal
// comma) or a decimal comma of one or two digits. "6,120" is 6120.
func ParseTyped(s string) (Number, error) {
	s = strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) {
			return ' '
		}
		return r
	}, strings.TrimSpace(s))
	switch {
	case withMarks.MatchString(s):
		s = strings.NewReplacer(",", "", " ", "", "'", "").Replace(s)
	case withComma.MatchString(s):
		s = strings.NewReplacer(".", "", " ", "", "'", "", ",", ".").Replace(s)
	}
	return ParseNumber(s)
}
