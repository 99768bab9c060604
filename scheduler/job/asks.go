package job

import (
	"slices"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/usage"
)

// Use answers when a meter reaches a value; *usage.Model does.
type Use interface {
	First(limits []usage.Limit, notYetBy models.Date) usage.Crossing
}

// Scale turns what a meter showed into its true value; *usage.Screened does.
type Scale interface {
	Cumulative(meter models.Meter, on models.Date, shown float64) (value float64, ok bool)
}

// AskOn gives the day on which an owner's check is to be asked: so many days,
// miles or hours after the hand-over, whichever comes first by the machine's
// own use. None while the machine is at the shop. use and scale may be nil;
// the days alone count then.
func AskOn(c models.Check, use Use, scale Scale) models.Date {
	if c.Kind != models.CheckOwner || c.From == 0 {
		return 0
	}
	var due models.Date
	if c.AfterDays > 0 {
		due = c.From.AddDays(c.AfterDays)
	}
	var limits []usage.Limit
	for _, l := range []struct {
		meter      models.Meter
		from, more models.Number
	}{{models.Odometer, c.FromMiles, c.AfterMiles}, {models.HourMeter, c.FromHours, c.AfterHours}} {
		if !l.from.Known || !l.more.Known || use == nil || scale == nil {
			continue
		}
		if at, ok := scale.Cumulative(l.meter, c.From, l.from.F); ok {
			limits = append(limits, usage.Limit{Meter: l.meter, Target: at + l.more.F})
		}
	}
	if len(limits) > 0 {
		if first := use.First(limits, 0); !first.IsZero() && (due == 0 || first.Likely < due) {
			due = first.Likely
		}
	}
	if due == 0 {
		due = c.From.AddDays(ownerDays)
	}
	return max(due, c.From.AddDays(1)) // never on the day of the hand-over
}

// Lapsed says whether a job's owner checks have lapsed: the machine has been
// at the shop again since and was handed over once more, so nobody is to be
// asked about a repair that a later visit has seen. The store leaves lapsed
// checks out of what is owed in the same way.
func Lapsed(w models.WholeJob, all []models.WholeJob) bool {
	for _, o := range all {
		if o.Job.State == models.JobHanded && w.Job.HandedOn != 0 && o.Job.HandedOn > w.Job.HandedOn {
			return true
		}
	}
	return false
}

// Patience is how owners are asked. The zero value is common practice: twice,
// three days apart, and a call three days later.
type Patience struct {
	Asks  int // messages before somebody rings; 0: 2
	Again int // days from one to the next, and to the call; 0: 3
}

func (p Patience) asks() int {
	if p.Asks > 0 {
		return p.Asks
	}
	return 2
}

func (p Patience) again() int {
	if p.Again > 0 {
		return p.Again
	}
	return 3
}

// AskInput is all that bears on asking the owner of one machine.
type AskInput struct {
	Owed       []models.OwedCheck // the machine's open checks; checks before hand-over are passed over
	Use        Use
	Scale      Scale
	Recipients []models.Contact // who gets notices
	LanguageOf func(models.Contact) string
	Told       []models.Notice // all notices on the machine
	Today      models.Date
	DateOf     func(models.Instant) models.Date // the shop's date at a moment
	Patience   Patience
}

// Asking is what is to be done about a machine's owner checks on a day.
type Asking struct {
	Notices []models.Notice // to be told, one for each check and contact; Round, Message, Why and DecidedAt are the caller's
	Ring    []models.RingFor
	Next    models.Date // the next day on which this changes without a new fact; none: never
}

// OwnerAsks says which owner checks are to be asked on a day, which are to be
// asked again, and for which somebody must ring. The same notices told again
// give the same answer: an ask that has gone out is not asked twice.
func OwnerAsks(in AskInput) Asking {
	var out Asking
	for _, o := range in.Owed {
		if o.Check.Kind != models.CheckOwner || o.Check.From == 0 || !o.Open() {
			continue
		}
		due := AskOn(o.Check, in.Use, in.Scale)
		if in.Today < due {
			out.next(due)
			continue
		}
		if len(in.Recipients) == 0 {
			out.Ring = append(out.Ring, models.RingFor{Check: o, Since: due})
			continue
		}
		in.ask(&out, o, due)
	}
	return out
}

// ask asks each recipient one due check, or says that somebody must ring.
func (in AskInput) ask(out *Asking, o models.OwedCheck, due models.Date) {
	var ring models.Date // the day on which the last of them has had time to answer
	waiting := false
	for _, c := range in.Recipients {
		n := notice(o, c, due, in.LanguageOf(c))
		var last, held models.Date // when it was sent, and when it was first withheld since
		sent := 0
		for _, t := range in.Told {
			if t.Subject != n.Subject || t.Item != n.Item || t.Cycle != n.Cycle || t.Contact != n.Contact || t.Stage != n.Stage {
				continue
			}
			n.Ordinal++
			switch {
			case t.Waits: // it is asked when that goes
				sent, last, held = sent+1, in.Today, 0
			case !t.Withheld():
				sent, last, held = sent+1, max(last, in.DateOf(max(t.DecidedAt, t.GoneAt))), 0
			case held == 0 && slices.Contains(models.CallReasons(), t.Why):
				held = in.DateOf(t.DecidedAt)
			}
		}
		next := last.AddDays(in.Patience.again())
		switch {
		case sent == 0, sent < in.Patience.asks() && in.Today >= next:
			out.Notices = append(out.Notices, n)
			if waiting = waiting || held == 0; held != 0 { // it was to be asked and could not be
				ring = max(ring, held)
			}
		case in.Today < next:
			out.next(next)
			waiting = true
		default:
			ring = max(ring, next)
		}
	}
	if !waiting {
		out.Ring = append(out.Ring, models.RingFor{Check: o, Since: ring})
	}
}

func (a *Asking) next(d models.Date) {
	if a.Next == 0 || d < a.Next {
		a.Next = d
	}
}

// notice makes the row that asks a contact a check.
func notice(o models.OwedCheck, c models.Contact, due models.Date, lang string) models.Notice {
	return models.Notice{
		Owner: o.Machine.Owner, Contact: c.ID, Machine: o.Machine.ID,
		Subject: models.SubjectCheck, Item: o.Check.ID, Cycle: o.Check.Turn, Stage: models.StageDue,
		EarlyOn: due, DueOn: due, LateOn: due, Detail: about(o.Job, lang), LastOn: o.Check.From,
	}
}

// maxAbout bounds what a message says a check is about, in characters.
const maxAbout = 40

// about says in few words what a job was about: its complaint, else its
// correction, else its number.
func about(j models.Job, lang string) string {
	for _, text := range []string{j.Complaint, j.Correction} {
		if text = strings.TrimSpace(text); text != "" {
			return models.Shorten(text, maxAbout)
		}
	}
	return models.Phrase{EN: "job ", ES: "trabajo "}.In(lang) + j.ID
}
