package usage

import "math"

// A machine that was used and whose meter has not moved since may be out of
// use altogether, which no level of use describes.

// stand is a standstill at the end of a machine's readings.
type stand struct {
	first  int     // its first gap
	days   float64 // how long it has lasted
	chance float64 // that the machine is out of use and not in a pause as it has had before
}

// What is known of standstills beforehand (common practice, no source): a
// machine goes out of use once in so many days of its season, and comes back
// the later the longer it has stood: of those that stood for T days half are
// back after T + backSoon more (Lomax's law of failures, JASA 49, 1954).
const (
	outOnce  = 10 * yearDays
	backSoon = 30
	// stillUse is the activity in hours up to which a meter counts as not moved.
	stillUse = 0.2
	// leastUsed is how many gaps with use must go before.
	leastUsed = 3
	// standDelays is by how many days of return the law is stood for.
	standDelays = 6
)

// standstill judges the gaps without use at the end under one season: a pause
// happens as often as it did before, and goes on as often as those before did.
func standstill(sn *season, gaps []gap) stand {
	s := stand{first: len(gaps)}
	for s.first > 0 && gaps[s.first-1].use <= stillUse {
		s.first--
	}
	if s.first == len(gaps) {
		return s
	}
	var used, began, went, on, span float64
	for i, g := range gaps[:s.first] {
		span += sn.op(g.to) - sn.op(g.from)
		after := i > 0 && gaps[i-1].use <= stillUse
		still := g.use <= stillUse
		switch {
		case after && still:
			on++
			went++
		case after:
			went++
		case still:
			began++
			used++
		default:
			used++
		}
	}
	if used-began < leastUsed {
		return s
	}
	op := sn.op(gaps[len(gaps)-1].to) - sn.op(gaps[s.first].from)
	s.days = gaps[len(gaps)-1].to - gaps[s.first].from
	n := op / (span / float64(s.first)) // usual gaps
	begins, goes := (began+2)/(used+10), (on+2)/(went+4)
	pause := math.Pow(begins, math.Min(n, 1)) * math.Pow(goes, math.Max(n-1, 0))
	out := op / outOnce
	s.chance = out / (out + pause)
	return s
}

// delays gives days of return, each as likely as the other.
func (s *stand) delays() (out [standDelays]float64) {
	for i := range out {
		u := (float64(i) + 0.5) / standDelays
		out[i] = (s.days + backSoon) * u / (1 - u)
	}
	return out
}
