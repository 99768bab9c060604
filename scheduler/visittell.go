package scheduler

import (
	"context"
	"fmt"
	"strings"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/policy"
)

// letters makes the messages that tell the owner's people of a visit, and the
// notices that are not sent, each with its reason.
func (p *Planner) letters(ctx context.Context, at time.Time, v models.Visit, m models.Machine) (letters []models.MessageWithNotices, untold []models.Notice, err error) {
	people, err := p.Store.People(ctx, []string{m.Owner}, models.DateOf(at.In(p.Notify.Zone)))
	if err != nil {
		return nil, nil, err
	}
	who := people[m.Owner]
	contacts := make([]models.Contact, len(who.People))
	for i, one := range who.People {
		contacts[i] = one.Contact
	}
	recipients := policy.Recipients(who.Owner, contacts)
	if len(recipients) == 0 {
		n := p.visitNotice(v, m, models.Contact{}, p.Notify.Language, at)
		n.Why = models.ReasonNobody
		return nil, []models.Notice{n}, nil
	}
	for _, one := range who.People {
		if !isOne(recipients, one.Contact.ID) {
			continue
		}
		zone, err := time.LoadLocation(policy.ZoneName(one.Contact, who.Owner, p.Notify.ZoneName))
		if err != nil {
			return nil, nil, fmt.Errorf("contact %s: %w", one.Contact.ID, err)
		}
		d := policy.Decide(policy.Ask{Now: at, Contact: one.Contact, Zone: zone, Purpose: models.PurposeVisit,
			Sharing: one.Sharing, Rules: p.Notify.Rules})
		lang := policy.Language(one.Contact, who.Owner, p.Notify.Language)
		n := p.visitNotice(v, m, one.Contact, lang, at)
		n.Why = d.Why
		if !d.Send {
			untold = append(untold, n)
			continue
		}
		letters = append(letters, models.MessageWithNotices{To: one.Contact.Name, Notices: []models.Notice{n}, Message: models.Message{
			Owner: m.Owner, Contact: one.Contact.ID, Channel: d.Channel, Address: d.Address,
			Purpose: models.PurposeVisit, Language: lang, State: models.MessageQueued, Why: d.Why,
			QueuedAt: models.InstantOf(at), NotBefore: models.InstantOf(d.NotBefore),
		}})
	}
	return letters, untold, nil
}

func isOne(cs []models.Contact, id string) bool {
	for _, c := range cs {
		if c.ID == id {
			return true
		}
	}
	return false
}

// visitNotice makes the row that tells a visit to a contact. No due date says
// that the visit will not be.
func (p *Planner) visitNotice(v models.Visit, m models.Machine, c models.Contact, lang string, at time.Time) models.Notice {
	n := models.Notice{Owner: m.Owner, Contact: c.ID, Machine: m.ID, Subject: models.SubjectVisit,
		Detail: ItemNames(v.Items, lang), WasOn: v.WasOn, DecidedAt: models.InstantOf(at)}
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
