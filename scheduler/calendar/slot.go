package calendar

import (
	"time"

	"example.org/roundsman/models"
)

// slotReach is how many days around a date hold its neighboring slots: one
// for the next or last day, one for a day that the zone skipped whole and one
// for a date that the clocks went back to.
const slotReach = 3

// Slot is one appointed time of a round.
type Slot struct {
	Date models.Date
	Time models.TimeOfDay
	Zone string    // the zone's IANA name
	At   time.Time // the instant; a missing local time is the first after the gap
}

// Key names the slot, the same for every attempt to hold it:
// "2026-03-08 07:00 America/Denver". It shows the appointed local time, also
// where the clocks skip it.
func (s Slot) Key() string {
	if s.Date.IsZero() {
		return ""
	}
	return s.Date.String() + " " + s.Time.String() + " " + s.Zone
}

// before orders slots by instant and then by what they are called.
func (s Slot) before(o Slot) bool {
	if !s.At.Equal(o.At) {
		return s.At.Before(o.At)
	}
	if s.Date != o.Date {
		return s.Date < o.Date
	}
	return s.Time < o.Time
}

// SlotAt gives the slot of a date and local time; ok is false where the zone
// skipped the whole day.
func SlotAt(date models.Date, t models.TimeOfDay, loc *time.Location) (slot Slot, ok bool) {
	if date.IsZero() || t.IsZero() || !dayExists(date, loc) {
		return Slot{}, false
	}
	return Slot{Date: date, Time: t, Zone: loc.String(), At: Resolve(date, t, loc)}, true
}

// Owed gives the newest appointed slot at or before now, if it has not been
// held: held is the instant of the last slot held, zero for never. Rounds
// missed while the program was off are made up by that one slot, however many
// they were. With a max above zero a slot older than that is not owed. Times
// not set are left out; no times, no slots.
func Owed(times []models.TimeOfDay, loc *time.Location, held, now time.Time,
	max time.Duration) (slot Slot, ok bool) {
	today := models.DateOf(now.In(loc))
	for day := -slotReach; day <= 1; day++ {
		for _, t := range times {
			s, exists := SlotAt(today.AddDays(day), t, loc)
			if exists && !s.At.After(now) && (!ok || slot.before(s)) {
				slot, ok = s, true
			}
		}
	}
	if !ok || !held.IsZero() && !slot.At.After(held) || max > 0 && now.Sub(slot.At) > max {
		return Slot{}, false
	}
	return slot, true
}
