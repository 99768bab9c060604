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
	ifs     bool // "if", "unless"
	correct bool // it takes something back
}

// firm says whether nothing in a clause keeps it from being a fact.
func (k care) firm() bool {
	return !k.turns && !k.doubts && !k.hearsay && !k.foreign && !k.denied
}

func (k *care) add(o care) {
	k.turns, k.doubts, k.hearsay, k.foreign = k.turns || o.turns, k.doubts || o.doubts, k.hearsay || o.hearsay, k.foreign || o.foreign
	k.self = k.self || o.self
	k.thinks, k.ifs, k.correct = k.thinks || o.thinks, k.ifs || o.ifs, k.correct || o.correct
	k.denied, k.future, k.theirs, k.metered = k.denied || o.denied, k.future || o.future, k.theirs || o.theirs, k.metered || o.metered
}

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
			c.care.doubts = c.care.doubts || slices.Contains(senses[i], senseDoubt)
			c.word(text, ts, i)
		}
		c.care.denied = c.care.denied && !c.has(sense(KindNo), senseCancel)
		if c.to > c.from {
			c.asked = asks(ts[c.from:c.to])
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
		c.care.self = c.care.self || selfWords[t.text]
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

// cuts gives the borders of clauses: at line ends, points and the like, at
// "but", and at commas and "and" where both sides name a machine and something
// is said of the first: "R12 and R14 are fine" is one clause, "R12 fine and
// R14 hot" two.
func cuts(ts []token, mentions []mention) [][2]int {
	inside := make([]bool, len(ts))
	for _, m := range mentions {
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
		if strong || joint && names(start, i) && names(i, end) && tells(start, i) || t.kind == tokWeak && measured(ts, start, i) && worked(ts, i, end) {
			out = append(out, [2]int{start, i + 1})
			start = i + 1
		}
	}
	return append(out, [2]int{start, len(ts)})
}

// measured says whether a stretch holds a figure with its unit, and no work;
// worked whether one tells of work: "1452 hrs, oil changed monday" are two things.
func measured(ts []token, from, to int) bool {
	for i := from; i < to; i++ {
		if ts[i].kind == tokNumber && unitWords[at(ts, i+1)] != UnitNone {
			return !worked(ts, from, to)
		}
	}
	return false
}

func worked(ts []token, from, to int) bool {
	for i := from; i < to; i++ {
		if len(works[at(ts, i)]) > 0 || slices.ContainsFunc(sayings[at(ts, i)], func(e entry) bool { return e.sense == sense(KindDone) }) {
			return true
		}
	}
	return false
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

// findSenses finds what phrases say, by the token at which each begins, and
// turns round what a "not" in the same clause denies. denied marks clauses in
// which it is not plain what a "not" denies, by the token of that.
func findSenses(ts []token) (out map[int][]sense, denied map[int]bool) {
	out, denied = map[int][]sense{}, map[int]bool{}
	not, last := -1, sense("") // the token of the "not" that reaches here, and what it denied last
	for i := 0; i < len(ts); i++ {
		switch ts[i].kind {
		case tokGood:
			out[i] = append(out[i], senseGood)
			ts[i].used = true
		case tokBad:
			out[i] = append(out[i], sense(KindNo))
			ts[i].used = true
		case tokStrong, tokAsk:
			not, last = -1, ""
		case tokWeak:
			not = -1
		}
		w := at(ts, i)
		if list := sayings.at(ts, i); len(list) > 0 {
			e := list[0]
			single := len(e.words) == 1 && negators[w]
			if !single {
				s := e.sense
				switch {
				case not >= 0 && deniable(s):
					if s = contrary(s); !plainly(ts, not, i) {
						s, denied[not] = "", true
					}
					not, last = -1, e.sense
				case last == e.sense && deniable(e.sense) && negates(ts, i):
					s = contrary(s) // "no leaks or smoke"
				}
				if s != "" && s != senseSaid {
					out[i] = append(out[i], s)
				}
				for k := range e.words {
					ts[i+k].used = true
				}
				i += len(e.words) - 1
				continue
			}
		}
		switch {
		case butWords[w]:
			not, last = -1, ""
		case enders[w] && not >= 0: // "never stopped leaking", "won't quit leaking"
			not = -1
		case enders[w]:
			if deniableAhead(ts, i+1) {
				not = i
			}
		case w == "no" && answers(ts, i):
			out[i] = append(out[i], sense(KindNo))
			ts[i].used = true
		case negators[w]:
			not = i
			if !deniableAhead(ts, i+1) {
				denied[i], not = true, -1
			}
		}
	}
	return out, denied
}

// deniable says whether a "not" turns what a phrase says round.
func deniable(s sense) bool {
	return s == senseFault || s == senseGood || s == sense(KindDone) || s == sense(KindComeback)
}

// deniableAhead says whether a phrase that a "not" can deny follows in the
// same clause.
func deniableAhead(ts []token, i int) bool {
	for ; i < len(ts) && ts[i].kind != tokStrong && ts[i].kind != tokAsk && ts[i].kind != tokWeak && !butWords[at(ts, i)]; i++ {
		for _, e := range sayings.at(ts, i) {
			if deniable(e.sense) {
				return true
			}
		}
	}
	return false
}

// plainly says whether nothing but small words stand between a "not" and what
// it denies.
func plainly(ts []token, not, i int) bool {
	for k := not + 1; k < i; k++ {
		if !bridges[at(ts, k)] && !negators[at(ts, k)] && !enders[at(ts, k)] || i-not > 7 {
			return false
		}
	}
	return true
}

// negates says whether a fault goes on a list that a "not" began.
func negates(ts []token, i int) bool {
	w := at(ts, i-1)
	return w == "or" || w == "nor" || w == "ni" || w == "o"
}

// answers says whether a "no" is an answer and not part of what follows: it
// stands alone, or before a word with which a sentence begins.
func answers(ts []token, i int) bool {
	if i+1 >= len(ts) || ts[i+1].kind != tokWord && ts[i+1].kind != tokNumber {
		return true
	}
	next := at(ts, i+1)
	if ts[i+1].kind == tokNumber || next == "no" || startWordsOf[next] {
		return true
	}
	for _, e := range sayings.at(ts, i+1) { // "no all good"
		if e.sense == senseGood && !spanishVerbs[e.words[0]] {
			return true
		}
	}
	return false
}

var spanishVerbs = wordSet("anda va funciona camina trabaja quedo esta aguanto jala")

// contrary gives what a denied phrase says.
func contrary(s sense) sense {
	switch s {
	case senseFault, sense(KindComeback):
		return senseGood
	case senseGood:
		return senseFault
	case sense(KindDone):
		return sense(KindLater)
	}
	return s
}

func findItems(ts []token) map[int]string {
	out := map[int]string{}
	for i := 0; i < len(ts); i++ {
		if list := works.at(ts, i); len(list) > 0 {
			out[i] = list[0].value
			for k := range list[0].words {
				ts[i+k].used = true
			}
			i += len(list[0].words) - 1
		}
	}
	return out
}

// findFigures finds the numbers that may be of a meter, each with its unit:
// the word behind it, or before it where units lead ("miles 6120 hours 412").
func findFigures(ts []token) []figure {
	lead := unitsLead(ts)
	var out []figure
	for i := range ts {
		if ts[i].kind != tokNumber || ts[i].used {
			continue
		}
		if otherUnits[at(ts, i+1)] || before(ts, i, 3, gaugeWords) || before(ts, i, 3, paperWords) || streetWords[at(ts, i+1)] || streetWords[at(ts, i+2)] || phoneAt(ts, i) {
			ts[i].kind = tokOther // "2 weeks", "temp at 190", "invoice 6120", "2100 Main St"
			continue
		}
		if withdrawn(ts, i) {
			ts[i].kind, ts[i].used = tokOther, true
			continue
		}
		joinThousands(ts, i)
		f := figure{token: i, vals: ts[i].vals, words: ts[i].text, rough: strings.HasSuffix(ts[i].text, "k")}
		f.run = before(ts, i, 2, runWords) || sinceWords[at(ts, i+1)] || unitWords[at(ts, i+1)] != UnitNone && sinceWords[at(ts, i+2)] ||
			f.vals[0] <= 24 && clockWords[at(ts, i-1)] && unitWords[at(ts, i+1)] == UnitNone
		f.bound = bounded(ts, i)
		f.alone = i+1 < len(ts) && (ts[i+1].kind == tokWeak || ts[i+1].kind == tokStrong || at(ts, i+1) == "and" || at(ts, i+1) == "y")
		ts[i].used = true
		if u := unitWords[at(ts, i+1)]; u != UnitNone && !lead {
			f.unit = u
			ts[i+1].used = true
		} else if lead {
			f.unit = unitBefore(ts, i)
		}
		f.rough = f.rough || rough(ts, i)
		out = append(out, f)
	}
	return out
}

// rough says whether a word of the same clause makes a figure an approximate one.
func rough(ts []token, i int) bool {
	for k := i - 1; k >= 0 && k >= i-6 && ts[k].kind != tokStrong; k-- {
		if roughWords[at(ts, k)] || (at(ts, k) == "should" || at(ts, k) == "must") && at(ts, k+1) == "be" || at(ts, k) == "por" && (at(ts, k+1) == "ahi" || at(ts, k+1) == "las" || at(ts, k+1) == "los") ||
			(at(ts, k) == "ha" || at(ts, k) == "debe") && at(ts, k+1) == "de" {
			return true
		}
	}
	for k := i + 1; k < len(ts) && k <= i+6 && ts[k].kind != tokStrong; k++ {
		if afterRough[at(ts, k)] || orSo(ts, k) {
			return true
		}
	}
	return false
}

// bounded knows a figure that is only a limit: "less than 6200". One that is
// near its limit ("just over") is a rough one.
func bounded(ts []token, i int) bool {
	for k := i - 1; k >= 0 && k >= i-4; k-- {
		switch w := at(ts, k); {
		case boundWords[w] && at(ts, k+1) != w && !(roughWords[at(ts, k-1)] || at(ts, k-1) == "just" || at(ts, k-1) == "little" || at(ts, k-1) == "hair" || at(ts, k-1) == "poco"):
			return true
		case (w == "than" || w == "de" && (at(ts, k-1) == "mas" || at(ts, k-1) == "menos" || at(ts, k-1) == "arriba" || at(ts, k-1) == "abajo")) && at(ts, k-2) != "poco" && at(ts, k-2) != "little":
			return true
		}
	}
	return false
}

// phoneAt knows a telephone number that is written apart: "970 555 0142",
// "555 0142".
func phoneAt(ts []token, i int) bool {
	digits := func(k, n int) bool {
		return k >= 0 && k < len(ts) && (ts[k].kind == tokNumber || ts[k].kind == tokOther) && isNumber(ts[k].text) && len(ts[k].text) == n
	}
	return digits(i, 3) && digits(i+1, 4) || digits(i, 3) && digits(i+1, 3) && digits(i+2, 4) || digits(i, 4) && digits(i-1, 3) || len(ts[i].text) >= 10
}

// orSo knows words behind a figure that make it a rough one.
func orSo(ts []token, i int) bool {
	two, three := at(ts, i)+" "+at(ts, i+1), at(ts, i)+" "+at(ts, i+1)+" "+at(ts, i+2)
	return two == "or so" || three == "give or take" || three == "more or less" || three == "mas o menos"
}

// withdrawn knows figures that are named only to be taken back: "not 6120,
// 6130", "from 6050 to 6120".
func withdrawn(ts []token, i int) bool {
	switch at(ts, i-1) {
	case "not", "no", "isnt":
		return true
	case "from", "de":
		for k := i + 1; k < len(ts) && k <= i+3; k++ {
			if w := at(ts, k); (w == "to" || w == "a") && k+1 < len(ts) && ts[k+1].kind == tokNumber {
				return true
			}
		}
	}
	return false
}

// before says whether one of a set of words stands up to n tokens before i.
func before(ts []token, i, n int, words map[string]bool) bool {
	for k := i - 1; k >= 0 && k >= i-n; k-- {
		if words[at(ts, k)] {
			return true
		}
	}
	return false
}

// joinThousands reads "6 120" as one figure.
func joinThousands(ts []token, i int) {
	if i+1 >= len(ts) || ts[i+1].kind != tokNumber || ts[i+1].used || !isNumber(ts[i].text) || !isNumber(ts[i+1].text) ||
		len(ts[i].text) > 2 || len(ts[i+1].text) != 3 || ts[i+1].from != ts[i].to+1 {
		return
	}
	ts[i].vals = []float64{ts[i].vals[0]*1000 + ts[i+1].vals[0]}
	ts[i+1].used = true
	if i+2 < len(ts) && ts[i+2].kind == tokWord { // its unit is found beside the second half
		ts[i+1].text, ts[i+1].kind = ts[i+2].text, tokWord
		ts[i+2].used = true
	}
}

func unitsLead(ts []token) bool {
	first, last, num, lastNum := -1, -1, -1, -1
	for i, t := range ts {
		switch {
		case t.kind == tokWord && unitWords[t.text] != UnitNone:
			if first < 0 {
				first = i
			}
			last = i
		case t.kind == tokNumber && !t.used:
			if num < 0 {
				num = i
			}
			lastNum = i
		}
	}
	return first >= 0 && first < num && last < lastNum
}

func unitBefore(ts []token, i int) Unit {
	for k := i - 1; k >= 0 && k >= i-3; k-- {
		if ts[k].kind == tokNumber {
			return UnitNone
		}
		if u := unitWords[at(ts, k)]; u != UnitNone {
			return u
		}
	}
	return UnitNone
}
