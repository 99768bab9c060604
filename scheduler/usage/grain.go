package usage

import (
	"maps"
	"math"
	"slices"
)

// grains are the candidates for the unevenness of a class, in hours.
var grains = [...]float64{0.7, 1.2, 2, 3.3, 5.5, 9, 15, 25, 40}

// clumps is how much the use over months is more uneven than the use from one
// reading to the next says: outings come in bouts. Found by trial on invented
// fleets, as is passClump.
const clumps = 2

// passClump is the share of that which counts on the way to one limit, where
// the rest is already in the doubt about the rate.
const passClump = 0.5

// learnGrain chooses for each class how uneven its use is and how it holds or
// changes, by how well its machines' own next readings were foretold.
func (p *Profile) learnGrain(ms []member) {
	classes := map[string][]*member{}
	for i := range ms {
		if m := &ms[i]; len(m.gaps) >= 3 {
			ck := classKey(m.kind, m.ownerType)
			classes[ck] = append(classes[ck], m)
		}
	}
	var all [][fastest]float64
	likely := make(map[string][][fastest]float64, len(classes))
	for _, ck := range slices.Sorted(maps.Keys(classes)) {
		c := p.Classes[ck]
		grain := p.classGrain(classes[ck])
		c.Grain = grain * clumps
		p.Classes[ck] = c
		likely[ck] = p.likelyMemories(classes[ck], grain)
		all = append(all, likely[ck]...)
	}
	p.Fleet.Memory = learnMemory(all, shipped().Fleet.Memory)
	for ck, c := range p.Classes {
		c.Memory = learnMemory(likely[ck], p.Fleet.Memory)
		p.Classes[ck] = c
	}
	for k, c := range p.Kinds {
		c.Memory = p.Fleet.Memory
		p.Kinds[k] = c
	}
}

// classGrain finds the unevenness of a class from one reading to the next.
func (p *Profile) classGrain(list []*member) float64 {
	// The fleet's grain is worth some machines' word, against extremes.
	grain, top := p.Fleet.Grain, math.Inf(-1)
	for _, g := range grains {
		d := math.Log(g / p.Fleet.Grain)
		sum := -2 * d * d
		for _, m := range list {
			sum += p.foretell(m, g, &memories[0])
		}
		if sum > top {
			grain, top = g, sum
		}
	}
	return grain
}

// foretell gives the log likelihood of a machine's readings under its
// likeliest season, each foretold from those before it (prequential
// likelihood: Dawid, JRSS A 147, 1984).
func (p *Profile) foretell(m *member, grain float64, mem *memory) float64 {
	best := 0
	for k := range m.weight {
		if m.weight[k] > m.weight[best] {
			best = k
		}
	}
	c, s := p.class(m.kind, m.ownerType), &p.seasons[best]
	f := newFilter(mem, c.Spreads[best], c.Spreads[best]*grain/c.Rates[best])
	l := 0.0
	for _, x := range m.gaps {
		y := x.use * m.scale / grain
		l += f.step(y, s.op(x.to)-s.op(x.from), x.weight(grain)) - lgamma(y+1) - math.Log(grain)
	}
	return l
}

// memoryPrior is how many machines' worth the next wider group's weights of
// the memories weigh: what ships with the program in the fleet, the fleet in a
// class.
const memoryPrior = 3

// likelyMemories gives for each machine how likely each memory made its
// readings, by the likeliest.
func (p *Profile) likelyMemories(list []*member, grain float64) [][fastest]float64 {
	out := make([][fastest]float64, len(list))
	for i, m := range list {
		for h := range fastest {
			out[i][h] = p.foretell(m, grain, &memories[h])
		}
		top := maxOf(out[i][:])
		for h := range fastest {
			out[i][h] = math.Exp((out[i][h] - top) / temper)
		}
	}
	return out
}

// learnMemory shares machines out among the memories (EM for the weights of a
// mixture).
func learnMemory(likely [][fastest]float64, prior []float64) []float64 {
	w := append([]float64(nil), prior...)
	for range 12 {
		var next [fastest]float64
		for i := range likely {
			sum := 0.0
			for h, l := range likely[i] {
				sum += w[h] * l
			}
			for h, l := range likely[i] {
				next[h] += w[h] * l / sum
			}
		}
		for h := range next {
			w[h] = ((1-fastShare)*next[h] + memoryPrior*prior[h]) / (float64(len(likely)) + memoryPrior)
		}
	}
	return w
}

// maxOf gives the largest of some numbers.
func maxOf(x []float64) float64 {
	m := math.Inf(-1)
	for _, v := range x {
		m = math.Max(m, v)
	}
	return m
}

// ownGrain finds how uneven one machine's use is by its class's: by how well
// its readings were foretold under the likeliest season of its class, with the
// class's word weighed in.
func ownGrain(c *classFit, p *Profile, gaps []gap) float64 {
	if len(gaps) < 5 {
		return 1
	}
	k := 0
	for i, w := range c.Weights {
		if w > c.Weights[k] {
			k = i
		}
	}
	s := &p.seasons[k]
	best, factor := math.Inf(-1), 1.0
	for _, m := range [...]float64{1, 2, 4, 8} {
		g := c.Grain / clumps * m
		f := newFilter(&memories[1], c.Spreads[k], c.Spreads[k]*g/c.Rates[k])
		d := math.Log(m)
		l := -2 * d * d
		for _, x := range gaps {
			l += f.step(x.use/g, s.op(x.to)-s.op(x.from), x.weight(g)) - lgamma(x.use/g+1) - math.Log(g)
		}
		if l > best {
			best, factor = l, m
		}
	}
	return factor
}
