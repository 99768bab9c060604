package cooling

import "math"

// trace is a log on an even grid, smoothed over about twenty seconds, so that
// what is read from it depends neither on the sampling rate nor on a few
// missing samples.
type trace struct {
	t0, step float64
	v        []float64
}

// Grid of a trace.
const (
	gridS      = 5.0
	gridMax    = 20000 // cells; longer logs get a wider step
	smoothHalf = 2     // cells on each side
)

// newTrace averages the samples of each cell, fills empty cells by straight
// lines and smooths. It needs one sample at least.
func newTrace(s []Sample) trace {
	first, last := s[0].AtS, s[len(s)-1].AtS
	tr := trace{t0: first, step: max(gridS, (last-first)/gridMax)}
	n := int((last-first)/tr.step) + 1
	sum, count := make([]float64, n), make([]float64, n)
	for _, x := range s {
		k := min(int((x.AtS-first)/tr.step), n-1)
		sum[k] += x.TempC
		count[k]++
	}
	raw := make([]float64, n)
	known := -1
	for k := range raw {
		if count[k] == 0 {
			continue
		}
		raw[k] = sum[k] / count[k]
		for g := known + 1; known >= 0 && g < k; g++ {
			raw[g] = between(float64(g), float64(known), float64(k), raw[known], raw[k])
		}
		known = k
	}
	for g := known + 1; g < n; g++ {
		raw[g] = raw[known]
	}
	tr.v = make([]float64, n)
	for k := range raw {
		h := min(smoothHalf, k, n-1-k) // symmetric, so that a slope stays where it is
		total := 0.0
		for g := k - h; g <= k+h; g++ {
			total += raw[g]
		}
		tr.v[k] = total / float64(2*h+1)
	}
	return tr
}

// at gives the second of a cell.
func (tr trace) at(k int) float64 { return tr.t0 + (float64(k)+0.5)*tr.step }

// cells gives how many cells a time takes, one at least.
func (tr trace) cells(seconds float64) int { return max(1, int(math.Round(seconds/tr.step))) }

// span gives the trace's length in seconds.
func (tr trace) span() float64 { return float64(len(tr.v)) * tr.step }

// slope gives the regression slope over the cells [from, to), °C per second;
// 0 for fewer than two cells.
func (tr trace) slope(from, to int) float64 {
	from, to = max(from, 0), min(to, len(tr.v))
	n := float64(to - from)
	if n < 2 {
		return 0
	}
	mean := 0.0
	for _, v := range tr.v[from:to] {
		mean += v
	}
	mean /= n
	var sxx, sxy float64
	for k, v := range tr.v[from:to] {
		x := float64(k) - (n-1)/2
		sxx += x * x
		sxy += x * (v - mean)
	}
	return sxy / sxx / tr.step
}

// first gives the first cell at or after from that is at or above a level,
// or -1.
func (tr trace) first(from int, level float64) int {
	for k := max(from, 0); k < len(tr.v); k++ {
		if tr.v[k] >= level {
			return k
		}
	}
	return -1
}

// crossing gives the time, in cells and parts of one, at which the trace
// first rises to a level at or after from; -1 where it does not.
func (tr trace) crossing(from int, level float64) float64 {
	k := tr.first(from, level)
	if k <= from || k < 1 {
		return float64(k)
	}
	return float64(k-1) + between(level, tr.v[k-1], tr.v[k], 0, 1)
}

// rate gives the mean rate at which the trace first rises from one level to
// another, °C per second; 0 where it does not.
func (tr trace) rate(from int, low, high float64) float64 {
	a := tr.crossing(from, low)
	if a < 0 {
		return 0
	}
	b := tr.crossing(int(a), high)
	if b <= a {
		return 0
	}
	return (high - low) / ((b - a) * tr.step)
}

// top gives the cell of the highest value in [from, to).
func (tr trace) top(from, to int) int {
	best := max(from, 0)
	for k := best; k < min(to, len(tr.v)); k++ {
		if tr.v[k] > tr.v[best] {
			best = k
		}
	}
	return best
}

// lowest gives the lowest value in [from, to).
func (tr trace) lowest(from, to int) float64 {
	low := math.Inf(1)
	for _, v := range tr.v[max(from, 0):min(to, len(tr.v))] {
		low = min(low, v)
	}
	return low
}

// mean gives the mean over the cells [from, to).
func (tr trace) mean(from, to int) float64 {
	total := 0.0
	for _, v := range tr.v[from:to] {
		total += v
	}
	return total / float64(to-from)
}

// rising gives the cell at which the warm-up begins: the bottom of a fall
// that a warm restart may begin with. Where nothing rises afterwards it is
// the last cell.
func (tr trace) rising() int {
	low := 0
	for k, v := range tr.v {
		if v < tr.v[low] {
			low = k
		}
		if v >= tr.v[low]+1.5 {
			return low
		}
	}
	return len(tr.v) - 1
}
