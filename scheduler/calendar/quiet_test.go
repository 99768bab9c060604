package calendar_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/calendar"
)

func TestNextAllowed(t *testing.T) {
	july4 := calendar.Options{Holidays: func(d models.Date) bool { return d == date("2026-07-03") || d == date("2026-07-04") }}
	both := calendar.Options{Sundays: true, Holidays: july4.Holidays}
	tests := []struct {
		name, zone, from, to string
		opts                 calendar.Options
		now, want            string
	}{
		// Edges of 47 CFR 64.1200(c)(1), 8 a.m. to 9 p.m. local time (READ).
		{"07:59:59 holds", "America/New_York", "21:00", "08:00", calendar.Options{}, "2026-06-01T07:59:59-04:00", "2026-06-01T12:00:00Z"},
		{"08:00:00 goes", "America/New_York", "21:00", "08:00", calendar.Options{}, "2026-06-01T08:00:00-04:00", "2026-06-01T12:00:00Z"},
		{"20:59:59 goes", "America/New_York", "21:00", "08:00", calendar.Options{}, "2026-06-01T20:59:59-04:00", "2026-06-02T00:59:59Z"},
		{"21:00:00 holds till morning", "America/New_York", "21:00", "08:00", calendar.Options{}, "2026-06-01T21:00:00-04:00", "2026-06-02T12:00:00Z"},
		{"the small hours", "America/New_York", "21:00", "08:00", calendar.Options{}, "2026-06-01T03:00:00-04:00", "2026-06-01T12:00:00Z"},
		{"a part of a second", "UTC", "20:00", "08:00", calendar.Options{}, "2026-06-01T07:59:59.5Z", "2026-06-01T08:00:00Z"},
		{"hours within a day", "UTC", "12:00", "13:30", calendar.Options{}, "2026-06-01T12:10:00Z", "2026-06-01T13:30:00Z"},
		{"outside hours within a day", "UTC", "12:00", "13:30", calendar.Options{}, "2026-06-01T11:59:59Z", "2026-06-01T11:59:59Z"},
		{"equal ends: never quiet", "UTC", "08:00", "08:00", calendar.Options{}, "2026-06-01T03:00:00Z", "2026-06-01T03:00:00Z"},
		{"ends not set: never quiet", "UTC", "", "", calendar.Options{}, "2026-06-01T03:00:00Z", "2026-06-01T03:00:00Z"},
		{"end at midnight", "UTC", "20:00", "00:00", calendar.Options{}, "2026-06-01T21:00:00Z", "2026-06-02T00:00:00Z"},
		{"begin at midnight", "UTC", "00:00", "08:00", calendar.Options{}, "2026-06-01T00:00:00Z", "2026-06-01T08:00:00Z"},

		{"night of the spring change", "America/New_York", "20:00", "08:00", calendar.Options{}, "2026-03-07T21:00:00-05:00", "2026-03-08T12:00:00Z"},
		{"night of the autumn change", "America/New_York", "20:00", "08:00", calendar.Options{}, "2026-10-31T21:00:00-04:00", "2026-11-01T13:00:00Z"},
		{"end in the gap", "America/New_York", "20:00", "02:30", calendar.Options{}, "2026-03-07T21:00:00-05:00", "2026-03-08T07:00:00Z"},
		{"begin in the gap", "America/New_York", "02:30", "05:00", calendar.Options{}, "2026-03-08T06:59:59Z", "2026-03-08T06:59:59Z"},
		{"just after that gap", "America/New_York", "02:30", "05:00", calendar.Options{}, "2026-03-08T07:00:00Z", "2026-03-08T09:00:00Z"},
		{"end repeated: the first", "America/New_York", "20:00", "01:30", calendar.Options{}, "2026-10-31T21:00:00-04:00", "2026-11-01T05:30:00Z"},
		{"and quiet when the clocks go back", "America/New_York", "20:00", "01:30", calendar.Options{}, "2026-11-01T06:10:00Z", "2026-11-01T06:30:00Z"},
		{"midnight missing", "America/Sao_Paulo", "20:00", "00:00", calendar.Options{}, "2018-11-03T22:00:00-03:00", "2018-11-04T03:00:00Z"},
		{"Lord Howe, half an hour", "Australia/Lord_Howe", "20:00", "08:00", calendar.Options{}, "2026-10-03T12:00:00Z", "2026-10-03T21:00:00Z"},

		{"Sunday", "UTC", "20:00", "08:00", calendar.Options{Sundays: true}, "2026-06-06T21:00:00Z", "2026-06-08T08:00:00Z"},
		{"Sundays go unless told", "UTC", "20:00", "08:00", calendar.Options{}, "2026-06-07T12:00:00Z", "2026-06-07T12:00:00Z"},
		{"holiday to the next morning", "UTC", "20:00", "08:00", july4, "2026-07-02T20:00:00Z", "2026-07-05T08:00:00Z"},
		{"holidays and the Sunday after", "UTC", "20:00", "08:00", both, "2026-07-02T20:00:00Z", "2026-07-06T08:00:00Z"},
		{"no quiet hours, a Sunday", "UTC", "", "", calendar.Options{Sundays: true}, "2026-06-07T12:00:00Z", "2026-06-08T00:00:00Z"},
		{"always quiet", "UTC", "", "", calendar.Options{Holidays: func(models.Date) bool { return true }}, "2026-06-07T12:00:00Z", "0001-01-01T00:00:00Z"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			now, err := time.Parse(time.RFC3339Nano, tt.now)
			require.NoError(t, err)
			got := calendar.NextAllowed(now, tod(tt.from), tod(tt.to), zone(t, tt.zone), tt.opts)
			assert.Equal(t, tt.want, utc(got))
		})
	}
}

// Never in quiet hours, never early, and nothing allowed is passed over: the
// minutes between now and the answer are all quiet.
func TestNextAllowedProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		loc := zone(t, rapid.SampledFrom(zoneNames).Draw(t, "zone"))
		from := models.TimeOfDay(rapid.IntRange(1, 1440).Draw(t, "from"))
		to := models.TimeOfDay(rapid.IntRange(1, 1440).Draw(t, "to"))
		opts := calendar.Options{Sundays: rapid.Bool().Draw(t, "sundays")}
		now := date("2017-01-01").In(time.UTC).Add(time.Duration(rapid.Int64Range(0, 10*365*24*60).Draw(t, "minute")) * time.Minute)
		if _, change := now.In(loc).ZoneBounds(); !change.IsZero() && rapid.Bool().Draw(t, "near a change") {
			now = change.Add(-time.Duration(rapid.IntRange(-600, 600).Draw(t, "minutes before")) * time.Minute)
		}
		got := calendar.NextAllowed(now, from, to, loc, opts)
		require.False(t, got.Before(now))
		require.False(t, calendar.Quiet(got, from, to, loc, opts))
		for m := now; m.Before(got); m = m.Add(time.Minute) {
			require.True(t, calendar.Quiet(m, from, to, loc, opts), "%s is allowed", m.In(loc))
		}
		require.True(t, got.Equal(calendar.NextAllowed(got, from, to, loc, opts)), "asking again changes nothing")
	})
}
