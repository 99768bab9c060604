package cooling

import (
	"fmt"
	"math"
	"slices"

	"example.org/roundsman/models"
)

// How noise is judged; common practice, no source. Coolant holds kilowatts: it
// does not wander by degrees from one second to the next.
const (
	noisyC      = 1.2  // standard deviation that no coolant has; a grain of 1 °C alone gives 0.3
	noiseWindow = 60.0 // seconds judged at once
	noiseRows   = 12   // or so many samples, of a slow logger
	noisyShare  = 0.25 // of the windows, and
	noisyLeast  = 3    // so many of them
)

// noiseFinding recognizes a reading that wanders more than coolant can.
func noiseFinding(s []Sample) (Finding, bool) {
	windows, loud := 0, 0
	first := -1.0
	for from := 0; from < len(s); {
		to := from + 1
		for to < len(s) && (s[to].AtS-s[from].AtS < noiseWindow || to-from < noiseRows) {
			to++
		}
		if to-from < noiseRows {
			break
		}
		windows++
		if wander(s[from:to]) >= noisyC {
			if loud++; first < 0 {
				first = s[from].AtS
			}
		}
		from = to
	}
	if loud < noisyLeast || float64(loud) < noisyShare*float64(windows) {
		return Finding{}, false
	}
	return Finding{Verdict: Noisy, AtS: models.Num(first), Evidence: []string{
		fmt.Sprintf("wanders by %.1f °C (standard deviation) about its own course, from %.0f s on in %d of %d stretches: coolant cannot",
			wander(s), first, loud, windows)}}, true
}

// wander gives the standard deviation of samples about their own course: the
// larger of what neighbors show and, for noise that a fast logger's filter has
// spread over neighbors, of what samples up to two seconds apart show.
func wander(s []Sample) float64 {
	every := (s[len(s)-1].AtS - s[0].AtS) / float64(len(s)-1)
	out := 0.0
	for _, apart := range []int{1, 2, 4} {
		if apart == 1 || float64(apart)*every <= 2 {
			out = max(out, calmShare(deviations(s, apart)))
		}
	}
	return out
}

// deviations gives, in order of size, how far samples lie from the straight
// line between those so many rows before and after, scaled so that white noise
// keeps its standard deviation.
func deviations(s []Sample, apart int) []float64 {
	var d []float64
	for i := apart; i+apart < len(s); i++ {
		a := (s[i+apart].AtS - s[i].AtS) / (s[i+apart].AtS - s[i-apart].AtS) // the weight of the one before
		off := s[i].TempC - a*s[i-apart].TempC - (1-a)*s[i+apart].TempC
		d = append(d, math.Abs(off)/math.Sqrt(1+a*a+(1-a)*(1-a)))
	}
	slices.Sort(d)
	return d
}

// calmShare gives the standard deviation from the smaller four fifths of
// deviations, so that what jumps leaves it alone. Of a normal variable cut
// there, at 1.2816, the root mean square is 0.6616 of the whole one's.
func calmShare(d []float64) float64 {
	n := len(d) * 4 / 5
	if n == 0 {
		return 0
	}
	sum := 0.0
	for _, v := range d[:n] {
		sum += v * v
	}
	return math.Sqrt(sum/float64(n)) / 0.6616
}
