package visit

// stop is one visit of a unit in a state: a set of its atoms on a day.
type stop struct {
	atoms     uint32
	day, last int32
	bay       int32
	lock      int32 // index into the unit's locks; -1: a free visit
	work      int32
	gain      int64 // cents saved against skipping; for a lock, against letting nothing join
}

// state is a plan in the making: the stops of each unit and what they use.
type state struct {
	s     *shop
	stops [][]stop
	gain  []int64 // of each unit
	bay   []int32 // [bay*days+day] minutes left
	tech  []int32 // minutes left
	out   []int32 // [limit*days+day] machines that may still go out
	most  []int32 // [set*days+day] the most minutes left in a bay of the set
	total int64   // sum of gain
}

// newState makes the state that holds the locked visits and nothing else.
func newState(s *shop) *state {
	st := &state{s: s, stops: make([][]stop, len(s.units)), gain: make([]int64, len(s.units)),
		bay: make([]int32, len(s.bays)*s.days), tech: append([]int32{}, s.tech...),
		out: append([]int32{}, s.limits...), most: make([]int32, len(s.sets)*s.days)}
	for b := range s.bays {
		copy(st.bay[b*s.days:], s.open)
	}
	for set := range s.sets {
		if len(s.sets[set].bays) > 0 {
			copy(st.most[set*s.days:], s.open)
		}
	}
	for u := range s.units {
		for i, l := range s.units[u].locks {
			st.stops[u] = append(st.stops[u], stop{day: l.day, last: l.last, bay: l.bay, lock: int32(i), work: l.work[0]})
		}
		st.add(u, st.stops[u])
	}
	return st
}

// cost gives the cents of the plan, with those of moving what was told.
func (st *state) cost() int64 { return st.s.base - st.total }

// add books stops of a unit; remove takes them out. Neither touches
// st.stops.
func (st *state) add(u int, stops []stop) {
	for i := range stops {
		st.use(u, &stops[i], 1)
	}
}

func (st *state) remove(u int, stops []stop) {
	for i := range stops {
		st.use(u, &stops[i], -1)
	}
}

// use takes (sign 1) or gives back (-1) what a stop uses.
func (st *state) use(u int, v *stop, sign int32) {
	s := st.s
	unit := &s.units[u]
	left := v.work
	for d := v.day; left > 0; d++ {
		if s.open[d] == 0 {
			continue
		}
		m := min(left, s.open[d])
		left -= m
		st.tech[d] -= sign * m
		st.useBay(v.bay, d, sign*m)
	}
	for _, k := range s.groups[unit.group].limits {
		row := st.out[int(k)*s.days:]
		for d := v.day; d <= v.last; d++ {
			row[d] -= sign
		}
	}
	st.total += int64(sign) * v.gain
	st.gain[u] += int64(sign) * v.gain
}

// useBay changes a bay's minutes on a day and keeps the maxima right.
func (st *state) useBay(bay, d, minutes int32) {
	s := st.s
	at := int(bay)*s.days + int(d)
	was := st.bay[at]
	now := was - minutes
	st.bay[at] = now
	k := s.bays[bay]
	for i := range s.sets {
		if !s.setHas(i, k) {
			continue
		}
		m := &st.most[i*s.days+int(d)]
		switch {
		case now >= *m:
			*m = now
		case was == *m:
			most := int32(0)
			for _, b := range s.sets[i].bays {
				most = max(most, st.bay[int(b)*s.days+int(d)])
			}
			*m = most
		}
	}
}

// setHas says whether a set of bays holds a kind.
func (s *shop) setHas(set int, kind int32) bool {
	for _, k := range s.sets[set].kinds {
		if k == kind {
			return true
		}
	}
	return false
}

// free says whether a machine of a group may go out on a day.
func (st *state) free(g *group, d int32) bool {
	if g.black[d] {
		return false
	}
	for _, k := range g.limits {
		if st.out[int(k)*st.s.days+int(d)] <= 0 {
			return false
		}
	}
	return true
}

// visits gives the state as a plan in the exchange format, by machine and day.
func (st *state) visits() []Visit {
	var out []Visit
	s := st.s
	for u := range s.units {
		unit := &s.units[u]
		for _, v := range st.stops[u] {
			visit := Visit{Machine: s.p.Machines[unit.machine].ID, Day: int(v.day), Bay: s.p.Bays[v.bay].ID}
			if v.lock >= 0 {
				for _, i := range unit.locks[v.lock].items {
					visit.Items = append(visit.Items, s.p.Items[i].ID)
				}
			}
			for i := range unit.atoms {
				if v.atoms&(1<<i) != 0 {
					for _, it := range unit.atoms[i].items {
						visit.Items = append(visit.Items, s.p.Items[it].ID)
					}
				}
			}
			out = append(out, visit)
		}
	}
	return out
}
