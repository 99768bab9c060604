package inbox

import "slices"

// cuts gives the borders of clauses: at line ends, points and the like, at
// "but", and at commas and "and" where both sides name a machine and something
// is said of the first: "R12 and R14 are fine" is one clause, "R12 fine and
// R14 hot" two.
// A list of machines at the end of a sentence goes with what was said before it
// ("dec 8 for U6 and U1"), and a day to come stands apart from a figure.
func (p parsed) cuts(a Asked) [][2]int {
	ts := p.ts
	inside := make([]bool, len(ts))
	for _, m := range p.mentions {
		for i := m.from; i < m.to; i++ {
			inside[i] = true
		}
	}
	names := func(from, to int) bool {
		return slices.Contains(inside[from:to], true)
	}
	tells := func(from, to int) bool {
		for i := from; i < to; i++ {
			t := ts[i]
			if !inside[i] && (t.kind == tokNumber || t.kind == tokGood || t.kind == tokBad || t.kind == tokWord && t.used) {
				return true
			}
		}
		return false
	}
	var out [][2]int
	start := 0
	for i, t := range ts {
		strong := t.kind == tokStrong || t.kind == tokAsk && i+1 < len(ts) && t.text == "?" || butWords[t.text] && !t.used && i > start
		joint := t.kind == tokWeak || t.kind == tokWord && (t.text == "and" || t.text == "y")
		end := i
		for end < len(ts) && ts[end].kind != tokStrong {
			end++
		}
		leaves := (joint || butWords[t.text]) && worked(ts, start, i) && putOff(ts, i+1) // work for later
		if strong || joint && names(start, i) && names(i, end) && tells(start, i) && !ofTheSame(ts, i, inside) && !(listed(ts, i, end, inside) && !p.measures(start, i)) ||
			t.kind == tokWeak && (measured(ts, start, i) && worked(ts, i, end) || p.dated(a, start, i) && p.measures(i, end) && !p.dated(a, i, end)) || leaves {
			if leaves {
				ts[i].used = true // it turns nothing that was said before it
			}
			out = append(out, [2]int{start, i + 1})
			start = i + 1
		}
	}
	return append(out, [2]int{start, len(ts)})
}

// listed says whether nothing but machines follows to the end of the sentence.
func listed(ts []token, from, to int, inside []bool) bool {
	for i := from; i < to; i++ {
		w := at(ts, i)
		if !inside[i] && ts[i].kind != tokWeak && ts[i].kind != tokAsk && !dateArticles[w] && w != "and" && w != "y" {
			return false
		}
	}
	return true
}

// measures says whether a stretch holds a figure of a meter.
func (p parsed) measures(from, to int) bool {
	return slices.ContainsFunc(p.figures, func(f figure) bool { return f.token >= from && f.token < to })
}

// dated says whether a stretch names a day to come and no figure: one that is
// no day of the week that has been, or that was offered.
func (p parsed) dated(a Asked, from, to int) bool {
	for i := from; i < to; i++ {
		if w, ok := p.days[i]; ok && w.on > a.Today && (!w.plain || slices.Contains(a.Days, w.on)) {
			return !p.measures(from, to)
		}
	}
	return false
}

// ofTheSame says whether a figure follows a sign that is of the machine before
// it: "U1 4412/518 U2 7730", but not "R12 6120, 2150 on U5".
func ofTheSame(ts []token, i int, inside []bool) bool {
	if i+1 >= len(ts) || ts[i+1].kind != tokNumber || inside[i+1] || i == 0 || ts[i-1].kind != tokNumber && unitWords[at(ts, i-1)] == UnitNone {
		return false
	}
	j := i + 2
	if unitWords[at(ts, j)] != UnitNone {
		j++
	}
	return !(j+1 < len(ts) && inside[j+1] && figureLeads[at(ts, j)])
}

// figureLeads stand between a figure and the machine that it is of.
var figureLeads = wordSet("on for in en del de la el the")

// putOff says whether a stretch begins with work that is not done yet: "coolant
// can wait", "el aceite todavia no". Another's verb does not carry over to it.
func putOff(ts []token, i int) bool {
	item := false
	for ; i < len(ts) && ts[i].kind != tokStrong && ts[i].kind != tokWeak; i++ {
		item = item || len(works[at(ts, i)]) > 0
		if item && (putOffWords[at(ts, i)] || senseAt(ts, i, sense(KindLater), senseWants) || ts[i].kind == tokWord && negators[at(ts, i)] || len(works[at(ts, i)]) == 0 && futureWords[at(ts, i)]) {
			return true
		}
		if senseAt(ts, i, sense(KindDone)) && !item {
			return false
		}
	}
	return false
}

// putOffWords say of work that it is still to be done.
var putOffWords = wordSet("wait waits later next falta faltan falto todavia aun pendiente still needs need yet luego despues esperar espera tomorrow manana")

// measured says whether a stretch holds a figure with its unit, and no work:
// "1452 hrs, oil changed monday" are two things.
func measured(ts []token, from, to int) bool {
	for i := from; i < to; i++ {
		if ts[i].kind == tokNumber && unitWords[at(ts, i+1)] != UnitNone {
			return !worked(ts, from, to)
		}
	}
	return false
}

// worked says whether a stretch tells of work.
func worked(ts []token, from, to int) bool {
	for i := from; i < to; i++ {
		if len(works[at(ts, i)]) > 0 || slices.ContainsFunc(sayings[at(ts, i)], func(e entry) bool { return e.sense == sense(KindDone) }) {
			return true
		}
	}
	return false
}
