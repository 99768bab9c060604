package visit

import (
	"math/bits"
	"slices"
)

// What a plan that costs no more than some cents can be made of is listed
// here, whole: by the prices of a bound, a plan with a block in it costs at
// least the bound, and besides what the best timeline of the block's bay loses
// when that block is in it,
//
//	bound + from(0) - (before(first day) + gain of the block + from(last day + 1)),
//
// so that blocks for which this is too much need not be looked at (route
// enumeration: Baldacci, Christofides and Mingozzi 2008, "An exact algorithm
// for the vehicle routing problem based on the set partitioning formulation
// with additional cuts"). A list that is cut short proves nothing.
type lister struct {
	m      *master
	line   int32
	t      *timeline
	need   int64   // millicents that before, block and from must come to
	before []int64 // best gain before a day
	blocks []block
	steps  int
	whole  bool // nothing was cut short

	// one day
	d     int32
	runs  []listRun
	rest  [][]int64 // [run][grains] the most that runs from that one on can gain
	long  *option
	taken []option
}

type listRun struct {
	id     int32 // as runOf gives it, -1: joins a locked visit
	visits []option
	size   []int32 // minutes of each visit on the day
}

// Bounds of one list.
const (
	mostBlocks = 60_000
	mostSteps  = 6_000_000
)

// list gives the blocks of all plans that cost at most some cents; false when
// it was cut short.
func (m *master) list(cents int64) ([]block, bool) {
	bound := m.b.evaluate(m.center)
	var blocks []block
	for i, t := range m.b.lines {
		l := &lister{m: m, line: int32(i), t: t, need: bound - cents*1000 + t.from[0], before: t.before(), whole: true, blocks: blocks}
		for _, d := range m.b.s.openDays {
			l.day(d)
		}
		if blocks = l.blocks; !l.whole {
			return blocks, false
		}
	}
	return blocks, true
}

// day lists the blocks that end on a day. Long ones must begin on it to be
// found beside what is listed for their last day, so that each day keeps the
// long visits that end on it.
func (l *lister) day(d int32) {
	longs := l.longsTo(d)
	room := l.t.room(d)
	least := l.need - l.before[d] - l.t.from[d+1]
	for i := range longs {
		o := &longs[i]
		least = min(least, l.need-l.before[o.day]-o.gain-l.t.from[d+1])
	}
	l.d, l.runs = d, nil
	l.visitsOn(d, room, least)
	l.tables(d)
	l.long, l.taken = nil, nil
	l.fill(0, room, l.need-l.before[d]-l.t.from[d+1])
	for i := range longs {
		o := &longs[i]
		l.long, l.taken = o, []option{*o}
		l.fill(0, room-l.m.b.lastMinutes(o), l.need-l.before[o.day]-o.gain-l.t.from[d+1])
	}
}

// priced gives the millicents that a visit gains at the prices.
func (m *master) priced(o *option) int64 {
	b, y := m.b, m.center
	gain := b.trueGain(o)*1000 - b.penaltyOf(o.unit, o.set)
	for set := o.set; set != 0; set &= set - 1 {
		gain -= y.atom[b.first[o.unit]+int32(bits.TrailingZeros32(set))]
	}
	b.minutes(o, func(d, minutes int32) { gain -= y.tech[d] * int64(minutes) })
	from := o.day
	if o.lock >= 0 {
		from++
	}
	out := b.outSum[int(b.s.units[o.unit].group)*(b.s.days+1):]
	return gain - (out[o.last+1] - out[from])
}

// visitsOn lists by run the visits of one day that may be in a block.
func (l *lister) visitsOn(d, room int32, least int64) {
	b, s := l.m.b, l.m.b.s
	add := func(id int32, o option) {
		if o.last != d {
			return
		}
		minutes := b.lastMinutes(&o)
		if minutes > room {
			return
		}
		if o.gain = l.m.priced(&o); o.gain+l.t.pack(d).best[(room-minutes)/b.grain] < least {
			return
		}
		if n := len(l.runs); n == 0 || l.runs[n-1].id != id || id < 0 && l.runs[n-1].visits[0].lock != o.lock {
			l.runs = append(l.runs, listRun{id: id})
		}
		r := &l.runs[len(l.runs)-1]
		r.visits, r.size = append(r.visits, o), append(r.size, minutes)
	}
	for _, u := range b.active[d] {
		if b.takes(l.t.kind, u) {
			eachSet(may(&s.units[u], d), func(set uint32) {
				add(b.runOf(u, d), option{unit: u, lock: -1, set: set, day: d, last: s.end(d, s.units[u].work[set])})
			})
		}
	}
	for _, ref := range b.joinable[d] {
		if lk := &s.units[ref.unit].locks[ref.lock]; lk.bay == l.t.bay {
			eachSet(lk.joins, func(set uint32) {
				add(-2-ref.unit, option{unit: ref.unit, lock: ref.lock, set: set, day: d, last: s.end(lk.day, lk.work[set])})
			})
		}
	}
}

// may gives the atoms that may be done on a day.
func may(u *unit, d int32) uint32 {
	set := uint32(0)
	for i := range u.atoms {
		if d >= u.atoms[i].lo && d <= u.atoms[i].hi {
			set |= 1 << i
		}
	}
	return set
}

// eachSet calls fn for every set within a set but the empty one.
func eachSet(within uint32, fn func(set uint32)) {
	for set := within; set != 0; set = (set - 1) & within {
		fn(set)
	}
}

