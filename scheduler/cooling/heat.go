package cooling

import (
	"fmt"
	"math"

	"example.org/roundsman/models"
)

// How heat is judged; common practice, no source, tried on generated logs.
const (
	reachC       = 4.5  // regulation is reached this far below the opening temperature
	farC         = 5.0  // a plateau this far below it is none of the thermostat's
	kneeScore    = 0.67 // pace of a rise above the thermostat, 1 while that stays closed
	kneeStay     = 0.20 // a stretch as slow as this is a stay
	kneeSure     = 0.80 // so much has no knee at all
	kneeDoubt    = 0.9  // how much uneven work excuses
	kneeScoreFan = 0.50 // the same where the thermostat's temperature is not known
	overC        = 3.0  // past the fan's temperature before it counts
	overS        = 20.0 // and as much as the engine warms in this time: sensor and radiator lag
	turnC        = 2.0  // a fall by this much means that something cools
	dwellC       = 2.5  // standing so far above the fan's temperature
	dwellS       = 240.0
	tooHotC      = 115.0 // too hot whatever the manual says of the fan: coolant is near boiling without its cap
	closedRiseC  = 20.0  // past the thermostat without a knee
	regulatesC   = 60.0  // below it no thermostat here regulates
	enoughS      = 60.0  // at regulation before it is believed
)

// heat is a trace under judgment.
type heat struct {
	tr     trace
	o      Options
	i0     int     // where the warm-up begins
	peak   float64 // highest from there on
	fanned int     // times the fan brought it down
}

// heatFinding judges thermostat and fan from a log whose circuit behaves.
func heatFinding(s []Sample, o Options) (Finding, heat) {
	h := heat{tr: newTrace(s), o: o}
	h.i0 = h.tr.rising()
	h.peak = h.tr.v[h.tr.top(h.i0, len(h.tr.v))]
	if f, ok := h.tooHot(); ok {
		return f, h
	}
	if f, ok := h.stuckOpen(); ok {
		return f, h
	}
	return h.regulates(), h
}

// num gives a time for a finding.
func (h heat) num(k int) models.Number { return models.Num(math.Round(h.tr.at(k)*10) / 10) }

// tooHot looks for a rise past the fan's temperature that nothing turns.
func (h *heat) tooHot() (Finding, bool) {
	if h.o.FanOnC.Known {
		if k := h.pastFan(h.o.FanOnC.F); k >= 0 {
			return h.nameHot(k), true
		}
		return Finding{}, false
	}
	if k := h.tr.first(0, tooHotC); k >= 0 {
		return Finding{Verdict: Hot, AtS: h.num(k), Evidence: []string{
			fmt.Sprintf("passed %.0f °C at %.0f s and reached %.1f °C", tooHotC, h.tr.at(k), h.peak)}}, true
	}
	if h.o.OpensC.Known && h.peak >= h.o.OpensC.F+closedRiseC {
		if score, ok := h.knee(); ok && score >= kneeScore {
			k := h.tr.first(h.i0, h.o.OpensC.F+closedRiseC)
			return Finding{Verdict: Hot, AtS: h.num(k), Evidence: []string{
				fmt.Sprintf("rose straight through the thermostat's %.0f °C to %.1f °C: %.0f %% of its pace before, where an opening thermostat bends it",
					h.o.OpensC.F, h.peak, 100*score)}}, true
		}
	}
	return Finding{}, false
}

// pastFan gives the cell at which a rise past the fan's temperature becomes
// more than lag can explain, or -1. It counts the rises that were turned.
func (h *heat) pastFan(fan float64) int {
	tr := h.tr
	for k := 0; k < len(tr.v); k++ {
		if tr.v[k] < fan || (k > 0 && tr.v[k-1] >= fan) {
			continue
		}
		limit := fan + overC + overS*min(max(tr.slope(k-tr.cells(40), k+1), 0), 0.5)
		if g, turned := h.excursion(k, fan, limit); g >= 0 {
			return g
		} else if turned {
			h.fanned++
		}
	}
	return -1
}

