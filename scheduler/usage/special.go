package usage

import "math"

// lgamma is the logarithm of the gamma function for x > 0, by Stirling's
// series after shifting x above 8 (Abramowitz and Stegun 6.1.41 and 6.1.15);
// the error is below 1e-9. It is some times faster than math.Lgamma.
func lgamma(x float64) float64 {
	shift := 1.0
	for x < 8 {
		shift *= x
		x++
	}
	i := 1 / x
	i2 := i * i
	s := (x-0.5)*math.Log(x) - x + 0.9189385332046727 + i*(1.0/12-i2*(1.0/360-i2*(1.0/1260-i2/1680)))
	if shift != 1 {
		s -= math.Log(shift)
	}
	return s
}

// phi is the standard normal distribution function.
func phi(z float64) float64 { return 0.5 * math.Erfc(-z*math.Sqrt2/2) }

// passage is the probability that a gamma process whose rate is itself gamma
// distributed has counted y by the operational time x = time/scale, where the
// rate has the shape a: P(G(y) <= x G(a)) for independent standard gammas, the
// beta prime distribution. It is Paulson's approximation of the F distribution
// (Paulson, Annals of Mathematical Statistics 13, 1942, after Wilson and
// Hilferty 1931): cube roots of gammas are nearly normal.
func passage(x float64, a, y *cubic) float64 {
	if x <= 0 {
		return 0
	}
	c := math.Cbrt(x)
	return phi((c*a.mean - y.mean) / math.Sqrt(c*c*a.variance+y.variance))
}

// cubic is the mean and variance of the cube root of a standard gamma.
type cubic struct{ mean, variance float64 }

// newCubic gives the Wilson-Hilferty normal of the cube root of Gamma(a, 1).
func newCubic(a float64) cubic {
	r := math.Cbrt(a)
	return cubic{mean: r * (1 - 1/(9*a)), variance: r * r / (9 * a)}
}

// logNegBin is the log density of a count y >= 0 (it need not be whole) in a
// time t, when the rate is Gamma(a, b): the negative binomial (Johnson, Kemp
// and Kotz, Univariate Discrete Distributions, 2005, chapter 5), but for the
// factor 1/y!, which models of the same counts share.
func logNegBin(y, t, a, b float64) float64 {
	q := b / (b + t)
	return lgamma(a+y) - lgamma(a) + a*math.Log(q) + y*math.Log(t/(b+t))
}
