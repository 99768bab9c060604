package models

import (
	"database/sql/driver"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Number is a decimal figure that may be unknown: a meter value, an interval,
// a quantity. The zero Number is "not known".
type Number struct {
	F     float64 // the figure; 0 while Known is false
	Known bool
}

// Num gives a known number.
func Num(f float64) Number { return Number{F: f, Known: true} }

// MaxNumber bounds every figure that the program takes in: no meter, interval
// or price in the trade comes near it, and sums of such figures stay exact.
const MaxNumber = 1e9

// Errors of ParseNumber.
var (
	ErrNotANumber = errors.New("is not a number")
	ErrNegative   = errors.New("is negative")
	ErrTooLarge   = errors.New("is too large")
)

// ParseNumber reads a plain decimal number with a point: digits, at most one
// point, no sign, grouping or exponent. "" is the unknown Number. A
// leading minus gives ErrNegative, a figure over MaxNumber ErrTooLarge, and
// all else ErrNotANumber.
func ParseNumber(s string) (Number, error) {
	if s == "" {
		return Number{}, nil
	}
	digits := strings.TrimPrefix(s, "-")
	plain := digits != "" && digits != "." && strings.Trim(digits, "0123456789.") == ""
	if !plain || len(digits) > 40 {
		return Number{}, ErrNotANumber
	}
	f, err := strconv.ParseFloat(digits, 64)
	if err != nil || math.IsNaN(f) || math.IsInf(f, 0) {
		return Number{}, ErrNotANumber
	}
	if digits != s && f != 0 {
		return Number{}, ErrNegative
	}
	if f > MaxNumber {
		return Number{}, ErrTooLarge
	}
	return Num(f), nil
}

// Or gives the figure, or f when it is not known.
func (n Number) Or(f float64) float64 {
	if n.Known {
		return n.F
	}
	return f
}

// String gives the shortest decimal form that reads back to the same figure,
// or "" when it is not known.
func (n Number) String() string {
	if !n.Known {
		return ""
	}
	return strconv.FormatFloat(n.F, 'f', -1, 64)
}

// MarshalJSON writes the figure, or null when it is not known.
func (n Number) MarshalJSON() ([]byte, error) {
	if !n.Known {
		return []byte("null"), nil
	}
	return json.Marshal(n.F)
}

// UnmarshalJSON reads what MarshalJSON writes.
func (n *Number) UnmarshalJSON(b []byte) error {
	var f *float64
	if err := json.Unmarshal(b, &f); err != nil {
		return fmt.Errorf("reading a number: %w", err)
	}
	*n = Number{}
	if f != nil {
		*n = Num(*f)
	}
	return nil
}

// Value stores the figure as a REAL, or NULL when it is not known.
func (n Number) Value() (driver.Value, error) {
	if !n.Known {
		return nil, nil
	}
	return n.F, nil
}

// Scan reads what Value stored.
func (n *Number) Scan(src any) error {
	switch v := src.(type) {
	case nil:
		*n = Number{}
	case float64:
		*n = Num(v)
	case int64:
		*n = Num(float64(v))
	default:
		return fmt.Errorf("reading a number: cannot read a %T", src)
	}
	return nil
}

// GormDataType tells gorm which column type holds the value.
func (Number) GormDataType() string { return "real" }