// longsTo lists the visits over several days that end on a day and may be in a
// block.
func (l *lister) longsTo(d int32) []option {
	b, s := l.m.b, l.m.b.s
	var out []option
	add := func(o option, whole int32) {
		if o.last != d || !l.t.mayHold(&o, l.t.clearUntil(o.day)) {
			return
		}
		room := l.t.room(d) - b.lastMinutes(&o)
		if room < 0 || !b.enough(&o, whole) {
			return
		}
		from := o.day
		if o.lock >= 0 {
			from++
		}
		if !b.mayBeOut(&s.units[o.unit], from, o.last) {
			return
		}
		if o.gain = l.m.priced(&o); l.before[o.day]+o.gain+l.t.pack(d).best[room/b.grain]+l.t.from[d+1] >= l.need {
			out = append(out, o)
		}
	}
	for e := d - 1; e >= 0 && s.before[d]-s.before[e+1] <= l.reach(); e-- {
		if s.open[e] == 0 {
			continue
		}
		for _, u := range b.active[e] {
			eachSet(may(&s.units[u], e), func(set uint32) {
				if w := s.units[u].work[set]; w > s.open[e] {
					add(option{unit: u, lock: -1, set: set, day: e, last: s.end(e, w)}, s.open[e])
				}
			})
		}
		for _, ref := range b.joinable[e] {
			lk := &s.units[ref.unit].locks[ref.lock]
			eachSet(lk.joins, func(set uint32) {
				if last := s.end(lk.day, lk.work[set]); last > e {
					add(option{unit: ref.unit, lock: ref.lock, set: set, day: e, last: last}, s.before[e+1]-s.before[lk.day]-lk.work[0])
				}
			})
		}
	}
	return out
}

// reach gives the most minutes of any visit.
func (l *lister) reach() int32 {
	most := int32(0)
	for u := range l.m.b.s.units {
		unit := &l.m.b.s.units[u]
		most = max(most, unit.work[len(unit.work)-1])
		for i := range unit.locks {
			most = max(most, unit.locks[i].work[len(unit.locks[i].work)-1])
		}
	}
	return most
}

// enough says whether the technicians suffice for a visit over several days
// that takes some minutes of its first, and whether those are left in its bay.
func (b *bounder) enough(o *option, first int32) bool {
	ok := true
	b.minutes(o, func(d, minutes int32) {
		ok = ok && minutes <= b.techFree[d] && (d != o.day || minutes == first)
	})
	if ok && o.lock >= 0 {
		bay := b.s.units[o.unit].locks[o.lock].bay
		ok = b.room[int(bay)*b.s.days+int(o.day)] >= first
	}
	return ok
}

// tables sorts the day's runs by gain and sums up what they can still come to.
func (l *lister) tables(d int32) {
	grain := l.m.b.grain
	size := int(l.m.b.s.open[d]/grain) + 1
	l.rest = make([][]int64, len(l.runs)+1)
	l.rest[len(l.runs)] = make([]int64, size)
	for r := len(l.runs) - 1; r >= 0; r-- {
		run := &l.runs[r]
		order := make([]int, len(run.visits))
		for i := range order {
			order[i] = i
		}
		slices.SortStableFunc(order, func(a, b int) int { return int(max(-1, min(1, run.visits[b].gain-run.visits[a].gain))) })
		sorted := listRun{id: run.id}
		after := l.rest[r+1]
		row := append([]int64{}, after...)
		for _, i := range order {
			o, w := run.visits[i], int(run.size[i]/grain)
			sorted.visits, sorted.size = append(sorted.visits, o), append(sorted.size, run.size[i])
			for c := w; c < size; c++ {
				row[c] = max(row[c], after[c-w]+o.gain)
			}
		}
		l.runs[r], l.rest[r] = sorted, row
	}
}

// fill puts visits of the runs from the r-th on into what is left of the day,
// wherever they can still come to least.
func (l *lister) fill(r int, room int32, least int64) {
	if l.steps++; l.steps > mostSteps || len(l.blocks) > mostBlocks {
		l.whole = false
		return
	}
	if !l.whole || l.rest[r][room/l.m.b.grain] < least {
		return
	}
	if r == len(l.runs) {
		l.keep()
		return
	}
	run := &l.runs[r]
	if l.long == nil || l.m.b.runOf(l.long.unit, l.d) != run.id {
		for i := range run.visits {
			if o := &run.visits[i]; o.gain+l.rest[r+1][room/l.m.b.grain] < least {
				break // sorted by gain
			} else if run.size[i] <= room {
				l.taken = append(l.taken, *o)
				l.fill(r+1, room-run.size[i], least-o.gain)
				l.taken = l.taken[:len(l.taken)-1]
			}
		}
	}
	l.fill(r+1, room, least)
}

// keep notes a block unless it breaks a limit by itself.
func (l *lister) keep() {
	if len(l.taken) == 0 {
		return
	}
	from := l.d
	if l.long != nil {
		from = l.long.day
	}
	bl := l.m.newBlock(int(l.line), from, l.d, slices.Clone(l.taken))
	for i := range bl.visits {
		o := &bl.visits[i]
		for d := o.day; d <= o.last; d++ {
			for _, k := range l.m.b.s.groups[l.m.b.s.units[o.unit].group].limits {
				r := row{rowKey: rowKey{kind: rowOut, at: k, day: d}}
				if len(bl.visits) > 1 && l.m.coef(&r, &bl) > l.m.rightSide(&r) {
					return
				}
			}
		}
	}
	l.blocks = append(l.blocks, bl)
}
