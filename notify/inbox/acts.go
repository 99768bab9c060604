package inbox

import (
	"slices"
	"sort"

	"example.org/roundsman/models"
)

// meant works out which machine a group is about where none is named: the one
// that was asked about, or the only one that the sender has.
func (r *reader) meant(g group) []string {
	switch {
	case len(g.ids) > 0:
		return g.ids
	case len(r.a.About) > 0:
		return r.a.About
	}
	var all []string
	for _, k := range r.a.Machines {
		all = append(all, k.Machine.ID)
	}
	return all
}

// about adds an act about one machine, or asks which. each: an act for every
// machine that was asked about is right too ("ok" to two questions).
func (r *reader) about(g group, act Act, each bool) {
	act.Words = g.words
	ids := r.meant(g)
	switch {
	case len(ids) == 0:
		r.acts = append(r.acts, act)
	case len(ids) == 1:
		r.acts = append(r.acts, r.withCheck(act, ids[0]))
	case each && len(g.ids) == 0:
		for _, id := range ids {
			r.acts = append(r.acts, r.withCheck(act, id))
		}
	default:
		r.asks = append(r.asks, Question{Kind: AskMachine, Act: act, Machines: ids})
	}
}

// withCheck names the machine and, for what can answer it, its open check.
func (r *reader) withCheck(act Act, id string) Act {
	act.Machine = id
	if k, ok := r.a.machine(id); ok && act.Kind.Answers() {
		act.Check = k.Check
	}
	return act
}

// trouble adds that something is wrong. Trouble is told at once even where
// the machine is not known; it is then asked as well.
func (r *reader) trouble(g group, kind Kind) {
	r.about(g, Act{Kind: kind}, false)
}

// day adds a day that is named for a visit. One of a visit that was told is a
// yes to it; two days, or one that is not plain, are for a person.
func (r *reader) day(g group, all clause) {
	switch {
	case g.is(questioned) && slices.Contains(r.a.Days, g.when.on) && r.a.Purpose == models.PurposeVisit:
		r.drop(models.ReasonQuestion)
		return
	case all.has(senseFault, sense(KindComeback)) && g.when.vague:
		r.drop(models.ReasonTrouble)
		return
	case g.when.clash || slices.ContainsFunc(g.days, func(w when) bool { return !w.not && w.on != g.when.on && w.on > r.a.Today }):
		r.drop(models.ReasonDays)
		return
	case r.a.Purpose == models.PurposeVisit && slices.Contains(r.a.Days, g.when.on) && hasWord(g.words, ratherWords):
		r.drop(models.ReasonWantsDay) // "tuesday at 10 works better"
		return
	case hasWord(g.words, openWords):
		r.drop(models.ReasonWantsDay) // "we close on thursday"
		return
	case g.when.plain && g.looked():
		r.drop(models.ReasonWantsDay) // "checked the coolant saturday": that has been
		return
	case g.is(doubted) && g.when.vague:
		r.drop(models.ReasonWantsDay)
		return
	case r.barred(KindDay, g, all):
		return
	}
	if r.a.Purpose == models.PurposeVisit && slices.ContainsFunc(g.days, func(w when) bool { return w.not && slices.Contains(r.a.Days, w.on) }) {
		r.acts = append(r.acts, Act{Kind: KindNo, Machine: only(g.ids), Words: g.words})
	}
	kind := KindDay
	switch {
	case g.when.vague || g.is(bySelf) && !g.has(sense(KindDone)):
		kind = KindLater
	case r.a.Purpose == models.PurposeVisit && slices.Contains(r.a.Days, g.when.on) && (r.a.Pending == nil || r.a.Pending.Kind != AskDay):
		kind, g.when.on = KindYes, 0
	}
	r.acts = append(r.acts, Act{Kind: kind, Machine: only(g.ids), On: g.when.on, About: g.when.rough || g.when.vague, Words: g.words})
}

// looked says whether words tell of a look or an errand, which is no work done.
func (c clause) looked() bool {
	return hasWord(c.words, lookWords)
}

var lookWords = wordSet("checked looked bought ordered topped drained saw noticed smelled revise revisamos cheque checamos compre compramos vi")

