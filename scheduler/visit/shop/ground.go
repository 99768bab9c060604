package shop

import (
	"slices"
	"strconv"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/visit"
)

// places fills sites, classes, bays and the week.
func (d *Draft) places() {
	p, s := &d.Problem, d.in.Settings
	sites, kinds := map[string]bool{}, map[string]bool{}
	for _, m := range d.in.Machines {
		if site := siteOf(m); !sites[site] {
			sites[site] = true
			p.Sites = append(p.Sites, visit.Site{ID: site, Transport: d.transport(site)})
		}
		if kind := models.KindID(m.Kind); !kinds[kind] {
			kinds[kind] = true
			p.Classes = append(p.Classes, visit.Class{ID: kind, Downtime: s.DowntimeCents})
		}
	}
	p.OpenMin = s.OpenMin[:]
	for _, b := range d.in.PlanningData.Bays {
		bay := visit.Bay{ID: b.ID}
		for _, k := range b.Kinds.List() {
			if kind := models.KindID(k); kinds[kind] {
				bay.Classes = append(bay.Classes, kind)
			}
		}
		if b.Kinds != "" && len(bay.Classes) == 0 {
			continue // it takes nothing that there is; without classes it would take everything
		}
		p.Bays = append(p.Bays, bay)
	}
	if len(d.in.PlanningData.Bays) == 0 {
		for i := range max(1, s.Bays) {
			p.Bays = append(p.Bays, visit.Bay{ID: strconv.Itoa(i + 1)})
		}
	}
	p.TechMin = make([]int, 7)
	for _, t := range d.in.PlanningData.Technicians {
		for i, minutes := range t.Week() {
			p.TechMin[i] += minutes
		}
	}
	if len(d.in.PlanningData.Technicians) == 0 {
		for i, minutes := range s.OpenMin {
			p.TechMin[i] = minutes * max(1, s.Technicians)
		}
	}
}

// transport gives the cents of a visit from a site.
func (d *Draft) transport(site string) int64 {
	for _, s := range d.in.PlanningData.Sites {
		if s.ID == site && s.TransportCents.Known {
			return cents(s.TransportCents.F)
		}
	}
	return d.in.Settings.TransportCents
}

// closures fills closed days, absences, blackouts and limits.
func (d *Draft) closures() {
	p := &d.Problem
	closed := map[int]bool{}
	for day := range p.Days {
		if d.in.Holidays == nil {
			break
		}
		if name := d.in.Holidays.Holiday(d.date(day)); name != "" && !closed[day] {
			closed[day] = true
			d.marks = append(d.marks, mark{from: day, to: day, shop: true, note: name})
		}
	}
	for _, c := range d.in.PlanningData.Closures {
		from, to := max(0, d.day(c.From)), min(p.Days-1, d.day(c.To))
		if from > to {
			continue
		}
		switch c.Sort {
		case models.ClosureShop:
			for day := from; day <= to; day++ {
				closed[day] = true
			}
			d.marks = append(d.marks, mark{from: from, to: to, shop: true, note: c.Note})
		case models.ClosureAway:
			d.away(c.Technician, from, to)
		case models.ClosureBlack, models.ClosureLimit:
			d.bound(c, from, to)
		}
	}
	for day := range closed {
		p.Closed = append(p.Closed, day)
	}
	slices.Sort(p.Closed)
}

// away takes a technician's minutes off the days of an absence.
func (d *Draft) away(technician string, from, to int) {
	for _, t := range d.in.PlanningData.Technicians {
		if t.ID != technician {
			continue
		}
		for day := from; day <= to; day++ {
			minutes := t.Week()[(int(d.date(day).Weekday())+6)%7]
			off := d.Problem.TechOff
			if n := len(off); n > 0 && day > from && off[n-1][1] == day-1 && off[n-1][2] == minutes {
				off[n-1][1] = day
			} else if minutes > 0 {
				d.Problem.TechOff = append(off, [3]int{day, day, minutes})
			}
		}
		return
	}
	d.Notes = append(d.Notes, note("an absence names the technician %q, whom nobody knows", technician))
}

// note is a word on what could not be used, in each language.
func note(format string, args ...any) *models.Error {
	return models.Errorf(models.CodeInvalid, "", format, args...)
}

