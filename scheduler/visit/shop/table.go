package shop

import "example.org/roundsman/scheduler/visit"

// table is what a plan uses of what machines share, day by day, so that one
// visit can be tried on another day without checking the whole plan anew.
type table struct {
	d        *Draft
	open     []int // minutes a bay is open
	tech     []int
	bays     map[string][]int // minutes used
	techUsed []int
	out      [][]int // by limit and day: machines out
	away     map[string]map[int]bool
	items    map[string]*visit.Item
	machines map[string]*visit.Machine
	downtime map[string]int64
}

func (d *Draft) newTable(visits []visit.Visit) *table {
	p := &d.Problem
	t := &table{d: d, open: make([]int, p.Days), tech: make([]int, p.Days), bays: map[string][]int{}, techUsed: make([]int, p.Days),
		away: map[string]map[int]bool{}, items: make(map[string]*visit.Item, len(p.Items)),
		machines: make(map[string]*visit.Machine, len(p.Machines)), downtime: map[string]int64{}}
	for day := range p.Days {
		wd := (int(d.date(day).Weekday()) + 6) % 7
		t.open[day], t.tech[day] = p.OpenMin[wd], p.TechMin[wd]
	}
	for _, day := range p.Closed {
		t.open[day], t.tech[day] = 0, 0
	}
	for _, off := range p.TechOff {
		for day := off[0]; day <= off[1]; day++ {
			t.tech[day] = max(0, t.tech[day]-off[2])
		}
	}
	for _, b := range p.Bays {
		t.bays[b.ID] = make([]int, p.Days)
	}
	for range p.Limits {
		t.out = append(t.out, make([]int, p.Days))
	}
	for i := range p.Items {
		t.items[p.Items[i].ID] = &p.Items[i]
	}
	for i := range p.Machines {
		t.machines[p.Machines[i].ID] = &p.Machines[i]
		t.away[p.Machines[i].ID] = map[int]bool{}
	}
	for _, c := range p.Classes {
		t.downtime[c.ID] = c.Downtime
	}
	for i := range visits {
		t.book(&visits[i], 1)
	}
	return t
}

// minutes gives the work of a visit, and what it saves by taking each teardown
// apart once.
func (t *table) minutes(v *visit.Visit) (work, saved int) {
	seen := map[string]bool{}
	m := t.machines[v.Machine]
	for _, id := range v.Items {
		it := t.items[id]
		work += it.Work
		switch {
		case it.Access == "":
		case seen[it.Access]:
			saved += m.Access[it.Access]
		default:
			seen[it.Access] = true
			work += m.Access[it.Access]
		}
	}
	return work, saved
}

// span gives what a visit uses of its days: fn is called for each open day
// with its minutes. last is its last day; ok is false when the plan ends first.
func (t *table) span(day, minutes int, fn func(day, use int)) (last int, ok bool) {
	last = day
	for d := day; minutes > 0; d++ {
		if d >= len(t.open) {
			return last, false
		}
		if t.open[d] == 0 {
			continue
		}
		use := min(minutes, t.open[d])
		minutes -= use
		if fn != nil {
			fn(d, use)
		}
		last = d
	}
	return last, true
}

// book adds a visit to the table, or takes it out with -1.
func (t *table) book(v *visit.Visit, sign int) {
	work, _ := t.minutes(v)
	last, _ := t.span(v.Day, work, func(day, use int) {
		t.bays[v.Bay][day] += sign * use
		t.techUsed[day] += sign * use
	})
	m := t.machines[v.Machine]
	for day := v.Day; day <= last; day++ {
		t.away[v.Machine][day] = sign > 0
		for i, l := range t.d.Problem.Limits {
			if matches(&l, m) && day >= l.From && day <= l.To {
				t.out[i][day] += sign
			}
		}
	}
}

// fits says whether a visit can be on a day in a bay, all else as it is.
func (t *table) fits(v *visit.Visit, day int, bay *visit.Bay, work int) (last int, ok bool) {
	m := t.machines[v.Machine]
	if day < 0 || day >= len(t.open) || t.open[day] == 0 || !takes(bay, m.Class) {
		return 0, false
	}
	room := true
	last, ends := t.span(day, work, func(on, use int) {
		room = room && t.bays[bay.ID][on]+use <= t.open[on] && t.techUsed[on]+use <= t.tech[on]
	})
	if !room || !ends {
		return 0, false
	}
	for on := day; on <= last; on++ {
		if t.away[v.Machine][on] || t.black(m, on) {
			return 0, false
		}
		for i, l := range t.d.Problem.Limits {
			if matches(&l, m) && on >= l.From && on <= l.To && t.out[i][on]+1 > l.MaxOut {
				return 0, false
			}
		}
	}
	return last, true
}

// black says whether a machine may not be out on a day.
func (t *table) black(m *visit.Machine, day int) bool {
	for _, b := range t.d.Problem.Blackouts {
		if day >= b.From && day <= b.To && (b.Class == "" || b.Class == m.Class) && (b.Site == "" || b.Site == m.Site) {
			return true
		}
	}
	return false
}

func takes(b *visit.Bay, class string) bool {
	for _, c := range b.Classes {
		if c == class {
			return true
		}
	}
	return len(b.Classes) == 0
}

// cost gives the cents of a visit's items on a day and of its days out.
func (t *table) cost(v *visit.Visit, day, last int) int64 {
	sum := t.downtime[t.machines[v.Machine].Class] * int64(last-day+1)
	for _, id := range v.Items {
		sum += costOn(t.items[id], day)
	}
	return sum
}

// window gives the days on which all items of a visit may be done.
func (t *table) window(v *visit.Visit) (lo, hi int) {
	lo, hi = t.d.first(), len(t.open)-1
	for _, id := range v.Items {
		it := t.items[id]
		lo = max(lo, it.Earliest, it.Lead)
		if it.Latest != nil {
			hi = min(hi, *it.Latest)
		}
	}
	return lo, hi
}

func matches(l *visit.Limit, m *visit.Machine) bool {
	return (l.Class == "" || l.Class == m.Class) && (l.Site == "" || l.Site == m.Site)
}
