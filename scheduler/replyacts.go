package scheduler

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/inbox"
	"example.org/roundsman/scheduler/job"
)

// do does one thing that a reply says; done is true when facts were taken
// from it that the sender should see confirmed.
func (a *answering) do(act inbox.Act) (done bool) {
	switch act.Kind {
	case inbox.KindReading:
		return a.reading(act)
	case inbox.KindDone:
		return a.service(act)
	case inbox.KindStop:
		a.stop(act)
	case inbox.KindWrongNumber:
		a.setStop(a.today)
		a.note(string(act.Kind), "", "no more messages to "+a.out.Reply.From)
		a.person(models.ReasonMisdialed)
	case inbox.KindStart:
		a.start()
	case inbox.KindHelp:
		a.answer(models.PurposeHelp, "")
		a.note(string(act.Kind), "", "")
	case inbox.KindComeback, inbox.KindTrouble:
		if a.elsewhere(act) { // trouble on its own: the check stays open
			act.Kind, act.Check = inbox.KindTrouble, ""
		}
		a.check(act, models.CheckBad)
		a.note(string(act.Kind), act.Machine, act.Words)
		if act.Check == "" { // else the job says more
			a.person(models.ReasonTrouble)
		}
	case inbox.KindOK:
		a.check(act, models.CheckOK)
		a.note(string(act.Kind), act.Machine, act.Words)
	case inbox.KindSold:
		a.note(string(act.Kind), act.Machine, act.Words)
		a.person(models.ReasonSold)
	case inbox.KindDay, inbox.KindLater:
		a.note(string(act.Kind), act.Machine, act.On.String())
		a.person(models.ReasonWantsDay)
	case inbox.KindNo:
		a.note(string(act.Kind), act.Machine, act.Words)
		why := models.ReasonCallsOff
		if a.pending != nil && a.pending.Kind == inbox.AskValue { // no to the value that was asked about
			why = models.ReasonTwice
		}
		a.person(why)
	case inbox.KindYes:
		a.note(string(act.Kind), act.Machine, act.Words)
		if a.purpose == models.PurposeNotices {
			a.person(models.ReasonAgrees)
		}
	default: // thanks: kept, and nothing to do
		a.note(string(act.Kind), act.Machine, act.Words)
	}
	return false
}

// source gives the source of readings that come by a reply.
func (a *answering) source() string {
	if a.out.Reply.Channel == models.ChannelSMS {
		return "text"
	}
	return "mail"
}

// reading records what a meter shows. What does not fit is asked back, and one
// that was asked back and confirmed is right, however it looks.
func (a *answering) reading(act inbox.Act) bool {
	if act.Machine == "" {
		a.person(models.ReasonNoMachine)
		return false
	}
	rs, ok := a.readings(act)
	if !ok {
		return false
	}
	a.out.Facts.Readings = append(a.out.Facts.Readings, rs...)
	a.note(string(act.Kind), act.Machine, meterWords(a.machines[act.Machine], act)+" on "+rs[0].At.String())
	return true
}

// readings takes the meter values of an act through the door for readings;
// none where it has none. ok is false where a value is doubtful: it is asked
// back then, once.
func (a *answering) readings(act inbox.Act) (rs []models.Reading, ok bool) {
	if !act.Miles.Known && !act.Hours.Known {
		return nil, true
	}
	rs = a.looks(act)
	sure := act.Sure
	if p := a.pending; p != nil && p.Kind == inbox.AskValue && p.Act.Machine == act.Machine {
		sure = sure || act.Miles == p.Value || act.Hours == p.Value
	}
	var doubt *models.DoubtfulReading
	if !errors.As(screenNew(a.historyOf(act.Machine), rs, sure), &doubt) {
		return rs, true
	}
	if a.silent { // who says it can be asked on the spot
		a.doubt = doubt
		return nil, false
	}
	if a.read.Ask != nil { // one question at a time
		a.person(models.ReasonMore)
		return nil, false
	}
	a.read.Ask = &inbox.Question{Kind: inbox.AskValue, Act: act, Value: doubt.Shown, Meter: doubt.Meter, Likely: doubt.Likely}
	return nil, false
}

// looks gives the meter values of an act as readings: one, or one for each
// meter where they are guesses.
func (a *answering) looks(act inbox.Act) (rs []models.Reading) {
	r := models.Reading{Machine: act.Machine, At: a.dayOf(act), Miles: act.Miles, Hours: act.Hours, Source: a.source()}
	if !act.Guess {
		return []models.Reading{r}
	}
	metric := a.machines[act.Machine].Meters.Metric()
	if act.Miles.Known {
		r.Width, r.Hours = models.Guessed(act.Miles.F, models.Odometer, metric).Width, models.Number{}
		rs = append(rs, r)
	}
	if act.Hours.Known {
		r.Width, r.Miles, r.Hours = models.Guessed(act.Hours.F, models.HourMeter, metric).Width, models.Number{}, act.Hours
		rs = append(rs, r)
	}
	return rs
}

// dayOf gives the day of an act; none said is today.
func (a *answering) dayOf(act inbox.Act) models.Date {
	if act.On.IsZero() || act.On > a.today {
		return a.today
	}
	return act.On
}

// historyOf gives what is known of one of the sender's machines.
func (a *answering) historyOf(machine string) models.History {
	for i := range a.known {
		if a.known[i].Machine().ID == machine {
			return a.known[i].History
		}
	}
	return models.History{Machine: a.machines[machine], AsOf: a.today}
}

