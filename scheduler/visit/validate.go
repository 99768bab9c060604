package visit

import (
	"fmt"
	"strconv"

	"example.org/roundsman/models"
)

// maxFaults bounds how many faults are gathered: a file of the wrong kind has
// thousands that say the same.
const maxFaults = 50

// faultList gathers the faults of one problem.
type faultList struct {
	file   string
	faults models.Faults
}

// add notes a fault of a field; value may be "".
func (l *faultList) add(field, value, problem, remedy string) {
	if len(l.faults) < maxFaults {
		l.faults = append(l.faults, models.Fault{File: l.file, Field: field, Value: value, Problem: problem, Remedy: remedy})
	}
}

// within notes a fault when v lies outside lo..hi.
func (l *faultList) within(field string, v, lo, hi int64) bool {
	if v >= lo && v <= hi {
		return true
	}
	l.add(field, strconv.FormatInt(v, 10), fmt.Sprintf("lies outside %d to %d", lo, hi), "write a whole number within that range")
	return false
}

// unique notes a fault when an id is empty or was seen before.
func (l *faultList) unique(seen map[string]int, field, id string, at int) {
	if id == "" {
		l.add(field, "", "is empty", "give every entry an id of its own")
		return
	}
	if first, twice := seen[id]; twice {
		l.add(field, id, fmt.Sprintf("is already the id of entry %d", first), "give every entry an id of its own")
		return
	}
	seen[id] = at
}

// known notes a fault when id is not among the ids of a list; "" is allowed
// where any is.
func (l *faultList) known(ids map[string]int, field, id, list string, any bool) bool {
	if any && id == "" {
		return true
	}
	if _, ok := ids[id]; ok {
		return true
	}
	l.add(field, id, "is not an id in "+list, "add it to "+list+" or correct the id")
	return false
}

// Validate checks a problem whole: every figure in range, every id known and
// its own, and the locked visits possible together. Its error is
// models.Faults; file names the input in them. A valid problem always has a
// plan, since everything that is not locked may be skipped.
func (p *Problem) Validate(file string) error {
	l := &faultList{file: file}
	if p.Format != Format {
		l.add("format", p.Format, "is not a format that can be planned", "write "+Format)
		return l.faults
	}
	if !p.validCalendar(l) {
		return l.faults
	}
	ids := p.validPlaces(l)
	p.validItems(l, ids)
	p.validTeardowns(l)
	p.validRules(l, ids)
	if len(l.faults) == 0 {
		p.validLocked(l, ids)
	}
	return l.faults.Err()
}

// idSets are the ids of a problem's lists, each with its place in the list.
type idSets struct{ bays, sites, classes, machines, items map[string]int }

// validCalendar checks dates, opening and technicians; the rest cannot be
// judged when it fails.
func (p *Problem) validCalendar(l *faultList) bool {
	if p.Start.IsZero() {
		l.add("start", "", "is missing", "write the date of day 0 as YYYY-MM-DD")
	} else if p.Start.AddDays(MaxDays).DaysTo(p.Start) != -MaxDays {
		l.add("start", p.Start.String(), "lies too near the end of the calendar", "write a date of these years")
	}
	l.within("days", int64(p.Days), 1, MaxDays)
	for _, week := range []struct {
		field string
		min   []int
		max   int64
	}{{"open_min", p.OpenMin, 24 * 60}, {"tech_min", p.TechMin, MaxMoney}} {
		if len(week.min) != 7 {
			l.add(week.field, fmt.Sprint(week.min), fmt.Sprintf("has %d numbers", len(week.min)), "write 7 numbers, Monday first")
			continue
		}
		for i, m := range week.min {
			l.within(fmt.Sprintf("%s[%d]", week.field, i), int64(m), 0, week.max)
		}
	}
	for i, d := range p.Closed {
		l.within(fmt.Sprintf("closed[%d]", i), int64(d), -maxDate, maxDate)
	}
	for i, off := range p.TechOff {
		field := fmt.Sprintf("tech_off[%d]", i)
		l.span(field, off[0], off[1])
		l.within(field+"[2]", int64(off[2]), 0, MaxMoney)
	}
	return len(l.faults) == 0
}

// span checks a pair of days.
func (l *faultList) span(field string, from, to int) {
	if l.within(field+".from", int64(from), -maxDate, maxDate) && l.within(field+".to", int64(to), -maxDate, maxDate) && to < from {
		l.add(field+".to", strconv.Itoa(to), fmt.Sprintf("comes before from (%d)", from), "write from first, then to")
	}
}

