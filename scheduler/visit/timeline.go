package visit

import "math/bits"

// timelines finds the best timeline of every bay and gives their gain; bays
// of a kind without locks are alike and planned once.
func (b *bounder) timelines(y *duals) int64 {
	total := int64(0)
	done := make([]bool, len(b.s.kinds))
	for bay, kind := range b.s.bays {
		times := int32(1)
		if b.plain[bay] {
			if done[kind] {
				continue
			}
			done[kind] = true
			times = 0
			for _, other := range b.s.kinds[kind].bays {
				if b.plain[other] {
					times++
				}
			}
		}
		tl := timeline{b: b, bay: int32(bay), kind: kind, times: times, y: y}
		total += tl.best() * int64(times)
	}
	return total
}

// timeline is the plan of one bay: day by day, either a knapsack of visits
// that end the same day, or one visit that fills days and ends on a later
// one, whose rest of the day is a knapsack again.
type timeline struct {
	b     *bounder
	bay   int32
	kind  int32
	times int32
	y     *duals
	from  []int64 // best gain from each day on
	long  []int32 // the long visit begun on each day, -1: none
	joins map[int32][]option
}

func (t *timeline) best() int64 {
	b, s := t.b, t.b.s
	t.listJoins()
	t.from, t.long = make([]int64, s.days+1), make([]int32, s.days)
	for d := int32(s.days) - 1; d >= 0; d-- {
		t.long[d] = -1
		if s.open[d] == 0 {
			t.from[d] = t.from[d+1]
			continue
		}
		best := t.value(d, 0) + t.from[d+1]
		if t.room(d) == s.open[d] {
			clear := t.clearUntil(d)
			for i := range b.days[d].long {
				o := &b.days[d].long[i]
				if o.last > clear || !b.takes(t.kind, o.unit) || o.weight*b.grain > t.room(o.last) {
					continue
				}
				if g := o.gain + t.value(o.last, o.weight) + t.from[o.last+1]; g > best {
					best, t.long[d] = g, int32(i)
				}
			}
		}
		t.from[d] = best
	}
	t.book()
	return t.from[0]
}

// room gives the minutes of the bay on a day that locked visits leave.
func (t *timeline) room(d int32) int32 { return max(0, t.b.room[int(t.bay)*t.b.s.days+int(d)]) }

// clearUntil gives the last day on which a visit begun on day d can end.
func (t *timeline) clearUntil(d int32) int32 {
	for e := d + 1; e < int32(t.b.s.days); e++ {
		if t.b.s.open[e] > 0 && t.room(e) < t.b.s.open[e] {
			return e
		}
	}
	return int32(t.b.s.days) - 1
}

// value gives the best gain within a day of which some grains are used.
func (t *timeline) value(d, used int32) int64 {
	room := t.room(d)/t.b.grain - used
	g, _ := t.withJoins(d, room)
	return g
}

// withJoins gives the best gain of a day's room and which of the ways to join
// its locked visits it takes, -1 for none.
func (t *timeline) withJoins(d, room int32) (int64, int) {
	if room < 0 {
		return -1 << 50, -1
	}
	k := t.b.days[d].kinds[t.kind].best
	best, pick := k[room], -1
	for i, o := range t.joins[d] {
		if o.weight <= room {
			if g := o.gain + k[room-o.weight]; g > best {
				best, pick = g, i
			}
		}
	}
	return best, pick
}

// book follows the best timeline.
func (t *timeline) book() {
	b, s := t.b, t.b.s
	used := int32(0)
	for d := int32(0); d < int32(s.days); d++ {
		if s.open[d] == 0 {
			continue
		}
		if used == 0 && t.long[d] >= 0 {
			o := &b.days[d].long[t.long[d]]
			b.count(o, d, t.times)
			d = o.last
			t.bookDay(d, o.weight)
			continue
		}
		t.bookDay(d, 0)
	}
}

func (t *timeline) bookDay(d, used int32) {
	room := t.room(d)/t.b.grain - used
	_, pick := t.withJoins(d, room)
	if pick >= 0 {
		o := &t.joins[d][pick]
		t.b.countAtoms(o, t.times)
		t.b.use.tech[d] += int64(o.weight*t.b.grain) * int64(t.times)
		room -= o.weight
	}
	t.b.unpack(d, t.kind, room, t.times)
}

// listJoins lists, for each locked visit of the bay, what may join it. A
// visit of one day takes the room of its day; where it grows over the day's
// end, or is longer anyway, the minutes beyond are left out of the bound.
func (t *timeline) listJoins() {
	b, s := t.b, t.b.s
	if b.plain[t.bay] {
		return
	}
	t.joins = map[int32][]option{}
	for _, ref := range b.locksAt[t.bay] {
		u := &s.units[ref.unit]
		l := &u.locks[ref.lock]
		var opts []option
		for set := l.joins; set != 0; set = (set - 1) & l.joins {
			last := s.end(l.day, l.work[set])
			if last >= int32(s.days) {
				continue
			}
			gain, more := int64(0), int32(0)
			for rest := set; rest != 0; rest &= rest - 1 {
				gain += b.reward(ref.unit, bits.TrailingZeros32(rest), l.day, t.y)
			}
			if l.last == l.day {
				more = min(l.work[set], s.open[l.day]) - l.work[0]
			}
			gain -= u.downtime*1000*int64(last-l.last) + t.y.tech[l.day]*int64(more)
			if gain > 0 {
				opts = append(opts, option{unit: ref.unit, set: set, weight: more / b.grain, last: last, gain: gain})
			}
		}
		t.joins[l.day] = mergeJoins(t.joins[l.day], opts)
	}
}

// mergeJoins keeps the best way to join of each weight. Two locked visits on
// one day are joined independently: the better of both and either is bounded
// by their sum.
func mergeJoins(a, b []option) []option {
	if len(a) == 0 {
		return b
	}
	if len(b) == 0 {
		return a
	}
	// Rare: let the second join without taking room, at its best.
	best := int64(0)
	for i := range b {
		best = max(best, b[i].gain)
	}
	for i := range a {
		a[i].gain += best
	}
	return append(a, option{unit: b[0].unit, gain: best})
}
