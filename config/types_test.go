package config_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/config"
)

func TestParseDuration(t *testing.T) {
	for text, want := range map[string]time.Duration{
		"0s": 0, "45s": 45 * time.Second, "90s": 90 * time.Second, "1h30m": 90 * time.Minute,
		"1.5h": 90 * time.Minute, "0d": 0, "5d": 120 * time.Hour, "10000d": 240_000 * time.Hour,
	} {
		d, err := config.ParseDuration(text)
		require.NoError(t, err, text)
		assert.Equal(t, want, d.Std(), text)
	}
	for _, text := range []string{"", "5", "-5s", "-1d", "1.5d", "10001d", "d", "1d12h", "five minutes", "1y", "999999999h"} {
		_, err := config.ParseDuration(text)
		assert.Error(t, err, text)
	}
	for text, want := range map[string]string{"60s": "1m", "90s": "1m30s", "60m": "1h", "24h": "1d", "36h": "36h", "0s": "0s", "100ms": "100ms", "20m": "20m", "10s": "10s", "1h1s": "1h0m1s"} {
		d, err := config.ParseDuration(text)
		require.NoError(t, err)
		assert.Equal(t, want, d.String())
	}
}

// What is written reads back to the same.
func TestDurationRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := config.Duration(rapid.Int64Range(0, int64(10_000*24*time.Hour)).Draw(t, "d"))
		text, err := d.MarshalText()
		require.NoError(t, err)
		var back config.Duration
		require.NoError(t, back.UnmarshalText(text))
		assert.Equal(t, d, back)
	})
}

func TestParseZone(t *testing.T) {
	z, err := config.ParseZone("America/Denver")
	require.NoError(t, err)
	assert.Equal(t, "America/Denver", z.String())
	// tzdata 2025b: Denver is 6 hours behind UTC in July.
	assert.Equal(t, "2026-07-01T06:00:00-06:00", time.Date(2026, 7, 1, 12, 0, 0, 0, time.UTC).In(z.Location()).Format(time.RFC3339))

	z, err = config.ParseZone("UTC")
	require.NoError(t, err)
	assert.Equal(t, config.Zone{}, z)
	assert.Equal(t, "UTC", config.Zone{}.String())
	for _, text := range []string{"", "Local", "Denver", "America/Dever", "../etc/passwd", "/etc/localtime", "UTC+7"} {
		_, err := config.ParseZone(text)
		assert.Error(t, err, text)
	}
}
