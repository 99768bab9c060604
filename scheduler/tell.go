package scheduler

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/policy"
	"example.org/roundsman/scheduler/interval"
)

// teller decides what the contacts of one owner are told in a round.
type teller struct {
	notify policy.Settings
	round  models.Round
	now    time.Time
}

// told is what a round tells one owner.
type told struct {
	letters  []models.MessageWithNotices
	withheld []models.Notice        // to be written: not those withheld for the same reason before
	waits    map[string]models.Date // machines with something withheld, written now or before, and when that is decided anew; none: with its next look
	stops    []models.Stop          // what is taken out of messages that wait
	later    map[string]int         // machines whose reading is asked for another time, with the days until it may be
	raised   map[*models.Forecast]bool
}

// withhold adds notices that are not sent for a reason, until a day (none: not
// known).
func (d *told) withhold(ns []models.Notice, why models.Reason, until models.Date, es []*Evaluation) {
	d.withheld = append(d.withheld, fresh(ns, why, es)...)
	for _, n := range ns {
		if was, ok := d.waits[n.Machine]; !ok || was == 0 || until != 0 && until < was {
			d.waits[n.Machine] = until
		}
	}
}

// agenda is what a contact could be told.
type agenda struct {
	notices []models.Notice    // what is open
	open    []policy.Open      // the same, as it bears on when
	joins   []models.Notice    // what goes along with a message only
	moved   []*models.Forecast // whose told dates the notices correct
}

// add adds what is open.
func (a *agenda) add(v models.Notice, o policy.Open) {
	a.notices, a.open = append(a.notices, v), append(a.open, o)
}

// tell decides on the letters and withheld notices for an owner. Forecasts whose
// date has moved out so far that it is worth a correction begin a new cycle once
// that goes; their Cycle is raised in place.
func (t *teller) tell(people models.People, es []*Evaluation) told {
	out := told{waits: map[string]models.Date{}, later: map[string]int{}, raised: map[*models.Forecast]bool{}}
	recipients := recipientsOf(people)
	all := map[string]*agenda{} // by contact; "" is nobody
	of := func(contact string) *agenda {
		if all[contact] == nil {
			all[contact] = &agenda{}
		}
		return all[contact]
	}
	for _, e := range es {
		if bar := models.BarredWhy(e.Tellable, people.Owner.ID, t.round.Today); bar != "" {
			barred := map[string]*agenda{}
			t.newsOf(e, recipients, func(contact string) *agenda {
				barred[contact] = cmp.Or(barred[contact], &agenda{})
				return barred[contact]
			})
			for _, n := range barred {
				out.withhold(n.notices, bar, 0, es)
				out.raise(n.moved)
			}
			continue
		}
		t.newsOf(e, recipients, of)
	}
	t.askReadings(es, people, of, &out)
	if n := all[""]; n != nil {
		out.withhold(n.notices, models.ReasonNobody, 0, es)
		out.raise(n.moved)
	}
	for _, p := range people.People {
		t.letter(people.Owner, p, of(p.Contact.ID), es, &out)
	}
	return out
}

// letter adds to what is told the letter to a person, or says why what is open
// is withheld. What waits for that person already is written anew.
func (t *teller) letter(o models.Owner, p models.Person, n *agenda, es []*Evaluation, out *told) {
	wait := t.waitingFor(p.Contact.ID, es)
	if len(n.notices)+len(wait.asked) == 0 {
		out.stop(wait.told, nil, es)
		return
	}
	purpose := models.PurposeOf(slices.Concat(n.notices, n.joins, wait.asked))
	m, d := joined(t.notify, t.now, o, p, models.Message{Purpose: purpose, Round: t.round.ID,
		Key: fmt.Sprintf("%s/%s/%s", t.round.Slot, p.Contact.ID, purpose)})
	if !d.Send {
		out.withhold(n.notices, d.Why, 0, es)
		out.stop(wait.told, n.notices, es)
		out.raise(n.moved)
		return
	}
	pace := policy.Pace{Today: t.round.Today, Last: t.toldOn(p), Joins: m.ID != 0, Rhythm: p.Contact.Rhythm}
	if d.Why == models.ReasonGap {
		pace.Rest = t.dateOf(d.NotBefore)
	}
	if turn := pace.Turn(n.open); !turn.Now && len(n.open) > 0 {
		out.withhold(n.notices, turn.Why, turn.Again, es)
		out.stop(wait.told, n.notices, es)
		return
	}
	ns := append(n.notices, n.joins...)
	for _, e := range es {
		ns = t.besides(e, p.Contact.ID, ns)
	}
	for i := range ns {
		ns[i].Why = d.Why
	}
	out.raise(n.moved)
	ns, old := t.anew(m, ns, wait, es)
	out.stop(old, ns, es)
	if len(ns) > 0 {
		m.Purpose = purpose
		out.letters = append(out.letters, models.MessageWithNotices{Message: m, Notices: ns})
	}
}

