package shop

import (
	"math"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/visit"
)

// Figures of the package's formulas; see its documentation.
const (
	leastDays    = 14    // of an interval
	monthDays    = 30.4  // 365.25 / 12, to a tenth
	yearDays     = 365   // an interval of which nothing is known
	usualWork    = 30    // minutes
	sunkDays     = 14    // days late after which each further day costs the same
	sureDays     = 14    // days around due_on over which the range is weighed
	tenToNinety  = 2.563 // standard deviations between the 10th and 90th percentile of a normal distribution
	skipLate     = 150   // times late
	laterShare   = 4     // what is done later is done together with others
	calmShare    = 90    // percent of a visit that optional items of a machine may be worth together
	agreedWeight = 4     // times the cost of moving what was only shown
)

// lateness is the growing weight of days late of the problem: one for each of
// the first seven days, two for each of the next seven, four after.
func lateness(days int) int64 {
	switch {
	case days <= 0:
		return 0
	case days <= 7:
		return int64(days)
	case days <= 14:
		return 7 + 2*int64(days-7)
	}
	return 21 + 4*int64(days-14)
}

// costOn gives the cents of doing an item on a day, early or late.
func costOn(it *visit.Item, day int) int64 {
	if early := int64(it.Due - day); early > 0 {
		return it.Value * early / int64(it.Interval)
	}
	return it.Late * lateness(day-it.Due)
}

// intervalDays gives the days between two services as the forecast sees them.
func intervalDays(f models.Forecast, r models.Rule) int {
	days := 0
	switch {
	case f.LastOn != 0 && f.DueOn != 0:
		days = f.LastOn.DaysTo(f.DueOn)
	case r.Months > 0:
		days = int(math.Round(float64(r.Months) * monthDays))
	default:
		days = yearDays
	}
	return max(days, leastDays)
}

// sureness gives how likely the true date lies on the near side in the
// fortnight around due_on.
func sureness(f models.Forecast) float64 {
	s := float64(f.EarlyOn.DaysTo(f.LateOn)) / tenToNinety
	if f.EarlyOn == 0 || f.LateOn == 0 || s <= 0 {
		return 1
	}
	sum := 0.0
	for x := 1; x <= sureDays; x++ {
		sum += 0.5 * math.Erfc(-float64(x)/s/math.Sqrt2)
	}
	return sum / sureDays
}

// weight says how much worse than usual it is to be late.
func weight(item string, m models.Machine) float64 {
	w := 1.0
	switch it := models.ItemOf(item); {
	case it.Work == models.WorkInspection:
		w = 0.5
	case it.Cooling:
		w = 2
	}
	if m.Duty == models.DutySevere {
		w *= 1.5
	}
	return w
}

// labor gives the cents of some minutes of work.
func (s Settings) labor(minutes int) int64 { return s.LaborCents * int64(minutes) / 60 }

// prices fills value, late and skip of an item whose days and minutes are set.
func (s Settings) prices(it *visit.Item, p *planItem, m models.Machine, access int, trip int64, lastDay int) {
	price := float64(s.labor(it.Work))
	if p.rule.PartsDays > 0 {
		price += float64(s.PartsCents)
	}
	risk := float64(s.LateCents) * weight(p.item, m)
	sure := sureness(p.forecast)
	it.Late = cents(math.Max(1, risk*sure))
	it.Value = cents(price*sure - risk*float64(it.Interval)*(1-sure))
	if p.optional {
		it.Skip = cents(float64(s.labor(access)) + float64(trip+s.DowntimeCents)/laterShare)
		return
	}
	worst := float64(it.Late)*float64(lateness(lastDay-it.Due)) + float64(trip+s.DowntimeCents)
	it.Skip = cents(math.Max(skipLate*float64(it.Late), worst))
}

// cents makes a whole figure of money that the problem takes.
func cents(f float64) int64 {
	return int64(math.Round(math.Min(math.Max(f, 0), visit.MaxMoney)))
}
