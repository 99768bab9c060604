package cooling

import (
	"fmt"
	"math"
	"slices"

	"example.org/roundsman/models"
)

// What a reading can do and coolant cannot; common practice, no source.
const (
	openC       = -35  // at or below it a sensor circuit is open: no engine here is that cold for long
	openStayC   = -33  // and it counts as staying there up to this
	shortC      = 125  // a long jump to here that stays is a short
	shortSureC  = 140  // and any jump to here
	shortStayC  = 120  // a log that stands above it from its start too
	jumpFloorC  = 5.5  // smaller jumps drown in noise and in cold slugs from the radiator
	jumpSigmas  = 6    // of the noise between neighbors
	riseCPerS   = 0.45 // faster than an engine at work warms, beyond its own slope
	fallCPerS   = 0.6  // faster than a fan cools
	slugCPerS   = 1.0  // more, when the thermostat first lets the radiator's cold coolant in
	startCPerS  = 0.8  // more, while the pump clears what stood in the hoses
	startS      = 30   // how long that takes
	jumpSpanS   = 2    // a jump may take this long: filters smear it
	jumpReach   = 256  // or so many samples, of a very fast logger
	railShare   = 0.97 // of samples at a rail: the rest may be noise
	holdS       = 10   // a rail held so long is no glitch
	holdSamples = 5
)

// jump is a change that metal and water cannot make.
type jump struct {
	i, j     int     // from sample i to sample j
	from, to float64 // °C
	back     int     // index of the jump that undoes it, -1 for none
}

func (e jump) size() float64 { return e.to - e.from }

// noiseOf estimates the standard deviation of a sample about the straight
// line between its neighbors, from the median, which neither a steady slope
// nor the jumps themselves move; rows need not be even. A coarse grain can
// hide noise below it (a median of 0); jumpFloorC covers that for grains of a
// degree or two.
func noiseOf(s []Sample) float64 {
	d := deviations(s, 1)
	if len(d) == 0 {
		return 0
	}
	return d[len(d)/2] / medianShare
}

// medianShare is a normal variable's median deviation over its standard one.
const medianShare = 0.6745

// slopeAround gives the median rate of change near a pair of neighbors,
// leaving out the pair itself.
func slopeAround(s []Sample, i, j int) float64 {
	var r []float64
	for k := max(1, i-4); k <= min(len(s)-1, j+5); k++ {
		if k > i && k <= j {
			continue
		}
		r = append(r, (s[k].TempC-s[k-1].TempC)/(s[k].AtS-s[k-1].AtS))
	}
	if len(r) == 0 {
		return 0
	}
	slices.Sort(r)
	return r[len(r)/2]
}

// findJumps gives all jumps in the order of time.
func findJumps(s []Sample, o Options) []jump {
	margin := max(jumpFloorC, jumpSigmas*math.Sqrt2*noiseOf(s))
	var out []jump
	for i := 0; i+1 < len(s); {
		next := i + 1
		for j := i + 1; j < min(len(s), i+jumpReach) && (j == i+1 || s[j].AtS-s[i].AtS <= jumpSpanS); j++ {
			change := s[j].TempC - s[i].TempC
			if math.Abs(change) <= margin || !jumped(s, i, j, margin, o) {
				continue
			}
			// Follow a smeared jump to its end.
			for j+1 < len(s) && s[j+1].AtS-s[i].AtS <= 2*jumpSpanS && (s[j+1].TempC-s[j].TempC)*change > 0 &&
				math.Abs(s[j+1].TempC-s[j].TempC) > margin/2 {
				j++
			}
			out = append(out, jump{i: i, j: j, from: s[i].TempC, to: s[j].TempC, back: -1})
			next = j
			break
		}
		i = next
	}
	return pairJumps(out)
}

// jumped says whether the change from sample i to j is faster than anything
// that engine, radiator and fan can do there.
func jumped(s []Sample, i, j int, margin float64, o Options) bool {
	dt := s[j].AtS - s[i].AtS
	change := s[j].TempC - s[i].TempC
	slope := slopeAround(s, i, j)
	rate := riseCPerS
	if change < 0 {
		rate = fallCPerS
		if slope >= 0.03 && s[i].TempC >= o.OpensC.Or(60)-6 && s[i].TempC <= o.OpensC.Or(85)+15 {
			rate += slugCPerS
		}
	}
	if s[i].AtS-s[0].AtS < startS {
		rate += startCPerS
	}
	if slope*change > 0 {
		rate = max(rate, 2*math.Abs(slope))
	}
	return math.Abs(change) > margin+rate*dt
}

// pairJumps finds for each jump the next one that undoes it.
func pairJumps(js []jump) []jump {
	for a := range js {
		for b := a + 1; b < len(js) && js[a].back < 0; b++ {
			if js[a].size()*js[b].size() < 0 && math.Abs(js[b].size()) >= 0.5*math.Abs(js[a].size()) {
				js[a].back = b
			}
		}
	}
	return js
}

