package scheduler

import (
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
	withheld []models.Notice // to be written: not those withheld for the same reason before
	waits    map[string]bool // machines with something withheld, written now or before
	later    map[string]bool // machines whose reading is asked for another time
}

// withhold adds notices that are not sent for a reason.
func (d *told) withhold(ns []models.Notice, why models.Reason, es []*Evaluation) {
	d.withheld = append(d.withheld, fresh(ns, why, es)...)
	for _, n := range ns {
		d.waits[n.Machine] = true
	}
}

// tell decides on the letters and withheld notices for an owner. Forecasts whose
// date has moved out by more than the lead since it was told get a correction
// and begin a new cycle; their Cycle is raised in place.
func (t *teller) tell(people models.People, es []*Evaluation) told {
	out := told{waits: map[string]bool{}, later: map[string]bool{}}
	recipients := recipientsOf(people)
	news := make(map[string][]models.Notice) // by contact; "" is nobody
	for _, e := range es {
		of := make(map[string][]models.Notice) // this machine alone
		t.news(e, recipients, of)
		for _, n := range e.Checks {
			n.Round, n.DecidedAt = t.round.ID, models.InstantOf(t.now)
			of[n.Contact] = append(of[n.Contact], n)
		}
		t.besides(e, of)
		bar := models.BarredWhy(e.Tellable, people.Owner.ID, t.round.Today)
		for contact, ns := range of {
			if bar != "" {
				out.withhold(ns, bar, es)
				continue
			}
			news[contact] = append(news[contact], ns...)
		}
	}
	t.askReadings(es, people, news, &out)
	if ns := news[""]; len(ns) > 0 {
		out.withhold(ns, models.ReasonNobody, es)
	}
	for _, p := range people.People {
		ns := news[p.Contact.ID]
		if len(ns) == 0 {
			continue
		}
		purpose := purposeOf(ns)
		m, d := joined(t.notify, t.now, people.Owner, p, models.Message{Purpose: purpose, Round: t.round.ID,
			Key: fmt.Sprintf("%s/%s/%s", t.round.Slot, p.Contact.ID, purpose)})
		if !d.Send {
			out.withhold(ns, d.Why, es)
			continue
		}
		for i := range ns {
			ns[i].Why = d.Why
		}
		out.letters = append(out.letters, models.MessageWithNotices{Message: m, Notices: ns})
	}
	return out
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
func (t *teller) askReadings(es []*Evaluation, people models.People, news map[string][]models.Notice, out *told) {
	var asks []ReadingAsk
	before := make(map[string][]models.Notice)
	for _, e := range es {
		if e.Ask != nil && models.BarredWhy(e.Tellable, people.Owner.ID, t.round.Today) == "" {
			asks = append(asks, *e.Ask)
			before[e.Machine().ID] = e.Notices
		}
	}
	asked := make(map[string]int, len(people.People))
	for _, p := range people.People {
		asked[p.Contact.ID] = p.AskedLately
	}
	for _, c := range recipientsOf(people) {
		now, later := chosen(asks, c.ID, askMost-asked[c.ID], before)
		for _, n := range now {
			n.Round, n.DecidedAt = t.round.ID, models.InstantOf(t.now)
			news[c.ID] = append(news[c.ID], n)
		}
		for _, id := range later {
			out.later[id] = true
		}
	}
}

// news adds what each recipient would be told of one machine. What the shop has
// in hand is not told.
func (t *teller) news(e *Evaluation, recipients []models.Contact, news map[string][]models.Notice) {
	for i := range e.Forecasts {
		f := &e.Forecasts[i]
		if e.Quiet(f.Item) {
			continue
		}
		if told, ok := lastTold(e.Notices, *f); ok && interval.Moved(asTold(told), *f) {
			t.correct(e, *f, told.DueOn, recipients, news)
			f.Cycle++
		}
		if len(recipients) == 0 {
			if policy.Escalates(nil, f.Stage) {
				n := t.notice(*f, models.Contact{}, e.Machine(), f.Stage)
				n.Ordinal = ordinal(e.Notices, n)
				news[""] = append(news[""], n)
			}
			continue
		}
		for _, c := range recipients {
			if policy.Escalates(sentStages(e.Notices, c.ID, *f), f.Stage) {
				n := t.notice(*f, c, e.Machine(), f.Stage)
				n.Ordinal = ordinal(e.Notices, n)
				news[c.ID] = append(news[c.ID], n)
			}
		}
	}
}

// besides adds the first inspection to what a contact is told of a machine's
// items, once: it has no date that would make a message of its own.
func (t *teller) besides(e *Evaluation, news map[string][]models.Notice) {
	i := slices.IndexFunc(e.Forecasts, func(f models.Forecast) bool { return f.Item == models.ItemFirstInspection })
	if i < 0 {
		return
	}
	f := e.Forecasts[i]
	f.Detail = string(f.Items)
	for contact, ns := range news {
		item := func(n models.Notice) bool { return n.Subject == models.SubjectItem && n.Stage != models.StageMoved }
		if contact == "" || !slices.ContainsFunc(ns, item) || len(sentStages(e.Notices, contact, f)) > 0 {
			continue
		}
		n := t.notice(f, models.Contact{ID: contact}, e.Machine(), f.Stage)
		n.Ordinal = ordinal(e.Notices, n)
		news[contact] = append(ns, n)
	}
}

// correct adds the correction of a told date to those recipients who were told
// it. Where none of them was, it is written down as told to nobody: the cycle
// of later rounds is counted by corrections.
func (t *teller) correct(e *Evaluation, f models.Forecast, was models.Date, recipients []models.Contact, news map[string][]models.Notice) {
	var to []models.Contact
	for _, c := range recipients {
		if policy.Escalates(sentStages(e.Notices, c.ID, f), models.StageMoved) {
			to = append(to, c)
		}
	}
	if len(to) == 0 {
		to = []models.Contact{{}}
	}
	for _, c := range to {
		n := t.notice(f, c, e.Machine(), models.StageMoved)
		n.WasOn = was
		n.Ordinal = ordinal(e.Notices, n)
		news[c.ID] = append(news[c.ID], n)
	}
}

// recipientsOf gives the contacts of an owner who get notices.
func recipientsOf(people models.People) []models.Contact {
	contacts := make([]models.Contact, len(people.People))
	for i, p := range people.People {
		contacts[i] = p.Contact
	}
	return policy.Recipients(people.Owner, contacts)
}

// purposeOf gives the purpose of a message with some notices: that of checks
// or readings where it asks nothing else.
func purposeOf(ns []models.Notice) models.Purpose {
	only := ns[0].Subject
	for _, n := range ns {
		if n.Subject != only {
			return models.PurposeNotices
		}
	}
	switch only {
	case models.SubjectCheck:
		return models.PurposeCheck
	case models.SubjectReading:
		return models.PurposeReading
	}
	return models.PurposeNotices
}

// notice makes the row that tells a forecast to a contact.
func (t *teller) notice(f models.Forecast, c models.Contact, m models.Machine, stage models.Stage) models.Notice {
	return models.Notice{
		Round: t.round.ID, Owner: m.Owner, Contact: c.ID, Machine: m.ID,
		Subject: models.SubjectItem, Item: f.Item, Cycle: f.Cycle, Stage: stage,
		EarlyOn: f.EarlyOn, DueOn: f.DueOn, LateOn: f.LateOn, Driver: f.Driver, Reason: f.Reason,
		Detail: f.Detail, LastOn: f.LastOn, LastBy: f.LastBy, AtMiles: f.AtMiles, AtHours: f.AtHours,
		Remaining: f.Remaining, DecidedAt: models.InstantOf(t.now),
	}
}

// lastTold finds the newest notice in which a forecast's cycle was told to
// anybody.
func lastTold(told []models.Notice, f models.Forecast) (models.Notice, bool) {
	for i := len(told) - 1; i >= 0; i-- {
		n := told[i]
		if sameCycle(n, f) && !n.Withheld() && n.Stage != models.StageMoved {
			return n, true
		}
	}
	return models.Notice{}, false
}

// asTold gives a forecast as a notice told it.
func asTold(n models.Notice) models.Forecast {
	return models.Forecast{Machine: n.Machine, Item: n.Item, Cycle: n.Cycle, Stage: n.Stage, DueOn: n.DueOn}
}

// sentStages lists the stages that a contact was told in a forecast's cycle.
func sentStages(told []models.Notice, contact string, f models.Forecast) []models.Stage {
	var out []models.Stage
	for _, n := range told {
		if n.Contact == contact && sameCycle(n, f) && !n.Withheld() {
			out = append(out, n.Stage)
		}
	}
	return out
}

func sameCycle(n models.Notice, f models.Forecast) bool {
	return n.Subject == models.SubjectItem && n.Item == f.Item && n.Cycle == f.Cycle
}

// corrections counts, by item, the cycles of a machine that ended with a
// correction.
func corrections(told []models.Notice) map[string]int {
	type cycle struct {
		item string
		n    int
	}
	seen := map[cycle]bool{}
	out := map[string]int{}
	for _, n := range told {
		c := cycle{n.Item, n.Cycle}
		if n.Subject == models.SubjectItem && n.Stage == models.StageMoved && !seen[c] {
			seen[c] = true
			out[n.Item]++
		}
	}
	return out
}

// sameKey says whether two notices differ in their ordinal at most.
func sameKey(a, b models.Notice) bool {
	return a.Contact == b.Contact && a.Machine == b.Machine && a.Subject == b.Subject &&
		a.Item == b.Item && a.Cycle == b.Cycle && a.Stage == b.Stage
}

// ordinal counts the notices of the same key that were written before: those
// withheld.
func ordinal(told []models.Notice, n models.Notice) int {
	count := 0
	for _, o := range told {
		if sameKey(o, n) {
			count++
		}
	}
	return count
}

// fresh gives the notices to be written as withheld for a reason: those that
// were not withheld for the same reason the last time.
func fresh(ns []models.Notice, why models.Reason, es []*Evaluation) []models.Notice {
	told := make(map[string][]models.Notice, len(es))
	for _, e := range es {
		told[e.Machine().ID] = e.Notices
	}
	var out []models.Notice
	for _, n := range ns {
		var last models.Reason
		for _, old := range told[n.Machine] {
			if sameKey(old, n) {
				last = old.Why
			}
		}
		if last != why {
			n.Why = why
			out = append(out, n)
		}
	}
	return out
}
