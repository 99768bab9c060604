package cooling

import (
	"fmt"
	"math"
)

// A logger that hangs repeats its last value and then goes on with the true
// one. That is no fault of the sensor. Common practice, no source.
const (
	frozenS    = 12.0 // the same value for so long,
	frozenRows = 6    // over so many rows,
	frozenC    = 4.0  // then a change to about where the course before leads
)

// frozen is a stretch in which the logger repeated itself.
type frozen struct{ fromS, toS float64 }

func (f frozen) String() string {
	return fmt.Sprintf("%.0f to %.0f s: the logger repeated one value and then went on where the course before leads", f.fromS, f.toS)
}

// thaw leaves out the rows that a logger repeated while it hung.
func thaw(s []Sample) (out []Sample, hung []frozen) {
	out = make([]Sample, 0, len(s))
	for i := 0; i < len(s); {
		j := i
		for j+1 < len(s) && s[j+1].TempC == s[i].TempC {
			j++
		}
		out = append(out, s[i])
		if hangs(s, i, j) {
			hung = append(hung, frozen{s[i].AtS, s[j].AtS})
		} else {
			out = append(out, s[i+1:j+1]...)
		}
		i = j + 1
	}
	return out, hung
}

// hangs says whether the samples from i to j, all the same, are a logger that
// hung: the value after them lies well off, and about where the course before
// leads.
func hangs(s []Sample, i, j int) bool {
	if j+1 >= len(s) || j-i+1 < frozenRows || s[j].AtS-s[i].AtS < frozenS {
		return false
	}
	before := i
	for before > 0 && s[i].AtS-s[before].AtS < 60 {
		before--
	}
	if s[i].AtS-s[before].AtS < 20 {
		return false
	}
	pace := (s[i].TempC - s[before].TempC) / (s[i].AtS - s[before].AtS)
	change := s[j+1].TempC - s[j].TempC
	leads := pace * (s[j+1].AtS - s[i].AtS)
	return math.Abs(change) >= frozenC && change*leads > 0 && change >= min(0.3*leads, 1.7*leads) && change <= max(0.3*leads, 1.7*leads)
}
