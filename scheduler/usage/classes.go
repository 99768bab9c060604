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
		c := t.fit(p.Kinds[kindOf[k]], classPrior, old)
		c.Pace = paces[kindOf[k]]
		p.Classes[k] = c
	}
}

// tally sums up the machines of a class.
type tally struct {
	n       float64 // machines
	weights []float64
	all     moments
	by      []moments // by season
}

// moments sums up the log rates of machines, weighed by how well each is
// known: one that is hardly known is mostly the prior come back.
type moments struct{ n, log, square float64 }

func (s *moments) add(w, log, variance float64) {
	s.n += w
	s.log += w * log
	s.square += w * (log*log + variance)
}

// fit draws the sums to a wider group's mean and shape. The rates of machines
// are taken as gamma distributed; the shape comes from the variance of their
// logarithms, which is about 1/(shape-1/2) (Abramowitz and Stegun 6.4.12).
func (s *moments) fit(rate, spread, prior float64) (r, shape float64) {
	wide, wideVar := math.Log(rate)-0.5/spread, 1/math.Max(spread-0.5, 0.3)
	mean := (s.log + prior*wide) / (s.n + prior)
	v := (s.square+prior*(wideVar+wide*wide))/(s.n+prior) - mean*mean
	shape = math.Min(math.Max(1/math.Max(v, 0.05)+0.5, 0.8), 12)
	return math.Exp(mean + 0.5/shape), shape
}

func newTally(k int) *tally {
	return &tally{weights: make([]float64, k), by: make([]moments, k)}
}

func (t *tally) add(m *member) {
	if len(m.gaps) == 0 {
		return
	}
	t.n++
	known := 1 / (1 + 4*m.logVar)
	t.all.add(known, m.log, m.logVar)
	for k, w := range m.weight {
		t.weights[k] += w
		if w > 0.001 {
			t.by[k].add(known*w, m.logs[k], m.logVar)
		}
	}
}

// fit draws the sums to a wider group's fit.
func (t *tally) fit(wider classFit, prior float64, old classFit) classFit {
	c := old
	c.Machines = t.n
	n := len(t.weights)
	c.Weights, c.Rates, c.Spreads = make([]float64, n), make([]float64, n), make([]float64, n)
	rate, spread := wider.typical()
	rate, spread = t.all.fit(rate, spread, prior)
	for k := range n {
		c.Weights[k] = (t.weights[k] + prior*wider.Weights[k]) / (t.n + prior)
		c.Rates[k], c.Spreads[k] = t.by[k].fit(rate, spread, seasonRatePrior)
	}
	return c
}

// seasonRatePrior is how many machines' worth the rate of a whole class
// weighs in that of its machines of one season.
const seasonRatePrior = 5

// typical gives the rate and its shape over all seasons of a class.
func (c *classFit) typical() (rate, spread float64) {
	for k, w := range c.Weights {
		rate += w * math.Log(c.Rates[k])
		spread += w * c.Spreads[k]
	}
	return math.Exp(rate), spread
}

// strangersUnsure is how much, in machines, the mean rate of a class is itself
// unsure: the variance of its log is about that by the machines seen.
const strangersUnsure = 6

// strangers gives the shape of the gamma of rates among machines of a season
// that nobody has seen yet: as they differ, and as the class's mean is unsure.
func (c *classFit) strangers(k int) float64 {
	s := c.Spreads[k]
	v := 1/math.Max(s-0.5, 0.3) + strangersUnsure/(c.Machines+1)
	return math.Min(s, 0.5+1/v)
}

// leastOwned is the fewest machines from which an owner's ways are drawn.
const leastOwned = 3

// knowOwners sums up what the machines of one owner have in common.
func (p *Profile) knowOwners(ms []member) {
	for i := range ms {
		m := &ms[i]
		if m.owner == "" || len(m.gaps) == 0 {
			continue
		}
		o, ok := p.Owners[m.owner]
		if !ok {
			o.Weights = make([]float64, len(p.seasons))
		}
		o.Machines++
		c := p.class(m.kind, m.ownerType)
		known := 1 / (1 + 4*m.logVar)
		for k, w := range m.weight {
			o.Weights[k] += w
			if w > 0.001 {
				o.Busier += known * w * (m.logs[k] - math.Log(c.Rates[k]) + 0.5/c.Spreads[k])
			}
		}
		p.Owners[m.owner] = o
	}
	for id, o := range p.Owners {
		if o.Machines < leastOwned {
			delete(p.Owners, id)
			continue
		}
		o.Busier /= o.Machines + ownerRatePrior
		p.Owners[id] = o
	}
}

// How many machines' worth the class weighs against an owner's own machines.
const (
	ownerPrior     = 6
	ownerRatePrior = 10
)

// prior gives the fit that a machine begins with: its class, bent to the ways
// of its owner.
func (p *Profile) prior(kind, ownerType, owner string) classFit {
	c := *p.class(kind, ownerType)
	o, ok := p.Owners[owner]
	if !ok {
		return c
	}
	n := len(c.Weights)
	weights, rates := make([]float64, n), make([]float64, n)
	for k := range n {
		weights[k] = (ownerPrior*c.Weights[k] + o.Weights[k]) / (ownerPrior + o.Machines)
		rates[k] = c.Rates[k] * math.Exp(o.Busier)
	}
	c.Weights, c.Rates = weights, rates
	return c
}
