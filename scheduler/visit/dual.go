package visit

import "math/bits"

// The lower bound: Lagrangian relaxation (Geoffrion 1974, "Lagrangean
// relaxation for integer programming"). What machines share is priced, and
// any prices give a valid bound, since a plan that keeps the rules pays for no
// more than there is. There are three ways to take it apart:
//
//   - by machines: each machine is planned alone, exactly, and pays for the
//     minutes of bays and technicians and the places under limits it takes;
//   - by bays: each bay is planned alone, exactly, as a timeline of visits
//     that fills its days like knapsacks, and pays for each item it does,
//     since an item can be done only once;
//   - by both: the machines plan as above and the bays too, and each item and
//     stop on a day has a price at which machines buy it from the bays.
//
// Prices are whole millicents and all sums are integers, so that a bound can
// be recomputed exactly from stored prices.

// way is one of them.
type way string

const (
	byMachines way = "machines"
	byBays     way = "bays"
	byBoth     way = "both"
)

// duals are prices in millicents, one after the other in all.
type duals struct {
	all    []int64
	tech   []int64 // by day: a technician minute
	out    []int64 // [limit*days+day]: a machine out
	atom   []int64 // by bays: doing an atom, in the order of the units
	minute []int64 // by machines: [kind*days+day] a minute in a kind of bay
	item   []int64 // by both: an atom on a day of its window
	trip   []int64 // by both: a stop of a unit on a day of its window
}

// newDuals makes prices of 0 for a way.
func (b *bounder) newDuals(by way) *duals {
	sizes := []int{b.s.days, len(b.outFree), 0, 0, 0, 0}
	switch by {
	case byBays:
		sizes[2] = b.atoms
	case byMachines:
		sizes[3] = len(b.kindRoom)
	case byBoth:
		sizes[3], sizes[4], sizes[5] = len(b.kindRoom), b.itemDays, b.tripDays
	}
	n := 0
	for _, k := range sizes {
		n += k
	}
	y := &duals{all: make([]int64, n)}
	at := 0
	for i, part := range []*[]int64{&y.tech, &y.out, &y.atom, &y.minute, &y.item, &y.trip} {
		*part = y.all[at : at+sizes[i] : at+sizes[i]]
		at += sizes[i]
	}
	return y
}

// bounder evaluates prices. It owns the tables of one evaluation.
type bounder struct {
	s        *shop
	parallel func(int, func(int))
	grain    int32   // minutes of one step of a knapsack
	first    []int32 // by unit: place of its first atom in duals.atom
	atoms    int
	active   [][]int32 // by open day: units that might visit
	techFree []int32   // technician minutes less those of locked visits
	outFree  []int32   // limits less locked visits
	room     []int32   // [bay*days+day] minutes of a bay less locked visits, at most the technicians'
	plain    []bool    // by bay: without locks, so that it equals others of its kind
	locksAt  [][]lockRef
	outSum   []int64 // [group*(days+1)+day] price of being out on the days before
	days     []dayTable
	use      usage
	by       way

	kindRoom []int64 // [kind*days+day] minutes of all bays of a kind
	itemAt   []int32 // by atom: place of the first day of its window in duals.item
	itemDays int
	tripAt   []int32 // by unit, in duals.trip
	tripDays int
	machines *machineSide
}

// lockRef is a locked visit in a bay.
type lockRef struct {
	unit, lock int32
	day        int32
}

// usage is what the best plans of the parts take of what is priced.
type usage struct {
	tech    []int64
	out     []int32
	atom    []int32
	minute  []int64
	item    []int32 // taken by machines
	trip    []int32
	bayItem []int32 // offered by bays
	bayTrip []int32
}

// option is a visit that one day of a timeline may hold.
type option struct {
	unit   int32
	set    uint32
	weight int32 // grains on its only day, or on its last day when it is longer
	last   int32
	gain   int64
}

// dayTable holds the visits that can begin on a day and the knapsacks over
// those that end on it.
type dayTable struct {
	short []option // by unit, then weight
	runs  []run32  // where each unit's options lie in short
	long  []option
	kinds []knapsack
	tmp   []option
	sums  []int64
	sets  []uint32
}

type run32 struct{ from, to int32 }

// knapsack is the best gain by grains of room, with what was taken.
type knapsack struct {
	best   []int64
	choice []int16 // [run*(size)+grains] option within the run, -1: none
	runs   []int32
}

