package inbox

import (
	"time"

	"example.org/roundsman/models"
)

// later gives a day that is counted from the one read at token i: "mañana en
// ocho" a week on, "el lunes en quince" two (common practice, no source),
// "thursday of next week", "el martes de la semana que viene".
func later(ts []token, i int, w when, today models.Date) when {
	j := i + w.number
	if days := idiomDays[at(ts, j+1)]; at(ts, j) == "en" && days > 0 && (w.byWeek || w.on == today || w.on == today.AddDays(1)) && !w.past && !w.vague && unitWords[at(ts, j+2)] == UnitNone {
		w.on, w.plain, w.ago, w.number = w.on.AddDays(days), false, 0, w.number+2
		if at(ts, j+2) == "dias" {
			w.number++
		}
		return w
	}
	if _, ok := weekdays[at(ts, j+1)]; ok && w.vague && dateArticles[at(ts, j)] {
		j++
	}
	if day, ok := weekdays[at(ts, j)]; ok && w.vague && spans[at(ts, i)]+spans[at(ts, i+1)] == 7 && w.on > today && w.on <= today.AddDays(7) {
		return when{on: inWeek(w.on, day), byWeek: true, number: j + 1 - i} // "next week thursday"
	}
	for at(ts, j) == "of" || at(ts, j) == "de" || at(ts, j) == "la" {
		j++
	}
	if next, ok := relativeAt(ts, j, today); ok && w.byWeek && w.plain && next.vague && spans[at(ts, j)]+spans[at(ts, j+1)] == 7 {
		w.on, w.plain, w.ago, w.number = inWeek(next.on, w.on.Weekday()), false, 0, j+next.number-i
	}
	return w
}

// idiomDays count a week and two with both their ends.
var idiomDays = map[string]int{"ocho": 7, "8": 7, "quince": 14, "15": 14}

// inWeek gives the day of the week that begins on a Monday.
func inWeek(monday models.Date, day time.Weekday) models.Date {
	return monday.AddDays((int(day) + 6) % 7)
}

// whole says whether nothing stands right beside a day that belongs to it and
// was not read: a number ("lunes siete", "two mondays"), a count from it ("from",
// "en", "after"), a choice ("or later"), an order ("every", "the other", "first").
// A part of a longer expression is no day.
func (w when) whole(ts []token, i int) bool {
	return !runsOn(ts, i+w.number, w) && !runsUp(ts, i, w)
}

// runsOn says whether a day goes on behind its last token.
func runsOn(ts []token, j int, w when) bool {
	for at(ts, j) == "the" || at(ts, j) == "el" || at(ts, j) == "dia" {
		j++
	}
	if j >= len(ts) || ts[j].used {
		return false
	}
	next := at(ts, j+1)
	switch s := at(ts, j); {
	case ts[j].kind == tokNth || counted(ts, j) && numerals[s].kind != 0 && !hourAt(ts, j):
		return true
	case s == "en":
		return counted(ts, j+1)
	case s == "after" || s == "before":
		return !dayHours[next] && !counted(ts, j+1) && ts[min(j+1, len(ts)-1)].kind != tokClock
	case s == "antes" || s == "despues":
		if k := j + 1; next == "de" {
			if at(ts, k+1) == "las" || at(ts, k+1) == "la" || at(ts, k+1) == "el" {
				k++
			}
			return !dayHours[at(ts, k+1)] && !counted(ts, k+1)
		}
	case s == "or" || s == "o" || s == "u":
		return !dayHours[next] && !counted(ts, j+1) && next != "so"
	case s == "of" || s == "de" || s == "del":
		return next == "la" && (at(ts, j+2) == "otra" || at(ts, j+2) == "siguiente") || next == "next" || next == "this" || next == "the" && spans[at(ts, j+2)] > 0 || counted(ts, j+1) || months[next] != 0 && !w.past
	}
	return dayTails[at(ts, j)]
}

// runsUp says whether a day begins before its first token.
func runsUp(ts []token, i int, w when) bool {
	k := i - 1
	for k >= 0 && (dateArticles[at(ts, k)] && at(ts, k) != "para" && at(ts, k) != "que") {
		if at(ts, k) == "than" {
			return false
		}
		k--
	}
	counts := wordsBefore[at(ts, k)]
	if k < 0 || ts[k].used && !counts {
		return false
	}
	switch s := at(ts, k); {
	case counts:
		return spans[at(ts, k-1)] > 0 && at(ts, k-2) != "any" && at(ts, k-2) != "cualquier" || s == "from"
	case ts[k].kind == tokNth, ordinals[s] > 0 && s != "third":
		return true
	case spans[s] > 0 && s != "day" && s != "dia":
		return w.byWeek && k == i-1 || w.byWeek && at(ts, k-1) == "otra"
	case numerals[s].kind != 0 && numerals[s].kind != 'y' && numerals[s].value > 1:
		return !hourLeads[at(ts, k-1)] && !before(ts, k, 2, clockWords)
	}
	return w.byWeek && dayHeads[at(ts, k)]
}

// counted says whether a number stands at a token, in figures or words.
func counted(ts []token, i int) bool {
	n := numerals[at(ts, i)]
	return i >= 0 && i < len(ts) && (ts[i].kind == tokNumber || n.kind != 0 && n.kind != 'y' && n.value > 0 && at(ts, i) != "un" && at(ts, i) != "una" && at(ts, i) != "one")
}

// hourAt says whether a number at a token is a time of day: "seven am", "siete
// de la mañana", "nine thirty".
func hourAt(ts []token, i int) bool {
	one, two := at(ts, i+1), at(ts, i+2)
	return hourTails[one] || one == "de" && two == "la" || one == "y" && (two == "media" || two == "cuarto") || one == "en" && two == "punto" || one == "in" && two == "the"
}

var (
	hourTails = wordSet("am pm oclock sharp thirty fifteen ish")
	hourLeads = wordSet("at las la around about like como by a eso sobre")
	// dayHours are parts of a day that may follow an "after", a "before" or an "or".
	dayHours = wordSet("work lunch noon dinner supper breakfast church school chores feeding dark midnight morning afternoon evening trabajo trabajar chamba jale comer comida almuerzo almorzar misa mediodia desayuno escuela tarde noche manana earlier around about at like sooner")
	// wordsBefore a day count from it where a span stands before them: "the day after monday".
	wordsBefore = wordSet("after before despues antes from")
	// dayTails behind a day and dayHeads before a day of the week make another day of it.
	dayTails = wordSet("from week next siguiente otra otro through thru hasta plus")
	dayHeads = wordSet("every each al cada otro otra other following second third segundo tercer primer ultimo todos alternate")
)
