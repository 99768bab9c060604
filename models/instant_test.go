package models_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
)

// The changes of the clocks of tz database 2025b, zdump and Go agreeing: the
// instant and what the clocks showed before and after.
func TestInstant(t *testing.T) {
	for _, tt := range []struct{ zone, local, utc string }{
		{"America/New_York", "2026-03-08T03:00:00-04:00", "2026-03-08T07:00:00Z"},
		{"America/New_York", "2026-11-01T01:00:00-05:00", "2026-11-01T06:00:00Z"},
		{"America/Denver", "2026-03-08T03:00:00-06:00", "2026-03-08T09:00:00Z"},
		{"Europe/London", "2026-10-25T01:00:00Z", "2026-10-25T01:00:00Z"},
		{"Europe/Berlin", "2026-03-29T03:00:00+02:00", "2026-03-29T01:00:00Z"},
		{"Australia/Sydney", "2026-04-05T02:00:00+10:00", "2026-04-04T16:00:00Z"},
	} {
		at, err := time.Parse(time.RFC3339, tt.local)
		require.NoError(t, err)
		i := models.InstantOf(at)
		assert.Equal(t, tt.utc, i.String(), tt.zone)
		assert.Equal(t, tt.local, i.Time().In(zone(t, tt.zone)).Format(time.RFC3339), tt.zone)
	}
}

func TestInstantZero(t *testing.T) {
	assert.True(t, models.Instant(0).IsZero())
	assert.Zero(t, models.InstantOf(time.Time{}))
	assert.True(t, models.Instant(0).Time().IsZero())
	assert.Empty(t, models.Instant(0).String())
}

func TestInstantCutsToSeconds(t *testing.T) {
	at := time.Date(2026, 5, 1, 12, 0, 0, 999_999_999, time.UTC)
	assert.Equal(t, "2026-05-01T12:00:00Z", models.InstantOf(at).String())
	assert.Equal(t, "2026-05-01T12:01:30Z", models.InstantOf(at).Add(90*time.Second+999*time.Millisecond).String())
	assert.Equal(t, time.UTC, models.InstantOf(at).Time().Location())
}

// Instants sort by time although the texts of their zones do not.
func TestInstantSorts(t *testing.T) {
	newYork := models.InstantOf(time.Date(2026, 7, 1, 0, 30, 0, 0, zone(t, "America/New_York"))) // 04:30Z
	berlin := models.InstantOf(time.Date(2026, 7, 1, 5, 30, 0, 0, zone(t, "Europe/Berlin")))     // 03:30Z
	assert.Less(t, berlin, newYork)
}

func TestInstantScan(t *testing.T) {
	var i models.Instant
	require.NoError(t, i.Scan(int64(1000)))
	assert.Equal(t, models.Instant(1000), i)
	require.NoError(t, i.Scan(nil))
	assert.Zero(t, i)
	assert.ErrorContains(t, i.Scan("2026-01-01"), "string")
}

func TestInstantRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		i := models.Instant(rapid.Int64Range(-62135596800+1, 253402300799).Draw(t, "i"))
		assert.Equal(t, i, models.InstantOf(i.Time()))
	})
}
