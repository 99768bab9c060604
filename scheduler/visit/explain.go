package visit

import "sort"

// Alternative is another day for a visit of a plan, all else as it is.
type Alternative struct {
	Day   int    `json:"day"`
	Bay   string `json:"bay"`
	Cents int64  `json:"extra_cents"` // more than on the day it has; below 0 is cheaper
}

// Story says what speaks for a visit's day, in figures from which a sentence
// can be made.
type Story struct {
	Minutes      int           // work and access
	Saved        int           // minutes of access that items share, saved against doing each alone
	Last         int           // last day out of service
	Items        []ItemStory   // in the visit's order
	Locked       bool          // agreed, so that no other day is looked for
	Barred       int           // first later day on which a blackout begins for the machine, -1: none
	Alternatives []Alternative // cheapest first
}

// ItemStory is what the day means to one item.
type ItemStory struct {
	ID    string
	Early int   // days before it is due; below 0 is late
	Cents int64 // wear given away or lateness
	Bar   int   // last day on which it may be done, -1: none given
}

// Explain tells the stories of some visits of a feasible plan, each with at
// most n alternatives: days on which the same items of the visit could be
// done in what the rest of the plan leaves free. which are places in visits.
func Explain(p *Problem, visits []Visit, told []Told, which []int, n int) []Story {
	e := explainer{checker: newChecker(p), tech: p.techMinutes(), told: map[string]map[int]int64{}, agreed: map[agreedStop]bool{}}
	e.findLocked(visits)
	for _, t := range told {
		if e.told[t.Machine] == nil {
			e.told[t.Machine] = map[int]int64{}
		}
		e.told[t.Machine][t.Day] += t.Cents
	}
	for i := range visits {
		e.visit(i, &visits[i])
	}
	for _, l := range p.Locked {
		e.agreed[agreedStop{l.Machine, l.Bay, l.Day}] = true
	}
	out := make([]Story, 0, len(which))
	for _, i := range which {
		out = append(out, e.story(&visits[i], n))
	}
	return out
}

type agreedStop struct {
	machine, bay string
	day          int
}

// explainer is a checker that has booked a whole plan.
type explainer struct {
	*checker
	tech   []int
	told   map[string]map[int]int64
	agreed map[agreedStop]bool
}

func (e *explainer) story(v *Visit, n int) Story {
	m := e.machines[v.Machine]
	s := Story{Locked: e.agreed[agreedStop{v.Machine, v.Bay, v.Day}], Barred: -1}
	seen := map[string]bool{}
	for _, id := range v.Items {
		it := e.items[id]
		item := ItemStory{ID: id, Early: it.Due - v.Day, Cents: it.cost(v.Day), Bar: -1}
		if it.Latest != nil {
			item.Bar = *it.Latest
		}
		s.Items = append(s.Items, item)
		s.Minutes += it.Work
		switch {
		case it.Access == "":
		case seen[it.Access]:
			s.Saved += m.Access[it.Access]
		default:
			seen[it.Access] = true
			s.Minutes += m.Access[it.Access]
		}
	}
	s.Last, _ = e.lastDay(v.Day, s.Minutes)
	for _, k := range e.p.Blackouts {
		if k.From > s.Last && (s.Barred < 0 || k.From < s.Barred) && (k.Class == "" || k.Class == m.Class) && (k.Site == "" || k.Site == m.Site) {
			s.Barred = k.From
		}
	}
	if !s.Locked && n > 0 {
		s.Alternatives = e.alternatives(v, m, &s, n)
	}
	return s
}

// alternatives takes the visit out, looks at every other day and puts it back.
func (e *explainer) alternatives(v *Visit, m *Machine, s *Story, n int) []Alternative {
	e.move(v, m, s, -1)
	defer e.move(v, m, s, 1)
	now := e.costOn(v, m, v.Day, s.Last)
	first, last := 0, e.p.Days-1
	for _, id := range v.Items {
		it := e.items[id]
		first, last = max(first, it.first()), min(last, it.last(e.p.Days))
	}
	var out []Alternative
	for d := first; d <= last; d++ {
		if d == v.Day || e.open[d] == 0 {
			continue
		}
		end, ok := e.lastDay(d, s.Minutes)
		if !ok || e.blackedOut(m, d, end) || !e.mayBeOut(v.Machine, m, d, end) {
			continue
		}
		for _, b := range e.p.Bays {
			if e.takes(e.bays[b.ID], m) && e.fits(b.ID, d, s.Minutes) {
				out = append(out, Alternative{d, b.ID, e.costOn(v, m, d, end) - now})
				break
			}
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Cents < out[j].Cents })
	return out[:min(n, len(out))]
}

// costOn gives the cents of a visit on a day, less what keeping a promise is
// worth.
func (e *explainer) costOn(v *Visit, m *Machine, day, last int) int64 {
	cents := e.classes[m.Class]*int64(last-day+1) - e.told[v.Machine][day]
	for _, id := range v.Items {
		cents += e.items[id].cost(day)
	}
	return cents
}

// move books (sign 1) a visit or takes it out (-1).
func (e *explainer) move(v *Visit, m *Machine, s *Story, sign int) {
	left := s.Minutes
	for d := v.Day; d <= s.Last; d++ {
		use := min(left, e.open[d])
		left -= use
		e.bayUse[v.Bay][d] += sign * use
		e.techUse[d] += sign * use
		e.out[v.Machine][d] = sign > 0
		for n, k := range e.p.Limits {
			if d >= k.From && d <= k.To && (k.Class == "" || k.Class == m.Class) && (k.Site == "" || k.Site == m.Site) {
				e.limitUse[n][d] += sign
			}
		}
	}
}

// mayBeOut says whether a machine may be out on days, besides blackouts.
func (e *explainer) mayBeOut(id string, m *Machine, from, to int) bool {
	for d := from; d <= to; d++ {
		if e.out[id][d] {
			return false
		}
		for n, k := range e.p.Limits {
			if d >= k.From && d <= k.To && (k.Class == "" || k.Class == m.Class) && (k.Site == "" || k.Site == m.Site) && e.limitUse[n][d] >= k.MaxOut {
				return false
			}
		}
	}
	return true
}

// fits says whether minutes begun on a day find room in a bay.
func (e *explainer) fits(bay string, day, minutes int) bool {
	for d := day; minutes > 0; d++ {
		use := min(minutes, e.open[d])
		if e.bayUse[bay][d]+use > e.open[d] || e.techUse[d]+use > e.tech[d] {
			return false
		}
		minutes -= use
	}
	return true
}