// validPlaces checks bays, sites, classes and machines and gives their ids.
func (p *Problem) validPlaces(l *faultList) idSets {
	ids := idSets{map[string]int{}, map[string]int{}, map[string]int{}, map[string]int{}, map[string]int{}}
	for i, c := range p.Classes {
		l.unique(ids.classes, fmt.Sprintf("classes[%d].id", i), c.ID, i)
		l.within(fmt.Sprintf("classes[%d].downtime", i), c.Downtime, 0, MaxMoney)
	}
	for i, s := range p.Sites {
		l.unique(ids.sites, fmt.Sprintf("sites[%d].id", i), s.ID, i)
		l.within(fmt.Sprintf("sites[%d].transport", i), s.Transport, 0, MaxMoney)
	}
	for i, b := range p.Bays {
		l.unique(ids.bays, fmt.Sprintf("bays[%d].id", i), b.ID, i)
		for j, c := range b.Classes {
			l.known(ids.classes, fmt.Sprintf("bays[%d].classes[%d]", i, j), c, "classes", false)
		}
	}
	for i, m := range p.Machines {
		l.unique(ids.machines, fmt.Sprintf("machines[%d].id", i), m.ID, i)
		l.known(ids.classes, fmt.Sprintf("machines[%d].class", i), m.Class, "classes", false)
		l.known(ids.sites, fmt.Sprintf("machines[%d].site", i), m.Site, "sites", false)
		for group, minutes := range m.Access {
			l.within(fmt.Sprintf("machines[%d].access.%s", i, group), int64(minutes), 0, MaxWork)
		}
	}
	return ids
}

// validItems checks the items.
func (p *Problem) validItems(l *faultList, ids idSets) {
	for i, it := range p.Items {
		at := func(key string) string { return fmt.Sprintf("items[%d].%s", i, key) }
		l.unique(ids.items, at("id"), it.ID, i)
		l.known(ids.machines, at("machine"), it.Machine, "machines", false)
		l.within(at("earliest"), int64(it.Earliest), -maxDate, maxDate)
		l.within(at("due"), int64(it.Due), -maxDate, maxDate)
		l.within(at("lead"), int64(it.Lead), -maxDate, maxDate)
		if it.Latest != nil {
			l.within(at("latest"), int64(*it.Latest), -maxDate, maxDate)
		}
		l.within(at("work"), int64(it.Work), 0, MaxWork)
		l.within(at("interval"), int64(it.Interval), 1, maxDate)
		l.within(at("value"), it.Value, 0, MaxMoney)
		l.within(at("late"), it.Late, 0, MaxMoney)
		l.within(at("skip"), it.Skip, 0, MaxMoney)
	}
}

// maxTeardowns is how many teardowns one machine's items may share.
const maxTeardowns = 64

// validTeardowns checks that the teardowns of each machine can be told apart.
func (p *Problem) validTeardowns(l *faultList) {
	seen := map[string]map[string]bool{}
	for i, it := range p.Items {
		if it.Access == "" {
			continue
		}
		if seen[it.Machine] == nil {
			seen[it.Machine] = map[string]bool{}
		}
		seen[it.Machine][it.Access] = true
		if len(seen[it.Machine]) == maxTeardowns+1 {
			l.add(fmt.Sprintf("items[%d].access", i), it.Access, fmt.Sprintf("is more than the %d teardowns that a machine may have", maxTeardowns),
				"name the same teardown the same way")
		}
	}
}

// validRules checks limits and blackouts.
func (p *Problem) validRules(l *faultList, ids idSets) {
	for i, k := range p.Limits {
		field := fmt.Sprintf("limits[%d]", i)
		l.known(ids.classes, field+".class", k.Class, "classes", true)
		l.known(ids.sites, field+".site", k.Site, "sites", true)
		l.span(field, k.From, k.To)
		l.within(field+".max_out", int64(k.MaxOut), 0, MaxMoney)
	}
	for i, k := range p.Blackouts {
		field := fmt.Sprintf("blackouts[%d]", i)
		l.known(ids.classes, field+".class", k.Class, "classes", true)
		l.known(ids.sites, field+".site", k.Site, "sites", true)
		l.span(field, k.From, k.To)
	}
}

// validLocked checks that the locked visits name things that exist and that
// they can all be kept.
func (p *Problem) validLocked(l *faultList, ids idSets) {
	type stop struct {
		machine, bay string
		day          int
	}
	seen := map[stop]int{}
	for i, v := range p.Locked {
		field := fmt.Sprintf("locked[%d]", i)
		l.known(ids.machines, field+".machine", v.Machine, "machines", false)
		l.known(ids.bays, field+".bay", v.Bay, "bays", false)
		for j, id := range v.Items {
			l.known(ids.items, fmt.Sprintf("%s.items[%d]", field, j), id, "items", false)
		}
		if len(v.Items) == 0 {
			l.add(field+".items", "", "is empty", "name what was agreed, or take the lock out")
		}
		key := stop{v.Machine, v.Bay, v.Day}
		if first, twice := seen[key]; twice {
			l.add(field, v.Machine, fmt.Sprintf("is the same stop as locked[%d]", first), "put the items of both into one")
		}
		seen[key] = i
	}
	if len(l.faults) > 0 {
		return
	}
	for _, b := range Check(p, p.Locked).Broken {
		field := "locked"
		if b.Visit >= 0 {
			field = fmt.Sprintf("locked[%d]", b.Visit)
		}
		l.add(field, b.Subject, "cannot be kept: "+b.Text, "free the lock, or change what forbids it")
	}
}
