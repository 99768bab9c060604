package store

import (
	"context"
	"fmt"

	"gorm.io/gorm"

	"example.org/roundsman/models"
)

// People gives owners with their contacts, and for each contact the others
// that share its number or address and the messages in a row that were not
// answered. An answer is a reading or service of one of the owner's machines
// that is dated on or after the day of the message and not after today:
// somebody has been at the machine since; and any reply that came after it, and
// any call by which the owner was reached.
func (s *Store) People(ctx context.Context, owners []string, today models.Date) (people map[string]models.People, err error) {
	err = s.view(ctx, func(tx *gorm.DB) error {
		p := &peopleReader{tx: tx, list: jsonList(owners), today: today}
		people, err = p.read(owners)
		return err
	})
	return people, saying(err, "reading the people of %d owners", len(owners))
}

type peopleReader struct {
	tx    *gorm.DB
	list  string // the owners as JSON
	today models.Date
}

func (p *peopleReader) read(owners []string) (map[string]models.People, error) {
	people := make(map[string]models.People, len(owners))
	for _, id := range owners {
		people[id] = models.People{Owner: models.Owner{ID: id}}
	}
	os, err := list[models.Owner](p.tx.Table("owners_now").Where("owner IN (SELECT value FROM json_each(?))", p.list), "owners")
	if err != nil {
		return nil, err
	}
	for _, o := range os {
		people[o.ID] = models.People{Owner: o}
	}
	cs, err := list[models.Contact](p.tx.Table("contacts_now").Where("owner IN (SELECT value FROM json_each(?))", p.list).
		Order("owner, contact"), "contacts")
	if err != nil {
		return nil, err
	}
	shared, err := stops(p.tx, cs)
	if err != nil {
		return nil, fmt.Errorf("contacts that share an address: %w", err)
	}
	retired, err := retiredOf(p.tx, cs)
	if err != nil {
		return nil, err
	}
	back, err := cameBack(p.tx, cs)
	if err != nil {
		return nil, err
	}
	open, err := undecided(p.tx, cs)
	if err != nil {
		return nil, err
	}
	asked, err := p.askedLately()
	if err != nil {
		return nil, err
	}
	silent, err := p.unanswered()
	if err != nil {
		return nil, err
	}
	waiting, err := p.waiting()
	if err != nil {
		return nil, err
	}
	last, err := p.lastTold()
	if err != nil {
		return nil, err
	}
	for _, c := range cs {
		one := models.Person{Contact: c, Retired: retired[c.ID], CameBack: back[c.ID], Undecided: open[c.ID], Waiting: waiting[c.ID], AskedLately: asked[c.ID]}
		for _, o := range shared {
			if c.Shares(o) {
				one.Sharing = append(one.Sharing, o)
			}
		}
		one.Unanswered, one.LastSent, one.LastTold = silent[c.ID].N, silent[c.ID].Last, last[c.ID].Last
		o := people[c.Owner]
		o.People = append(o.People, one)
		people[c.Owner] = o
	}
	return people, nil
}

type silence struct {
	Contact string
	N       int
	Last    models.Instant
}

func (p *peopleReader) unanswered() (map[string]silence, error) {
	rows, err := list[silence](p.tx.Raw(`WITH latest AS (
			SELECT o.value AS owner, max(
				ifnull((SELECT max(r.at) FROM machines_now m JOIN readings_now r ON r.machine = m.machine WHERE m.owner = o.value AND r.at <= ?), ''),
				ifnull((SELECT max(s.at) FROM machines_now m JOIN services_now s ON s.machine = m.machine WHERE m.owner = o.value AND s.at <= ?), '')) AS at,
				max(ifnull((SELECT max(y.received_at) FROM replies y WHERE y.owner = o.value AND y.automatic = 0), 0),
					ifnull((SELECT max(c.at) FROM calls c WHERE c.owner = o.value AND c.reached = 1), 0)) AS replied
			FROM json_each(?) o)
		SELECT contact, count(*) AS n, max(`+wentAt+`) AS last
		FROM messages m JOIN latest l ON l.owner = m.owner
		WHERE contact <> '' AND purpose IN ('notices', 'reading', 'check') AND state NOT IN ('failed', 'dropped')
			AND date(`+wentAt+`, 'unixepoch') > l.at AND `+wentAt+` > l.replied
		GROUP BY contact`, p.today, p.today, p.list), "messages without an answer")
	if err != nil {
		return nil, err
	}
	return models.ByKey(rows, func(s silence) string { return s.Contact }), nil
}

