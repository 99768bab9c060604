package cooling

import (
	"fmt"
	"math"
)

// maxLiters bounds every volume: no machine of the trade holds more.
const maxLiters = 1000

// maxRounds bounds drain-and-fill rounds: more than these nobody does.
const maxRounds = 50

// roundOff is the relative slack under which two volumes or strengths are the
// same, far below what anybody can pour.
const roundOff = 1e-9

// checkVolume refuses volumes that cannot be: not a number, negative, zero
// unless it may be, or over a limit.
func checkVolume(what string, liters, limit float64, zeroOK bool) error {
	switch {
	case math.IsNaN(liters) || liters < 0 || (liters == 0 && !zeroOK):
		return refuse(RefusedInput, "give liters above 0", "%s of %.4g L cannot be", what, liters)
	case liters > limit*(1+roundOff):
		return refuse(RefusedInput, "check the figures and their units", "%s of %.4g L is more than %.4g L", what, liters, limit)
	}
	return nil
}

// checkMixable refuses a strength that volumes cannot be summed by.
func checkMixable(s Strength) error {
	if _, err := s.Glycol.rows(); err != nil {
		return err
	}
	if s.Basis != ByVolume {
		return refuse(RefusedBasis, "give the strength by volume, as on the label", "volumes cannot be summed with percent by %s", string(s.Basis))
	}
	if !isPercent(s.Percent) {
		return refuse(RefusedInput, "give percent of glycol, from 0 to 100", "%.4g %% is not a strength", s.Percent)
	}
	return nil
}

// oneGlycol gives the glycol of mixtures that are to meet, or refuses two.
func oneGlycol(a, b Strength) (Glycol, error) {
	if a.Glycol == b.Glycol || b.Percent == 0 {
		return a.Glycol, nil
	}
	if a.Percent == 0 {
		return b.Glycol, nil
	}
	return "", refuse(RefusedMixture, "flush the old one out first, as a change of chemistry",
		"%s and %s glycol do not belong in one system: no tester reads the mixture", a.Glycol, b.Glycol)
}

// Adjustment asks how to get from a measured strength to a wanted one.
type Adjustment struct {
	SystemL   float64  // the whole system's content when full
	LowL      float64  // how much is missing now
	Now       Strength // by volume
	Want      float64  // percent by volume
	Fill      Strength // what is poured in: concentrate 100 %, premix 50 %, water 0 %
	DrainMaxL float64  // what one drain gets out; 0: everything
}

// Step is one drain and fill.
type Step struct {
	DrainL  float64 `json:"drain_l"`
	FillL   float64 `json:"fill_l"`  // of the fill
	WaterL  float64 `json:"water_l"` // of plain water beside it
	Percent float64 `json:"percent"` // of the whole system afterwards
}

// Adjusted is the way from one strength to another.
type Adjusted struct {
	Steps   []Step   `json:"steps"`
	DrainL  float64  `json:"drain_l"` // all that comes out
	FillL   float64  `json:"fill_l"`  // all of the fill that goes in
	WaterL  float64  `json:"water_l"`
	Percent float64  `json:"percent"` // at the end
	Notes   []string `json:"notes"`   // warnings of what was wanted
}

// Adjust gives the steps, or refuses where that fill cannot get there. One
// correction of a full system drains x = V (want-now)/(fill-now), which
// follows from the balance of glycol.
func Adjust(a Adjustment) (Adjusted, error) {
	if err := a.check(); err != nil {
		return Adjusted{}, err
	}
	out, err := a.steps()
	out.Notes = append([]string{}, strengthNotes(a.Want)...)
	return out, err
}

func (a Adjustment) steps() (Adjusted, error) {
	if a.LowL > 0 {
		if s, ok := a.topUp(); ok {
			return total([]Step{s}), nil
		}
	} else if math.Abs(a.Want-a.Now.Percent) < roundOff {
		return total(nil), nil
	}
	limit := a.DrainMaxL
	if limit == 0 {
		limit = a.SystemL
	}
	content, now, fill, want := a.SystemL-a.LowL, a.Now.Percent, a.Fill.Percent, a.Want
	var steps []Step
	for range maxRounds {
		if fill == now {
			return Adjusted{}, a.unreachable()
		}
		x := content - a.SystemL*(fill-want)/(fill-now)
		if x < -roundOff {
			return Adjusted{}, a.overshoots()
		}
		if x > content*(1+roundOff) { // the fill does not lie beyond what is wanted
			return Adjusted{}, a.unreachable()
		}
		last := x <= limit*(1+roundOff)
		x = min(max(x, 0), limit, content)
		added := a.SystemL - (content - x)
		now = (now*(content-x) + fill*added) / a.SystemL
		steps = append(steps, Step{DrainL: x, FillL: added, Percent: now})
		if last {
			return total(steps), nil
		}
		content = a.SystemL
	}
	return Adjusted{}, refuse(RefusedRounds, "get more out: open the block's drain or the lower hose, or use a stronger fill",
		"draining %.4g of %.4g L at a time does not reach %.4g %% in %d rounds", limit, a.SystemL, want, maxRounds)
}

