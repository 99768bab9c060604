package visit

import "fmt"

// Rule names a hard rule of the problem.
type Rule string

// The hard rules.
const (
	RuleItems    Rule = "items"     // an item at most once, of its own machine, at least one a visit
	RuleStart    Rule = "start"     // a visit starts on an open day of the horizon
	RuleEnd      Rule = "end"       // and ends within the horizon
	RuleBay      Rule = "bay"       // minutes of a bay and day; classes it takes
	RuleTech     Rule = "tech"      // technician minutes of a day
	RuleTwice    Rule = "twice"     // never two visits of a machine on one day
	RuleLimit    Rule = "limit"     // machines out at once
	RuleBlackout Rule = "blackout"  // no machine out
	RuleDates    Rule = "dates"     // earliest, lead and latest of an item
	RuleLocked   Rule = "locked"    // agreed visits are kept
	RuleUnknown  Rule = "not known" // a machine, bay or item that does not exist
)

// Broken is one hard rule that a plan breaks.
type Broken struct {
	Rule    Rule
	Visit   int    // place in the list of visits; -1 for a rule over several
	Subject string // the machine, bay or limit
	Text    string // for people
}

// Cost is what a plan costs, in cents, by kind.
type Cost struct {
	Visits  int64 `json:"visits"`  // transport and downtime
	Early   int64 `json:"early"`   // wear given away
	Late    int64 `json:"late"`    // done after its due day
	Skipped int64 `json:"skipped"` // in no visit
}

// Total gives the whole cost in cents.
func (c Cost) Total() int64 { return c.Visits + c.Early + c.Late + c.Skipped }

// Report is what Check finds.
type Report struct {
	Cost   Cost
	Broken []Broken // none: the plan is feasible
}

// checker follows the rules as they are written, one by one, on maps and
// names. It shares nothing with the planner but the cost of one item, so that
// a slip in one shows in the other.
type checker struct {
	p        *Problem
	open     []int
	bays     map[string]*Bay
	sites    map[string]int64
	classes  map[string]int64
	machines map[string]*Machine
	items    map[string]*Item
	locked   map[string]bool // items whose dates are waived
	done     map[string]bool
	bayUse   map[string][]int
	techUse  []int
	limitUse [][]int
	out      map[string]map[int]bool
	report   Report
}

// Check recomputes the cost of a plan and lists every hard rule that it
// breaks. It takes any list of visits, also one with names that do not exist.
func Check(p *Problem, visits []Visit) Report {
	c := newChecker(p)
	c.findLocked(visits)
	for i := range visits {
		c.visit(i, &visits[i])
	}
	c.totals()
	for i := range p.Items {
		if !c.done[p.Items[i].ID] {
			c.report.Cost.Skipped += p.Items[i].Skip
		}
	}
	return c.report
}

func newChecker(p *Problem) *checker {
	c := &checker{p: p, open: p.openMinutes(), bays: map[string]*Bay{}, sites: map[string]int64{}, classes: map[string]int64{},
		machines: map[string]*Machine{}, items: map[string]*Item{}, locked: map[string]bool{}, done: map[string]bool{},
		bayUse: map[string][]int{}, techUse: make([]int, p.Days), out: map[string]map[int]bool{}}
	for i := range p.Bays {
		c.bays[p.Bays[i].ID] = &p.Bays[i]
		c.bayUse[p.Bays[i].ID] = make([]int, p.Days)
	}
	for _, s := range p.Sites {
		c.sites[s.ID] = s.Transport
	}
	for _, k := range p.Classes {
		c.classes[k.ID] = k.Downtime
	}
	for i := range p.Machines {
		c.machines[p.Machines[i].ID] = &p.Machines[i]
	}
	for i := range p.Items {
		c.items[p.Items[i].ID] = &p.Items[i]
	}
	for range p.Limits {
		c.limitUse = append(c.limitUse, make([]int, p.Days))
	}
	return c
}

func (c *checker) breaks(rule Rule, visit int, subject, format string, args ...any) {
	c.report.Broken = append(c.report.Broken, Broken{Rule: rule, Visit: visit, Subject: subject, Text: fmt.Sprintf(format, args...)})
}

// findLocked sees whether each agreed visit is there with all its items.
func (c *checker) findLocked(visits []Visit) {
	type stop struct {
		machine, bay string
		day          int
	}
	at := map[stop]int{}
	for i, v := range visits {
		at[stop{v.Machine, v.Bay, v.Day}] = i
	}
	for _, l := range c.p.Locked {
		i, ok := at[stop{l.Machine, l.Bay, l.Day}]
		var has map[string]bool
		if ok {
			has = map[string]bool{}
			for _, id := range visits[i].Items {
				has[id] = true
			}
		}
		for _, id := range l.Items {
			ok = ok && has[id]
		}
		if !ok {
			c.breaks(RuleLocked, -1, l.Machine, "the visit agreed for day %d in bay %s is not kept", l.Day, l.Bay)
			continue
		}
		for _, id := range l.Items {
			c.locked[id] = true
		}
	}
}

