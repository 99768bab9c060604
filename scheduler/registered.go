package scheduler

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/models/folder"
)

// registered is what is recorded already, and the faults found beside those of
// the cells.
type registered struct {
	owners   map[string]models.Owner
	contacts map[string]models.Contact
	machines map[string]models.Machine
	kept     bool // the owner of the intake is a known one
	adding   bool // nothing that is there may change
	faults   models.Faults
}

func (r *Registry) known(ctx context.Context) (*registered, error) {
	owners, err := r.Store.Owners(ctx)
	if err != nil {
		return nil, err
	}
	contacts, err := r.Store.Contacts(ctx)
	if err != nil {
		return nil, err
	}
	machines, err := r.Store.Machines(ctx)
	if err != nil {
		return nil, err
	}
	return &registered{
		owners:   models.ByKey(owners, func(o models.Owner) string { return o.ID }),
		contacts: models.ByKey(contacts, func(c models.Contact) string { return c.ID }),
		machines: models.ByKey(machines, func(m models.Machine) string { return m.ID }),
	}, nil
}

// ids gives the ids of all owners, contacts or machines.
func (k *registered) ids(of string) []string {
	switch of {
	case SectionOwner:
		return slices.Sorted(maps.Keys(k.owners))
	case SectionContact:
		return slices.Sorted(maps.Keys(k.contacts))
	}
	return slices.Sorted(maps.Keys(k.machines))
}

// owner finds the known owner whose id or whole name stands in the cells; two
// of one name are neither.
func (k *registered) owner(cells folder.Cells) (found models.Owner, ok bool) {
	if id := cells["owner"]; id != "" {
		found, ok = k.owners[id]
		return found, ok
	}
	for _, o := range k.owners {
		if name := strings.TrimSpace(cells["name"]); name != "" && strings.EqualFold(o.Name, name) {
			if ok {
				return models.Owner{}, false
			}
			found, ok = o, true
		}
	}
	return found, ok
}

// makeIDs fills the ids that are left out.
func (k *registered) makeIDs(in *Intake) {
	if o := in.Owner; o != nil && o["owner"] == "" {
		o["owner"] = free(models.PlainID(o["name"], maxNewID), func(id string) bool { _, taken := k.owners[id]; return taken })
	}
	for _, cells := range []folder.Cells{in.Contact, in.Machine} {
		if cells != nil && cells["owner"] == "" {
			cells["owner"] = in.Owner["owner"]
		}
	}
	if c := in.Contact; c != nil && c["contact"] == "" && c["owner"] != "" {
		c["contact"] = free(c["owner"]+"/"+cmp.Or(models.PlainID(c["name"], maxNewID), "contact"), func(id string) bool { _, taken := k.contacts[id]; return taken })
	}
	if m := in.Machine; m != nil && m["machine"] == "" {
		name := models.PlainID(cmp.Or(m["tag"], m["kind"]), maxNewID)
		m["machine"] = free(strings.Trim(m["owner"]+"-"+name, "-"), func(id string) bool { _, taken := k.machines[id]; return taken })
	}
}

// free gives the id, or where that is taken the first of id-2, id-3 ... that is
// not; "" stays "".
func free(id string, taken func(string) bool) string {
	if id == "" {
		return ""
	}
	name := id
	for n := 2; taken(name); n++ {
		name = fmt.Sprintf("%s-%d", id, n)
	}
	return name
}

// refuse notes a fault of a section.
func (k *registered) refuse(section, field, value, what, remedy string) {
	k.faults = append(k.faults, models.Fault{File: section, Field: field, Value: value, Problem: what, Remedy: remedy})
}

// refuseTaken refuses ids that are taken.
func (k *registered) refuseTaken(in Intake) {
	if id := in.Contact["contact"]; id != "" {
		if _, taken := k.contacts[id]; taken {
			k.refuse(SectionContact, "contact", id, "is taken", "give another id, or change that one")
		}
	}
	if id := in.Machine["machine"]; id != "" {
		if _, taken := k.machines[id]; taken {
			k.refuse(SectionMachine, "machine", id, "is taken", "give another id, or change that one")
		}
	}
}

// samePerson gives the cells of a person at the owner whom an intake names
// again with her number or address, with what was typed of her besides.
func (k *registered) samePerson(typed []models.Contact, in Intake) (folder.Cells, bool) {
	for _, c := range typed {
		for _, has := range k.contacts {
			if !k.adding || in.Machine == nil || has.ID == c.ID || has.Owner != c.Owner || !strings.EqualFold(has.Name, c.Name) || !has.Shares(c) {
				continue
			}
			cells := folder.ContactCells(has)
			for name, cell := range in.Contact {
				if cell != "" && name != "contact" && name != "role" { // a role is picked before anybody is known
					cells[name] = cell
				}
			}
			return cells, true
		}
	}
	return nil, false
}

// refuseTwin refuses a new contact with an address of another at the same
// owner: that is one person, who would be told everything twice.
func (k *registered) refuseTwin(c models.Contact) {
	for _, has := range k.contacts {
		if !k.adding || has.Owner != c.Owner || has.ID == c.ID {
			continue
		}
		const what, remedy = "is that of somebody there already: %s (%s)", "leave the person out, change that contact, or give this one an address of its own"
		if c.Mail != "" && strings.EqualFold(c.Mail, has.Mail) {
			k.refuse(SectionContact, "mail", c.Mail, fmt.Sprintf(what, has.Name, has.ID), remedy)
		}
		if c.Mobile != "" && c.Mobile == has.Mobile {
			k.refuse(SectionContact, "mobile", c.Mobile, fmt.Sprintf(what, has.Name, has.ID), remedy)
		}
	}
}

// needOwner refuses an owner whom nobody knows.
func (k *registered) needOwner(section, id string, fresh []models.Owner) {
	_, known := k.owners[id]
	if known || slices.ContainsFunc(fresh, func(o models.Owner) bool { return o.ID == id }) {
		return
	}
	k.refuse(section, "owner", id, "is not known", "give the id of an owner (`roundsman owner list`), or make the owner first")
}

// needConsent refuses a consent that was not there before and of which nobody
// says how it was given.
func (k *registered) needConsent(c models.Contact) {
	before := k.contacts[c.ID]
	fresh := c.MailConsentOn != 0 && c.MailConsentOn != before.MailConsentOn || c.SMSConsentOn != 0 && c.SMSConsentOn != before.SMSConsentOn
	if fresh && c.ConsentHow == "" {
		k.refuse(SectionContact, "consent_how", "", "is empty", "say how consent was given: in person, by phone, on a form ...")
	}
}
