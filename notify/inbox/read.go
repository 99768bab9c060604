package inbox

import (
	"slices"
	"strings"

	"example.org/roundsman/models"
)

// maxText bounds what is read of a reply, in octets; a longer one is for a
// person.
const maxText = 4000

// Read gives what a reply says. It depends on its arguments alone.
func Read(text string, a Asked) Reply {
	if strings.TrimSpace(text) == "" {
		text = a.Subject // such as our own List-Unsubscribe makes
	}
	text = a.without(text)
	if strings.TrimSpace(text) == "" {
		return Reply{}
	}
	if len(text) > maxText {
		return Reply{Person: models.ReasonMore}
	}
	whole := foldText(text)
	if act, ok := command(whole.text, text); ok {
		return Reply{Acts: []Act{act}}
	}
	if r, ok := tapback(whole.text, text); ok {
		return r
	}
	if q := a.Pending; q != nil && q.Kind == AskDay {
		a.Days = q.Days
	}
	r := a.said(whole)
	switch refusal(whole, a) {
	case refused:
		if rest := unrefused(text, a); rest != "" {
			r = a.said(foldText(rest))
		}
		r = r.besides(Act{Kind: KindStop, Words: strings.TrimSpace(text)})
	case refusedMaybe:
		r.Acts, r.Ask, r.Person = nil, nil, models.ReasonNoMore
	}
	return r
}

// unrefused gives the sentences of a text that do not refuse, where the others
// do: what they say is then not lost.
func unrefused(text string, a Asked) string {
	var left []string
	for _, s := range strings.FieldsFunc(text, func(r rune) bool { return r == '.' || r == '!' || r == '\n' || r == ';' }) {
		if refusal(foldText(s), a) == refusedNot {
			left = append(left, s)
		}
	}
	return strings.TrimSpace(strings.Join(left, ". "))
}

// said reads a reply as the answer to what was asked back, else by itself.
func (a Asked) said(whole folded) Reply {
	tokens := func() []token { return sayNumbers(sayOrdinals(respelled(lex(whole.text, models.Spanish(a.Language))))) }
	if a.Pending != nil {
		if r, ok := a.answer(whole, tokens()); ok {
			return r
		}
	}
	r := a.fresh(whole, tokens())
	if r.Ask != nil && a.Pending != nil && a.Pending.Kind != AskDay {
		r.Ask, r.Person = nil, models.ReasonTwice
	}
	return r
}

// besides adds a refusal to what a reply says: only what is wrong with a
// machine, or that it is gone, stands beside it.
func (r Reply) besides(stop Act) Reply {
	out := Reply{Acts: []Act{stop}}
	for _, act := range r.Acts {
		switch act.Kind {
		case KindTrouble, KindComeback:
			if hasWord(act.Words, hardStops) || hasWord(act.Words, weakStops) {
				continue // the refusal itself: "please quit"
			}
			out.Acts = append(out.Acts, act)
		case KindSold, KindWrongNumber:
			out.Acts = append(out.Acts, act)
		}
	}
	if r.Person == models.ReasonTrouble || r.Person == models.ReasonAsksCall {
		out.Person = r.Person
	} else if r.Ask != nil || slices.ContainsFunc(r.Acts, func(a Act) bool {
		return a.Kind == KindReading || a.Kind == KindDone || a.Kind == KindDay || a.Kind == KindOK && a.Check != ""
	}) {
		out.Person = models.ReasonMore
	}
	return out
}

// command reads STOP, START and HELP where they are the whole message.
func command(folded, text string) (Act, bool) {
	words := strings.TrimSpace(text)
	if w, ok := whole(folded, stopWords); ok {
		return Act{Kind: KindStop, Cancel: w == "cancel" || w == "cancelar", Words: words}, true
	}
	if _, ok := whole(folded, startWords); ok {
		return Act{Kind: KindStart, Words: words}, true
	}
	if _, ok := whole(folded, helpWords); ok {
		return Act{Kind: KindHelp, Words: words}, true
	}
	return Act{}, false
}

// tapback reads the texts that some phones send when a message is only marked
// (common practice, no source): they repeat our own words, which must not be
// read as an answer.
func tapback(folded, text string) (Reply, bool) {
	i := strings.IndexAny(folded, "\"“«")
	if i < 0 {
		return Reply{}, false
	}
	mark := strings.TrimSpace(folded[:i])
	switch mark {
	case "liked", "loved", "emphasized", "laughed at", "le gusto", "me gusta", "le encanto", "reacted with 👍 to", "reacted 👍 to", "👍 to", "enfatizo":
		return Reply{Acts: []Act{{Kind: KindThanks, Words: strings.TrimSpace(text)}}}, true
	case "disliked", "questioned", "no le gusto", "pregunto":
		return Reply{Person: models.ReasonQuestion}, true
	}
	return Reply{}, false
}

