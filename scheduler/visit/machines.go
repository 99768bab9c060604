package visit

import "math/bits"

// The machines' side of the bound: each unit is planned alone, exactly, and
// pays for the minutes, technicians and places under limits that it takes.

// machineSide evaluates it.
type machineSide struct {
	b     *bounder
	works []*machineWork
	every int // above 1: only every so manieth unit is planned and counts for so many, which is quick and no bound
}

// machineWork plans a share of the units and counts what they use.
type machineWork struct {
	divider
	b      *bounder
	y      *duals
	u      *unit
	total  int64
	minute []int64 // [kind*days+day] minutes used
	tech   []int64
	out    []int32

	d       int32
	act     []int32
	actGain []int64
	poor    uint32 // atoms that cost, but less than coming at all is worth
	kind    []int8 // [set] kind of bay of the best stop
	fixed   int64
	rate    int64   // least millicents a minute on the day
	cheap   int8    // kind that has it
	least   []int64 // by day: the least rate on it
	lows    []int64 // by day: the least rate from it over the reach of the largest visit
}

const workShares = 8 // shares of the units, fixed so that sums do not depend on cores

func newMachineSide(b *bounder) *machineSide {
	m := &machineSide{b: b, every: 1}
	s := b.s
	for range workShares {
		w := &machineWork{b: b, divider: newDivider(), minute: make([]int64, len(s.kinds)*s.days), tech: make([]int64, s.days),
			out: make([]int32, len(b.outFree)), kind: make([]int8, 1<<maxAtoms), least: make([]int64, s.days), lows: make([]int64, s.days)}
		m.works = append(m.works, w)
	}
	return m
}

// evaluate gives the gain of all units at the prices, in millicents, and
// leaves what they use in the bounder's usage.
func (m *machineSide) evaluate(y *duals) int64 {
	s := m.b.s
	m.b.parallel(workShares, func(i int) {
		w := m.works[i]
		w.y, w.total = y, 0
		clear(w.minute)
		clear(w.tech)
		clear(w.out)
		for u := i; u < len(s.units); u += workShares * m.every {
			w.unit(int32(u))
		}
	})
	use := &m.b.use
	clear(use.minute)
	clear(use.tech)
	clear(use.out)
	total := int64(0)
	for _, w := range m.works {
		total += w.total * int64(m.every)
		for i, v := range w.minute {
			use.minute[i] += v * int64(m.every)
		}
		for i, v := range w.tech {
			use.tech[i] += v * int64(m.every)
		}
		for i, v := range w.out {
			use.out[i] += v * int32(m.every)
		}
	}
	return total
}

// unit plans one unit.
func (w *machineWork) unit(id int32) {
	w.u = &w.b.s.units[id]
	if len(w.u.atoms) == 0 {
		return
	}
	w.reset()
	w.rates()
	for d := w.u.lo; d <= w.u.hi; d++ {
		if w.openDay(d) {
			w.sumUp(0, 0, 0)
			w.loneStops()
		}
	}
	full := uint32(1)<<len(w.u.atoms) - 1
	w.divide(full)
	w.total += w.withLocks(0, full, true)
}

// rates finds for each day the least rate, and over the days that a visit
// begun on it may reach: an item that does not earn that much a minute never
// helps a visit.
func (w *machineWork) rates() {
	s, u := w.b.s, w.u
	most := u.work[len(u.work)-1]
	to := s.end(max(0, min(u.hi, int32(s.days)-1)), most)
	for d := u.lo; d <= min(to, int32(s.days)-1); d++ {
		best := int64(1) << 60
		for _, k := range s.sets[u.set].kinds {
			best = min(best, w.y.minute[int(k)*s.days+int(d)])
		}
		w.least[d] = best + w.y.tech[d]
	}
	for d := u.lo; d <= u.hi; d++ {
		low := w.least[d]
		if s.open[d] > 0 && most > s.open[d] {
			for e := d + 1; e < int32(s.days) && s.before[e]-s.before[d] < most; e++ {
				if s.open[e] > 0 {
					low = min(low, w.least[e])
				}
			}
		}
		w.lows[d] = low
	}
}

// openDay makes ready for a day; false when nothing begun on it can gain.
func (w *machineWork) openDay(d int32) bool {
	b, s, u := w.b, w.b.s, w.u
	if s.open[d] == 0 || len(s.sets[u.set].kinds) == 0 || !b.mayBeOut(u, d, d) {
		return false
	}
	w.d, w.rate = d, w.least[d]
	w.fixed = b.fixedCost(u, d)
	w.act, w.actGain, w.poor = w.act[:0], w.actGain[:0], 0
	sum := int64(0)
	for i := range u.atoms {
		a := &u.atoms[i]
		if d < a.lo || d > a.hi {
			continue
		}
		g := (a.skip - int64(a.cost[d-a.lo])) * 1000
		if net := g - w.lows[d]*int64(a.own); net > 0 {
			w.act = append(w.act, int32(i))
			w.actGain = append(w.actGain, g)
			sum += net
		} else if net > w.fixed {
			w.poor |= 1 << i
		}
	}
	if w.poor == 0 && (len(w.act) == 0 || sum <= w.fixed) {
		return false
	}
	for _, k := range s.sets[u.set].kinds {
		if w.y.minute[int(k)*s.days+int(d)]+w.y.tech[d] == w.rate {
			w.cheap = int8(k)
			break
		}
	}
	return true
}

