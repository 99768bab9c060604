package shop

import (
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/visit"
)

// Placed gives an agreed visit as the plan holds it, with its last day and its
// minutes; ok is false where it cannot be kept, and why says the reason.
func (d *Draft) Placed(id string) (v models.Visit, why string, ok bool) {
	for _, c := range d.Conflicts {
		if c.Visit.ID == id {
			return c.Visit, c.Why, false
		}
	}
	for i := range d.Problem.Locked {
		l := &d.Problem.Locked[i]
		v, found := d.agreed[stopKey(l.Machine, l.Day)]
		if !found || v.ID != id {
			continue
		}
		t := d.newTable([]visit.Visit{*l})
		v.Minutes, _ = t.minutes(l)
		last, _ := t.span(l.Day, v.Minutes, nil)
		v.Until = d.date(last)
		return v, "", true
	}
	return models.Visit{}, "its day lies outside the plan", false
}

// Bays gives the bays there are, in their order.
func (d *Draft) Bays() []string {
	ids := make([]string, len(d.Problem.Bays))
	for i, b := range d.Problem.Bays {
		ids[i] = b.ID
	}
	return ids
}
