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
	levelC       = 1.5   // a stay moves by no more
	stayS        = 600.0 // so long a stay below regulation is no pause; of real healthy cars the longest seen is 460 s
	lawStayS     = 120.0 // so long a one is believed where the rise follows one law
	downStayS    = 300.0 // or where the engine came down to it

	// A rise follows one law when it strays from it by no more than this, over
	// so many of its time constants.
	lawLooseC, lawLooseSpans = 1.0, 3.5
	lawCloseC, lawCloseSpans = 0.3, 2.0
	lawShare, lawLongSpans   = 0.06, 5.0 // of the rise, for work that comes and goes
)

// heat is a trace under judgment.
type heat struct {
	tr     trace
	o      Options
	i0     int     // where the warm-up begins
	peak   float64 // highest from there on, smoothed
	shown  float64 // highest that the log itself shows
	fanned int     // times the fan brought it down
}

// heatFinding judges thermostat and fan from a log whose circuit behaves.
func heatFinding(s []Sample, o Options) (Finding, heat) {
	h := heat{tr: newTrace(s), o: o, shown: s[0].TempC}
	for _, v := range s {
		h.shown = max(h.shown, v.TempC)
	}
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
			fmt.Sprintf("passed %.0f °C at %.0f s and reached %.1f °C", tooHotC, h.tr.at(k), h.shown)}}, true
	}
	if h.o.OpensC.Known && h.peak >= h.o.OpensC.F+closedRiseC {
		if score, ok := h.knee(); ok && score >= kneeScore {
			k := h.tr.first(h.i0, h.o.OpensC.F+closedRiseC)
			return Finding{Verdict: Hot, AtS: h.num(k), Evidence: []string{
				fmt.Sprintf("rose straight through the thermostat's %.0f °C to %.1f °C: %.0f %% of its pace before, where an opening thermostat bends it",
					h.o.OpensC.F, h.shown, 100*score)}}, true
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
	ev := []string{fmt.Sprintf("passed the fan's %.0f °C at %.0f s, was not brought down and reached %.1f °C", fan, h.tr.at(h.tr.first(0, fan)), h.shown)}
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

// stuckOpen looks for a log that ends well below the thermostat and stays
// there. Healthy engines pause on their way too, when a cold one idles or the
// cab takes the heat: so a stay is believed only when it is long, when the
// whole rise follows one law toward it, or when the engine was warmer before.
func (h heat) stuckOpen() (Finding, bool) {
	n := len(h.tr.v)
	if !h.o.OpensC.Known || h.peak >= h.o.OpensC.F-reachC || h.tr.span() < lawStayS {
		return Finding{}, false
	}
	limit := h.o.OpensC.F - farC
	for _, stay := range []func() (from int, ok bool){h.lawful, h.longStay, h.cameDown} {
		k, ok := stay()
		if !ok {
			continue
		}
		level := h.tr.mean(k, n)
		if level >= limit || h.tr.v[n-1] >= limit {
			continue
		}
		return Finding{Verdict: StuckOpen, AtS: h.num(k), Evidence: []string{
			fmt.Sprintf("leveled off at %.1f °C, %.0f °C below the thermostat's %.0f °C, in %.0f s of log", level, h.o.OpensC.F-level, h.o.OpensC.F, h.tr.span()),
			fmt.Sprintf("stood between %.1f and %.1f °C in the last %.0f s", h.tr.lowest(k, n), h.tr.v[h.tr.top(k, n)], float64(n-k)*h.tr.step),
		}}, true
	}
	return Finding{}, false
}

// within gives the first cell from which the log came within so much of its
// highest reading, and the seconds since.
func (h heat) within(c float64) (k int, seconds float64) {
	k = h.tr.first(h.i0, h.peak-c)
	return k, float64(len(h.tr.v)-k) * h.tr.step
}

// lawful says whether the whole rise follows one law toward an end well below
// the thermostat; the better it fits, the less of the way must be seen.
func (h heat) lawful() (int, bool) {
	l, ok := h.approach()
	spans := float64(len(h.tr.v)-h.i0) * h.tr.step / l.tau
	moved := h.peak - h.tr.v[h.i0]
	fits := l.misfit <= lawCloseC && spans >= lawCloseSpans || l.misfit <= lawLooseC && spans >= lawLooseSpans ||
		l.misfit <= lawShare*moved && spans >= lawLongSpans
	_, stay := h.within(max(levelC, 0.1*moved))
	k, _ := h.within(levelC)
	return k, ok && fits && l.end <= h.o.OpensC.F-farC-levelC && stay >= lawStayS && h.moved()
}

// longStay says whether the log stayed near its highest reading for long. A
// shorter stay must gain nothing toward its end, or have fallen since.
func (h heat) longStay() (int, bool) {
	n := len(h.tr.v)
	top := h.tr.top(h.i0, n)
	fell := h.peak-h.tr.lowest(top, n) >= 2*levelC && float64(n-top)*h.tr.step >= downStayS
	swing := h.swing()
	for _, s := range []struct {
		tol, seconds float64
		needs        func(k int) bool
	}{
		{levelC, stayS, h.gainsNothing},
		{2 * levelC, 1.1 * stayS, h.gainsNothing},
		{2 * levelC, 1.4 * stayS, func(int) bool { return true }},
		{2 * levelC, 0.85 * stayS, func(int) bool { return fell }},
		// A closed engine hardly cools at work; one that follows its work up and
		// down gives its heat to the radiator.
		{swing + levelC, 1.4 * stayS, func(int) bool { return swing >= 4*levelC && h.peak <= h.o.OpensC.F-2*farC }},
	} {
		if k, stay := h.within(s.tol); stay >= s.seconds && s.needs(k) && h.moved() {
			return k, true
		}
	}
	return 0, false
}

// swing gives the largest fall of the log after it began to rise, °C.
func (h heat) swing() float64 {
	most, high := 0.0, h.tr.v[h.i0]
	for _, v := range h.tr.v[h.i0:] {
		high = max(high, v)
		most = max(most, high-v)
	}
	return most
}

// gainsNothing says whether the last third from a cell on reaches no higher
// than what came before.
func (h heat) gainsNothing(k int) bool {
	n := len(h.tr.v)
	late := n - (n-k)/3
	return h.tr.v[h.tr.top(late, n)] <= h.tr.v[h.tr.top(k, late)]+0.3
}

// cameDown says whether the log began warmer, as on a restart, came down to
// where it ends, and stays there.
func (h heat) cameDown() (int, bool) {
	n := len(h.tr.v)
	w := h.tr.cells(downStayS)
	if n <= w {
		return 0, false
	}
	low, high := h.tr.lowest(n-w, n), h.tr.v[h.tr.top(n-w, n)]
	return n - w, high-low <= 2*levelC && h.tr.v[h.tr.top(0, n-w)]-high >= farC && math.Abs(h.tr.slope(n-w, n))*downStayS <= 2*levelC
}

// moved says whether the reading is an engine's at work: one that never moved
// and is cool may stand still.
func (h heat) moved() bool {
	return h.peak-h.tr.v[h.i0] >= 3 || h.peak >= 50 && h.peak-h.tr.lowest(0, len(h.tr.v)) >= 0.3
}

// law is a rise toward an end with one time constant, as a body that gains
// heat evenly and loses it by its excess follows (Newton's law of cooling).
type law struct {
	end    float64 // °C
	tau    float64 // seconds
	misfit float64 // root mean square of what it leaves, °C
}

// approach fits the law to the whole warm-up by least squares, the time
// constant by trial.
func (h heat) approach() (law, bool) {
	v := h.tr.v[h.i0:]
	best := law{misfit: math.Inf(1)}
	n := float64(len(v))
	for tau := 6 * h.tr.step; tau < n*h.tr.step; tau *= 1.15 {
		var sx, sy, sxx, sxy float64
		for k, y := range v {
			x := math.Exp(-float64(k) * h.tr.step / tau)
			sx, sy, sxx, sxy = sx+x, sy+y, sxx+x*x, sxy+x*y
		}
		d := sxx - sx*sx/n
		if d <= 1e-9*n {
			continue
		}
		b := (sxy - sx*sy/n) / d
		a := (sy - b*sx) / n
		off := 0.0
		for k, y := range v {
			r := y - a - b*math.Exp(-float64(k)*h.tr.step/tau)
			off += r * r
		}
		if m := math.Sqrt(off / n); m < best.misfit && b < 0 {
			best = law{end: a, tau: tau, misfit: m}
		}
	}
	return best, !math.IsInf(best.misfit, 1)
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
	if h.peak-h.tr.lowest(0, n) < 0.3 {
		return unsure(fmt.Sprintf("the reading stands at %.1f °C from the first second to the last: does the logger still take it in?", h.peak))
	}
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
		fmt.Sprintf("came up to the thermostat's %.0f °C at %.0f s and held for %.0f s, highest %.1f °C", opens, h.tr.at(k), held, h.shown)}}
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
			fmt.Sprintf("warmed to %.1f °C and held about %.1f °C at the end", h.shown, level)}}
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
