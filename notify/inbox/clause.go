package inbox

import (
	"slices"
	"strings"
	"unicode"
)

// clause is a stretch of a text that is about one thing.
type clause struct {
	from, to int // tokens
	mentions []mention
	figures  []figure
	senses   []sense
	items    []string
	when     when   // number 0: no day
	days     []when // all days named
	unknown  int    // words of which nothing is known
	care     care   // what keeps it from being taken as it stands
	words    string
}

// has says whether a clause has one of some senses.
func (c clause) has(ss ...sense) bool {
	return slices.ContainsFunc(ss, func(s sense) bool { return slices.Contains(c.senses, s) })
}

// empty says whether a clause has nothing but mentions.
func (c clause) empty() bool {
	return len(c.figures) == 0 && len(c.senses) == 0 && len(c.items) == 0 && c.when.number == 0
}

// parsed is what was found in a text, by the token at which it begins.
type parsed struct {
	text     folded
	ts       []token
	mentions []mention
	senses   map[int][]sense
	denied   map[int]bool // a "not" of which it is not plain what it denies
	days     map[int]when
	items    map[int]string
	figures  []figure
}

// parse cuts a text into clauses and finds what is in each.
func (a Asked) parse(text folded, ts []token) []clause {
	p := parsed{text: text, ts: ts, mentions: a.mentions(ts), days: map[int]when{}}
	otherwise(ts)
	p.senses, p.denied = findSenses(ts) // before days: "not now" is no day
	for i := 0; i < len(ts); i++ {
		if ts[i].used {
			continue
		}
		if w, ok := dateAt(ts, i, a); ok {
			w = later(ts, i, following(ts, i, w, p.days), a.Today)
			w.clash = w.clash || !w.whole(ts, i)
			p.days[i] = w
			for k := i; k < i+w.number && k < len(ts); k++ {
				ts[k].used = true
			}
			i += w.number - 1
		}
	}
	for _, m := range p.mentions { // "no r12 here"
		if next := at(ts, m.to); (at(ts, m.from) == "no" || at(ts, m.from-1) == "no") && (next == "here" || next == "aqui") && at(ts, m.to+1) == "" {
			p.senses[m.from] = append(p.senses[m.from], senseNone)
		}
	}
	p.items = findItems(ts)
	p.figures = findFigures(ts)
	var out []clause
	for _, cut := range p.cuts(a) {
		if cut[1] > cut[0] {
			out = append(out, p.clause(cut[0], cut[1]))
		}
	}
	return merged(out)
}

// clause gives what stands from one token to another as a clause.
func (p parsed) clause(from, to int) clause {
	c := clause{from: from, to: to}
	for _, m := range p.mentions {
		if m.from >= from && m.from < to {
			c.mentions = append(c.mentions, m)
		}
	}
	for _, f := range p.figures {
		if f.token >= from && f.token < to {
			c.figures = append(c.figures, f)
		}
	}
	for i := from; i < to; i++ {
		c.senses = append(c.senses, p.senses[i]...)
		if it, ok := p.items[i]; ok {
			c.items = append(c.items, it)
		}
		if w, ok := p.days[i]; ok {
			c.days = append(c.days, w)
			if c.when.number == 0 {
				c.when = w
			}
		}
	}
	for i := from; i < to && !c.has(sense(KindDone)); i++ {
		if did := at(p.ts, i) == "did" || at(p.ts, i) == "hice" || at(p.ts, i) == "hicimos"; did && (p.items[i+1] != "" || p.items[i+2] != "") {
			c.senses = append(c.senses, sense(KindDone)) // "did coolant fri"
		}
	}
	p.weigh(&c)
	c.refuse(p.ts, p.senses, p.days)
	if c.has(sense(KindNo), senseCancel) {
		c.care &^= denial
	}
	if asks(p.ts[from:to]) {
		c.care |= questioned
	}
	c.words = strings.Trim(p.text.words(p.ts[from].from, p.ts[to-1].to), " ,;\n")
	return c
}

