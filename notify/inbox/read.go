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
		return Reply{}
	}
	if len(text) > maxText {
		return Reply{Person: models.ReasonMore}
	}
	whole := foldText(text)
	folded := whole.text
	if act, ok := command(folded, text); ok {
		return Reply{Acts: []Act{act}}
	}
	if r, ok := tapback(folded, text); ok {
		return r
	}
	ts := lex(folded, models.Spanish(a.Language))
	if a.Pending != nil {
		if r, ok := a.answer(whole, ts); ok {
			return r
		}
		ts = lex(folded, models.Spanish(a.Language)) // marks of the first look are gone
	}
	r := a.fresh(whole, ts)
	if r.Ask != nil && a.Pending != nil {
		r.Ask, r.Person = nil, models.ReasonTwice
	}
	return r
}

// command reads STOP, START and HELP, which count only as the whole message.
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
	current []string // the machine of the clause before
}

func (a Asked) finish(text string, cs []clause, asks bool) Reply {
	r := &reader{a: a}
	unknown := 0
	var all []sense
	for _, c := range cs {
		unknown += c.unknown
		all = append(all, c.senses...)
	}
	said := clause{senses: all}
	switch {
	case said.has(senseUnfit):
		return Reply{Person: models.ReasonNotAPerson}
	case said.has(senseMore):
		return Reply{Person: models.ReasonNoMore}
	case said.has(senseMeter):
		return Reply{Person: models.ReasonMeterChanged}
	case said.has(sense(KindWrongNumber)):
		return Reply{Acts: []Act{{Kind: KindWrongNumber, Words: strings.TrimSpace(text)}}}
	}
	for _, c := range cs {
		r.clause(c, said)
	}
	for i := range r.acts {
		if r.acts[i].Words == "" {
			r.acts[i].Words = strings.TrimSpace(text)
		}
	}
	return r.reply(said, unknown, asks)
}