func newBounder(s *shop, by way, parallel func(int, func(int))) *bounder {
	b := &bounder{s: s, by: by, parallel: parallel, techFree: append([]int32{}, s.tech...), outFree: append([]int32{}, s.limits...)}
	b.locksAt = make([][]lockRef, len(s.bays))
	b.room = make([]int32, len(s.bays)*s.days)
	b.plain = make([]bool, len(s.bays))
	for i := range s.bays {
		b.plain[i] = true
		copy(b.room[i*s.days:], s.open)
	}
	for u := range s.units {
		b.first = append(b.first, int32(b.atoms))
		b.atoms += len(s.units[u].atoms)
		b.takeLocks(int32(u))
	}
	for i := range b.room {
		b.room[i] = min(b.room[i], b.techFree[i%s.days])
	}
	b.grain = b.chooseGrain()
	b.days = make([]dayTable, s.days)
	b.listActive()
	b.outSum = make([]int64, len(s.groups)*(s.days+1))
	b.use = usage{tech: make([]int64, s.days), out: make([]int32, len(s.limits))}
	if by == byBays {
		b.use.atom = make([]int32, b.atoms)
		return b
	}
	b.kindRoom = make([]int64, len(s.kinds)*s.days)
	for i, m := range b.room {
		b.kindRoom[int(s.bays[i/s.days])*s.days+i%s.days] += int64(max(0, m))
	}
	b.use.minute = make([]int64, len(b.kindRoom))
	if by == byBoth {
		b.placeDays()
		b.use.item, b.use.bayItem = make([]int32, b.itemDays), make([]int32, b.itemDays)
		b.use.trip, b.use.bayTrip = make([]int32, b.tripDays), make([]int32, b.tripDays)
	}
	b.machines = newMachineSide(b, by == byBoth)
	return b
}

// placeDays gives each atom and unit its place among the prices by the day.
func (b *bounder) placeDays() {
	for u := range b.s.units {
		unit := &b.s.units[u]
		b.tripAt = append(b.tripAt, int32(b.tripDays))
		b.tripDays += int(max(0, unit.hi-unit.lo+1))
		for i := range unit.atoms {
			b.itemAt = append(b.itemAt, int32(b.itemDays))
			b.itemDays += int(unit.atoms[i].hi - unit.atoms[i].lo + 1)
		}
	}
}

// fixedCost gives the millicents of a stop of one day before its minutes.
func (b *bounder) fixedCost(u *unit, d int32, y *duals) int64 {
	fixed := (u.trip + u.downtime) * 1000
	for _, t := range u.told {
		if t.day == d {
			fixed -= t.cents * 1000
		}
	}
	out := b.outSum[int(u.group)*(b.s.days+1):]
	return fixed + out[d+1] - out[d]
}

// takeLocks takes what the locked visits of a unit use.
func (b *bounder) takeLocks(u int32) {
	s, unit := b.s, &b.s.units[u]
	for n := range unit.locks {
		l := &unit.locks[n]
		b.plain[l.bay] = false
		b.locksAt[l.bay] = append(b.locksAt[l.bay], lockRef{u, int32(n), l.day})
		left := l.work[0]
		for d := l.day; left > 0; d++ {
			m := min(left, s.open[d])
			left -= m
			b.room[int(l.bay)*s.days+int(d)] -= m
			b.techFree[d] -= m
		}
		for _, k := range s.groups[unit.group].limits {
			for d := l.day; d <= l.last; d++ {
				b.outFree[int(k)*s.days+int(d)]--
			}
		}
	}
}

// chooseGrain gives the largest step that all minutes are multiples of, or
// one that keeps the knapsacks small; rounding minutes down then only widens
// what is allowed.
func (b *bounder) chooseGrain() int32 {
	g, most := int32(0), int32(1)
	for _, m := range b.s.open {
		g, most = gcd(g, m), max(most, m)
	}
	for u := range b.s.units {
		for i := range b.s.units[u].atoms {
			g = gcd(g, b.s.units[u].work[1<<i])
		}
		full := b.s.units[u].work
		g = gcd(g, full[len(full)-1])
	}
	const finest = 160
	return max(g, (most+finest-1)/finest, 1)
}

func gcd(a, b int32) int32 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// listActive lists for each open day the units that may begin a visit on it.
func (b *bounder) listActive() {
	b.active = make([][]int32, b.s.days)
	for u := range b.s.units {
		unit := &b.s.units[u]
		for d := unit.lo; d <= unit.hi; d++ {
			if b.s.open[d] > 0 && b.mayBeOut(unit, d, d) {
				b.active[d] = append(b.active[d], int32(u))
			}
		}
	}
}

