package calendar_test

import (
	"testing"
	"time"
	_ "time/tzdata" // the tests bring the zones; the program imports them for itself

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/calendar"
)

// zoneNames reach from Newfoundland to Auckland the long way round, with
// half and quarter hours, a half-hour summer time, changes at midnight, days
// skipped whole, and zones that never change.
var zoneNames = []string{
	"America/St_Johns", "America/Halifax", "America/New_York", "America/Toronto", "America/Chicago",
	"America/Denver", "America/Phoenix", "America/Los_Angeles", "America/Anchorage", "America/Adak",
	"Pacific/Honolulu", "America/Mexico_City", "America/Havana", "America/Bogota", "America/Sao_Paulo",
	"America/Santiago", "America/Asuncion", "America/Nuuk", "America/Scoresbysund", "Atlantic/Azores",
	"Europe/London", "Europe/Dublin", "Europe/Berlin", "Europe/Athens", "Europe/Moscow", "Africa/Casablanca",
	"Africa/Cairo", "Asia/Beirut", "Asia/Gaza", "Asia/Tehran", "Asia/Kolkata", "Asia/Kathmandu", "Asia/Amman",
	"Australia/Perth", "Australia/Eucla", "Australia/Sydney", "Australia/Lord_Howe", "Pacific/Norfolk",
	"Pacific/Auckland", "Pacific/Chatham", "Pacific/Apia", "Pacific/Kiritimati", "UTC",
}

func zone(t require.TestingT, name string) *time.Location {
	loc, err := time.LoadLocation(name)
	require.NoError(t, err)
	return loc
}

func tod(s string) models.TimeOfDay {
	v, err := models.ParseTimeOfDay(s)
	if err != nil {
		return 0
	}
	return v
}

func instant(s string) time.Time {
	v, err := time.Parse(time.RFC3339, s)
	if err != nil {
		return time.Time{}
	}
	return v
}

