package visit

import "math/bits"

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
		cost += e.y.tech[d] * int64(m)
		if left -= m; left == 0 {
			break
		}
	}
	if d >= int32(s.days) || !b.mayBeOut(e.u, e.d, d) {
		return false
	}
	out := b.outSum[int(e.u.group)*(s.days+1):]
	cost += e.u.downtime*1000*int64(d-e.d) + out[d+1] - out[e.d+1]
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
	b.countAtoms(o, times)
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

func (b *bounder) countAtoms(o *option, times int32) {
	for set := o.set; set != 0; set &= set - 1 {
		b.use.atom[b.first[o.unit]+int32(bits.TrailingZeros32(set))] += times
	}
}
