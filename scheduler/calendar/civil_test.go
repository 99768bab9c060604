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

func TestYearly(t *testing.T) {
	snow, leap := models.MonthDay{Month: time.October, Day: 15}, models.MonthDay{Month: time.February, Day: 29}
	tests := []struct {
		name           string
		day            models.MonthDay
		on, next, prev string
	}{
		{"before it", snow, "2026-10-14", "2026-10-15", "2025-10-15"},
		{"on it", snow, "2026-10-15", "2026-10-15", "2026-10-15"},
		{"after it", snow, "2026-10-16", "2027-10-15", "2026-10-15"},
		{"leap day in a common year", leap, "2026-02-28", "2026-02-28", "2026-02-28"},
		{"leap day to come", leap, "2027-03-01", "2028-02-29", "2027-02-28"},
		{"leap day passed", leap, "2028-02-28", "2028-02-29", "2027-02-28"},
		{"no day", models.MonthDay{}, "2026-01-01", "", ""},
		{"no date", snow, "", "", ""},
		{"the first year", snow, "0001-03-01", "0001-10-15", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.next, calendar.NextYearly(tt.day, date(tt.on)).String())
			assert.Equal(t, tt.prev, calendar.PreviousYearly(tt.day, date(tt.on)).String())
		})
	}
}

// COMPUTED: ISOWeek of Go 1.26.8, and Python's isocalendar on five of them.
func TestISOWeek(t *testing.T) {
	tests := []struct {
		on              string
		year, week, day int
		ofYear          int
	}{
		{"2005-01-01", 2004, 53, 6, 1}, {"2005-01-02", 2004, 53, 7, 2}, {"2005-12-31", 2005, 52, 6, 365},
		{"2006-01-01", 2005, 52, 7, 1}, {"2006-01-02", 2006, 1, 1, 2}, {"2006-12-31", 2006, 52, 7, 365},
		{"2007-01-01", 2007, 1, 1, 1}, {"2007-12-30", 2007, 52, 7, 364}, {"2007-12-31", 2008, 1, 1, 365},
		{"2008-01-01", 2008, 1, 2, 1}, {"2008-12-28", 2008, 52, 7, 363}, {"2008-12-29", 2009, 1, 1, 364},
		{"2008-12-30", 2009, 1, 2, 365}, {"2008-12-31", 2009, 1, 3, 366}, {"2009-01-01", 2009, 1, 4, 1},
		{"2009-12-31", 2009, 53, 4, 365}, {"2010-01-01", 2009, 53, 5, 1}, {"2010-01-02", 2009, 53, 6, 2},
		{"2010-01-03", 2009, 53, 7, 3}, {"2010-01-04", 2010, 1, 1, 4}, {"2020-12-31", 2020, 53, 4, 366},
		{"2021-01-03", 2020, 53, 7, 3}, {"2024-12-30", 2025, 1, 1, 365}, {"2026-01-01", 2026, 1, 4, 1},
		{"2026-12-31", 2026, 53, 4, 365}, {"2027-01-01", 2026, 53, 5, 1}, {"2027-01-03", 2026, 53, 7, 3},
		{"2027-01-04", 2027, 1, 1, 4},
	}
	for _, tt := range tests {
		y, w, d := calendar.ISOWeek(date(tt.on))
		assert.Equal(t, []int{tt.year, tt.week, tt.day}, []int{y, w, d}, tt.on)
		assert.Equal(t, tt.ofYear, calendar.DayOfYear(date(tt.on)), tt.on)
	}
	for d := date("1970-01-01"); d < date("2070-01-01"); d++ {
		y, w, _ := calendar.ISOWeek(d)
		gy, gw := d.In(time.UTC).ISOWeek()
		require.Equal(t, []int{gy, gw}, []int{y, w}, d.String())
	}
}
