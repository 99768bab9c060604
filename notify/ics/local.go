package ics

import (
	"time"

	"example.org/roundsman/models"
)

// Local gives the instant of a local time as RFC 5545, 3.3.5 has it: a time
// that is repeated when clocks go back is its first occurrence, and one that
// is missing when they go forward is read with the offset before the gap, so
// that 02:30 in a gap of one hour is 03:30. A time that is not set counts as
// 00:00; no date gives the zero time.
//
// Rounds and quiet hours take missing times as the first instant after the gap
// (package calendar); calendars that other programs read go by the standard.
func Local(d models.Date, t models.TimeOfDay, loc *time.Location) time.Time {
	if d.IsZero() {
		return time.Time{}
	}
	wall := d.In(time.UTC).Add(time.Duration(t.Minutes()) * time.Minute)
	at := wall.Add(-widestOffset).In(loc)
	_, old := at.Zone()
	for {
		start, end := at.ZoneBounds()
		_, offset := at.Zone()
		u := wall.Add(-time.Duration(offset) * time.Second)
		switch {
		case !start.IsZero() && u.Before(start): // in the gap at this change
			return wall.Add(-time.Duration(old) * time.Second).In(loc)
		case end.IsZero() || u.Before(end):
			return u.In(loc)
		}
		at, old = end.In(loc), offset
	}
}

// widestOffset is more than any zone has ever been away from UTC.
const widestOffset = 26 * time.Hour
