package models_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
)

func TestClockFunc(t *testing.T) {
	at := time.Date(2026, 5, 1, 12, 0, 0, 0, time.UTC)
	var c models.Clock = models.ClockFunc(func() time.Time { return at })
	assert.Equal(t, at, c.Now())
}

func TestTimeOfDay(t *testing.T) {
	for text, minutes := range map[string]int{"00:00": 0, "07:00": 420, "08:00": 480, "20:00": 1200, "23:59": 1439} {
		v, err := models.ParseTimeOfDay(text)
		require.NoError(t, err, text)
		assert.Equal(t, minutes, v.Minutes(), text)
		assert.Equal(t, text, v.String())
		assert.False(t, v.IsZero(), text)
		assert.Equal(t, models.At(minutes/60, minutes%60), v)
	}
	v, err := models.ParseTimeOfDay("")
	require.NoError(t, err)
	assert.True(t, v.IsZero(), "nothing is not midnight")
	assert.NotEqual(t, v, models.At(0, 0))
	assert.Empty(t, v.String())
	assert.Zero(t, v.Minutes())
	for _, text := range []string{"24:00", "7:00", "07:60", "0700", "07:00:00", " 07:00", "7pm", "07.00", "-1:00", "２０:00"} {
		_, err := models.ParseTimeOfDay(text)
		assert.ErrorContains(t, err, "write HH:MM", text)
	}
}

func TestTimeOfDayRoundTrip(t *testing.T) {
	for i := range models.TimeOfDay(1441) {
		b, err := i.MarshalText()
		require.NoError(t, err)
		var back models.TimeOfDay
		require.NoError(t, back.UnmarshalText(b))
		require.Equal(t, i, back)
		v, err := i.Value()
		require.NoError(t, err)
		require.NoError(t, back.Scan(v))
		require.Equal(t, i, back)
	}
	var v models.TimeOfDay
	require.NoError(t, v.Scan([]byte("07:30")))
	assert.Equal(t, models.At(7, 30), v)
	require.NoError(t, v.Scan(nil))
	assert.Zero(t, v)
	assert.ErrorContains(t, v.Scan(5), "int")
	assert.Error(t, v.Scan("soon"))
}

func TestMonthDay(t *testing.T) {
	oct := models.MonthDay{Month: time.October, Day: 15}
	m, err := models.ParseMonthDay("10-15")
	require.NoError(t, err)
	assert.Equal(t, oct, m)
	assert.Equal(t, "2026-10-15", m.In(2026).String())

	leap, err := models.ParseMonthDay("02-29")
	require.NoError(t, err)
	// Gregorian leap years: every fourth, not every hundredth, but every
	// four-hundredth (Inter gravissimas, 1582).
	for year, want := range map[int]string{2024: "2024-02-29", 2025: "2025-02-28", 1900: "1900-02-28", 2000: "2000-02-29", 2100: "2100-02-28"} {
		assert.Equal(t, want, leap.In(year).String())
	}

	none, err := models.ParseMonthDay("")
	require.NoError(t, err)
	assert.True(t, none.IsZero())
	assert.Zero(t, none.In(2026))
	assert.Empty(t, none.String())
	for _, text := range []string{"13-01", "00-10", "02-30", "10-32", "10-1", "1-10", "2026-10-15", "10/15", "Oct 15", " 10-15"} {
		_, err := models.ParseMonthDay(text)
		assert.ErrorContains(t, err, "write MM-DD", text)
	}
}

func TestMonthDayRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := models.NewDate(2024, time.January, rapid.IntRange(1, 366).Draw(t, "day"))
		_, month, day := d.Civil()
		m := models.MonthDay{Month: month, Day: day}
		b, err := m.MarshalText()
		require.NoError(t, err)
		var back models.MonthDay
		require.NoError(t, back.UnmarshalText(b))
		assert.Equal(t, m, back)
		require.NoError(t, back.Scan(string(b)))
		assert.Equal(t, m, back)
		assert.Equal(t, d, m.In(2024))
	})
	var m models.MonthDay
	require.NoError(t, m.Scan(nil))
	assert.True(t, m.IsZero())
	assert.Error(t, m.Scan(1.5))
	assert.Error(t, m.Scan("31-12"))
}