// refuse marks the days of a clause that are refused one by one beside another
// that is not: "tue no, wed no, thursday could do". What refuses them is then
// no answer to the whole.
func (c *clause) refuse(ts []token, senses map[int][]sense, days map[int]when) {
	if slices.ContainsFunc(c.days, func(d when) bool { return d.apart }) {
		return // "any day but tuesday or friday"
	}
	var left, not []when
	var found []sense
	start := c.from
	for i := c.from; i <= c.to; i++ {
		if i < c.to && ts[i].kind != tokWeak && ts[i].kind != tokStrong && at(ts, i) != "and" && at(ts, i) != "y" {
			continue
		}
		var here []when
		refused := false
		for k := start; k < i; k++ {
			if d, ok := days[k]; ok {
				here = append(here, d)
			}
			refused = refused || refusalWords[at(ts, k)] || slices.ContainsFunc(senses[k], refuses)
		}
		for k := start; k < i; k++ {
			for _, s := range senses[k] {
				if !refused || len(here) == 0 || !refuses(s) {
					found = append(found, s)
				}
			}
		}
		mixed := slices.ContainsFunc(here, func(d when) bool { return d.not }) && slices.ContainsFunc(here, func(d when) bool { return !d.not })
		for k := start; k < i && mixed && !refused; k++ {
			if at(ts, k) == "no" { // "friday no thursday": which?
				for n := range here {
					here[n].not, here[n].clash = false, true
				}
			}
		}
		for _, d := range here {
			if d.not = d.not || refused; d.not {
				not = append(not, d)
			} else {
				left = append(left, d)
			}
		}
		start = i + 1
	}
	if len(left) > 0 && left[0].clash {
		c.when, c.days = left[0], append(left, not...)
	}
	if len(left) > 0 && len(not) > 0 {
		c.senses, c.days, c.when = found, append(left, not...), left[0]
	}
}

// refuses says whether a sense refuses a day that stands beside it.
func refuses(s sense) bool { return s == sense(KindNo) || s == senseCancel || s == senseUnwell }

// refusalWords refuse a day as the one before was.
var refusalWords = wordSet("tampoco neither nope nah")

// figureAhead says whether a figure follows in the same clause: "says 6120" is
// of a meter.
func figureAhead(ts []token, i int) bool {
	for ; i < len(ts) && ts[i].kind != tokStrong && ts[i].kind != tokWeak; i++ {
		if ts[i].kind == tokNumber {
			return true
		}
	}
	return false
}

// elsewhere says whether what follows a fault is in something that nobody here
// knows: "a leak in the incision".
func elsewhere(ts []token, i int) bool {
	for k := i; k < i+2 && k < len(ts); k++ {
		if !faultPlaces[at(ts, k)] {
			continue
		}
		for k++; dateArticles[at(ts, k)] || at(ts, k) == "my" || at(ts, k) == "his" || at(ts, k) == "her" || at(ts, k) == "mi" || at(ts, k) == "our"; k++ {
		}
		return k < len(ts) && ts[k].kind == tokWord && !ts[k].used && !known(ts[k].text)
	}
	return false
}

// another says whether a machine is meant that is only pointed at: "the others
// are fine", "la otra maquina", "the one in the barn".
func another(ts []token, i int) bool {
	next := at(ts, i+1)
	switch w := at(ts, i); {
	case w == "others" || w == "otras" || w == "otros" || w == "rest" && at(ts, i-1) == "the" && (next == "are" || next == "is"):
		return true
	case w == "other" || w == "otra" || w == "otro" || w == "another" || w == "old" || w == "vieja" || w == "viejo":
		return machineNouns[next] || len(kinds[next]) > 0
	case w == "one":
		return (at(ts, i-1) == "the" || at(ts, i-1) == "that" || at(ts, i-1) == "other") && faultPlaces[next]
	}
	return false
}

// machineNouns stand for a machine.
var machineNouns = wordSet("machine rig unit one ones buggy maquina unidad carrito mula")

// faultPlaces lead to where a fault is.
var faultPlaces = wordSet("in on at of from with en de con")

// lasted knows at token i what is told of how short a thing held: "a whole two
// miles", "ran great for ten minutes".
func lasted(ts []token, i int) bool {
	if !lastWords[at(ts, i)] || at(ts, i) == "for" && !lastVerbs[at(ts, i-2)] {
		return false
	}
	for k := i + 1; k <= i+4 && k < len(ts); k++ {
		n, u := count(ts, k) > 0 || numerals[at(ts, k)].kind != 0 || ts[k].kind == tokNumber, at(ts, k+1)
		if n && (unitWords[u] != UnitNone || spans[u] > 0 || otherUnits[u]) {
			return true
		}
	}
	return false
}

