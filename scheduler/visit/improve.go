package visit

import (
	"math"
	"math/rand/v2"
)

// The search works in lines, side by side. Their number is fixed, so that the
// result does not depend on how many cores there are.
const lines = 2

// fewUnits is up to how many machines each line has a plan of its own.
const fewUnits = 30

// The search cools from hottest times the mean cost of a day's visit to
// coldest of that (found by trial on problems of 12 to 10,000 machines).
const (
	hottest = 3.0
	coldest = 0.01
)

// improve makes the plan cheaper until the budget is spent.
func (r *run) improve(st *state) *state {
	if len(r.shop.units) == 0 || r.done() {
		return st
	}
	pr := r.prices(st)
	if len(r.shop.units) <= fewUnits {
		return r.chains(st, pr)
	}
	r.blocks(st, pr)
	return st
}

// prices finds what shared minutes and places are worth: those of the bound
// by machines, found with a small part of the budget.
func (r *run) prices(st *state) *prices {
	s := r.shop
	b := newBounder(s, byMachines, r.o.Parallel)
	a := r.sample(b, st.cost()*1000)
	for i := 0; i < firstRounds && (i < 3 || r.part() < pricePart) && !r.cut(); i++ {
		a.round()
	}
	y := a.bestDuals()
	b.sumOut(y)
	pr := &prices{minute: make([]int64, len(s.sets)*s.days), out: append([]int64{}, b.outSum...)}
	for i := range s.sets {
		for d := range s.days {
			best := int64(maxPrice)
			for _, k := range s.sets[i].kinds {
				best = min(best, y.minute[int(k)*s.days+d])
			}
			pr.minute[i*s.days+d] = best + y.tech[d]
		}
	}
	if !s.bundled {
		r.climbs = append(r.climbs, a)
	}
	return pr
}

// sample finds first prices of a large problem from a part of its machines:
// what a minute of a day is worth, many machines agree on.
func (r *run) sample(b *bounder, target int64) *ascent {
	b.machines.every = max(1, min(16, len(r.shop.units)/sampleUnits))
	a := newAscent(b, target)
	if b.machines.every == 1 {
		return a
	}
	for i := 0; i < firstRounds && r.part() < pricePart*2/3 && !r.cut(); i++ {
		a.round()
	}
	b.machines.every = 1
	a.restart(0.1)
	return a
}

// sampleUnits is how many machines a sample has at least.
const sampleUnits = 600

// firstRounds is how many rounds the prices of the search get at most.
const firstRounds = 300

// pricePart is the part of a budget by the clock that they get at most.
const pricePart = 0.12

// prove raises the bound with what is left of the budget.
func (r *run) prove(cost int64, until func(rounds int) bool) {
	bs := r.shop
	if bs.bundled {
		bs = newBoundShop(r.p, r.o.Told)
	}
	if len(r.climbs) == 0 {
		r.climbs = append(r.climbs, newAscent(newBounder(bs, byMachines, r.o.Parallel), cost*1000))
	}
	if len(r.climbs) < 2 && len(bs.bays) <= maxTimelines && len(bs.units) <= maxTimelineUnits {
		r.climbs = append(r.climbs, newAscent(newBounder(bs, byBays, r.o.Parallel), cost*1000))
	}
	for _, a := range r.climbs {
		a.target, a.theta = cost*1000, max(a.theta, 0.2)
		if a.rounds == 0 {
			a.round()
		}
	}
	for i := 0; !until(i); i++ {
		r.climbs[i%len(r.climbs)].round()
	}
}

// The bound by bays is tried where few bays are full of few machines; beyond
// that the one by machines is the higher.
const (
	maxTimelines     = 2
	maxTimelineUnits = 100
)

// heat gives the temperature to begin with, in cents.
func (r *run) heat() float64 {
	sum := 0.0
	for i := range r.shop.units {
		u := &r.shop.units[i]
		sum += float64(u.trip + u.downtime)
	}
	return hottest * sum / float64(max(1, len(r.shop.units)))
}

// cool gives the temperature when a part of the search is over.
func (r *run) cool(heat, part float64) float64 {
	part = min(1, part)
	return heat * math.Pow(coldest, part) * (1 - part)
}

// allUnits lists the units that have something to plan.
func (r *run) allUnits() []int32 {
	var all []int32
	for u := range r.shop.units {
		if len(r.shop.units[u].atoms) > 0 {
			all = append(all, int32(u))
		}
	}
	return all
}

// clone copies a state.
func (st *state) clone() *state {
	c := *st
	c.stops = make([][]stop, len(st.stops))
	for u := range st.stops {
		c.stops[u] = append([]stop{}, st.stops[u]...)
	}
	c.gain = append([]int64{}, st.gain...)
	c.bay = append([]int32{}, st.bay...)
	c.tech = append([]int32{}, st.tech...)
	c.out = append([]int32{}, st.out...)
	c.most = append([]int32{}, st.most...)
	return &c
}

