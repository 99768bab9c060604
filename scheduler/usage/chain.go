package usage

import (
	"math"
	"slices"
	"sort"

	"example.org/roundsman/models"
)

// chainBack bounds how many earlier looks a look may follow in the chain, so
// that the work grows linearly with the looks.
const chainBack = 24

// judge finds the heaviest chain of looks that never falls and never leaps,
// and doubts the rest.
func judge(c *scale, ls []look) {
	n := len(ls)
	if n == 0 {
		return
	}
	rate := typicalRate(ls)
	best := make([]float64, n)
	from := make([]int, n)
	for j := range ls {
		best[j], from[j] = weight(&ls[j]), -1
		for i := max(0, j-chainBack); i < j; i++ {
			dx, dt := ls[j].value-ls[i].value, float64(ls[j].on-ls[i].on)
			if dx < -0.6 || dx > rate*(6*dt+60) {
				continue
			}
			b := best[i] + weight(&ls[j]) - 1e-3*math.Abs(dx-rate*dt)/(rate*(dt+30))
			if b > best[j] {
				best[j], from[j] = b, i
			}
		}
	}
	end := 0
	for j := range best {
		if best[j] > best[end] {
			end = j
		}
	}
	kept := make([]bool, n)
	for e := end; e >= 0; e = from[e] {
		kept[e] = true
	}
	low := math.Inf(-1)
	for i := range ls {
		l := &ls[i]
		switch {
		case kept[i] || l.service || l.confirmed:
			low = math.Max(low, l.value)
		case l.value < low:
			l.reason = ReasonFalls
		default:
			l.reason = ReasonLeaps
		}
	}
}

// weight is the trust in a look.
func weight(l *look) float64 {
	switch {
	case l.confirmed:
		return 12
	case l.service:
		return 6
	case l.shop:
		return 3
	}
	return 1
}

// typicalRate is the median of the slopes between looks 14 days or more apart.
func typicalRate(ls []look) float64 {
	var slopes []float64
	for i := range ls {
		for j := i + 1; j < min(len(ls), i+chainBack); j++ {
			if dt := ls[j].on - ls[i].on; dt >= 14 {
				slopes = append(slopes, (ls[j].value-ls[i].value)/float64(dt))
			}
		}
	}
	if m := median(slopes); m > 0 {
		return m
	}
	return 1e9
}

// median of a list, 0 for none; it sorts the list.
func median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	slices.Sort(x)
	return x[len(x)/2]
}

// Interpolated gives the day on which the points first reach a value, and the
// point from which that is known.
func passed(points []Point, value float64) (on, known models.Date, ok bool) {
	i := sort.Search(len(points), func(i int) bool { return points[i].Value >= value })
	if i == len(points) {
		return 0, 0, false
	}
	b := points[i]
	if i == 0 || b.Value <= points[i-1].Value {
		return b.On, b.On, true
	}
	a := points[i-1]
	f := (value - a.Value) / (b.Value - a.Value)
	return a.On.AddDays(int(math.Ceil(f * float64(b.On-a.On)))), b.On, true
}
