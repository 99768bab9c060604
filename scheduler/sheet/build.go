package sheet

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/cooling"
	"example.org/roundsman/scheduler/job"
	"example.org/roundsman/scheduler/usage"
)

// Use answers what is asked of a machine's use; *usage.Model does.
type Use interface {
	First(limits []usage.Limit, notYetBy models.Date) usage.Crossing
	At(meter models.Meter, on models.Date) (usage.Range, bool)
}

// Scale turns what meters show into true values and back; *usage.Screened does.
type Scale interface {
	Cumulative(meter models.Meter, on models.Date, shown float64) (value float64, ok bool)
	Shown(meter models.Meter, cumulative float64) float64
}

// Input is all that a sheet is made of, as known on a day.
type Input struct {
	Today     models.Date
	History   models.History
	Owner     models.Owner
	Contacts  []models.Contact
	Forecasts []models.Forecast // with the stages of Today
	Rules     []models.Rule     // those of the machine
	Teardowns []models.Teardown
	Jobs      []models.WholeJob // of the machine, as they stood
	Scale     Scale
	Use       Use
	Pace      usage.Pace
	Seen      map[models.Meter]models.Date // the first day on which each meter's value is known
	Doubts    []models.Doubt
	Doubted   []usage.DoubtedService
	Language  string

	// What is planned where no job says so.
	Complaint string
	Items     []string
}

// builder makes one sheet.
type builder struct {
	Input
	m     models.Machine
	now   map[models.Meter]float64 // likely true values
	sheet Sheet
}

// Build makes the sheet of a machine.
func Build(in Input) Sheet {
	b := builder{Input: in, m: in.History.Machine, now: map[models.Meter]float64{}}
	for _, m := range []models.Meter{models.Odometer, models.HourMeter} {
		if r, ok := in.Use.At(m, in.Today); ok {
			b.now[m] = r.Likely
		}
	}
	b.sheet.AsOf, b.sheet.Forecasts, b.sheet.Unruled = in.Today, in.Forecasts, len(in.Rules) == 0
	b.machine()
	b.owner()
	b.doubted() // first: none of them is shown for what a meter shows
	b.meters()
	b.pace()
	hand := b.inHand()
	b.history()
	b.parts()
	b.alike(hand)
	items, guessed := b.itemsInHand(hand)
	b.reach(items, guessed)
	b.buy(items)
	b.checks()
	b.asks()
	b.cautions(items, hand)
	return b.sheet
}

func (b *builder) machine() {
	m := b.m
	unit := "mi"
	if m.Meters.Metric() {
		unit = "km"
	}
	b.sheet.Machine = Machine{
		ID: m.ID, Tag: m.Tag, Label: m.Label(), Kind: m.Kind, Make: m.Make, Model: m.Model, Year: m.Year, Serial: m.Serial,
		Site: m.Site, Duty: m.Duty, Cooling: m.Cooling, Fuel: m.Fuel, CoolantLiters: m.CoolantLitres, LowestC: m.LowestC.Number,
		Unit: unit, InService: m.InService,
	}
	if s := b.History.Standing(); !s.InCare() || s.LaidUpUntil(b.Today) != 0 {
		b.sheet.Machine.Standing = models.StandingWords(s, b.Language)
	}
}

func (b *builder) owner() {
	o := Owner{ID: b.m.Owner, Name: b.Owner.Name}
	for _, c := range b.Contacts {
		way := c.Prefers
		if way == "" {
			way = models.ChannelMail
		}
		_, stopped := c.Consent(way)
		o.Contacts = append(o.Contacts, Contact{Name: c.Name, Role: c.Role, Mobile: c.Mobile, Mail: c.Mail, Prefers: way,
			Stopped: stopped != 0 && stopped <= b.Today})
	}
	slices.SortStableFunc(o.Contacts, func(x, y Contact) int { return roleRank(x.Role) - roleRank(y.Role) })
	b.sheet.Owner = o
}

// roleRank puts those first who answer for the machine.
func roleRank(r models.Role) int {
	order := []models.Role{models.RoleService, models.RoleOwner, models.RoleManager, models.RoleOperator}
	if i := slices.Index(order, r); i >= 0 {
		return i
	}
	return len(order)
}

// meters tells what the meters likely show and what was read last.
func (b *builder) meters() {
	for _, meter := range []models.Meter{models.Odometer, models.HourMeter} {
		r, ok := b.Use.At(meter, b.Today)
		if !ok {
			continue
		}
		m := Meter{Meter: meter, Unit: b.unit(meter)}
		show := func(v float64) models.Number { return models.Num(tenth(b.Scale.Shown(meter, v))) }
		if b.Seen[meter] != 0 { // else the value counts from nothing
			m.Likely, m.Low, m.High = show(r.Likely), show(r.Low), show(r.High)
		}
		b.lastRead(&m)
		b.sheet.Meters = append(b.sheet.Meters, m)
	}
}

