package usage

import (
	"math"

	"example.org/roundsman/models"
)

// guess is a value that a reading may have stood for, and the share of all
// readings that go wrong in just that way.
type guess struct {
	shown  float64
	reason models.Reason
	share  float64
}

// Shares of readings that go wrong, by kind (common practice, no source; only
// their order of size matters).
const (
	shareSwapped  = 0.004
	shareExtra    = 0.004
	shareMissing  = 0.005
	shareWrong    = 0.001
	shareTenths   = 0.002
	shareUnit     = 0.006
	shareHours    = 0.003
	shareNoReason = 0.003
)

// maxWhole bounds the whole part of a value whose digits are played with.
const maxWhole = 1e8

// guesses appends what a shown value may have been before one slip of the hand
// or of the unit.
func guesses(out []guess, shown float64, metric bool, meter models.Meter) []guess {
	floor := math.Floor(shown)
	if floor < maxWhole {
		out = digitSlips(out, int(floor), math.Round((shown-floor)*10)/10)
	}
	if floor == shown && shown >= 10 {
		out = append(out, guess{shown / 10, models.ReasonTenths, shareTenths})
	}
	if meter == models.Odometer {
		if metric {
			out = append(out, guess{shown * models.KilometersPerMile, models.ReasonMiles, shareUnit})
		} else {
			out = append(out, guess{shown / models.KilometersPerMile, models.ReasonKilometers, shareUnit})
		}
	}
	return out
}

// digitSlips appends the values from which one slip in the digits of the whole
// part makes another; the tenths stay.
func digitSlips(out []guess, whole int, frac float64) []guess {
	n := 1
	for p := 10; p <= whole; p *= 10 {
		n++
	}
	put := func(w int, reason models.Reason, share float64) {
		if w != whole {
			out = append(out, guess{float64(w) + frac, reason, share})
		}
	}
	p := 1
	for i := 0; i <= n; i++ { // p is the weight of the digit at i, from the right
		high, low := whole/p, whole%p
		a, b := high%10, high/10%10
		if i+1 < n {
			put(whole+9*p*(a-b), models.ReasonSwapped, shareSwapped/float64(n))
		}
		if i < n && n > 1 {
			put(high/10*p+low, models.ReasonExtraDigit, shareExtra/float64(n))
		}
		for c := range 10 {
			if n < 7 && (i < n || c > 0) {
				put((high*10+c)*p+low, models.ReasonMissing, shareMissing/float64(10*n+9))
			}
			if i < n {
				put((high-a+c)*p+low, models.ReasonWrongDigit, shareWrong/float64(9*n))
			}
		}
		p *= 10
	}
	return out
}

// window is what the accepted looks around a reading say of its value.
type window struct {
	low, high float64 // accepted values before and after; high is +Inf after the last
	share     float64 // of the time between them that had passed, 0..1
	scale     float64 // usual use in the time since the one before
	other     float64 // value that the machine's other meter speaks for
	spread    float64 // standard deviation of other; 0: the other meter is silent
	after     float64 // usual use in the time until the one after
	norm      float64 // log of the beta density's factor; see close
}

// How closely shares of use follow shares of time between two looks, and how
// often they do not at all.
const (
	together = 6.0
	uneven   = 0.3
	leapt    = 0.25
)

// close gives the window its far side: a later look, and the share of the time
// until it.
func (w *window) close(high, share float64) {
	w.high, w.share = math.Max(high, w.low), share
	a, b := 1+together*share, 1+together*(1-share)
	w.norm = lgamma(a+b) - lgamma(a) - lgamma(b)
}

// fallSlack is how far a value may lie below an earlier one: meters are read
// to whole units by some and to tenths by others.
const fallSlack = 1.0

// density gives the probability density of a true value seen through the
// window, per unit.
func (w *window) density(v float64) float64 {
	if v < w.low-fallSlack || v > w.high+fallSlack {
		return 0
	}
	d := 0.0
	if math.IsInf(w.high, 1) {
		d = ahead((v-w.low)/w.scale) / w.scale
	} else {
		// Shares of use and of time go together, more or less: a beta density
		// with the mode at the share of the time, or, in a season that begins
		// or ends, anything.
		span := w.high - w.low + 2*fallSlack
		f := math.Min(math.Max((v-w.low+fallSlack)/span, 1e-3), 1-1e-3)
		a, b := together*w.share, together*(1-w.share)
		d = (uneven + (1-uneven)*math.Exp(w.norm+a*math.Log(f)+b*math.Log(1-f))) / span
		// A leap between the looks around may have come on either side.
		d += leapt * (ahead((v-w.low)/w.scale)/w.scale + ahead((w.high-v)/w.after)/w.after)
	}
	if w.spread > 0 {
		// Student's t with 4 degrees of freedom about the other meter's word.
		z := (v - w.other) / w.spread
		t := 0.375 * math.Pow(1+z*z/4, -2.5) / w.spread
		d = 0.1*d + 0.9*t
	}
	return d
}

// ahead is the density of the use since the last look in units of its usual
// amount: heavy tailed, for there are seasons and outings.
func ahead(z float64) float64 {
	q := 1 + math.Max(z, 0)/3
	return 1 / (q * q * q * q)
}

// explain finds the slip that best explains a reading, and the density with
// which slips of any kind give what was read.
func (w *window) explain(c *scale, l *look) (models.Reason, models.Number, float64) {
	var buffer [192]guess
	add := c.at(l.on).add
	reason, likely, best, sum := models.Reason(""), models.Number{}, 0.0, 0.0
	for _, g := range guesses(buffer[:0], l.shown, c.metric, c.meter) {
		v := c.unit(g.shown) + add + l.turn
		d := w.density(v)
		if d == 0 && l.turn > 0 {
			d = w.density(v - l.turn)
		}
		d *= g.share
		sum += d
		if d > best {
			reason, likely, best = g.reason, models.Num(g.shown), d
		}
	}
	return reason, likely, sum
}