// fresh reads a reply by itself.
func (a Asked) fresh(text folded, ts []token) Reply {
	if len(ts) == 1 {
		if s, ok := letterWords[ts[0].text]; ok {
			return a.finish(text.original, []clause{{senses: []sense{s}, words: strings.TrimSpace(text.original)}}, false)
		}
	}
	asks := slices.ContainsFunc(ts, func(t token) bool { return t.kind == tokAsk })
	return a.finish(text.original, a.parse(text, ts), asks)
}

// reader gathers what clauses say.
type reader struct {
	a       Asked
	acts    []Act
	asks    []Question
	person  models.Reason
	dropped bool // something was said that is not taken for a fact
	open    bool // a question stays open
	clauses []clause
	current []string // the machine of the clause before
}

// finish turns the clauses of a text into a reply; asks: it has a question mark.
func (a Asked) finish(text string, cs []clause, asks bool) Reply {
	r := &reader{a: a, clauses: cs}
	var all clause
	for _, c := range cs {
		all.unknown += c.unknown
		all.senses = append(all.senses, c.senses...)
		all.care |= c.care
		all.days, all.figures = append(all.days, c.days...), append(all.figures, c.figures...)
	}
	r.open = asks && !all.is(questioned)
	switch {
	case all.has(senseUnfit):
		return Reply{Person: models.ReasonNotAPerson}
	case all.has(senseMeter):
		r.person = models.ReasonMeterChanged
	case all.has(sense(KindWrongNumber)) && !all.is(iffy) && (!all.is(questioned) || all.has(sense(KindHelp))):
		return Reply{Acts: []Act{{Kind: KindWrongNumber, Words: strings.TrimSpace(text)}}}
	case all.has(sense(KindHelp)) && all.has(senseNone): // "who is this? no r12 here"
		return Reply{Acts: []Act{{Kind: KindWrongNumber, Words: strings.TrimSpace(text)}}}
	case all.has(sense(KindHelp)) && r.barred(KindHelp, group{}, all): // "an invoice, whats this about"
		return Reply{Person: r.person}
	case all.has(sense(KindHelp)):
		help := Reply{Acts: []Act{{Kind: KindHelp, Words: strings.TrimSpace(text)}}}
		if all.is(unread|denial) || len(all.figures) > 0 || !all.only(sense(KindHelp)) {
			help.Person = models.ReasonMore
		}
		return help
	}
	for _, c := range cs {
		r.clause(c, all)
	}
	if all.has(senseMeter) { // whether a figure is of the old one or the new a person sees
		r.asks = nil
		r.acts = slices.DeleteFunc(r.acts, func(a Act) bool { return a.Kind != KindReading && a.Kind != KindDone })
	}
	if all.is(corrected) {
		r.takenBack(all)
	}
	for i := range r.acts {
		if r.acts[i].Words == "" {
			r.acts[i].Words = strings.TrimSpace(text)
		}
	}
	return r.reply(all)
}

// reply weighs what was read against what was not.
func (r *reader) reply(all clause) Reply {
	out := Reply{Acts: r.agreed(tidy(r.acts)), Person: r.person}
	if r.a.Purpose != models.PurposeVisit && slices.ContainsFunc(out.Acts, func(a Act) bool { return a.Kind == KindDay }) {
		out.Acts = slices.DeleteFunc(out.Acts, func(a Act) bool { return a.Kind == KindNo }) // of other days
	}
	r.dropStray(&out)
	r.refusedDays(&out, all)
	switch {
	case len(r.asks) == 1:
		out.Ask = &r.asks[0]
	case len(r.asks) > 1: // one question a reply; two are for a person
		out.Person = models.ReasonUnread
	}
	rest := slices.ContainsFunc(r.clauses, func(c clause) bool { // else the desk is told the whole of it
		told := c.has(sense(KindSold), senseFault, sense(KindComeback)) && len(out.Acts) > 0
		return c.is(unread|denial|iffy) && !told
	})
	nothing := len(out.Acts) == 0 && out.Ask == nil
	switch {
	case out.Person != "":
	case all.has(senseCall):
		out.Person = models.ReasonAsksCall
	case r.open || all.has(senseWants):
		out.Person = models.ReasonQuestion
	case nothing && all.has(senseFault, senseUnwell):
		out.Person = models.ReasonTrouble
	case nothing:
		out.Person = models.ReasonUnread
	case rest, r.dropped:
		out.Person = models.ReasonMore
	}
	return out
}

