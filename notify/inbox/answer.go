package inbox

import (
	"math"
	"slices"
	"strings"

	"example.org/roundsman/models"
)

// answer reads a reply as the answer to what was asked back; false where it
// does not seem to be one.
func (a Asked) answer(text folded, ts []token) (Reply, bool) {
	q := *a.Pending
	asked := a
	if q.Kind == AskMachine && len(q.Machines) > 0 {
		asked.About = q.Machines
	}
	var c clause
	if len(ts) == 1 && letterWords[ts[0].text] != "" {
		c = clause{senses: []sense{letterWords[ts[0].text]}}
	} else {
		for _, part := range asked.parse(text, ts) {
			c.mentions = append(c.mentions, part.mentions...)
			c.figures = append(c.figures, part.figures...)
			c.senses = append(c.senses, part.senses...)
			c.items = append(c.items, part.items...)
			c.days = append(c.days, part.days...)
			if c.when.number == 0 {
				c.when = part.when
			}
			c.unknown += part.unknown
			c.words = strings.TrimSpace(c.words + " " + part.words)
			c.care |= part.care
		}
	}
	if c.has(senseFault, senseMeter, sense(KindComeback), sense(KindSold), sense(KindWrongNumber)) || c.unknown > 1 || c.is(questioned) || c.is(soft) && len(c.figures) == 0 {
		return Reply{}, false
	}
	switch q.Kind {
	case AskValue:
		return a.answerValue(q, c)
	case AskMachine:
		return a.answerMachine(q, c)
	case AskMeter:
		return a.answerMeter(q, c, ts)
	case AskItem:
		return a.answerItem(q, c)
	case AskWhen:
		return a.answerWhen(q, c)
	}
	return Reply{}, false
}

func yes(c clause) bool { return c.has(sense(KindYes), senseGood) }

// answerValue takes a yes for the likely value, the same figure again for the
// figure, and another one that is believed for itself.
func (a Asked) answerValue(q Question, c clause) (Reply, bool) {
	if len(c.mentions) > 0 && !slices.Contains(c.mentions[0].ids, q.Act.Machine) {
		return Reply{}, false
	}
	take := func(v float64) (Reply, bool) {
		act := q.Act.with(verdict{meter: q.Meter, value: v})
		act.Sure = true
		return Reply{Acts: []Act{act}}, true
	}
	k, ok := a.machine(q.Act.Machine)
	switch {
	case !ok:
		return Reply{}, false
	case len(c.figures) == 1 && c.figures[0].unit != UnitNone && !slices.Contains(k.meters(c.figures[0].unit), q.Meter):
		if v := k.fit(c.figures[0], q.Act.On, a.Today); v.ok { // a value of the other meter
			act := Act{Kind: KindReading, Machine: q.Act.Machine, On: q.Act.On}.with(v)
			act.Words = c.words
			return Reply{Acts: []Act{act}}, true
		}
		return Reply{Person: models.ReasonTwice}, true
	case len(c.figures) == 1 && c.figures[0].rough:
		return Reply{}, false
	case len(c.figures) == 1:
		span := k.span(q.Meter).on(q.Act.On, a.Today)
		for _, v := range c.figures[0].vals {
			if near(v, q.Value.F) || q.Likely.Known && near(v, q.Likely.F) || span.bounded() && span.holds(v) {
				return take(v)
			}
		}
		return Reply{Person: models.ReasonTwice}, true
	case len(c.figures) > 1:
		return Reply{}, false
	case yes(c) && q.Likely.Known:
		return take(q.Likely.F)
	case yes(c):
		return take(q.Value.F)
	case c.has(sense(KindNo)) && len(wordsOf(fold(c.words))) <= 5: // the value is dropped, and the desk is told
		return Reply{Acts: []Act{{Kind: KindNo, Machine: q.Act.Machine, Words: c.words}}}, true
	case c.has(sense(KindNo)):
		return Reply{Person: models.ReasonTwice}, true
	}
	return Reply{}, false
}

func near(a, b float64) bool { return math.Abs(a-b) < 0.05 }

// answerMachine takes the name of a machine.
func (a Asked) answerMachine(q Question, c clause) (Reply, bool) {
	if len(c.mentions) != 1 || len(c.mentions[0].ids) != 1 || len(c.figures) > 0 {
		return Reply{}, false
	}
	id := c.mentions[0].ids[0]
	k, ok := a.machine(id)
	if !ok {
		return Reply{Person: models.ReasonNoMachine}, true
	}
	act := q.Act
	act.Machine = id
	if act.Kind.Answers() {
		act.Check = k.Check
	}
	if q.Value.Known {
		v := k.fit(figure{vals: []float64{q.Value.F}, unit: q.Unit}, act.On, a.Today)
		if !v.ok {
			return Reply{Person: models.ReasonTwice}, true
		}
		act = act.with(v)
	}
	if act.Kind == KindDone && len(act.Items) == 0 {
		if len(k.Items) != 1 {
			return Reply{Person: models.ReasonTwice}, true
		}
		act.Items = k.Items
	}
	if act.Kind == KindDone && act.undated() {
		return Reply{Ask: &Question{Kind: AskWhen, Act: act}}, true
	}
	return Reply{Acts: []Act{act}}, true
}

// answerMeter takes "miles" or "hours".
func (a Asked) answerMeter(q Question, c clause, ts []token) (Reply, bool) {
	unit := UnitNone
	for _, t := range ts {
		if u := unitWords[t.text]; u != UnitNone && t.kind == tokWord {
			if unit != UnitNone && unit != u {
				return Reply{Person: models.ReasonTwice}, true
			}
			unit = u
		}
	}
	k, ok := a.machine(q.Act.Machine)
	if unit == UnitNone || !ok || len(c.figures) > 1 {
		return Reply{}, false
	}
	f := figure{vals: []float64{q.Value.F}, unit: unit}
	if len(c.figures) == 1 {
		f.vals = c.figures[0].vals
	}
	v := k.fit(f, q.Act.On, a.Today)
	if !v.ok {
		return Reply{Person: models.ReasonTwice}, true
	}
	return Reply{Acts: []Act{q.Act.with(v)}}, true
}

// answerItem takes names of work, or "all of it".
func (a Asked) answerItem(q Question, c clause) (Reply, bool) {
	act := q.Act
	switch {
	case c.has(senseAll):
		act.Items = q.Items
	case len(c.items) > 0:
		act.Items = renewed(c.items, q.Act.Words+" "+c.words)
	default:
		return Reply{}, false
	}
	if act.On == 0 && !c.when.clash {
		act.On, act.About = behind(c.when, a.Today), act.About || c.when.rough
	}
	if act.undated() {
		return Reply{Ask: &Question{Kind: AskWhen, Act: act}}, true
	}
	return Reply{Acts: []Act{act}}, true
}

// answerWhen takes a day that has been.
func (a Asked) answerWhen(q Question, c clause) (Reply, bool) {
	act := q.Act
	if act.On = behind(c.when, a.Today); act.On == 0 || len(c.days) != 1 || c.when.clash || c.unknown > 0 || c.is(theirs) {
		return Reply{}, false
	}
	act.About = act.About || c.when.rough
	return Reply{Acts: []Act{act}}, true
}