// mayBeOut says whether blackouts and limits allow a unit out on all the days.
func (b *bounder) mayBeOut(u *unit, from, to int32) bool {
	g := &b.s.groups[u.group]
	for d := from; d <= to; d++ {
		if g.black[d] {
			return false
		}
		for _, k := range g.limits {
			if b.outFree[int(k)*b.s.days+int(d)] <= 0 {
				return false
			}
		}
	}
	return true
}

// evaluate gives the lower bound of the prices in millicents and leaves what
// the parts use in b.use.
func (b *bounder) evaluate(y *duals) int64 {
	b.sumOut(y)
	total := int64(0)
	for _, m := range y.atom {
		total += m
	}
	for d, m := range y.tech {
		total += m * int64(b.techFree[d])
	}
	for i, m := range y.out {
		if m > 0 {
			total += m * int64(b.outFree[i])
		}
	}
	for i, m := range y.minute {
		total += m * b.kindRoom[i]
	}
	if b.by != byBays {
		total += b.machines.evaluate(y)
	}
	if b.by != byMachines {
		clear(b.use.atom)
		clear(b.use.bayItem)
		clear(b.use.bayTrip)
		if b.by == byBays {
			clear(b.use.tech)
			clear(b.use.out)
		}
		b.parallel(len(b.s.openDays), func(i int) { b.fillDay(b.s.openDays[i], y) })
		total += b.timelines(y)
	}
	return b.s.base*1000 - total
}

// gradient writes by how much more than there is the parts take of what each
// price is for: the way in which raising the price raises the bound.
func (b *bounder) gradient(g []float64) {
	at := 0
	put := func(v float64) { g[at] = v; at++ }
	for d, v := range b.use.tech {
		put(float64(v - int64(b.techFree[d])))
	}
	for i, v := range b.use.out {
		put(float64(v - b.outFree[i]))
	}
	for _, v := range b.use.atom {
		put(float64(v - 1))
	}
	for i, v := range b.use.minute {
		put(float64(v - b.kindRoom[i]))
	}
	for i, v := range b.use.item {
		put(float64(v - b.use.bayItem[i]))
	}
	for i, v := range b.use.trip {
		put(float64(v - b.use.bayTrip[i]))
	}
}

// sumOut prepares the price of being out for each group.
func (b *bounder) sumOut(y *duals) {
	n := b.s.days
	for g := range b.s.groups {
		row := b.outSum[g*(n+1):]
		for d := range n {
			price := int64(0)
			for _, k := range b.s.groups[g].limits {
				price += y.out[int(k)*n+d]
			}
			row[d+1] = row[d] + price
		}
	}
}

// fillDay finds the visits that gain on a day at the prices, and fills the
// knapsacks of each kind of bay.
func (b *bounder) fillDay(d int32, y *duals) {
	t := &b.days[d]
	t.short, t.long, t.runs = t.short[:0], t.long[:0], t.runs[:0]
	size := int(b.s.open[d]/b.grain) + 1
	if len(t.sums) < size {
		t.sums, t.sets = make([]int64, size), make([]uint32, size)
	}
	for _, u := range b.active[d] {
		b.offers(t, d, u, y)
	}
	if t.kinds == nil {
		t.kinds = make([]knapsack, len(b.s.kinds))
	}
	for k := range t.kinds {
		b.pack(t, int32(k), size)
	}
}

// offers adds a unit's visits that begin on day d and gain.
func (b *bounder) offers(t *dayTable, d, u int32, y *duals) {
	unit := &b.s.units[u]
	var act [maxAtoms]uint32
	var gains [maxAtoms]int64
	n, sum := 0, int64(0)
	poor := uint32(0) // atoms that cost, but less than coming at all is worth
	rate, fixed := int64(0), int64(0)
	if b.by == byBays {
		rate, fixed = y.tech[d], b.fixedCost(unit, d, y)
	} else {
		fixed = -y.trip[b.tripAt[u]+d-unit.lo]
	}
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
	most := int32(0)
	e := enumeration{b: b, t: t, u: unit, id: u, d: d, rate: rate, fixed: fixed, act: act[:n], gains: gains[:n], most: &most, y: y}
	e.from(0, 0, 0)
	for ; poor != 0; poor &= poor - 1 {
		i := bits.TrailingZeros32(poor)
		e.act, e.gains = append(act[:0], 1<<i), append(gains[:0], b.reward(u, i, d, y))
		e.from(0, 0, 0)
	}
	from := int32(len(t.short))
	best := int64(0)
	for w := int32(0); w <= most; w++ {
		if g := t.sums[w]; g > best {
			best = g
			t.short = append(t.short, option{unit: u, set: t.sets[w], weight: w, last: d, gain: g})
		}
		t.sums[w] = 0
	}
	if to := int32(len(t.short)); to > from {
		t.runs = append(t.runs, run32{from, to})
	}
}

