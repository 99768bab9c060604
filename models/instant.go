package models

import (
	"database/sql/driver"
	"encoding/json"
	"fmt"
	"time"
)

// Instant is a moment in time in whole seconds since 1970-01-01T00:00:00Z.
// It is stored as an integer, so that moments written in different zones
// still compare and sort by time. The zero Instant means "not yet".
type Instant int64

// InstantOf cuts a time to its whole second.
func InstantOf(t time.Time) Instant {
	if t.IsZero() {
		return 0
	}
	return Instant(t.Unix())
}

// IsZero says whether i is "not yet".
func (i Instant) IsZero() bool { return i == 0 }

// Time gives the instant as a UTC time; "not yet" is the zero time.
func (i Instant) Time() time.Time {
	if i == 0 {
		return time.Time{}
	}
	return time.Unix(int64(i), 0).UTC()
}

// Add gives the instant d later, cut to whole seconds.
func (i Instant) Add(d time.Duration) Instant { return i + Instant(d/time.Second) }

// String gives RFC 3339 in UTC, or "" for "not yet".
func (i Instant) String() string {
	if i == 0 {
		return ""
	}
	return i.Time().Format(time.RFC3339)
}

// MarshalJSON writes RFC 3339 in UTC, or null for "not yet".
func (i Instant) MarshalJSON() ([]byte, error) {
	if i == 0 {
		return []byte("null"), nil
	}
	return json.Marshal(i.String())
}

// UnmarshalJSON reads what MarshalJSON writes.
func (i *Instant) UnmarshalJSON(b []byte) error {
	var t *time.Time
	if err := json.Unmarshal(b, &t); err != nil {
		return fmt.Errorf("reading an instant: %w", err)
	}
	*i = 0
	if t != nil {
		*i = InstantOf(*t)
	}
	return nil
}

// Value stores the instant as an integer of unix seconds.
func (i Instant) Value() (driver.Value, error) { return int64(i), nil }

// Scan reads what Value stored; NULL is "not yet".
func (i *Instant) Scan(src any) error {
	switch v := src.(type) {
	case nil:
		*i = 0
	case int64:
		*i = Instant(v)
	default:
		return fmt.Errorf("reading an instant: cannot read a %T", src)
	}
	return nil
}

// GormDataType tells gorm which column type holds the value.
func (Instant) GormDataType() string { return "bigint" }