func (b *builder) unit(meter models.Meter) string {
	if meter == models.HourMeter {
		return "h"
	}
	return b.sheet.Machine.Unit
}

// lastRead sets the last value read off a meter that nobody doubts.
func (b *builder) lastRead(m *Meter) {
	for _, r := range b.History.Readings {
		if v := r.Value(m.Meter); v.Known && r.At >= m.LastOn && !b.isDoubted(r.Row, m.Meter) && r.Standing != models.StandingWithdrawn {
			m.Last, m.LastOn, m.Source, m.Guess = v, r.At, r.Source, r.Width.Known
		}
	}
	for _, s := range b.History.Services {
		if v := s.Value(m.Meter); v.Known && s.At >= m.LastOn && !b.isSlip(m.Meter, s.At, v) {
			m.Last, m.LastOn, m.Source, m.Guess = v, s.At, models.SourceShop, false
		}
	}
}

func (b *builder) isDoubted(reading int64, meter models.Meter) bool {
	return slices.ContainsFunc(b.Doubts, func(d models.Doubt) bool { return d.Reading == reading && d.Meter == meter })
}

// pace tells how much the machine was used.
func (b *builder) pace() {
	p := b.Pace
	if p.Meter == "" {
		return
	}
	shown := func(n models.Number) models.Number {
		if n.Known && p.Meter == models.Odometer {
			n.F = b.m.Meters.Shown(n.F)
		}
		return n
	}
	b.sheet.Pace = &Pace{Unit: b.unit(p.Meter), Lately: shown(p.Lately), Since: p.Since}
	if p.Differs() {
		b.sheet.Pace.Before = shown(p.Before)
	}
}

// doubted lists the values that are left out, the newest first.
func (b *builder) doubted() {
	for _, d := range b.Doubts {
		for _, r := range b.History.Readings {
			if r.Row == d.Reading {
				b.sheet.Doubted = append(b.sheet.Doubted, Doubted{Unit: b.unit(d.Meter), On: r.At, Shown: r.Value(d.Meter), Reason: d.Reason, Likely: d.Likely})
			}
		}
	}
	for _, d := range b.Doubted {
		for _, s := range b.History.Services {
			if s.Row == d.Service {
				b.sheet.Doubted = append(b.sheet.Doubted, Doubted{Unit: b.unit(d.Meter), On: s.At, Shown: s.Value(d.Meter), Reason: d.Reason, Likely: d.Likely, Service: true})
			}
		}
	}
	slices.SortStableFunc(b.sheet.Doubted, func(x, y Doubted) int { return cmp.Compare(y.On, x.On) })
}

// isSlip says whether a value written down with a service or job of a day is
// one that is left out.
func (b *builder) isSlip(meter models.Meter, on models.Date, shown models.Number) bool {
	return slices.ContainsFunc(b.sheet.Doubted, func(d Doubted) bool {
		return d.Service && d.Unit == b.unit(meter) && d.On == on && d.Shown == shown
	})
}

// since gives what a meter has counted since a day; unknown where its value of
// that day cannot be told. about says that the value was worked out from those
// around it.
func (b *builder) since(meter models.Meter, on models.Date, shown models.Number) (run models.Number, about bool) {
	now, ok := b.now[meter]
	if !ok || b.Seen[meter] == 0 {
		return models.Number{}, false
	}
	then, ok := 0.0, false
	if shown.Known && !b.isSlip(meter, on, shown) {
		then, ok = b.Scale.Cumulative(meter, on, shown.F)
	}
	if !ok {
		r, known := b.Use.At(meter, on)
		if !known || on < b.Seen[meter] {
			return models.Number{}, false
		}
		then, about = r.Likely, true
	}
	v := math.Max(0, now-then)
	if meter == models.Odometer {
		v = b.m.Meters.Shown(v)
	}
	return models.Num(tenth(v)), about
}

// inHand finds the job in hand: the newest for which the machine is at the
// shop.
func (b *builder) inHand() *models.WholeJob {
	var hand *models.WholeJob
	for i := range b.Jobs {
		w := &b.Jobs[i]
		if !w.Job.State.InHand() {
			continue
		}
		switch {
		case hand == nil:
			hand = w
		case began(w.Job) > began(hand.Job):
			b.sheet.Others = append(b.sheet.Others, hand.Job.ID)
			hand = w
		default:
			b.sheet.Others = append(b.sheet.Others, w.Job.ID)
		}
	}
	if hand == nil {
		return nil
	}
	j := hand.Job
	s := &Job{ID: j.ID, State: j.State, Turn: j.Turn, OpenedOn: j.OpenedOn, BackOn: j.BackOn, Complaint: j.Complaint, Cause: j.Cause,
		Correction: j.Correction, BackOf: j.BackOf, Note: j.Note}
	for _, c := range j.Codes.List() {
		name, _ := cooling.CodeName(c)
		s.Codes = append(s.Codes, Code{Code: c, Name: name})
	}
	for _, l := range job.LinesOf(*hand, j.Turn) {
		s.Lines = append(s.Lines, l.Title(b.Language))
	}
	b.sheet.Job = s
	return hand
}

