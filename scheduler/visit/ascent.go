package visit

import "math"

// ascent raises the bound by moving the prices against what is taken too much
// or too little: a deflected subgradient method with steps after Polyak
// ("Minimization of unsmooth functionals", 1969), each price scaled by what
// it is likely to be worth.
type ascent struct {
	b      *bounder
	y      *duals // prices of the next evaluation, whole
	x      []float64
	grad   []float64
	dir    []float64
	scale  []float64
	best   int64
	bestX  []float64
	fixed  *duals  // the best prices, where they were found another way
	target int64   // millicents: the cost of the best plan known
	theta  float64 // length of the steps, in Polyak's
	next   float64 // with which the next run begins
	stale  int     // rounds without a better bound
	rounds int
}

func newAscent(b *bounder, target int64) *ascent {
	y := b.newDuals(b.by)
	n := len(y.all)
	a := &ascent{b: b, y: y, x: make([]float64, n), bestX: make([]float64, n), dir: make([]float64, n), grad: make([]float64, n),
		scale: make([]float64, n), best: math.MinInt64, target: target, theta: longest, next: longest}
	if b.by == byMachines {
		a.theta, a.next = 1, 1
	}
	a.guess()
	copy(a.bestX, a.x)
	return a
}

// guess sets scales and first prices.
func (a *ascent) guess() {
	s := a.b.s
	rate := a.clearingRate()
	trips := 0.0
	for u := range s.units {
		trips += float64(s.units[u].trip+s.units[u].downtime) * 1000 / float64(len(s.units))
	}
	likely := max(rate, trips/100) // what a minute may come to cost
	nt, no, na, nm := len(a.y.tech), len(a.y.out), len(a.y.atom), len(a.y.minute)
	for u := range s.units {
		unit := &s.units[u]
		trip := float64(unit.trip+unit.downtime) * 1000
		for i := range unit.atoms {
			worth := max(0, float64(unit.atoms[i].skip-unit.atoms[i].best())*1000)
			minutes := likely * float64(unit.work[1<<i])
			at := int(a.b.first[u]) + i
			if na > 0 {
				a.x[nt+no+at] = max(0, worth-trip/2-rate*float64(unit.work[1<<i]))
				a.scale[nt+no+at] = min(worth, trip+minutes)
			}
		}
	}
	for i := range a.y.cut {
		a.scale[nt+no+na+nm+i] = trips / 2
	}
	for d := range nt {
		a.scale[d] = likely / 20
	}
	for i := range no {
		if int(a.b.outFree[i]) <= len(s.p.Machines) {
			a.scale[nt+i] = trips / 2
		}
	}
	for i := range nm {
		a.scale[nt+no+na+i] = likely / 20
		// The price goes to what is scarcer on the day.
		if d := i % s.days; a.dayRoom(d) <= float64(a.b.techFree[d]) {
			a.x[nt+no+na+i] = rate
		} else {
			a.x[d] = rate
		}
	}
	if nm > 0 {
		a.level()
	}
}

// level scales the first prices to the multiple that gives the best bound.
func (a *ascent) level() {
	first := append([]float64{}, a.x...)
	best, at := int64(math.MinInt64), 1.0
	for _, m := range []float64{0.25, 0.5, 0.75, 1, 1.5, 2, 3, 4} {
		for i := range a.x {
			a.x[i] = first[i] * m
			a.y.all[i] = int64(a.x[i])
		}
		if v := a.b.evaluate(a.y); v > best {
			best, at = v, m
		}
	}
	for i := range a.x {
		a.x[i] = first[i] * at
	}
}

// dayRoom gives the minutes that all bays have on a day.
func (a *ascent) dayRoom(d int) float64 {
	sum := 0.0
	for b := range a.b.s.bays {
		sum += float64(max(0, a.b.room[b*a.b.s.days+d]))
	}
	return sum
}

