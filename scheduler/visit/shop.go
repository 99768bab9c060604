package visit

import (
	"math/bits"
	"sort"
)

// maxAtoms bounds the items of one machine that the exact programme over
// subsets plans at once; more are bundled first (see bundle).
const maxAtoms = 12

// shop is a problem made ready for planning: names become numbers, days
// become tables. It is never changed after it is made, so that it can be read
// side by side.
type shop struct {
	p        *Problem
	days     int
	open     []int32 // minutes a bay is open
	before   []int32 // minutes a bay is open on the days before; days+1 entries
	tech     []int32
	openDays []int32

	bays    []int32  // kind of each bay
	kinds   []kind   // bays alike in what they take
	sets    []bayset // bays that a class can use, each different set once
	groups  []group  // machines alike in limits and blackouts
	limits  []int32  // [limit*days+day] machines out at most; noLimit outside From..To
	units   []unit   // machines with something to plan
	bundled bool     // some machine has more items than are planned at once
	excuse  bool     // made for bounds: items beyond those cost their least
	base    int64    // cents of planning nothing: all skipped, locked as agreed, all told moved
}

const noLimit = 1 << 30

// kind is a set of bays that take the same classes.
type kind struct {
	bays []int32
}

// bayset is the set of bays open to a class, by bay and by kind.
type bayset struct {
	bays  []int32
	kinds []int32
}

// group is a class at a site: who shares limits and blackouts.
type group struct {
	black  []bool  // by day
	limits []int32 // that match
}

// unit is one machine with its plannable items. Sets of items are bit masks
// over atoms.
type unit struct {
	machine  int32
	set      int32 // bayset
	group    int32
	trip     int64 // cents of transport
	downtime int64 // cents a day
	atoms    []atom
	work     []int32 // minutes of each set of atoms, access included
	locks    []lock
	told     []toldDay
	lo, hi   int32 // days on which some atom can be done
}

// atom is an item, or several that are always planned together.
type atom struct {
	items  []int32
	skip   int64
	own    int32   // minutes without access
	lo, hi int32   // days on which doing it can gain
	cost   []int32 // cents of doing it on lo..hi
}

// lock is an agreed visit. Sets of atoms may join it.
type lock struct {
	day, bay int32
	items    []int32
	work     []int32 // minutes with each set of atoms that joins
	joins    uint32  // atoms that may join
	last     int32   // last day when nothing joins
}

type toldDay struct {
	day   int32
	cents int64
}

// newShop makes a valid problem ready for the search.
func newShop(p *Problem, told []Notified) *shop { return makeShop(p, told, false) }

// newBoundShop makes a valid problem ready for bounds: every atom is one item.
func newBoundShop(p *Problem, told []Notified) *shop { return makeShop(p, told, true) }

func makeShop(p *Problem, told []Notified, excuse bool) *shop {
	s := &shop{p: p, days: p.Days, excuse: excuse}
	s.calendar()
	classSet := s.bayTables()
	groupOf := s.groupTables()
	classes, sites := map[string]int{}, map[string]int64{}
	for i, c := range p.Classes {
		classes[c.ID] = i
	}
	for _, c := range p.Sites {
		sites[c.ID] = c.Transport
	}
	machines := make(map[string]int32, len(p.Machines))
	for i := range p.Machines {
		machines[p.Machines[i].ID] = int32(i)
	}
	items, locks := s.byMachine(machines)
	tolds := make(map[int32][]toldDay)
	for _, t := range told {
		if m, ok := machines[t.Machine]; ok && t.Cents > 0 {
			tolds[m] = append(tolds[m], toldDay{int32(t.Day), t.Cents})
			s.base += t.Cents
		}
	}
	for i := range p.Machines {
		m := &p.Machines[i]
		c := classes[m.Class]
		u := unit{machine: int32(i), set: classSet[c], group: groupOf[[2]string{m.Class, m.Site}], trip: sites[m.Site],
			downtime: p.Classes[c].Downtime, told: tolds[int32(i)]}
		s.addUnit(&u, items[i], locks[i])
	}
	return s
}

