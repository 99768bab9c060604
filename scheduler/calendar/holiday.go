package calendar

import (
	"time"

	"github.com/rickar/cal/v2"
	"github.com/rickar/cal/v2/ca"
	"github.com/rickar/cal/v2/gb"
	"github.com/rickar/cal/v2/us"

	"example.org/roundsman/models"
)

// Holidays says which days are holidays, and what they are called.
type Holidays interface {
	// Holiday gives the name of the holiday that is kept on a day, "" for
	// an ordinary day.
	Holiday(d models.Date) string
}

// Names of holiday sets.
const (
	HolidaysNone = "none"
	HolidaysUS   = "us"
	HolidaysCA   = "ca"
	HolidaysGB   = "gb"
	HolidaysMX   = "mx"
)

// sets are the holidays of countries, as the library knows them; Mexico's, which
// it does not know, are put together from its rules.
var sets = map[string][]*cal.Holiday{HolidaysUS: us.Holidays, HolidaysCA: ca.Holidays, HolidaysGB: gb.Holidays, HolidaysMX: mexico()}

// mexico gives the days of rest of the Federal Labor Law, article 74 (the
// reforms of 2006 and of 2024 included; the days of ordinary elections, which
// fall on Sundays, are left out).
func mexico() []*cal.Holiday {
	fixed := func(name string, month time.Month, day int) *cal.Holiday {
		return &cal.Holiday{Name: name, Type: cal.ObservancePublic, Month: month, Day: day, Func: cal.CalcDayOfMonth}
	}
	monday := func(name string, month time.Month, nth int) *cal.Holiday {
		return &cal.Holiday{Name: name, Type: cal.ObservancePublic, Month: month, Weekday: time.Monday, Offset: nth, Func: cal.CalcWeekdayOffset}
	}
	office := fixed("Transmisión del Poder Ejecutivo Federal", time.October, 1)
	office.StartYear = 2024
	office.Func = func(h *cal.Holiday, year int) time.Time {
		if (year-h.StartYear)%6 != 0 {
			return time.Time{}
		}
		return cal.CalcDayOfMonth(h, year)
	}
	return []*cal.Holiday{fixed("Año Nuevo", time.January, 1), monday("Día de la Constitución", time.February, 1),
		monday("Natalicio de Benito Juárez", time.March, 3), fixed("Día del Trabajo", time.May, 1), fixed("Día de la Independencia", time.September, 16),
		office, monday("Día de la Revolución", time.November, 3), fixed("Navidad", time.December, 25)}
}

// NewHolidays gives a set of holidays by name with the shop's own days added;
// extra maps each day to what it is called. "us" is the holidays of 5 U.S.C.
// 6103: those that fall on a Saturday are kept on the Friday before too, and
// those on a Sunday on the Monday after. "ca" is those that hold in most of
// Canada, "gb" the bank holidays of England and Wales, "mx" the days of rest of
// Mexico's Federal Labor Law. "none" and "" have only the extra days. An unknown name is a models.Error with CodeInvalid.
func NewHolidays(set string, extra map[models.Date]string) (Holidays, error) {
	own := make(ownDays, len(extra))
	for d, name := range extra {
		if name == "" {
			name = "closed"
		}
		own[d] = name
	}
	if set == HolidaysNone || set == "" {
		return own, nil
	}
	if sets[set] == nil {
		return nil, models.Errorf(models.CodeInvalid, `write "us", "ca", "gb", "mx" or "none" and list other days by date`,
			"no holidays are known by the name %q", set)
	}
	c := &cal.Calendar{Name: set}
	c.AddHoliday(sets[set]...)
	return public{own: own, calendar: c}, nil
}

// ownDays are holidays given by date.
type ownDays map[models.Date]string

func (o ownDays) Holiday(d models.Date) string { return o[d] }

// public adds the holidays of a country. The calendar is never changed and caches nothing, so that it may be asked from everywhere.
type public struct {
	own      ownDays
	calendar *cal.Calendar
}

func (f public) Holiday(d models.Date) string {
	if name := f.own.Holiday(d); name != "" || d.IsZero() {
		return name
	}
	actual, observed, h := f.calendar.IsHoliday(d.In(time.UTC))
	switch {
	case actual:
		return h.Name
	case observed:
		return h.Name + " (observed)"
	}
	return ""
}

// IsHoliday makes Holidays the question that Options ask; nil says no to
// every day.
func IsHoliday(h Holidays) func(models.Date) bool {
	return func(d models.Date) bool { return h != nil && h.Holiday(d) != "" }
}