// restore makes the state hold given stops.
func (st *state) restore(stops [][]stop) {
	for u := range stops {
		st.remove(u, st.stops[u])
	}
	for u := range stops {
		st.stops[u] = append(st.stops[u][:0], stops[u]...)
		st.add(u, st.stops[u])
	}
}

// chains lets each line work on a plan of its own, for small problems; now
// and then all go on from the best.
func (r *run) chains(st *state, pr *prices) *state {
	all := r.allUnits()
	if len(all) == 0 {
		return st
	}
	walkers := make([]*walker, lines)
	for i := range walkers {
		c := st.clone()
		w := newWalker(c, pr, r.o.Seed, uint64(i)+1)
		w.st.total = c.total
		w.keep = true
		w.noteBest()
		w.assign(all, 0, int32(r.shop.days)-1)
		walkers[i] = w
	}
	const epoch = 100
	heat := r.heat()
	next, exact := 0.2, r.fitsExact()
	for !r.done() {
		x := r.part()
		if exact && (r.used >= exactAfter || x > 0.3*r.searchPart()) {
			if exact = false; r.settleExactly(walkers, all) {
				break
			}
		}
		gone := x / r.searchPart()
		if exact { // whatever the clock says
			gone = float64(r.used) / exactAfter
		} else if gone > next {
			next += 0.2
			gather(walkers, all)
		}
		temp := r.cool(heat, gone)
		r.o.Parallel(lines, func(i int) { walkers[i].run(epoch, temp) })
		r.used += epoch * lines
	}
	best := walkers[0]
	for _, w := range walkers[1:] {
		if w.top > best.top {
			best = w
		}
	}
	st.restore(best.best)
	return st
}

// settleExactly solves a small shop to its end, from the best that the walkers
// have; they go on from what it finds. It says whether nothing is left to find.
func (r *run) settleExactly(walkers []*walker, all []int32) bool {
	top := walkers[0].top
	for _, w := range walkers[1:] {
		top = max(top, w.top)
	}
	stops, proven := r.solveExactly(top, func() bool { return r.cut() || (r.o.Steps == 0 && r.part() > 0.9*r.searchPart()) })
	if stops != nil && len(Check(r.p, (&state{s: r.shop, stops: stops}).visits()).Broken) > 0 {
		return false
	}
	for _, w := range walkers {
		if stops != nil {
			w.st.restore(stops)
			w.assign(all, w.lo, w.hi)
			w.noteBest()
		}
	}
	r.proven = proven
	return proven
}

// exactAfter is how many steps are made before a small shop is solved exactly:
// enough for a plan that is not far off.
const exactAfter = 4000

// gather lets every walker go on from the best plan any has now.
func gather(walkers []*walker, all []int32) {
	best := walkers[0]
	for _, w := range walkers[1:] {
		if w.st.total > best.st.total {
			best = w
		}
	}
	for _, w := range walkers {
		if w != best {
			w.st.restore(best.st.stops)
			w.assign(all, w.lo, w.hi)
		}
	}
}

// blocks lets the lines work on one plan, each on days of its own; the days
// are cut elsewhere each time.
func (r *run) blocks(st *state, pr *prices) {
	all := r.allUnits()
	if len(all) == 0 {
		return
	}
	rng := rand.New(rand.NewPCG(r.o.Seed, 1<<32))
	walkers := make([]*walker, lines)
	for i := range walkers {
		walkers[i] = newWalker(st, pr, r.o.Seed, uint64(i)+1)
	}
	epoch := max(100, min(4000, len(all)/2))
	heat := r.heat()
	shares := make([][]int32, lines)
	for !r.done() {
		temp := r.cool(heat, r.part()/r.searchPart())
		cut := int32(r.shop.days) * (30 + rng.Int32N(41)) / 100
		for i := range shares {
			shares[i] = shares[i][:0]
		}
		for _, u := range all {
			i := r.side(st, u, cut, rng)
			shares[i] = append(shares[i], u)
		}
		walkers[0].assign(shares[0], 0, cut-1)
		walkers[1].assign(shares[1], cut, int32(r.shop.days)-1)
		steps := [lines]int{2 * epoch * len(shares[0]) / len(all), 2 * epoch * len(shares[1]) / len(all)}
		r.o.Parallel(lines, func(i int) { walkers[i].run(steps[i], temp) })
		for _, w := range walkers {
			st.total += w.st.total
			w.st.total = 0
		}
		r.used += int64(steps[0] + steps[1])
	}
}

// side draws on which side of the cut a unit is worked on: where a stop of
// it is, or where something it does not do could be done.
func (r *run) side(st *state, u, cut int32, rng *rand.Rand) int {
	stops := st.stops[u]
	unit := &r.shop.units[u]
	d := unit.lo + rng.Int32N(max(1, unit.hi-unit.lo+1))
	if len(stops) > 0 && rng.IntN(8) > 0 {
		d = stops[rng.IntN(len(stops))].day
	}
	if d < cut {
		return 0
	}
	return 1
}