func began(j models.Job) models.Date { return max(j.OpenedOn, j.BackOn) }

// alike flags earlier complaints that look like the one in hand.
func (b *builder) alike(hand *models.WholeJob) {
	c := job.Complaint{Text: b.Complaint}
	own := ""
	if hand != nil {
		own = hand.Job.ID
		c.Codes = hand.Job.Codes
		if hand.Job.Complaint != "" {
			c.Text = hand.Job.Complaint
		}
	}
	var earlier []job.Earlier
	for _, w := range b.Jobs {
		if w.Job.ID == own || w.Job.State.InHand() {
			continue
		}
		e := job.Earlier{Whole: w}
		if w.Job.Miles.Known {
			if v, ok := b.Scale.Cumulative(models.Odometer, w.Job.At(), w.Job.Miles.F); ok {
				e.Miles = models.Num(v)
			}
		}
		earlier = append(earlier, e)
	}
	now := models.Number{}
	if v, ok := b.now[models.Odometer]; ok {
		now = models.Num(v)
	}
	for _, m := range job.Alike(c, earlier, b.Today, now) {
		a := Alike{Job: m.Job.ID, On: m.Job.At(), Days: m.Days, Complaint: m.Job.Complaint, Correction: m.Job.Correction,
			Why: m.Why, Score: math.Round(m.Score*100) / 100}
		if m.MilesSince.Known {
			a.Since = models.Num(tenth(b.m.Meters.Shown(m.MilesSince.F)))
		}
		b.sheet.Alike = append(b.sheet.Alike, a)
	}
}

// checks lists the open checks of jobs.
func (b *builder) checks() {
	for _, w := range b.Jobs {
		lapsed := job.Lapsed(w, b.Jobs)
		for _, a := range w.Checks {
			c := a.Check
			if !a.Open() || c.Kind == models.CheckOwner && lapsed || c.Turn != w.Job.Turn || w.Job.State == models.JobWithdrawn ||
				(c.Kind == models.CheckBench && w.Job.State == models.JobHanded) {
				continue
			}
			out := Check{ID: c.ID, Job: w.Job.ID, Kind: c.Kind, Question: c.Question(b.Language), AskOn: job.AskOn(c, b.Use, b.Scale)}
			if last, ok := a.Last(); ok {
				out.Bad, out.Words = last.Result == models.CheckBad, last.Words
			}
			b.sheet.Checks = append(b.sheet.Checks, out)
		}
	}
	slices.SortStableFunc(b.sheet.Checks, func(x, y Check) int {
		if x.Kind != y.Kind && x.Kind == models.CheckBench {
			return -1
		} else if x.Kind != y.Kind {
			return 1
		}
		return 0
	})
}

// asks lists what is not known and would help.
func (b *builder) asks() {
	add := func(text string) {
		if text != "" && !slices.Contains(b.sheet.Asks, text) {
			b.sheet.Asks = append(b.sheet.Asks, text)
		}
	}
	if len(b.Rules) == 0 {
		add(fmt.Sprintf(models.AskNoRules.In(b.Language), b.m.Kind))
	}
	if b.m.Cooling != models.CoolingAir && !b.m.CoolantLitres.Known {
		add(models.AskCoolantFill.In(b.Language))
	}
	for _, f := range b.Forecasts {
		if f.Reason == models.ReasonNoRecord && models.ItemOf(f.Item).OnCondition {
			add(fmt.Sprintf(models.AskAge.In(b.Language), models.ItemName(f.Item, b.Language)))
			continue
		}
		if f.Reason == models.ReasonNoRecord && f.Item != models.ItemFirstInspection {
			add(fmt.Sprintf(models.AskItem.In(b.Language), models.ItemName(f.Item, b.Language)))
			continue
		}
		add(f.Ask.In(b.Language))
	}
}

// cautions are those of the work in hand and of what is proposed with it.
func (b *builder) cautions(items []string, hand *models.WholeJob) {
	all := slices.Clone(items)
	for _, w := range b.sheet.Within {
		for _, i := range w.Items {
			all = append(all, i.Item)
		}
	}
	for _, i := range b.sheet.Due {
		all = append(all, i.Item)
	}
	if hand != nil {
		for _, l := range job.LinesOf(*hand, hand.Job.Turn) {
			switch {
			case l.Cooling:
				all = append(all, models.ItemCoolant)
			case l.Item == "":
				all = append(all, "repair")
			}
		}
		if len(all) == 0 {
			all = append(all, "repair")
		}
	}
	b.sheet.Cautions = models.CautionsForAll(all, b.m)
}

// tenth rounds to the last figure that meters show.
func tenth(v float64) float64 { return math.Round(v*10)/10 + 0 }
