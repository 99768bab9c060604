package usage

import "math"

// grains are the candidates for the unevenness of a class, in hours.
var grains = [...]float64{0.7, 1.2, 2, 3.3, 5.5, 9, 15}

// learnGrain chooses for each class how uneven its use is and how fast it is
// forgotten: by how well the machines' own next readings were foretold, one
// after the other (prequential likelihood: Dawid, JRSS A 147, 1984).
func (p *Profile) learnGrain(ms []member) {
	type score struct {
		kind string
		l    [len(grains)][len(halfLives)]float64
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
			for h, half := range halfLives {
				f := filter{a0: c.Spread, b0: c.Spread * grain / c.Rate, half: half}
				l := 0.0
				for _, x := range m.gaps {
					s := &p.seasons[best]
					l += f.step(x.use*m.scale/grain, s.op(x.to)-s.op(x.from)) - math.Log(grain)
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
			for h := range halfLives {
				top = math.Max(top, s.l[g][h])
			}
			d := math.Log(grains[g] / p.Fleet.Grain)
			if v := top - 2*d*d; v > best {
				bestG, best = g, v
			}
		}
		c.Grain = grains[bestG]
		sum := 0.0
		c.Memory = make([]float64, len(halfLives))
		for h := range halfLives {
			c.Memory[h] = math.Max(0.05, math.Exp((s.l[bestG][h]-maxOf(s.l[bestG][:]))/math.Max(1, c.Machines)))
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

// filter follows the rate of a machine: Gamma(a0+a, b0+b) in counts for an
// operational day, where a and b forget exponentially (power discounting of a
// gamma-Poisson model: West and Harrison, Bayesian Forecasting and Dynamic
// Models, 1997, chapter 10; Smith and Miller, JRSS B 48, 1986).
type filter struct {
	a0, b0 float64
	a, b   float64
	half   float64
}

// step takes in a count y in t operational days and gives the log of the
// probability that it had before.
func (f *filter) step(y, t float64) float64 {
	keep := math.Exp2(-t / f.half)
	mid := math.Exp2(-t / 2 / f.half)
	a, b := f.a*keep, f.b*keep
	l := logNegBin(y, t, f.a0+a, f.b0+b)
	f.a, f.b = a+mid*y, b+mid*t
	return l
}