// takenBack leaves out days and values where the reply corrects itself and
// names several: which of them it means is for a person.
func (r *reader) takenBack(all clause) {
	values, days := 0, 0
	for _, d := range all.days {
		if !d.not {
			days++
		}
	}
	for _, a := range r.acts {
		if a.Kind == KindReading && a.Miles.Known {
			values++
		}
		if a.Kind == KindReading && a.Hours.Known {
			values++
		}
	}
	r.acts = slices.DeleteFunc(r.acts, func(a Act) bool {
		several := values > 0 && values < len(all.figures) && a.Kind == KindReading || days > 1 && (a.Kind == KindDay || a.Kind == KindLater)
		if several {
			r.drop(models.ReasonContrary)
		}
		return several
	})
}

// agreed leaves out readings of one meter and day that differ: one of them is
// wrong, and nobody can say which.
func (r *reader) agreed(acts []Act) []Act {
	differ := func(a, b Act) bool {
		return a.Kind == KindReading && b.Kind == KindReading && a.Machine == b.Machine && a.On == b.On &&
			(a.Miles.Known && b.Miles.Known && a.Miles != b.Miles || a.Hours.Known && b.Hours.Known && a.Hours != b.Hours)
	}
	var out []Act
	for _, a := range acts {
		if slices.ContainsFunc(acts, func(b Act) bool { return differ(a, b) }) {
			r.person = models.ReasonContrary
			continue
		}
		out = append(out, a)
	}
	return out
}

// dropStray leaves out questions about figures of a meter of which the same
// reply gives a value that is believed: they are of something else ("temp hit
// 230 at 6120").
func (r *reader) dropStray(out *Reply) {
	r.asks = slices.DeleteFunc(r.asks, func(q Question) bool {
		stray := (q.Kind == AskValue || q.Kind == AskMeter) && q.Act.Kind == KindReading &&
			slices.ContainsFunc(out.Acts, func(a Act) bool {
				return a.Machine == q.Act.Machine && (a.Miles.Known && q.Meter != models.HourMeter || a.Hours.Known && q.Meter != models.Odometer)
			})
		if stray && out.Person == "" {
			out.Person = models.ReasonMore
		}
		return stray
	})
}

// refusedDays leaves out a day that the same reply refuses: "thursday, but not
// the 3rd".
func (r *reader) refusedDays(out *Reply, all clause) {
	out.Acts = slices.DeleteFunc(out.Acts, func(a Act) bool {
		not := a.Kind == KindDay && slices.ContainsFunc(all.days, func(w when) bool { return w.not && w.on == a.On })
		if not {
			out.Person = models.ReasonDays
		}
		return not
	})
}

// tidy drops thanks beside other acts, and doubles.
func tidy(acts []Act) []Act {
	var out []Act
	for _, a := range acts {
		if a.Kind == KindThanks && len(acts) > 1 {
			continue
		}
		if a.Kind == KindTrouble && slices.ContainsFunc(acts, func(b Act) bool { return b.Kind == KindComeback && b.Machine == a.Machine }) {
			continue
		}
		if a.Kind == KindLater && a.On == 0 && slices.ContainsFunc(acts, a.outdone) {
			continue // "not yet, ask me monday"; a closer look; the rest of work of which a part was done
		}
		if !slices.ContainsFunc(out, func(b Act) bool { return same(a, b) }) {
			out = append(out, a)
		}
	}
	if len(out) == 0 && len(acts) > 0 {
		out = acts[:1]
	}
	return out
}

// outdone says whether a bare "later" says nothing beside another act.
func (a Act) outdone(b Act) bool {
	return b.Kind == KindLater && b.On != 0 || (b.Kind == KindDone || b.Kind == KindReading) && (a.Machine == "" || a.Machine == b.Machine)
}

// same says whether two acts say the same thing.
func same(a, b Act) bool {
	return a.Kind == b.Kind && a.Machine == b.Machine && a.Miles == b.Miles && a.Hours == b.Hours && a.On == b.On
}

// clause reads one clause.
func (r *reader) clause(c, all clause) {
	for _, m := range c.mentions {
		if len(m.ids) == 0 {
			r.person = models.ReasonNoMachine
			r.current = nil
			return
		}
	}
	if all.has(senseBut) || c.is(pointed) && len(c.mentions) == 0 { // of machines that can only be guessed
		r.person = models.ReasonMore
		if c.has(senseFault, sense(KindComeback)) {
			r.person = models.ReasonTrouble
		}
		c.senses = slices.DeleteFunc(c.senses, func(s sense) bool { return s != senseFault && s != sense(KindComeback) })
		c.items, c.figures, c.days, c.when = nil, nil, nil, when{}
	}
	for _, g := range r.groups(c) {
		r.group(g, all)
	}
	if len(c.mentions) > 0 {
		r.current = nil
		for _, m := range c.mentions {
			r.current = append(r.current, m.ids...)
		}
		if len(c.mentions) > 1 {
			r.current = c.mentions[len(c.mentions)-1].ids
		}
	}
}
