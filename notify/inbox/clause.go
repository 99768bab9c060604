package inbox

import (
	"slices"
	"strings"
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
	asked    bool   // it ends with a question mark
	others   bool   // it speaks of machines that it does not name
	unknown  int    // words of which nothing is known
	words    string
}

func (c clause) has(ss ...sense) bool {
	return slices.ContainsFunc(ss, func(s sense) bool { return slices.Contains(c.senses, s) })
}

// empty says whether a clause has nothing but mentions.
func (c clause) empty() bool {
	return len(c.figures) == 0 && len(c.senses) == 0 && len(c.items) == 0 && c.when.number == 0
}

// parse cuts a text into clauses and finds what is in each.
func (a Asked) parse(text folded, ts []token) []clause {
	mentions := a.mentions(ts)
	senses := findSenses(ts) // before days: "not now" is no day
	days := map[int]when{}
	for i := 0; i < len(ts); i++ {
		if ts[i].used {
			continue
		}
		if w, ok := dateAt(ts, i, a.Today); ok {
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
			t := ts[i]
			c.others = c.others || othersWords[t.text]
			if !t.used && (t.kind == tokWord && !known(t.text) || t.kind == tokOther) {
				c.unknown++
			}
		}
		if c.to > c.from {
			c.asked = ts[c.to-1].kind == tokAsk && c.to-c.from > 1
			c.words = strings.Trim(text.words(ts[c.from].from, ts[c.to-1].to), " ,;\n")
			out = append(out, c)
		}
	}
	return merged(out)
}

func known(w string) bool {
	return fillers[w] || roughWords[w] || introWords[w] || unitWords[w] != UnitNone || spans[w] > 0 || smallNumbers[w] > 0 || bridges[w]
}

// cuts gives the borders of clauses: at line ends, points and the like, and
// at commas and "and" where both sides name a machine and something is said of
// the first: "R12 and R14 are fine" is one clause, "R12 fine and R14 hot" two.
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
		strong := t.kind == tokStrong || t.kind == tokAsk
		joint := t.kind == tokWeak || t.kind == tokWord && (t.text == "and" || t.text == "y" || t.text == "but" || t.text == "pero")
		end := i
		for end < len(ts) && ts[end].kind != tokStrong {
			end++
		}
		if strong || joint && names(start, i) && names(i, end) && tells(start, i) {
			out = append(out, [2]int{start, i + 1})
			start = i + 1
		}
	}
	return append(out, [2]int{start, len(ts)})
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
	case c.has(sense(KindDone)) && bare && len(next.senses) == 0:
		return true
	}
	return next.has(sense(KindDone)) && bare && len(c.senses) == 0 && !c.empty()
}

func (c *clause) join(next clause) {
	c.to, c.unknown, c.asked = next.to, c.unknown+next.unknown, c.asked || next.asked
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
// turns what a "not" denies round.
func findSenses(ts []token) map[int][]sense {
	out := map[int][]sense{}
	denied := -1 // the token up to which a "not" reaches
	for i := 0; i < len(ts); i++ {
		switch ts[i].kind {
		case tokGood:
			out[i] = append(out[i], senseGood)
			ts[i].used = true
		case tokBad:
			out[i] = append(out[i], sense(KindNo))
			ts[i].used = true
		}
		list := sayings.at(ts, i)
		if len(list) == 0 {
			continue
		}
		e := list[0]
		if e.sense == senseNot || e.sense == sense(KindNo) && len(e.words) == 1 {
			if target := reach(ts, i+len(e.words), e.sense == senseNot && e.words[0] != "no"); target >= 0 {
				if !denials[at(ts, i-1)] {
					denied = target
				}
				ts[i].used = true
				continue
			}
			if e.sense == senseNot && len(list) == 1 {
				continue
			}
			if e.sense == senseNot {
				e = list[1]
			}
		}
		s := e.sense
		if i <= denied {
			s = contrary(s)
		}
		if s != "" && s != senseNot {
			out[i] = append(out[i], s)
		}
		for k := range e.words {
			ts[i+k].used = true
		}
		i += len(e.words) - 1
	}
	return out
}

// reach finds the phrase that a "not" before token i denies: it must say
// that something is well, wrong or done, with at most a few small words
// between. A plain "no" (firm is false) denies no praise: "no all good" is an
// answer and its reason, but for Spanish verbs ("no anda muy bien").
func reach(ts []token, i int, firm bool) int {
	for k := i; k < i+5 && k < len(ts); k++ {
		for _, e := range sayings.at(ts, k) {
			switch {
			case e.sense == senseGood && !firm && !(k == i && spanishVerbs[e.words[0]]):
				return -1
			case e.sense == senseGood || e.sense == senseFault || e.sense == sense(KindDone) || e.sense == sense(KindComeback):
				return k
			}
		}
		if !bridges[at(ts, k)] {
			return -1
		}
	}
	return -1
}

var spanishVerbs = wordSet("anda va funciona camina trabaja quedo esta aguanto")

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
		if otherUnits[at(ts, i+1)] || before(ts, i, 3, gaugeWords) {
			ts[i].kind = tokOther // "2 weeks", "temp at 190"
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
		ts[i].used = true
		if u := unitWords[at(ts, i+1)]; u != UnitNone && !lead {
			f.unit = u
			ts[i+1].used = true
		} else if lead {
			f.unit = unitBefore(ts, i)
		}
		if at(ts, i+1) == "mil" { // six thousand in Spanish
			f.vals, f.rough = []float64{f.vals[0] * 1000}, true
			ts[i+1].used = true
			if u := unitWords[at(ts, i+2)]; u != UnitNone {
				f.unit = u
			}
		}
		f.rough = f.rough || roughWords[at(ts, i-1)] || roughWords[at(ts, i-2)] || at(ts, i+1) == "ish" || at(ts, i+2) == "ish" || orSo(ts, i+1) || orSo(ts, i+2)
		out = append(out, f)
	}
	return out
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
