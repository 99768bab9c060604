package inbox

import (
	"time"

	"example.org/roundsman/models"
)

// relativeAt reads "yesterday", "3 days ago", "next month", "in two weeks".
func relativeAt(ts []token, i int, today models.Date) (when, bool) {
	one, two, three := at(ts, i), at(ts, i+1), at(ts, i+2)
	next := func() models.Date { // the first of the next month
		y, m, _ := today.Civil()
		return models.NewDate(y, m+1, 1)
	}
	saturday := today.AddDays(1 + (int(time.Saturday)-1-int(today.Weekday())+7)%7)
	monday := today.AddDays(1 + (7-int(today.Weekday()))%7)
	switch {
	case one == "today" || one == "hoy" || one == "tonight" || one == "now" || one == "ahora":
		return when{on: today, number: 1}, true
	case one == "this" && (two == "morning" || two == "afternoon" || two == "evening") || one == "esta" && (two == "manana" || two == "tarde"):
		return when{on: today, number: 2}, true
	case one == "yesterday" || one == "ayer":
		return when{on: today.AddDays(-1), past: true, number: 1}, true
	case one == "anteayer":
		return when{on: today.AddDays(-2), past: true, number: 1}, true
	case one == "last" && two == "night":
		return when{on: today.AddDays(-1), past: true, number: 2}, true
	case one == "anoche":
		return when{on: today.AddDays(-1), past: true, number: 1}, true
	case one == "pasado" && two == "manana":
		return when{on: today.AddDays(2), number: 2}, true
	case one == "pasado" && before(ts, i, 3, tomorrowWords): // "mañana no, pasado"
		return when{on: today.AddDays(2), number: 1}, true
	case one == "day" && two == "after" && three == "tomorrow":
		return when{on: today.AddDays(2), number: 3}, true
	case one == "manana" && (at(ts, i-1) == "la" || at(ts, i-1) == "esta"):
		return when{}, false // the morning
	case one == "week" && two == "after" && three == "next":
		return when{on: monday.AddDays(7), vague: true, number: 3}, true
	case one == "tomorrow" || one == "tmrw" || one == "tomorow" || one == "manana":
		return when{on: today.AddDays(1), number: 1}, true
	case one == "last" && two == "weekend":
		return when{on: saturday.AddDays(-7), past: true, rough: true, number: 2}, true
	case (one == "this" || one == "next" || one == "the" || one == "el" || one == "este") && (two == "weekend" || two == "finde"):
		return when{on: saturday, vague: true, number: 2}, true
	case one == "fin" && two == "de" && three == "semana":
		if at(ts, i+3) == "pasado" {
			return when{on: saturday.AddDays(-7), past: true, rough: true, number: 4}, true
		}
		return when{on: saturday, vague: true, number: 3}, true
	case one == "last" && two == "week", one == "semana" && two == "pasada":
		return when{on: today.AddDays(-7), past: true, rough: true, number: 2}, true
	case one == "last" && two == "month", one == "mes" && two == "pasado":
		return when{on: today.AddDays(-30), past: true, rough: true, number: 2}, true
	case one == "next" && two == "week", one == "proxima" && two == "semana", one == "semana" && two == "proxima":
		return when{on: monday, vague: true, number: 2}, true
	case one == "semana" && two == "que" && three == "viene":
		return when{on: monday, vague: true, number: 3}, true
	case one == "next" && two == "month", one == "proximo" && two == "mes", one == "mes" && two == "proximo":
		return when{on: next(), vague: true, number: 2}, true
	case one == "mes" && two == "que" && three == "viene":
		return when{on: next(), vague: true, number: 3}, true
	case one == "next" && two == "year", one == "proximo" && two == "ano":
		return when{on: models.NewDate(today.Year()+1, 1, 1), vague: true, number: 2}, true
	}
	return countedAt(ts, i, today)
}

// countedAt reads "3 days ago", "a couple of weeks ago", "hace 3 dias",
// "in two weeks", "en dos semanas", "dentro de un mes".
func countedAt(ts []token, i int, today models.Date) (when, bool) {
	j, ahead, back := i, false, false
	switch at(ts, j) {
	case "in", "en", "within":
		ahead, j = true, j+1
	case "dentro":
		ahead, j = true, j+2
	case "hace":
		back, j = true, j+1
	}
	if at(ts, j) == "a" && at(ts, j+1) == "couple" {
		j++
	}
	n := count(ts, j)
	switch {
	case n == 0 && spans[at(ts, j)] == 7 && at(ts, j+1) == "from" && !ahead && !back: // "week from tomorrow"
		n = 1
	case n == 0:
		return when{}, false
	default:
		j++
	}
	if at(ts, j) == "of" {
		j++
	}
	unit := spans[at(ts, j)]
	if unit == 0 {
		return when{}, false
	}
	j++
	if at(ts, j) == "ago" && !ahead {
		back, j = true, j+1
	}
	if at(ts, j) == "atras" && !ahead {
		back, j = true, j+1
	}
	if at(ts, j) == "from" && (at(ts, j+1) == "today" || at(ts, j+1) == "now") {
		return when{on: today.AddDays(n * unit), number: j + 2 - i}, true
	}
	if at(ts, j) == "from" && !ahead && !back { // "a week from tomorrow"
		w, ok := relativeAt(ts, j+1, today)
		if !ok {
			w, ok = calendarAt(ts, j+1, today)
		}
		if ok && w.on > today && (unit == 7 || !w.byWeek) {
			return when{on: w.on.AddDays(n * unit), vague: w.vague, number: j + 1 - i + w.number}, true
		}
	}
	switch {
	case back:
		return when{on: today.AddDays(-n * unit), past: true, rough: unit > 1, number: j - i}, true
	case ahead || i == 0 && j == len(ts): // "2 weeks" and nothing else
		return when{on: today.AddDays(n * unit), vague: true, number: j - i}, true
	}
	return when{}, false
}

// tomorrowWords before a bare "pasado" make it the day after tomorrow.
var tomorrowWords = wordSet("manana tomorrow")