// excursion follows a rise from the cell where it passed the fan's
// temperature. It gives the cell at which it became too much, or -1, and
// whether something turned it.
func (h *heat) excursion(k int, fan, limit float64) (tooMuch int, turned bool) {
	tr := h.tr
	top, low := tr.v[k], math.Inf(1)
	for g := k; g < len(tr.v); g++ {
		v := tr.v[g]
		if v < fan {
			return -1, true
		}
		stood := float64(g-k) * tr.step
		if stood > dwellS/4 {
			low = min(low, v)
		}
		switch {
		case v > top+0.5:
			turned = false // it only paused
		case v <= top-turnC:
			turned = k > 0
		}
		top = max(top, v)
		over := !turned && v >= limit && !h.turnsSoon(g, fan)
		if over || (stood >= dwellS && v >= fan+dwellC && low >= fan+1) {
			return g, false
		}
	}
	return -1, turned
}

// turnsSoon says whether a rise that went a little over its limit is brought
// back below the fan's temperature all the same.
func (h *heat) turnsSoon(g int, fan float64) bool {
	const soonS, littleC = 180, 8
	for k := g; k < min(len(h.tr.v), g+h.tr.cells(soonS)); k++ {
		if h.tr.v[k] > fan+littleC {
			return false
		}
		if h.tr.v[k] < fan+overC/2 {
			return true
		}
	}
	return false
}

// nameHot tells a thermostat that stays closed (the rise has no knee) from a
// fan that does not come (it has one).
func (h *heat) nameHot(k int) Finding {
	fan := h.o.FanOnC.F
	ev := []string{fmt.Sprintf("passed the fan's %.0f °C at %.0f s, was not brought down and reached %.1f °C", fan, h.tr.at(h.tr.first(0, fan)), h.peak)}
	score, ok := h.knee()
	limit := kneeScore
	if !h.o.OpensC.Known {
		limit = kneeScoreFan
	}
	switch {
	case !ok:
		ev = append(ev, "the log begins too warm to show whether the thermostat opened")
		if h.tr.slope(k-h.tr.cells(60), k+1) >= 0.1 {
			return Finding{Verdict: Hot, AtS: h.num(k), Evidence: ev}
		}
		return Finding{Verdict: FanAbsent, AtS: h.num(k), Evidence: ev}
	case score >= limit:
		ev = append(ev, fmt.Sprintf("it rose at %.0f %% of its pace before: an opening thermostat bends the curve", 100*score))
		return Finding{Verdict: Hot, AtS: h.num(k), Evidence: ev}
	}
	ev = append(ev, fmt.Sprintf("the rise slowed to %.0f %% at the thermostat, so that coolant moves: the fan was not seen to work", 100*max(score, 0)))
	return Finding{Verdict: FanAbsent, AtS: h.num(k), Evidence: ev}
}

// stuckOpen looks for a warm-up that levels off well below the thermostat.
func (h heat) stuckOpen() (Finding, bool) {
	n := len(h.tr.v)
	if !h.o.OpensC.Known || h.tr.span() < 240 || h.peak >= h.o.OpensC.F-reachC {
		return Finding{}, false
	}
	opens, span := h.o.OpensC.F, h.tr.span()
	w := h.tr.cells(min(max(0.3*span, 150), 600))
	tail := h.tr.slope(n-w, n) * float64(w) * h.tr.step
	level := h.tr.mean(n-w, n)
	moved := max(h.peak, h.tr.v[0]) - h.tr.v[h.i0]
	// Of a warm-up that will get there, a third of the time brings at least a
	// sixth of the way; shorter logs must be clearer.
	small := 0.14
	if span < 600 {
		small = 0.12
	}
	settled := math.Abs(tail) <= max(1.2, small*moved)
	// Work that comes and goes hides a plateau, but not that nothing is gained.
	cut := n * 6 / 10
	gain := h.tr.v[h.tr.top(cut, n)] - h.tr.v[h.tr.top(min(h.i0, cut-1), cut)]
	half := h.tr.slope(n/2, n) * span / 2
	stays := span >= 600 && gain <= max(1.5, 0.14*moved) || span >= 900 && math.Abs(half) <= 4
	if !settled && !stays || level+max(tail, 0) >= opens-farC {
		return Finding{}, false
	}
	if moved < 3 && level < 50 {
		return Finding{}, false // nothing moved: is the engine running at all?
	}
	k := h.tr.first(h.i0, level-2)
	if k < 0 {
		k = n - w
	}
	return Finding{Verdict: StuckOpen, AtS: h.num(k), Evidence: []string{
		fmt.Sprintf("leveled off at %.1f °C, %.0f °C below the thermostat's %.0f °C, in %.0f s of log", level, opens-level, opens, span),
		fmt.Sprintf("moved by only %+.1f °C in the last %.0f s", tail, float64(w)*h.tr.step),
	}}, true
}