// ratherWords ask for another hour.
var ratherWords = wordSet("better instead rather mejor")

// done adds that work was done. Which work: the items named; else the one
// that was told of; where several were, it is asked.
func (r *reader) done(g group, all clause) {
	if r.barred(KindDone, g, all) {
		return
	}
	if slices.ContainsFunc(g.days, func(w when) bool { return !w.not && w.on != g.when.on && behind(w, r.a.Today) != 0 }) {
		r.drop(models.ReasonDays) // "11/20 or 11/21"
		return
	}
	if g.when.number > 0 && behind(g.when, r.a.Today) == 0 || g.when.clash || all.has(senseDoubt) ||
		r.alsoAhead(g) || len(g.items) == 0 && (r.a.Purpose != models.PurposeNotices || all.is(questioned)) {
		r.drop(models.ReasonMore)
		return
	}
	act := Act{Kind: KindDone, Items: g.items, On: behind(g.when, r.a.Today), About: g.when.rough, Words: g.words}
	ids := r.meant(g)
	if len(ids) > 1 && len(g.figures) == 1 {
		if id, ok := r.fitting(ids, g.figures[0], act.On); ok {
			ids = []string{id}
		}
	}
	if len(ids) != 1 {
		if len(ids) == 0 {
			r.person = models.ReasonNoMachine
			return
		}
		q := Question{Kind: AskMachine, Act: act, Machines: ids}
		if len(g.figures) > 0 {
			q.Value, q.Unit = models.Num(g.figures[0].vals[0]), g.figures[0].unit
		}
		r.asks = append(r.asks, q)
		return
	}
	act.Machine = ids[0]
	k, _ := r.a.machine(ids[0])
	ask := false
	switch {
	case len(act.Items) > 0:
	case len(k.Items) == 1 || len(k.Items) > 1 && g.has(senseAll):
		act.Items = k.Items
	case len(k.Items) > 1:
		ask = true
	default: // "done" and nothing says what
		r.drop(models.ReasonUnread)
		return
	}
	act.Items = renewed(act.Items, g.words)
	doubts := len(r.asks)
	for _, f := range g.figures {
		act = r.valued(f, act, k)
	}
	switch {
	case len(r.asks) > doubts: // the work waits for the answer about its value
	case ask:
		r.asks = append(r.asks, Question{Kind: AskItem, Act: act, Items: k.Items})
	case act.undated() && !g.is(lately):
		r.asks = append(r.asks, Question{Kind: AskWhen, Act: act})
	default:
		r.acts = append(r.acts, act)
	}
}

// renewed gives, for tests of a part that was replaced, the change: it counts
// for the test too.
func renewed(items []string, words string) []string {
	if !hasWord(words, changeWords) {
		return items
	}
	var out []string
	for _, it := range items {
		if i := models.ItemOf(it); i.Work == models.WorkTest && len(i.DoneBy) > 0 {
			it = i.DoneBy[0]
		}
		if !slices.Contains(out, it) {
			out = append(out, it)
		}
	}
	return out
}

// changeWords say that a part was replaced.
var changeWords = wordSet("replaced replace changed swapped new put installed cambie cambio cambiamos cambiaron cambiado cambiada changie puse pusimos pusieron reemplace nuevo nueva instale")

// alsoAhead says whether a group names a day to come beside the day of work done:
// part of the work is still to be done.
func (r *reader) alsoAhead(g group) bool {
	return len(g.days) > 1 && slices.ContainsFunc(g.days, func(w when) bool { return w.on > r.a.Today && (!w.plain || w.ago == 0) })
}

// undated says whether work done tells neither its day nor what a meter showed.
func (a Act) undated() bool { return a.On == 0 && !a.Miles.Known && !a.Hours.Known }

// valued puts a figure into an act of work done; where it is doubted the
// question about it carries the act.
func (r *reader) valued(f figure, act Act, k Known) Act {
	v := k.fit(f, act.On, r.a.Today)
	act.About, act.Guess = act.About || f.rough, act.Guess || f.rough
	if !v.ok {
		r.doubt(f, act, k, v)
		return act
	}
	return act.with(v)
}