// circuitFinding judges the sensor's circuit. ok is false when it behaves.
// clean are the samples without those that a jump and its way back enclose;
// sound says whether they can still be judged by their heat.
func circuitFinding(s []Sample, o Options) (f Finding, clean []Sample, sound, ok bool) {
	if f, ok := railFinding(s); ok {
		return f, nil, false, true
	}
	if f, ok := noiseFinding(s); ok {
		return f, nil, false, true
	}
	js := findJumps(s, o)
	if len(js) == 0 {
		return Finding{}, s, true, false
	}
	clean, sound = withoutJumps(s, js)
	start := startLevel(s, js)
	last := js[len(js)-1]
	tail := s[last.j:]
	stays := last.back < 0 && (tail[len(tail)-1].AtS-tail[0].AtS >= holdS || len(tail) >= holdSamples)
	at := s[last.j].AtS
	switch {
	case stays && last.size() < 0 && last.to <= openC && len(js) == 1 && share(tail, func(c float64) bool { return c <= openStayC }) >= railShare:
		return Finding{Verdict: Open, AtS: models.Num(at), Evidence: []string{
			fmt.Sprintf("fell from %.1f to %.1f °C within %.1f s at %.0f s and stayed at the coldest end until the log ends", last.from, last.to, at-s[last.i].AtS, at)}}, nil, false, true
	case stays && last.size() > 0 && last.short() && len(js) == 1 && share(tail, func(c float64) bool { return c >= shortStayC }) >= railShare:
		return Finding{Verdict: Short, AtS: models.Num(at), Evidence: []string{
			fmt.Sprintf("rose from %.1f to %.1f °C within %.1f s at %.0f s and stayed at the hottest end until the log ends", last.from, last.to, at-s[last.i].AtS, at)}}, nil, false, true
	}
	for _, e := range js {
		switch {
		case e.short() || e.fromShort():
			return jumpFinding(HotJump, s, js, e), clean, sound, true
		case e.cold(start):
			return jumpFinding(ColdJump, s, js, e), clean, sound, true
		}
	}
	return jumpFinding(StepJump, s, js, js[0]), clean, sound, true
}

// railFinding recognizes a circuit that stands at one end the whole time.
func railFinding(s []Sample) (Finding, bool) {
	cold := share(s, func(c float64) bool { return c <= openC })
	hot := share(s, func(c float64) bool { return c >= shortStayC })
	n := max(1, len(s)/5)
	drift := middle(s[len(s)-n:]) - middle(s[:n])
	span := s[len(s)-1].AtS - s[0].AtS
	long := span >= holdS || len(s) >= holdSamples
	switch {
	case long && cold >= railShare && drift < 3:
		return Finding{Verdict: Open, AtS: models.Num(s[0].AtS), Evidence: []string{
			fmt.Sprintf("reads %.1f °C from the first second and does not move in %.0f s", middle(s), span)}}, true
	case long && hot >= railShare && math.Abs(drift) < 3:
		return Finding{Verdict: Short, AtS: models.Num(s[0].AtS), Evidence: []string{
			fmt.Sprintf("reads %.1f °C from the first second and does not move in %.0f s", middle(s), span)}}, true
	}
	return Finding{}, false
}

// startLevel gives the reading with which the log began, past a first jump
// up from the coldest end.
func startLevel(s []Sample, js []jump) float64 {
	from := 0
	if len(js) > 0 && js[0].size() > 0 && js[0].from <= openStayC {
		from = js[0].j
	}
	return middle(s[from:min(len(s), from+3)])
}

// cold says whether a jump goes to, or comes from, a reading far colder than
// the engine can be: colder than it was before it ran, or below anything that
// a warm engine falls to at once.
func (e jump) cold(start float64) bool {
	drop := math.Abs(e.size())
	low := min(e.from, e.to)
	if e.size() > 0 { // the log began, or was cut, while it read cold
		return (low <= openStayC && drop >= 20) || (low <= 10 && drop >= 40)
	}
	return drop >= 40 || (start <= 50 && drop >= 20 && low <= start-8) ||
		(e.from >= 40 && ((drop >= 25 && low <= 5) || (drop >= 30 && start <= 50 && low <= start+3)))
}

// short says whether a jump goes to where only a shorted circuit reads.
func (e jump) short() bool { return e.to >= shortC && (e.size() >= 38 || e.to >= shortSureC) }

// fromShort says whether a jump comes back from where only a shorted circuit
// reads.
func (e jump) fromShort() bool { return e.from >= shortC && -e.size() >= 38 }

// jumpFinding words a finding of jumps.
func jumpFinding(v Verdict, s []Sample, js []jump, e jump) Finding {
	at := s[e.j].AtS
	ev := []string{fmt.Sprintf("went from %.1f to %.1f °C within %.1f s at %.0f s: metal and water cannot", e.from, e.to, at-s[e.i].AtS, at)}
	if e.back >= 0 {
		ev = append(ev, fmt.Sprintf("came back by itself after %.1f s", s[js[e.back].j].AtS-at))
	}
	if len(js) > 1 {
		ev = append(ev, fmt.Sprintf("%d such jumps in the log", len(js)))
	}
	return Finding{Verdict: v, AtS: models.Num(at), Evidence: ev}
}

// withoutJumps leaves out what lies between a jump and its way back. The rest
// is sound when every jump came back.
func withoutJumps(s []Sample, js []jump) ([]Sample, bool) {
	out := make([]Sample, 0, len(s))
	from := 0
	for k := 0; k < len(js); k++ {
		if js[k].back < 0 {
			return nil, false
		}
		out = append(out, s[from:js[k].i+1]...)
		k = js[k].back
		from = js[k].j
	}
	return append(out, s[from:]...), true
}

// share gives the fraction of samples for which is holds.
func share(s []Sample, is func(float64) bool) float64 {
	n := 0
	for _, v := range s {
		if is(v.TempC) {
			n++
		}
	}
	return float64(n) / float64(len(s))
}

// middle gives the median reading.
func middle(s []Sample) float64 {
	v := make([]float64, len(s))
	for i := range s {
		v[i] = s[i].TempC
	}
	slices.Sort(v)
	return v[len(v)/2]
}
