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

func times(texts ...string) []models.TimeOfDay {
	out := make([]models.TimeOfDay, len(texts))
	for i, s := range texts {
		out[i] = tod(s)
	}
	return out
}

func TestOwed(t *testing.T) {
	const denver = "America/Denver"
	tests := []struct {
		name  string
		times []models.TimeOfDay
		held  string
		now   string
		max   time.Duration
		want  string
	}{
		{"never held: the newest", times("07:00"), "", "2026-03-08T20:00:00Z", 0, "2026-03-08 07:00 America/Denver"},
		{"before today's: yesterday's", times("07:00"), "", "2026-03-08T12:59:59Z", 0, "2026-03-07 07:00 America/Denver"},
		{"on the second", times("07:00"), "2026-03-07T14:00:00Z", "2026-03-08T13:00:00Z", 0, "2026-03-08 07:00 America/Denver"},
		{"held", times("07:00"), "2026-03-08T13:00:00Z", "2026-03-08T23:00:00Z", 0, ""},
		{"off for ten days: once", times("07:00"), "2026-02-26T14:00:00Z", "2026-03-08T20:00:00Z", 0, "2026-03-08 07:00 America/Denver"},
		{"two a day", times("15:30", "07:00"), "2026-03-08T13:00:00Z", "2026-03-08T22:00:00Z", 0, "2026-03-08 15:30 America/Denver"},
		{"two a day, both missed", times("07:00", "15:30"), "2026-03-07T22:30:00Z", "2026-03-08T22:00:00Z", 0, "2026-03-08 15:30 America/Denver"},
		{"too old to make up", times("07:00"), "", "2026-03-08T20:00:00Z", time.Hour, ""},
		{"just not too old", times("07:00"), "", "2026-03-08T14:00:00Z", time.Hour, "2026-03-08 07:00 America/Denver"},
		{"missing local time", times("02:30"), "2026-03-07T09:30:00Z", "2026-03-08T09:00:00Z", 0, "2026-03-08 02:30 America/Denver"},
		{"not before the gap ends", times("02:30"), "2026-03-07T09:30:00Z", "2026-03-08T08:59:59Z", 0, ""},
		{"repeated time, first", times("01:30"), "2026-10-31T07:30:00Z", "2026-11-01T07:30:00Z", 0, "2026-11-01 01:30 America/Denver"},
		{"repeated time, not again", times("01:30"), "2026-11-01T07:30:00Z", "2026-11-01T08:30:00Z", 0, ""},
		{"the clock was set back", times("07:00"), "2026-03-09T13:00:00Z", "2026-03-08T20:00:00Z", 0, ""},
		{"no times", nil, "", "2026-03-08T20:00:00Z", 0, ""},
		{"time not set", times(""), "", "2026-03-08T20:00:00Z", 0, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			slot, ok := calendar.Owed(tt.times, zone(t, denver), instant(tt.held), instant(tt.now), tt.max)
			assert.Equal(t, tt.want, slot.Key())
			assert.Equal(t, tt.want != "", ok)
		})
	}
}

// St. John's went back at one minute past midnight, to the day before
// (COMPUTED with zdump of tzdata 2025b): its midnight has come all the same.
func TestOwedWhenTheClocksGoBackToYesterday(t *testing.T) {
	loc := zone(t, "America/St_Johns")
	now := instant("2009-11-01T02:31:00Z")
	require.Equal(t, "2009-10-31 23:01", now.In(loc).Format("2006-01-02 15:04"))
	slot, ok := calendar.Owed(times("00:00"), loc, instant("2009-10-31T02:30:00Z"), now, 0)
	require.True(t, ok)
	assert.Equal(t, "2009-11-01 00:00 America/St_Johns", slot.Key())
	assert.Equal(t, "2009-11-01T02:30:00Z", utc(slot.At))
}

// Every local day that exists has exactly one slot, over the years of the
// table and, where a zone changed at midnight or skipped a day, over those.
func TestEveryDayHasOneSlot(t *testing.T) {
	years := map[string][]string{"America/Sao_Paulo": {"2017-01-01"}, "Pacific/Apia": {"2010-06-01"},
		"America/St_Johns": {"2009-01-01"}, "America/Nuuk": {"2022-06-01"}, "Asia/Tehran": {"2020-01-01"}}
	clocks := []string{"00:00", "00:30", "02:00", "02:30", "07:00", "23:30"}
	if testing.Short() {
		clocks = []string{"00:30", "02:30"}
	}
	for _, name := range zoneNames {
		loc := zone(t, name)
		for _, from := range append(years[name], "2025-01-01") {
			for _, clock := range clocks {
				checkDays(t, loc, date(from), clock)
			}
		}
	}
}

func checkDays(t *testing.T, loc *time.Location, from models.Date, clock string) {
	t.Helper()
	var held time.Time
	for d := from; d < from.AddDays(3*365); d++ {
		slot, ok := calendar.SlotAt(d, tod(clock), loc)
		if !ok {
			require.Equal(t, "2011-12-30 Pacific/Apia", d.String()+" "+loc.String(), "only Samoa skipped a day")
			continue
		}
		require.True(t, slot.At.After(held))
		owed, ok := calendar.Owed(times(clock), loc, held, slot.At, 0)
		require.True(t, ok)
		require.Equal(t, slot.Key(), owed.Key(), "what comes next is owed when it has come")
		_, ok = calendar.Owed(times(clock), loc, held, slot.At.Add(-time.Second), 0)
		require.Equal(t, held.IsZero(), ok, "and not before")
		held = slot.At
	}
}

// A heartbeat that comes when it likes, with outages, holds each slot at most
// once, and the newest slot is always held when it has looked.
func TestHeartbeatHoldsEachSlotOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		loc := zone(t, rapid.SampledFrom(zoneNames).Draw(t, "zone"))
		when := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) models.TimeOfDay {
			return models.TimeOfDay(rapid.IntRange(1, 1440).Draw(t, "minute"))
		}), 1, 3).Draw(t, "times")
		now := date("2025-10-01").AddDays(rapid.IntRange(0, 500).Draw(t, "start")).In(time.UTC)
		var held time.Time
		seen := map[string]bool{}
		for range 200 {
			now = now.Add(time.Duration(rapid.IntRange(1, 4000).Draw(t, "minutes")) * time.Minute)
			if slot, ok := calendar.Owed(when, loc, held, now, 0); ok {
				require.False(t, seen[slot.Key()], "%s held twice", slot.Key())
				require.False(t, slot.At.After(now))
				require.True(t, slot.At.After(held))
				seen[slot.Key()], held = true, slot.At
			}
			_, ok := calendar.Owed(when, loc, held, now, 0)
			require.False(t, ok, "nothing is owed after a look")
		}
	})
}

func TestSlotAtOfDayThatNeverWas(t *testing.T) {
	_, ok := calendar.SlotAt(date("2011-12-30"), models.At(7, 0), zone(t, "Pacific/Apia"))
	assert.False(t, ok)
	_, ok = calendar.SlotAt(0, models.At(7, 0), time.UTC)
	assert.False(t, ok)
	slot, ok := calendar.SlotAt(date("2011-12-31"), models.At(7, 0), zone(t, "Pacific/Apia"))
	assert.True(t, ok)
	assert.Equal(t, "2011-12-31 07:00 Pacific/Apia", slot.Key())
}

func BenchmarkOwed(b *testing.B) {
	loc, now := zone(b, "America/Denver"), instant("2026-03-08T20:00:00Z")
	for b.Loop() {
		calendar.Owed([]models.TimeOfDay{models.At(7, 0)}, loc, now, now, 0)
	}
}