// with puts a value into an act.
func (a Act) with(v verdict) Act {
	if v.meter == models.HourMeter {
		a.Hours = models.Num(v.value)
	} else {
		a.Miles = models.Num(v.value)
	}
	return a
}

// figure adds a reading, or asks what is needed to know it.
func (r *reader) figure(g group, f figure, act Act) {
	act.Words = g.words
	ids := r.meant(g)
	if len(ids) > 1 {
		id, ok := r.fitting(ids, f, act.On)
		if !ok {
			r.asks = append(r.asks, Question{Kind: AskMachine, Act: act, Machines: r.candidates(ids, f, act.On),
				Value: models.Num(f.vals[0]), Unit: f.unit})
			return
		}
		ids = []string{id}
	}
	if len(ids) == 0 {
		r.person = models.ReasonNoMachine
		return
	}
	k, ok := r.a.machine(ids[0])
	if !ok {
		r.person = models.ReasonNoMachine
		return
	}
	act.Machine = k.Machine.ID
	v := k.fit(f, act.On, r.a.Today)
	if n := len(r.asks) - 1; v.ok && n >= 0 && r.asks[n].Kind == AskValue && joins(r.asks[n].Act.with(verdict{meter: r.asks[n].Meter}), act.with(v)) {
		r.asks[n].Act = r.asks[n].Act.with(v) // a look of which one value is doubted waits as a whole
		return
	}
	n := len(r.acts) - 1
	twin := n >= 0 && joins(r.acts[n], act.with(v))
	switch {
	case !v.ok && twin && !v.both && !v.none:
		act.Miles, act.Hours = r.acts[n].Miles, r.acts[n].Hours
		r.acts = r.acts[:n]
		r.doubt(f, act, k, v)
	case !v.ok:
		r.doubt(f, act, k, v)
	case twin: // miles and hours of one look
		r.acts[n] = r.acts[n].with(v)
		r.acts[n].Guess = r.acts[n].Guess || act.Guess
	default:
		r.acts = append(r.acts, act.with(v))
	}
}

// joins says whether a second value belongs to the reading before it.
func joins(a, b Act) bool {
	return a.Kind == KindReading && a.Machine == b.Machine && a.On == b.On &&
		(a.Miles.Known != b.Miles.Known) && (a.Hours.Known != b.Hours.Known)
}

// doubt asks about a value that cannot be taken as it is.
func (r *reader) doubt(f figure, act Act, k Known, v verdict) {
	act.Machine = k.Machine.ID
	value := models.Num(v.value)
	switch {
	case v.none:
		r.person = models.ReasonNoMeter
	case v.both:
		r.asks = append(r.asks, Question{Kind: AskMeter, Act: act, Value: models.Num(f.vals[0])})
	default:
		r.asks = append(r.asks, Question{Kind: AskValue, Act: act, Value: value, Unit: f.unit, Meter: v.meter, Likely: v.likely})
	}
}

// fitting finds the one machine of several that a figure fits; the others
// must be known well enough to be ruled out.
func (r *reader) fitting(ids []string, f figure, day models.Date) (string, bool) {
	good := r.candidates(ids, f, day)
	if len(good) != 1 {
		return "", false
	}
	k, _ := r.a.machine(good[0])
	return good[0], k.fit(f, day, r.a.Today).ok
}

// candidates lists the machines that a figure may be of, or all of them where
// it fits none.
func (r *reader) candidates(ids []string, f figure, day models.Date) []string {
	var good []string
	for _, id := range ids {
		k, ok := r.a.machine(id)
		if !ok {
			continue
		}
		if v := k.fit(f, day, r.a.Today); v.ok || v.both && f.unit == UnitNone && k.holdsAny(f, day, r.a.Today) {
			good = append(good, id)
		}
	}
	if len(good) == 0 {
		good = slices.Clone(ids)
	}
	sort.Strings(good)
	return good
}

// holdsAny says whether either meter may show a figure.
func (k Known) holdsAny(f figure, day, today models.Date) bool {
	return slices.ContainsFunc(k.meters(f.unit), func(m models.Meter) bool {
		return slices.ContainsFunc(f.vals, k.span(m).on(day, today).holds)
	})
}
