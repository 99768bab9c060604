package models

import (
	"database/sql/driver"
	"encoding/json"
	"fmt"
	"time"
)

// Date is a civil date of the proleptic Gregorian calendar without a time of
// day or a zone. Its number is the Rata Die day count: day 1 is 0001-01-01
// (Reingold and Dershowitz, Calendrical Calculations), so that dates compare
// and subtract as integers. The zero Date means "no date".
type Date int32

// MaxDate is 9999-12-31, the last date that the text form can hold.
const MaxDate Date = 3652059

// rataDieUnixEpoch is the Rata Die number of 1970-01-01.
const rataDieUnixEpoch = 719163

// NewDate gives the date of a year (1..9999), month and day. Days and months
// out of range roll over as in time.Date.
func NewDate(year int, month time.Month, day int) Date {
	return DateOf(time.Date(year, month, day, 0, 0, 0, 0, time.UTC))
}

// DateOf gives the civil date that a clock on the wall in t's zone shows.
func DateOf(t time.Time) Date {
	y, m, d := t.Date()
	sec := time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix()
	days := sec / 86400
	if sec%86400 < 0 {
		days--
	}
	return Date(days + rataDieUnixEpoch)
}

// ParseDate reads YYYY-MM-DD and nothing else.
func ParseDate(s string) (Date, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil || t.Year() < 1 {
		return 0, fmt.Errorf("%q is not a date: write YYYY-MM-DD, for example 2026-03-31", s)
	}
	return DateOf(t), nil
}

// MustDate is ParseDate for constants in tests and tables; a bad text gives
// the zero Date.
func MustDate(s string) Date {
	d, err := ParseDate(s)
	if err != nil {
		return 0
	}
	return d
}

// IsZero says whether d is "no date".
func (d Date) IsZero() bool { return d == 0 }

// utc is midnight UTC of the date, the form in which the standard library
// does calendar arithmetic.
func (d Date) utc() time.Time {
	return time.Unix((int64(d)-rataDieUnixEpoch)*86400, 0).UTC()
}

// Civil gives the year, month and day.
func (d Date) Civil() (year int, month time.Month, day int) { return d.utc().Date() }

// Month gives the month of the year.
func (d Date) Month() time.Month { return d.utc().Month() }

// Year gives the year.
func (d Date) Year() int { return d.utc().Year() }

// Weekday gives the day of the week.
func (d Date) Weekday() time.Weekday { return d.utc().Weekday() }

// FirstOfMonth gives the first day of d's month; none of none.
func (d Date) FirstOfMonth() Date {
	if d == 0 {
		return 0
	}
	y, m, _ := d.Civil()
	return NewDate(y, m, 1)
}

// AddDays gives the date n days later; none stays none. The result is kept
// within 0001-01-01..9999-12-31.
func (d Date) AddDays(n int) Date {
	if d == 0 {
		return 0
	}
	v := int64(d) + int64(n)
	if v < 1 {
		return 1
	}
	if v > int64(MaxDate) {
		return MaxDate
	}
	return Date(v)
}

// mostYearsAhead is how far ahead a day may lie that somebody names for a
// visit, the end of a lay-up or another call; what lies farther is a slip of
// the typing.
const mostYearsAhead = 5

// CheckAhead refuses a day that lies too far after today; none is no day.
func (d Date) CheckAhead(today Date) error {
	y, m, day := today.Civil()
	if last := NewDate(y+mostYearsAhead, m, min(day, 28)); d > last {
		return Errorf(CodeInvalid, "look at the year, and write a day up to "+last.String(), "%s lies more than %d years ahead", d, mostYearsAhead)
	}
	return nil
}

// DaysTo gives the days from d to e, negative when e is earlier.
func (d Date) DaysTo(e Date) int { return int(e) - int(d) }

// In gives the first instant of the date in a zone: local midnight, or the
// first instant after a gap that swallows midnight.
func (d Date) In(loc *time.Location) time.Time {
	y, m, day := d.Civil()
	t := time.Date(y, m, day, 0, 0, 0, 0, loc)
	for DateOf(t) < d { // Go may answer a missing midnight with the hour before
		t = t.Add(15 * time.Minute)
	}
	return t
}

// Format formats the date with a layout of package time; none is "".
func (d Date) Format(layout string) string {
	if d == 0 {
		return ""
	}
	return d.utc().Format(layout)
}

// String gives YYYY-MM-DD, or "" for none.
func (d Date) String() string { return d.Format(time.DateOnly) }

// MarshalJSON writes "YYYY-MM-DD", or null for none.
func (d Date) MarshalJSON() ([]byte, error) {
	if d == 0 {
		return []byte("null"), nil
	}
	return json.Marshal(d.String())
}

// UnmarshalJSON reads what MarshalJSON writes; "" is none too.
func (d *Date) UnmarshalJSON(b []byte) error {
	var s *string
	if err := json.Unmarshal(b, &s); err != nil {
		return fmt.Errorf("reading a date: %w", err)
	}
	if s == nil || *s == "" {
		*d = 0
		return nil
	}
	v, err := ParseDate(*s)
	if err != nil {
		return err
	}
	*d = v
	return nil
}

// MarshalText writes YYYY-MM-DD, or nothing for none.
func (d Date) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads what MarshalText writes.
func (d *Date) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*d = 0
		return nil
	}
	v, err := ParseDate(string(b))
	if err != nil {
		return err
	}
	*d = v
	return nil
}

// Value stores the date as the text YYYY-MM-DD and none as "".
func (d Date) Value() (driver.Value, error) { return d.String(), nil }

// Scan reads what Value stored; NULL is none.
func (d *Date) Scan(src any) error {
	var s string
	switch v := src.(type) {
	case nil:
	case string:
		s = v
	case []byte:
		s = string(v)
	case time.Time: // some drivers turn a DATE column into a time
		*d = DateOf(v.UTC())
		return nil
	default:
		return fmt.Errorf("reading a date: cannot read a %T", src)
	}
	if s == "" {
		*d = 0
		return nil
	}
	v, err := ParseDate(s)
	if err != nil {
		return fmt.Errorf("reading a date: %w", err)
	}
	*d = v
	return nil
}

// GormDataType tells gorm which column type holds the value.
func (Date) GormDataType() string { return "text" }
