package usage

import (
	"slices"

	"example.org/roundsman/models"
)

// Asks screens readings that are not recorded yet against the history of their
// machine, and gives the first that somebody must be asked about, and which of
// them it is: one that is doubted itself, or one for whose sake a value would
// be doubted that was trusted so far. Which of two that contradict each other is
// right is for a person to say while the machine stands there.
func Asks(h models.History, fresh []models.Reading) (d models.Doubt, which int, ok bool) {
	known := len(h.Readings)
	before := Screen(h)
	h.Readings = slices.Concat(h.Readings, fresh)
	for i := range fresh {
		h.Readings[known+i].Row = -1 - int64(i) // of none that is recorded
	}
	after := Screen(h)
	if d, which, ok = after.freshDoubt(); ok {
		return d, which, ok
	}
	pushed := map[int64]models.Meter{} // readings that are doubted now
	for _, d := range after.Doubts {
		if !slices.ContainsFunc(before.Doubts, func(b models.Doubt) bool { return b.Reading == d.Reading && b.Meter == d.Meter }) {
			pushed[d.Reading] = d.Meter
		}
	}
	if len(pushed) == 0 || known+len(h.Services) >= fewLooks { // more tell by themselves which is wrong
		return d, 0, false
	}
	for i := range h.Readings[:known] {
		if _, is := pushed[h.Readings[i].Row]; is {
			h.Readings[i].Standing = models.StandingConfirmed
		}
	}
	held := Screen(h)
	return held.freshDoubt()
}

// freshDoubt gives the first doubt of a reading that is not recorded.
func (s *Screened) freshDoubt() (d models.Doubt, which int, ok bool) {
	for _, d := range s.Doubts {
		if d.Reading < 0 {
			return d, int(-1 - d.Reading), true
		}
	}
	return d, 0, false
}
