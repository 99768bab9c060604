package usage

import (
	"cmp"
	"math"
	"slices"

	"example.org/roundsman/models"
)

// Model is what is known of one machine's use: a mixture over seasons and
// half-lives, each with a gamma distributed rate.
type Model struct {
	last   models.Date // the newest fact
	from   float64     // Rata Die number of the last point, from where use is foretold
	track  track
	miles  []Point
	hours  []Point
	meters models.Meters
	grain  float64 // hours
	parts  []part  // by falling weight
}

// part is one season and half-life.
type part struct {
	season *season
	weight float64
	start  float64 // the season's clock at Model.from
	a      cubic   // of the rate's gamma shape
	shape  float64
	scale  float64 // operational days for one count at a rate of 1/shape: the gamma's rate parameter
	ratio  float64 // long-run rate by present rate
	revert float64 // operational days in which the one becomes the other by e; 0: never
}

// certainty bounds the shape of a machine's rate: however long it was watched,
// its next season differs from its last.
const certainty = 30

// mostCounts bounds the counts of a month's use: however much a machine is
// used, one month differs from the next by a tenth or so.
const mostCounts = 120

// leastWeight is the share below which a part is left out.
const leastWeight = 0.015

// Fit learns a machine's use from its points and the fleet's profile; nil is
// the profile that ships with the program.
func Fit(s *Screened, p *Profile) *Model {
	if p == nil {
		p = shipped()
	}
	c := p.prior(models.KindID(s.Machine.Kind), s.Owner.Type, s.Machine.Owner)
	m := &Model{last: s.AsOf, meters: s.Machine.Meters, miles: s.Of(models.Odometer), hours: s.Of(models.HourMeter), grain: c.Grain}
	m.track = newTrack(s, c.Pace)
	m.from = float64(s.AsOf)
	if n := m.track.n(); n > 0 {
		m.from = m.track.days[n-1]
	}
	gaps := m.track.gaps()
	c.Grain *= ownGrain(&c, p, gaps)
	c.Grain = math.Max(c.Grain, m.track.rate(&evenSeason)*30/mostCounts)
	m.grain = c.Grain
	best := math.Inf(-1)
	for k, w := range c.Weights {
		if w < 1e-3 {
			continue
		}
		n := len(m.parts)
		l := m.learn(&p.seasons[k], &c, k, gaps) + math.Log(w)
		for i := n; i < len(m.parts); i++ {
			m.parts[i].weight += l
			best = math.Max(best, m.parts[i].weight)
		}
	}
	m.settle(best)
	m.grain *= passClump
	return m
}

// shareHalf is how many days of readings keep half of what they said of the
// memory that serves: years of steadiness must not lock out a change.
const shareHalf = 350

// changedShare is the least share that the weights give way to for the memory
// of a lasting change: a class whose machines never changed while they were
// watched says little of the next one. With less, a fall of use to a fifth took
// 20 monthly readings and more to learn in such a class.
const changedShare = 0.25

// follow runs a machine's gaps under one season through every memory. Before
// each reading the weights of the memories give way to those of the class (the
// fixed share of Herbster and Warmuth, Machine Learning 32, 1998, from memory).
// own is the machine's own rate, 0 when it is not known. It gives the log
// evidence for the season.
func (c *classFit) follow(sn *season, k int, own float64, gaps []gap) (b blend, evidence float64) {
	a0, rate0 := strangers(c.strangers(k), c.Rates[k], own)
	for h := range b.filters {
		b.filters[h] = newFilter(&memories[h], a0, a0*c.Grain/rate0)
	}
	copy(b.weights[:], c.Memory)
	target := b.weights
	target[changed] = math.Max(target[changed], changedShare)
	var likely [len(memories)]float64
	for _, g := range gaps {
		keep := math.Exp2(-(g.to - g.from) / shareHalf)
		span := sn.op(g.to) - sn.op(g.from)
		top := math.Inf(-1)
		for h := range b.filters {
			b.weights[h] = keep*b.weights[h] + (1-keep)*target[h]
			likely[h] = b.filters[h].step(g.use/c.Grain, span, g.weight(c.Grain)) / temper
			top = math.Max(top, likely[h])
		}
		sum := 0.0
		for h := range b.weights {
			b.weights[h] *= math.Exp(likely[h]-top) + 1e-12
			sum += b.weights[h]
		}
		for h := range b.weights {
			b.weights[h] /= sum
		}
		evidence += top + math.Log(sum)
	}
	return b, evidence
}

