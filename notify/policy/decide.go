package policy

import (
	"slices"
	"strings"
	"time"

	"example.org/roundsman/models"
)

// Ask is the question whether a message may go: everything that bears on it.
type Ask struct {
	Now     time.Time      // the moment of the question
	Contact models.Contact // zero for the shop itself, and for an answer to somebody unknown
	Zone    *time.Location // the contact's; nil is UTC
	Purpose models.Purpose // "" is models.PurposeNotices
	Urgent  bool           // goes at once, quiet hours or not

	// Channel is the channel of a message that is in the outbox already: no
	// other will do then. "" chooses the contact's preferred one, with
	// fall-back to the other.
	Channel models.Channel
	// Address is where an answer or a message to the shop goes. It is used
	// where the message is not bound to a contact's own address.
	Address string

	// Sharing holds other contacts with the same number or mail address. A
	// stop of one holds for all who share it.
	Sharing []models.Contact
	// Retired names channels whose address is known to be dead; they count as
	// having no address.
	Retired []models.Channel
	// CameBack tells when the last message over a channel was refused or came
	// back, where none has arrived since: the address rests for a while.
	CameBack map[models.Channel]models.Instant

	// Undecided says that the contact said what may be a refusal: what comes
	// unasked waits until a person has decided.
	Undecided bool

	Unanswered int       // messages to the contact in a row without an answer
	LastSent   time.Time // when the last of them went; zero: none did

	Rules Rules
}

// Rules are the shop's choices. The zero value is the usual courtesy: from
// 08:00 to 20:00 on every day, gaps of 3 and 7 days, and the call list after
// three messages without an answer.
type Rules struct {
	QuietFrom models.TimeOfDay // not set: 20:00
	QuietTo   models.TimeOfDay // not set: 08:00; the same as QuietFrom: no quiet hours
	NoSundays bool             // nothing goes on a Sunday of the contact's zone

	// Holidays says whether nothing goes on a date; nil is no holidays.
	Holidays func(models.Date) bool

	// Gaps are the days from one message to the next after one, two, ...
	// messages without an answer; the last one goes on. nil is 3, 7.
	Gaps []int
	// Patience is how many messages in a row may stay without an answer
	// before the machines go on the call list and messages stop. 0 is 3.
	Patience int
	// RestDays is how long an address is left alone at which a message was
	// refused or came back without its being dead. 0 is 14.
	RestDays int
}

// Defaults of Rules.
const (
	defaultPatience = 3
	defaultRestDays = 14
	firstGapDays    = 3
	laterGapDays    = 7
)

// undecidedWait is after how long it is looked again whether a person has decided
// what a contact meant.
const undecidedWait = time.Hour

// Decision is the answer to an Ask.
type Decision struct {
	Send      bool           // false: the message will not go; Why says why
	Channel   models.Channel // over which it goes, or would have gone
	Address   string
	NotBefore time.Time     // when Send: the first moment at which it may go, at least Ask.Now
	Why       models.Reason // of not sending, or of waiting; models.ReasonMayGo when it need not wait

	// FellBack is why the preferred channel was not taken; "" when it was.
	FellBack models.Reason
}

// Decide says whether, over which channel, and when a message may go.
//
// Messages to the shop itself and tests need no consent and wait for nothing.
// The one confirmation of a STOP or START and the answer to HELP go to the
// number that asked, whatever stands on the contact. Other answers need no
// consent, for they were asked for, but a stop holds for them; one to somebody
// who is no contact goes to the address that asked. All else needs a contact
// with a dated consent for the channel and no stop. One who prefers the phone gets nothing
// but answers.
func Decide(a Ask) Decision {
	switch known := a.Contact.ID != ""; {
	case direct(a.Purpose), a.Purpose == models.PurposeAnswer && !known:
		return a.toShopOrAsker()
	case !known:
		return Decision{Channel: a.Channel, Address: a.Address, Why: models.ReasonNobody}
	}
	if a.Contact.Prefers == models.ChannelPhone && a.Purpose != models.PurposeAnswer {
		return Decision{Channel: a.Channel, Address: a.Contact.Mobile, Why: models.ReasonWantsCall}
	}
	d := a.choose()
	if !d.Send {
		return d
	}
	if a.Urgent {
		d.NotBefore, d.Why = a.Now, models.ReasonMayGo
		return d
	}
	if a.Undecided && a.Purpose != models.PurposeAnswer {
		d.NotBefore, d.Why = a.Now.Add(undecidedWait), models.ReasonNoMore
		return d
	}
	from := a.Now
	if pestering(a.Purpose) && a.Unanswered > 0 {
		if a.Unanswered >= a.Rules.patience() {
			d.Send, d.Why = false, models.ReasonCallList
			return d
		}
		from = a.afterGap()
	}
	if d.NotBefore, d.Why = a.release(from); d.NotBefore.IsZero() {
		d.Send = false
		return d
	}
	if from.After(a.Now) && from.Sub(a.Now) >= d.NotBefore.Sub(from) {
		d.Why = models.ReasonGap
	}
	if a.stoppedOn(d.Channel, models.DateOf(d.NotBefore.In(a.zone()))) {
		return Decision{Channel: d.Channel, Address: d.Address, Why: models.ReasonStopped}
	}
	return d
}

