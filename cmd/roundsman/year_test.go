package main

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
	"example.org/roundsman/scheduler"
)

// TestAYearOfRoundsTellsEachNoticeOnce plays the demo's last year day by day,
// as the service would, with a simulated clock: at each step the round that is
// owed is held and what is due is sent. It also looks an extra time each day,
// as a restarted service does.
func TestAYearOfRoundsTellsEachNoticeOnce(t *testing.T) {
	t.Parallel()
	s := demoSettings(t.TempDir())
	zone := s.Shop.TimeZone.Location()
	now := time.Date(2025, 10, 1, 7, 5, 0, 0, zone)
	days, atLeast := 365, 100 // with notices
	if testing.Short() {
		days, atLeast = 35, 5 // one change of the clocks
	}
	clock := models.ClockFunc(func() time.Time { return now })
	a, err := app.New(t.Context(), s, app.Options{Clock: clock})
	require.NoError(t, err)
	defer func() { assert.NoError(t, a.Close()) }()
	require.NoError(t, a.LoadDemo(t.Context()))
	service := &scheduler.Service{Runner: a.Runner, Times: s.Rounds.At, MaxAge: 7 * 24 * time.Hour, Clock: clock, Log: a.Log}
	courier, release, err := a.Courier(clock)
	require.NoError(t, err)
	defer func() { assert.NoError(t, release()) }()

	rounds := map[models.Date]int{}
	quiet := 0
	end := time.Date(2025, 10, 1+days, 7, 0, 0, 0, zone)
	for ; now.Before(end); now = now.Add(4 * time.Hour) { // through both changes of the clocks
		for range 2 {
			r, held, err := service.RunOwed(t.Context())
			require.NoError(t, err)
			if held {
				rounds[r.Today]++
				if r.Looked == 0 {
					quiet++
				}
			}
		}
		_, err := courier.Drain(t.Context())
		require.NoError(t, err)
	}
	assert.Len(t, rounds, days, "one round for each day")
	for day, n := range rounds {
		assert.Equal(t, 1, n, "rounds on %s", day)
	}
	assert.NotZero(t, quiet, "on a day on which nothing changed no machine is looked at")

	logs, err := a.Store.Messages(t.Context(), store.MessageFilter{})
	require.NoError(t, err)
	seen := map[string]bool{}
	perDay := map[string]int{}
	told := 0
	for _, l := range logs {
		at := l.Message.QueuedAt.Time().In(zone)
		perDay[fmt.Sprint(l.Message.Contact, models.DateOf(at))]++
		if !l.Message.EndedAt.IsZero() {
			hour := l.Message.EndedAt.Time().In(zone).Hour()
			assert.True(t, hour >= 8 && hour < 20, "message %d went at %v", l.Message.ID, l.Message.EndedAt)
		}
		for _, n := range l.Notices {
			key := fmt.Sprint(n.Contact, n.Machine, n.Subject, n.Item, n.Cycle, n.Stage, n.Ordinal)
			assert.False(t, seen[key], "told twice: %s", key)
			seen[key] = true
			told++
		}
	}
	for k, n := range perDay {
		assert.Equal(t, 1, n, "messages to a contact in one round: %s", k)
	}
	assert.Greater(t, told, atLeast)
	t.Logf("%d rounds, %d without a look, %d notices in %d messages", len(rounds), quiet, told, len(logs))
}
