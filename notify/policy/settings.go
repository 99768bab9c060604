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
