package visit

import (
	"math/bits"
	"slices"
)

// dayTable holds the visits that can begin on a day and the knapsacks over
// those that end on it.
type dayTable struct {
	short []option // by run, then weight
	runs  []oneOf  // where each run's options lie in short
	long  []option
	kinds []knapsack // by kind of bay
	own   []knapsack // by bay, where a locked visit of it may be joined
	but   []without

	// what the options of one run are gathered in, by weight
	best []option
	most int32
}

// oneOf holds options of which a day takes at most one: those of a unit, or of
// all units under a limit that leaves room for one.
type oneOf struct {
	from, to int32
	id       int32 // as runOf gives it; -1: it joins a locked visit
	bay      int32 // the only bay that may take it; -1: any that takes the class
}

// knapsack is the best gain by grains of room, with what was taken.
type knapsack struct {
	best   []int64
	choice []int16 // [run*(size)+grains] option within the run, -1: none
	runs   []int32
}

// without is a knapsack that leaves one run out.
type without struct {
	knapsack
	bay, run int32
}

// mergeRuns counts the units under each limit and sorts those of a day so that
// the units of one run stand together.
func (b *bounder) mergeRuns() {
	b.members = make([]int, len(b.s.p.Limits))
	for u := range b.s.units {
		for _, k := range b.s.groups[b.s.units[u].group].limits {
			b.members[k]++
		}
	}
	for d := range b.active {
		slices.SortStableFunc(b.active[d], func(u, v int32) int { return int(b.runOf(u, int32(d)) - b.runOf(v, int32(d))) })
	}
}

// runOf names the run of a unit on a day: its own, or that of the limit with
// most units which leaves room for one machine. Units of a run can use the
// same bays.
func (b *bounder) runOf(u, d int32) int32 {
	unit, best := &b.s.units[u], int32(-1)
	for _, k := range b.s.groups[unit.group].limits {
		if b.outFree[int(k)*b.s.days+int(d)] == 1 && (best < 0 || b.members[k] > b.members[best]) {
			best = k
		}
	}
	if best < 0 {
		return u
	}
	return int32(len(b.s.units)) + best*int32(len(b.s.sets)) + unit.set
}

// setCuts prices other sets of items from now on.
func (b *bounder) setCuts(cuts []cut) {
	b.cuts, b.penalty, b.use.cut = cuts, nil, make([]int64, len(cuts))
}

// penalize sums up what the cuts take of each visit.
func (b *bounder) penalize(y *duals) {
	if len(b.cuts) == 0 {
		return
	}
	if b.penalty == nil {
		b.penalty = make([][]int64, len(b.s.units))
	}
	for _, row := range b.penalty {
		clear(row)
	}
	for i := range b.cuts {
		c := &b.cuts[i]
		if y.cut[i] == 0 {
			continue
		}
		if b.penalty[c.unit] == nil {
			b.penalty[c.unit] = make([]int64, len(b.s.units[c.unit].work))
		}
		row := b.penalty[c.unit]
		for set := range row {
			row[set] += y.cut[i] * c.halves(uint32(set))
		}
	}
}

// penaltyOf gives what the cuts take of a visit's gain.
func (b *bounder) penaltyOf(u int32, set uint32) int64 {
	if b.penalty == nil || b.penalty[u] == nil {
		return 0
	}
	return b.penalty[u][set]
}

// fillDay finds the visits that gain on a day at the prices, and fills the
// knapsacks of each kind of bay and of bays with locked visits.
func (b *bounder) fillDay(d int32, y *duals) {
	t := &b.days[d]
	t.short, t.long, t.runs, t.but = t.short[:0], t.long[:0], t.runs[:0], t.but[:0]
	size := int(b.s.open[d]/b.grain) + 1
	if len(t.best) < size {
		t.best = make([]option, size)
	}
	for i, u := range b.active[d] {
		b.offers(t, d, u, y)
		if i+1 == len(b.active[d]) || b.runOf(u, d) != b.runOf(b.active[d][i+1], d) {
			t.endRun(b.runOf(u, d), -1)
		}
	}
	if t.kinds == nil {
		t.kinds = make([]knapsack, len(b.s.kinds))
	}
	for k := range t.kinds {
		t.pack(&t.kinds[k], size, func(r *oneOf) bool { return r.bay < 0 && b.takes(int32(k), t.short[r.from].unit) })
	}
	for _, ref := range b.joinable[d] {
		b.offerJoins(t, d, ref, y)
	}
	for _, ref := range b.joinable[d] {
		bay := b.s.units[ref.unit].locks[ref.lock].bay
		if t.own == nil {
			t.own = make([]knapsack, len(b.s.bays))
		}
		t.pack(&t.own[bay], size, b.usable(t, bay, -1))
	}
}