// calendar fills the day tables.
func (s *shop) calendar() {
	s.before = make([]int32, s.days+1)
	for d, m := range s.p.openMinutes() {
		s.open = append(s.open, int32(m))
		s.before[d+1] = s.before[d] + int32(m)
		if m > 0 {
			s.openDays = append(s.openDays, int32(d))
		}
	}
	for d, m := range s.p.techMinutes() {
		// More than all bays can use is as good as that.
		s.tech = append(s.tech, int32(min(m, int(s.open[d])*len(s.p.Bays))))
	}
}

// bayTables fills kinds and sets and gives each class its set.
func (s *shop) bayTables() (classSet []int32) {
	takes := make([][]bool, len(s.p.Bays))
	kindOf := map[string]int32{}
	for b, bay := range s.p.Bays {
		takes[b] = make([]bool, len(s.p.Classes))
		key := make([]byte, len(s.p.Classes))
		for c, class := range s.p.Classes {
			takes[b][c] = len(bay.Classes) == 0
			for _, id := range bay.Classes {
				takes[b][c] = takes[b][c] || id == class.ID
			}
			if takes[b][c] {
				key[c] = 1
			}
		}
		k, ok := kindOf[string(key)]
		if !ok {
			k = int32(len(s.kinds))
			kindOf[string(key)] = k
			s.kinds = append(s.kinds, kind{})
		}
		s.kinds[k].bays = append(s.kinds[k].bays, int32(b))
		s.bays = append(s.bays, k)
	}
	setOf := map[string]int32{}
	for c := range s.p.Classes {
		var set bayset
		key := make([]byte, len(s.p.Bays))
		for k := range s.kinds {
			if takes[s.kinds[k].bays[0]][c] {
				set.kinds = append(set.kinds, int32(k))
			}
		}
		for b := range s.p.Bays {
			if takes[b][c] {
				set.bays = append(set.bays, int32(b))
				key[b] = 1
			}
		}
		id, ok := setOf[string(key)]
		if !ok {
			id = int32(len(s.sets))
			setOf[string(key)] = id
			s.sets = append(s.sets, set)
		}
		classSet = append(classSet, id)
	}
	return classSet
}

// groupTables fills groups and limits and gives each class and site its group.
func (s *shop) groupTables() map[[2]string]int32 {
	of := map[[2]string]int32{}
	for i := range s.p.Machines {
		key := [2]string{s.p.Machines[i].Class, s.p.Machines[i].Site}
		if _, ok := of[key]; ok {
			continue
		}
		g := group{black: make([]bool, s.days)}
		for _, k := range s.p.Blackouts {
			if (k.Class == "" || k.Class == key[0]) && (k.Site == "" || k.Site == key[1]) {
				for d := max(0, k.From); d <= min(s.days-1, k.To); d++ {
					g.black[d] = true
				}
			}
		}
		for n, k := range s.p.Limits {
			if (k.Class == "" || k.Class == key[0]) && (k.Site == "" || k.Site == key[1]) {
				g.limits = append(g.limits, int32(n))
			}
		}
		of[key] = int32(len(s.groups))
		s.groups = append(s.groups, g)
	}
	for _, k := range s.p.Limits {
		for d := 0; d < s.days; d++ {
			if d >= k.From && d <= k.To {
				s.limits = append(s.limits, int32(min(k.MaxOut, noLimit)))
			} else {
				s.limits = append(s.limits, noLimit)
			}
		}
	}
	return of
}

// byMachine sorts free items and locked visits by machine.
func (s *shop) byMachine(machines map[string]int32) (items [][]int32, locks [][]lock) {
	items, locks = make([][]int32, len(s.p.Machines)), make([][]lock, len(s.p.Machines))
	index := make(map[string]int32, len(s.p.Items))
	for i := range s.p.Items {
		index[s.p.Items[i].ID] = int32(i)
	}
	bays := make(map[string]int32, len(s.p.Bays))
	for b := range s.p.Bays {
		bays[s.p.Bays[b].ID] = int32(b)
	}
	agreed := make([]bool, len(s.p.Items))
	for _, v := range s.p.Locked {
		l := lock{day: int32(v.Day), bay: bays[v.Bay]}
		for _, id := range v.Items {
			agreed[index[id]] = true
			l.items = append(l.items, index[id])
		}
		m := machines[v.Machine]
		locks[m] = append(locks[m], l)
	}
	for i := range s.p.Items {
		if !agreed[i] {
			m := machines[s.p.Items[i].Machine]
			items[m] = append(items[m], int32(i))
		}
	}
	return items, locks
}