// COMPUTED: Go 1.26.8 on tzdata 2025b; zdump agrees for New York and Chicago
// in 2026.
func TestResolveAtChangesOfTheClocks(t *testing.T) {
	tests := []struct{ zone, before, after, utc string }{
		{"America/New_York", "2026-03-08 01:59:59 EST -0500", "2026-03-08 03:00:00 EDT -0400", "2026-03-08T07:00:00Z"},
		{"America/New_York", "2026-11-01 01:59:59 EDT -0400", "2026-11-01 01:00:00 EST -0500", "2026-11-01T06:00:00Z"},
		{"America/New_York", "2027-03-14 01:59:59 EST -0500", "2027-03-14 03:00:00 EDT -0400", "2027-03-14T07:00:00Z"},
		{"America/New_York", "2027-11-07 01:59:59 EDT -0400", "2027-11-07 01:00:00 EST -0500", "2027-11-07T06:00:00Z"},
		{"America/Chicago", "2026-03-08 01:59:59 CST -0600", "2026-03-08 03:00:00 CDT -0500", "2026-03-08T08:00:00Z"},
		{"America/Chicago", "2026-11-01 01:59:59 CDT -0500", "2026-11-01 01:00:00 CST -0600", "2026-11-01T07:00:00Z"},
		{"America/Denver", "2026-03-08 01:59:59 MST -0700", "2026-03-08 03:00:00 MDT -0600", "2026-03-08T09:00:00Z"},
		{"America/Denver", "2026-11-01 01:59:59 MDT -0600", "2026-11-01 01:00:00 MST -0700", "2026-11-01T08:00:00Z"},
		{"America/Los_Angeles", "2026-03-08 01:59:59 PST -0800", "2026-03-08 03:00:00 PDT -0700", "2026-03-08T10:00:00Z"},
		{"America/Los_Angeles", "2026-11-01 01:59:59 PDT -0700", "2026-11-01 01:00:00 PST -0800", "2026-11-01T09:00:00Z"},
		{"America/Toronto", "2026-03-08 01:59:59 EST -0500", "2026-03-08 03:00:00 EDT -0400", "2026-03-08T07:00:00Z"},
		{"America/Toronto", "2026-11-01 01:59:59 EDT -0400", "2026-11-01 01:00:00 EST -0500", "2026-11-01T06:00:00Z"},
		{"Europe/London", "2026-03-29 00:59:59 GMT +0000", "2026-03-29 02:00:00 BST +0100", "2026-03-29T01:00:00Z"},
		{"Europe/London", "2026-10-25 01:59:59 BST +0100", "2026-10-25 01:00:00 GMT +0000", "2026-10-25T01:00:00Z"},
		{"Europe/Berlin", "2026-03-29 01:59:59 CET +0100", "2026-03-29 03:00:00 CEST +0200", "2026-03-29T01:00:00Z"},
		{"Europe/Berlin", "2026-10-25 02:59:59 CEST +0200", "2026-10-25 02:00:00 CET +0100", "2026-10-25T01:00:00Z"},
		{"Australia/Sydney", "2026-04-05 02:59:59 AEDT +1100", "2026-04-05 02:00:00 AEST +1000", "2026-04-04T16:00:00Z"},
		{"Australia/Sydney", "2026-10-04 01:59:59 AEST +1000", "2026-10-04 03:00:00 AEDT +1100", "2026-10-03T16:00:00Z"},
	}
	const shown = "2006-01-02 15:04:05 MST -0700"
	for _, tt := range tests {
		t.Run(tt.zone+" "+tt.utc, func(t *testing.T) {
			loc, at := zone(t, tt.zone), instant(tt.utc)
			require.Equal(t, tt.before, at.Add(-time.Second).In(loc).Format(shown))
			require.Equal(t, tt.after, at.In(loc).Format(shown))

			day := models.DateOf(at.In(loc))
			_, was := at.Add(-time.Second).In(loc).Zone()
			_, is := at.In(loc).Zone()
			shift := time.Duration(is-was) * time.Second
			clock := tod(at.In(loc).Format("15:04"))
			if shift > 0 {
				for m := models.TimeOfDay(1); m <= 60; m += 7 {
					assert.Equal(t, tt.utc, utc(calendar.Resolve(day, clock-m, loc)), "%d min before the end of the gap", m)
				}
				assert.Equal(t, tt.utc, utc(calendar.Resolve(day, clock, loc)))
				return
			}
			assert.Equal(t, utc(at.Add(shift)), utc(calendar.Resolve(day, clock, loc)), "the first occurrence")
			assert.Equal(t, utc(at.Add(time.Hour)), utc(calendar.Resolve(day, clock+60, loc)), "after the second")
		})
	}
}

func utc(t time.Time) string { return t.UTC().Format(time.RFC3339) }