// reward gives what a bay gets for doing an atom on a day.
func (b *bounder) reward(u int32, i int, d int32, y *duals) int64 {
	at := int(b.first[u]) + i
	a := &b.s.units[u].atoms[i]
	if b.by == byBays {
		return (a.skip-int64(a.cost[d-a.lo]))*1000 - y.atom[at]
	}
	return y.item[b.itemAt[at]+d-a.lo]
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
	most  *int32
	y     *duals
}

func (e *enumeration) from(k int, set uint32, gain int64) {
	room := min(e.b.s.open[e.d], e.b.techFree[e.d])
	for ; k < len(e.act); k++ {
		next, g := set|e.act[k], gain+e.gains[k]
		w := e.u.work[next]
		if w <= e.b.s.open[e.d] {
			if w <= room {
				if net := g - e.fixed - e.rate*int64(w); net > 0 {
					at := w / e.b.grain
					if net > e.t.sums[at] {
						e.t.sums[at], e.t.sets[at] = net, next
						*e.most = max(*e.most, at)
					}
				}
			}
		} else if !e.long(next, g, w) {
			continue
		}
		e.from(k+1, next, g)
	}
}

// long notes a visit over several days; false when no larger one can be.
func (e *enumeration) long(set uint32, gain int64, w int32) bool {
	b, s := e.b, e.b.s
	cost, left, d := e.fixed, w, e.d
	for ; d < int32(s.days); d++ {
		if s.open[d] == 0 {
			continue
		}
		m := min(left, s.open[d])
		if m > b.techFree[d] {
			return false
		}
		if b.by == byBays {
			cost += e.y.tech[d] * int64(m)
		}
		if left -= m; left == 0 {
			break
		}
	}
	if d >= int32(s.days) || !b.mayBeOut(e.u, e.d, d) {
		return false
	}
	if b.by == byBays {
		out := b.outSum[int(e.u.group)*(s.days+1):]
		cost += e.u.downtime*1000*int64(d-e.d) + out[d+1] - out[e.d+1]
	}
	if gain > cost {
		tail := w - (s.before[d] - s.before[e.d])
		e.t.long = append(e.t.long, option{unit: e.id, set: set, weight: tail / b.grain, last: d, gain: gain - cost})
	}
	return true
}

// takes says whether a kind of bay takes a unit.
func (b *bounder) takes(kind int32, u int32) bool {
	return b.s.setHas(int(b.s.units[u].set), kind)
}

// pack fills the knapsack of a kind of bay: at most one visit of each unit.
func (b *bounder) pack(t *dayTable, kind int32, size int) {
	k := &t.kinds[kind]
	if len(k.best) != size {
		k.best = make([]int64, size)
	}
	clear(k.best)
	k.runs, k.choice = k.runs[:0], k.choice[:0]
	for i, r := range t.runs {
		if !b.takes(kind, t.short[r.from].unit) {
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

// unpack books what a knapsack of some room holds.
func (b *bounder) unpack(d int32, kind int32, room int32, times int32) {
	t := &b.days[d]
	k := &t.kinds[kind]
	size := len(k.best)
	c := int(room)
	for i := len(k.runs) - 1; i >= 0; i-- {
		if n := k.choice[i*size+c]; n >= 0 {
			o := &t.short[t.runs[k.runs[i]].from+int32(n)]
			b.count(o, d, times)
			c -= int(o.weight)
		}
	}
}

// count books what a visit takes of what is priced.
func (b *bounder) count(o *option, d int32, times int32) {
	s, u := b.s, &b.s.units[o.unit]
	b.countAtoms(o, d, times)
	if b.by == byBoth {
		b.use.bayTrip[b.tripAt[o.unit]+d-u.lo] += times
		return
	}
	left := u.work[o.set]
	for e := d; left > 0; e++ {
		m := min(left, s.open[e])
		left -= m
		b.use.tech[e] += int64(m) * int64(times)
	}
	for _, k := range s.groups[u.group].limits {
		for e := d; e <= o.last; e++ {
			b.use.out[int(k)*s.days+int(e)] += times
		}
	}
}

func (b *bounder) countAtoms(o *option, d int32, times int32) {
	for set := o.set; set != 0; set &= set - 1 {
		i := bits.TrailingZeros32(set)
		at := int(b.first[o.unit]) + i
		if b.by == byBays {
			b.use.atom[at] += times
		} else {
			b.use.bayItem[b.itemAt[at]+d-b.s.units[o.unit].atoms[i].lo] += times
		}
	}
}
