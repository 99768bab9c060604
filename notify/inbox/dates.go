package inbox

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"example.org/roundsman/models"
)

// when is a day that a text names.
type when struct {
	on     models.Date
	rough  bool // a week or month rather than a day
	past   bool
	vague  bool        // a period to come, not a day: "next month"
	plain  bool        // a bare day of the week or month, which may be past or to come
	byWeek bool        // it is named by its day of the week
	not    bool        // the day is refused: "not friday"
	till   bool        // it is an end: "until friday"
	apart  bool        // all days but that: "any day but friday"
	ago    models.Date // of a plain day or a month: when it was last
	number int         // tokens read
	clash  bool        // a day of the week and a date that do not go together, or a bound that is no day
}

var weekdays = map[string]time.Weekday{
	"monday": 1, "mon": 1, "lunes": 1, "tuesday": 2, "tue": 2, "tues": 2, "martes": 2,
	"wednesday": 3, "wed": 3, "weds": 3, "miercoles": 3, "thursday": 4, "thu": 4, "thur": 4, "thurs": 4, "jueves": 4,
	"friday": 5, "fri": 5, "viernes": 5, "saturday": 6, "sat": 6, "sabado": 6, "sunday": 0, "sun": 0, "domingo": 0,
}

var months = map[string]time.Month{
	"january": 1, "jan": 1, "enero": 1, "february": 2, "feb": 2, "febrero": 2, "march": 3, "mar": 3, "marzo": 3,
	"april": 4, "apr": 4, "abril": 4, "may": 5, "mayo": 5, "june": 6, "jun": 6, "junio": 6, "july": 7, "jul": 7, "julio": 7,
	"august": 8, "aug": 8, "agosto": 8, "september": 9, "sep": 9, "sept": 9, "septiembre": 9, "october": 10, "oct": 10, "octubre": 10,
	"november": 11, "nov": 11, "noviembre": 11, "december": 12, "dec": 12, "diciembre": 12,
}

var smallNumbers = map[string]int{
	"a": 1, "an": 1, "one": 1, "un": 1, "una": 1, "two": 2, "dos": 2, "couple": 2, "three": 3, "tres": 3, "four": 4, "cuatro": 4,
	"five": 5, "cinco": 5, "six": 6, "seis": 6, "seven": 7, "siete": 7, "eight": 8, "ocho": 8, "nine": 9, "nueve": 9, "ten": 10, "diez": 10,
}

var spans = map[string]int{ // days
	"day": 1, "days": 1, "dia": 1, "dias": 1, "week": 7, "weeks": 7, "wk": 7, "wks": 7, "semana": 7, "semanas": 7,
	"month": 30, "months": 30, "mes": 30, "meses": 30,
}

// parseDate reads 10/15, 10/15/26, 10-15-2026 (month first, as in the United
// States) and 2026-10-15; the year is 0 where none is given.
func parseDate(s string) (d [3]int, ok bool) {
	parts := strings.FieldsFunc(s, func(r rune) bool { return r == '/' || r == '-' })
	if len(parts) < 2 || len(parts) > 3 || strings.ContainsAny(s, ".,:") {
		return d, false
	}
	var n []int
	for _, p := range parts {
		v, err := strconv.Atoi(p)
		if err != nil || len(p) > 4 {
			return d, false
		}
		n = append(n, v)
	}
	switch {
	case len(n) == 3 && len(parts[0]) == 4:
		d = [3]int{n[0], n[1], n[2]}
	case len(n) == 3:
		d = [3]int{n[2], n[0], n[1]}
	default:
		d = [3]int{0, n[0], n[1]}
	}
	if d[0] > 0 && d[0] < 100 {
		d[0] += 2000
	}
	return d, d[1] >= 1 && d[1] <= 12 && d[2] >= 1 && d[2] <= 31 && (d[0] == 0 || d[0] >= 2000 && d[0] < 2200)
}