// usable says which runs a bay may take, one run left out.
func (b *bounder) usable(t *dayTable, bay, but int32) func(*oneOf) bool {
	kind := b.s.bays[bay]
	return func(r *oneOf) bool {
		if r.bay >= 0 {
			return r.bay == bay
		}
		return r.id != but && b.takes(kind, t.short[r.from].unit)
	}
}

// note keeps the best option of each weight.
func (t *dayTable) note(o option) {
	if at := &t.best[o.weight]; o.gain > at.gain {
		*at = o
		t.most = max(t.most, o.weight)
	}
}

// endRun makes a run of what was noted: options that gain more the more they
// weigh.
func (t *dayTable) endRun(id, bay int32) {
	from, gain := int32(len(t.short)), int64(0)
	for w := range t.most + 1 {
		if o := &t.best[w]; o.gain > gain {
			gain = o.gain
			t.short = append(t.short, *o)
		}
		t.best[w].gain = 0
	}
	t.most = 0
	if to := int32(len(t.short)); to > from {
		t.runs = append(t.runs, oneOf{from: from, to: to, id: id, bay: bay})
	}
}

// offers adds a unit's visits that begin on day d and gain.
func (b *bounder) offers(t *dayTable, d, u int32, y *duals) {
	unit := &b.s.units[u]
	var act [maxAtoms]uint32
	var gains [maxAtoms]int64
	n, sum := 0, int64(0)
	poor := uint32(0) // atoms that cost, but less than coming at all is worth
	rate, fixed := y.tech[d], b.fixedCost(unit, d)
	for i := range unit.atoms {
		a := &unit.atoms[i]
		if d < a.lo || d > a.hi {
			continue
		}
		if g := b.reward(u, i, d, y); g > 0 {
			act[n], gains[n] = 1<<i, g
			sum += g
			n++
		} else if g > fixed {
			poor |= 1 << i
		}
	}
	if poor == 0 && (n == 0 || sum <= fixed) {
		return
	}
	e := enumeration{b: b, t: t, u: unit, id: u, d: d, rate: rate, fixed: fixed, act: act[:n], gains: gains[:n], y: y}
	e.from(0, 0, 0)
	for ; poor != 0; poor &= poor - 1 {
		i := bits.TrailingZeros32(poor)
		e.act, e.gains = append(act[:0], 1<<i), append(gains[:0], b.reward(u, i, d, y))
		e.from(0, 0, 0)
	}
}

// reward gives what a bay gets for doing an atom on a day.
func (b *bounder) reward(u int32, i int, d int32, y *duals) int64 {
	at := int(b.first[u]) + i
	a := &b.s.units[u].atoms[i]
	return (a.skip-int64(a.at(d)))*1000 - y.atom[at]
}

// enumeration goes through the sets of atoms that a unit may do on a day.
type enumeration struct {
	b     *bounder
	t     *dayTable
	u     *unit
	id, d int32
	rate  int64
	fixed int64
	act   []uint32
	gains []int64
	y     *duals
}

func (e *enumeration) from(k int, set uint32, gain int64) {
	room := min(e.b.s.open[e.d], e.b.techFree[e.d])
	for ; k < len(e.act); k++ {
		next, g := set|e.act[k], gain+e.gains[k]
		w := e.u.work[next]
		if w <= e.b.s.open[e.d] {
			if w <= room {
				net := g - e.fixed - e.rate*int64(w) - e.b.penaltyOf(e.id, next)
				e.t.note(option{unit: e.id, lock: -1, set: next, weight: w / e.b.grain, day: e.d, last: e.d, gain: net})
			}
		} else if !e.long(next, g, w) {
			continue
		}
		e.from(k+1, next, g)
	}
}

