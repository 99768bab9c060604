package models

import (
	"errors"
	"strings"
)

// ParseBaseline reads what somebody says of an item: "fine", "unknown",
// "done:2025-05-12", "done:2025-05" (about the middle of May), "done:2025",
// "done:1500mi" or "done:400h" (about what the meter showed), or a day and a
// value: "done:2025-05@1500mi". A value without a unit is the odometer's, or
// the hour meter's where there is no other. It is typed as any meter's value
// is; "about" says nothing more: all of these are guesses.
func ParseBaseline(item, said string, m Machine) (Baseline, error) {
	b := Baseline{Item: item}
	word, rest, _ := strings.Cut(strings.ToLower(strings.TrimSpace(said)), ":")
	switch BaselineState(word) {
	case BaselineFine, BaselineUnknown:
		b.State = BaselineState(word)
		if rest != "" {
			return b, badBaseline(item, said)
		}
		return b, nil
	case BaselineDone:
		b.State = BaselineDone
	default:
		return b, badBaseline(item, said)
	}
	on, at, two := strings.Cut(rest, "@")
	if !two && !b.aboutOn(on) {
		on, at = "", on
	}
	if on != "" && !b.aboutOn(on) || on == "" && at == "" {
		return b, badBaseline(item, said)
	}
	if at == "" {
		return b, nil
	}
	if err := b.aboutAt(at, m.Meters); errors.Is(err, ErrOtherUnit) {
		return b, Errorf(CodeInvalid, "write it in the unit that the meter shows", "%s=%s %v (meters of %s: %s)", item, said, err, m.Label(), m.Meters)
	} else if err != nil {
		return b, badBaseline(item, said)
	}
	return b, nil
}

func badBaseline(item, said string) error {
	return Errorf(CodeInvalid, "write fine, unknown, done:2025-05 (or a day or a year), done:1500mi, done:400h, or done:2025-05@1500mi",
		"%s=%s is not understood", item, said)
}

// aboutOn takes a day, the middle of a month or the middle of a year.
func (b *Baseline) aboutOn(on string) bool {
	if d, err := ParseDate(on); err == nil {
		b.DoneOn = d
		return true
	}
	if d, err := ParseDate(on + "-15"); err == nil {
		b.DoneOn, b.DoneWithin = d, 16
		return true
	}
	if d, err := ParseDate(on + "-07-01"); err == nil && len(on) == 4 {
		b.DoneOn, b.DoneWithin = d, 183
		return true
	}
	return false
}

// aboutAt takes a value of the meter whose unit stands beside it; without one
// the odometer's, or the hour meter's where there is no other.
func (b *Baseline) aboutAt(at string, has Meters) error {
	value, err := ParseMeterValue(at, Odometer, has.Metric())
	into := &b.Miles
	if errors.Is(err, ErrOtherUnit) || err == nil && !has.Has(Odometer) {
		if hours, errHours := ParseMeterValue(at, HourMeter, false); errHours == nil {
			value, err, into = hours, nil, &b.Hours
		}
	}
	if err == nil && !value.Known {
		err = ErrNotANumber
	}
	*into = value.Number
	return err
}
