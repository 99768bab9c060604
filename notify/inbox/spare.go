package inbox

import (
	"slices"
	"strings"

	"example.org/roundsman/models"
)

// spare says whether the words of a clause that nobody knows can change nothing
// of what is read from it or beside it. What may change something is looked at
// word by word: a "not", a "but", a part of a machine, a machine that is only
// pointed at, a question. An answer about a repair needs more: there words may
// be left unread in a clause of praise or of greetings only.
func (a Asked) spare(c clause, ts []token) bool {
	if c.unknown == 0 || c.unknown > 6 || c.asked || c.others || c.care.denied || !c.care.firm() || c.care.ifs || c.care.correct || c.care.brief ||
		c.has(senseFault, sense(KindComeback), senseUnwell, senseCancel, senseWants, senseMeter, senseDoubt, senseBut, sense(KindSold), sense(KindWrongNumber), sense(KindDone), senseUnfit, senseCall) ||
		len(c.items) > 0 || slices.ContainsFunc(c.mentions, func(m mention) bool { return len(m.ids) == 0 }) {
		return false
	}
	first, last := -1, -1 // unread words
	for i := c.from; i < c.to; i++ {
		t := ts[i]
		switch {
		case t.used:
		case t.kind == tokOther || t.kind == tokDate || t.kind == tokNth || t.kind == tokNumber:
			return false
		case t.kind == tokWord && (negators[t.text] || butWords[t.text] || riskWords[t.text] || othersWords[t.text] ||
			numerals[t.text].value > 1 || !known(t.text) && strings.ContainsAny(t.text, "0123456789")):
			return false
		case t.kind == tokWord && !known(t.text):
			if first < 0 {
				first = i
			}
			last = i
		}
	}
	points := func(from, to int) bool { return tells(ts, from, to, partWords) || tells(ts, from, to, pointers) }
	checks := a.Purpose == models.PurposeCheck
	switch {
	case first < 0:
		return false
	case len(c.figures) > 0:
		return a.spareBeside(c, ts, first, last) && !tells(ts, c.from, c.to, partWords)
	case checks && c.has(senseGood): // "jalando de lujo la troquita", "runs great up the canyon"
		good := lastUsed(ts, c)
		return c.unknown <= 3 && (last < good || goodBridges[at(ts, good+1)])
	case c.has(sense(KindThanks)):
		return c.unknown <= 4 && !points(c.from, c.to)
	case c.has(senseGood, sense(KindYes), sense(KindLater)):
		return c.unknown <= 3 && !points(last, c.to) && (!checks || c.has(sense(KindLater)))
	case c.has(sense(KindNo)) || len(c.days) > 0:
		return false
	case checks:
		return greetings[at(ts, c.from)] && c.unknown <= 3
	}
	return c.unknown <= 3 && !points(c.from, c.to) && len(c.senses) == 0 && a.Purpose != ""
}

// spareBeside judges unread words beside figures: those before the first are
// of a greeting, those behind the last of a reason, and the figure must be
// plainly of the meter.
func (a Asked) spareBeside(c clause, ts []token, first, last int) bool {
	from, to := c.figures[0].token, c.figures[len(c.figures)-1].token
	for _, f := range c.figures {
		fits := slices.ContainsFunc(a.Machines, func(k Known) bool {
			return len(a.Machines) == 1 && k.fit(f, 0, a.Today).ok
		})
		if f.bound || f.run || f.unit == UnitNone && !(fits && a.Purpose == models.PurposeReading) {
			return false
		}
	}
	if last > to && tells(ts, to, c.to, pointers) {
		return false // "6120 miles and she pukes"
	}
	if first > from {
		return true
	}
	return greetings[at(ts, c.from)] || tells(ts, first, from, meterWords) || len(c.mentions) > 0
}

// tells says whether one of a set of words stands in a stretch.
func tells(ts []token, from, to int, words map[string]bool) bool {
	for i := max(0, from); i < to; i++ {
		if ts[i].kind == tokWord && words[ts[i].text] && !ts[i].used {
			return true
		}
	}
	return false
}

// lastUsed gives the last token of a clause from which something was read.
func lastUsed(ts []token, c clause) int {
	for i := c.to - 1; i >= c.from; i-- {
		if ts[i].used {
			return i
		}
	}
	return c.from
}

var (
	// riskWords make of a friendly sentence another one.
	riskWords = wordSet("again still otherwise yet now then wish shame pity sad unfortunately desafortunadamente lastima funny weird strange odd raro rara once first fix call bill charge owe money refund warranty garantia cobraron cobro paid worst wrong careful watch lawyer forgot lost missing another other also tambien ademas plus until wants supposed sold dealer neighbor vecino")
	// pointers point at a machine or what is in it.
	pointers = wordSet("it its itll she shes her he hes him that thats this theres there ella la lo le se esta anda")
	// goodBridges behind a good word lead to where or with whom it is good.
	goodBridges = wordSet("in on up down for all since even at through yall guys fellas boss man la el en para desde como sir amigo compa jefe carnal over around across by every from")
	// greetings begin a clause that says nothing of a machine.
	greetings = wordSet("hi hello hey hola buenas buenos buen dear saludos dios bendiciones bless tell dile hope espero happy feliz merry love your hows greetings que")
)
