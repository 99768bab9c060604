package scheduler_test

import (
	"context"
	"log/slog"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
	"example.org/roundsman/scheduler"
)

// clocked is a service whose clock the test moves.
type clocked struct {
	*scheduler.Service
	st  *store.Store
	now time.Time
}

func newService(t *testing.T, zone string, times ...models.TimeOfDay) *clocked {
	t.Helper()
	loc, err := time.LoadLocation(zone)
	require.NoError(t, err)
	st := openStore(t)
	record(t, st, calendarFleet())
	c := &clocked{st: st}
	h := runnerOf(st)
	h.Notify.Zone = loc
	c.Service = &scheduler.Service{Runner: h, Times: times, MaxAge: 7 * 24 * time.Hour,
		Clock: models.ClockFunc(func() time.Time { return c.now }), Log: slog.New(slog.DiscardHandler)}
	return c
}

// Changes of the clocks: IANA time zone database 2025b, as published for 2026.
// The appointed time lies in the hour that is missing in spring and repeated
// in autumn (on southern clocks the other way round).
func TestNoDayIsSkippedOrDoubledWhenTheClocksChange(t *testing.T) {
	for _, c := range []struct {
		zone string
		at   models.TimeOfDay
		day  string // on which the clocks change
		held string // the instant of that day's round
	}{
		{"America/New_York", models.At(2, 30), "2026-03-08", "2026-03-08T07:00:00Z"}, // missing: the first instant after the gap
		{"America/New_York", models.At(1, 30), "2026-11-01", "2026-11-01T05:30:00Z"}, // repeated: its first occurrence
		{"America/Denver", models.At(2, 0), "2026-03-08", "2026-03-08T09:00:00Z"},
		{"America/Denver", models.At(1, 0), "2026-11-01", "2026-11-01T07:00:00Z"},
		{"Europe/Berlin", models.At(2, 30), "2026-03-29", "2026-03-29T01:00:00Z"},
		{"Europe/Berlin", models.At(2, 30), "2026-10-25", "2026-10-25T00:30:00Z"},
		{"Australia/Sydney", models.At(2, 30), "2026-10-04", "2026-10-03T16:00:00Z"},
		{"Australia/Sydney", models.At(2, 30), "2026-04-05", "2026-04-04T15:30:00Z"},
	} {
		s := newService(t, c.zone, c.at)
		loc := s.Runner.Notify.Zone
		day := date(c.day)
		s.now = day.AddDays(-1).In(loc)
		_, _, err := s.RunOwed(t.Context()) // makes up the day before
		require.NoError(t, err)
		rounds := map[models.Date][]string{}
		for s.now.Before(day.AddDays(2).In(loc)) {
			s.now = s.now.Add(10 * time.Minute)
			r, held, err := s.RunOwed(t.Context())
			require.NoError(t, err)
			if held {
				rounds[r.Today] = append(rounds[r.Today], r.At.String())
			}
		}
		for _, d := range []models.Date{day.AddDays(-1), day, day.AddDays(1)} {
			assert.Len(t, rounds[d], 1, "%s %s: rounds on %s", c.zone, c.at, d)
		}
		if assert.NotEmpty(t, rounds[day]) {
			assert.Equal(t, c.held, rounds[day][0], "%s %s", c.zone, c.at)
		}
	}
}

func TestMissedRoundsAreMadeUpOnce(t *testing.T) {
	s := newService(t, "America/Denver", models.At(7, 0))
	held := func(at string) bool {
		var err error
		s.now, err = time.ParseInLocation("2006-01-02 15:04", at, denver)
		require.NoError(t, err)
		_, ok, err := s.RunOwed(t.Context())
		require.NoError(t, err)
		return ok
	}
	assert.True(t, held("2026-03-02 07:00"))
	assert.False(t, held("2026-03-02 07:00"), "not twice")
	assert.False(t, held("2026-03-03 06:59"))
	// The computer was off from Tuesday morning to Friday noon.
	assert.True(t, held("2026-03-06 12:00"), "one round makes up for all that were missed")
	assert.False(t, held("2026-03-06 12:01"))
	assert.True(t, held("2026-03-07 07:00"), "and the next comes at its time")
}

func TestTwoRoundsNeverRunAtOnce(t *testing.T) {
	s := newService(t, "America/Denver", models.At(7, 0))
	unlock, ok, err := s.st.TryLock("round")
	require.NoError(t, err)
	require.True(t, ok)
	s.now = noon(date("2026-03-02"))
	_, held, err := s.RunOwed(t.Context())
	assert.False(t, held)
	assert.Equal(t, models.CodeUnavailable, models.CodeOf(err))
	require.NoError(t, unlock())
	_, held, err = s.RunOwed(t.Context())
	require.NoError(t, err)
	assert.True(t, held, "it is still owed")
}

// What waited while the service was off is written anew before a courier begins.
func TestAMissedRoundIsHeldBeforeOthersBegin(t *testing.T) {
	s := newService(t, "America/Denver", models.At(7, 0))
	s.now = noon(date("2026-03-10"))
	ctx, stop := context.WithCancel(t.Context())
	held := 0
	s.Held = func() { held++ }
	s.Begun = func() {
		assert.Equal(t, 1, held)
		stop()
	}
	require.NoError(t, s.Run(ctx))
	assert.Equal(t, 1, held)
}
