package cooling

import (
	"math"
	"slices"
)

// knee compares the pace of the rise above the thermostat's opening with the
// pace that the warm-up below it lets expect: about 1 while the thermostat
// stays closed, well below where the radiator comes in. It weighs the middle
// pace of four bands above the opening, the pace at the very top, and the
// slowest stretch, which shows cold coolant coming in from the radiator; work
// that comes and goes moves one of them, seldom all three. ok is false where
// the log does not show both sides.
func (h heat) knee() (score float64, ok bool) {
	belowTop, low, high := h.o.FanOnC.F-28, h.o.FanOnC.F-6, h.peak-0.5
	if h.o.OpensC.Known {
		opens := h.o.OpensC.F
		belowTop, low = opens-1, opens+2
		high = min(h.peak-0.5, opens+16)
	}
	belowLow := max(belowTop-40, h.tr.v[h.i0]+1.5)
	if belowTop-belowLow < 3 || high-low < 3 {
		return h.straight()
	}
	line, ok := h.expected(belowLow, belowTop)
	if !ok || h.tr.rate(h.i0, low, high) <= 0 {
		return h.straight()
	}
	share := func(from, to float64) float64 { return h.tr.rate(h.i0, from, to) / line.at((from+to)/2) }
	const bands = 4
	pace := make([]float64, bands)
	for b := range bands {
		from := low + (high-low)*float64(b)/bands
		pace[b] = share(from, from+(high-low)/bands)
	}
	slices.Sort(pace)
	middle := (pace[bands/2-1] + pace[bands/2]) / 2
	top := share(max(low, h.peak-8), h.peak-0.3)
	w := h.tr.cells(min(max(4/line.at((low+high)/2), 30), 200))
	stall := pace[0]
	for k, to := h.tr.first(h.i0, low-3), h.tr.first(h.i0, high); k+w <= to; k++ {
		stall = min(stall, h.tr.slope(k, k+w)/line.at(h.tr.v[k+w/2]))
	}
	bound := func(v float64) float64 { return min(max(v, -0.5), 1.5) }
	// Uneven work bends the curve too: then less of a bend is believed.
	score = 0.5*bound(middle) + 0.3*bound(top) + 0.2*bound(stall) + kneeDoubt*min(line.scatter, 0.4)
	if stall < kneeStay && float64(w)*h.tr.step >= 45 {
		score = min(score, stall) // so long a stay is regulation, whatever comes after
	}
	return score, true
}

// straight is knee for a log that begins too warm to show the pace below the
// thermostat: it compares the last third of the rise with the first.
func (h heat) straight() (score float64, ok bool) {
	low := h.tr.v[h.i0] + 0.5
	third := (h.peak - 0.5 - low) / 3
	if third < 1.5 {
		return 0, false
	}
	first, last := h.tr.rate(h.i0, low, low+third), h.tr.rate(h.i0, low+2*third, h.peak-0.5)
	if first <= 0 || last <= 0 {
		return 0, false
	}
	return last / first, true
}

// paceLine is the pace of a warm-up as it falls with temperature, °C/s.
type paceLine struct {
	x, y, bend float64 // pace y at temperature x, and its change per °C
	last       float64 // the pace just below the thermostat
	scatter    float64 // how far the pace strays from the line, as a share of it: work that comes and goes
}

// at carries the line on to a temperature, within reason.
func (l paceLine) at(c float64) float64 {
	return min(max(l.y+l.bend*(c-l.x), min(0.2+2*l.scatter, 0.5)*l.last), l.last)
}

// expected draws the pace of the warm-up between two temperatures. A closed
// engine warms at (end - T)/tau, so that pace over temperature is a straight
// line; with too little to draw it, the pace stays.
func (h heat) expected(low, high float64) (paceLine, bool) {
	const bands = 5
	last := h.tr.rate(h.i0, high-min(high-low, 12), high)
	flat := paceLine{x: high, y: last, last: last}
	if high-low < 16 {
		return flat, last > 0
	}
	var x, y [bands]float64
	var sx, sy float64
	for b := range bands {
		from := low + (high-low)*float64(b)/bands
		x[b], y[b] = from+(high-low)/bands/2, h.tr.rate(h.i0, from, from+(high-low)/bands)
		if y[b] <= 0 {
			return flat, last > 0
		}
		sx, sy = sx+x[b]/bands, sy+y[b]/bands
	}
	var sxx, sxy, off float64
	for b := range bands {
		sxx, sxy = sxx+(x[b]-sx)*(x[b]-sx), sxy+(x[b]-sx)*(y[b]-sy)
	}
	l := paceLine{x: sx, y: sy, bend: sxy / sxx, last: last}
	for b := range bands {
		d := y[b] - sy - l.bend*(x[b]-sx)
		off += d * d
	}
	l.scatter = math.Sqrt(off/(bands-2)) / sy
	return l, last > 0
}