// check refuses impossible figures.
func (a Adjustment) check() error {
	if err := checkVolume("a system", a.SystemL, maxLiters, false); err != nil {
		return err
	}
	if err := checkVolume("a shortage", a.LowL, a.SystemL, true); err != nil {
		return err
	}
	if err := checkVolume("a drain", a.DrainMaxL, a.SystemL, true); err != nil {
		return err
	}
	for _, s := range []Strength{a.Now, a.Fill, {Glycol: a.Now.Glycol, Percent: a.Want, Basis: ByVolume}} {
		if err := checkMixable(s); err != nil {
			return err
		}
	}
	_, err := oneGlycol(a.Now, a.Fill)
	return err
}

// topUp fills what is missing with a blend of the fill and water, where that
// alone gives the wanted strength.
func (a Adjustment) topUp() (Step, bool) {
	need := (a.Want*a.SystemL - a.Now.Percent*(a.SystemL-a.LowL)) / a.LowL // percent of the top-up
	if need < -roundOff || need > a.Fill.Percent*(1+roundOff) {
		return Step{}, false
	}
	need = max(need, 0)
	s := Step{Percent: a.Want, WaterL: a.LowL}
	if a.Fill.Percent > 0 {
		s.FillL = min(a.LowL*need/a.Fill.Percent, a.LowL)
		s.WaterL = a.LowL - s.FillL
	}
	return s, true
}

// unreachable refuses a fill that lies on the wrong side of what is wanted.
func (a Adjustment) unreachable() error {
	remedy := "use a stronger fill"
	if a.Want < a.Now.Percent {
		remedy = "use a weaker fill, or distilled water"
	}
	return refuse(RefusedReach, remedy, "a fill of %.4g %% never brings %.4g %% to %.4g %%", a.Fill.Percent, a.Now.Percent, a.Want)
}

// overshoots refuses a top-up that alone goes past what is wanted.
func (a Adjustment) overshoots() error {
	need := (a.Want*a.SystemL - a.Now.Percent*(a.SystemL-a.LowL)) / a.LowL
	if a.LowL == 0 || !isPercent(need) {
		return a.unreachable()
	}
	return refuse(RefusedTooStrong, fmt.Sprintf("top up with a mixture of %.3g %%", need),
		"topping up %.4g L with a fill of %.4g %% goes past %.4g %%", a.LowL, a.Fill.Percent, a.Want)
}

// total sums steps up.
func total(steps []Step) Adjusted {
	out := Adjusted{Steps: steps}
	for _, s := range steps {
		out.DrainL += s.DrainL
		out.FillL += s.FillL
		out.WaterL += s.WaterL
		out.Percent = s.Percent
	}
	return out
}

// Dilute gives, after each of n drain-and-fill rounds, the fraction of the
// old fluid that is still in: (1-d/V)^i.
func Dilute(systemL, drainL float64, n int) ([]float64, error) {
	if err := checkRound(systemL, drainL); err != nil {
		return nil, err
	}
	if n < 0 || n > maxRounds {
		return nil, refuse(RefusedInput, fmt.Sprintf("ask for 1 to %d", maxRounds), "%d rounds are not a plan", n)
	}
	out := make([]float64, n)
	for i := range out {
		out[i] = math.Pow(1-drainL/systemL, float64(i+1))
	}
	return out, nil
}

// RoundsTo gives how many drain-and-fill rounds leave at most a fraction
// (above 0, below 1) of the old fluid.
func RoundsTo(systemL, drainL, fraction float64) (int, error) {
	if err := checkRound(systemL, drainL); err != nil {
		return 0, err
	}
	if !(fraction > 0 && fraction < 1) {
		return 0, refuse(RefusedInput, "give a fraction between 0 and 1, such as 0.05", "%.4g is not a fraction of the old fluid", fraction)
	}
	left := 1.0
	for n := 1; n <= maxRounds; n++ {
		left *= max(1-drainL/systemL, 0)
		if left <= fraction*(1+roundOff) {
			return n, nil
		}
	}
	return 0, refuse(RefusedRounds, "get more out at a time: open the block's drain or the lower hose",
		"draining %.4g of %.4g L at a time takes more than %d rounds", drainL, systemL, maxRounds)
}

// checkRound refuses a drain that the system cannot give.
func checkRound(systemL, drainL float64) error {
	if err := checkVolume("a system", systemL, maxLiters, false); err != nil {
		return err
	}
	return checkVolume("a drain", drainL, systemL, false)
}
