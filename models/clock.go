package models

import (
	"database/sql/driver"
	"fmt"
	"time"
)

// Clock tells the time. The program makes one at its start and passes it
// down; nothing else asks the wall clock.
type Clock interface {
	Now() time.Time
}

// ClockFunc makes a function a Clock.
type ClockFunc func() time.Time

// Now calls the function.
func (f ClockFunc) Now() time.Time { return f() }

// TimeOfDay is a local time of day in whole minutes after midnight plus one,
// so that the zero value means "not set". 1 is 00:00, 1440 is 23:59.
type TimeOfDay int16

// At gives the time of day of an hour (0..23) and minute (0..59).
func At(hour, minute int) TimeOfDay { return TimeOfDay(hour*60 + minute + 1) }

// ParseTimeOfDay reads HH:MM on the 24-hour clock; "" is "not set".
func ParseTimeOfDay(s string) (TimeOfDay, error) {
	if s == "" {
		return 0, nil
	}
	t, err := time.Parse("15:04", s)
	if err != nil || len(s) != 5 {
		return 0, fmt.Errorf("%q is not a time of day: write HH:MM from 00:00 to 23:59", s)
	}
	return At(t.Hour(), t.Minute()), nil
}

// IsZero says whether the time is not set.
func (t TimeOfDay) IsZero() bool { return t == 0 }

// Minutes gives the minutes after midnight, 0 when it is not set.
func (t TimeOfDay) Minutes() int {
	if t == 0 {
		return 0
	}
	return int(t) - 1
}

// String gives HH:MM, or "" when it is not set.
func (t TimeOfDay) String() string {
	if t == 0 {
		return ""
	}
	m := t.Minutes()
	return fmt.Sprintf("%02d:%02d", m/60, m%60)
}

// MarshalText writes HH:MM, or nothing when it is not set.
func (t TimeOfDay) MarshalText() ([]byte, error) { return []byte(t.String()), nil }

// UnmarshalText reads what MarshalText writes.
func (t *TimeOfDay) UnmarshalText(b []byte) error {
	v, err := ParseTimeOfDay(string(b))
	if err != nil {
		return err
	}
	*t = v
	return nil
}

// Value stores the time as the text HH:MM.
func (t TimeOfDay) Value() (driver.Value, error) { return t.String(), nil }

// Scan reads what Value stored.
func (t *TimeOfDay) Scan(src any) error { return scanText(src, t) }

// GormDataType tells gorm which column type holds the value.
func (TimeOfDay) GormDataType() string { return "text" }

// MonthDay is a day that comes round every year (MM-DD), such as the last day
// before snow or the opening of a season. The zero value means "none".
// February 29 means the last day of February in a common year.
type MonthDay struct {
	Month time.Month
	Day   int
}

// ParseMonthDay reads MM-DD; "" is none.
func ParseMonthDay(s string) (MonthDay, error) {
	if s == "" {
		return MonthDay{}, nil
	}
	t, err := time.Parse(time.DateOnly, "2024-"+s) // a leap year takes 02-29
	if err != nil {
		return MonthDay{}, fmt.Errorf("%q is not a day of the year: write MM-DD, for example 10-15", s)
	}
	return MonthDay{Month: t.Month(), Day: t.Day()}, nil
}

// IsZero says whether no day is set.
func (m MonthDay) IsZero() bool { return m.Month == 0 }

// In gives the day's date in a year; February 29 becomes the 28th in a common
// year, none stays none.
func (m MonthDay) In(year int) Date {
	if m.IsZero() {
		return 0
	}
	d := NewDate(year, m.Month, m.Day)
	if d.Month() != m.Month {
		d = d.AddDays(-1)
	}
	return d
}

// String gives MM-DD, or "" for none.
func (m MonthDay) String() string {
	if m.IsZero() {
		return ""
	}
	return fmt.Sprintf("%02d-%02d", int(m.Month), m.Day)
}

// MarshalText writes MM-DD, or nothing for none.
func (m MonthDay) MarshalText() ([]byte, error) { return []byte(m.String()), nil }

// UnmarshalText reads what MarshalText writes.
func (m *MonthDay) UnmarshalText(b []byte) error {
	v, err := ParseMonthDay(string(b))
	if err != nil {
		return err
	}
	*m = v
	return nil
}

// Value stores the day as the text MM-DD.
func (m MonthDay) Value() (driver.Value, error) { return m.String(), nil }

// Scan reads what Value stored.
func (m *MonthDay) Scan(src any) error { return scanText(src, m) }

// GormDataType tells gorm which column type holds the value.
func (MonthDay) GormDataType() string { return "text" }

// textValue is a value that reads itself from text.
type textValue interface{ UnmarshalText([]byte) error }

// scanText reads a text column (or NULL, as the empty text) into a value.
func scanText(src any, into textValue) error {
	switch v := src.(type) {
	case nil:
		return into.UnmarshalText(nil)
	case string:
		return into.UnmarshalText([]byte(v))
	case []byte:
		return into.UnmarshalText(v)
	default:
		return fmt.Errorf("reading a text column: cannot read a %T", src)
	}
}
