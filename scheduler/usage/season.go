package usage

import "math"

// bins is how many parts a season's year has, each about half a month.
const bins = 24

// yearDays is the mean length of a Gregorian year, rounded to the Julian one.
const yearDays = 365.25

// newYear2000 is the Rata Die number of 2000-01-01, where phase 0 lies; the
// phase of a January 1 stays within a day of 0 for centuries.
const newYear2000 = 730120

// season is how a machine's use is spread over the year: the operational
// clock of its class. It runs 365.25 operational days a year, fast while the
// machine is used much and slow while it rests, so that use per operational
// day is even. (Time-changed renewal processes: Cox and Lewis, The Statistical
// Analysis of Series of Events, 1966, section 3.)
type season struct {
	cum [bins + 1]float64 // operational days since new year at each bin's start
}

// newSeason makes a season of intensities for each bin; they are scaled to a
// mean of 1 and kept above a floor, for a machine never rests for certain.
func newSeason(intensity [bins]float64) season {
	sum := 0.0
	for _, v := range intensity {
		sum += v
	}
	if !(sum > 0) {
		for i := range intensity {
			intensity[i] = 1
		}
		sum = bins
	}
	var s season
	total := 0.0
	for i, v := range intensity {
		total += math.Max(v*bins/sum, seasonFloor)
		s.cum[i+1] = total
	}
	for i := range s.cum {
		s.cum[i] *= yearDays / total
	}
	return s
}

// seasonFloor is the least intensity of a bin, the mean being 1.
const seasonFloor = 0.01

// intensity gives the bin's use relative to the year's mean.
func (s *season) intensity(bin int) float64 {
	return (s.cum[bin+1] - s.cum[bin]) * bins / yearDays
}

// op gives the operational clock on the evening of a day (Rata Die number).
func (s *season) op(day float64) float64 {
	q := (day - newYear2000) * (1 / yearDays)
	n := math.Floor(q)
	f := (q - n) * bins
	i := int(f)
	if i >= bins {
		i = bins - 1
	}
	c := s.cum[i]
	return n*yearDays + c + (f-float64(i))*(s.cum[i+1]-c)
}

// seeds are the seasons that the fitting begins with and leans on while a
// fleet tells little: even use, soft and hard single seasons around the year,
// and two seasons a year. Their form is the von Mises density, the circular
// counterpart of the normal (Mardia and Jupp, Directional Statistics, 2000).
func seeds() []season {
	var out []season
	add := func(f func(angle float64) float64) {
		var v [bins]float64
		for i := range v {
			v[i] = f(2 * math.Pi * (float64(i) + 0.5) / bins)
		}
		out = append(out, newSeason(v))
	}
	add(func(float64) float64 { return 1 })
	for i := range 6 {
		c := 2 * math.Pi * (float64(i) + 0.5) / 6
		add(func(a float64) float64 { return math.Exp(0.7 * math.Cos(a-c)) })
	}
	for i := range 8 {
		c := 2 * math.Pi * float64(i) / 8
		add(func(a float64) float64 { return math.Exp(2.8 * math.Cos(a-c)) })
	}
	for i := range 2 {
		c := math.Pi * float64(i) / 2
		add(func(a float64) float64 { return math.Exp(1.5 * math.Cos(2*(a-c))) })
	}
	return out
}

// evenSeason is use that is the same all the year.
var evenSeason = newSeason([bins]float64{})
