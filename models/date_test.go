package models_test

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
)

// Rata Die numbers: Reingold and Dershowitz, Calendrical Calculations, for
// the epoch and the sample dates of their appendix C (from memory); the unix
// epoch is 719163 by their definition of it.
func TestDateIsARataDie(t *testing.T) {
	for text, want := range map[string]models.Date{
		"0001-01-01": 1,
		"1970-01-01": 719163,
		"1945-11-12": 710347, // appendix C
		"2094-07-18": 764652, // appendix C
		"2038-11-10": 744313, // appendix C
		"9999-12-31": models.MaxDate,
	} {
		d, err := models.ParseDate(text)
		require.NoError(t, err)
		assert.Equal(t, want, d, text)
		assert.Equal(t, text, d.String())
	}
}

func TestParseDateRefuses(t *testing.T) {
	for _, text := range []string{"", "2026-02-29", "2026-2-3", "2026-13-01", "2026-00-10", "2026-04-31", "0000-12-31", "26-01-02",
		"2026/01/02", "01-02-2026", "2026-01-02T00:00:00Z", " 2026-01-02", "2026-01-02 ", "tomorrow", "１２３４-01-01", "-2026-01-01", "12026-01-01"} {
		d, err := models.ParseDate(text)
		require.Error(t, err, text)
		assert.Zero(t, d)
		assert.Contains(t, err.Error(), "write YYYY-MM-DD")
		assert.Zero(t, models.MustDate(text))
	}
}

// ISO 8601 week dates and days of the year, computed with Python's isocalendar
// and Go's ISOWeek: they tie the weekday to the date.
func TestDateWeekdays(t *testing.T) {
	for _, tt := range []struct {
		date    string
		weekday time.Weekday // the last digit of the ISO week date, 7 for Sunday
		yearDay int
	}{
		{"2005-01-01", time.Saturday, 1}, {"2005-01-02", time.Sunday, 2}, {"2005-12-31", time.Saturday, 365},
		{"2007-01-01", time.Monday, 1}, {"2007-12-31", time.Monday, 365}, {"2008-01-01", time.Tuesday, 1},
		{"2008-12-28", time.Sunday, 363}, {"2008-12-29", time.Monday, 364}, {"2008-12-31", time.Wednesday, 366},
		{"2009-12-31", time.Thursday, 365}, {"2010-01-03", time.Sunday, 3}, {"2020-12-31", time.Thursday, 366},
		{"2024-12-30", time.Monday, 365}, {"2026-01-01", time.Thursday, 1}, {"2027-01-04", time.Monday, 4},
	} {
		d := models.MustDate(tt.date)
		assert.Equal(t, tt.weekday, d.Weekday(), tt.date)
		first := models.NewDate(d.Year(), time.January, 1)
		assert.Equal(t, tt.yearDay, first.DaysTo(d)+1, tt.date)
	}
}

func TestDateArithmetic(t *testing.T) {
	d := models.MustDate("2024-02-28")
	assert.Equal(t, "2024-02-29", d.AddDays(1).String())
	assert.Equal(t, "2024-03-01", d.AddDays(2).String())
	assert.Equal(t, "2023-12-31", d.AddDays(-59).String())
	assert.Equal(t, 366, models.MustDate("2024-01-01").DaysTo(models.MustDate("2025-01-01")))
	assert.Equal(t, -365, models.MustDate("2026-01-01").DaysTo(models.MustDate("2025-01-01")))
	assert.Equal(t, "2024-02-01", d.FirstOfMonth().String())
	y, m, day := d.Civil()
	assert.Equal(t, []int{2024, 2, 28}, []int{y, int(m), day})
	assert.Equal(t, time.February, d.Month())
	assert.Equal(t, "Feb 28", d.Format("Jan 2"))
	assert.Equal(t, "2026-03-03", models.NewDate(2026, time.January, 62).String(), "days roll over as in package time")

	assert.Equal(t, models.MaxDate, models.MaxDate.AddDays(1))
	assert.Equal(t, models.Date(1), models.Date(1).AddDays(-1))
	assert.Equal(t, models.MaxDate, models.Date(5).AddDays(1<<40))
	none := models.Date(0)
	assert.True(t, none.IsZero())
	assert.Zero(t, none.AddDays(5))
	assert.Zero(t, none.FirstOfMonth())
	assert.Empty(t, none.String())
	assert.Empty(t, none.Format(time.RFC1123))
}

