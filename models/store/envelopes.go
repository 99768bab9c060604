package store

import (
	"fmt"

	"gorm.io/gorm"

	"example.org/roundsman/models"
)

// envelopeReader reads what messages need to be judged and composed, in one
// query for each sort of thing.
type envelopeReader struct {
	tx       *gorm.DB
	entry    int64
	contacts map[string]models.Contact
	stopped  []models.Contact
	retired  map[string][]models.Channel
	open     map[string]bool // contacts who said what may be a refusal
	owners   map[string]models.Owner
	notices  map[int64][]models.Notice
	machines map[string]models.Machine
	tried    map[int64]tried
	known    map[int64]bool // messages to addresses that got one before
}

// tried sums up the tries of a message.
type tried struct {
	Message  int64
	FirstTry models.Instant
	Failures int
}

func (r *envelopeReader) read(ms []models.Message) error {
	var ids []int64
	var contacts, owners []string
	for _, m := range ms {
		ids, contacts, owners = append(ids, m.ID), append(contacts, m.Contact), append(owners, m.Owner)
	}
	if err := r.tx.Raw("SELECT ifnull(max(id), 0) FROM entries").Scan(&r.entry).Error; err != nil {
		return err
	}
	if err := r.people(contacts, owners); err != nil {
		return err
	}
	if err := r.told(ids); err != nil {
		return err
	}
	ts, err := list[tried](r.tx.Raw(`SELECT message, min(started_at) AS first_try, sum(outcome IN ('temporary', 'doubt')) AS failures
		FROM attempts WHERE message IN (SELECT value FROM json_each(?)) GROUP BY message`, jsonList(ids)), "attempts")
	if err != nil {
		return err
	}
	r.tried = models.ByKey(ts, func(t tried) int64 { return t.Message })
	known, err := list[int64](r.tx.Raw(`SELECT id FROM messages m WHERE id IN (SELECT value FROM json_each(?)) AND EXISTS (
		SELECT 1 FROM messages o WHERE o.address = m.address COLLATE NOCASE AND o.channel = m.channel AND o.state = 'sent')`,
		jsonList(ids)), "earlier messages")
	if err != nil {
		return err
	}
	r.known = make(map[int64]bool, len(known))
	for _, id := range known {
		r.known[id] = true
	}
	return nil
}

func (r *envelopeReader) people(contacts, owners []string) error {
	cs, err := list[models.Contact](r.tx.Table("contacts_now").Where("contact IN (SELECT value FROM json_each(?))", jsonList(contacts)), "contacts")
	if err != nil {
		return err
	}
	r.contacts = models.ByKey(cs, func(c models.Contact) string { return c.ID })
	if r.stopped, err = stops(r.tx, cs); err != nil {
		return fmt.Errorf("stops: %w", err)
	}
	if r.retired, err = retiredOf(r.tx, cs); err != nil {
		return err
	}
	if r.open, err = undecided(r.tx, cs); err != nil {
		return err
	}
	os, err := list[models.Owner](r.tx.Table("owners_now").Where("owner IN (SELECT value FROM json_each(?))", jsonList(owners)), "owners")
	if err != nil {
		return err
	}
	r.owners = models.ByKey(os, func(o models.Owner) string { return o.ID })
	return nil
}

// told reads the notices of messages, in the order to tell them, and their
// machines.
func (r *envelopeReader) told(ids []int64) error {
	ns, err := list[models.Notice](r.tx.Where("message IN (SELECT value FROM json_each(?)) AND id NOT IN (SELECT notice FROM stopped_notices)", jsonList(ids)), "notices")
	if err != nil {
		return err
	}
	r.notices = map[int64][]models.Notice{}
	var names []string
	for _, n := range ns {
		r.notices[*n.Message] = append(r.notices[*n.Message], n)
		names = append(names, n.Machine)
	}
	for _, list := range r.notices {
		models.SortToTell(list)
	}
	machines, err := list[models.Machine](r.tx.Table("machines_now").Where("machine IN (SELECT value FROM json_each(?))", jsonList(names)), "machines")
	if err != nil {
		return err
	}
	r.machines = models.ByKey(machines, func(m models.Machine) string { return m.ID })
	return nil
}
