package calendar

import (
	"time"

	"example.org/roundsman/models"
)

// quietHorizon bounds the search for an instant that is not quiet: a year has
// at most a few quiet days in a row, so more means that none is ever allowed.
const quietHorizon = 400

// Options are the days that are quiet from midnight to midnight, besides the
// quiet hours. The zero Options has none.
type Options struct {
	Sundays  bool                   // true: Sundays are quiet
	Holidays func(models.Date) bool // the days it says yes to are quiet; nil: none
}

// quietDay says whether a whole local day is quiet.
func (o Options) quietDay(d models.Date) bool {
	return o.Sundays && d.Weekday() == time.Sunday || o.Holidays != nil && o.Holidays(d)
}

// Quiet says whether an instant lies in quiet hours: the clocks of the zone
// show a time in [from, to), or its day is quiet. Hours wrap round midnight
// when from is later than to (20:00 to 08:00); equal or unset ends mean no
// quiet hours.
func Quiet(at time.Time, from, to models.TimeOfDay, loc *time.Location, opts Options) bool {
	local := at.In(loc)
	return quietHour(local, from, to) || opts.quietDay(models.DateOf(local))
}

func quietHour(local time.Time, from, to models.TimeOfDay) bool {
	if from.IsZero() || to.IsZero() || from == to {
		return false
	}
	s, f, t := secondOfDay(local), from.Minutes()*60, to.Minutes()*60
	if f < t {
		return f <= s && s < t
	}
	return s >= f || s < t
}

// NextAllowed gives the first instant at or after now that is not quiet (see
// Quiet), in the zone. It goes by what the clocks show, so that it is never
// in quiet hours on a day on which they change: a missing end is the first
// instant after the gap, a repeated one its first occurrence. It is the zero
// time when 400 days in a row are quiet.
func NextAllowed(now time.Time, from, to models.TimeOfDay, loc *time.Location, opts Options) time.Time {
	at := now.In(loc)
	end := models.DateOf(at).AddDays(quietHorizon)
	for models.DateOf(at) <= end {
		if !Quiet(at, from, to, loc, opts) {
			return at
		}
		at = nextEdge(at, from, to, loc)
	}
	return time.Time{}
}

// nextEdge gives the first instant after a quiet one at which it may stop
// being quiet: midnight, the end of the quiet hours, or a change of the
// clocks. Between two changes the clocks run evenly.
func nextEdge(at time.Time, from, to models.TimeOfDay, loc *time.Location) time.Time {
	const day = 24 * 60 * 60
	shown := secondOfDay(at)
	left := day - shown
	if e := to.Minutes()*60 - shown; e > 0 && quietHour(at, from, to) {
		left = e
	}
	next := at.Truncate(time.Second).Add(time.Duration(left) * time.Second)
	if _, change := at.ZoneBounds(); !change.IsZero() && change.Before(next) {
		next = change
	}
	return next.In(loc)
}