// dayIn gives a day of a month in the year nearest to today; none where the
// month has no such day.
func dayIn(today models.Date, year int, month time.Month, day int) models.Date {
	if year > 0 {
		return exact(year, month, day)
	}
	best := models.Date(0)
	for y := today.Year() - 1; y <= today.Year()+1; y++ {
		d := exact(y, month, day)
		if d != 0 && (best == 0 || abs(today.DaysTo(d)) < abs(today.DaysTo(best))) {
			best = d
		}
	}
	return best
}

// exact gives a date, 0 where the month has no such day.
func exact(year int, month time.Month, day int) models.Date {
	d := models.NewDate(year, month, day)
	if d.Month() != month {
		return 0
	}
	return d
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}

// at gives the text of a token, "" beyond the end and for signs.
func at(ts []token, i int) string {
	if i < 0 || i >= len(ts) || ts[i].kind != tokWord && ts[i].kind != tokNumber {
		return ""
	}
	return ts[i].text
}

// count reads a small number at token i, 0 for none.
func count(ts []token, i int) int {
	if n, ok := smallNumbers[at(ts, i)]; ok {
		return n
	}
	if i >= 0 && i < len(ts) && ts[i].kind == tokNumber && ts[i].vals[0] >= 1 && ts[i].vals[0] <= 60 {
		return int(ts[i].vals[0])
	}
	return 0
}

// dateAt reads a day that begins at token i.
func dateAt(ts []token, i int, a Asked) (when, bool) {
	today := a.Today
	w, ok := relativeAt(ts, i, today)
	if !ok {
		if w, ok = calendarAt(ts, i, today); !ok {
			return when{}, false
		}
		w.past = w.past || !w.plain && w.on < today
	}
	w = a.offered(ts, i, w)
	if w = together(ts, i, w, a); w.number == 0 {
		return when{}, false
	}
	k := i - 1
	for dateArticles[at(ts, k)] {
		k--
	}
	switch before := at(ts, k); {
	case (before == "before" || before == "antes" || before == "earlier" || before == "sooner") && (negators[at(ts, k-1)] || negators[at(ts, k-2)]):
		w.vague = w.vague || w.on > today // not before that day, which is no appointment
		for _, j := range []int{k, k - 1, k - 2} {
			if j >= 0 && (j == k || negators[at(ts, j)]) {
				ts[j].used = true
			}
		}
	case before == "except" || before == "but" || before == "menos" || before == "salvo" || before == "excepto":
		w.not, w.apart = true, true
	case before == "of" && at(ts, k-1) == "week", before == "semana" && !w.byWeek: // "the week of the 14th"
		w.vague = w.on > today
	case before == "not" || before == "no":
		w.not, ts[k].used = true, true
	case before == "before" || before == "antes" || before == "by" && at(ts, k-1) == "back":
		w.clash = w.on > today
	case before == "until" || before == "till" || before == "til" || before == "after" || before == "hasta" || before == "despues" || before == "pasando":
		w.vague, w.till = w.vague || w.on > today, before != "after" && before != "despues" && before != "pasando"
		ts[k].used = true
	case (before == "since" || before == "desde") && w.plain && w.on > today:
		w.on, w.past, w.plain = w.ago, true, false
	}
	return w, true
}

// dateArticles stand between a word that bears on a day and the day.
var dateArticles = wordSet("the el la de del on than for para que")

// offered takes a day of the week or month for the one that was offered or
// booked, where one of those is meant.
func (a Asked) offered(ts []token, i int, w when) when {
	if !w.plain || at(ts, i) == "this" || at(ts, i) == "este" {
		return w
	}
	var found []models.Date
	for _, d := range a.Days {
		if d.Weekday() == w.on.Weekday() && w.byWeek || !w.byWeek && dayOf(d) == dayOf(w.on) {
			found = append(found, d)
		}
	}
	if len(found) == 1 && found[0] >= a.Today {
		w.on = found[0]
	}
	return w
}