// A date is what the clock on the wall shows, wherever that is.
func TestDateOf(t *testing.T) {
	instant := time.Date(2026, 3, 8, 6, 30, 0, 0, time.UTC)
	denver, sydney := zone(t, "America/Denver"), zone(t, "Australia/Sydney")
	assert.Equal(t, "2026-03-08", models.DateOf(instant).String())
	assert.Equal(t, "2026-03-07", models.DateOf(instant.In(denver)).String())
	assert.Equal(t, "2026-03-08", models.DateOf(instant.In(sydney)).String())
	assert.Equal(t, "1969-12-31", models.DateOf(time.Unix(-1, 0).UTC()).String(), "before the epoch")
	assert.Equal(t, "1899-12-31", models.DateOf(time.Date(1899, 12, 31, 23, 59, 59, 0, time.UTC)).String())
}

func zone(t *testing.T, name string) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation(name)
	require.NoError(t, err)
	return loc
}

// The first instant of a date. Days of 23 and 25 hours in New York are those
// of the tz database 2025b; Havana, Beirut and Sao Paulo (2018) change their
// clocks at midnight, so that 00:00 is missing there.
func TestDateIn(t *testing.T) {
	for _, tt := range []struct{ zone, date, want string }{
		{"UTC", "2026-03-08", "2026-03-08T00:00:00Z"},
		{"America/New_York", "2026-03-08", "2026-03-08T00:00:00-05:00"},
		{"America/New_York", "2026-03-09", "2026-03-09T00:00:00-04:00"},
		{"America/New_York", "2026-11-02", "2026-11-02T00:00:00-05:00"},
		{"America/Sao_Paulo", "2018-11-04", "2018-11-04T01:00:00-02:00"},
		{"America/Havana", "2026-03-08", "2026-03-08T01:00:00-04:00"},
		{"Asia/Beirut", "2026-03-29", "2026-03-29T01:00:00+03:00"},
		{"Africa/Cairo", "2026-04-24", "2026-04-24T01:00:00+03:00"},
	} {
		got := models.MustDate(tt.date).In(zone(t, tt.zone))
		assert.Equal(t, tt.want, got.Format(time.RFC3339), tt.zone)
		assert.Equal(t, tt.date, models.DateOf(got).String(), tt.zone)
	}
	ny := zone(t, "America/New_York")
	hours := func(a string) float64 {
		return models.MustDate(a).AddDays(1).In(ny).Sub(models.MustDate(a).In(ny)).Hours()
	}
	assert.Equal(t, []float64{24, 23, 25}, []float64{hours("2026-03-07"), hours("2026-03-08"), hours("2026-11-01")})
}

// Every date survives text, JSON, the database and the calendar.
func TestDateRoundTrips(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := models.Date(rapid.Int32Range(1, int32(models.MaxDate)).Draw(t, "date"))
		parsed, err := models.ParseDate(d.String())
		require.NoError(t, err)
		assert.Equal(t, d, parsed)
		y, m, day := d.Civil()
		assert.Equal(t, d, models.NewDate(y, m, day))
		assert.Equal(t, d, models.DateOf(d.In(time.UTC)))

		// Against the standard library's own calendar.
		std := time.Date(y, m, day, 12, 0, 0, 0, time.UTC)
		assert.Equal(t, std.Weekday(), d.Weekday())
		n := rapid.IntRange(-1000, 1000).Draw(t, "days")
		if later := d.AddDays(n); later > 1 && later < models.MaxDate {
			assert.Equal(t, std.AddDate(0, 0, n).Format(time.DateOnly), later.String())
			assert.Equal(t, n, d.DaysTo(later))
		}
	})
}

func TestDateScan(t *testing.T) {
	var d models.Date
	for _, src := range []any{"2026-03-31", []byte("2026-03-31"), time.Date(2026, 3, 31, 23, 0, 0, 0, time.UTC)} {
		require.NoError(t, d.Scan(src))
		assert.Equal(t, "2026-03-31", d.String(), "%T", src)
	}
	for _, src := range []any{nil, "", []byte{}} {
		d = 5
		require.NoError(t, d.Scan(src))
		assert.Zero(t, d, "%T", src)
	}
	assert.ErrorContains(t, d.Scan(5.5), "float64")
	assert.ErrorContains(t, d.Scan("yesterday"), "is not a date")
}

func TestDateJSON(t *testing.T) {
	var d models.Date
	for _, text := range []string{`null`, `""`} {
		d = 5
		require.NoError(t, json.Unmarshal([]byte(text), &d))
		assert.Zero(t, d, text)
	}
	for _, text := range []string{`5`, `"x"`, `{}`, `"2026-02-30"`} {
		assert.Error(t, json.Unmarshal([]byte(text), &d), text)
	}
}

func FuzzParseDate(f *testing.F) {
	for _, s := range []string{"", "2026-03-31", "2024-02-29", "0001-01-01", "9999-12-31", "2026-02-30", "99999-01-01", "2026-3-1"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		d, err := models.ParseDate(s)
		if err != nil {
			assert.Zero(t, d)
			return
		}
		assert.Equal(t, s, d.String(), "there is one way to write a date")
		assert.True(t, d >= 1 && d <= models.MaxDate)
	})
}