// regulates tells a log that came up to regulation and held from one that
// ends too early to say.
func (h heat) regulates() Finding {
	n := len(h.tr.v)
	end := h.tr.at(n - 1)
	unsure := func(why string) Finding { return Finding{Verdict: Unsure, Evidence: []string{why}} }
	if h.tr.span() < enoughS {
		return unsure(fmt.Sprintf("the log is only %.0f s long", h.tr.span()))
	}
	low := h.tr.v[h.i0]
	if h.peak-low < 3 && h.peak < 50 {
		return unsure(fmt.Sprintf("the reading stays at %.1f °C: is the engine running, and is the sensor the engine's?", h.peak))
	}
	if !h.o.OpensC.Known {
		return h.levelsOff(unsure)
	}
	opens := h.o.OpensC.F
	k := h.tr.first(h.i0, opens-reachC)
	if k < 0 {
		return unsure(fmt.Sprintf("the log ends at %.1f °C, before the thermostat's %.0f °C, and does not level off", h.tr.v[n-1], opens))
	}
	if h.o.FanOnC.Known && h.fanned == 0 && h.peak >= h.o.FanOnC.F+overC+2 {
		return h.nameHot(h.tr.first(h.i0, h.o.FanOnC.F+overC)) // it ends hot, too fast for lag to be ruled out before
	}
	held := end - h.tr.at(k)
	top := h.tr.top(k, n)
	lowAfter := h.peak
	for g := top; g < n; g++ {
		lowAfter = min(lowAfter, h.tr.v[g])
	}
	score, knee := h.knee()
	slow := h.tr.slope(n-h.tr.cells(min(held, 120)), n) < 0.5*h.tr.rate(h.i0, max(low+1, opens-24), opens-reachC)
	switch {
	case held < enoughS:
		return unsure(fmt.Sprintf("the log ends %.0f s after coming up to the thermostat's %.0f °C: too soon to see it hold", held, opens))
	case h.fanned > 0, h.peak-lowAfter >= 1.5, slow, knee && score < kneeScore:
	case h.peak >= opens+12 && (!knee || score >= kneeSure):
		return unsure(fmt.Sprintf("it went through the thermostat's %.0f °C without a knee and the log ends at %.1f °C, still rising", opens, h.tr.v[n-1]))
	case held < 2*enoughS:
		return unsure(fmt.Sprintf("the log ends %.0f s after coming up to the thermostat's %.0f °C, still rising", held, opens))
	}
	return Finding{Verdict: Healthy, AtS: h.num(k), Evidence: []string{
		fmt.Sprintf("came up to the thermostat's %.0f °C at %.0f s and held for %.0f s, highest %.1f °C", opens, h.tr.at(k), held, h.peak)}}
}

// levelsOff is regulates where the thermostat's temperature is not known.
func (h heat) levelsOff(unsure func(string) Finding) Finding {
	n := len(h.tr.v)
	w := h.tr.cells(min(max(0.25*h.tr.span(), 120), 400))
	if n < 2*w {
		return unsure(fmt.Sprintf("the log is only %.0f s long", h.tr.span()))
	}
	moved := math.Abs(h.tr.slope(n-w, n)) * float64(w) * h.tr.step
	level := h.tr.mean(n-w, n)
	top := h.tr.top(h.i0, n)
	switch {
	case level < regulatesC-5 && h.fanned == 0:
		return unsure(fmt.Sprintf("it ends at %.1f °C; whether that is where it should be needs the thermostat's temperature", level))
	case h.fanned > 0, moved <= 2.5, h.peak-h.tr.v[n-1] >= 1.5, h.held():
		return Finding{Verdict: Healthy, AtS: h.num(top), Evidence: []string{
			fmt.Sprintf("warmed to %.1f °C and held about %.1f °C at the end", h.peak, level)}}
	}
	return unsure(fmt.Sprintf("the log ends at %.1f °C, still rising", h.tr.v[n-1]))
}

// held says whether the rise stopped, or nearly, for a minute at a
// temperature at which thermostats regulate.
func (h heat) held() bool {
	w := h.tr.cells(enoughS)
	fastest := 0.0
	for k := h.i0; k+w <= len(h.tr.v); k++ {
		pace := h.tr.slope(k, k+w)
		if h.tr.v[k] >= regulatesC && pace <= 0.25*fastest {
			return true
		}
		fastest = max(fastest, pace)
	}
	return false
}
