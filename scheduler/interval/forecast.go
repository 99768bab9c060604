package interval

import (
	"math"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/usage"
)

// Use answers what is asked of a machine's use; *usage.Model does.
type Use interface {
	// First gives the dates on which the first of some limits is reached.
	First(limits []usage.Limit, notYetBy models.Date) usage.Crossing
	// At gives a meter's true value on the evening of a day.
	At(meter models.Meter, on models.Date) (usage.Range, bool)
	// ReadingWorth gives the days by which a reading on a day is expected to
	// sharpen the date.
	ReadingWorth(limits []usage.Limit, on models.Date) float64
}

// Scale turns what meters show into true values and back; *usage.Screened does.
type Scale interface {
	Cumulative(meter models.Meter, on models.Date, shown float64) (value float64, ok bool)
	Shown(meter models.Meter, cumulative float64) float64
}

// Input is all that the forecasts of one machine are made of.
type Input struct {
	History     models.History // the machine and its services; readings and swaps are not looked at
	Rules       []models.Rule  // as Book.For gives them
	Scale       Scale
	Use         Use
	Profile     int            // number of the profile behind Use
	Corrections map[string]int // corrections sent, by item
	Today       models.Date    // for the stage, what is left and what to ask; moves no date but a day of the year long missed
}

// graceFloor is the least grace in days, and graceShare the part of the
// interval that is given as grace: one day in twenty, 5 %.
//
// leadShare is the part of the interval that a lead takes at most, a third, and
// leadMost the part before due_on in which it lies, a half.
const (
	graceFloor = 14
	graceShare = 20
	leadShare  = 3
	leadMost   = 2
)

// Forecasts gives the forecast of each rule's item on one machine, in the order
// of the rules. An item with nothing more to come (a break-in that is done, or
// that a used machine has behind it) has none.
func Forecasts(in Input) []models.Forecast {
	out := make([]models.Forecast, 0, len(in.Rules))
	today := in.readToday()
	var unseen []models.Forecast // of which nothing is known
	for _, r := range in.Rules {
		f, ok := in.forecast(r, today)
		switch {
		case !ok:
		case f.Reason == models.ReasonNoRecord || f.Reason == models.ReasonCoolingUnknown:
			unseen = append(unseen, f)
		default:
			f = in.laidUp(f)
			f.Stage = StageOn(f, in.Today)
			out = append(out, f)
		}
	}
	if len(unseen) > 0 {
		out = append(out, in.firstInspection(unseen))
	}
	return out
}

// firstInspection gives the one forecast in which the items stand of which
// nothing is known. It claims no date: it goes with the next visit.
func (in Input) firstInspection(unseen []models.Forecast) models.Forecast {
	f := models.Forecast{Machine: in.History.Machine.ID, Item: models.ItemFirstInspection, Profile: in.Profile,
		Cycle: 1 + in.Corrections[models.ItemFirstInspection], LeadDays: models.DefaultLeadDays, Stage: models.StageUnsure}
	var items []string
	why := ""
	for _, u := range unseen {
		items = append(items, u.Item)
		// What lacks a record outweighs what only waits to know how the engine is cooled.
		if f.Reason == "" || u.Reason == models.ReasonNoRecord {
			f.Reason, why = u.Reason, u.Detail
		}
		if u.Reason == models.ReasonCoolingUnknown {
			f.Ask = u.Ask
		}
	}
	if f.Ask == "" {
		f.Ask = models.AskWhenEach
	}
	f.Items = models.JoinNames(items)
	if f.Detail = models.Unrecorded(len(items), "en"); why != "" {
		f.Detail += "; " + why
	}
	return f
}

// laidUp puts a date that lies within the days for which a machine is laid up
// to their end, and while it is, one that has passed before: nothing is due of
// a machine that nobody uses.
func (in Input) laidUp(f models.Forecast) models.Forecast {
	s := in.History.Standing()
	if s.State != models.StandsLaidUp || f.DueOn.IsZero() || f.DueOn >= s.Until ||
		f.DueOn < s.On && s.LaidUpUntil(in.Today) == 0 {
		return f
	}
	f.EarlyOn, f.DueOn, f.LateOn = s.Until, s.Until, max(f.LateOn, s.Until)
	f.Reason = models.ReasonLaidUp
	return f
}

