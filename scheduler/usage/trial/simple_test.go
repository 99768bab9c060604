package trial

import (
	"math"
	"slices"
)

// simpleRates are the rules that a careful person would use with a
// spreadsheet: each gives the use a day from what was seen.
var simpleRates = map[string]func(s series) float64{
	"lifetime":      lifetimeRate,
	"last two":      lastTwoRate,
	"least squares": leastSquaresRate,
	"weights 120 d": weightedRate,
}

func lifetimeRate(s series) float64 {
	n := len(s.day) - 1
	if n < 1 {
		return 0
	}
	return (s.value[n] - s.value[0]) / math.Max(1, s.day[n]-s.day[0])
}

func lastTwoRate(s series) float64 {
	n := len(s.day)
	if n < 2 {
		return 0
	}
	return lifetimeRate(series{s.day[n-2:], s.value[n-2:]})
}

func leastSquaresRate(s series) float64 {
	n := float64(len(s.day))
	var mx, my, a, b float64
	for i := range s.day {
		mx, my = mx+s.day[i]/n, my+s.value[i]/n
	}
	for i := range s.day {
		a += (s.day[i] - mx) * (s.value[i] - my)
		b += (s.day[i] - mx) * (s.day[i] - mx)
	}
	if b == 0 {
		return 0
	}
	return a / b
}

// weightedRate halves the weight of a day every 120 days.
func weightedRate(s series) float64 {
	var a, b float64
	end := s.day[len(s.day)-1]
	for i := 1; i < len(s.day); i++ {
		w := math.Exp2((s.day[i]-end)/120) - math.Exp2((s.day[i-1]-end)/120)
		a += w * (s.value[i] - s.value[i-1]) / math.Max(1, s.day[i]-s.day[i-1])
		b += w
	}
	if b == 0 {
		return 0
	}
	return a / b
}

// medianOf gives the middle value, sorting the values.
func medianOf(x []float64) float64 {
	slices.Sort(x)
	return x[len(x)/2]
}
