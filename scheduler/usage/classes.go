package usage

import "math"

// How many machines' worth the next wider group weighs in a class.
const (
	fleetPrior = 3 // the shipped prior in the fleet
	kindPrior  = 4 // the fleet in a kind
	classPrior = 4 // a kind in a class
)

// shareOut fits the classes' seasons and rates to their machines.
func (p *Profile) shareOut(ms []member, base classFit, paces map[string]float64) {
	all := newTally(len(p.seasons))
	kinds, classes := map[string]*tally{}, map[string]*tally{}
	kindOf := map[string]string{}
	for i := range ms {
		m := &ms[i]
		ck := classKey(m.kind, m.ownerType)
		if kinds[m.kind] == nil {
			kinds[m.kind] = newTally(len(p.seasons))
		}
		if classes[ck] == nil {
			classes[ck] = newTally(len(p.seasons))
		}
		kindOf[ck] = m.kind
		for _, t := range []*tally{all, kinds[m.kind], classes[ck]} {
			t.add(m)
		}
	}
	p.Fleet = all.fit(base, fleetPrior, p.Fleet)
	for k, t := range kinds {
		old, ok := p.Kinds[k]
		if !ok {
			old = p.Fleet
		}
		c := t.fit(p.Fleet, kindPrior, old)
		c.Pace = paces[k]
		p.Kinds[k] = c
	}
	for k, t := range classes {
		old, ok := p.Classes[k]
		if !ok {
			old = p.Kinds[kindOf[k]]
		}
		c := t.fit(p.Kinds[kindOf[k]], kCP, old)
		c.Pace = paces[kindOf[k]]
		p.Classes[k] = c
	}
}

// tally sums up the machines of a class.
type tally struct {
	n       float64 // machines
	weights []float64
	known   float64 // machines weighed by how well their rate is known
	log     float64 // their log rates
	square  float64 // squares of the log rates, and their variances
}

func newTally(k int) *tally { return &tally{weights: make([]float64, k)} }

func (t *tally) add(m *member) {
	if len(m.gaps) == 0 {
		return
	}
	t.n++
	for k, w := range m.weight {
		t.weights[k] += w
	}
	// A rate that is hardly known is mostly the prior come back.
	w := 1 / (1 + 4*m.logVar)
	t.known += w
	t.log += w * m.log
	t.square += w * (m.log*m.log + m.logVar)
}

// fit draws the sums to a wider group's fit. The rates of machines are taken
// as gamma distributed; the shape comes from the variance of their logarithms,
// which is about 1/(shape-1/2) (Abramowitz and Stegun 6.4.12).
func (t *tally) fit(wider classFit, prior float64, old classFit) classFit {
	c := old
	c.Machines = t.n
	c.Weights = make([]float64, len(t.weights))
	for k := range c.Weights {
		c.Weights[k] = (t.weights[k] + prior*wider.Weights[k]) / (t.n + prior)
	}
	wideLog, wideVar := math.Log(wider.Rate)-0.5/wider.Spread, 1/math.Max(wider.Spread-0.5, 0.3)
	n := t.known
	mean := (t.log + prior*wideLog) / (n + prior)
	v := (t.square + prior*(wideVar+wideLog*wideLog)) / (n + prior)
	v = math.Max(v-mean*mean, 0.05)
	c.Spread = math.Min(math.Max(1/v+0.5, 0.8), 12)
	c.Rate = math.Exp(mean + 0.5/c.Spread)
	return c
}
