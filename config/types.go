package config

import (
	"fmt"
	"strconv"
	"strings"
	"time"
	_ "time/tzdata" // zones are known on hosts that have no zone files too
)

// Duration is a length of time as written in settings: "45s", "30m", "1h30m",
// "5d". A day is 24 hours. The zero Duration is "0s".
type Duration time.Duration

// Std gives the duration as the standard library has it.
func (d Duration) Std() time.Duration { return time.Duration(d) }

// maxDays bounds the days of a duration so that none can overflow.
const maxDays = 10_000

// ParseDuration reads a number of days with "d", or what
// time.ParseDuration reads. Negative durations are refused.
func ParseDuration(s string) (Duration, error) {
	if days, ok := strings.CutSuffix(s, "d"); ok {
		n, err := strconv.ParseUint(days, 10, 32)
		if err == nil && n <= maxDays {
			return Duration(time.Duration(n) * 24 * time.Hour), nil
		}
	} else if v, err := time.ParseDuration(s); err == nil && v >= 0 {
		return Duration(v), nil
	}
	return 0, fmt.Errorf(`%q is not a length of time: write a number with s, m, h or d, for example "90s" or "5d"`, s)
}

// String gives the shortest form that ParseDuration reads: whole days as
// "5d", else without zero parts.
func (d Duration) String() string {
	v := time.Duration(d)
	if v != 0 && v%(24*time.Hour) == 0 {
		return fmt.Sprintf("%dd", v/(24*time.Hour))
	}
	s := v.String()
	if strings.HasSuffix(s, "m0s") {
		s = s[:len(s)-2]
	}
	if strings.HasSuffix(s, "h0m") {
		s = s[:len(s)-2]
	}
	return s
}

// MarshalText writes what String gives.
func (d Duration) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads what ParseDuration reads.
func (d *Duration) UnmarshalText(b []byte) error {
	v, err := ParseDuration(string(b))
	if err != nil {
		return err
	}
	*d = v
	return nil
}

// Zone is a time zone by its IANA name. The zero Zone is UTC.
type Zone struct {
	name string
	loc  *time.Location
}

// ParseZone reads the name of a zone of the IANA database, such as
// "America/Denver". "Local" is refused: it means another zone on every host.
func ParseZone(s string) (Zone, error) {
	loc, err := time.LoadLocation(s)
	if err != nil || s == "" || s == "Local" {
		return Zone{}, fmt.Errorf(`%q is not a time zone: write its IANA name, for example "America/Denver"`, s)
	}
	if loc == time.UTC {
		return Zone{}, nil
	}
	return Zone{name: s, loc: loc}, nil
}

// Location gives the zone as the standard library has it.
func (z Zone) Location() *time.Location {
	if z.loc == nil {
		return time.UTC
	}
	return z.loc
}

// String gives the zone's name.
func (z Zone) String() string {
	if z.loc == nil {
		return "UTC"
	}
	return z.name
}

// MarshalText writes the name.
func (z Zone) MarshalText() ([]byte, error) { return []byte(z.String()), nil }

// UnmarshalText reads what ParseZone reads.
func (z *Zone) UnmarshalText(b []byte) error {
	v, err := ParseZone(string(b))
	if err != nil {
		return err
	}
	*z = v
	return nil
}