// reply weighs what was read against what was not.
func (r *reader) reply(said clause, unknown int, asks bool) Reply {
	out := Reply{Acts: r.agreed(tidy(r.acts)), Person: r.person}
	r.dropStray(&out)
	switch {
	case len(r.asks) == 1:
		out.Ask = &r.asks[0]
	case len(r.asks) > 1: // one question a reply; two are for a person
		out.Person = models.ReasonUnread
	}
	told := slices.ContainsFunc(out.Acts, func(a Act) bool {
		return a.Kind == KindTrouble || a.Kind == KindComeback || a.Kind == KindSold
	})
	nothing := len(out.Acts) == 0 && out.Ask == nil
	switch {
	case out.Person != "":
	case said.has(senseCancel):
		out.Person = models.ReasonCallsOff
	case said.has(senseCall):
		out.Person = models.ReasonAsksCall
	case asks || said.has(senseWants):
		out.Person = models.ReasonQuestion
	case nothing:
		out.Person = models.ReasonUnread
	case !told && unknown > 1:
		out.Person = models.ReasonMore
	case !told && unknown == 1 && onlyPolite(out.Acts):
		out.Person = models.ReasonMore
	}
	return out
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

// onlyPolite says whether acts say so little that a word beside them weighs
// more than they do.
func onlyPolite(acts []Act) bool {
	return !slices.ContainsFunc(acts, func(a Act) bool {
		return a.Kind != KindThanks && a.Kind != KindOK && a.Kind != KindYes && a.Kind != KindNo
	})
}

// tidy drops thanks beside other acts, and doubles.
func tidy(acts []Act) []Act {
	var out []Act
	for _, a := range acts {
		if a.Kind == KindThanks && len(acts) > 1 {
			continue
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

func same(a, b Act) bool {
	return a.Kind == b.Kind && a.Machine == b.Machine && a.Miles == b.Miles && a.Hours == b.Hours && a.On == b.On
}

// clause reads one clause.
func (r *reader) clause(c clause, said clause) {
	for _, m := range c.mentions {
		if len(m.ids) == 0 {
			r.person = models.ReasonNoMachine
			r.current = nil
			return
		}
	}
	if said.has(senseBut) || c.others && len(c.mentions) == 0 { // of machines that can only be guessed
		r.person = models.ReasonMore
		c.senses = slices.DeleteFunc(c.senses, func(s sense) bool { return s != senseFault && s != sense(KindComeback) })
		c.items = nil
	}
	for _, g := range r.groups(c) {
		r.group(g, said)
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

// group is a clause, or the part of one that is about one machine.
type group struct {
	clause
	ids   []string // machines meant; several: any of them
	named bool     // they were named, not worked out
}

// groups deals a clause's figures to the machines that it names: each figure
// to the machine before it, or behind it where a figure comes first.
func (r *reader) groups(c clause) []group {
	switch {
	case len(c.mentions) == 0:
		return []group{{clause: c, ids: r.current, named: len(r.current) > 0}}
	case len(c.mentions) == 1:
		return []group{{clause: c, ids: c.mentions[0].ids, named: true}}
	}
	out := make([]group, len(c.mentions))
	for i, m := range c.mentions {
		out[i] = group{clause: c, ids: m.ids, named: true}
		out[i].figures = nil
	}
	ahead := len(c.figures) > 0 && c.figures[0].token < c.mentions[0].from
	for _, f := range c.figures {
		k := 0
		for i, m := range c.mentions {
			if ahead && m.from < f.token && i+1 < len(c.mentions) {
				k = i + 1
			} else if !ahead && m.from < f.token {
				k = i
			}
		}
		out[k].figures = append(out[k].figures, f)
	}
	return out
}

// group turns one group into acts.
func (r *reader) group(g group, said clause) {
	checks := r.a.Purpose == models.PurposeCheck
	wants := said.has(senseWants) || g.asked
	g.figures = r.ofMeters(g)
	refused := said.has(senseCancel) || g.when.not && g.when.on > r.a.Today || ahead(g.when, r.a.Today) != 0 && g.has(senseFault) && g.when.plain && len(g.figures) == 0 && len(g.mentions) == 0
	switch {
	case refused: // "cancel friday", "friday does not work": no trouble, and no day
		r.person = models.ReasonCallsOff
		return
	case g.has(sense(KindSold)) && !g.asked:
		r.about(g, Act{Kind: KindSold}, false)
	case g.has(sense(KindComeback)):
		r.trouble(g, KindComeback)
	case g.has(senseFault):
		r.trouble(g, KindTrouble)
	case g.asked && !(g.when.number > 0 && g.when.on > r.a.Today):
		return // a question says nothing that could be recorded
	case g.has(sense(KindDone)) && !wants:
		r.done(g)
		return // its figures are those of the work
	case len(g.items) > 0 && !wants && (g.when.past || len(g.figures) > 0) && r.a.Purpose == models.PurposeNotices:
		r.done(g)
		return
	case g.has(sense(KindLater)):
		r.acts = append(r.acts, Act{Kind: KindLater, Machine: only(g.ids), On: ahead(g.when, r.a.Today), Words: g.words})
	case !checks && !g.has(sense(KindLater)) && g.when.number > 0 && !g.when.past && len(g.figures) == 0 && g.when.on > r.a.Today:
		r.day(g)
	case g.has(senseGood) && (checks || len(g.figures) == 0 && ahead(g.when, r.a.Today) == 0):
		r.good(g)
	case g.has(sense(KindYes)):
		r.yesNo(g, KindYes, KindOK)
	case g.has(sense(KindNo)):
		r.yesNo(g, KindNo, KindComeback)
	case g.has(sense(KindThanks)) && len(g.figures) == 0 && g.when.number == 0:
		r.acts = append(r.acts, Act{Kind: KindThanks, Words: g.words})
	case g.when.number > 0 && !g.when.past && len(g.figures) == 0 && g.when.on > r.a.Today:
		r.day(g)
	}
	if g.asked {
		return
	}
	if g.has(senseAll) && len(g.figures) == 1 && len(g.mentions) == 0 {
		r.person = models.ReasonMore // "6120 for both"
		return
	}
	for n, f := range g.figures {
		if len(g.days) == len(g.figures) && len(g.days) > 1 {
			g.when = g.days[n] // "6050 last month and 6120 now"
		}
		r.figure(g, f, Act{Kind: KindReading, Guess: f.rough, About: f.rough || g.when.past && g.when.rough, On: behind(g.when, r.a.Today)})
	}
}

// ofMeters leaves out figures that may be a time of day or a distance run
// ("at 8", "ran it 50 miles") where no meter meant can show them.
func (r *reader) ofMeters(g group) []figure {
	return slices.DeleteFunc(slices.Clone(g.figures), func(f figure) bool {
		return f.run && !slices.ContainsFunc(r.meant(g), func(id string) bool {
			k, ok := r.a.machine(id)
			return ok && k.holdsAny(f, behind(g.when, r.a.Today), r.a.Today)
		})
	})
}

// ahead gives a day to come, none for others; behind a day of the past or
// today.
func ahead(w when, today models.Date) models.Date {
	if w.number == 0 || w.on <= today {
		return 0
	}
	return w.on
}

func behind(w when, today models.Date) models.Date {
	switch {
	case w.number == 0:
		return 0
	case w.on <= today:
		return w.on
	}
	return w.ago // "friday" of what has been
}

func only(ids []string) string {
	if len(ids) == 1 {
		return ids[0]
	}
	return ""
}
