package scheduler

import (
	"context"
	"encoding/json"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/inbox"
)

// asked gathers what the inbox must know to read a reply.
func (a *answering) asked(ctx context.Context) (inbox.Asked, error) {
	asked := inbox.Asked{Today: a.today, Language: a.lang, Subject: a.out.Reply.Subject}
	last := a.sender.Last
	if last != nil && a.since(last.QueuedAt) > contextDays {
		last, a.sender.Notices = nil, nil
	}
	if last != nil {
		asked.Purpose, asked.Sent = last.Purpose, last.Composed.Text
	}
	// A question lapses, and what was sent after it is what a reply answers.
	if a.sender.Question != "" && a.since(a.sender.AskedAt) <= questionDays && (last == nil || last.QueuedAt <= a.sender.AskedAt) {
		a.pending = new(inbox.Question)
		if err := json.Unmarshal([]byte(a.sender.Question), a.pending); err != nil {
			a.pending = nil // of an older program's form: read the reply by itself
		} else {
			asked.Sent += "\n" + a.pending.Wording(a.lang, a.label)
		}
	}
	asked.Pending, a.purpose = a.pending, asked.Purpose
	ids := make([]string, 0, len(a.sender.Machines))
	for _, m := range a.sender.Machines {
		ids = append(ids, m.ID)
	}
	if err := a.know(ctx, ids); err != nil {
		return asked, err
	}
	items := make(map[string][]string)
	for _, n := range a.sender.Notices {
		if _, seen := items[n.Machine]; !seen {
			asked.About = append(asked.About, n.Machine)
		}
		switch n.Subject {
		case models.SubjectCheck: // the message asked that too
			asked.Purpose = models.PurposeCheck
		case models.SubjectVisit:
			if n.DueOn != 0 {
				asked.Days = append(asked.Days, n.DueOn)
			}
		case models.SubjectItem:
			items[n.Machine] = append(items[n.Machine], n.Item)
		}
	}
	a.items = items
	for i := range a.known {
		e := &a.known[i]
		k := inbox.Known{Machine: e.Machine(), Items: items[e.Machine().ID],
			Miles: spanOf(e, models.Odometer), Hours: spanOf(e, models.HourMeter)}
		if len(e.Owed) > 0 {
			k.Check = e.Owed[len(e.Owed)-1].Check.ID
		}
		asked.Machines = append(asked.Machines, k)
	}
	return asked, nil
}

// How long what was asked bears on a reply, in days: a question that was asked
// back, and the last message (common practice, no source).
const (
	questionDays = 7
	contextDays  = 45
)

// since gives the days from a moment to the reply.
func (a *answering) since(at models.Instant) int {
	return models.DateOf(at.Time().In(a.zone)).DaysTo(a.today)
}

// know works out the machines spoken of on the day of the reply.
func (a *answering) know(ctx context.Context, ids []string) error {
	n, at := a.replier.Notify, a.out.Reply.ReceivedAt.Time()
	n.Zone = a.zone
	p, err := LastProfile(ctx, a.replier.Store, n, at)
	if err != nil {
		return err
	}
	if a.known, err = evaluationsOf(ctx, a.replier.Store, n, p, ids, at); err != nil {
		return err
	}
	a.owed = make(map[string][]models.OwedCheck, len(a.known))
	for i := range a.known {
		a.owed[a.known[i].Machine().ID] = a.known[i].Owed
	}
	return nil
}

// slack widens what needs no question beyond the 80 % range: as far again
// above it as it reaches above the likely value, since a busy week is no slip.
const slack = 1.0

// spanOf gives what a meter is believed to show on the day of an evaluation.
func spanOf(e *Evaluation, meter models.Meter) inbox.Span {
	points := e.Screened.Of(meter)
	r, ok := e.Use.At(meter, e.Today)
	if !ok || len(points) == 0 {
		return inbox.Span{}
	}
	last := points[len(points)-1]
	most := e.Screened.Shown(meter, r.High+slack*(r.High-r.Likely))
	out := inbox.Span{Last: models.Num(last.Shown), LastOn: last.On, Likely: models.Num(e.Screened.Shown(meter, r.Likely))}
	if most >= last.Shown { // else the meter turns over meanwhile, and nothing can be barred
		out.Least, out.Most = models.Num(last.Shown), models.Num(most)
	}
	return out
}