func dayOf(d models.Date) int {
	_, _, day := d.Civil()
	return day
}

// together reads a day of the week with the date beside it ("friday the 4th",
// "Dec 4, Friday") as one day; where they do not go together none is meant.
func together(ts []token, i int, w when, a Asked) when {
	if w.number == 0 {
		return w
	}
	j := i + w.number
	for j < len(ts) && j < i+w.number+2 && (dateArticles[at(ts, j)] || ts[j].kind == tokWeak && ts[j].text == ",") {
		j++
	}
	next, ok := calendarAt(ts, j, a.Today)
	if day, bare := dayNumber(ts, j); !ok && bare && w.byWeek && (j == i+w.number || at(ts, j-1) == "the" || at(ts, j-1) == "dia") && unitWords[at(ts, j+1)] == UnitNone && !hourAt(ts, j) {
		if ts[j].kind == tokNumber && slices.Contains(a.Days, w.on) && !slices.ContainsFunc(a.Days, func(d models.Date) bool { return dayOf(d) == day }) {
			w.number = j + 1 - i // the hour of a day that was told: "martes 9"
			return w
		}
		next, ok = nthAfter(a.Today, day) // "jueves 3"
		next = a.offered(ts, j, next)
	}
	if !ok || next.byWeek == w.byWeek || next.vague || w.vague || w.past && !w.byWeek || ts[j].used {
		return w
	}
	next = a.offered(ts, j, next)
	week, date := w, next
	if next.byWeek {
		week, date = next, w
	}
	whole := j + next.number - i
	switch {
	case date.on.Weekday() == week.on.Weekday():
		date.number = whole
		return date
	case date.ago != 0 && date.ago.Weekday() == week.on.Weekday() && len(a.Days) == 0:
		return when{on: date.ago, past: true, number: whole}
	}
	return when{on: date.on, number: whole, clash: true}
}

// calendarAt reads "10/15", "Oct 15", "15 de octubre", "the 15th", "friday",
// "last friday", "next friday".
func calendarAt(ts []token, i int, today models.Date) (when, bool) {
	if i < len(ts) && ts[i].kind == tokDate {
		d, _ := parseDate(ts[i].text)
		on := dayIn(today, d[0], time.Month(d[1]), d[2])
		return when{on: on, number: 1}, on != 0
	}
	if m, ok := months[at(ts, i)]; ok {
		switch at(ts, i-1) { // "in April", "until April": its first day
		case "in", "until", "till", "til", "en", "hasta":
			if _, exact := dayNumber(ts, i+1); !exact {
				y := today.Year()
				if models.NewDate(y, m, 1) <= today {
					y++
				}
				ago := models.NewDate(y-1, m, 15) // the middle stands for the month
				if ago > today {
					ago = today
				}
				return when{on: models.NewDate(y, m, 1), ago: ago, vague: true, rough: true, number: 1}, true
			}
		}
		if day, ok := dayNumber(ts, i+1); ok {
			on := dayIn(today, 0, m, day)
			return when{on: on, number: 2}, on != 0
		}
	}
	if day, ok := dayNumber(ts, i); ok {
		j := i + 1
		if at(ts, j) == "de" || at(ts, j) == "of" {
			j++
		}
		if m, ok := months[at(ts, j)]; ok {
			on := dayIn(today, 0, m, day)
			return when{on: on, number: j + 1 - i}, on != 0
		}
		bare := at(ts, i-1) == "el" && unitWords[at(ts, i+1)] == UnitNone && at(ts, i+1) != "mil" && (i+1 >= len(ts) || ts[i+1].kind != tokNumber)
		if ts[i].kind == tokNth || bare {
			return nthAfter(today, day)
		}
	}
	shift, j := 0, i
	q := at(ts, i)
	if q == "last" || q == "next" || q == "this" || q == "past" || q == "este" || q == "proximo" || q == "pasado" {
		j++
		shift = map[string]int{"last": -1, "past": -1, "pasado": -1, "next": 1, "proximo": 1}[q]
	}
	w, ok := weekdays[at(ts, j)]
	if !ok || j == i && short(at(ts, j)) && !alone(ts, i) {
		return when{}, false
	}
	n := (int(w) - int(today.Weekday()) + 7) % 7
	if at(ts, j+1) == "pasado" {
		shift, j = -1, j+1
	}
	if shift < 0 {
		return when{on: today.AddDays(n - 7), past: true, byWeek: true, number: j + 1 - i}, true
	}
	if n == 0 {
		n = 7
	}
	if toSunday := (7 - int(today.Weekday())) % 7; shift > 0 && n <= toSunday {
		n += 7 // "next friday" is of the week that begins next monday
	}
	out := when{on: today.AddDays(n), plain: shift == 0, byWeek: true, number: j + 1 - i}
	if out.plain {
		out.ago = today.AddDays(n - 7)
	}
	return out, true
}

