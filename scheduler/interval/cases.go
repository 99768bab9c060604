package interval

import "example.org/roundsman/models"

// Answer is a forecast in the form of "forecast --cases": three dates, each at
// most 400 days after the day asked.
type Answer struct {
	EarlyOn, DueOn, LateOn models.Date // 10th, 50th and 90th percentile
}

// Case gives the forecast of one item as asked on a day, for judging: an item
// never done counts from in_service, also on a machine bought used; that it was
// not reported done by the day asked weighs in; and all dates are cut at 400
// days after it. ok is false when no rule is for the item, or nothing is to
// come.
func Case(in Input, item string, asOf models.Date) (a Answer, ok bool) {
	for _, r := range in.Rules {
		if r.Item != item {
			continue
		}
		b := baseOf(in.History, item, true)
		t := applies(r, b.isNew)
		if t.isEmpty() || asOf.IsZero() {
			return Answer{}, false
		}
		end := asOf.AddDays(LateHorizon)
		if !b.on.IsZero() {
			t = t.from(b, in, 0)
		}
		cal, _ := t.byCalendar()
		if cal.IsZero() || cal > end {
			cal = end
		}
		a.EarlyOn, a.DueOn, a.LateOn = firstOf(in.Use.First(t.meters, asOf), cal, min(b.on, end))
		return a, true
	}
	return Answer{}, false
}