// longPast is how many times a break-in interval a machine had run when it was
// first looked at for the break-in to be past asking for (common practice, no
// source).
const longPast = 5

// longRun says whether a rule is for the break-in only, and the machine had run
// many times that long when anybody first looked: it was done then or never will
// be.
func (in Input) longRun(r models.Rule, b base, t terms) bool {
	if !applies(r, false).isEmpty() {
		return false
	}
	for _, m := range meters {
		first, shown := models.MaxDate, models.Number{}
		see := func(on models.Date, v models.Number) {
			if v.Known && on < first && !on.IsZero() {
				first, shown = on, v
			}
		}
		for _, v := range in.History.Readings {
			if v.Standing != models.StandingWithdrawn {
				see(v.At, v.Value(m))
			}
		}
		for _, s := range in.History.Services {
			see(s.At, s.Value(m))
		}
		from, ok := in.valueThen(m, b)
		if every := t.every[m]; every > 0 && shown.Known && ok {
			if v, ok := in.Scale.Cumulative(m, first, shown.F); ok && v-from > longPast*every {
				return true
			}
		}
	}
	return false
}

// readToday gives the likely true values of the meters today; none without a
// day.
func (in Input) readToday() map[models.Meter]float64 {
	now := map[models.Meter]float64{}
	if in.Today.IsZero() {
		return now
	}
	for _, m := range meters {
		if r, ok := in.Use.At(m, in.Today); ok {
			now[m] = r.Likely
		}
	}
	return now
}

// forecast gives the forecast of one rule; ok is false when nothing is to come.
func (in Input) forecast(r models.Rule, today map[models.Meter]float64) (f models.Forecast, ok bool) {
	b := baseOf(in.History, r.Item, false)
	t := applies(r, b.isNew)
	if t.isEmpty() || b.isNew && in.longRun(r, b, t) {
		return f, false
	}
	if b.half {
		t = t.halved()
	}
	if b.about.State == models.BaselineDone && b.about.DoneOn == 0 {
		for _, m := range meters {
			if v := b.about.Value(m); v.Known {
				b.on = in.dayAt(m, v.F, b.about.On)
				break
			}
		}
	}
	known := max(in.History.Machine.BooksSince, r.Since)
	if b.on.IsZero() && !r.By.IsZero() && known != 0 {
		b.on, t = known, terms{by: r.By} // what is not known of its past does not matter for a day of the year
	}
	f = models.Forecast{Machine: in.History.Machine.ID, Item: r.Item, Profile: in.Profile,
		Cycle: 1 + b.done + in.Corrections[r.Item], LeadDays: r.Lead(), LastOn: b.on, LastBy: b.about.Grounds(),
		LastMiles: b.meter[models.Odometer], LastHours: b.meter[models.HourMeter]}
	if in.coolingUnknown(r.Item) {
		return unsure(f, models.ReasonCoolingUnknown, "not known whether the engine is cooled by liquid or by air",
			models.AskCooling), true
	}
	if b.on.IsZero() {
		return unsure(f, models.ReasonNoRecord, in.noRecord(), models.AskWhen), true
	}
	t = t.from(b, in, known)
	if next, skipped := in.toCome(r, t); skipped {
		t.season = next
		f.Cycle += next.Year() // no cycle before has the number: years and services only add up
	}
	cal, season := t.byCalendar()
	if len(t.meters) == 0 && cal.IsZero() {
		return unsure(f, models.ReasonNoLimit, in.noLimit(t), models.AskHowOften), true
	}
	in.date(&f, t, in.Use.First(t.meters, 0), cal, season)
	f.Detail = in.detail(t, b)
	in.measure(&f, t, cal, today)
	return f, true
}

// unsure fills a forecast that claims no date.
func unsure(f models.Forecast, why models.Reason, detail string, ask models.Ask) models.Forecast {
	f.Reason, f.Detail, f.Ask = why, detail, ask
	return f
}

// coolingUnknown says whether an item is one of the cooling system and nobody
// has said that the machine has one. Work done on it says so too.
func (in Input) coolingUnknown(item string) bool {
	if in.History.Machine.Cooling != "" || !models.CoolingItem(item) {
		return false
	}
	for i := range in.History.Services {
		if models.CoolingItem(in.History.Services[i].Item) {
			return false
		}
	}
	return true
}

