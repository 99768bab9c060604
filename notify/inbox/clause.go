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
	asked    bool   // it is a question
	others   bool   // it speaks of machines that it does not name
	unknown  int    // words of which nothing is known
	care     care   // what keeps it from being taken as it stands
	words    string
}

// care says what in a clause keeps what it says from being a plain fact.
type care struct {
	turns   bool // "but", "until", "if": what is said does not stand as it is
	doubts  bool // "maybe", "I guess": the sender is not sure
	hearsay bool // somebody else says it
	foreign bool // it is about something else than a machine of the sender's
	denied  bool // a "not" of which it is not plain what it denies
	future  bool // it tells of what is to come
	theirs  bool // it tells of what the shop or somebody did
	metered bool // it speaks of a meter
	thinks  bool // "I think"
	self    bool // the sender does it
	lately  bool // it has just been done
	ifs     bool // "if", "unless"
	correct bool // it takes something back
	brief   bool // it tells how long something lasted
}

// firm says whether nothing in a clause keeps it from being a fact.
func (k care) firm() bool {
	return !k.turns && !k.doubts && !k.hearsay && !k.foreign && !k.denied
}

// add takes over what another clause has of care.
func (k *care) add(o care) {
	k.turns, k.doubts, k.hearsay, k.foreign = k.turns || o.turns, k.doubts || o.doubts, k.hearsay || o.hearsay, k.foreign || o.foreign
	k.brief = k.brief || o.brief
	k.self, k.lately = k.self || o.self, k.lately || o.lately
	k.thinks, k.ifs, k.correct = k.thinks || o.thinks, k.ifs || o.ifs, k.correct || o.correct
	k.denied, k.future, k.theirs, k.metered = k.denied || o.denied, k.future || o.future, k.theirs || o.theirs, k.metered || o.metered
}

// has says whether a clause has one of some senses.
func (c clause) has(ss ...sense) bool {
	return slices.ContainsFunc(ss, func(s sense) bool { return slices.Contains(c.senses, s) })
}

// read says whether every word of a clause is known and it is a plain fact.
func (c clause) read() bool { return c.unknown == 0 && !c.asked && c.care.firm() }

// empty says whether a clause has nothing but mentions.
func (c clause) empty() bool {
	return len(c.figures) == 0 && len(c.senses) == 0 && len(c.items) == 0 && c.when.number == 0
}

// parse cuts a text into clauses and finds what is in each.
func (a Asked) parse(text folded, ts []token) []clause {
	mentions := a.mentions(ts)
	senses, denied := findSenses(ts) // before days: "not now" is no day
	days := map[int]when{}
	for i := 0; i < len(ts); i++ {
		if ts[i].used {
			continue
		}
		if w, ok := dateAt(ts, i, a); ok {
			w = following(ts, i, w, days)
			days[i] = w
			for k := i; k < i+w.number && k < len(ts); k++ {
				ts[k].used = true
			}
			i += w.number - 1
		}
	}
	items := findItems(ts)
	figures := findFigures(ts)

	var out []clause
	for _, cut := range cuts(ts, mentions) {
		c := clause{from: cut[0], to: cut[1]}
		for _, m := range mentions {
			if m.from >= c.from && m.from < c.to {
				c.mentions = append(c.mentions, m)
			}
		}
		for _, f := range figures {
			if f.token >= c.from && f.token < c.to {
				c.figures = append(c.figures, f)
			}
		}
		for i := c.from; i < c.to; i++ {
			c.senses = append(c.senses, senses[i]...)
			if it, ok := items[i]; ok {
				c.items = append(c.items, it)
			}
			if w, ok := days[i]; ok {
				c.days = append(c.days, w)
				if c.when.number == 0 {
					c.when = w
				}
			}
			c.care.denied = c.care.denied || denied[i]
			c.care.foreign = c.care.foreign || slices.Contains(senses[i], senseFault) && elsewhere(ts, i+1)
			c.care.doubts = c.care.doubts || slices.Contains(senses[i], senseDoubt)
			c.word(text, ts, i)
		}
		c.care.denied = c.care.denied && !c.has(sense(KindNo), senseCancel)
		if c.to > c.from {
			c.asked = asks(ts[c.from:c.to])
			if a.spare(c, ts) {
				c.unknown = 0
			}
			c.words = strings.Trim(text.words(ts[c.from].from, ts[c.to-1].to), " ,;\n")
			out = append(out, c)
		}
	}
	return merged(out)
}

// word notes what one word tells of how its clause is to be taken.
func (c *clause) word(text folded, ts []token, i int) {
	t := ts[i]
	if t.kind == tokWord {
		c.others = c.others || othersWords[t.text]
		c.care.foreign = c.care.foreign || foreignWords[t.text]
		c.care.metered = c.care.metered || meterWords[t.text] || unitWords[t.text] != UnitNone
		c.care.thinks = c.care.thinks || thinkWords[t.text]
		c.care.self = c.care.self || selfWords[t.text] || t.text == "do" && doLeads[at(ts, i-1)] && pronouns[at(ts, i+1)]
		c.care.brief = c.care.brief || lasted(ts, i)
		c.care.lately = c.care.lately || latelyWords[t.text]
		c.care.ifs = c.care.ifs || ifWords[t.text] && !t.used
		c.care.correct = c.care.correct || correctWords[t.text]
		c.care.future = c.care.future || futureWords[t.text] && !t.used
		c.care.theirs = c.care.theirs || theirWords[t.text] && !t.used
		c.care.hearsay = c.care.hearsay || sayWords[t.text] && !meterWords[at(ts, i-1)] && i > c.from
		if !t.used {
			c.care.turns = c.care.turns || turnWords[t.text]
			c.care.doubts = c.care.doubts || doubtWords[t.text]
		}
	}
	if t.used || t.kind != tokOther && (t.kind != tokWord || known(t.text)) {
		return
	}
	if t.kind == tokWord && (named(text, ts, c.from, c.to) || i > 0 && nameLeads[at(ts, i-1)] && capital(text.words(t.from, t.to))) {
		return
	}
	c.unknown++
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
		meterWords[w] || futureWords[w] || turnWords[w] || doubtWords[w] || negators[w] || partWords[w] || enders[w] || thinkWords[w] || ifWords[w] || correctWords[w] || theirWords[w] || askWords[w]
}

// asks says whether a clause is a question: by its sign, or by how it begins
// or ends.
func asks(ts []token) bool {
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
	case c.has(sense(KindDone)) && bare && len(next.senses) == 0 && next.unknown == 0 && !next.care.turns:
		return true
	}
	return next.has(sense(KindDone)) && bare && len(c.senses) == 0 && !c.empty() && len(c.figures) == 0
}

// join adds the next clause.
func (c *clause) join(next clause) {
	c.to, c.unknown, c.asked = next.to, c.unknown+next.unknown, c.asked || next.asked
	c.care.add(next.care)
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
