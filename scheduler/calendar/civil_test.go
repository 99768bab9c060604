package calendar_test

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/calendar"
)

func date(s string) models.Date { return models.MustDate(s) }

func TestAddMonths(t *testing.T) {
	tests := []struct {
		source, from string
		months       int
		want         string
	}{
		// READ: Java SE API, java.time.LocalDate.plusMonths.
		{"java.time plusMonths", "2007-03-31", 1, "2007-04-30"},
		// READ: pub.dev time_machine, LocalDate.addMonths.
		{"time_machine addMonths", "2011-01-30", 1, "2011-02-28"},
		{"time_machine addMonths", "2011-03-30", -1, "2011-02-28"},
		// READ: python.org, Tutor list 2007-02-06, on dateutil.
		{"dateutil", "2005-01-31", 1, "2005-02-28"},
		// READ: answers on java.time by its author.
		{"java.time author", "2012-01-31", 1, "2012-02-29"},
		{"java.time author", "2013-03-31", 1, "2013-04-30"},
		{"java.time author", "2013-10-31", 4, "2014-02-28"},
		{"java.time author", "2013-10-31", -4, "2013-06-30"},
		{"java.time author", "2012-02-29", 12, "2013-02-28"},
		// The cases in which AddDate of package time rolls over.
		{"clamped where AddDate gives 2026-03-03", "2026-01-31", 1, "2026-02-28"},
		{"clamped where AddDate gives 2025-03-01", "2024-02-29", 12, "2025-02-28"},
		{"back to a leap day", "2024-02-29", 48, "2028-02-29"},
		{"no date", "", 5, ""},
		{"zero months", "2026-05-31", 0, "2026-05-31"},
		{"before the first date", "0001-01-15", -1, "0001-01-01"},
		{"after the last date", "9999-12-15", 1, "9999-12-31"},
		{"the last month", "9999-11-30", 1, "9999-12-30"},
	}
	for _, tt := range tests {
		t.Run(tt.source+" "+tt.from, func(t *testing.T) {
			assert.Equal(t, tt.want, calendar.AddMonths(date(tt.from), tt.months).String())
		})
	}
}

// readTable reads a reference table of testdata without its header.
func readTable(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	require.NoError(t, err)
	defer func() { assert.NoError(t, f.Close()) }()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(rows), 1)
	return rows[1:]
}

// COMPUTED: python-dateutil 2.9.0, see testdata/README.md.
func TestAddMonthsAgainstReference(t *testing.T) {
	for _, row := range readTable(t, "months.csv") {
		n, err := strconv.Atoi(row[1])
		require.NoError(t, err)
		assert.Equal(t, row[2], calendar.AddMonths(date(row[0]), n).String(), "%s + %d months", row[0], n)
	}
}

func TestAddMonthsProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := models.Date(rapid.IntRange(366, int(models.MaxDate)-40000).Draw(t, "date"))
		n := rapid.IntRange(0, 1200).Draw(t, "months")
		got := calendar.AddMonths(d, n)
		y, m, day := d.Civil()
		gy, gm, gday := got.Civil()
		assert.Equal(t, y*12+int(m)+n, gy*12+int(gm), "the month is n later")
		assert.LessOrEqual(t, gday, day)
		if gday < day {
			assert.NotEqual(t, gm, got.AddDays(1).Month(), "clamped only to a month's last day")
		}
		assert.GreaterOrEqual(t, calendar.AddMonths(d.AddDays(1), n), got, "monotone in the date")
		assert.Greater(t, calendar.AddMonths(d, n+1), got, "monotone in the months")
	})
}

func TestLastBefore(t *testing.T) {
	snow, leap := models.MonthDay{Month: time.October, Day: 15}, models.MonthDay{Month: time.February, Day: 29}
	tests := []struct {
		name     string
		day      models.MonthDay
		on, last string
	}{
		{"before it", snow, "2026-10-13", "2026-10-14"},
		{"on its last day", snow, "2026-10-14", "2026-10-14"},
		{"on it", snow, "2026-10-15", "2027-10-14"},
		{"leap day in a common year", leap, "2026-02-27", "2026-02-27"},
		{"leap day to come", leap, "2027-03-01", "2028-02-28"},
		{"the eve of a leap day", leap, "2028-02-28", "2028-02-28"},
		{"leap day passed", leap, "2028-02-29", "2029-02-27"},
		{"the first of January", models.MonthDay{Month: time.January, Day: 1}, "2026-06-01", "2026-12-31"},
		{"no day", models.MonthDay{}, "2026-01-01", ""},
		{"no date", snow, "", ""},
		{"the first year", snow, "0001-03-01", "0001-10-14"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.last, calendar.LastBefore(tt.day, date(tt.on)).String())
		})
	}
}
