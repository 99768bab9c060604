package calendar_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/calendar"
)

func federal(t *testing.T) calendar.Holidays {
	t.Helper()
	h, err := calendar.NewHolidays(calendar.HolidaysUS, map[models.Date]string{date("2026-08-21"): "rodeo", date("2026-08-22"): ""})
	require.NoError(t, err)
	return h
}

// READ: the list of 2023 of the US Office of Personnel Management, copied at
// j4neiros.us/2023/12/federal-holidays-2023.html; * kept on a neighboring day.
func TestFederalHolidays2023(t *testing.T) {
	h := federal(t)
	for _, on := range []string{"2023-01-02", "2023-01-16", "2023-02-20", "2023-05-29", "2023-06-19", "2023-07-04",
		"2023-09-04", "2023-10-09", "2023-11-10", "2023-11-23", "2023-12-25"} {
		assert.NotEmpty(t, h.Holiday(date(on)), on)
	}
	assert.Equal(t, "Veterans Day (observed)", h.Holiday(date("2023-11-10")))
	assert.Equal(t, "Christmas Day", h.Holiday(date("2023-12-25")))
}

// COMPUTED: the rules of 5 U.S.C. 6103 by python-dateutil, see
// testdata/README.md. Every day of 19 years is compared.
func TestFederalHolidaysAgainstReference(t *testing.T) {
	h := federal(t)
	want := map[models.Date]bool{date("2026-08-21"): true, date("2026-08-22"): true}
	for _, row := range readTable(t, "federal_holidays.csv") {
		want[date(row[0])] = true
	}
	for d := date("2021-01-01"); d <= date("2039-12-31"); d++ {
		require.Equal(t, want[d], calendar.IsHoliday(h)(d), d.String())
	}
}

// From memory: the general holidays of section 166 of the Canada Labour Code,
// and the bank holidays of England and Wales that gov.uk lists, both of 2024.
func TestHolidaysOfOtherCountries2024(t *testing.T) {
	for set, days := range map[string][]string{
		calendar.HolidaysCA: {"2024-01-01", "2024-03-29", "2024-05-20", "2024-07-01", "2024-09-02", "2024-09-30", "2024-10-14", "2024-11-11", "2024-12-25", "2024-12-26"},
		calendar.HolidaysGB: {"2024-01-01", "2024-03-29", "2024-04-01", "2024-05-06", "2024-05-27", "2024-08-26", "2024-12-25", "2024-12-26"},
	} {
		h, err := calendar.NewHolidays(set, nil)
		require.NoError(t, err)
		for _, on := range days {
			assert.NotEmpty(t, h.Holiday(date(on)), "%s %s", set, on)
		}
		assert.Empty(t, h.Holiday(date("2024-07-04")), set)
	}
}

// COMPUTED: the days of rest of Mexico's Federal Labor Law, article 74, by the
// reference library that testdata/README.md names. Every day of 19 years is compared.
// READ: the reform of 2024, which moved the day on which a president takes office
// from December 1 to October 1, at angelneri.com/new/2024/09/19.
func TestMexicanHolidaysAgainstReference(t *testing.T) {
	h, err := calendar.NewHolidays(calendar.HolidaysMX, nil)
	require.NoError(t, err)
	want := map[models.Date]bool{date("2024-10-01"): true, date("2030-10-01"): true, date("2036-10-01"): true}
	for _, row := range readTable(t, "mx_holidays.csv") {
		want[date(row[0])] = true
	}
	for d := date("2021-01-01"); d <= date("2039-12-31"); d++ {
		require.Equal(t, want[d], calendar.IsHoliday(h)(d), d.String())
	}
	assert.Equal(t, "Navidad", h.Holiday(date("2026-12-25")))
}

func TestNewHolidays(t *testing.T) {
	assert.Equal(t, "rodeo", federal(t).Holiday(date("2026-08-21")))
	assert.Equal(t, "closed", federal(t).Holiday(date("2026-08-22")))
	assert.Empty(t, federal(t).Holiday(0))
	for _, name := range []string{"", calendar.HolidaysNone} {
		h, err := calendar.NewHolidays(name, map[models.Date]string{date("2026-08-21"): "rodeo"})
		require.NoError(t, err)
		assert.Empty(t, h.Holiday(date("2026-12-25")))
		assert.Equal(t, "rodeo", h.Holiday(date("2026-08-21")))
	}
	for _, name := range []string{calendar.HolidaysNone, calendar.HolidaysUS} {
		_, err := calendar.NewHolidays(name, nil)
		assert.NoError(t, err)
	}
	_, err := calendar.NewHolidays("mars", nil)
	assert.Equal(t, models.CodeInvalid, models.CodeOf(err))
	assert.False(t, calendar.IsHoliday(nil)(date("2026-12-25")))
}