// loneStops notes stops for one atom that costs, where coming at all is worth
// more than it costs; in any larger set it would be left out.
func (w *machineWork) loneStops() {
	for set := w.poor; set != 0; set &= set - 1 {
		i := bits.TrailingZeros32(set)
		a := &w.u.atoms[i]
		g := (a.skip - int64(a.at(w.d))) * 1000
		w.act, w.actGain = append(w.act[:0], int32(i)), append(w.actGain[:0], g)
		w.sumUp(0, 0, 0)
	}
}

func (w *machineWork) sumUp(k int, set uint32, gain int64) {
	for ; k < len(w.act); k++ {
		next := set | 1<<w.act[k]
		g := gain + w.actGain[k]
		m := w.u.work[next]
		if m <= w.b.s.open[w.d] {
			if net := g - w.fixed - w.rate*int64(m); net > w.gain[next] {
				w.note(next, net, w.d)
				w.kind[next] = w.cheap
			}
		} else if !w.longer(next, g, m) {
			continue
		}
		w.sumUp(k+1, next, g)
	}
}

// longer notes a visit over several days; false when no larger one can be.
func (w *machineWork) longer(set uint32, gain int64, minutes int32) bool {
	b, s, u := w.b, w.b.s, w.u
	last := s.end(w.d, minutes)
	if last >= int32(s.days) || !b.mayBeOut(u, w.d, last) {
		return false
	}
	out := b.outSum[int(u.group)*(s.days+1):]
	gain -= w.fixed + u.downtime*1000*int64(last-w.d) + out[last+1] - out[w.d+1]
	if gain <= w.gain[set] {
		return true
	}
	for _, k := range s.sets[u.set].kinds {
		cost, left := int64(0), minutes
		for d := w.d; left > 0; d++ {
			m := min(left, s.open[d])
			left -= m
			cost += int64(m) * (w.y.minute[int(k)*s.days+int(d)] + w.y.tech[d])
		}
		if net := gain - cost; net > w.gain[set] {
			w.note(set, net, w.d)
			w.kind[set] = int8(k)
		}
	}
	return true
}

// withLocks gives the best gain of the atoms of a set when the locked visits
// from the n-th on may be joined; book counts what it uses.
func (w *machineWork) withLocks(n int, set uint32, book bool) int64 {
	if n == len(w.u.locks) {
		if book {
			w.stops(set, func(pick uint32) { w.count(pick) })
		}
		return w.solve(set)
	}
	l := &w.u.locks[n]
	best, pick := w.withLocks(n+1, set, false), uint32(0)
	may := set & l.joins
	for join := may; join != 0; join = (join - 1) & may {
		if g, ok := w.joinGain(l, join); ok && g > 0 {
			if g += w.withLocks(n+1, set&^join, false); g > best {
				best, pick = g, join
			}
		}
	}
	if book {
		if pick != 0 {
			w.countJoin(l, pick)
		}
		w.withLocks(n+1, set&^pick, true)
	}
	return best
}

// joinGain gives what atoms gain by joining a locked visit; false when it
// would not end in time.
func (w *machineWork) joinGain(l *lock, join uint32) (int64, bool) {
	b, s, u := w.b, w.b.s, w.u
	last := s.end(l.day, l.work[join])
	if last >= int32(s.days) || !b.mayBeOut(u, l.last+1, last) {
		return 0, false
	}
	out := b.outSum[int(u.group)*(s.days+1):]
	gain := u.atomGain(join, l.day)*1000 - u.downtime*1000*int64(last-l.last) - (out[last+1] - out[l.last+1])
	kind := int(s.bays[l.bay])
	b.extra(l, join, func(d, m int32) {
		gain -= int64(m) * (w.y.minute[kind*s.days+int(d)] + w.y.tech[d])
	})
	return gain, true
}

// extra calls fn for the minutes by which joining makes a locked visit longer.
func (b *bounder) extra(l *lock, join uint32, fn func(d, m int32)) {
	left, had := l.work[join], l.work[0]
	for d := l.day; left > 0; d++ {
		m, h := min(left, b.s.open[d]), min(had, b.s.open[d])
		left -= m
		had -= h
		if m > h {
			fn(d, m-h)
		}
	}
}

// count books what a stop uses.
func (w *machineWork) count(set uint32) {
	s, u := w.b.s, w.u
	day, kind := w.day[set], int(w.kind[set])
	left, last := u.work[set], w.day[set]
	for d := day; left > 0; d++ {
		m := min(left, s.open[d])
		left -= m
		w.minute[kind*s.days+int(d)] += int64(m)
		w.tech[d] += int64(m)
		last = d
	}
	for _, k := range s.groups[u.group].limits {
		for d := day; d <= last; d++ {
			w.out[int(k)*s.days+int(d)]++
		}
	}
}

func (w *machineWork) countJoin(l *lock, join uint32) {
	s := w.b.s
	kind := int(s.bays[l.bay])
	w.b.extra(l, join, func(d, m int32) {
		w.minute[kind*s.days+int(d)] += int64(m)
		w.tech[d] += int64(m)
	})
	last := s.end(l.day, l.work[join])
	for _, k := range s.groups[w.u.group].limits {
		for d := l.last + 1; d <= last; d++ {
			w.out[int(k)*s.days+int(d)]++
		}
	}
}
