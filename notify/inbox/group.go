package inbox

import (
	"slices"
	"strings"

	"example.org/roundsman/models"
)

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
		if i > 0 && m.from-c.mentions[i-1].to > 2 {
			out[0].when.clash = true // of which of them a day is nobody can say
		}
	}
	for i := range out {
		out[i].when.clash = out[0].when.clash
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
		if r.barred(KindSold, g, all) {
			return true
		}
		if g.unknown > 0 && !g.owned() {
			r.drop(models.ReasonMore)
			return true
		}
		r.about(g, Act{Kind: KindSold}, false)
	case g.when.not && g.when.apart: // "any day but monday"
		if left := r.daysBut(g); len(left) == 1 && g.unknown == 0 && !g.is(questioned) && !g.is(doubted) {
			r.acts = append(r.acts, Act{Kind: KindDay, Machine: only(g.ids), On: left[0], Words: g.words})
			return true
		}
		r.drop(models.ReasonDays)
		return true
	case r.planned() && !checks && (g.has(senseCancel) || to != 0 && g.has(sense(KindNo), senseUnwell) && !fault) || g.when.not && r.a.Purpose == models.PurposeVisit && slices.Contains(r.a.Days, g.when.on):
		r.decline(g, all)
	case g.has(senseCancel), g.when.not, to != 0 && g.has(senseUnwell):
		r.drop(models.ReasonCallsOff) // "cancel friday", "friday does not work": no trouble, and no day
		return true
	case fault:
		r.faulty(g, all, praise)
	case g.has(senseWants) && to == 0, g.is(questioned) && (to == 0 || g.when.clash || !r.proposes(g)):
		r.open = r.open || g.is(questioned)
		return g.is(questioned) // a question says nothing that could be recorded
	case g.has(sense(KindDone)) && (bare || !g.is(soft)), len(g.items) > 0 && (g.when.past || !bare) && r.a.Purpose == models.PurposeNotices && !g.is(coming) && !g.looked():
		r.done(g, all)
		return true // its figures are those of the work
	case g.has(sense(KindLater)) && !(to == 0 && !bare):
		if r.barred(KindLater, g, all) {
			return false
		}
		if g.unknown > 2 || g.is(doubted) && len(all.figures) > 0 || all.has(senseFault) || checks && all.is(unread|soft) {
			r.drop(models.ReasonMore)
			return false
		}
		if r.a.Purpose == "" && to == 0 { // nothing was asked that could be put off: "ill come get it in a bit"
			r.drop(models.ReasonMore)
			return false
		}
		if g.when.clash && to != 0 {
			r.drop(models.ReasonDays)
			return false
		}
		r.acts = append(r.acts, Act{Kind: KindLater, Machine: only(g.ids), On: to, Words: g.words})
	case !checks && g.when.number > 0 && (g.when.on > r.a.Today || g.when.clash) && !g.when.past && bare:
		r.day(g, all)
	case g.has(senseGood, sense(KindYes), sense(KindNo)):
		r.judged(g, all)
	case g.has(sense(KindThanks)) && bare && g.when.number == 0:
		if !(checks && all.is(brief)) && !r.barred(KindThanks, g, all) {
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
	if g.is(questioned) {
		r.open = r.open || len(g.figures) > 0 || g.when.number == 0
		return
	}
	if g.has(senseAll) && len(g.figures) == 1 && len(g.mentions) == 0 {
		r.person = models.ReasonMore // "6120 for both"
		return
	}
	if g.has(senseFault) && !g.has(senseMeter) && len(g.figures) > 0 && ofMeter(g.words) {
		r.drop(models.ReasonMeterChanged) // "the speedometer broke, it stopped at 6093"
		return
	}
	if slices.ContainsFunc(all.figures, func(f figure) bool { return f.rival }) {
		if len(g.figures) > 0 {
			r.drop(models.ReasonContrary) // "6410, or 6140": nobody knows which
		}
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
		f.rough = f.rough || g.is(doubted)
		r.figure(g, f, Act{Kind: KindReading, Guess: f.rough, About: f.rough || g.when.past && g.when.rough, On: r.seen(g)})
	}
}

// ofMeter says whether words name a meter itself.
func ofMeter(words string) bool {
	return slices.ContainsFunc(strings.Fields(fold(words)), func(w string) bool { return meterNames[strings.Trim(w, ",.:;")] })
}

var meterNames = wordSet("meter speedo speedometer speedometro odometer odometro horometro medidor gauge display screen dash tablero cluster hourmeter velocimetro")

// daysBut gives the days offered that a group does not refuse.
func (r *reader) daysBut(g group) []models.Date {
	return slices.DeleteFunc(slices.Clone(r.a.Days), func(d models.Date) bool {
		return slices.ContainsFunc(g.days, func(w when) bool { return w.on == d })
	})
}

// seen gives the day on which a meter was read; a day of the visit that was
// told, or of a wish, is none.
func (r *reader) seen(g group) models.Date {
	w := g.when
	if w.plain && (slices.Contains(r.a.Days, w.on) || g.has(sense(KindYes), senseGood, senseWants, senseCancel) || g.is(questioned)) {
		return 0
	}
	return behind(w, r.a.Today)
}

// shown says whether a figure can be taken for what a meter shows: nothing
// about it says that it is a limit, a plan, hearsay or of something else, and
// it bears a unit or stands among words that are all known.
func (r *reader) shown(g group, f figure) bool {
	switch {
	case g.when.clash && behind(g.when, r.a.Today) != 0 || f.bound || f.run && g.unknown > 0 || g.is(bars[KindReading].clause) || g.is(coming) && !f.rough || g.is(turned) && g.is(doubted) || g.is(theirs) && g.unknown > 0 || len(g.items) > 0 && !r.wants():
		return false
	case f.unit != UnitNone:
		return true
	}
	return g.unknown == 0 || g.is(metered) && g.unknown <= 3 || r.wants() && g.leads(f)
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
	if hasWord(g.words, openWords) {
		return false // "are you open tomorrow?"
	}
	either := " " + fold(g.words) + " " // "is thursday morning or afternoon?"
	return g.unknown == 0 && !g.is(theirs) && len(g.days) == 1 && !g.has(sense(KindDone)) && !strings.Contains(either, " or ") && !strings.Contains(either, " o ")
}

// openWords ask when the shop is there.
var openWords = wordSet("open opens close closed closes abren abierto abierta cierran cerrado")

// owned says whether what was sold is named: "sold it", "we sold R12".
func (g group) owned() bool {
	return len(g.mentions) > 0 || g.is(metered) || strings.Contains(" "+fold(g.words)+" ", " it ") || strings.Contains(" "+fold(g.words), " la vend") || strings.Contains(" "+fold(g.words), " lo vend")
}

// only says whether a clause has no senses but the given one.
func (c clause) only(s sense) bool {
	return !slices.ContainsFunc(c.senses, func(other sense) bool { return other != s })
}

// faulty adds that something is wrong, where that is plain; where it is
// denied, asked, hoped or praised in one breath a person looks at once.
func (r *reader) faulty(g group, all clause, praise bool) {
	kind := KindTrouble
	if g.has(sense(KindComeback)) || r.a.Purpose == models.PurposeCheck && (all.has(sense(KindNo)) || again(g.words)) {
		kind = KindComeback
	}
	if r.barred(kind, g, clause{}) {
		return
	}
	if g.unknown > 0 && g.only(senseUnwell) || g.is(outside) && !g.named || praise || g.has(sense(KindDone)) || g.is(theirs) && g.unknown > 0 {
		r.drop(models.ReasonTrouble)
		return
	}
	r.trouble(g, kind)
}

// again says whether words say that a thing is so once more, or still.
func again(words string) bool {
	text := " " + strings.Join(wordsOf(fold(words)), " ") + " "
	return slices.ContainsFunc([]string{"again", "still", "otra vez", "de nuevo", "todavia", "sigue", "aun"}, func(w string) bool {
		return strings.Contains(text, " "+w+" ")
	})
}

// judged adds what a good word, a yes or a no says where it answers something:
// only where every word of the reply was read, since one that was not may turn
// it round.
func (r *reader) judged(g group, all clause) {
	no := g.has(sense(KindNo)) && !g.has(senseGood)
	if r.a.Purpose == models.PurposeReading || r.a.Purpose == "" { // it answers nothing
		if len(g.figures) == 0 && !r.barred(KindYes, g, all) {
			kind := KindOK
			switch {
			case no:
				kind = KindNo
			case g.has(sense(KindYes)) && r.a.Purpose == "" && all.has(sense(KindThanks)):
				kind = KindThanks
			case g.has(sense(KindYes)):
				kind = KindYes
			}
			r.acts = append(r.acts, Act{Kind: kind, Machine: only(g.ids), Words: g.words})
		}
		return
	}
	if r.a.Purpose == models.PurposeCheck && all.is(brief) {
		r.drop(models.ReasonMore) // "great for a whole two miles"
		return
	}
	if no && slices.ContainsFunc(r.clauses, func(c clause) bool { return c.has(senseFault, sense(KindComeback)) && c.unknown == 0 && !c.is(soft) }) {
		return // "no, it leaks": the fault is told
	}
	if r.barred(KindOK, g, all) {
		return
	}
	if r.faults(g) || slices.ContainsFunc(all.days, func(w when) bool { return w.till }) {
		r.drop(models.ReasonMore)
		return
	}
	switch {
	case r.a.Purpose == models.PurposeCheck && g.has(sense(KindNo)) && g.has(sense(KindYes)):
		r.drop(models.ReasonContrary) // "yes and no"
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
	if slices.ContainsFunc(r.acts, func(a Act) bool { return a.Kind == KindDay || a.Kind == KindLater }) {
		return
	}
	if slices.ContainsFunc(g.figures, func(f figure) bool { return f.unit == UnitNone }) {
		if r.a.Purpose == models.PurposeVisit {
			r.drop(models.ReasonMore)
		}
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
	if g.is(questioned) || g.is(turned) && all.unknown > 0 || g.is(hearsay) || len(g.figures) > 0 || all.has(senseGood) && !g.has(senseCancel) || g.has(senseCancel) && all.has(sense(KindYes)) {
		r.drop(models.ReasonCallsOff)
		return
	}
	if len(r.acts) > 0 && r.acts[len(r.acts)-1].Kind == KindNo {
		return
	}
	r.acts = append(r.acts, Act{Kind: KindNo, Machine: only(g.ids), Words: g.words})
}

// ofMeters leaves out figures of what was run since then ("500 miles ago"), and
// those that may be a time of day or a distance run ("at 8", "ran it 50 miles")
// where no meter meant can show them.
func (r *reader) ofMeters(g group) []figure {
	return slices.DeleteFunc(slices.Clone(g.figures), func(f figure) bool {
		return f.ago || f.run && !slices.ContainsFunc(r.meant(g), func(id string) bool {
			k, ok := r.a.machine(id)
			return ok && k.holdsAny(f, behind(g.when, r.a.Today), r.a.Today)
		})
	})
}

// ahead gives a day to come, none for others.
func ahead(w when, today models.Date) models.Date {
	if w.number == 0 || w.on <= today {
		return 0
	}
	return w.on
}

// behind gives a day of the past or today, none for others.
func behind(w when, today models.Date) models.Date {
	switch {
	case w.number == 0:
		return 0
	case w.on <= today:
		return w.on
	}
	return w.ago // "friday" of what has been
}

// only gives the one id of a list, "" where there are several.
func only(ids []string) string {
	if len(ids) == 1 {
		return ids[0]
	}
	return ""
}