// raise begins a new cycle of forecasts whose correction is written.
func (d *told) raise(moved []*models.Forecast) {
	for _, f := range moved {
		if !d.raised[f] {
			d.raised[f] = true
			f.Cycle++
		}
	}
}

func (t *teller) dateOf(at time.Time) models.Date { return models.DateOf(at.In(t.notify.Zone)) }

// toldOn gives the day of the last message that a person got; none: there was
// none.
func (t *teller) toldOn(p models.Person) models.Date {
	if p.LastTold == 0 {
		return 0
	}
	return t.dateOf(p.LastTold.Time())
}

// nextWay gives the first day after a day on which a way to a contact opens:
// its consent begins to hold, or an address has rested. None when no such day
// is known.
func (t *teller) nextWay(people models.People, after models.Date) models.Date {
	var first models.Date
	for _, p := range people.People {
		for _, ch := range models.Channels() {
			opens, _ := p.Contact.Consent(ch)
			if at, back := p.CameBack[ch]; back {
				opens = max(opens, models.DateOf(t.notify.Rules.RestEnds(at).In(t.notify.Zone)).AddDays(1))
			}
			if opens > after && (first == 0 || opens < first) {
				first = opens
			}
		}
	}
	return first
}

// askReadings adds the readings that each recipient is asked for.
func (t *teller) askReadings(es []*Evaluation, people models.People, of func(contact string) *agenda, out *told) {
	var asks []ReadingAsk
	before := make(map[string][]models.Notice)
	for _, e := range es {
		if e.Ask != nil && models.BarredWhy(e.Tellable, people.Owner.ID, t.round.Today) == "" {
			asks = append(asks, *e.Ask)
			before[e.Machine().ID] = e.Notices
		}
	}
	asked := make(map[string]int, len(people.People))
	quiet := make(map[string]models.Date, len(people.People)) // since when
	for _, p := range people.People {
		asked[p.Contact.ID], quiet[p.Contact.ID] = p.AskedLately, t.toldOn(p)
	}
	for _, c := range recipientsOf(people) {
		now, later := chosen(asks, c.ID, askMost-asked[c.ID], before)
		for _, n := range now {
			n.Round, n.DecidedAt = t.round.ID, models.InstantOf(t.now)
			of(c.ID).add(n, policy.Open{From: quiet[c.ID].AddDays(askAlone)})
		}
		days := models.AskedLatelyDays
		if asked[c.ID] > 0 { // some time before that the first of those no longer counts
			days = 1
		}
		for _, id := range later {
			if d, there := out.later[id]; !there || days < d {
				out.later[id] = days
			}
		}
	}
}

// newsOf adds what each recipient would be told of one machine. What the shop
// has in hand is not told.
func (t *teller) newsOf(e *Evaluation, recipients []models.Contact, of func(contact string) *agenda) {
	for i := range e.Forecasts {
		f := &e.Forecasts[i]
		if e.Quiet(f.Item) {
			continue
		}
		if told, ok := lastTold(e.Notices, *f); ok && interval.Moved(asTold(told), *f) {
			t.correct(e, f, told.DueOn, recipients, of)
			continue
		}
		if len(recipients) == 0 {
			t.item(e, *f, "", of)
			continue
		}
		for _, c := range recipients {
			if was, ok := t.uncorrected(e, *f, c.ID); ok {
				before := *f
				before.Cycle--
				of(c.ID).add(t.correction(e, before, c.ID, was))
				continue
			}
			t.item(e, *f, c.ID, of)
		}
	}
	for _, n := range e.Checks {
		n.Round, n.DecidedAt = t.round.ID, models.InstantOf(t.now)
		of(n.Contact).add(n, policy.Open{Pressing: true})
	}
}

// item adds the stage of an item where a contact has not been told it, and the
// date to come of one that may go along.
func (t *teller) item(e *Evaluation, f models.Forecast, contact string, of func(contact string) *agenda) {
	sent := t.heard(e.Notices, contact, f)
	if policy.Escalates(sent, f.Stage) {
		of(contact).add(t.notice(e, f, contact, f.Stage), whenTold(f, slices.ContainsFunc(e.Notices, func(n models.Notice) bool {
			return n.Contact == contact && n.Told() && sameCycle(n, f)
		})))
		return
	}
	from := interval.JoinsFrom(f, policy.JoinDays, policy.TurnDays)
	if f.Stage != models.StageClear && f.Stage != models.StageUnsure || from == 0 || from > t.round.Today || !policy.Escalates(sent, models.StageComing) {
		return
	}
	n, coming := of(contact), t.notice(e, f, contact, models.StageComing)
	if may := interval.MayBeDueFrom(f, policy.JoinDays, policy.TurnDays); may != 0 && may <= t.round.Today { // it says that nobody knows, and asks
		n.add(coming, policy.Open{DueOn: f.DueOn, From: f.DueOn.AddDays(-f.LeadDays)})
		return
	}
	n.joins = append(n.joins, coming)
}

