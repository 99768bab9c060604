// Package calendar does the sums with civil dates and local times: months
// that clamp to the end of a short month, days that come round every year,
// the instant of a local time across changes of the clocks, the appointed
// times of rounds, quiet hours, holidays and business days.
//
// It is pure: dates, times and zones in, dates and times out. A zone is given
// as a *time.Location; where zone data comes from is the program's business.
package calendar

import (
	"time"

	"example.org/roundsman/models"
)

// AddMonths gives the date n months later (earlier where n is negative). A
// day that the month does not have becomes the last day of that month, as in
// a service interval of "12 months": 31 January plus one month is 28 or 29
// February. None stays none; the result is kept within
// 0001-01-01..9999-12-31.
func AddMonths(d models.Date, n int) models.Date {
	if d.IsZero() {
		return 0
	}
	y, m, day := d.Civil()
	months := int64(y)*12 + int64(m) - 1 + int64(n)
	switch {
	case months < 12: // before year 1
		return 1
	case months >= 120000: // after year 9999
		return models.MaxDate
	}
	first := models.NewDate(int(months/12), time.Month(months%12+1), 1)
	return first.AddDays(min(day, daysIn(first)) - 1)
}

// daysIn gives the days of a month, 28..31, from its first day.
func daysIn(first models.Date) int {
	y, m, _ := first.Civil()
	return first.DaysTo(models.NewDate(y, m+1, 1))
}

// LastBefore gives the last day before a day of the year comes round, the
// first such day on or after from: what belongs before October 15 is in time on
// October 14. None for no day or no date.
func LastBefore(md models.MonthDay, from models.Date) models.Date {
	if md.IsZero() || from.IsZero() {
		return 0
	}
	if d := md.In(from.Year()); d > from {
		return d.AddDays(-1)
	}
	return md.In(from.Year() + 1).AddDays(-1)
}
