package visit

import "slices"

// solveExactly looks for the best plan of a small shop, top cents or less
// behind which stay unsought: the bound by blocks is raised to its end, then
// what a plan within a guessed part of it can be made of is listed whole and
// the best of that found. When that is a plan, no other is better; when it is
// none, the guess was too low, which is proven by enumeration and not by the
// prices. It gives the stops of a better plan, nil for none, and whether the
// better of it and what is known is the best there is.
//
// All is bounded by counts and not by time, so that it comes out the same on
// a busy machine; halt is for the end of the budget.
func (r *run) solveExactly(top int64, halt func() bool) (stops [][]stop, proven bool) {
	b := newBounder(r.shop, byBays, r.o.Parallel)
	a := newAscent(b, (r.shop.base-top)*1000)
	for i := 0; i < firstAscent && !halt(); i++ {
		a.round()
	}
	m := newMaster(b, false)
	m.generate(a.bestDuals())
	m.climb(halt)
	a.best, a.b, a.fixed = m.best, b, m.center
	r.climbs = append(r.climbs, a)
	cost := r.shop.base - top
	for _, part := range guesses {
		bound := boundCents(m.best)
		aim := min(cost-1, bound+int64(part*float64(bound)))
		if aim < bound {
			return stops, true
		}
		if halt() {
			return stops, false
		}
		blocks, whole := m.list(aim)
		if !whole {
			return stops, false
		}
		best, whole := b.bestOf(blocks, r.shop.base-aim-1, r.nodes(mostNodes), halt)
		if best != nil {
			stops = r.blocksToStops(m, best)
		}
		if !whole && best == nil { // not to its end: then at least something better
			if best, _ = b.bestOf(blocks, top, r.nodes(fewNodes), halt); best != nil {
				stops = r.blocksToStops(m, best)
			}
		}
		if !whole {
			return stops, false
		}
		if best != nil || aim == cost-1 {
			return stops, true
		}
	}
	return stops, false
}

// guesses are the parts of the bound by which the best plan is thought to cost
// more, one after the other.
var guesses = [...]float64{0.003, 0.006, 0.01, 0.02, 0.04}

// Nodes of a search to its end, and of one for any better plan.
const (
	mostNodes = 400
	fewNodes  = 60
)

// nodes gives how many of some nodes a search may look at: fewer where few steps
// were asked for.
func (r *run) nodes(most int) int {
	if r.o.Steps > 0 {
		return int(min(int64(most), max(20, r.o.Steps/10)))
	}
	return most
}

// firstAscent is how many rounds the first prices get.
const firstAscent = 150

// fitsExact says whether a shop is small enough to be solved exactly, and of a
// kind of which the list of visits is complete: items without minutes go
// beside visits over days, and bundled ones leave plans out.
func (r *run) fitsExact() bool {
	atoms := 0
	for u := range r.shop.units {
		unit := &r.shop.units[u]
		atoms += len(unit.atoms)
		for i := range unit.atoms {
			if unit.work[1<<i] == 0 {
				return false
			}
		}
	}
	return !r.shop.bundled && atoms > 0 && atoms <= maxExactAtoms && len(r.shop.bays) <= maxTimelines
}

const maxExactAtoms = 128

// blocksToStops makes stops of blocks, locked visits among them.
func (r *run) blocksToStops(m *master, blocks []block) [][]stop {
	stops := make([][]stop, len(r.shop.units))
	joined := map[lockRef]bool{}
	slices.SortStableFunc(blocks, func(a, b block) int { return int(a.from - b.from) })
	until := make([]int32, len(r.shop.bays)) // by bay: the first day after its last block
	for i := range blocks {
		line := m.b.lines[blocks[i].line]
		bay := line.bay
		for other, kind := range r.shop.bays {
			if line.times > 1 && kind == line.kind && m.b.plain[other] && until[other] <= blocks[i].from {
				bay = int32(other)
			}
		}
		until[bay] = blocks[i].last + 1
		for _, o := range blocks[i].visits {
			unit := &r.shop.units[o.unit]
			v := stop{atoms: o.set, day: o.day, last: o.last, bay: bay, lock: o.lock, work: unit.work[o.set], gain: m.b.trueGain(&o)}
			if o.lock >= 0 {
				l := &unit.locks[o.lock]
				joined[lockRef{o.unit, o.lock}] = true
				v.day, v.work = l.day, l.work[o.set]
			}
			stops[o.unit] = append(stops[o.unit], v)
		}
	}
	for u := range r.shop.units {
		for i, l := range r.shop.units[u].locks {
			if !joined[lockRef{int32(u), int32(i)}] {
				stops[u] = append(stops[u], stop{day: l.day, last: l.last, bay: l.bay, lock: int32(i), work: l.work[0]})
			}
		}
	}
	return stops
}