// wentAt is when a message m went, or was queued where it has not gone yet.
const wentAt = "max(m.queued_at, iif(m.state = 'sent', m.ended_at, 0))"

// lastTold gives when the last message of a round to each contact went, or was
// queued, that did not fail or come back.
func (p *peopleReader) lastTold() (map[string]silence, error) {
	rows, err := list[silence](p.tx.Raw(`SELECT contact, max(`+wentAt+`) AS last FROM messages m
		WHERE owner IN (SELECT value FROM json_each(?)) AND contact <> '' AND purpose IN ('notices', 'reading', 'check') AND state NOT IN ('failed', 'dropped')
			AND NOT EXISTS (SELECT 1 FROM bounces b WHERE b.channel = m.channel AND b.address = m.address COLLATE NOCASE AND b.at >= m.queued_at AND b.fate = 'dead')
		GROUP BY contact`, p.list), "the last messages")
	if err != nil {
		return nil, err
	}
	return models.ByKey(rows, func(s silence) string { return s.Contact }), nil
}

// NextFacts gives, for those of machines that have one, the date of the first
// fact after a day: the day on which a round played at an earlier time must
// look again.
func (s *Store) NextFacts(ctx context.Context, machines []string, after models.Date) (map[string]models.Date, error) {
	var rows []struct {
		Machine string
		At      models.Date
	}
	err := s.read.WithContext(ctx).Raw(`SELECT machine, min(at) AS at FROM (
			SELECT r.machine, min(r.at) AS at FROM json_each(?) j JOIN readings_now r ON r.machine = j.value WHERE r.at > ? GROUP BY 1
			UNION ALL SELECT s.machine, min(s.at) FROM json_each(?) j JOIN services_now s ON s.machine = j.value WHERE s.at > ? GROUP BY 1
			UNION ALL SELECT w.machine, min(w.at) FROM json_each(?) j JOIN swaps w ON w.machine = j.value WHERE w.at > ? GROUP BY 1
		) GROUP BY machine`, jsonList(machines), after, jsonList(machines), after, jsonList(machines), after).Scan(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("finding later facts: %w", asModelError(err))
	}
	out := make(map[string]models.Date, len(rows))
	for _, r := range rows {
		out[r.Machine] = r.At
	}
	return out, nil
}

// waiting gives the newest message of a round to each contact that waits and
// may be written anew.
func (p *peopleReader) waiting() (map[string]*models.Message, error) {
	ms, err := list[models.Message](p.tx.Table("messages m").Where("owner IN (SELECT value FROM json_each(?)) AND contact <> '' AND "+stillOpen, p.list).
		Order("id"), "waiting messages")
	if err != nil {
		return nil, err
	}
	out := make(map[string]*models.Message, len(ms))
	for i := range ms {
		out[ms[i].Contact] = &ms[i]
	}
	return out, nil
}

// stillOpen is the condition under which a message m of a round may be written
// anew, and more may join it: it waits, whoever holds it, and no peer may have
// taken it.
const stillOpen = waits + " AND m.in_doubt = 0 AND m.purpose IN ('notices', 'reading', 'check')"

// unwritten has a waiting message composed anew, by whoever takes it up next.
const unwritten = "state = 'queued', subject_line = '', text = '', html = '', segments = 0, lease_by = '', lease_ends = 0"

// askedLately counts, by contact, the machines whose reading was asked for
// within the last days.
func (p *peopleReader) askedLately() (map[string]int, error) {
	var rows []struct {
		Contact string
		N       int
	}
	err := p.tx.Raw(`SELECT n.contact, count(DISTINCT n.machine) AS n FROM notices n JOIN json_each(?) o ON o.value = n.owner
		WHERE n.subject = 'reading' AND n.message IS NOT NULL AND date(n.decided_at, 'unixepoch') > ? GROUP BY 1`,
		p.list, p.today.AddDays(-models.AskedLatelyDays)).Scan(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("readings asked for: %w", err)
	}
	out := make(map[string]int, len(rows))
	for _, r := range rows {
		out[r.Contact] = r.N
	}
	return out, nil
}
