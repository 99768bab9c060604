package calendar

import (
	"time"

	"example.org/roundsman/models"
)

// widestOffset is more than any zone has ever been away from UTC: local mean
// times reached 15 h 13 min, and today's zones lie within UTC-12..UTC+14.
const widestOffset = 26 * time.Hour

// Resolve gives the instant at which the clocks of a zone show a local time
// on a date. A time that is repeated when the clocks go back is its first
// occurrence; one that is missing when they go forward is the first instant
// after the gap. A time that is not set counts as 00:00; no date gives the
// zero time.
//
// iCalendar takes another rule for missing times (RFC 5545, 3.3.5: the offset
// before the gap); it is not this one. Nor is time.Date, which leaves the
// choice open and answers a missing time with an instant before the gap.
func Resolve(date models.Date, t models.TimeOfDay, loc *time.Location) time.Time {
	if date.IsZero() {
		return time.Time{}
	}
	wall := date.In(time.UTC).Add(time.Duration(t.Minutes()) * time.Minute)
	last := wall.Add(widestOffset)
	at := wall.Add(-widestOffset).In(loc)
	for {
		start, end := at.ZoneBounds()
		_, offset := at.Zone()
		u := wall.Add(-time.Duration(offset) * time.Second)
		if !start.IsZero() && u.Before(start) {
			return start // the clocks jumped over the time at this instant
		}
		if end.IsZero() || u.Before(end) {
			return u.In(loc)
		}
		if end.After(last) { // unreachable with any real zone
			return u.In(loc)
		}
		at = end
	}
}

// secondOfDay gives the seconds after midnight that the clocks show at t in
// its zone.
func secondOfDay(t time.Time) int {
	h, m, s := t.Clock()
	return h*3600 + m*60 + s
}

// dayExists says whether a zone has any instant of a date: whole days were
// skipped where a country moved across the date line (Samoa, 2011-12-30).
func dayExists(d models.Date, loc *time.Location) bool {
	return models.DateOf(Resolve(d, 0, loc)) == d
}