// bound adds a blackout or limit, where there is a machine that it is about.
func (d *Draft) bound(c models.Closure, from, to int) {
	p := &d.Problem
	if c.Kind != "" {
		c.Kind = models.KindID(c.Kind)
	}
	site := c.Site == "" || slices.ContainsFunc(p.Sites, func(s visit.Site) bool { return s.ID == c.Site })
	kind := c.Kind == "" || slices.ContainsFunc(p.Classes, func(k visit.Class) bool { return k.ID == c.Kind })
	if !site || !kind {
		d.Notes = append(d.Notes, note("days from %s to %s are about site %q and kind %q, of which there is no machine", c.From, c.To, c.Site, c.Kind))
		return
	}
	if c.Sort == models.ClosureLimit {
		p.Limits = append(p.Limits, visit.Limit{Class: c.Kind, Site: c.Site, From: from, To: to, MaxOut: c.MaxOut})
		return
	}
	p.Blackouts = append(p.Blackouts, visit.Blackout{Class: c.Kind, Site: c.Site, From: from, To: to})
	d.marks = append(d.marks, mark{from: from, to: to, site: c.Site, kind: c.Kind, note: c.Note})
}

// keep locks the agreed visits that can be kept, one after the other, and
// makes those that people were only shown dear to move.
func (d *Draft) keep() {
	p := &d.Problem
	for _, v := range d.standing {
		day := d.day(v.On)
		if day >= p.Days {
			continue
		}
		if v.State == models.VisitPlanned {
			d.tell(v.Machine, day, d.in.Settings.MoveCents)
			continue
		}
		lock := visit.Visit{Machine: v.Machine, Day: day, Bay: v.Bay}
		for _, item := range v.Items.List() {
			lock.Items = append(lock.Items, itemID(v.Machine, item))
		}
		trial := *p
		trial.Locked = append(p.Locked[:len(p.Locked):len(p.Locked)], lock)
		if broken := visit.Check(&trial, trial.Locked).Broken; len(broken) > 0 {
			d.Conflicts = append(d.Conflicts, Conflict{Visit: v, Why: d.whyBroken(broken[0])})
			if day >= d.first() {
				d.tell(v.Machine, day, agreedWeight*d.in.Settings.MoveCents)
			}
			continue
		}
		p.Locked = trial.Locked
		d.agreed[stopKey(v.Machine, day)] = v
	}
}

// tell makes a day dear to move that people know of. Of two figures for one
// day the larger counts; a machine with nothing to plan has no day to move.
func (d *Draft) tell(machine string, day int, price int64) {
	price = cents(float64(price))
	if !slices.ContainsFunc(d.Problem.Machines, func(m visit.Machine) bool { return m.ID == machine }) || price == 0 {
		return
	}
	for i := range d.Told {
		if t := &d.Told[i]; t.Machine == machine && t.Day == day {
			t.Cents = max(t.Cents, price)
			return
		}
	}
	d.Told = append(d.Told, visit.Notified{Machine: machine, Day: day, Cents: price})
}

// stopKey names a stop of a machine.
func stopKey(machine string, day int) string { return itemID(machine, strconv.Itoa(day)) }

// whyBroken says in the shop's words why a visit cannot be kept.
func (d *Draft) whyBroken(b visit.Broken) string {
	switch b.Rule {
	case visit.RuleStart:
		return d.say("the shop is closed on its day", "el taller está cerrado ese día")
	case visit.RuleBlackout:
		return d.say("its machine cannot be spared on its days", "no se puede prescindir de la máquina en esos días")
	case visit.RuleLimit:
		return d.say("too many machines would be out at once", "habría demasiadas máquinas paradas a la vez")
	case visit.RuleBay:
		return d.say("its bay is full or does not take the machine", "su bahía está llena o no admite la máquina")
	case visit.RuleTech:
		return d.say("too few people are there on its day", "ese día hay muy poca gente")
	case visit.RuleTwice:
		return d.say("the machine has another visit on one of its days", "la máquina tiene otra visita en uno de esos días")
	case visit.RuleEnd:
		return d.say("its work does not end within the plan", "el trabajo no termina dentro del plan")
	case visit.RuleUnknown:
		return d.say("its bay is not there any more", "su bahía ya no existe")
	}
	return b.Text
}