// date sets the three dates and what follows from them: whichever limit comes
// first, the calendar's being certain.
func (in Input) date(f *models.Forecast, t terms, c usage.Crossing, cal models.Date, season bool) {
	use := !c.IsZero()
	switch {
	case use && (cal.IsZero() || c.Likely <= cal):
		f.Driver, f.Reason = models.DriverHours, models.ReasonUse
		if c.Meter == models.Odometer {
			f.Driver = models.DriverMiles
			if in.History.Machine.Meters.Metric() {
				f.Driver = models.DriverKM
			}
		}
		if c.Reached {
			f.KnownOn = c.Known
		}
	case season:
		f.Driver, f.Reason = models.DriverCalendar, models.ReasonSeason
	default:
		f.Driver, f.Reason = models.DriverCalendar, models.ReasonCalendar
	}
	f.EarlyOn, f.DueOn, f.LateOn = firstOf(c, cal, f.LastOn)
	days := f.LastOn.DaysTo(f.DueOn)
	f.GraceDays = max(graceFloor, (days+graceShare-1)/graceShare)
	if f.Reason != models.ReasonSeason { // whose interval is the year
		f.LeadDays = min(f.LeadDays, max(1, days/leadShare))
	}
}

// firstOf gives the percentiles of whichever comes first, a crossing or a day
// of the calendar (none for either: the other), not before a day.
func firstOf(c usage.Crossing, cal, notBefore models.Date) (early, due, late models.Date) {
	cut := func(d models.Date) models.Date {
		if !cal.IsZero() && (c.IsZero() || cal < d) {
			d = cal
		}
		return max(d, notBefore)
	}
	early, due, late = cut(c.Early), cut(c.Likely), cut(c.Late)
	return min(early, due), due, max(late, due)
}

// measure sets what the meters show at the limits, what is left of them today,
// and what a reading would be worth.
func (in Input) measure(f *models.Forecast, t terms, cal models.Date, today map[models.Meter]float64) {
	for _, l := range t.meters {
		at := models.Num(tenths(in.Scale.Shown(l.Meter, l.Target)))
		left := models.Number{}
		if now, ok := today[l.Meter]; ok {
			left = models.Num(l.Target - now)
		}
		switch {
		case l.Meter == models.HourMeter:
			f.AtHours, f.Remaining.Hours = at, rounded(left, 1)
		case in.History.Machine.Meters.Metric():
			f.AtMiles, f.Remaining.KM = at, rounded(left, models.KilometersPerMile)
		default:
			f.AtMiles, f.Remaining.Miles = at, rounded(left, 1)
		}
	}
	if in.Today.IsZero() {
		return
	}
	if !cal.IsZero() {
		f.Remaining.Days = models.Num(float64(in.Today.DaysTo(cal)))
	}
	in.ask(f, t)
}

// Asking for a reading begins where an answer is expected to sharpen the date
// by a week; a range narrower than two weeks is not looked into.
const (
	worthAsking  = 7.0  // days
	worthLooking = 14.0 // days
)

// ask sets what a reading would be worth, and asks for one where it is worth
// the trouble.
func (in Input) ask(f *models.Forecast, t terms) {
	width := float64(f.EarlyOn.DaysTo(f.LateOn))
	if len(t.meters) == 0 || width < worthLooking {
		return
	}
	worth := tenths(math.Max(0, math.Min(width, in.Use.ReadingWorth(t.meters, in.Today))))
	f.Worth = models.Num(worth)
	if worth < worthAsking && StageOn(*f, in.Today) != models.StageUnsure {
		return
	}
	switch {
	case len(t.meters) > 1:
		f.Ask = models.AskBothMeters
	case t.meters[0].Meter == models.HourMeter:
		f.Ask = models.AskHourMeter
	default:
		f.Ask = models.AskOdometer
	}
}

// tenths rounds to the last figure that meters show.
func tenths(v float64) float64 { return math.Round(v*10)/10 + 0 } // + 0 makes -0 0

func rounded(n models.Number, unit float64) models.Number {
	if n.Known {
		n.F = tenths(n.F * unit)
	}
	return n
}
