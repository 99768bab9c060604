package cooling

import (
	"fmt"
	"math"
	"slices"

	"example.org/roundsman/models"
)

// Judge reads a warm-up log: first the sensor's circuit, because nothing else
// can be believed while that jumps, then thermostat and fan. Samples may be
// in any order. It refuses only options that no engine has; a log that says
// too little is Unsure.
func Judge(samples []Sample, o Options) (Finding, error) {
	if err := o.check(); err != nil {
		return Finding{}, err
	}
	all := tidy(samples)
	if len(all) < 3 {
		return dress(Finding{Verdict: Unsure, Evidence: []string{fmt.Sprintf("%d samples are too few", len(all))}, Seen: seen(all)}), nil
	}
	s, hung := thaw(all)
	f, clean, sound, ok := circuitFinding(s, o)
	switch {
	case !ok:
		var h heat
		f, h = heatFinding(s, o)
		f.Seen = seen(all)
		f.Seen.FanCycles = h.fanned
		f.Seen.ReachedS = h.reached()
		f.NotJudged = h.notJudged(f.Verdict)
	case sound && len(clean) >= 3:
		// What is left between the jumps can still show an engine in danger.
		under, h := heatFinding(clean, o)
		if under.Verdict == Hot || under.Verdict == FanAbsent || under.Verdict == StuckOpen {
			f.Also = []Verdict{under.Verdict}
			f.Evidence = append(f.Evidence, under.Evidence...)
		}
		f.Seen = seen(all)
		f.Seen.FanCycles = h.fanned
		f.Seen.ReachedS = h.reached()
	default:
		f.Seen = seen(all)
		f.NotJudged = []string{"thermostat and fan: the reading cannot be believed"}
	}
	for _, g := range hung {
		f.NotJudged = append(f.NotJudged, g.String())
	}
	return dress(f), nil
}

// reached gives when the log first came up to the thermostat's temperature.
func (h heat) reached() models.Number {
	if !h.o.OpensC.Known {
		return models.Number{}
	}
	if k := h.tr.first(h.i0, h.o.OpensC.F-reachC); k >= 0 {
		return h.num(k)
	}
	return models.Number{}
}

// notJudged tells what the verdict leaves open.
func (h heat) notJudged(v Verdict) []string {
	var out []string
	if !h.o.OpensC.Known {
		out = append(out, "thermostat: its opening temperature was not given")
	}
	switch {
	case !h.o.FanOnC.Known:
		out = append(out, "fan: the temperature at which it comes on was not given")
	case v == Healthy && h.fanned == 0:
		out = append(out, fmt.Sprintf("fan: the log does not show it bring %.0f °C down", h.o.FanOnC.F))
	}
	if v == Healthy {
		out = append(out, "a sensor that reads a few degrees off throughout, or answers slowly: no warm-up log shows that")
	}
	return out
}

// seen sums up tidy samples.
func seen(s []Sample) Seen {
	out := Seen{Samples: len(s)}
	if len(s) == 0 {
		return out
	}
	out.FromS, out.ToS = s[0].AtS, s[len(s)-1].AtS
	out.LowestC, out.HighestC = s[0].TempC, s[0].TempC
	var gaps []float64
	for i, v := range s {
		out.LowestC, out.HighestC = min(out.LowestC, v.TempC), max(out.HighestC, v.TempC)
		if i > 0 {
			gaps = append(gaps, v.AtS-s[i-1].AtS)
		}
	}
	out.NoiseC = math.Round(noiseOf(s)*100) / 100
	if len(gaps) > 0 {
		slices.Sort(gaps)
		out.IntervalS = math.Round(gaps[len(gaps)/2]*1000) / 1000
	}
	return out
}