// following reads "the monday after": a week later than the one named before,
// or than the next one.
func following(ts []token, i int, w when, found map[int]when) when {
	j := i + w.number
	that := at(ts, j+1) == "that" || at(ts, j+1) == "next"
	switch {
	case !w.byWeek || !w.plain:
		return w
	case at(ts, j) == "que" && at(ts, j+1) == "viene": // this week's or the next's
		w.number, w.clash = w.number+2, true
		return w
	case at(ts, j) == "week": // "thursday week"
		w.number++
	case at(ts, j) == "after" && (that || at(ts, j+1) == ""):
		w.number++
		if that {
			w.number++
		}
	case at(ts, i-1) == "following" || at(ts, i-1) == "siguiente", at(ts, j) == "siguiente":
	default:
		return w
	}
	from := models.Date(0)
	for _, d := range found {
		from = max(from, d.on)
	}
	if from == 0 || at(ts, j+1) == "next" {
		from = w.on
	}
	w.plain, w.ago, w.on = false, 0, w.on.AddDays(7)
	for w.on <= from {
		w.on = w.on.AddDays(7)
	}
	return w
}

// short lists names of days that are other words too.
func short(s string) bool { return s == "sun" || s == "sat" || s == "mar" }

// alone says whether a token is the whole of its clause.
func alone(ts []token, i int) bool {
	before := i == 0 || ts[i-1].kind == tokStrong || ts[i-1].kind == tokWeak || ts[i-1].text == "on"
	after := i+1 == len(ts) || ts[i+1].kind != tokWord || ts[i+1].text == "works" || ts[i+1].text == "is"
	return before && after
}

// dayNumber reads the day of a month at token i.
func dayNumber(ts []token, i int) (int, bool) {
	if w := numerals[at(ts, i)]; (w.kind == 'd' || w.kind == 't') && w.value > 1 && !hourAt(ts, i) {
		_, week := weekdays[at(ts, i-1)]
		if before := at(ts, i-1); before == "el" || week || before == "dia" || months[before] != 0 || at(ts, i+1) == "de" && months[at(ts, i+2)] != 0 {
			return w.value, true // "el tres", "lunes siete", "siete de diciembre"
		}
	}
	if i < 0 || i >= len(ts) || ts[i].kind != tokNumber && ts[i].kind != tokNth {
		return 0, false
	}
	n, err := strconv.Atoi(ts[i].text)
	return n, err == nil && n >= 1 && n <= 31
}

// nthAfter gives the next such day of a month, today's month or the next that
// has it, and when it was last.
func nthAfter(today models.Date, day int) (when, bool) {
	w := when{plain: true, number: 1}
	y, m, _ := today.Civil()
	for k := -3; k <= 3; k++ {
		first := models.NewDate(y, m+time.Month(k), 1)
		d := exact(first.Year(), first.Month(), day)
		switch {
		case d == 0:
		case d <= today:
			w.ago = d
		case w.on == 0:
			w.on = d
		}
	}
	return w, w.on != 0
}
