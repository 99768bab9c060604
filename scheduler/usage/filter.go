package usage

import "math"

// memory is one way in which a machine's use may hold or change: how fast the
// present level of use is forgotten, and how far such levels stand from the
// machine's own long-run rate.
type memory struct {
	half   float64 // operational days after which a past day counts half
	shape  float64 // gamma shape of the levels around the long-run rate; 0: the long-run rate is all there is
	revert float64 // operational days in which a level returns to the long-run rate by e; 0: never
}

// memories are weighed for each class and machine by how well they foretold
// the machine's own readings: steady use, a slow change, stretches of busy and
// idle months, and growth or decline that does not come back.
var memories = [...]memory{
	{half: 1500},
	{half: 400, shape: 16, revert: 350},
	{half: 120, shape: 5, revert: 150},
	{half: 45, shape: 2.4, revert: 60},
	{half: 150, shape: 0.2},
	{half: 60, shape: 0.2},
	{half: 10, shape: 0.3},
}

// changed is the memory for a lasting change.
const changed = 5

// fastest is the memory for use that is as even as clockwork and drifts; by
// its width it also flatters uneven use, so its weight is not learned.
const fastest = len(memories) - 1

// fastShare is that weight.
const fastShare = 0.04

// longHalf is the half-life of the long-run rate, in operational days.
const longHalf = 1500

// filter follows the rate of a machine: a long-run rate Gamma(a0+la, b0+lb) in
// counts for an operational day, and a present level around it; both forget
// exponentially (power discounting of a gamma-Poisson model: West and
// Harrison, Bayesian Forecasting and Dynamic Models, 1997, chapter 10; Smith
// and Miller, JRSS B 48, 1986).
type filter struct {
	*memory
	a0, b0 float64
	la, lb float64
	a, b   float64
}

// newFilter begins a filter with a long-run rate of Gamma(a0, b0). The first
// level is exactly that: the spread of levels around the long run comes in only
// as the beginning is forgotten, else the spread among strangers would count
// twice.
func newFilter(m *memory, a0, b0 float64) filter {
	f := filter{memory: m, a0: a0, b0: b0}
	if m.shape > 0 {
		f.a = a0 - m.shape*a0/(m.shape+a0)
		f.b = f.a * b0 / a0
	}
	return f
}

// level gives the gamma of the present rate.
func (f *filter) level() (a, b float64) {
	la, lb := f.a0+f.la, f.b0+f.lb
	if f.shape == 0 {
		return la, lb
	}
	s := f.shape * la / (f.shape + la)
	return s + f.a, s*lb/la + f.b
}

// long gives the mean of the long-run rate.
func (f *filter) long() float64 { return (f.a0 + f.la) / (f.b0 + f.lb) }

// step takes in a count y in t operational days, which tells a share of what one
// read exactly does, and gives the log of the probability that it had before.
func (f *filter) step(y, t, share float64) float64 {
	if t <= 0 {
		return 0
	}
	keep := math.Exp2(-t / f.half)
	mid := math.Sqrt(keep)
	f.a, f.b = f.a*keep, f.b*keep
	a, b := f.level()
	l := share * logNegBin(y, t, a, b)
	f.a, f.b = f.a+mid*share*y, f.b+mid*share*t
	if f.half != longHalf {
		keep = math.Exp2(-t / longHalf)
		mid = math.Sqrt(keep)
	}
	f.la, f.lb = f.la*keep+mid*share*y, f.lb*keep+mid*share*t
	return l
}