// lastWords lead to how long a thing held; lastVerbs stand two before a "for".
var (
	lastWords = wordSet("whole entire lasted made enteros enteras duro for")
	lastVerbs = wordSet("ran worked held lasted was did went")
)

// named says whether a clause is nothing but a person's name, as a signature
// is: up to three words, each with a capital that the text does not give to all.
func named(text folded, ts []token, from, to int) bool {
	n := 0
	for i := from; i < to; i++ {
		t := ts[i]
		switch {
		case t.kind == tokStrong || t.kind == tokWeak:
			continue
		case t.kind != tokWord || t.used:
			return false
		}
		if !capital(text.words(t.from, t.to)) {
			return false
		}
		n++
	}
	return n > 0 && n <= 3
}

// capital says whether a word is written as a name is.
func capital(w string) bool {
	for i, r := range w {
		if i == 0 && !unicode.IsUpper(r) {
			return false
		}
		if i > 0 && len(w) > 2 && unicode.IsUpper(r) {
			return false
		}
	}
	return w != ""
}

// known says whether a word changes nothing that is not looked at elsewhere.
func known(w string) bool {
	return fillers[w] || roughWords[w] || introWords[w] || unitWords[w] != UnitNone || spans[w] > 0 || smallNumbers[w] > 0 || bridges[w] ||
		meterWords[w] || futureWords[w] || turnWords[w] || doubtWords[w] || negators[w] || partWords[w] || enders[w] || thinkWords[w] || ifWords[w] || dayHours[w] || correctWords[w] || theirWords[w] || askWords[w]
}

// asks says whether a clause is a question: by its sign, or by how it begins
// or ends.
func asks(ts []token) bool {
	if n := len(ts); n > 1 && ts[n-1].kind == tokAsk {
		return true
	}
	for len(ts) > 0 && (ts[0].kind == tokWord && leadWords[ts[0].text] || ts[0].kind == tokWeak || ts[0].kind == tokStrong) {
		ts = ts[1:]
	}
	if len(ts) < 2 {
		return false
	}
	end := len(ts)
	for end > 0 && (ts[end-1].kind == tokStrong || ts[end-1].kind == tokWeak) {
		end--
	}
	if end == 0 {
		return false
	}
	if ts[end-1].kind == tokAsk || ts[0].kind == tokAsk {
		return true
	}
	one, two := at(ts, 0), at(ts, 1)
	last, before := at(ts, end-1), at(ts, end-2)
	return askWords[one] || askVerbs[one] && pronouns[two] && (two != "it" && two != "the" && two != "that" && two != "this" && two != "my" || one != "did" && one != "had" && one != "has" && one != "have") || tagWords[before] && pronouns[last] || last == "huh" || last == "verdad"
}

// merged joins clauses that say one thing: a machine alone with what stands
// beside it ("6120. R12"), and work done with its figures, items and day
// ("Done. 6080. Oil and filter").
func merged(cs []clause) []clause {
	var out []clause
	for _, c := range cs {
		if n := len(out); n > 0 && out[n-1].takes(c) {
			out[n-1].join(c)
			continue
		}
		out = append(out, c)
	}
	return out
}

// takes says whether the next clause belongs to this one.
func (c clause) takes(next clause) bool {
	bare := len(next.mentions) == 0
	switch {
	case c.empty() && len(c.mentions) > 0 && bare:
		return true
	case next.empty() && !bare && len(c.mentions) == 0 && !c.empty():
		return true
	case c.has(sense(KindDone)) && bare && len(next.senses) == 0 && next.unknown == 0 && !next.is(turned):
		return true
	}
	return next.has(sense(KindDone)) && bare && len(c.senses) == 0 && !c.empty() && len(c.figures) == 0
}

// join adds the next clause.
func (c *clause) join(next clause) {
	c.to, c.unknown, c.care = next.to, c.unknown+next.unknown, c.care|next.care
	c.days = append(c.days, next.days...)
	c.mentions = append(c.mentions, next.mentions...)
	c.figures = append(c.figures, next.figures...)
	c.senses = append(c.senses, next.senses...)
	c.items = append(c.items, next.items...)
	if c.when.number == 0 {
		c.when = next.when
	}
	c.words += " " + next.words
}