func TestResolve(t *testing.T) {
	tests := []struct{ name, zone, on, at, want string }{
		// COMPUTED with zdump -v of tzdata 2025b.
		{"an ordinary day", "America/Denver", "2026-06-01", "07:00", "2026-06-01T13:00:00Z"},
		{"midnight missing, Sao Paulo 2018", "America/Sao_Paulo", "2018-11-04", "00:00", "2018-11-04T03:00:00Z"},
		{"half past midnight missing", "America/Sao_Paulo", "2018-11-04", "00:30", "2018-11-04T03:00:00Z"},
		{"the hour after", "America/Sao_Paulo", "2018-11-04", "01:00", "2018-11-04T03:00:00Z"},
		{"an hour repeated before midnight", "America/Sao_Paulo", "2018-02-17", "23:30", "2018-02-18T01:30:00Z"},
		{"the midnight after it", "America/Sao_Paulo", "2018-02-18", "00:00", "2018-02-18T03:00:00Z"},
		{"half an hour missing, Lord Howe", "Australia/Lord_Howe", "2026-10-04", "02:15", "2026-10-03T15:30:00Z"},
		{"the end of it", "Australia/Lord_Howe", "2026-10-04", "02:30", "2026-10-03T15:30:00Z"},
		{"half past and on", "Australia/Lord_Howe", "2026-10-04", "03:00", "2026-10-03T16:00:00Z"},
		{"half an hour repeated", "Australia/Lord_Howe", "2026-04-05", "01:45", "2026-04-04T14:45:00Z"},
		{"the last hour of a day missing, Nuuk", "America/Nuuk", "2024-03-30", "23:30", "2024-03-31T01:00:00Z"},
		{"a day skipped whole, Samoa", "Pacific/Apia", "2011-12-30", "07:00", "2011-12-30T10:00:00Z"},
		{"Havana repeats midnight", "America/Havana", "2026-11-01", "00:00", "2026-11-01T04:00:00Z"},
		{"Chatham, 45 minutes off", "Pacific/Chatham", "2026-01-01", "00:00", "2025-12-31T10:15:00Z"},
		{"time not set is midnight", "UTC", "2026-01-01", "", "2026-01-01T00:00:00Z"},
		{"no date", "UTC", "", "07:00", "0001-01-01T00:00:00Z"},
		// READ: RFC 5545, 3.3.5: a repeated time is its first occurrence.
		{"RFC 5545 overlap", "America/New_York", "2007-11-04", "01:30", "2007-11-04T05:30:00Z"},
		// The RFC's own answer to this missing time is 07:30Z; ours is the
		// end of the gap.
		{"gap of RFC 5545's example", "America/New_York", "2007-03-11", "02:30", "2007-03-11T07:00:00Z"},
		{"where time.Date answers 06:30Z", "America/New_York", "2026-03-08", "02:30", "2026-03-08T07:00:00Z"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.want, utc(calendar.Resolve(date(tt.on), tod(tt.at), zone(t, tt.zone))))
		})
	}
}

// The days between two nine o'clocks in New York (COMPUTED, Go 1.26.8).
func TestResolveDayLengths(t *testing.T) {
	ny, nine := zone(t, "America/New_York"), models.At(9, 0)
	for on, want := range map[string]time.Duration{
		"2026-03-07": 23 * time.Hour, "2026-10-31": 25 * time.Hour, "2026-06-01": 24 * time.Hour,
	} {
		d := date(on)
		got := calendar.Resolve(d.AddDays(1), nine, ny).Sub(calendar.Resolve(d, nine, ny))
		assert.Equal(t, want, got, on)
	}
	for _, name := range []string{"America/Phoenix", "Asia/Kolkata", "America/Sao_Paulo"} { // no changes 2025-2027
		loc := zone(t, name)
		for d := date("2025-01-01"); d < date("2028-01-01"); d++ {
			require.Equal(t, 24*time.Hour, calendar.Resolve(d.AddDays(1), nine, loc).Sub(calendar.Resolve(d, nine, loc)), name)
		}
	}
}

// The answer is the first instant at which the clocks show the time or a
// later one, found here the slow way: minute by minute.
func TestResolveIsTheFirstInstant(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		loc := zone(t, rapid.SampledFrom(zoneNames).Draw(t, "zone"))
		base := date("2005-01-01").AddDays(rapid.IntRange(0, 365*24).Draw(t, "days")).In(time.UTC)
		if _, change := base.In(loc).ZoneBounds(); !change.IsZero() && rapid.Bool().Draw(t, "at a change") {
			base = change
		}
		clock := models.TimeOfDay(rapid.IntRange(1, 1440).Draw(t, "time"))
		day := models.DateOf(base.In(loc))
		want := day.In(time.UTC).Add(time.Duration(clock.Minutes()) * time.Minute)
		slow := want.Add(-26 * time.Hour)
		for wall(slow.In(loc)).Before(want) {
			slow = slow.Add(time.Minute)
		}
		assert.Equal(t, utc(slow), utc(calendar.Resolve(day, clock, loc)))
	})
}

// wall is what the clocks show, as if it were UTC.
func wall(t time.Time) time.Time {
	_, offset := t.Zone()
	return t.UTC().Add(time.Duration(offset) * time.Second)
}

func BenchmarkResolve(b *testing.B) {
	loc := zone(b, "America/Denver")
	d := date("2026-03-08")
	for b.Loop() {
		calendar.Resolve(d, models.At(2, 30), loc)
	}
}
