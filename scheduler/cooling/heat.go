package cooling

import (
	"fmt"
	"math"

	"example.org/roundsman/models"
)

// How heat is judged; common practice, no source, tried on generated logs.
const (
	reachC       = 4.5 // regulation is reached this far below the opening temperature
	farC         = 5.0 // a plateau this far below it is none of the thermostat's
	kneeRatio    = 0.62
	kneeRatioFan = 0.50 // where the thermostat's temperature is not known
	overC        = 3.0  // past the fan's temperature before it counts
	overS        = 20.0 // and as much as the engine warms in this time: sensor and radiator lag
	turnC        = 2.0  // a fall by this much means that something cools
	dwellC       = 2.5  // standing so far above the fan's temperature
	dwellS       = 240.0
	tooHotC      = 115.0 // too hot whatever the manual says of the fan: coolant is near boiling without its cap
	closedRiseC  = 20.0  // past the thermostat without a knee
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
		if ratio, ok := h.knee(h.peak); ok && ratio >= kneeRatio {
			k := h.tr.first(h.i0, h.o.OpensC.F+closedRiseC)
			return Finding{Verdict: Hot, AtS: h.num(k), Evidence: []string{
				fmt.Sprintf("rose straight through the thermostat's %.0f °C to %.1f °C: %.0f %% of its pace before, where an opening thermostat bends it",
					h.o.OpensC.F, h.peak, 100*ratio)}}, true
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
		top := tr.v[k]
		for g := k; g < len(tr.v); g++ {
			top = max(top, tr.v[g])
			if tr.v[g] <= top-turnC || tr.v[g] < fan {
				if k > 0 || tr.v[g] < fan {
					h.fanned++
				}
				break
			}
			stood := float64(g-k) * tr.step
			over := tr.v[g] >= limit && !h.turnsSoon(g, fan)
			if over || (stood >= dwellS && tr.v[g] >= fan+dwellC) {
				return g
			}
		}
	}
	return -1
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
	ratio, ok := h.knee(h.peak)
	limit := kneeRatio
	if !h.o.OpensC.Known {
		limit = kneeRatioFan
	}
	switch {
	case ok && ratio >= limit:
		ev = append(ev, fmt.Sprintf("it rose at %.0f %% of its pace before: an opening thermostat bends the curve", 100*ratio))
		return Finding{Verdict: Hot, AtS: h.num(k), Evidence: ev}
	case ok:
		ev = append(ev, fmt.Sprintf("the rise slowed to %.0f %% at the thermostat, so that coolant moves: the fan was not seen to work", 100*ratio))
		return Finding{Verdict: FanAbsent, AtS: h.num(k), Evidence: ev}
	}
	if h.tr.slope(k-h.tr.cells(60), k+1) >= 0.1 {
		ev = append(ev, "it rose fast to the end; the log begins too warm to show a knee")
		return Finding{Verdict: Hot, AtS: h.num(k), Evidence: ev}
	}
	ev = append(ev, "it rose slowly; the log begins too warm to show a knee")
	return Finding{Verdict: FanAbsent, AtS: h.num(k), Evidence: ev}
}

// knee compares the pace above the thermostat's opening with the pace that
// the warm-up below it lets expect: about 1 while the thermostat stays
// closed, well below where the radiator comes in. ok is false where the log
// does not show both.
func (h heat) knee(peak float64) (ratio float64, ok bool) {
	belowTop, aboveLow, aboveHigh := h.o.FanOnC.F-28, h.o.FanOnC.F-6, peak-0.5
	if h.o.OpensC.Known {
		opens := h.o.OpensC.F
		belowTop, aboveLow = opens-3, opens+1
		aboveHigh = min(peak-0.5, opens+14)
	}
	belowLow := max(belowTop-24, h.tr.v[h.i0]+1.5)
	if belowTop-belowLow < 5 || aboveHigh-aboveLow < 3 {
		return 0, false
	}
	mid := (belowLow + belowTop) / 2
	early, late := h.tr.rate(h.i0, belowLow, mid), h.tr.rate(h.i0, mid, belowTop)
	above := h.tr.rate(h.i0, aboveLow, aboveHigh)
	if early <= 0 || late <= 0 || above <= 0 {
		return 0, false
	}
	expect := late
	if belowTop-belowLow >= 12 { // losses to the air slow it steadily: carry that on
		steps := ((aboveLow+aboveHigh)/2 - (mid+belowTop)/2) / (belowTop - mid)
		expect = min(max(late+(late-early)*steps, 0.5*late), late)
	}
	return above / expect, true
}

// stuckOpen looks for a warm-up that levels off well below the thermostat.
func (h heat) stuckOpen() (Finding, bool) {
	n := len(h.tr.v)
	if !h.o.OpensC.Known || h.tr.span() < 240 || h.peak >= h.o.OpensC.F-reachC {
		return Finding{}, false
	}
	opens := h.o.OpensC.F
	w := h.tr.cells(min(max(0.3*h.tr.span(), 150), 600))
	tail := h.tr.slope(n-w, n) * float64(w) * h.tr.step
	total := h.peak - h.tr.v[h.i0]
	if h.i0 == n-1 {
		total = h.tr.v[0] - h.tr.v[n-1]
	}
	level := h.tr.mean(n-w, n)
	settled := math.Abs(tail) <= max(1.2, 0.07*total)
	half := h.tr.slope(n/2, n) * h.tr.span() / 2
	long := h.tr.span() >= 900 && math.Abs(half) <= 4
	if !settled && !long || level+max(tail, 0) >= opens-farC {
		return Finding{}, false
	}
	if total < 3 && level < 50 {
		return Finding{}, false // nothing moved: is the engine running at all?
	}
	k := h.tr.first(h.i0, level-2)
	if k < 0 {
		k = n - w
	}
	return Finding{Verdict: StuckOpen, AtS: h.num(k), Evidence: []string{
		fmt.Sprintf("leveled off at %.1f °C, %.0f °C below the thermostat's %.0f °C, in %.0f s of log", level, opens-level, opens, h.tr.span()),
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
	held := end - h.tr.at(k)
	top := h.tr.top(k, n)
	turned := h.peak - h.tr.mean(max(top, n-3), n)
	lowAfter := h.peak
	for g := top; g < n; g++ {
		lowAfter = min(lowAfter, h.tr.v[g])
	}
	ratio, knee := h.knee(h.peak)
	slow := h.tr.slope(n-h.tr.cells(min(held, 120)), n) < 0.5*h.tr.rate(h.i0, max(low+1, opens-24), opens-reachC)
	switch {
	case held < enoughS:
		return unsure(fmt.Sprintf("the log ends %.0f s after coming up to the thermostat's %.0f °C: too soon to see it hold", held, opens))
	case h.fanned > 0, h.peak-lowAfter >= 1.5, turned >= 1.5, slow, knee && ratio < kneeRatio:
	case h.peak >= opens+12:
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
	case level < 55 && h.fanned == 0:
		return unsure(fmt.Sprintf("it ends at %.1f °C; whether that is where it should be needs the thermostat's temperature", level))
	case h.fanned > 0, moved <= 2.5, h.peak-h.tr.v[n-1] >= 1.5:
		return Finding{Verdict: Healthy, AtS: h.num(top), Evidence: []string{
			fmt.Sprintf("warmed to %.1f °C and held about %.1f °C at the end", h.peak, level)}}
	}
	return unsure(fmt.Sprintf("the log ends at %.1f °C, still rising", h.tr.v[n-1]))
}