// direct says whether a message of a purpose goes where it was asked for,
// without consent and at once.
func direct(p models.Purpose) bool {
	switch p {
	case models.PurposeStopped, models.PurposeStarted, models.PurposeHelp,
		models.PurposeShopAlert, models.PurposeTest:
		return true
	}
	return false
}

// pestering says whether messages of a purpose come unasked, so that silence
// must slow them down.
func pestering(p models.Purpose) bool {
	switch p {
	case "", models.PurposeNotices, models.PurposeCheck, models.PurposeReading:
		return true
	}
	return false
}

// toShopOrAsker lets a message go at once to the address in the question.
func (a Ask) toShopOrAsker() Decision {
	d := Decision{Send: true, Channel: a.Channel, Address: a.Address, NotBefore: a.Now, Why: models.ReasonMayGo}
	if d.Channel == "" {
		d.Channel = models.ChannelMail
	}
	if d.Address == "" {
		d.Address = a.Contact.Address(d.Channel)
	}
	if d.Address == "" {
		d.Send, d.NotBefore, d.Why = false, time.Time{}, models.ReasonNoAddress
	}
	return d
}

// choose picks the channel: the pinned one, else the preferred, else the
// other. A stop on the preferred channel is an answer and never sends the
// message round by the other.
func (a Ask) choose() Decision {
	first := a.Contact.Prefers
	if first != models.ChannelSMS {
		first = models.ChannelMail
	}
	if a.Channel != "" {
		first = a.Channel
	}
	why := a.bar(first)
	if why == "" {
		return Decision{Send: true, Channel: first, Address: a.Contact.Address(first)}
	}
	refused := Decision{Channel: first, Address: a.Contact.Address(first), Why: why}
	if a.Channel != "" || why == models.ReasonStopped {
		return refused
	}
	second := other(first)
	switch barred := a.bar(second); barred {
	case "":
		return Decision{Send: true, Channel: second, Address: a.Contact.Address(second), FellBack: why}
	case models.ReasonStopped:
		return Decision{Channel: second, Address: a.Contact.Address(second), Why: models.ReasonStopped}
	case models.ReasonCameBack:
		refused.Why = barred
	case models.ReasonNoConsent:
		if why != models.ReasonCameBack { // which says why somebody must call
			refused.Why = barred
		}
	}
	return refused
}

// other gives the channel that is not ch.
func other(ch models.Channel) models.Channel {
	if ch == models.ChannelSMS {
		return models.ChannelMail
	}
	return models.ChannelSMS
}

// bar gives the reason why a channel may not be used today, "" for none.
func (a Ask) bar(ch models.Channel) models.Reason {
	today := models.DateOf(a.Now.In(a.zone()))
	if a.stoppedOn(ch, today) {
		return models.ReasonStopped
	}
	answer := a.Purpose == models.PurposeAnswer // asked for a moment ago, from that address
	if a.Contact.Address(ch) == "" || !answer && slices.Contains(a.Retired, ch) {
		return models.ReasonNoAddress
	}
	given, _ := a.Contact.Consent(ch)
	if !answer && (given.IsZero() || given > today) {
		return models.ReasonNoConsent
	}
	if at, back := a.CameBack[ch]; back && !answer && a.Now.Before(a.Rules.RestEnds(at)) {
		return models.ReasonCameBack
	}
	return ""
}

// RestEnds gives the moment from which an address may be used again at which a
// message came back at another.
func (r Rules) RestEnds(at models.Instant) time.Time {
	days := r.RestDays
	if days <= 0 {
		days = defaultRestDays
	}
	return at.Time().AddDate(0, 0, days)
}

// stoppedOn says whether a stop on a channel is in force on a day: the
// contact's own, or that of another with the same address. Only a START takes
// a stop away again, by writing the contact anew; a later consent date alone,
// such as an import brings, does not.
func (a Ask) stoppedOn(ch models.Channel, day models.Date) bool {
	if inForce(a.Contact, ch, day) {
		return true
	}
	address := a.Contact.Address(ch)
	if address == "" {
		return false
	}
	for _, c := range a.Sharing {
		if strings.EqualFold(c.Address(ch), address) && inForce(c, ch, day) {
			return true
		}
	}
	return false
}

func inForce(c models.Contact, ch models.Channel, day models.Date) bool {
	_, stopped := c.Consent(ch)
	return !stopped.IsZero() && stopped <= day
}

func (a Ask) zone() *time.Location {
	if a.Zone == nil {
		return time.UTC
	}
	return a.Zone
}
