package sheet

import (
	"math"
	"slices"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/cooling"
	"example.org/roundsman/scheduler/job"
)

// Coolant is what to buy to fill the system again.
type Coolant struct {
	Strength   string        `json:"strength"`   // "50/50 premix" or "concentrate"
	Percent    float64       `json:"percent"`    // of glycol by volume in the system afterwards
	FillL      float64       `json:"fill_l"`     // that a drain lets out, and that goes in again
	ProductL   float64       `json:"product_l"`  // of which from the containers
	WaterL     float64       `json:"water_l"`    // and distilled water
	Containers int           `json:"containers"` // whole ones
	EachL      float64       `json:"each_l"`
	GoodToC    models.Number `json:"good_to_c"` // where ice begins to form, ethylene glycol
	Refused    string        `json:"refused"`   // why no figure can be given; "" when it can
}

// Figures for buying coolant. Common practice: a system that holds six quarts
// and is mostly drained takes no more than a gallon back, which is two thirds;
// half and half is the usual mixture. A little less than two thirds keeps a
// system given in rounded liters within the gallon.
const (
	drainShare  = 0.65
	usualMix    = 50.0
	gallon      = 3.785411784 // liters, exact (231 cubic inches; NIST SP 811, appendix B.8)
	concentrate = 100.0
)

// buy lists what to have at hand for the work in hand and what is due.
func (b *builder) buy(items []string) {
	plan := slices.Clone(items)
	days := map[string]int{}
	for _, r := range b.Rules {
		days[r.Item] = r.PartsDays
	}
	add := func(list []Item) {
		for _, i := range list {
			if !slices.Contains(plan, i.Item) && i.Stage != models.StageUnsure && i.Reason != models.ReasonOnCondition {
				plan = append(plan, i.Item)
			}
		}
	}
	for _, w := range b.sheet.Within {
		add(w.Items)
	}
	add(b.sheet.Due)
	if slices.ContainsFunc(plan, func(i string) bool { return job.OpensCooling(i, "") }) && b.m.Cooling != models.CoolingAir {
		c := b.coolant()
		b.sheet.Buy = append(b.sheet.Buy, Buy{Item: models.ItemCoolant, What: "coolant", PartsDays: days[models.ItemCoolant], Coolant: &c})
	}
	for _, item := range plan {
		for _, p := range b.fittedFor(item) {
			b.sheet.Buy = append(b.sheet.Buy, Buy{Item: item, What: partName(p, item, b.Language), Number: p.Number, Maker: p.Maker,
				Equivalents: p.Equivalents, Qty: p.Qty, CostCents: p.CostCents, PartsDays: days[item]})
		}
	}
}

func partName(p models.Part, item, lang string) string {
	if p.Name != "" {
		return p.Name
	}
	return models.ItemName(item, lang)
}

// fittedFor gives the parts that the last job with an item took for it, so
// that the same can be had again. Coolant is reckoned, not repeated.
func (b *builder) fittedFor(item string) []models.Part {
	var found []models.Part
	var on models.Date
	for _, w := range b.Jobs {
		if w.Job.State == models.JobWithdrawn || w.Job.State.InHand() || w.Job.At() < on {
			continue
		}
		for _, l := range job.LinesOf(w, 0) {
			if l.Item != item {
				continue
			}
			var parts []models.Part
			for _, p := range job.PartsOf(w, 0) {
				if p.Line == l.Line && !strings.Contains(strings.ToLower(p.Name), "coolant") {
					parts = append(parts, p)
				}
			}
			if len(parts) > 0 {
				found, on = parts, w.Job.At()
			}
		}
	}
	return found
}

// coolant reckons what to buy. The kind is the manual's; figures are those of
// ethylene glycol.
func (b *builder) coolant() Coolant {
	if !b.m.CoolantLitres.Known {
		return Coolant{Refused: "how much the system holds is not known: look it up in the manual"}
	}
	want := usualMix
	if b.m.LowestC.Known && b.m.LowestC.F < 0 {
		s, err := cooling.StrengthFor(cooling.Ethylene, b.m.LowestC.F, cooling.ByVolume)
		if err != nil {
			return Coolant{Refused: err.Error()}
		}
		want = math.Max(want, math.Ceil(s.Percent))
	}
	product, name := usualMix, "50/50 premix"
	if want > usualMix {
		product, name = concentrate, "concentrate"
	}
	bought, err := cooling.Buy(cooling.Purchase{
		SystemL: b.m.CoolantLitres.F, DrainedL: drainShare * b.m.CoolantLitres.F, Want: want, ContainerL: gallon,
		Product: cooling.Strength{Glycol: cooling.Ethylene, Percent: product, Basis: cooling.ByVolume},
	})
	if err != nil {
		return Coolant{Refused: err.Error()}
	}
	c := Coolant{Strength: name, Percent: want, FillL: bought.FillL, ProductL: bought.ProductL, WaterL: bought.WaterL,
		Containers: bought.Containers, EachL: bought.ContainerL}
	if good, err := (cooling.Strength{Glycol: cooling.Ethylene, Percent: want, Basis: cooling.ByVolume}).FreezeC(); err == nil {
		c.GoodToC = models.Num(tenth(good))
	}
	return c
}
