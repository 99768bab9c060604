package scheduler_test

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/calendar"
)

// dueDay is a day on which an item truly fell due.
type dueDay struct {
	machine, item string
	since, on     models.Date
	done          models.Date // the next service; none: it was not done
}

// dueDays gives when items truly fell due within days and were not done before.
func (y *year) dueDays(from, to models.Date) (out []dueDay) {
	rule := map[[2]string]models.Rule{}
	for _, r := range y.all.Rules {
		rule[[2]string{r.Kind, r.Item}] = r
	}
	for _, m := range y.all.Machines {
		done := map[string][]models.Service{}
		for _, s := range y.all.Services {
			if s.Machine == m.ID {
				done[s.Item] = append(done[s.Item], s)
			}
		}
		for item, ss := range done {
			slices.SortFunc(ss, func(a, b models.Service) int { return cmp.Compare(a.At, b.At) })
			r := rule[[2]string{m.Kind, item}]
			for i, s := range ss {
				d := dueDay{machine: m.ID, item: item, since: s.At, done: models.MaxDate}
				if i+1 < len(ss) {
					d.done = ss[i+1].At
				}
				if d.on = y.fallsDue(m.ID, r, s, to); d.on >= from && d.on <= to && d.done >= d.on && s.At < from.AddDays(330) {
					out = append(out, d)
				}
			}
		}
	}
	return out
}

// fallsDue gives the day on which a rule's first limit since a service was
// reached, the day after to where none was until then.
func (y *year) fallsDue(machine string, r models.Rule, s models.Service, to models.Date) models.Date {
	end := to.AddDays(1)
	if r.Months > 0 {
		end = min(end, calendar.AddMonths(s.At, r.Months))
	}
	for on := s.At.AddDays(1); on < end; on = on.AddDays(1) {
		miles, hours := y.meter(machine, on)
		if r.Miles.Known && s.Miles.Known && miles >= s.Miles.F+r.Miles.F || r.Hours.Known && s.Hours.Known && hours >= s.Hours.F+r.Hours.F {
			return on
		}
	}
	return end
}

// figures are what a year comes to.
type figures struct {
	perYear             map[int][]float64 // by machines of the contact: messages a year
	twice, again        int
	corrections, toPast int
	due, told, inTime   int
	soon                int // two messages within a week, nothing late or asked in the later
}

func (y *year) figures(from, to models.Date) figures {
	f := figures{perYear: map[int][]float64{}}
	days := float64(from.DaysTo(to) + 1)
	for _, c := range y.tells {
		f.perYear[c.machines] = append(f.perYear[c.machines], float64(c.messages)*365/days)
	}
	for o, ms := range y.owned { // contacts who heard nothing
		if !slices.ContainsFunc(y.all.Contacts, func(c models.Contact) bool { return c.Owner == o && y.tells[c.ID] != nil }) {
			f.perYear[len(ms)] = append(f.perYear[len(ms)], 0)
		}
	}
	y.repeats(&f)
	y.pace(&f)
	for _, d := range y.dueDays(from.AddDays(45), to) {
		f.due++
		for _, n := range y.log {
			if n.Machine == d.machine && n.Item == d.item && n.Subject == models.SubjectItem && n.Stage != models.StageMoved && n.LastOn == d.since && n.on <= d.on {
				f.told++
				if n.on <= d.on.AddDays(-min(7, d.since.DaysTo(d.on)/6)) {
					f.inTime++
				}
				break
			}
		}
	}
	return f
}

// repeats counts what was told twice in a message, and stages that were told
// again though nothing was done between.
func (y *year) repeats(f *figures) {
	type stage struct {
		contact, machine, item string
		stage                  models.Stage
		since                  models.Date
	}
	in := map[[2]string]bool{}
	had := map[stage]bool{}
	for _, n := range y.log {
		if n.Subject != models.SubjectItem {
			continue
		}
		at := [2]string{fmt.Sprint(*n.Message), n.Machine + "/" + n.Item}
		if in[at] {
			f.twice++
		}
		in[at] = true
		k := stage{n.Contact, n.Machine, n.Item, n.Stage, n.LastOn}
		if n.Stage == models.StageMoved {
			f.corrections++
			if n.DueOn <= n.on {
				f.toPast++
			}
			continue
		}
		if had[k] {
			f.again++
		}
		had[k] = true
	}
}

// pace counts messages that came within a week of another though they told
// nothing late and asked nothing of a repair.
func (y *year) pace(f *figures) {
	type sent struct {
		id      int64
		on      models.Date
		pressed bool
	}
	by := map[string][]sent{}
	for _, n := range y.log {
		l := by[n.Contact]
		if len(l) == 0 || l[len(l)-1].id != *n.Message {
			l = append(l, sent{id: *n.Message, on: n.on})
		}
		l[len(l)-1].pressed = l[len(l)-1].pressed || n.Stage == models.StageLate || n.Subject == models.SubjectCheck
		by[n.Contact] = l
	}
	for _, l := range by {
		for i := 1; i < len(l); i++ {
			if !l[i].pressed && l[i-1].on.DaysTo(l[i].on) < 7 {
				f.soon++
			}
		}
	}
}

func (f figures) String() string {
	var b strings.Builder
	for _, n := range slices.Sorted(maps.Keys(f.perYear)) {
		fmt.Fprintf(&b, "%d machines: %d contacts, %.1f messages a year (most %.0f)\n", n, len(f.perYear[n]), f.average(n), slices.Max(f.perYear[n]))
	}
	fmt.Fprintf(&b, "an item twice in a message %d; a stage again %d; corrections %d (to past days %d); too soon after another %d\n",
		f.twice, f.again, f.corrections, f.toPast, f.soon)
	fmt.Fprintf(&b, "fell due %d: told by then %.1f %%, a week (or a sixth of the interval) before %.1f %%", f.due, 100*float64(f.told)/float64(f.due), 100*float64(f.inTime)/float64(f.due))
	return b.String()
}

// average gives the mean of the messages a year to contacts of a size.
func (f figures) average(machines int) float64 {
	sum := 0.0
	for _, v := range f.perYear[machines] {
		sum += v
	}
	return sum / float64(len(f.perYear[machines]))
}
