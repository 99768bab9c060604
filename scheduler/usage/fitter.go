package usage

import (
	"cmp"
	"math"
	"slices"
)

// Fitter gathers a fleet, machine by machine and in any order, and fits the
// profile of a month. The caller hands in what was known before the first of
// that month only.
type Fitter struct {
	number int
	fleet  []Summary
}

// NewFitter begins the profile of a month (models.ProfileNumber).
func NewFitter(number int) *Fitter { return &Fitter{number: number} }

// Add takes in one machine.
func (f *Fitter) Add(s *Screened) { f.AddSummary(Summarize(s)) }

// AddSummary takes in one machine by its summary.
func (f *Fitter) AddSummary(s Summary) { f.fleet = append(f.fleet, s) }

// member is a machine while the fleet is fitted.
type member struct {
	*Summary
	scale  float64 // turns the summary's hours into the kind's
	weight []float64
	used   float64   // hours in all
	mean   float64   // posterior mean rate, over the seasons, hours a day
	log    float64   // log of it
	logVar float64   // its variance
	logs   []float64 // log of the mean rate under each season
}

// Profile fits what was gathered: seasons, rates, unevenness and steadiness of
// the classes, by expectation and maximization (Dempster, Laird and Rubin,
// JRSS B 39, 1977) under priors that draw small classes to their kind, kinds
// to the fleet and the fleet to what ships with the program (empirical Bayes:
// Efron, Large-Scale Inference, 2010, chapter 1).
func (f *Fitter) Profile() (*Profile, error) {
	slices.SortFunc(f.fleet, func(a, b Summary) int { return cmp.Compare(a.machine, b.machine) })
	p := shipped()
	p.Number, p.Machines = f.number, len(f.fleet)
	p.Kinds, p.Classes, p.Owners = map[string]classFit{}, map[string]classFit{}, map[string]ownerFit{}
	paces := f.paces()
	ms := make([]member, 0, len(f.fleet))
	for i := range f.fleet {
		s := &f.fleet[i]
		m := member{Summary: s, scale: 1, weight: make([]float64, len(p.Seasons)), logs: make([]float64, len(p.Seasons))}
		if s.odometer {
			m.scale = basePace / paces[s.kind]
		}
		for _, g := range s.gaps {
			m.used += g.use * m.scale
		}
		ms = append(ms, m)
	}
	base := p.Fleet
	for round := range fitRounds {
		for i := range ms {
			ms[i].assign(p)
		}
		p.shapeSeasons(ms)
		p.shareOut(ms, base, paces)
		if round == fitRounds/2 || round == fitRounds-1 {
			p.learnGrain(ms)
		}
	}
	p.knowOwners(ms)
	return p, nil
}

// fitRounds is how often expectation and maximization take turns.
const fitRounds = 8

// paces gives each kind's miles for an hour of the meter, drawn to basePace.
func (f *Fitter) paces() map[string]float64 {
	logs := map[string][]float64{}
	for i := range f.fleet {
		s := &f.fleet[i]
		if _, ok := logs[s.kind]; !ok {
			logs[s.kind] = nil
		}
		if s.hours > 5 && s.miles > 5 {
			logs[s.kind] = append(logs[s.kind], math.Log(s.miles/s.hours))
		}
	}
	out := map[string]float64{}
	for k, l := range logs {
		n := float64(len(l))
		out[k] = math.Exp((n*median(l) + 2*math.Log(basePace)) / (n + 2))
	}
	return out
}

// temper spreads the evidence on the season, for rates drift and readings are
// not as independent as the likelihood has it.
const temper = 1.5

// assign weighs the seasons for a machine and finds its rate under them.
func (m *member) assign(p *Profile) {
	c := p.class(m.kind, m.ownerType)
	grain := c.Grain * temper
	best := math.Inf(-1)
	rates, shape := make([]float64, len(p.seasons)), 0.0
	for k := range p.seasons {
		m.weight[k] = math.Inf(-1)
		if c.Weights[k] < 1e-3 {
			continue
		}
		s := &p.seasons[k]
		a := c.Spreads[k]
		b := a * grain / c.Rates[k]
		l := math.Log(c.Weights[k]) + a*math.Log(b) - lgamma(a)
		total, count := 0.0, 0.0
		for _, g := range m.gaps {
			t := s.op(g.to) - s.op(g.from)
			y := g.use * m.scale / grain
			total, count = total+t, count+y
			if y > 0 {
				l += y * math.Log(t)
			}
		}
		l += lgamma(a+count) - (a+count)*math.Log(b+total)
		m.weight[k], rates[k] = l, (a+count)/(b+total)*grain
		m.logs[k] = math.Log(rates[k])
		best = math.Max(best, l)
	}
	sum := 0.0
	for k := range m.weight {
		m.weight[k] = math.Exp(m.weight[k] - best)
		sum += m.weight[k]
	}
	m.mean = 0
	for k := range m.weight {
		m.weight[k] /= sum
		m.mean += m.weight[k] * rates[k]
		shape += m.weight[k] * c.Spreads[k]
	}
	m.logVar = 1 / (shape + m.used/grain)
	m.log = math.Log(m.mean)
}

// seasonPrior is how many machine-years the seed of a season weighs.
const seasonPrior = 2

// shapeSeasons moves each season to where its machines' use lies: use between
// two readings is shared among the bins as the season has it now, and divided
// by the time spent there (EM for Poisson counts known in sums only).
func (p *Profile) shapeSeasons(ms []member) {
	sd := seeds()
	use, time := make([][bins]float64, len(sd)), make([][bins]float64, len(sd))
	for k := range sd {
		for i := range bins {
			time[k][i] = seasonPrior * yearDays / bins
			use[k][i] = time[k][i] * sd[k].intensity(i)
		}
	}
	for i := range ms {
		m := &ms[i]
		if m.used <= 0 {
			continue
		}
		trust := m.used / (m.used + 20) / m.mean
		for k, w := range m.weight {
			if w < 0.02 {
				continue
			}
			s := &p.seasons[k]
			for _, g := range m.gaps {
				t := s.op(g.to) - s.op(g.from)
				per := w * trust * g.use * m.scale / t
				spread(g.from, g.to, func(bin int, days float64) {
					use[k][bin] += per * days * s.intensity(bin)
					time[k][bin] += w * trust * m.mean * days
				})
			}
		}
	}
	for k := range use {
		var v [bins]float64
		for i := range v {
			v[i] = use[k][i] / time[k][i]
		}
		p.Seasons[k] = newSeason(v).cum
	}
	p.ready()
}

// spread calls visit for each bin that lies between two days, with the days
// spent in it.
func spread(from, to float64, visit func(bin int, days float64)) {
	const width = yearDays / bins
	q := math.Floor((from - newYear2000) / width)
	for from < to-1e-9 {
		end := math.Min(to, newYear2000+(q+1)*width)
		bin := int(q) % bins
		if bin < 0 {
			bin += bins
		}
		if end > from {
			visit(bin, end-from)
		}
		from, q = end, q+1
	}
}