// meterWords writes the reading of an act for people: "6120 mi, 412.5 h".
func meterWords(m models.Machine, act inbox.Act) string {
	var parts []string
	if act.Miles.Known {
		unit := " mi"
		if m.Meters.Metric() {
			unit = " km"
		}
		parts = append(parts, act.Miles.String()+unit)
	}
	if act.Hours.Known {
		parts = append(parts, act.Hours.String()+" h")
	}
	words := strings.Join(parts, ", ")
	if act.Guess {
		words = "about " + words
	}
	return words
}

// service records work that was done elsewhere, with the reading that came
// with it.
func (a *answering) service(act inbox.Act) bool {
	if act.Machine == "" || len(act.Items) == 0 {
		a.person(models.ReasonUnread)
		return false
	}
	rs, ok := a.readings(act)
	if !ok {
		return false // the work waits for the answer about its value
	}
	on := a.dayOf(act)
	for _, r := range rs {
		if r.Standing != "" || r.Width.Known { // else the service says it too
			a.out.Facts.Readings = append(a.out.Facts.Readings, r)
		}
	}
	if act.Guess { // a service keeps none
		act.Miles, act.Hours = models.Number{}, models.Number{}
	}
	for _, item := range act.Items {
		a.out.Facts.Services = append(a.out.Facts.Services, models.Service{
			Machine: act.Machine, Item: item, At: on, Miles: act.Miles, Hours: act.Hours})
		a.note(string(act.Kind), act.Machine, models.ItemName(item, "en")+" on "+on.String())
	}
	return true
}

// stop ends the messages to a number or address and confirms it once.
func (a *answering) stop(act inbox.Act) {
	already := len(a.sender.Contacts) > 0
	for _, c := range a.sender.Contacts {
		if _, stopped := c.Consent(a.out.Reply.Channel); stopped.IsZero() {
			already = false
		}
	}
	a.setStop(a.today)
	a.note(string(inbox.KindStop), "", "no more messages to "+cmp.Or(a.out.Reply.From, a.contact.Name))
	if !already {
		a.answer(models.PurposeStopped, "")
	}
	if act.Cancel {
		a.person(models.ReasonCancel)
	}
}

// start lets messages go again: the sender consents by asking for them. Where
// somebody else enters it, the consents stay as they were given.
func (a *answering) start() {
	if len(a.sender.Contacts) == 0 {
		a.person(models.ReasonStranger)
		return
	}
	a.setStop(0)
	for i := range a.out.Contacts {
		if a.silent {
			break
		}
		c := &a.out.Contacts[i]
		if a.out.Reply.Channel == models.ChannelSMS {
			c.SMSConsentOn = a.today
		} else {
			c.MailConsentOn = a.today
		}
		c.ConsentHow = "asked for by " + a.source()
	}
	a.note(string(inbox.KindStart), "", "messages to "+cmp.Or(a.out.Reply.From, a.contact.Name)+" again")
	a.answer(models.PurposeStarted, "")
}

// setStop sets (or clears, with no date) the stop on the sender's number or
// address for all its contacts. The first day of a stop stays.
func (a *answering) setStop(on models.Date) {
	for _, c := range a.sender.Contacts {
		concerned := false
		for _, ch := range a.stops {
			to := a.contact.Address(ch)
			if to == "" || !strings.EqualFold(c.Address(ch), to) {
				continue
			}
			concerned = true
			if _, stopped := c.Consent(ch); stopped.IsZero() || on.IsZero() {
				c.SetStop(ch, on)
			}
		}
		if concerned {
			a.out.Contacts = append(a.out.Contacts, c)
		}
	}
}

// check notes an answer to the owner checks of a machine: "ok" is about all
// that was asked.
func (a *answering) check(act inbox.Act, result models.CheckResult) {
	if act.Check == "" {
		return
	}
	for _, o := range a.owed[act.Machine] {
		a.checks = append(a.checks, checked{owed: o, result: result, words: act.Words})
	}
}

// elsewhere says whether a fault is told of in another place than every repair
// that its machine's owner was asked after.
func (a *answering) elsewhere(act inbox.Act) bool {
	owed := a.owed[act.Machine]
	return act.Check != "" && len(owed) > 0 && !slices.ContainsFunc(owed, func(o models.OwedCheck) bool {
		return !job.Elsewhere(o.Job, o.Check, act.Words)
	})
}

// checked is an answer to a check.
type checked struct {
	owed   models.OwedCheck
	result models.CheckResult
	words  string
	named  bool // somebody of the shop answers this very check, and is told what forbids it
}

// answerOf is the rule of an answer to a check, by whom and when.
func answerOf(by string, at models.Instant, on models.Date, c checked) func(Known) (models.JobChange, error) {
	return func(k Known) (models.JobChange, error) {
		return job.Answer(k.Job, c.owed.Check.ID, job.Reply{At: at, On: on, Result: c.result, Words: c.words, By: by})
	}
}

// answerChecks works out what the answers change in their jobs: a check that
// is answered is closed, and a repair that did not hold reopens its job, once.
func (a *answering) answerChecks(ctx context.Context) error {
	reopened := map[string]bool{}
	for _, c := range a.checks {
		id := c.owed.Job.ID
		if reopened[id] {
			continue
		}
		known, err := a.replier.Jobs.Know(ctx, id)
		if err != nil {
			return err
		}
		by := a.contact.ID
		if c.named {
			by = a.actor
		}
		change, err := answerOf(by, a.out.Reply.ReceivedAt, a.today, c)(known)
		if err != nil && c.named {
			return err
		}
		if err != nil { // answered meanwhile, or not to be answered any more: a person looks
			a.person(models.ReasonClosed)
			continue
		}
		if job.CameBack(known.Job, change) {
			reopened[id] = true
			a.back = append(a.back, known)
			a.person(models.ReasonComeback)
			a.note("reopened", c.owed.Machine.ID, "job "+id+" is open again")
		}
		a.out.Changes = append(a.out.Changes, change)
	}
	return nil
}