// clearingRate gives the millicents a minute at which the items that would
// still pay for themselves take as many minutes as the bays have.
func (a *ascent) clearingRate() float64 {
	s := a.b.s
	room := 0.0
	for d := range s.days {
		room += min(a.dayRoom(d), float64(a.b.techFree[d]))
	}
	lo, hi := 0.0, 1e7
	for range 40 {
		mid := (lo + hi) / 2
		wanted := 0.0
		for u := range s.units {
			unit := &s.units[u]
			for i := range unit.atoms {
				w := float64(unit.work[1<<i])
				if float64(unit.atoms[i].skip-unit.atoms[i].best())*1000 > float64(unit.trip+unit.downtime)*500+mid*w {
					wanted += w
				}
			}
		}
		if wanted > room {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// reach bounds how far above the best bound a step aims: a part of it.
const reach = 6

// far bounds prices, in scales, so that sums stay within 64 bits.
const far = 1000

// restart begins again from the best prices, whose bound is not known, with
// steps of a length.
func (a *ascent) restart(theta float64) {
	a.best, a.theta, a.next, a.stale, a.rounds = math.MinInt64, theta, theta, 0, 0
	copy(a.x, a.bestX)
	clear(a.dir)
}

// bestDuals gives the prices of the highest bound so far.
func (a *ascent) bestDuals() *duals {
	if a.fixed != nil {
		return a.fixed
	}
	y := a.b.newDuals(a.b.by)
	for i, v := range a.bestX {
		y.all[i] = int64(math.Round(v))
	}
	return y
}

// top gives the highest price that is of use: an item that costs more than
// it can gain is not done anyway, and no other price nears its bound.
func (a *ascent) top(i int) float64 {
	nt, no, na, nm := len(a.y.tech), len(a.y.out), len(a.y.atom), len(a.y.minute)
	most := float64(maxMinutePrice)
	switch {
	case i >= nt && i < nt+no:
		most = maxOutPrice
	case i >= nt+no && i < nt+no+na, i >= nt+no+na+nm:
		most = maxPrice
	}
	return min(far*a.scale[i], most)
}

// patience is how many rounds without a better bound make the steps shorter.
const (
	patience = 20
	shorten  = 0.8  // to what part
	longest  = 2.0  // steps of the first run; each next begins with shorter ones
	least    = 0.2  // but not with shorter than these
	shortest = 0.01 // at which a run ends and the next begins from the best prices
)

// round evaluates the prices and moves them; it gives the bound found.
func (a *ascent) round() int64 {
	if a.fixed != nil {
		return a.best
	}
	for i, v := range a.x {
		a.y.all[i] = int64(math.Round(v))
	}
	v := a.b.evaluate(a.y)
	a.rounds++
	if v > a.best {
		a.best, a.stale = v, 0
		copy(a.bestX, a.x)
	} else if a.stale++; a.stale >= patience {
		a.stale = 0
		a.theta *= shorten
		if a.theta < shortest {
			a.next = max(least, a.next*0.7)
			a.theta = a.next
			copy(a.x, a.bestX)
			clear(a.dir)
			return v
		}
	}
	a.move(v)
	return v
}

// move takes one step from the prices just evaluated to v.
func (a *ascent) move(v int64) {
	a.b.gradient(a.grad)
	dot, was := 0.0, 0.0
	for i := range a.grad {
		a.grad[i] *= a.scale[i]
		if a.grad[i] < 0 && a.x[i] <= 0 {
			a.grad[i] = 0
		}
		dot += a.grad[i] * a.dir[i]
		was += a.dir[i] * a.dir[i]
	}
	// Where the new way turns against the old, keep as much of the old as
	// takes the turn out (Camerini, Fratta and Maffioli 1975).
	keep := 0.0
	if dot < 0 {
		keep = -1.5 * dot / was
	}
	norm := 0.0
	for i, g := range a.grad {
		a.dir[i] = g + keep*a.dir[i]
		norm += a.dir[i] * a.dir[i]
	}
	if norm == 0 {
		return
	}
	// Where the plan is still dear, aiming at its cost would overshoot.
	aim := a.target
	if a.best > 0 && a.b.by == byMachines {
		aim = min(aim, a.best+a.best/reach)
	}
	t := a.theta * float64(max(aim-v, 1000)) / norm
	for i := range a.x {
		a.x[i] += t * a.dir[i] * a.scale[i]
		if a.x[i] < 0 {
			a.x[i] = 0
		}
		a.x[i] = min(a.x[i], a.top(i))
	}
}
