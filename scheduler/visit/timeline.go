package visit

// timelines finds the best timeline of every bay and gives their gain; bays
// of a kind without locks are alike and planned once.
func (b *bounder) timelines(y *duals) int64 {
	total := int64(0)
	if b.lines == nil {
		b.lines = b.bayLines()
	}
	for _, t := range b.lines {
		total += t.best() * int64(t.times)
		t.follow(func(_, _ int32, visits []option) {
			for i := range visits {
				b.count(&visits[i], t.times)
			}
		})
	}
	return total
}

// bayLines gives a timeline for each bay; for those of a kind without locks,
// one that counts for all of them.
func (b *bounder) bayLines() []*timeline {
	var lines []*timeline
	plain := make([]*timeline, len(b.s.kinds))
	for bay, kind := range b.s.bays {
		if b.plain[bay] && plain[kind] != nil {
			plain[kind].times++
			continue
		}
		t := &timeline{b: b, bay: int32(bay), kind: kind, times: 1}
		if b.plain[bay] {
			plain[kind] = t
		}
		lines = append(lines, t)
	}
	return lines
}

// timeline is the plan of one bay: day by day, either a knapsack of visits
// that end the same day, or one visit that fills days and ends on a later
// one, whose rest of the day is a knapsack again.
type timeline struct {
	b     *bounder
	bay   int32
	kind  int32
	times int32
	from  []int64 // best gain from each day on
	long  []int32 // the long visit begun on each day, -1: none
	idle  []int64 // gain of visits without minutes on the days before, which go beside a long one
}

func (t *timeline) best() int64 {
	b, s := t.b, t.b.s
	t.from, t.long, t.idle = make([]int64, s.days+1), make([]int32, s.days), make([]int64, s.days+1)
	for _, d := range s.openDays {
		t.idle[d+1] = t.pack(d).best[0]
	}
	for d := range s.days {
		t.idle[d+1] += t.idle[d]
	}
	for d := int32(s.days) - 1; d >= 0; d-- {
		t.long[d] = -1
		if s.open[d] == 0 {
			t.from[d] = t.from[d+1]
			continue
		}
		best := t.pack(d).best[t.room(d)/b.grain] + t.from[d+1]
		clear := t.clearUntil(d)
		for i := range b.days[d].long {
			o := &b.days[d].long[i]
			if !t.mayHold(o, clear) {
				continue
			}
			room := t.room(o.last)/b.grain - o.weight
			g := o.gain + t.idle[o.last] - t.idle[d] + t.from[o.last+1]
			if g+t.pack(o.last).best[room] <= best {
				continue // what the visit's own run adds to its last day is still in that
			}
			if g += t.beside(o).best[room]; g > best {
				best, t.long[d] = g, int32(i)
			}
		}
		t.from[d] = best
	}
	return t.from[0]
}

// mayHold says whether the bay can hold a long visit, when those begun on its
// day can end on clear at the latest.
func (t *timeline) mayHold(o *option, clear int32) bool {
	b := t.b
	if o.last > clear || o.weight*b.grain > t.room(o.last) {
		return false
	}
	if o.lock >= 0 {
		return b.s.units[o.unit].locks[o.lock].bay == t.bay
	}
	return t.room(o.day) == b.s.open[o.day] && b.takes(t.kind, o.unit)
}

// before gives the best gain of the days before each day; the last entry is
// that of all days.
func (t *timeline) before() []int64 {
	days := t.b.s.days
	pre := make([]int64, days+1)
	for d := int32(0); d < int32(days); d++ {
		if t.b.s.open[d] == 0 {
			pre[d+1] = max(pre[d+1], pre[d])
			continue
		}
		pre[d+1] = max(pre[d+1], pre[d]+t.pack(d).best[t.room(d)/t.b.grain])
		clear := t.clearUntil(d)
		for i := range t.b.days[d].long {
			if o := &t.b.days[d].long[i]; t.mayHold(o, clear) {
				beside := t.beside(o).best[t.room(o.last)/t.b.grain-o.weight]
				pre[o.last+1] = max(pre[o.last+1], pre[d]+o.gain+t.idle[o.last]-t.idle[d]+beside)
			}
		}
	}
	return pre
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

// pack gives the knapsack of a day.
func (t *timeline) pack(d int32) *knapsack {
	day := &t.b.days[d]
	for _, ref := range t.b.joinable[d] {
		if t.b.s.units[ref.unit].locks[ref.lock].bay == t.bay {
			return &day.own[t.bay]
		}
	}
	return &day.kinds[t.kind]
}

// beside gives the knapsack of the last day of a long visit without the run of
// that visit.
func (t *timeline) beside(o *option) *knapsack {
	day, run := &t.b.days[o.last], t.b.runOf(o.unit, o.last)
	for i := range day.but {
		if k := &day.but[i]; k.bay == t.bay && k.run == run {
			return &k.knapsack
		}
	}
	if n := len(day.but); n < cap(day.but) {
		day.but = day.but[:n+1]
	} else {
		day.but = append(day.but, without{})
	}
	k := &day.but[len(day.but)-1]
	k.bay, k.run = t.bay, run
	day.pack(&k.knapsack, int(t.b.s.open[o.last]/t.b.grain)+1, t.b.usable(day, t.bay, run))
	return &k.knapsack
}

// follow goes along the best timeline and calls fn for the days from..last and
// the visits that fill them: those of one day, or a long one and what is beside
// it on its last day.
func (t *timeline) follow(fn func(from, last int32, visits []option)) {
	b, s := t.b, t.b.s
	for d := int32(0); d < int32(s.days); d++ {
		if s.open[d] == 0 {
			continue
		}
		if t.long[d] < 0 {
			fn(d, d, b.days[d].unpack(nil, t.pack(d), t.room(d)/b.grain))
			continue
		}
		o := b.days[d].long[t.long[d]]
		fn(d, o.last, b.days[o.last].unpack([]option{o}, t.beside(&o), t.room(o.last)/b.grain-o.weight))
		d = o.last
	}
}