// blend is what the memories made of a machine's readings, and their weights.
type blend struct {
	filters [len(memories)]filter
	weights [len(memories)]float64
}

// learn follows the machine's readings under one season and adds its parts,
// weighed by their logs. It gives the log evidence for the season.
func (m *Model) learn(sn *season, c *classFit, k int, gaps []gap) (evidence float64) {
	own := m.track.rate(sn)
	b, evidence := c.follow(sn, k, own, gaps)
	s := standstill(sn, gaps)
	m.add(&b, sn, 1-s.chance, 0)
	if s.chance > leastWeight {
		// What it did before it stood still tells how it will be used again.
		b, _ = c.follow(sn, k, own, gaps[:s.first])
		for _, d := range s.delays() {
			m.add(&b, sn, s.chance/standDelays, d)
		}
	}
	return evidence
}

// add adds a part for each memory, of a share of the season's weight, whose
// use begins so many days after the last point.
func (m *Model) add(b *blend, sn *season, share, delay float64) {
	for h := range b.filters {
		f := &b.filters[h]
		shape, scale := f.level()
		mean := shape / scale
		if shape > certainty {
			scale *= certainty / shape
			shape = certainty
		}
		m.parts = append(m.parts, part{season: sn, weight: math.Log(b.weights[h] * share), shape: shape, scale: scale, a: newCubic(shape),
			start: sn.op(m.from + delay), ratio: f.long() / mean, revert: f.revert})
	}
}

// settle turns log weights into weights and leaves out the light parts.
func (m *Model) settle(best float64) {
	sum := 0.0
	for i := range m.parts {
		m.parts[i].weight = math.Exp(m.parts[i].weight - best)
		sum += m.parts[i].weight
	}
	kept, left := m.parts[:0], 0.0
	for _, p := range m.parts {
		if p.weight >= leastWeight*sum {
			kept = append(kept, p)
			left += p.weight
		}
	}
	for i := range kept {
		kept[i].weight /= left
		kept[i].scale *= passClump // now in the coarser counts of the passage
	}
	slices.SortStableFunc(kept, func(a, b part) int { return cmp.Compare(b.weight, a.weight) })
	m.parts = kept
}

// has says whether the machine has a meter.
func (m *Model) has(meter models.Meter) bool { return m.meters.Has(meter) }

// points gives the accepted points of a meter.
func (m *Model) points(meter models.Meter) []Point {
	if meter == models.HourMeter {
		return m.hours
	}
	return m.miles
}

// clock gives the operational days from the last point to a day, at the
// present level of use: the level returns to the long-run rate.
func (p *part) clock(day float64) float64 {
	u := p.season.op(day) - p.start
	if p.revert == 0 || u <= 0 {
		return u
	}
	return p.ratio*u + (1-p.ratio)*p.revert*(1-math.Exp(-u/p.revert))
}

// rate gives the activity for an operational day over the whole track, 0 when
// it is short.
func (t *track) rate(s *season) float64 {
	n := t.n()
	if n < 2 || t.days[n-1]-t.days[0] < 14 {
		return 0
	}
	return (t.act[n-1] - t.act[0]) / math.Max(14, s.op(t.days[n-1])-s.op(t.days[0]))
}

// strangers weakens the class prior of a rate, a gamma of some shape and mean,
// for a machine that is used far more or far less than its class, and moves it
// towards the machine's own rate (0: not known): the gamma is made heavy
// tailed, as Student's t is a scale mixture of normals (West, JRSS B 46, 1984).
func strangers(shape, rate, own float64) (float64, float64) {
	if own <= 0 {
		return shape, rate
	}
	l := math.Log(own / rate)
	trust := math.Min(1, 12/(4+l*l*shape))
	return shape * trust, rate * math.Exp((1-trust)*l)
}
