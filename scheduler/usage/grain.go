package usage

import "math"

// grains are the candidates for the unevenness of a class, in hours.
var grains = [...]float64{0.7, 1.2, 2, 3.3, 5.5, 9, 15, 25, 40}

// clumps is how much the use over months is more uneven than the use from one
// reading to the next says: outings come in bouts. Found by trial on invented
// fleets, as is passClump.
const clumps = 3

// passClump is the share of that which counts on the way to one limit, where
// the rest is already in the doubt about the rate.
const passClump = 0.42

// learnGrain chooses for each class how uneven its use is and how fast it is
// forgotten: by how well the machines' own next readings were foretold, one
// after the other (prequential likelihood: Dawid, JRSS A 147, 1984).
func (p *Profile) learnGrain(ms []member) {
	type score struct {
		kind string
		l    [len(grains)][len(memories)]float64
	}
	classes := map[string]*score{}
	for i := range ms {
		m := &ms[i]
		if len(m.gaps) < 3 {
			continue
		}
		ck := classKey(m.kind, m.ownerType)
		if classes[ck] == nil {
			classes[ck] = &score{kind: m.kind}
		}
		best := 0
		for k := range m.weight {
			if m.weight[k] > m.weight[best] {
				best = k
			}
		}
		c := p.class(m.kind, m.ownerType)
		for g, grain := range grains {
			for h := range memories {
				f := filter{memory: &memories[h], a0: c.Spreads[best], b0: c.Spreads[best] * grain / c.Rates[best]}
				l := 0.0
				for _, x := range m.gaps {
					s := &p.seasons[best]
					l += f.step(x.use*m.scale/grain, s.op(x.to)-s.op(x.from)) - lgamma(x.use*m.scale/grain+1) - math.Log(grain)
				}
				classes[ck].l[g][h] += l
			}
		}
	}
	// A machine's worth of doubt each way keeps small classes from extremes.
	for ck, s := range classes {
		c := p.Classes[ck]
		bestG, best := 0, math.Inf(-1)
		for g := range grains {
			top := math.Inf(-1)
			for h := range fastest {
				top = math.Max(top, s.l[g][h])
			}
			d := math.Log(grains[g] / p.Fleet.Grain)
			if v := top - 2*d*d; v > best {
				bestG, best = g, v
			}
		}
		c.Grain = grains[bestG] * clumps
		sum := 0.0
		c.Memory = make([]float64, len(memories))
		for h := range memories {
			c.Memory[h] = math.Exp((s.l[bestG][h] - maxOf(s.l[bestG][:fastest])) / math.Max(1, c.Machines))
			c.Memory[h] = math.Min(memories[h].most, math.Max(memories[h].least, c.Memory[h]))
			sum += c.Memory[h]
		}
		for h := range c.Memory {
			c.Memory[h] /= sum
		}
		p.Classes[ck] = c
	}
}

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
			l += f.step(x.use/g, s.op(x.to)-s.op(x.from)) - lgamma(x.use/g+1) - math.Log(g)
		}
		if l > best {
			best, factor = l, m
		}
	}
	return factor
}
