package scheduler

import (
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/policy"
	"example.org/roundsman/scheduler/interval"
	"example.org/roundsman/scheduler/job"
	"example.org/roundsman/scheduler/usage"
)

// Profile is what the fleet teaches of a machine's use, with its number.
type Profile struct {
	Number int
	Fit    *usage.Profile // nil: the one that ships with the program
}

// Basis is what all machines are worked out with on one day.
type Basis struct {
	Today    models.Date
	Rules    *interval.Book
	Profile  Profile
	Zone     *time.Location // whose date a moment has
	Language string         // of contacts that have none
}

// MachineFacts is what is known of one machine on the day of a Basis.
type MachineFacts struct {
	History  models.History // the facts dated up to that day
	People   models.People
	Notices  []models.Notice    // all on the machine, in the order of writing
	Owed     []models.OwedCheck // owner checks without an answer
	InHand   []models.WholeJob  // jobs for which it is at the shop
	Tellable models.Tellable    // whether anybody may be told of it
	NextFact models.Date        // the first fact after that day; none: there is none
}

// Evaluation is all that is worked out about one machine on a day. It is a
// function of the machine's facts, the rules, the profile and the day.
type Evaluation struct {
	MachineFacts
	Today       models.Date
	Rules       []models.Rule // those that hold for the machine
	Screened    usage.Screened
	Use         *usage.Model
	Forecasts   []models.Forecast // with the stages of the day; empty before the machine has come and after it has left
	Stay        job.Stay          // at the shop
	LaidUpUntil models.Date       // the day from which it is in use again; none: it is
	Checks      []models.Notice   // owner checks to ask
	Ring        []models.RingFor  // owner checks for which somebody must ring
	Ask         *ReadingAsk       // a reading to ask for; nil: none
	NextLook    models.Date       // the next day on which any of this changes without a new fact
	Err         error             // working it out broke off; nothing but the facts is known then

	profile int
}

// Evaluate works out one machine. It is worked out again on the day of its
// first fact after the day, which one worked out for an earlier time will see
// then.
func Evaluate(f MachineFacts, b Basis) Evaluation {
	e := Evaluation{MachineFacts: f, Today: b.Today, NextLook: models.MaxDate, profile: b.Profile.Number}
	e.lookOn(f.NextFact)
	m := f.History.Machine
	e.Screened = usage.Screen(f.History)
	e.Use = usage.Fit(&e.Screened, b.Profile.Fit)
	e.Rules = b.Rules.For(m)
	if m.InService > b.Today { // not with this owner yet
		e.lookOn(m.InService)
		return e
	}
	standing := f.History.Standing()
	if !standing.InCare() {
		return e
	}
	e.LaidUpUntil = standing.LaidUpUntil(b.Today)
	e.lookOn(e.LaidUpUntil)
	trusted := f.History
	trusted.Services = e.Screened.Trusted(f.History.Services)
	e.Forecasts = interval.Forecasts(interval.Input{
		History: trusted, Rules: e.Rules, Scale: &e.Screened, Use: e.Use,
		Profile: b.Profile.Number, Corrections: corrections(f.Notices), Today: b.Today,
	})
	e.askNothingFresh()
	for _, forecast := range e.Forecasts {
		e.lookOn(interval.NextLook(forecast, b.Today))
		if may := interval.MayBeDueFrom(forecast, policy.JoinDays, policy.TurnDays); may > b.Today {
			e.lookOn(may)
		}
	}
	e.Stay = job.StayOf(f.InHand, b.Today)
	if e.Stay.Holds(b.Today) {
		e.lookOn(e.Stay.Until)
	}
	if e.LaidUpUntil != 0 { // nobody is asked anything meanwhile
		return e
	}
	dateOf := func(i models.Instant) models.Date { return models.DateOf(i.Time().In(b.Zone)) }
	asking := job.OwnerAsks(job.AskInput{
		Owed: f.Owed, Use: e.Use, Scale: &e.Screened, Recipients: recipientsOf(f.People),
		Told: f.Notices, Today: b.Today, DateOf: dateOf,
		LanguageOf: func(c models.Contact) string {
			return policy.Settings{Language: b.Language}.LanguageOf(c, f.People.Owner)
		},
	})
	e.Checks, e.Ring = asking.Notices, asking.Ring
	e.lookOn(asking.Next)
	if !e.Stay.Holds(b.Today) { // else the shop can read it
		var next models.Date
		e.Ask, next = readingAsk(m, e.Forecasts, &e.Screened, f.Notices, dateOf, b.Today)
		e.lookOn(next)
	}
	return e
}

// Machine gives the machine.
func (e *Evaluation) Machine() models.Machine { return e.History.Machine }

// lookOn brings the next look forward to a day; none is no day.
func (e *Evaluation) lookOn(day models.Date) {
	if day != 0 {
		e.NextLook = min(e.NextLook, day)
	}
}

// Shown gives the forecasts as people are shown them on the day: with the
// reason of the stage, and no late date beyond what is shown.
func (e *Evaluation) Shown() []models.Forecast {
	out := make([]models.Forecast, len(e.Forecasts))
	for i, f := range e.Forecasts {
		f.Reason = interval.ReasonOn(f, e.Today)
		out[i] = interval.Capped(f, e.Today, interval.LateHorizon)
	}
	return out
}

// askFresh is how many days a meter that was read is not asked for.
const askFresh = 14

// askNothingFresh takes back what forecasts ask of meters that were read
// exactly a few days ago: another look would tell the same.
func (e *Evaluation) askNothingFresh() {
	read := map[models.Meter]models.Date{}
	for _, p := range e.Screened.Points {
		if p.Spread == 0 {
			read[p.Meter] = max(read[p.Meter], p.On)
		}
	}
	for i := range e.Forecasts {
		f := &e.Forecasts[i]
		if !f.Worth.Known {
			continue
		}
		fresh := true
		for _, m := range []models.Meter{models.Odometer, models.HourMeter} {
			limited := f.AtMiles.Known && m == models.Odometer || f.AtHours.Known && m == models.HourMeter
			fresh = fresh && (!limited || read[m] != 0 && read[m].DaysTo(e.Today) <= askFresh)
		}
		if fresh {
			f.Ask = ""
		}
	}
}

// Quiet says whether nothing is told or planned about an item, because the
// shop has it in its hands (the machine is there, or the item is being done), or
// the machine is laid up.
func (e *Evaluation) Quiet(item string) bool {
	return e.LaidUpUntil != 0 || e.Stay.Holds(e.Today) || e.Stay.Doing[item] != ""
}

// Seen gives for each meter the first day on which its value is known.
func (e *Evaluation) Seen() map[models.Meter]models.Date {
	seen := map[models.Meter]models.Date{}
	for _, p := range e.Screened.Points { // by date
		if seen[p.Meter] == 0 {
			seen[p.Meter] = p.On
		}
	}
	return seen
}

// State gives what a round keeps to know when to look again.
func (e *Evaluation) State() models.MachineState {
	return models.MachineState{Machine: e.Machine().ID, NextLook: e.NextLook, Profile: e.profile}
}
