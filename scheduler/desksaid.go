package scheduler

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/inbox"
)

// Refusal is what a person told the desk of messages: that it wants no more of
// them, or, lifted, that it wants them again or never said so.
type Refusal struct {
	Contact string           // id
	Ways    []models.Channel // that it is about; none: every one over which the person has an address
	Lift    bool
	Why     string // in the person's words, or how the desk knows; needed
}

// Refuse records a refusal, or lifts it, as a STOP or START from the person
// would: it holds at once for all who share the address, and what waits stops
// in the same transaction. Lifting gives no consent that was not there. It gives
// the person as it is then.
func (p *Replier) Refuse(ctx context.Context, a Act, r Refusal) (models.Contact, error) {
	if r.Why = strings.Join(strings.Fields(r.Why), " "); r.Why == "" {
		return models.Contact{}, models.Errorf(models.CodeInvalid, "say in a few words what the person said", "nothing says why")
	}
	who, err := p.Store.Sender(ctx, models.ChannelMail, "", r.Contact)
	if err != nil {
		return models.Contact{}, err
	}
	i := slices.IndexFunc(who.Contacts, func(c models.Contact) bool { return c.ID == r.Contact })
	if i < 0 {
		return models.Contact{}, models.Errorf(models.CodeNotFound, "`roundsman contact list` lists them", "there is no person %q", r.Contact)
	}
	c := who.Contacts[i]
	if r.Ways, err = waysOf(c, r); err != nil {
		return c, err
	}
	kind := inbox.KindStop
	if r.Lift {
		kind = inbox.KindStart
	}
	at := models.InstantOf(a.At)
	out, err := p.Act(ctx, Said{
		Reply: models.Reply{Key: fmt.Sprintf("desk/%s/%d/%s/%d", c.ID, at, kind, len(r.Ways)), ReceivedAt: at, Channel: r.Ways[0],
			From: c.Address(r.Ways[0]), Text: r.Why, Contact: c.ID},
		Acts: []inbox.Act{{Kind: kind, Words: r.Why}}, Stops: r.Ways, Actor: a.By, Means: a.Means,
	})
	for _, now := range out.Contacts {
		if now.ID == c.ID {
			c = now
		}
	}
	return c, err
}

// waysOf gives the ways that a refusal changes: those with an address, that are
// not stopped already or, to be lifted, that are.
func waysOf(c models.Contact, r Refusal) ([]models.Channel, error) {
	var ways []models.Channel
	for _, ch := range models.Channels() {
		_, stopped := c.Consent(ch)
		if (len(r.Ways) == 0 || slices.Contains(r.Ways, ch)) && c.Address(ch) != "" && r.Lift != stopped.IsZero() {
			ways = append(ways, ch)
		}
	}
	switch {
	case len(ways) > 0:
		return ways, nil
	case r.Lift:
		return nil, models.Errorf(models.CodeConflict, "", "nothing is stopped there")
	}
	return nil, models.Errorf(models.CodeConflict, "", "no message goes there as it is: it is stopped already, or there is no such address")
}

// Undo takes back all that was recorded from a reply: readings, work done and
// answers to checks. A refusal stays; it is lifted by Refuse. It gives what was
// taken back.
func (p *Replier) Undo(ctx context.Context, a Act, reply int64, why string) ([]models.TakenFact, error) {
	if why = strings.Join(strings.Fields(why), " "); why == "" {
		return nil, models.Errorf(models.CodeInvalid, "say in a few words what was wrong", "nothing says why")
	}
	return p.Store.TakeBackReply(ctx, reply, why, models.Entry{RecordedAt: models.InstantOf(a.At), Actor: a.By, Means: a.Means, Note: why})
}

// Answer takes the answer to a check that somebody of the shop types. That to
// an owner's check is what the owner said (see Act); one before the hand-over
// is the shop's own. back is true when it reopened the job; the shop has then
// been told.
func (p *Replier) Answer(ctx context.Context, a Act, check string, result models.CheckResult, said string) (after models.WholeJob, back bool, err error) {
	owed, err := p.Jobs.Store.Check(ctx, check)
	if err != nil {
		return after, false, err
	}
	if owed.Check.Kind == models.CheckBench {
		_, after, err = p.Jobs.Do(ctx, a, owed.Job.ID, "check "+check, answerOf(a.By, models.InstantOf(a.At), p.Jobs.On(a), checked{owed: owed, result: result, words: said}))
		return after, false, err
	}
	people, err := p.Jobs.Store.People(ctx, []string{owed.Machine.Owner}, p.Jobs.On(a))
	if err != nil {
		return after, false, err
	}
	var who models.Contact
	if to := recipientsOf(people[owed.Machine.Owner]); len(to) > 0 {
		who = to[0]
	}
	at, ch := models.InstantOf(a.At), models.ChannelMail
	if who.Mail == "" {
		ch = models.ChannelSMS
	}
	out, err := p.Act(ctx, Said{
		Reply: models.Reply{Key: fmt.Sprintf("check/%s/%d/%s", check, at, result), ReceivedAt: at, Channel: ch,
			From: who.Address(ch), Text: cmp.Or(said, string(result)), Contact: who.ID, Owner: owed.Machine.Owner},
		checks: []checked{{owed: owed, result: result, words: said, named: true}}, Actor: a.By, Means: a.Means,
	})
	if err != nil {
		return after, false, err
	}
	after, err = p.Jobs.Store.Job(ctx, owed.Job.ID)
	back = slices.ContainsFunc(out.Changes, func(c models.JobChange) bool { return c.Job.State == models.JobReopened })
	return after, back, err
}
