package usage

import (
	"math"

	"example.org/roundsman/models"
)

// Pace is how much a machine was used by one meter.
type Pace struct {
	Meter  models.Meter  // "": too little is known
	Lately models.Number // a month, true units, over the last two months that were read or more
	Before models.Number // a month, before that; unknown: it was not watched for as long
	Since  models.Date   // not used since; none: it is used
}

// daysPerMonth is the mean length of a month of the Gregorian calendar
// (365.2425 / 12).
const daysPerMonth = 365.2425 / 12

// Stretches of a pace in days, and what a standing meter may differ by.
const (
	paceDays  = 60
	stillDays = 28
	stillMost = 1.0 // true units
)

// PaceOf gives the use by the meter that was read most.
func (s *Screened) PaceOf() Pace {
	meter := models.Odometer
	if len(s.Of(models.HourMeter)) > len(s.Of(models.Odometer)) {
		meter = models.HourMeter
	}
	ps := s.Of(meter)
	n := len(ps)
	if n < 2 {
		return Pace{}
	}
	last := ps[n-1]
	split, still := -1, n-1
	for i := n - 2; i >= 0; i-- {
		if split < 0 && ps[i].On.DaysTo(last.On) >= paceDays {
			split = i
		}
		if last.Value-ps[i].Value <= stillMost && still == i+1 {
			still = i
		}
	}
	p := Pace{Meter: meter}
	if ps[still].On.DaysTo(last.On) >= stillDays {
		p.Since = ps[still].On
	}
	month := func(a, b Point) models.Number {
		return models.Num((b.Value - a.Value) / float64(a.On.DaysTo(b.On)) * daysPerMonth)
	}
	switch first := ps[0]; {
	case split < 0 && first.On.DaysTo(last.On) < stillDays:
		return Pace{}
	case split < 0:
		p.Lately = month(first, last)
	default:
		p.Lately = month(ps[split], last)
		if first.On.DaysTo(ps[split].On) >= paceDays {
			p.Before = month(first, ps[split])
		}
	}
	return p
}

// Differs says whether the use of late is another than that before: by a
// quarter or more.
func (p Pace) Differs() bool {
	return p.Before.Known && math.Abs(p.Lately.F-p.Before.F) > 0.25*math.Max(p.Lately.F, p.Before.F)
}
