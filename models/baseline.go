package models

import (
	"strconv"
	"strings"
)

// ParseBaseline reads what somebody says of an item: "fine", "unknown",
// "done:2025-05-12", "done:2025-05" (about the middle of May), "done:2025",
// "done:1500mi" or "done:400h" (about what the meter showed), or a day and a
// value: "done:2025-05@1500mi". A value without a unit is the odometer's, or
// the hour meter's where there is no other. A ~ before a value says nothing
// more: all of these are guesses.
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
	if !two && (strings.HasSuffix(on, "mi") || strings.HasSuffix(on, "km") || strings.HasSuffix(on, "h") || strings.HasPrefix(on, "~")) {
		on, at = "", on
	}
	if on != "" && !b.aboutOn(on) || at != "" && !b.aboutAt(at, m) || on == "" && at == "" {
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

// aboutAt takes a value of a meter.
func (b *Baseline) aboutAt(at string, m Machine) bool {
	at = strings.TrimPrefix(strings.TrimSpace(at), "~")
	into := &b.Miles
	if !m.Meters.Has(Odometer) {
		into = &b.Hours
	}
	for _, u := range []struct {
		unit string
		n    *Number
	}{{"mi", &b.Miles}, {"km", &b.Miles}, {"h", &b.Hours}} {
		if v, ok := strings.CutSuffix(at, u.unit); ok {
			at, into = strings.TrimSpace(v), u.n
			break
		}
	}
	v, err := strconv.ParseFloat(strings.ReplaceAll(at, ",", ""), 64)
	if err != nil || v < 0 || v > 1e7 {
		return false
	}
	*into = Num(v)
	return true
}
