package usage

import "math"

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
	for ck, list := range classes {
		c := p.Classes[ck]
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
		c.Grain = grain * clumps
		c.Memory = p.learnMemory(list, grain)
		p.Classes[ck] = c
	}
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
	f := filter{memory: mem, a0: c.Spreads[best], b0: c.Spreads[best] * grain / c.Rates[best]}
	l := 0.0
	for _, x := range m.gaps {
		y := x.use * m.scale / grain
		l += f.step(y, s.op(x.to)-s.op(x.from), x.weight(grain)) - lgamma(y+1) - math.Log(grain)
	}
	return l
}

// memoryPrior is how many machines' worth the shipped weights of the memories
// weigh in a class.
const memoryPrior = 3

// learnMemory shares the machines of a class out among the memories (EM for
// the weights of a mixture).
func (p *Profile) learnMemory(list []*member, grain float64) []float64 {
	likely := make([][fastest]float64, len(list))
	for i, m := range list {
		for h := range fastest {
			likely[i][h] = p.foretell(m, grain, &memories[h])
		}
		top := maxOf(likely[i][:])
		for h := range fastest {
			likely[i][h] = math.Exp((likely[i][h] - top) / temper)
		}
	}
	prior := p.Fleet.Memory
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
			w[h] = ((1-fastShare)*next[h] + memoryPrior*prior[h]) / (float64(len(list)) + memoryPrior)
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
		g := c.Grain * m
		f := filter{memory: &memories[1], a0: c.Spreads[k], b0: c.Spreads[k] * g / c.Rates[k]}
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
