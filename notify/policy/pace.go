package policy

import "example.org/roundsman/models"

// How often somebody hears from us unasked. The figures are common practice,
// no source.
const (
	weekDays  = 7  // at least from one message to the next
	monthDays = 30 // the same where nothing is due soon
	soonDays  = 60 // ahead; what falls due later is not due soon
)

// JoinDays is how many days ahead a date joins a message that goes anyway: it
// then needs none of its own later.
const JoinDays = soonDays

// TurnDays is how many days ahead what may fall due joins such a message: the
// next may be that far off.
const TurnDays = monthDays

// Open is one thing that a contact is to be told, as far as it bears on when.
type Open struct {
	Pressing bool        // asked for, or late and never told of: it waits for nothing
	Late     bool        // it keeps no rhythm, only the week since the last message
	DueOn    models.Date // none: it has no date
	From     models.Date // before it makes no message of its own, but goes along with any
	By       models.Date // the last day on which it still comes in time, whatever else waits; none: it can wait
}

// Pace is what bears on when a contact hears from us next.
type Pace struct {
	Today  models.Date
	Last   models.Date   // of the last message that came unasked and arrived; none: none did
	Rest   models.Date   // nothing goes before this day while messages stay without an answer; none: no rest
	Joins  bool          // a message waits to go already: whatever is open goes with it
	Rhythm models.Rhythm // what the contact chose
}

// Turn says whether a contact hears from us today. If so it is told all that
// is open, so that one message does for many.
type Turn struct {
	Now   bool
	Why   models.Reason // of not telling now
	Again models.Date   // when not: the day on which to decide anew
}

// Turn decides when a contact is told of what is open. Nothing waits beyond the
// day on which it still comes in time. Where nothing is open there is nothing to
// tell, without a reason or a day.
func (p Pace) Turn(open []Open) Turn {
	switch {
	case len(open) == 0:
		return Turn{}
	case p.Today < p.Rest:
		return Turn{Why: models.ReasonGap, Again: p.Rest}
	case p.Joins:
		return Turn{Now: true}
	}
	soon, late, by, from := false, false, models.MaxDate, models.MaxDate
	for _, o := range open {
		if o.Pressing {
			return Turn{Now: true}
		}
		if o.By != 0 {
			by = min(by, o.By)
		}
		from = min(from, o.From)
		late = late || o.Late
		soon = soon || o.DueOn != 0 && o.DueOn <= p.Today.AddDays(soonDays)
	}
	next, why := p.next(soon, late)
	if next < from && !p.Last.IsZero() { // the first message waits for no company
		next, why = from, models.ReasonAlong
	}
	if again := min(next, by); again > p.Today {
		return Turn{Why: why, Again: again}
	}
	return Turn{Now: true}
}

// next gives the first day from today on on which a message may go, and what
// it waits for.
func (p Pace) next(soon, late bool) (models.Date, models.Reason) {
	day, chosen := p.Rhythm.Next(p.Today, p.Last)
	switch {
	case p.Last.IsZero() && !chosen:
		return p.Today, ""
	case late:
		return max(p.Today, p.Last.AddDays(weekDays)), models.ReasonWeek
	case chosen:
		return day, models.ReasonRhythm
	case soon:
		return max(p.Today, p.Last.AddDays(weekDays)), models.ReasonWeek
	}
	return max(p.Today, p.Last.AddDays(monthDays)), models.ReasonMonth
}