// addUnit makes a machine's atoms and tables and keeps it when there is
// something to plan or keep.
func (s *shop) addUnit(u *unit, items []int32, locks []lock) {
	slack := int64(0) // what keeping a promise may be worth on top
	for _, t := range u.told {
		slack += t.cents
	}
	for _, i := range items {
		it := &s.p.Items[i]
		s.base += it.Skip
		a := s.makeAtom(i, slack)
		if a.lo > a.hi {
			continue // no visit can gain by doing it
		}
		u.atoms = append(u.atoms, a)
	}
	s.bundled = s.bundled || len(u.atoms) > maxAtoms
	if s.excuse {
		u.atoms = s.excuseMany(u.atoms)
	} else {
		u.atoms = s.bundle(u, u.atoms, slack)
	}
	sort.SliceStable(u.atoms, func(i, j int) bool { return u.atoms[i].lo+u.atoms[i].hi < u.atoms[j].lo+u.atoms[j].hi })
	u.lo, u.hi = int32(s.days), -1
	for _, a := range u.atoms {
		u.lo, u.hi = min(u.lo, a.lo), max(u.hi, a.hi)
	}
	if len(u.atoms) == 0 && len(locks) == 0 {
		return
	}
	u.work = s.workTable(u, nil)
	for _, l := range locks {
		l.work = s.workTable(u, l.items)
		l.last = s.end(l.day, l.work[0])
		for i, a := range u.atoms {
			if l.day >= a.lo && l.day <= a.hi {
				l.joins |= 1 << i
			}
		}
		s.base += u.trip + u.downtime*int64(l.last-l.day+1)
		for _, t := range u.told {
			if t.day == l.day {
				s.base -= t.cents
			}
		}
		for _, i := range l.items {
			s.base += s.p.Items[i].cost(int(l.day))
		}
		u.locks = append(u.locks, l)
	}
	s.units = append(s.units, *u)
}

// makeAtom gives an item its window: the days on which doing it costs less
// than skipping it (the cost falls until the due day and rises after, so they
// are consecutive). slack widens it by what keeping a promise may be worth.
func (s *shop) makeAtom(i int32, slack int64) atom {
	it := &s.p.Items[i]
	lo, hi := int32(it.first()), int32(it.last(s.days))
	worth := func(d int32) bool { return s.open[d] > 0 && it.cost(int(d)) < it.Skip+slack }
	for lo <= hi && !worth(lo) {
		lo++
	}
	for lo <= hi && !worth(hi) {
		hi--
	}
	a := atom{items: []int32{i}, skip: it.Skip, own: int32(it.Work), lo: lo, hi: hi}
	for d := lo; d <= hi; d++ {
		a.cost = append(a.cost, int32(it.cost(int(d))))
	}
	return a
}

// workTable gives the minutes of each set of atoms together with the given
// items, each teardown once.
func (s *shop) workTable(u *unit, with []int32) []int32 {
	access := s.p.Machines[u.machine].Access
	groups := map[string]int{}
	var minutes []int32
	mask := func(items []int32) (sum int32, set uint64) {
		for _, i := range items {
			it := &s.p.Items[i]
			sum += int32(it.Work)
			if it.Access == "" {
				continue
			}
			g, ok := groups[it.Access]
			if !ok {
				g = len(groups)
				groups[it.Access] = g
				minutes = append(minutes, int32(access[it.Access]))
			}
			set |= 1 << g
		}
		return sum, set
	}
	n := len(u.atoms)
	work, open := make([]int32, 1<<n), make([]uint64, 1<<n)
	work[0], open[0] = mask(with)
	for bit := range n {
		w, set := mask(u.atoms[bit].items)
		for rest := range 1 << bit {
			work[rest|1<<bit] = work[rest] + w
			open[rest|1<<bit] = open[rest] | set
		}
	}
	for i, set := range open {
		for ; set != 0; set &= set - 1 {
			work[i] += minutes[bits.TrailingZeros64(set)]
		}
	}
	return work
}

// end gives the last day of work begun on day; days when it does not end
// within the horizon.
func (s *shop) end(day, work int32) int32 {
	if work <= s.open[day] {
		return day
	}
	want := s.before[day] + work
	for d := day + 1; d < int32(s.days); d++ {
		if s.before[d+1] >= want {
			return d
		}
	}
	return int32(s.days)
}
