package demo

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/calendar"
	"example.org/roundsman/scheduler/interval"
)

// story is what becomes of one unit.
type story struct {
	unit    unit
	machine models.Machine
	rng     *rand.Rand
	rules   []models.Rule
	first   models.Date
	miles   []float64 // true miles on the evening of each day from first, starts and all
	hours   []float64

	last     map[string]models.Service // by item, with true values
	readings []models.Reading
	services []models.Service
	swaps    []models.Swap
}

// simulate plays a unit's years. n tells its chances from those of others.
func simulate(u unit, rules []models.Rule, n uint64) *story {
	m := machineOf(u)
	s := &story{
		unit: u, machine: m, rng: rand.New(rand.NewPCG(seed, n)), first: m.InService,
		rules: interval.Resolve(rules, m), last: map[string]models.Service{},
	}
	s.use()
	if u.swapped != "" {
		on := models.MustDate(u.swapped)
		s.swaps = []models.Swap{{Machine: u.id, At: on, Meter: models.Odometer, OldValue: models.Num(s.shownMiles(on)), NewValue: models.Num(0)}}
	}
	s.serve()
	s.read()
	s.slip()
	return s
}

func machineOf(u unit) models.Machine {
	m := models.Machine{
		ID: u.id, Tag: u.tag, Kind: u.kind, Owner: u.owner, Meters: u.meters, InService: models.MustDate(u.since),
		Make: u.make, Model: u.model, Year: u.built, Serial: fmt.Sprintf("DEMO%s%d", strings.ReplaceAll(u.id, "-", ""), u.built),
		Duty: u.duty, Site: u.site, Cooling: u.cooling, Fuel: u.fuel,
	}
	if u.meters.Has(models.Odometer) {
		m.MilesStart = models.Num(tenth(u.meters.Shown(u.miles0)))
	}
	if u.meters.Has(models.HourMeter) {
		m.HoursStart = models.Num(u.hours0)
	}
	if u.max > 0 {
		m.MilesMax = models.Num(u.max)
	}
	if u.litres > 0 {
		m.CoolantLitres, m.LowestC = models.Num(u.litres), models.Degrees(u.lowest)
	}
	return m
}

// tenth cuts a value to what a meter shows.
func tenth(v float64) float64 { return math.Floor(v*10+1e-6) / 10 }

// use runs the machine from its first day to the last: some days it stands,
// on others it runs by the season, more on some than on others.
func (s *story) use() {
	share := 0.0
	for _, w := range s.unit.season {
		share += w
	}
	const running = 0.5 // of the days
	hours, miles := s.unit.hours0, s.unit.miles0
	for d := s.first; d <= lastDay; d++ {
		mean := s.unit.hours * s.unit.season[d.Month()-1] / share * 12 / 365
		if s.rng.Float64() < running {
			ran := min(14, mean/running*s.rng.ExpFloat64())
			hours += ran
			miles += ran * s.unit.pace * (0.8 + 0.4*s.rng.Float64())
		}
		s.hours, s.miles = append(s.hours, hours), append(s.miles, miles)
	}
}

// shownMiles gives what the odometer shows on the evening of a day, before a
// swap of that day.
func (s *story) shownMiles(on models.Date) float64 {
	v := s.machine.Meters.Shown(s.miles[s.first.DaysTo(on)])
	for _, w := range s.swaps {
		if on > w.At {
			v -= s.machine.Meters.Shown(s.miles[s.first.DaysTo(w.At)])
		}
	}
	if turn := s.machine.MilesMax.F + 0.1; s.machine.MilesMax.Known && v >= turn {
		v = math.Mod(v, turn)
	}
	return tenth(v)
}

// shown gives what the machine's meters show on the evening of a day.
func (s *story) shown(on models.Date) (miles, hours models.Number) {
	if s.machine.Meters.Has(models.Odometer) {
		miles = models.Num(s.shownMiles(on))
	}
	if s.machine.Meters.Has(models.HourMeter) {
		hours = models.Num(tenth(s.hours[s.first.DaysTo(on)]))
	}
	return miles, hours
}

// serve has the machine in the shop: when it is new and run in or comes used,
// and then some days after the first of its items has fallen due.
func (s *story) serve() {
	start := s.first.AddDays(4)
	used, _ := s.machine.BoughtUsed()
	if !used {
		start = s.brokenIn()
	}
	s.visit(start, used)
	end := lastDay
	if s.unit.slipped != "" {
		end = models.MustDate(s.unit.slipped)
	}
	for d := start; d <= end; d++ {
		if !s.anyDue(d) {
			continue
		}
		d = d.AddDays(int(s.unit.slack * (0.3 + 1.4*s.rng.Float64())))
		if d <= end {
			s.visit(d, false)
		}
	}
}

// anyDue says whether an interval has run out.
func (s *story) anyDue(on models.Date) bool {
	return slices.ContainsFunc(s.rules, func(r models.Rule) bool {
		use, time := s.spent(r, on)
		return !s.skips(r) && (use >= 1 || time >= 1)
	})
}

