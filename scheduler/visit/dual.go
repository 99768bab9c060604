package visit

import "math/bits"

// The lower bound: Lagrangian relaxation (Geoffrion 1974, "Lagrangean
// relaxation for integer programming"). What machines share is priced, and
// any prices give a valid bound, since a plan that keeps the rules pays for no
// more than there is. There are two ways to take it apart:
//
//   - by machines: each machine is planned alone, exactly, and pays for the
//     minutes of bays and technicians and the places under limits it takes;
//   - by bays: each bay is planned alone, exactly, as a timeline of visits
//     that fills its days like knapsacks, and pays for each item it does,
//     since an item can be done only once. Of machines under a limit that
//     leaves room for one, a day holds at most one.
//
// By bays, sets of items of one machine can be priced too: every item is done
// at most once, so that of the items of a set C no plan does more than
// |C|/2 pairs together, and the sum over its visits v of floor(|v and C|/2) is
// at most floor(|C|/2). These are subset-row inequalities (Jepsen, Petersen,
// Spoorendonk and Pisinger 2008, "Subset-row inequalities applied to the
// vehicle-routing problem with time windows"), which are Chvatal's cuts of
// rank 1. Since a visit is of one machine, such a price only lessens what a
// visit gains, and the knapsacks stay as they are.
//
// Prices are whole millicents and all sums are integers, so that a bound can
// be recomputed exactly from stored prices.

// way is one of them.
type way string

const (
	byMachines way = "machines"
	byBays     way = "bays"
)

// duals are prices in millicents, one after the other in all.
type duals struct {
	all    []int64
	tech   []int64 // by day: a technician minute
	out    []int64 // [limit*days+day]: a machine out
	atom   []int64 // by bays: doing an atom, in the order of the units
	minute []int64 // by machines: [kind*days+day] a minute in a kind of bay
	cut    []int64 // by bays: doing two items of a set together, in the order of bounder.cuts
}

// newDuals makes prices of 0 for a way.
func (b *bounder) newDuals(by way) *duals {
	sizes := []int{b.s.days, len(b.outFree), 0, 0, 0}
	switch by {
	case byBays:
		sizes[2], sizes[4] = b.atoms, len(b.cuts)
	case byMachines:
		sizes[3] = len(b.kindRoom)
	}
	n := 0
	for _, k := range sizes {
		n += k
	}
	y := &duals{all: make([]int64, n)}
	at := 0
	for i, part := range []*[]int64{&y.tech, &y.out, &y.atom, &y.minute, &y.cut} {
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
	active   [][]int32   // by open day: units that might visit
	techFree []int32     // technician minutes less those of locked visits
	outFree  []int32     // limits less locked visits
	room     []int32     // [bay*days+day] minutes of a bay less locked visits, at most the technicians'
	plain    []bool      // by bay: without locks, so that it equals others of its kind
	joinable [][]lockRef // by day: locked visits that end on it and may become longer
	outSum   []int64     // [group*(days+1)+day] price of being out on the days before
	days     []dayTable
	use      usage
	by       way
	members  []int       // by limit: units that it is about
	lines    []*timeline // of the bays
	cuts     []cut       // sets of items priced together
	penalty  [][]int64   // [unit][set] what the cuts take of a visit's gain; nil: nothing

	kindRoom []int64 // [kind*days+day] minutes of all bays of a kind
	machines *machineSide
}

// lockRef names a locked visit.
type lockRef struct{ unit, lock int32 }

// cut is a set of items of one machine, no more than half of which can be done
// in pairs.
type cut struct {
	unit int32
	set  uint32
}

// halves gives how often a visit counts in a cut.
func (c *cut) halves(set uint32) int64 { return int64(bits.OnesCount32(set&c.set) / 2) }

// usage is what the best plans of the parts take of what is priced.
type usage struct {
	tech   []int64
	out    []int32
	atom   []int32
	minute []int64
	cut    []int64
}

func newBounder(s *shop, by way, parallel func(int, func(int))) *bounder {
	b := &bounder{s: s, by: by, parallel: parallel, techFree: append([]int32{}, s.tech...), outFree: append([]int32{}, s.limits...)}
	b.joinable = make([][]lockRef, s.days)
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
		b.mergeRuns()
		return b
	}
	b.kindRoom = make([]int64, len(s.kinds)*s.days)
	for i, m := range b.room {
		b.kindRoom[int(s.bays[i/s.days])*s.days+i%s.days] += int64(max(0, m))
	}
	b.use.minute = make([]int64, len(b.kindRoom))
	b.machines = newMachineSide(b)
	return b
}

// fixedCost gives the millicents of a stop of one day before its minutes.
func (b *bounder) fixedCost(u *unit, d int32) int64 {
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
		if l.joins != 0 {
			b.joinable[l.last] = append(b.joinable[l.last], lockRef{u, int32(n)})
		}
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
		for i := range b.s.units[u].locks {
			g = gcd(g, b.s.units[u].locks[i].work[0])
		}
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

// mayBeOut says whether blackouts, limits and the unit's own locked visits
// allow it out on all the days.
func (b *bounder) mayBeOut(u *unit, from, to int32) bool {
	for i := range u.locks {
		if u.locks[i].day <= to && u.locks[i].last >= from {
			return false
		}
	}
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
	if b.by == byMachines {
		total += b.machines.evaluate(y)
	} else {
		clear(b.use.atom)
		clear(b.use.tech)
		clear(b.use.out)
		clear(b.use.cut)
		b.penalize(y)
		for i, m := range y.cut {
			total += m * b.cuts[i].halves(b.cuts[i].set)
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
	for i, v := range b.use.cut {
		put(float64(v - b.cuts[i].halves(b.cuts[i].set)))
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
