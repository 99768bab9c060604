package scheduler

import (
	"context"
	"slices"
	"strings"
	"time"

	"example.org/roundsman/models"
)

// letters makes the messages that tell the owner's people of a visit, and the
// notices that are not sent, each with its reason.
func (p *Planner) letters(ctx context.Context, at time.Time, v models.Visit, m models.Machine) (letters []models.MessageWithNotices, untold []models.Notice, err error) {
	people, err := p.Store.People(ctx, []string{m.Owner}, models.DateOf(at.In(p.Notify.Zone)))
	if err != nil {
		return nil, nil, err
	}
	who := people[m.Owner]
	can, err := p.Store.Tellable(ctx, []string{m.ID})
	if err != nil {
		return nil, nil, err
	}
	bar := models.BarredWhy(can[m.ID], m.Owner, models.DateOf(at.In(p.Notify.Zone)))
	recipients := recipientsOf(who)
	if len(recipients) == 0 {
		n := p.visitNotice(v, m, models.Contact{}, at)
		n.Why = models.ReasonNobody
		return nil, []models.Notice{n}, nil
	}
	for _, one := range who.People {
		if !slices.ContainsFunc(recipients, func(c models.Contact) bool { return c.ID == one.Contact.ID }) {
			continue
		}
		msg, d := Address(p.Notify, at, who.Owner, one, models.Message{Purpose: models.PurposeVisit})
		if bar != "" {
			d.Send, d.Why = false, bar
		}
		n := p.visitNotice(v, m, one.Contact, at)
		n.Why = d.Why
		if !d.Send {
			untold = append(untold, n)
			continue
		}
		letters = append(letters, models.MessageWithNotices{To: one.Contact.Name, Notices: []models.Notice{n}, Message: msg})
	}
	return letters, untold, nil
}

// TellReleased tells of agreed visits that are still to come and that were told
// to nobody because their machine was held back, now that it is released.
func (p *Planner) TellReleased(ctx context.Context, at time.Time) error {
	today := models.DateOf(at.In(p.Notify.Zone))
	g, err := p.Store.PlanningData(ctx, today)
	if err != nil {
		return err
	}
	agreed := slices.DeleteFunc(g.Visits, func(v models.Visit) bool { return v.State != models.VisitAgreed || v.On < today })
	if len(agreed) == 0 {
		return nil
	}
	ids := make([]string, len(agreed))
	for i, v := range agreed {
		ids[i] = v.Machine
	}
	notices, err := p.Store.NoticesOf(ctx, ids)
	if err != nil {
		return err
	}
	last := map[string]models.Notice{} // on each visit
	for _, n := range notices {
		if n.Subject == models.SubjectVisit {
			last[n.Item] = n
		}
	}
	can, err := p.Store.Tellable(ctx, ids)
	if err != nil {
		return err
	}
	ms, err := p.Store.Machines(ctx)
	if err != nil {
		return err
	}
	for _, v := range agreed {
		i := slices.IndexFunc(ms, func(m models.Machine) bool { return m.ID == v.Machine })
		if n := last[v.ID]; i < 0 || !n.Withheld() || n.Why != models.ReasonHeldBack || models.BarredWhy(can[v.Machine], ms[i].Owner, today) != "" {
			continue
		}
		c := models.VisitChange{Visit: v}
		if c.Letters, c.Untold, err = p.letters(ctx, at, v, ms[i]); err != nil {
			return err
		}
		for i := range c.Untold {
			c.Untold[i].Ordinal = last[v.ID].Ordinal + 1
		}
		for _, l := range c.Letters {
			for i := range l.Notices {
				l.Notices[i].Ordinal = last[v.ID].Ordinal + 1
			}
		}
		if _, err = p.store(ctx, at, c, ms[i], "round"); err != nil {
			return err
		}
	}
	return nil
}

// visitNotice makes the row that tells a visit to a contact. No due date says
// that the visit will not be.
func (p *Planner) visitNotice(v models.Visit, m models.Machine, c models.Contact, at time.Time) models.Notice {
	n := models.Notice{Owner: m.Owner, Contact: c.ID, Machine: m.ID, Subject: models.SubjectVisit,
		Detail: string(v.Items), WasOn: v.WasOn, DecidedAt: models.InstantOf(at)}
	if v.State == models.VisitDropped {
		n.WasOn = v.On
		return n
	}
	n.DueOn, n.LateOn = v.On, v.Until
	return n
}

// ItemNames puts a list of items into words.
func ItemNames(items models.Names, lang string) string {
	var names []string
	for _, item := range items.List() {
		names = append(names, models.ItemName(item, lang))
	}
	return strings.Join(names, ", ")
}
