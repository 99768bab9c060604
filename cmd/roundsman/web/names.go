package web

import (
	"context"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
)

// known are machines, owners and contacts by id.
type known struct {
	machines map[string]models.Machine
	owners   map[string]models.Owner
	contacts map[string]models.Contact
}

// names reads machines by id, and owners: those named and those of the machines.
func (rq *request) names(ctx context.Context, machines, owners []string) (known, error) {
	k := known{map[string]models.Machine{}, map[string]models.Owner{}, map[string]models.Contact{}}
	ms, err := rq.site.store.MachinesOf(ctx, machines)
	if err != nil {
		return k, err
	}
	for _, m := range ms {
		if rq.scope.sees(m) {
			k.machines[m.ID] = m
			owners = append(owners, m.Owner)
		}
	}
	os, err := rq.site.store.OwnersOf(ctx, owners)
	if err != nil {
		return k, err
	}
	for _, id := range owners {
		k.owners[id] = models.Owner{ID: id, Name: id}
	}
	for _, o := range os {
		if o.Name == "" {
			o.Name = o.ID
		}
		k.owners[o.ID] = o
	}
	return k, nil
}

// namesFor reads who and what letters and replies are about.
func (rq *request) namesFor(ctx context.Context, letters []models.MessageWithNotices, replies []models.ReplyLog) (known, error) {
	var machines, owners []string
	for _, l := range letters {
		owners = append(owners, l.Message.Owner)
		for _, n := range l.Notices {
			machines = append(machines, n.Machine)
		}
	}
	for _, r := range replies {
		owners = append(owners, r.Reply.Owner)
		for _, a := range r.Acts {
			machines = append(machines, a.Machine)
		}
	}
	k, err := rq.names(ctx, machines, owners)
	if err != nil {
		return k, err
	}
	cs, err := rq.site.store.ContactsOf(ctx, owners)
	if err != nil {
		return k, err
	}
	for _, c := range cs {
		k.contacts[c.ID] = c
	}
	return k, nil
}

func (k known) slips(letters []models.MessageWithNotices) []messageRow {
	out := make([]messageRow, len(letters))
	for i, l := range letters {
		s := messageRow{Message: l.Message, Owner: k.owners[l.Message.Owner], Who: k.contacts[l.Message.Contact].Name}
		if s.Who == "" {
			s.Who = l.Message.Address
		}
		for _, n := range l.Notices {
			if j := len(s.Tells) - 1; j >= 0 && s.Tells[j].Machine.ID == n.Machine {
				s.Tells[j].Items = append(s.Tells[j].Items, n)
				continue
			}
			m, ok := k.machines[n.Machine]
			if !ok {
				m = models.Machine{ID: n.Machine}
			}
			s.Tells = append(s.Tells, tellLine{Machine: m, Items: []models.Notice{n}})
		}
		out[i] = s
	}
	return out
}

func (k known) reply(r models.ReplyLog) replySlip {
	s := replySlip{Reply: r.Reply, Owner: k.owners[r.Reply.Owner], Acts: r.Acts, Who: k.contacts[r.Reply.Contact].Name,
		Urgency: scheduler.UrgencyOf(r), Undoable: scheduler.Undoable(r)}
	if s.Who == "" {
		s.Who = r.Reply.From
	}
	seen := map[string]bool{}
	for _, a := range r.Acts {
		if m, ok := k.machines[a.Machine]; ok && !seen[m.ID] {
			seen[m.ID] = true
			s.About = append(s.About, m)
		}
	}
	return s
}