// movedAlone is how long after the day that was told its correction makes a
// message of its own, where that day has passed (common practice, no source).
const movedAlone = 60

// weekBefore is how many days before the day that was told its correction goes
// at the latest.
const weekBefore = 7

// remindDays is how long after its day one that was told before makes a message
// of its own, and firstDays how long after it one that was not told waits for
// company at most, and how long one that was told before and is late does (common
// practice, no source).
const (
	remindDays = 30
	firstDays  = 7
)

// whenTold says from when on a stage makes a message of its own, and until when
// it comes in time: the date to come from half its lead on, while a quarter of it is left; the
// day itself soon, where nothing was told before, else only to remind. What is
// late and was never told waits for nothing.
func whenTold(f models.Forecast, heard bool) policy.Open {
	o := policy.Open{DueOn: f.DueOn}
	switch {
	case f.Stage == models.StageLate:
		o.Pressing, o.Late = !heard, true
		if heard {
			o.From = interval.LateFrom(f).AddDays(firstDays)
		}
	case f.Stage == models.StageComing:
		o.From, o.By = interval.AloneFrom(f), f.DueOn.AddDays(-f.LeadDays/4)
	case heard:
		o.From = f.DueOn.AddDays(remindDays)
	default:
		o.By = f.DueOn.AddDays(firstDays)
	}
	return o
}

// besides adds the first inspection to what a contact is told of a machine's
// items, once: it has no date that would make a message of its own.
func (t *teller) besides(e *Evaluation, contact string, ns []models.Notice) []models.Notice {
	i := slices.IndexFunc(e.Forecasts, func(f models.Forecast) bool { return f.Item == models.ItemFirstInspection })
	item := func(n models.Notice) bool {
		return n.Machine == e.Machine().ID && n.Subject == models.SubjectItem && n.Stage != models.StageMoved
	}
	if i < 0 || !slices.ContainsFunc(ns, item) {
		return ns
	}
	f := e.Forecasts[i]
	f.Detail = string(f.Items)
	if len(t.heard(e.Notices, contact, f)) > 0 {
		return ns
	}
	return append(ns, t.notice(e, f, contact, f.Stage))
}

// correct adds the correction of a told date to those recipients who were told
// it. Where none of them was, it is written down as told to nobody: the cycle
// of later rounds is counted by corrections.
func (t *teller) correct(e *Evaluation, f *models.Forecast, was models.Date, recipients []models.Contact, of func(contact string) *agenda) {
	var to []string
	for _, c := range recipients {
		if policy.Escalates(t.heard(e.Notices, c.ID, *f), models.StageMoved) {
			to = append(to, c.ID)
		}
	}
	if len(to) == 0 {
		to = []string{""}
	}
	for _, c := range to {
		of(c).add(t.correction(e, *f, c, was))
		of(c).moved = append(of(c).moved, f)
	}
}

// correction makes the notice that corrects a date that was told.
func (t *teller) correction(e *Evaluation, f models.Forecast, contact string, was models.Date) (models.Notice, policy.Open) {
	n := t.notice(e, f, contact, models.StageMoved)
	n.WasOn = was
	if was < t.round.Today { // nobody plans for it any more
		return n, policy.Open{From: was.AddDays(movedAlone)}
	}
	return n, policy.Open{By: was.AddDays(-weekBefore)}
}

// recipientsOf gives the contacts of an owner who get notices.
func recipientsOf(people models.People) []models.Contact {
	contacts := make([]models.Contact, len(people.People))
	for i, p := range people.People {
		contacts[i] = p.Contact
	}
	return policy.Recipients(people.Owner, contacts)
}

// notice makes the row that tells a forecast to a contact.
func (t *teller) notice(e *Evaluation, f models.Forecast, contact string, stage models.Stage) models.Notice {
	n := models.Notice{
		Round: t.round.ID, Owner: e.Machine().Owner, Contact: contact, Machine: e.Machine().ID,
		Subject: models.SubjectItem, Item: f.Item, Cycle: f.Cycle, Stage: stage,
		EarlyOn: f.EarlyOn, DueOn: f.DueOn, LateOn: f.LateOn, Driver: f.Driver, Reason: f.Reason,
		Detail: f.Detail, LastOn: f.LastOn, LastBy: f.LastBy, AtMiles: f.AtMiles, AtHours: f.AtHours,
		Remaining: f.Remaining, DecidedAt: models.InstantOf(t.now),
	}
	n.Ordinal = ordinal(e.Notices, n)
	return n
}
