package policy

import (
	"time"

	"example.org/roundsman/models"
)

// Settings are the shop's choices about telling.
type Settings struct {
	Zone       *time.Location // the shop's; nil is UTC
	Language   string         // BCP 47, of who has none; "" is English
	Rules      Rules
	Desk       string // the shop's own mail address, to which alerts go; "" sends none
	DeskMobile string // the shop's own number for alerts that mail cannot bring; "" sends none
	// Zones finds a time zone by its name; nil is time.LoadLocation.
	Zones func(name string) (*time.Location, error)
}

// Ask makes the question whether a message of a purpose may go to a person of
// an owner. Whatever bears on that is put into the question here, for rounds,
// visits, answers and the courier alike; what a message is bound to already
// (Channel, Address, Urgent) the asker adds.
func (s Settings) Ask(now time.Time, o models.Owner, p models.Person, purpose models.Purpose) Ask {
	return Ask{
		Now: now, Contact: p.Contact, Zone: s.ZoneOf(p.Contact, o), Purpose: purpose, Sharing: p.Sharing, Retired: p.Retired, CameBack: p.CameBack, Undecided: p.Undecided,
		Unanswered: p.Unanswered, LastSent: p.LastSent.Time(), Rules: s.Rules,
	}
}

// Rule says what becomes of a message of the outbox that is taken up now: consent
// and hours may have changed since it was put there. How often somebody is
// written to was decided then and is not asked again.
func (s Settings) Rule(now time.Time, c models.Claimed) models.Ruling {
	m := c.Message
	ask := s.Ask(now, c.Owner, models.Person{Contact: c.Contact, Sharing: c.Sharing, Retired: c.Retired, Undecided: c.Undecided}, m.Purpose)
	ask.Urgent, ask.Channel, ask.Address = m.Urgent, m.Channel, m.Address
	d := Decide(ask)
	switch {
	case !d.Send:
		return models.Ruling{Verdict: models.VerdictDrop, Why: d.Why}
	case d.NotBefore.After(now):
		return models.Ruling{Verdict: models.VerdictHold, Why: d.Why, NotBefore: ceil(d.NotBefore)}
	}
	return models.Ruling{Verdict: models.VerdictGo, Why: d.Why, Address: d.Address}
}

// ceil gives the first whole second that is not before a time.
func ceil(t time.Time) models.Instant {
	i := models.InstantOf(t)
	if i.Time().Before(t) {
		i++
	}
	return i
}

// ZoneOf gives the time zone in which a contact lives: its own, else its
// owner's, else the shop's. A name that nobody knows is passed over, so that a
// slip in one fact holds nothing up.
func (s Settings) ZoneOf(c models.Contact, o models.Owner) *time.Location {
	load := s.Zones
	if load == nil {
		load = time.LoadLocation
	}
	for _, name := range []string{c.TimeZone, o.TimeZone} {
		if name == "" {
			continue
		}
		if zone, err := load(name); err == nil {
			return zone
		}
	}
	if s.Zone == nil {
		return time.UTC
	}
	return s.Zone
}

// LanguageOf gives the language in which a contact is written to: its own,
// else its owner's, else the shop's.
func (s Settings) LanguageOf(c models.Contact, o models.Owner) string {
	for _, tag := range []string{c.Language, o.Language} {
		if tag != "" {
			return tag
		}
	}
	return s.Language
}
