package usage

import (
	"math"
	"strconv"
	"strings"

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

// guesses lists what a shown value may have been before one slip of the hand
// or of the unit.
func guesses(shown float64, metric bool, meter models.Meter) []guess {
	out := make([]guess, 0, 64)
	text := strconv.FormatFloat(math.Round(shown*10)/10, 'f', -1, 64)
	whole, tenth, _ := strings.Cut(text, ".")
	frac := 0.0
	if tenth != "" {
		frac, _ = strconv.ParseFloat("0."+tenth, 64)
	}
	put := func(digits []byte, reason models.Reason, share float64) {
		v, err := strconv.ParseFloat(string(digits), 64)
		if err == nil && v+frac != shown {
			out = append(out, guess{v + frac, reason, share})
		}
	}
	n := len(whole)
	for i := 0; i+1 < n; i++ {
		d := []byte(whole)
		d[i], d[i+1] = d[i+1], d[i]
		put(d, ReasonSwapped, shareSwapped/float64(n))
	}
	for i := 0; i < n && n > 1; i++ {
		put(append([]byte(whole[:i]), whole[i+1:]...), ReasonExtraDigit, shareExtra/float64(n))
	}
	for i := 0; i <= n && n < 7; i++ {
		for c := byte('0'); c <= '9'; c++ {
			if i == 0 && c == '0' {
				continue
			}
			d := append([]byte(whole[:i]), c)
			put(append(d, whole[i:]...), ReasonMissing, shareMissing/float64(10*n+9))
			if i < n && whole[i] != c {
				d := []byte(whole)
				d[i] = c
				put(d, ReasonWrongDigit, shareWrong/float64(9*n))
			}
		}
	}
	if tenth == "" && shown >= 10 {
		out = append(out, guess{shown / 10, ReasonTenths, shareTenths})
	}
	if meter == models.Odometer {
		if metric {
			out = append(out, guess{shown * models.KilometersPerMile, ReasonMiles, shareUnit})
		} else {
			out = append(out, guess{shown / models.KilometersPerMile, ReasonKilometers, shareUnit})
		}
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
		const c, even = 6, 0.3
		a, b := 1+c*w.share, 1+c*(1-w.share)
		d = (even + (1-even)*math.Exp(lgamma(a+b)-lgamma(a)-lgamma(b)+(a-1)*math.Log(f)+(b-1)*math.Log(1-f))) / span
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
	add := c.at(l.on).add
	reason, likely, best, sum := models.Reason(""), models.Number{}, 0.0, 0.0
	for _, g := range guesses(l.shown, c.metric, c.meter) {
		v := c.unit(g.shown) + add
		d := g.share * math.Max(w.density(v), w.density(v+l.turn))
		sum += d
		if d > best {
			reason, likely, best = g.reason, models.Num(g.shown), d
		}
	}
	return reason, likely, sum
}
