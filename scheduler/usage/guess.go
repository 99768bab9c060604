package usage

import (
	"math"

	"example.org/roundsman/models"
)

// guessSpread is a guess's width by its standard deviation: the width holds the
// true value in nine cases of ten, as people mean it (common practice, no
// source).
const guessSpread = 1.645

// trueUnits gives a difference of what a meter shows in true units.
func trueUnits(m models.Machine, meter models.Meter, shown float64) float64 {
	if meter == models.Odometer {
		return m.Meters.Miles(shown)
	}
	return shown
}

// settleGuesses moves guesses to where they likely stood between the values
// read exactly around them, so that points never fall: the mean of the guess
// and of the straight way between those, each weighed by how sure it is. ps are
// sorted.
func settleGuesses(ps []Point) {
	before := -1
	for i := range ps {
		p := &ps[i]
		if p.Spread == 0 {
			before = i
			continue
		}
		after := i + 1
		for after < len(ps) && ps[after].Spread > 0 {
			after++
		}
		if after < len(ps) {
			hi := ps[after]
			if before >= 0 {
				p.between(ps[before], hi)
			}
			p.Value = math.Min(p.Value, hi.Value)
		}
		if i > 0 {
			p.Value = math.Max(p.Value, ps[i-1].Value)
		}
	}
}

// between weighs a guess against the way between two values read exactly.
func (p *Point) between(lo, hi Point) {
	f := 0.5
	if hi.On > lo.On {
		f = float64(p.On-lo.On) / float64(hi.On-lo.On)
	}
	way := lo.Value + f*(hi.Value-lo.Value)
	side := 0.5 * (hi.Value - lo.Value) * math.Sqrt(f*(1-f)) // an uneven way; at its ends it is known
	a, b := 1/(p.Spread*p.Spread), 1/math.Max(side*side, 0.01)
	p.Value = (a*p.Value + b*way) / (a + b)
	p.Spread = 1 / math.Sqrt(a+b)
}