// skips says whether the shop does nothing by a rule: a break-in is done once,
// and not on a used machine; a part on condition has held so far.
func (s *story) skips(r models.Rule) bool {
	used, _ := s.machine.BoughtUsed()
	_, done := s.last[r.Item]
	return slices.Contains(s.unit.unrecorded, r.Item) || r.Item == models.ItemBreakIn && (used || done) || models.ItemOf(r.Item).OnCondition
}

// brokenIn gives the day on which a new machine had run about 18 hours.
func (s *story) brokenIn() models.Date {
	for i, h := range s.hours {
		if h >= 18 {
			return s.first.AddDays(i)
		}
	}
	return lastDay
}

// A shop does what has used up this much of its interval, rather than have the
// machine back in between.
const (
	enoughUse  = 0.6
	enoughTime = 0.75
)

// visit does what a good shop would do on that day: all that has used up most
// of its interval, or everything.
func (s *story) visit(on models.Date, everything bool) {
	miles, hours := s.shown(on)
	for _, r := range s.rules {
		use, time := s.spent(r, on)
		if s.skips(r) || !everything && use < enoughUse && time < enoughTime {
			continue
		}
		i := s.first.DaysTo(on)
		s.last[r.Item] = models.Service{Item: r.Item, At: on, Miles: models.Num(s.miles[i]), Hours: models.Num(s.hours[i])}
		s.services = append(s.services, models.Service{Machine: s.unit.id, Item: r.Item, At: on, Miles: miles, Hours: hours})
	}
}

// spent gives how much of an interval is used up, by the meters and by the
// calendar; 1 is all of it.
func (s *story) spent(r models.Rule, on models.Date) (use, time float64) {
	last, done := s.last[r.Item]
	if !done {
		last = models.Service{At: s.first, Miles: models.Num(s.unit.miles0), Hours: models.Num(s.unit.hours0)}
		if r.FirstHours.Known {
			r.Hours = r.FirstHours
		}
		if r.FirstMiles.Known {
			r.Miles = r.FirstMiles
		}
	}
	if r.Months > 0 {
		const month = 365.25 / 12 // days
		time = float64(last.At.DaysTo(on)) / (float64(r.Months) * month)
	}
	if !r.By.IsZero() && on >= calendar.LastBefore(r.By, last.At) {
		time = 1
	}
	i := s.first.DaysTo(on)
	if r.Hours.Known && s.machine.Meters.Has(models.HourMeter) {
		use = (s.hours[i] - last.Hours.F) / r.Hours.F
	}
	if r.Miles.Known && s.machine.Meters.Has(models.Odometer) {
		use = max(use, (s.miles[i]-last.Miles.F)/r.Miles.F)
	}
	return use, time
}

// read has the owner read the meters, at irregular times, more often in the
// season; now and then one meter only, or without the tenths.
func (s *story) read() {
	end := lastDay
	if s.unit.silent != "" {
		end = models.MustDate(s.unit.silent).AddDays(-1)
	}
	top := slices.Max(s.unit.season[:])
	for d := s.first; d <= end; {
		miles, hours := s.shown(d)
		r := models.Reading{Machine: s.unit.id, At: d, Miles: miles, Hours: hours, Source: s.unit.source}
		switch chance := s.rng.Float64(); {
		case d == s.first:
			r.Source = "dealer"
		case chance < 0.08 && miles.Known && hours.Known:
			r.Hours = models.Number{}
		case chance < 0.25:
			r.Miles.F, r.Hours.F = math.Floor(r.Miles.F), math.Floor(r.Hours.F)
		}
		s.readings = append(s.readings, r)
		busy := 0.6 + 0.8*s.unit.season[d.Month()-1]/top
		d = d.AddDays(1 + int(float64(s.unit.every)*(0.4+1.2*s.rng.Float64())/busy))
	}
}

// slip spoils the readings that are to be spoilt.
func (s *story) slip() {
	for _, p := range s.unit.slips {
		on := models.MustDate(p.on)
		i := slices.IndexFunc(s.readings, func(r models.Reading) bool { return r.At >= on })
		if i < 3 {
			continue
		}
		r := &s.readings[i]
		r.Miles, r.Hours = s.shown(r.At)
		r.Standing = p.sure
		switch p.kind {
		case digitsSwapped:
			r.Miles.F = swapDigits(r.Miles.F)
		case tenthsRead:
			r.Hours.F = math.Round(r.Hours.F * 10)
		case tripRead:
			r.Miles = models.Num(tenth(31 + 20*s.rng.Float64()))
		case falls:
			r.Miles, r.Hours = s.readings[i-3].Miles, s.readings[i-3].Hours
		case hoursAsMiles:
			r.Miles, r.Hours = r.Hours, models.Number{}
		}
	}
}

// swapDigits makes the second and third digit of a value change places, or the
// first two where those are equal. Below 100 the value stays.
func swapDigits(v float64) float64 {
	if v < 100 {
		return v
	}
	digits := []byte(fmt.Sprintf("%.1f", v))
	a, b := 1, 2
	if digits[a] == digits[b] {
		a, b = 0, 1
	}
	digits[a], digits[b] = digits[b], digits[a]
	n, err := models.ParseNumber(string(digits))
	if err != nil {
		return v
	}
	return n.F
}