// visit checks one visit and books its minutes, days and cost.
func (c *checker) visit(i int, v *Visit) {
	m, bay := c.machines[v.Machine], c.bays[v.Bay]
	if m == nil || bay == nil {
		c.breaks(RuleUnknown, i, v.Machine, "there is no machine %q or no bay %q", v.Machine, v.Bay)
		return
	}
	if v.Day < 0 || v.Day >= c.p.Days || c.open[v.Day] == 0 {
		c.breaks(RuleStart, i, v.Machine, "day %d is closed or outside the horizon", v.Day)
		return
	}
	takes := len(bay.Classes) == 0
	for _, class := range bay.Classes {
		takes = takes || class == m.Class
	}
	if !takes {
		c.breaks(RuleBay, i, v.Machine, "bay %s does not take class %s", v.Bay, m.Class)
	}
	last, ok := c.occupy(v, c.work(i, v, m))
	if !ok {
		c.breaks(RuleEnd, i, v.Machine, "the work begun on day %d does not end within the horizon", v.Day)
	}
	c.outOfService(i, v, m, last)
	c.report.Cost.Visits += c.sites[m.Site] + c.classes[m.Class]*int64(last-v.Day+1)
}

// work checks the items of a visit and gives its minutes, access once for
// each teardown.
func (c *checker) work(i int, v *Visit, m *Machine) int {
	if len(v.Items) == 0 {
		c.breaks(RuleItems, i, v.Machine, "the visit on day %d has no items", v.Day)
	}
	minutes := 0
	open := map[string]bool{}
	for _, id := range v.Items {
		it := c.items[id]
		if it == nil {
			c.breaks(RuleUnknown, i, v.Machine, "there is no item %q", id)
			continue
		}
		if it.Machine != v.Machine {
			c.breaks(RuleItems, i, v.Machine, "item %s belongs to %s", id, it.Machine)
		}
		if c.done[id] {
			c.breaks(RuleItems, i, v.Machine, "item %s is done twice", id)
		}
		c.done[id] = true
		if !c.locked[id] && (v.Day < it.Earliest || v.Day < it.Lead || (it.Latest != nil && v.Day > *it.Latest)) {
			c.breaks(RuleDates, i, v.Machine, "item %s may not be done on day %d", id, v.Day)
		}
		minutes += it.Work
		if it.Access != "" && !open[it.Access] {
			open[it.Access] = true
			minutes += m.Access[it.Access]
		}
		if cents := it.cost(v.Day); v.Day < it.Due {
			c.report.Cost.Early += cents
		} else {
			c.report.Cost.Late += cents
		}
	}
	return minutes
}

// occupy books the minutes of a visit and gives its last day; false when the
// horizon ends first.
func (c *checker) occupy(v *Visit, minutes int) (last int, ok bool) {
	last = v.Day
	for d := v.Day; minutes > 0 && d < c.p.Days; d++ {
		if c.open[d] == 0 {
			continue
		}
		use := min(minutes, c.open[d])
		minutes -= use
		c.bayUse[v.Bay][d] += use
		c.techUse[d] += use
		last = d
	}
	return last, minutes == 0
}

// outOfService books the calendar days of a visit.
func (c *checker) outOfService(i int, v *Visit, m *Machine, last int) {
	days := c.out[v.Machine]
	if days == nil {
		days = map[int]bool{}
		c.out[v.Machine] = days
	}
	matches := func(class, site string) bool {
		return (class == "" || class == m.Class) && (site == "" || site == m.Site)
	}
	for d := v.Day; d <= last; d++ {
		if days[d] {
			c.breaks(RuleTwice, i, v.Machine, "it has another visit on day %d", d)
		}
		days[d] = true
		for _, k := range c.p.Blackouts {
			if d >= k.From && d <= k.To && matches(k.Class, k.Site) {
				c.breaks(RuleBlackout, i, v.Machine, "it is out on day %d, in a blackout from day %d to %d", d, k.From, k.To)
			}
		}
		for n, k := range c.p.Limits {
			if d >= k.From && d <= k.To && matches(k.Class, k.Site) {
				c.limitUse[n][d]++
			}
		}
	}
}

// totals checks what visits share.
func (c *checker) totals() {
	tech := c.p.techMinutes()
	for d := 0; d < c.p.Days; d++ {
		for _, b := range c.p.Bays {
			if use := c.bayUse[b.ID][d]; use > c.open[d] {
				c.breaks(RuleBay, -1, b.ID, "%d minutes of %d on day %d", use, c.open[d], d)
			}
		}
		if c.techUse[d] > tech[d] {
			c.breaks(RuleTech, -1, "technicians", "%d minutes of %d on day %d", c.techUse[d], tech[d], d)
		}
		for n, k := range c.p.Limits {
			if c.limitUse[n][d] > k.MaxOut {
				c.breaks(RuleLimit, -1, fmt.Sprintf("limits[%d]", n), "%d machines out of %d on day %d", c.limitUse[n][d], k.MaxOut, d)
			}
		}
	}
}
