package models

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// Grouped writes a figure in its shortest decimal form with commas between the
// thousands, as English and the Spanish of Mexico and the United States do.
func Grouped[N ~int | ~int64 | ~float64](n N) string {
	if n == 0 {
		return "0" // not "-0"
	}
	digits := strconv.FormatFloat(math.Abs(float64(n)), 'f', -1, 64)
	whole, fraction, has := strings.Cut(digits, ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if n < 0 {
		whole = "-" + whole
	}
	if has {
		return whole + "." + fraction
	}
	return whole
}

// Listed joins words as in "a, b or c": last is the word before the last one.
func Listed(words []string, last string) string {
	n := len(words)
	if n < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:n-1], ", ") + " " + last + " " + words[n-1]
}

var monthsInSpanish = [...]string{"ene", "feb", "mar", "abr", "may", "jun", "jul", "ago", "sep", "oct", "nov", "dic"}

// ShortMonth gives a month's short name in a language: "Jan", "ene".
func ShortMonth(m time.Month, language string) string {
	if Spanish(language) {
		return monthsInSpanish[m-1]
	}
	return m.String()[:3]
}

// ShortDay writes a date short in a language, with its year or without: "Jan
// 2, 2027", "2 ene".
func ShortDay(d Date, language string, year bool) string {
	y, m, day := d.Civil()
	switch month := ShortMonth(m, language); {
	case Spanish(language) && year:
		return fmt.Sprintf("%d %s %d", day, month, y)
	case Spanish(language):
		return fmt.Sprintf("%d %s", day, month)
	case year:
		return fmt.Sprintf("%s %d, %d", month, day, y)
	default:
		return fmt.Sprintf("%s %d", month, day)
	}
}

var weekdaysInSpanish = [...]string{"domingo", "lunes", "martes", "miércoles", "jueves", "viernes", "sábado"}

// Weekday gives the day of the week in a language: "Tuesday", "martes".
func Weekday(d Date, language string) string {
	if Spanish(language) {
		return weekdaysInSpanish[d.Weekday()]
	}
	return d.Weekday().String()
}

// ShortWeekday gives it short: "Tue", "mar".
func ShortWeekday(d Date, language string) string {
	return string([]rune(Weekday(d, language))[:3])
}

// NamedDay writes a date short with its day of the week: "Tue, Jan 2", "mar 2 ene".
func NamedDay(d Date, language string) string {
	return ShortWeekday(d, language) + Phrase{EN: ", ", ES: " "}.In(language) + ShortDay(d, language, false)
}

// HoursOf writes minutes as people say them: "45 min", "1.4 h", "2 h".
func HoursOf(minutes int) string {
	if minutes < 60 {
		return fmt.Sprintf("%d min", minutes)
	}
	return strings.TrimSuffix(fmt.Sprintf("%.1f", float64(minutes)/60), ".0") + " h"
}

// Wrap breaks a text into lines of at most width characters, each at a blank
// where there is one; the first begins with first and every other with rest.
func Wrap(first, rest, text string, width int) []string {
	var out []string
	line, n := first, len([]rune(first))
	empty := true
	for _, w := range strings.Fields(text) {
		r := []rune(w)
		if !empty && n+1+len(r) > width {
			out = append(out, line)
			line, n, empty = rest, len([]rune(rest)), true
		}
		for room := width - n; room > 0 && len(r) > room; room = width - n { // a word longer than a line
			out = append(out, line+string(r[:room]))
			r = r[room:]
			line, n = rest, len([]rune(rest))
		}
		if !empty {
			line += " "
			n++
		}
		line += string(r)
		n += len(r)
		empty = false
	}
	return append(out, strings.TrimRight(line, " "))
}

// Nearest gives the one of some words that is the fewest slips away from a
// word, "" where none is within most of them and half of the word's length. A
// slip is a character too many, too few or wrong.
func Nearest(word string, among []string, most int) string {
	best, least := "", min(most, len(word)/2)+1
	for _, w := range among {
		if d := distance(word, w); d < least {
			best, least = w, d
		}
	}
	return best
}

// Meant gives what to do about a name that nobody knows: where one of those that
// are known is nearly it, that one is named first.
func Meant(word string, known []string, remedy string) string {
	for _, k := range known {
		if Nearest(strings.ToLower(word), []string{strings.ToLower(k)}, mostSlips) != "" {
			return "if you mean " + k + ", write that; else " + remedy
		}
	}
	return remedy
}

// distance is the number of characters to insert, drop or change to turn one
// word into another (Levenshtein, two rows).
func distance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			cost := diagonal
			if a[i] != b[j] {
				cost = 1 + min(diagonal, row[j], row[j+1])
			}
			diagonal, row[j+1] = row[j+1], cost
		}
	}
	return row[len(b)]
}
