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
		r = r.besides(Act{Kind: KindStop, Words: strings.TrimSpace(text)})
	case refusedMaybe:
		r.Acts, r.Ask, r.Person = nil, nil, models.ReasonNoMore
	}
	return r
}

// said reads a reply as the answer to what was asked back, else by itself.
func (a Asked) said(whole folded) Reply {
	tokens := func() []token { return sayNumbers(lex(whole.text, models.Spanish(a.Language))) }
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
		case KindTrouble, KindComeback, KindSold, KindWrongNumber:
			out.Acts = append(out.Acts, act)
		}
	}
	if r.Person == models.ReasonTrouble || r.Person == models.ReasonAsksCall {
		out.Person = r.Person
	} else if len(strings.Fields(stop.Words)) > 10 {
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

func (a Asked) finish(text string, cs []clause, asks bool) Reply {
	r := &reader{a: a, clauses: cs}
	var all clause
	for _, c := range cs {
		all.unknown += c.unknown
		all.senses = append(all.senses, c.senses...)
		all.care.add(c.care)
		all.days, all.figures = append(all.days, c.days...), append(all.figures, c.figures...)
		all.asked = all.asked || c.asked
	}
	r.open = asks && !all.asked
	switch {
	case all.has(senseUnfit):
		return Reply{Person: models.ReasonNotAPerson}
	case all.has(senseMeter):
		r.person = models.ReasonMeterChanged
	case all.has(sense(KindWrongNumber)) && !all.care.ifs && !all.asked:
		return Reply{Acts: []Act{{Kind: KindWrongNumber, Words: strings.TrimSpace(text)}}}
	case all.has(sense(KindHelp)):
		return Reply{Acts: []Act{{Kind: KindHelp, Words: strings.TrimSpace(text)}}}
	}
	for _, c := range cs {
		r.clause(c, all)
	}
	if all.has(senseMeter) { // whether a figure is of the old one or the new a person sees
		r.asks = nil
		r.acts = slices.DeleteFunc(r.acts, func(a Act) bool { return a.Kind != KindReading && a.Kind != KindDone })
	}
	if all.care.correct {
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
	case all.has(senseCall):
		out.Person = models.ReasonAsksCall
	case r.open || all.has(senseWants):
		out.Person = models.ReasonQuestion
	case nothing && all.has(senseFault, senseUnwell):
		out.Person = models.ReasonTrouble
	case nothing:
		out.Person = models.ReasonUnread
	case !told && all.unknown > 0, r.dropped:
		out.Person = models.ReasonMore
	}
	return out
}

// takenBack leaves out days and values where the reply corrects itself and
// names several: which of them it means is for a person.
func (r *reader) takenBack(all clause) {
	values := 0
	for _, a := range r.acts {
		if a.Kind == KindReading && a.Miles.Known {
			values++
		}
		if a.Kind == KindReading && a.Hours.Known {
			values++
		}
	}
	r.acts = slices.DeleteFunc(r.acts, func(a Act) bool {
		several := values > 0 && values < len(all.figures) && a.Kind == KindReading || len(all.days) > 1 && (a.Kind == KindDay || a.Kind == KindLater)
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
func (r *reader) clause(c, all clause) {
	for _, m := range c.mentions {
		if len(m.ids) == 0 {
			r.person = models.ReasonNoMachine
			r.current = nil
			return
		}
	}
	if all.has(senseBut) || c.others && len(c.mentions) == 0 { // of machines that can only be guessed
		r.person = models.ReasonMore
		c.senses = slices.DeleteFunc(c.senses, func(s sense) bool { return s != senseFault && s != sense(KindComeback) })
		c.items, c.figures = nil, nil
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

// drop leaves something that was said to a person.
func (r *reader) drop(why models.Reason) {
	r.dropped = true
	if r.person == "" {
		r.person = why
	}
}

// saying turns what one group says, but for its figures, into acts. taken
// says that its figures are spoken for.
func (r *reader) saying(g group, all clause) (taken bool) {
	checks := r.a.Purpose == models.PurposeCheck
	to := ahead(g.when, r.a.Today)
	bare := len(g.figures) == 0
	fault := g.has(senseFault, sense(KindComeback)) || g.has(senseUnwell) && to == 0 && checks
	praise := g.has(senseGood, sense(KindYes), sense(KindThanks))
	switch {
	case g.has(sense(KindSold)):
		if g.asked || g.care.future || g.care.hearsay || g.care.denied || g.unknown > 0 && !g.owned() {
			r.drop(models.ReasonMore)
			return true
		}
		r.about(g, Act{Kind: KindSold}, false)
	case g.when.not && g.when.apart:
		r.drop(models.ReasonDays) // "any day but monday"
		return true
	case r.planned() && !checks && (g.has(senseCancel) || to != 0 && g.has(sense(KindNo), senseUnwell) && !fault) || g.when.not && r.a.Purpose == models.PurposeVisit && slices.Contains(r.a.Days, g.when.on):
		r.decline(g, all)
	case g.has(senseCancel), g.when.not, to != 0 && g.has(senseUnwell):
		r.drop(models.ReasonCallsOff) // "cancel friday", "friday does not work": no trouble, and no day
		return true
	case fault:
		r.faulty(g, praise)
	case g.has(senseWants) && to == 0, g.asked && (to == 0 || g.when.clash || !r.proposes(g)):
		r.open = r.open || g.asked
		return g.asked // a question says nothing that could be recorded
	case g.has(sense(KindDone)) && (bare || g.care.firm()), len(g.items) > 0 && (g.when.past || !bare) && r.a.Purpose == models.PurposeNotices && !g.care.future:
		r.done(g, all)
		return true // its figures are those of the work
	case g.has(sense(KindLater)):
		if g.unknown > 2 || g.care.theirs || g.care.denied || all.has(senseFault) {
			r.drop(models.ReasonMore)
			return false
		}
		r.acts = append(r.acts, Act{Kind: KindLater, Machine: only(g.ids), On: to, Words: g.words})
	case !checks && g.when.number > 0 && (g.when.on > r.a.Today || g.when.clash) && !g.when.past && bare:
		r.day(g, all)
	case g.has(senseGood, sense(KindYes), sense(KindNo)):
		r.judged(g, all)
	case g.has(sense(KindThanks)) && bare && g.when.number == 0:
		if all.unknown == 0 {
			r.acts = append(r.acts, Act{Kind: KindThanks, Words: g.words})
		}
	case g.when.number > 0 && !g.when.past && bare && g.when.on > r.a.Today:
		r.day(g, all)
	}
	return false
}

// group turns one group into acts.
func (r *reader) group(g group, all clause) {
	g.figures = r.ofMeters(g)
	if r.saying(g, all) {
		return
	}
	if g.asked {
		r.open = r.open || len(g.figures) > 0 || g.when.number == 0
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
		if !r.shown(g, f) {
			r.drop(models.ReasonMore)
			continue
		}
		f.rough = f.rough || g.care.doubts
		r.figure(g, f, Act{Kind: KindReading, Guess: f.rough, About: f.rough || g.when.past && g.when.rough, On: behind(g.when, r.a.Today)})
	}
}

// shown says whether a figure can be taken for what a meter shows: nothing
// about it says that it is a limit, a plan, hearsay or of something else, and
// it bears a unit or stands among words that are all known.
func (r *reader) shown(g group, f figure) bool {
	k := g.care
	switch {
	case f.bound || f.run && g.unknown > 0 || k.hearsay || k.foreign || k.future && !f.rough || k.turns && k.doubts || k.theirs && g.unknown > 0 || len(g.items) > 0 && !r.wants():
		return false
	case f.unit != UnitNone:
		return true
	}
	return g.unknown == 0 || k.metered && g.unknown <= 3 || r.wants() && g.leads(f)
}

// leads says whether a figure opens its clause and stands by itself there:
// "6120 and the winch cable is frayed".
func (g group) leads(f figure) bool {
	return f.token == g.from && (f.alone || g.to == f.token+1)
}

// wants says whether a reading was asked for.
func (r *reader) wants() bool { return r.a.Purpose == models.PurposeReading }

// planned says whether a visit was told or proposed, so that a yes or no, or
// a day, is about that.
func (r *reader) planned() bool {
	return r.a.Purpose == models.PurposeVisit || r.a.Purpose == models.PurposeNotices || len(r.a.Days) > 0
}

// proposes says whether a question proposes a day ("can we do tuesday?").
func (r *reader) proposes(g group) bool {
	return g.unknown == 0 && !g.care.theirs && len(g.days) == 1 && !g.has(sense(KindDone))
}

// owned says whether what was sold is named: "sold it", "we sold R12".
func (g group) owned() bool {
	return len(g.mentions) > 0 || g.care.metered || strings.Contains(" "+fold(g.words)+" ", " it ") || strings.Contains(" "+fold(g.words), " la vend") || strings.Contains(" "+fold(g.words), " lo vend")
}

// only says whether a group has no senses but the given ones.
func (g group) only(kind Kind, others ...sense) bool {
	for _, s := range g.senses {
		if s != sense(kind) && !slices.Contains(others, s) {
			return false
		}
	}
	return true
}

// faulty adds that something is wrong, where that is plain; where it is
// denied, asked, hoped or praised in one breath a person looks at once.
func (r *reader) faulty(g group, praise bool) {
	if g.unknown > 0 && g.only(Kind(senseUnwell)) || g.asked || g.care.denied || g.care.ifs || g.care.correct || g.care.hearsay || g.care.foreign || praise || g.has(sense(KindDone)) || g.care.theirs && g.unknown > 0 {
		r.drop(models.ReasonTrouble)
		return
	}
	kind := KindTrouble
	if g.has(sense(KindComeback)) {
		kind = KindComeback
	}
	r.trouble(g, kind)
}

// judged adds what a good word, a yes or a no says where it answers something:
// only where every word of the reply was read, since one that was not may turn
// it round.
func (r *reader) judged(g group, all clause) {
	no := g.has(sense(KindNo)) && !g.has(senseGood)
	if r.a.Purpose == models.PurposeReading || r.a.Purpose == "" { // it answers nothing
		if all.unknown == 0 && len(g.figures) == 0 {
			kind := KindOK
			switch {
			case no:
				kind = KindNo
			case g.has(sense(KindYes)):
				kind = KindYes
			}
			r.acts = append(r.acts, Act{Kind: kind, Machine: only(g.ids), Words: g.words})
		}
		return
	}
	if all.unknown > 0 || !all.care.firm() || all.asked || r.faults(g) || slices.ContainsFunc(all.days, func(w when) bool { return w.till }) {
		r.drop(models.ReasonMore)
		return
	}
	switch {
	case r.a.Purpose != models.PurposeCheck && no:
		r.decline(g, all)
	case r.a.Purpose != models.PurposeCheck:
		r.agree(g, all)
	case no && all.has(senseGood): // "nope, all good"
	case no:
		r.about(g, Act{Kind: KindComeback}, false)
	default:
		r.about(g, Act{Kind: KindOK}, true)
	}
}

// faults says whether the reply tells of a fault of what a group is about.
func (r *reader) faults(g group) bool {
	return slices.ContainsFunc(r.clauses, func(c clause) bool {
		apart := len(g.mentions) > 0 && len(c.mentions) > 0 && !slices.ContainsFunc(c.mentions, func(m mention) bool { return slices.Equal(m.ids, g.ids) })
		return c.has(senseFault, senseUnwell, sense(KindComeback)) && !apart
	})
}

// agree adds a yes to what was proposed. To several days it is none.
func (r *reader) agree(g group, all clause) {
	if len(g.figures) > 0 || slices.ContainsFunc(r.acts, func(a Act) bool { return a.Kind == KindDay || a.Kind == KindLater }) {
		return
	}
	if q := r.a.Pending; q != nil && q.Kind == AskDay && len(q.Days) > 1 {
		r.drop(models.ReasonDays)
		return
	}
	kind := KindYes
	if r.a.Purpose == models.PurposeNotices && !g.has(sense(KindYes)) && len(r.a.Days) == 0 {
		kind = KindOK // a friendly word
	}
	r.acts = append(r.acts, Act{Kind: kind, Machine: only(g.ids), Words: g.words})
}

// decline adds a no to what was proposed.
func (r *reader) decline(g group, all clause) {
	if g.asked || g.care.turns && all.unknown > 0 || g.care.hearsay || len(g.figures) > 0 || all.has(senseGood) && !g.has(senseCancel) {
		r.drop(models.ReasonCallsOff)
		return
	}
	if len(r.acts) > 0 && r.acts[len(r.acts)-1].Kind == KindNo {
		return
	}
	r.acts = append(r.acts, Act{Kind: KindNo, Machine: only(g.ids), Words: g.words})
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
