package scheduler

import (
	"cmp"
	"slices"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/usage"
)

// A message may wait for days: the server is down, the shop is closed, the
// hours are quiet. Nothing in it has been told yet, so each round decides on it
// anew, by what is known on the day, and takes out of it what has changed.

// waiting is what waits to be told to a contact, of the machines looked at.
type waiting struct {
	told  []models.Notice // items, decided on anew, and what is asked no more
	asked []models.Notice // checks and readings that are still to be asked
}

// waitingFor gives what waits for a contact.
func (t *teller) waitingFor(contact string, es []*Evaluation) (w waiting) {
	for _, e := range es {
		for _, n := range e.Notices {
			switch {
			case n.Contact != contact || !n.Waits || n.Lost:
			case n.Subject == models.SubjectItem || !e.asksStill(n):
				w.told = append(w.told, n)
			default:
				w.asked = append(w.asked, n)
			}
		}
	}
	return w
}

// asksStill says whether what a notice asks is still to be asked: the check is
// open, and no meter was read since.
func (e *Evaluation) asksStill(n models.Notice) bool {
	if models.BarredWhy(e.Tellable, n.Owner, e.Today) != "" {
		return false
	}
	if n.Subject == models.SubjectCheck {
		return slices.ContainsFunc(e.Owed, func(o models.OwedCheck) bool { return o.Check.ID == n.Item && o.Check.Turn == n.Cycle && o.Open() })
	}
	return !slices.ContainsFunc(e.Screened.Points, func(p usage.Point) bool { return p.On > n.LastOn })
}

// anew gives what a message is still to be given of what is to be told in it,
// with what is asked in other messages that wait, and what that takes the
// place of. What stands in it in the same words stays.
func (t *teller) anew(m models.Message, ns []models.Notice, w waiting, es []*Evaluation) (more, old []models.Notice) {
	stands := func(n models.Notice) bool { return m.ID != 0 && *n.Message == m.ID }
	old = slices.Clone(w.told)
	for _, n := range ns {
		i := slices.IndexFunc(old, func(o models.Notice) bool { return stands(o) && o.SameWords(n) })
		if i < 0 {
			more = append(more, n)
			continue
		}
		old = slices.Delete(old, i, i+1)
	}
	for _, n := range w.asked {
		if stands(n) {
			continue
		}
		old = append(old, n)
		n.ID, n.Round, n.Message, n.Waits, n.DecidedAt = 0, t.round.ID, nil, false, models.InstantOf(t.now)
		if e := evaluationOf(es, n.Machine); e != nil {
			n.Ordinal = ordinal(e.Notices, n)
		}
		more = append(more, n)
	}
	return more, old
}

// evaluationOf gives the evaluation of a machine; nil: it is not looked at.
func evaluationOf(es []*Evaluation, machine string) *Evaluation {
	if i := slices.IndexFunc(es, func(e *Evaluation) bool { return e.Machine().ID == machine }); i >= 0 {
		return es[i]
	}
	return nil
}

// stop takes notices out of the messages in which they wait; now is what is
// said of the same things instead.
func (d *told) stop(old, now []models.Notice, es []*Evaluation) {
	for _, n := range old {
		why := models.ReasonOvertaken
		if e := evaluationOf(es, n.Machine); e != nil {
			if e.Stay.Holds(e.Today) || e.Stay.Doing[n.Item] != "" {
				why = models.ReasonAtShop
			}
			why = cmp.Or(models.BarredWhy(e.Tellable, n.Owner, e.Today), why)
		}
		if slices.ContainsFunc(now, func(o models.Notice) bool {
			return o.Machine == n.Machine && o.Subject == n.Subject && o.Item == n.Item
		}) {
			why = models.ReasonAnew
		}
		d.stops = append(d.stops, models.Stop{Notice: n, Why: why})
	}
}
