package cooling

import (
	"fmt"
	"math"
	"strings"
)

// Purchase asks what to buy to fill a system again after a drain that may not
// have got everything out.
type Purchase struct {
	SystemL    float64  // the whole system's content when full
	DrainedL   float64  // what comes out, and has to go in again
	Old        *float64 // percent by volume of what stays in; nil: as wanted
	Want       float64  // percent by volume
	Product    Strength // concentrate 100 %, premix 50 %
	ContainerL float64  // what one container holds
	SpareL     float64  // kept for topping up afterwards
}

// Shopping is what to buy and pour.
type Shopping struct {
	FillL       float64 `json:"fill_l"`       // goes into the system
	FillPercent float64 `json:"fill_percent"` // at this strength
	ProductL    float64 `json:"product_l"`    // of which from the container
	WaterL      float64 `json:"water_l"`      // and distilled water
	Containers  int     `json:"containers"`   // whole ones
	ContainerL  float64 `json:"container_l"`
	LeftOverL   float64 `json:"left_over_l"` // product left in the last container
}

// Buy gives what to buy, or refuses where one fill with that product does not
// reach the wanted strength.
func Buy(p Purchase) (Shopping, error) {
	if err := p.check(); err != nil {
		return Shopping{}, err
	}
	old := p.Want
	if p.Old != nil {
		old = *p.Old
	}
	need := (p.Want*p.SystemL - old*(p.SystemL-p.DrainedL)) / p.DrainedL
	switch {
	case need < -roundOff:
		return Shopping{}, refuse(RefusedTooStrong, "drain more before filling",
			"what stays in is so strong that even water leaves it above %.4g %%", p.Want)
	case need > p.Product.Percent*(1+roundOff):
		return Shopping{}, refuse(RefusedReach, "use concentrate, drain more, or do two rounds",
			"one fill of %.4g L would have to be %.3g %% to reach %.4g %%, and the product is %.4g %%",
			p.DrainedL, need, p.Want, p.Product.Percent)
	}
	need = max(need, 0)
	s := Shopping{FillL: p.DrainedL, FillPercent: need, ContainerL: p.ContainerL}
	s.ProductL = min(p.DrainedL*need/p.Product.Percent, p.DrainedL)
	s.WaterL = p.DrainedL - s.ProductL
	s.Containers = wholeContainers(s.ProductL+p.SpareL, p.ContainerL)
	s.LeftOverL = max(float64(s.Containers)*p.ContainerL-s.ProductL, 0)
	return s, nil
}

// check refuses impossible figures.
func (p Purchase) check() error {
	if err := checkRound(p.SystemL, p.DrainedL); err != nil {
		return err
	}
	if err := checkVolume("a container", p.ContainerL, maxLiters, false); err != nil {
		return err
	}
	if err := checkVolume("a spare", p.SpareL, maxLiters, true); err != nil {
		return err
	}
	if err := checkMixable(p.Product); err != nil {
		return err
	}
	if p.Product.Percent == 0 {
		return refuse(RefusedInput, "give the product's strength: concentrate is 100 %, premix mostly 50 %", "a product of 0 %% is water")
	}
	if !isPercent(p.Want) || (p.Old != nil && !isPercent(*p.Old)) {
		return refuse(RefusedInput, "give percent of glycol, from 0 to 100", "a strength is not between 0 and 100 %%")
	}
	return nil
}

// wholeContainers rounds up, forgiving what rounding of units leaves over.
func wholeContainers(liters, each float64) int {
	return int(math.Ceil(liters/each - 1e-6))
}

// Change asks how to go from one coolant chemistry to another.
type Change struct {
	SystemL  float64 // the whole system's content
	DrainL   float64 // what one drain gets out
	From, To string  // the chemistries, as on the labels
	Old, New Glycol
	Want     float64 // percent by volume at the end
	LeftFrac float64 // of the old coolant that may stay; 0: 0.05
}

// ChangePlan is the way to another chemistry.
type ChangePlan struct {
	Rounds   int       `json:"rounds"`    // drains; 0: nothing changes
	Left     []float64 `json:"left"`      // fraction of the old coolant after each
	FreshL   float64   `json:"fresh_l"`   // new coolant at the wanted strength, when each round is filled with it
	Water    *WaterWay `json:"water_way"` // the thriftier way; nil where it cannot reach the strength
	Warnings []string  `json:"warnings"`
}

// WaterWay fills all rounds but the last with distilled water, and the last
// with strong coolant.
type WaterWay struct {
	WaterL      float64 `json:"water_l"`      // for flushing, all rounds but the last
	LastL       float64 `json:"last_l"`       // goes in last
	LastPercent float64 `json:"last_percent"` // at this strength
}

// defaultLeft is the fraction of an old coolant that a change of chemistry
// may leave in (common practice, no source).
const defaultLeft = 0.05

// ChangeChemistry gives the rounds and the warnings, or refuses.
func ChangeChemistry(c Change) (ChangePlan, error) {
	if err := checkMixable(Strength{Glycol: c.Old, Percent: c.Want, Basis: ByVolume}); err != nil {
		return ChangePlan{}, err
	}
	if _, err := c.New.rows(); err != nil {
		return ChangePlan{}, err
	}
	if err := checkRound(c.SystemL, c.DrainL); err != nil {
		return ChangePlan{}, err
	}
	same := c.Old == c.New && strings.EqualFold(strings.TrimSpace(c.From), strings.TrimSpace(c.To))
	if same {
		return ChangePlan{Warnings: []string{"the chemistry stays the same: one drain and fill renews it as far as the drain reaches"}}, nil
	}
	frac := c.LeftFrac
	if frac == 0 {
		frac = defaultLeft
	}
	n, err := RoundsTo(c.SystemL, c.DrainL, frac)
	if err != nil {
		return ChangePlan{}, err
	}
	left, err := Dilute(c.SystemL, c.DrainL, n)
	if err != nil {
		return ChangePlan{}, err
	}
	plan := ChangePlan{Rounds: n, Left: left, FreshL: float64(n) * c.DrainL, Warnings: c.warnings()}
	if last := c.Want * c.SystemL / c.DrainL; n > 1 && last <= 100*(1+roundOff) {
		plan.Water = &WaterWay{WaterL: float64(n-1) * c.DrainL, LastL: c.DrainL, LastPercent: min(last, 100)}
	}
	return plan, nil
}

// warnings are common practice, no source.
func (c Change) warnings() []string {
	out := []string{
		fmt.Sprintf("do not top %s up with %s: inhibitors that do not agree can gel, drop out or stop protecting", nameOr(c.From, "the old coolant"), nameOr(c.To, "the new one")),
		"ask the maker's manual whether the engine takes the new chemistry at all",
		"between rounds warm the engine until the thermostat opens, then let it go cold before the next drain",
		"with water in it do not leave the machine where it can freeze",
		"the share left in the heater, the block and the bottle counts too: drain or empty them",
	}
	if c.Old != c.New {
		out = append(out, fmt.Sprintf("until the %s glycol is out no tester tells the freeze point: neither scale reads a mixture of the two", c.Old))
	}
	return out
}

// nameOr gives a label's name, or other words for none.
func nameOr(name, other string) string {
	if strings.TrimSpace(name) == "" {
		return other
	}
	return name
}
