package scheduler

import (
	"cmp"
	"context"
	"slices"
	"time"

	"example.org/roundsman/models"
)

// letters makes the messages that tell the owner's people of a visit, and the
// notices that are not sent, each with its reason. can is what bears on whether
// they may be told at all.
func (p *Planner) letters(ctx context.Context, at time.Time, v models.Visit, m models.Machine, can models.Tellable) (letters []models.MessageWithNotices, untold []models.Notice, err error) {
	people, err := p.Store.People(ctx, []string{m.Owner}, models.DateOf(at.In(p.Notify.Zone)))
	if err != nil {
		return nil, nil, err
	}
	who := people[m.Owner]
	bar := models.BarredWhy(can, m.Owner, models.DateOf(at.In(p.Notify.Zone)))
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

// tell adds to the change of a visit what its owner's people are told of it.
func (p *Planner) tell(ctx context.Context, at time.Time, c *models.VisitChange, m models.Machine) error {
	can, err := p.Store.Tellable(ctx, []string{m.ID})
	if err != nil {
		return err
	}
	c.Letters, c.Untold, err = p.letters(ctx, at, c.Visit, m, can[m.ID])
	return err
}

// TellReleased tells of agreed visits that are still to come and that were told
// to nobody because their machine was held back or laid up, now that it is not.
func (p *Planner) TellReleased(ctx context.Context, at time.Time) error {
	changes, machines, err := p.untoldVisits(ctx, at, nil)
	if err != nil {
		return err
	}
	for _, c := range changes {
		if _, err = p.store(ctx, at, c, machines[c.Visit.Machine], "round"); err != nil {
			return err
		}
	}
	return nil
}

// WouldTell gives what TellReleased would tell, and what if only some machines
// were released besides (nil: as they are). It stores nothing.
func (p *Planner) WouldTell(ctx context.Context, at time.Time, release []string) ([]models.VisitChange, error) {
	changes, _, err := p.untoldVisits(ctx, at, release)
	for _, c := range changes { // as the store would
		for _, l := range c.Letters {
			for i := range l.Notices {
				l.Notices[i].Item = c.Visit.ID
			}
		}
	}
	return changes, err
}

// untoldVisits gives the agreed visits that are still to come and that were told
// to nobody because their machine was held back or laid up, with what tells them
// now; release are machines to be taken as released. The machines are by id.
func (p *Planner) untoldVisits(ctx context.Context, at time.Time, release []string) ([]models.VisitChange, map[string]models.Machine, error) {
	today := models.DateOf(at.In(p.Notify.Zone))
	g, err := p.Store.PlanningData(ctx, today)
	if err != nil {
		return nil, nil, err
	}
	agreed := slices.DeleteFunc(g.Visits, func(v models.Visit) bool {
		return v.State != models.VisitAgreed || v.On < today || release != nil && !slices.Contains(release, v.Machine)
	})
	if len(agreed) == 0 {
		return nil, nil, nil
	}
	ids := make([]string, len(agreed))
	for i, v := range agreed {
		ids[i] = v.Machine
	}
	notices, err := p.Store.NoticesOf(ctx, ids)
	if err != nil {
		return nil, nil, err
	}
	last := map[string]models.Notice{} // on each visit
	for _, n := range notices {
		if n.Subject == models.SubjectVisit {
			last[n.Item] = n
		}
	}
	agreed = slices.DeleteFunc(agreed, func(v models.Visit) bool {
		n := last[v.ID]
		why := cmp.Or(n.LostWhy, n.Why)
		return !n.Withheld() || why != models.ReasonHeldBack && why != models.ReasonLaidUp
	})
	if len(agreed) == 0 { // as in most rounds: then the fleet is not read
		return nil, nil, nil
	}
	can, err := p.Store.Tellable(ctx, ids)
	if err != nil {
		return nil, nil, err
	}
	ms, err := p.Store.Machines(ctx)
	if err != nil {
		return nil, nil, err
	}
	machines := models.ByKey(ms, func(m models.Machine) string { return m.ID })
	var out []models.VisitChange
	for _, v := range agreed {
		m, known := machines[v.Machine]
		may := can[v.Machine]
		may.Released = may.Released || release != nil
		if !known || models.BarredWhy(may, m.Owner, today) != "" {
			continue
		}
		n := last[v.ID]
		c := models.VisitChange{Visit: v}
		if c.Letters, c.Untold, err = p.letters(ctx, at, v, m, may); err != nil {
			return nil, nil, err
		}
		for i := range c.Untold {
			c.Untold[i].Ordinal = n.Ordinal + 1
		}
		for _, l := range c.Letters {
			for i := range l.Notices {
				l.Notices[i].Ordinal = n.Ordinal + 1
			}
		}
		out = append(out, c)
	}
	return out, machines, nil
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
