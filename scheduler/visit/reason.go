package visit

// Reason says in words why an item is in no visit.
type Reason string

// Reasons for leaving an item out.
const (
	ReasonNoDay    Reason = "no open day within its dates"
	ReasonBlackout Reason = "its machine may not be out on any of its days"
	ReasonNoBay    Reason = "no bay takes its class"
	ReasonTooLong  Reason = "its work does not end within the plan"
	ReasonLater    Reason = "not due within the plan; cheaper later"
	ReasonCheaper  Reason = "skipping it costs less than a visit for it"
	ReasonCapacity Reason = "bays, technicians or limits are needed for what costs more to skip"
)

// Left is an item that a plan leaves out.
type Left struct {
	Item    string `json:"item"`
	Machine string `json:"machine"`
	Reason  Reason `json:"reason"`
	Cents   int64  `json:"cents"` // what skipping it costs
}

// Unfitted lists the items that a plan leaves out, in the problem's order,
// each with the first reason that applies: whether it could be done at all,
// whether it would pay in a visit of its own on an empty calendar, and else
// that there was no room for it.
func Unfitted(p *Problem, visits []Visit) []Left {
	done := make(map[string]bool, len(p.Items))
	for _, v := range visits {
		for _, id := range v.Items {
			done[id] = true
		}
	}
	empty := newChecker(p)
	var out []Left
	for i := range p.Items {
		it := &p.Items[i]
		if !done[it.ID] {
			out = append(out, Left{it.ID, it.Machine, empty.whyLeft(it), it.Skip})
		}
	}
	return out
}

// whyLeft finds the reason for leaving out an item.
func (c *checker) whyLeft(it *Item) Reason {
	m := c.machines[it.Machine]
	minutes := it.Work
	if it.Access != "" {
		minutes += m.Access[it.Access]
	}
	bay := false
	for _, b := range c.p.Bays {
		bay = bay || c.takes(c.bays[b.ID], m)
	}
	anyOpen, anyEnd, anyFree := false, false, false
	cheapest := it.Skip
	for d := it.first(); d <= it.last(c.p.Days); d++ {
		if c.open[d] == 0 {
			continue
		}
		anyOpen = true
		last, ok := c.lastDay(d, minutes)
		if !ok {
			continue
		}
		anyEnd = true
		if c.blackedOut(m, d, last) {
			continue
		}
		anyFree = true
		cheapest = min(cheapest, it.cost(d)+c.sites[m.Site]+c.classes[m.Class]*int64(last-d+1))
	}
	switch {
	case !anyOpen:
		return ReasonNoDay
	case !bay:
		return ReasonNoBay
	case !anyEnd:
		return ReasonTooLong
	case !anyFree:
		return ReasonBlackout
	case cheapest < it.Skip:
		return ReasonCapacity
	case it.Due >= c.p.Days:
		return ReasonLater
	default:
		return ReasonCheaper
	}
}

// takes says whether a bay takes a machine.
func (c *checker) takes(bay *Bay, m *Machine) bool {
	for _, class := range bay.Classes {
		if class == m.Class {
			return true
		}
	}
	return len(bay.Classes) == 0
}

// lastDay gives the last day of work begun on an open day; false when the
// horizon ends first.
func (c *checker) lastDay(day, minutes int) (int, bool) {
	last := day
	for d := day; minutes > 0; d++ {
		if d >= c.p.Days {
			return last, false
		}
		if c.open[d] > 0 {
			minutes -= c.open[d]
			last = d
		}
	}
	return last, true
}

// blackedOut says whether a blackout of the machine lies on any of the days.
func (c *checker) blackedOut(m *Machine, from, to int) bool {
	for _, k := range c.p.Blackouts {
		if k.From <= to && k.To >= from && (k.Class == "" || k.Class == m.Class) && (k.Site == "" || k.Site == m.Site) {
			return true
		}
	}
	return false
}