// long notes a visit over several days; false when no larger one can be.
func (e *enumeration) long(set uint32, gain int64, w int32) bool {
	b := e.b
	last, price, ok := b.lastDay(e.d, w, b.s.open[e.d], e.y)
	if !ok || !b.mayBeOut(e.u, e.d, last) {
		return false
	}
	out := b.outSum[int(e.u.group)*(b.s.days+1):]
	gain -= e.fixed + price + e.u.downtime*1000*int64(last-e.d) + out[last+1] - out[e.d+1] + b.penaltyOf(e.id, set)
	if gain > 0 {
		tail := w - (b.s.before[last] - b.s.before[e.d])
		e.t.long = append(e.t.long, option{unit: e.id, lock: -1, set: set, weight: tail / b.grain, day: e.d, last: last, gain: gain})
	}
	return true
}

// lastDay gives the last day of w minutes of work, some of which fit into the
// first day, and the price of its technicians; false when there are too few or
// the horizon ends.
func (b *bounder) lastDay(d, w, fit int32, y *duals) (last int32, price int64, ok bool) {
	for ; d < int32(b.s.days); d++ {
		m := min(w, fit)
		if m > max(0, b.techFree[d]) {
			return 0, 0, false
		}
		price += y.tech[d] * int64(m)
		if w -= m; w == 0 {
			return d, price, true
		}
		if d+1 < int32(b.s.days) {
			fit = b.s.open[d+1]
		}
	}
	return 0, 0, false
}

// offerJoins adds the ways to join a locked visit on the day on which it would
// end: those that still end on it are a run of the day, the others take what
// the lock leaves of the day, whole days after it, and end on a later one.
func (b *bounder) offerJoins(t *dayTable, d int32, ref lockRef, y *duals) {
	s, u := b.s, &b.s.units[ref.unit]
	l := &u.locks[ref.lock]
	room := max(0, b.room[int(l.bay)*s.days+int(d)])
	rest := s.open[d] - (l.work[0] - (s.before[d] - s.before[l.day])) // minutes that the lock leaves
	out := b.outSum[int(u.group)*(s.days+1):]
	for set := l.joins; set != 0; set = (set - 1) & l.joins {
		more := l.work[set] - l.work[0]
		o := option{unit: ref.unit, lock: ref.lock, set: set, day: d, weight: more / b.grain}
		fit := rest
		if more <= rest {
			if more > room {
				continue
			}
			fit = more
		} else if room < rest {
			continue
		}
		last, price, ok := b.lastDay(d, more, fit, y)
		if !ok || !b.mayBeOut(u, d+1, last) {
			continue
		}
		for items := set; items != 0; items &= items - 1 {
			o.gain += b.reward(ref.unit, bits.TrailingZeros32(items), l.day, y)
		}
		o.last = last
		o.gain -= price + u.downtime*1000*int64(last-d) + out[last+1] - out[d+1] + b.penaltyOf(ref.unit, set)
		if last == d {
			t.note(o)
		} else if o.gain > 0 {
			o.weight = (more - rest - (s.before[last] - s.before[d+1])) / b.grain
			t.long = append(t.long, o)
		}
	}
	t.endRun(-1, l.bay)
}

// takes says whether a kind of bay takes a unit.
func (b *bounder) takes(kind int32, u int32) bool {
	return b.s.setHas(int(b.s.units[u].set), kind)
}

// pack fills a knapsack with at most one option of each run that may be used.
func (t *dayTable) pack(k *knapsack, size int, usable func(*oneOf) bool) {
	if len(k.best) != size {
		k.best = make([]int64, size)
	}
	clear(k.best)
	k.runs, k.choice = k.runs[:0], k.choice[:0]
	for i := range t.runs {
		r := &t.runs[i]
		if !usable(r) {
			continue
		}
		k.runs = append(k.runs, int32(i))
		at := len(k.choice)
		for range size {
			k.choice = append(k.choice, -1)
		}
		choice := k.choice[at : at+size]
		opts := t.short[r.from:r.to]
		for c := size - 1; c >= int(opts[0].weight); c-- {
			best := k.best[c]
			for n := range opts {
				w := int(opts[n].weight)
				if w > c {
					break
				}
				if g := k.best[c-w] + opts[n].gain; g > best {
					best, choice[c] = g, int16(n)
				}
			}
			k.best[c] = best
		}
	}
}

// unpack adds what a knapsack of some room holds to visits.
func (t *dayTable) unpack(visits []option, k *knapsack, room int32) []option {
	size := len(k.best)
	c := int(room)
	for i := len(k.runs) - 1; i >= 0; i-- {
		if n := k.choice[i*size+c]; n >= 0 {
			o := &t.short[t.runs[k.runs[i]].from+int32(n)]
			visits = append(visits, *o)
			c -= int(o.weight)
		}
	}
	return visits
}
