package scheduler

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/inbox"
	"example.org/roundsman/notify/policy"
)

// ReplyStore is what acting on replies needs of a store.
type ReplyStore interface {
	Store
	HasReply(ctx context.Context, key string) (bool, error)
	Sender(ctx context.Context, ch models.Channel, from string) (models.Sender, error)
	SaveReply(ctx context.Context, a models.AppliedReply, e models.Entry) (int64, error)
}

// Replier acts on replies: it reads them, records what they say, answers, and
// lays before the shop what a person must see.
type Replier struct {
	Store  ReplyStore
	Jobs   *Jobs // for answers to owner checks
	Notify NotifySettings
	Alerts string // the shop's own mail address for alerts; "" sends none
	Clock  models.Clock
	Log    *slog.Logger
}

// Apply acts on one reply. The same reply again changes nothing.
func (p *Replier) Apply(ctx context.Context, r models.Reply) error {
	known, err := p.Store.HasReply(ctx, r.Key)
	if err != nil || known {
		return err
	}
	if r.ReceivedAt.IsZero() {
		r.ReceivedAt = models.InstantOf(p.Clock.Now())
	}
	sender, err := p.Store.Sender(ctx, r.Channel, r.From)
	if err != nil {
		return err
	}
	a := &answering{replier: p, sender: sender, out: models.AppliedReply{Reply: r}, zone: p.Notify.Zone}
	a.identify()
	if err := a.work(ctx); err != nil {
		return fmt.Errorf("acting on the reply of %s: %w", r.From, err)
	}
	_, err = p.Store.SaveReply(ctx, a.out, models.Entry{RecordedAt: models.InstantOf(p.Clock.Now()),
		Actor: r.From, Means: "reply", Note: string(r.Channel)})
	if errors.Is(err, models.ErrReplyKnown) {
		return nil // another process was quicker
	}
	if err == nil {
		p.Log.Info("reply", "channel", r.Channel, "contact", a.out.Reply.Contact, "acts", len(a.out.Acts), "person", a.out.Reply.Person)
	}
	return err
}

// answering is the work on one reply.
type answering struct {
	replier  *Replier
	sender   models.Sender
	contact  models.Contact
	owner    models.Owner
	lang     string
	zone     *time.Location
	today    models.Date
	machines map[string]models.Machine
	pending  *inbox.Question
	read     inbox.Reply
	known    []Evaluation // of the sender's machines
	checks   []checked
	out      models.AppliedReply
}

// identify finds who the sender is and how to talk to him. Of several contacts
// with one number the one of the last message is meant.
func (a *answering) identify() {
	if n := len(a.sender.Contacts); n > 0 {
		a.contact = a.sender.Contacts[0]
	}
	for _, c := range a.sender.Contacts {
		if a.sender.Last != nil && c.ID == a.sender.Last.Contact {
			a.contact = c
		}
	}
	for _, o := range a.sender.Owners {
		if o.ID == a.contact.Owner {
			a.owner = o
		}
	}
	m := a.replier.Notify
	if loc, err := time.LoadLocation(policy.ZoneName(a.contact, a.owner, m.ZoneName)); err == nil {
		a.zone = loc
	}
	a.lang = policy.Language(a.contact, a.owner, m.Language)
	a.today = models.DateOf(a.out.Reply.ReceivedAt.Time().In(a.zone))
	a.out.Reply.Contact, a.out.Reply.Owner = a.contact.ID, a.contact.Owner
	a.machines = make(map[string]models.Machine, len(a.sender.Machines))
	for _, v := range a.sender.Machines {
		a.machines[v.ID] = v
	}
}

// work reads the reply and does what it says.
func (a *answering) work(ctx context.Context) error {
	asked, err := a.asked(ctx)
	if err != nil {
		return err
	}
	if a.out.Reply.Automatic {
		a.read = inbox.Reply{}
		a.note("automatic", "", "an automatic answer; nothing was done")
		return nil
	}
	a.read = inbox.Read(a.out.Reply.Text, asked)
	a.person(a.read.Person)
	if a.contact.ID == "" && len(a.read.Acts) == 0 {
		a.person(models.ReasonStranger)
	}
	var done []inbox.Act
	for _, act := range a.read.Acts {
		if a.do(act) {
			done = append(done, act)
		}
	}
	if err := a.answerChecks(ctx); err != nil {
		return err
	}
	switch {
	case a.read.Ask != nil:
		q, err := json.Marshal(a.read.Ask)
		if err != nil {
			return fmt.Errorf("keeping a question: %w", err)
		}
		a.out.Reply.Question = string(q)
		a.answer(models.PurposeAnswer, a.read.Ask.Wording(a.lang, a.label))
		a.note("asked back", a.read.Ask.Act.Machine, string(a.read.Ask.Kind))
		if k := a.read.Ask.Act.Kind; k == inbox.KindComeback || k == inbox.KindTrouble {
			a.person(models.ReasonTrouble) // the shop must not wait for the answer
		}
	default:
		if words := inbox.Thanks(done, a.machines, a.lang); words != "" {
			a.answer(models.PurposeAnswer, words)
		}
	}
	if a.out.Reply.Person != "" {
		a.alert()
	}
	return nil
}

// asked gathers what the inbox must know to read a reply.
func (a *answering) asked(ctx context.Context) (inbox.Asked, error) {
	asked := inbox.Asked{Today: a.today, Language: a.lang}
	if a.sender.Last != nil {
		asked.Purpose = a.sender.Last.Purpose
	}
	if a.sender.Question != "" {
		a.pending = new(inbox.Question)
		if err := json.Unmarshal([]byte(a.sender.Question), a.pending); err != nil {
			a.pending = nil // of an older program's form: read the reply by itself
		}
	}
	asked.Pending = a.pending
	ids := make([]string, 0, len(a.sender.Machines))
	for _, m := range a.sender.Machines {
		ids = append(ids, m.ID)
	}
	var err error
	if a.known, err = a.evaluate(ctx, ids); err != nil {
		return asked, err
	}
	items := make(map[string][]string)
	for _, n := range a.sender.Notices {
		if _, seen := items[n.Machine]; !seen {
			asked.About = append(asked.About, n.Machine)
		}
		if n.Subject == models.SubjectCheck { // the message asked that too
			asked.Purpose = models.PurposeCheck
			continue
		}
		items[n.Machine] = append(items[n.Machine], n.Item)
	}
	for i := range a.known {
		e := &a.known[i]
		k := inbox.Known{Machine: e.Machine(), Items: items[e.Machine().ID],
			Miles: spanOf(e, models.Odometer), Hours: spanOf(e, models.HourMeter)}
		if len(e.Owed) > 0 {
			k.Check = e.Owed[len(e.Owed)-1].Check.ID
		}
		asked.Machines = append(asked.Machines, k)
	}
	return asked, nil
}

// evaluate works out the sender's machines on the day of the reply.
func (a *answering) evaluate(ctx context.Context, ids []string) ([]Evaluation, error) {
	n, at := a.replier.Notify, a.out.Reply.ReceivedAt.Time()
	n.Zone = a.zone
	p, err := LastProfile(ctx, a.replier.Store, n, at)
	if err != nil {
		return nil, err
	}
	return evaluationsOf(ctx, a.replier.Store, n, p, ids, at)
}

// slack widens what needs no question beyond the 80 % range: as far again
// above it as it reaches above the likely value, since a busy week is no slip.
const slack = 1.0

// spanOf gives what a meter is believed to show on the day of an evaluation.
func spanOf(e *Evaluation, meter models.Meter) inbox.Span {
	points := e.Screened.Of(meter)
	r, ok := e.Use.At(meter, e.Today)
	if !ok || len(points) == 0 {
		return inbox.Span{}
	}
	last := points[len(points)-1]
	most := e.Screened.Shown(meter, r.High+slack*(r.High-r.Likely))
	out := inbox.Span{Last: models.Num(last.Shown), LastOn: last.On, Likely: models.Num(e.Screened.Shown(meter, r.Likely))}
	if most >= last.Shown { // else the meter turns over meanwhile, and nothing can be barred
		out.Least, out.Most = models.Num(last.Shown), models.Num(most)
	}
	return out
}

// label gives the name by which people know a machine.
func (a *answering) label(id string) string {
	if m, ok := a.machines[id]; ok {
		return m.Label()
	}
	return id
}

// person notes that a person must look, for the first reason given.
func (a *answering) person(why models.Reason) {
	if a.out.Reply.Person == "" {
		a.out.Reply.Person = why
	}
}

// note records one thing that was done.
func (a *answering) note(act, machine, detail string) {
	a.out.Acts = append(a.out.Acts, models.ReplyAct{Act: act, Machine: machine, Detail: detail, At: a.out.Reply.ReceivedAt})
}

// answer queues a message to the sender over the channel he used.
func (a *answering) answer(purpose models.Purpose, body string) {
	r := a.out.Reply
	urgent := purpose == models.PurposeStopped || purpose == models.PurposeStarted || purpose == models.PurposeHelp
	a.out.Messages = append(a.out.Messages, models.Message{
		Key: "answer/" + r.Key + "/" + string(purpose), Owner: a.contact.Owner, Contact: a.contact.ID,
		Channel: r.Channel, Address: r.From, Purpose: purpose, Language: a.lang, Urgent: urgent, Body: body,
		InReplyTo: r.Key, State: models.MessageQueued, Why: models.ReasonMayGo,
		QueuedAt: r.ReceivedAt, NotBefore: r.ReceivedAt,
	})
}

// alert queues a mail to the shop that says what a person must see.
func (a *answering) alert() {
	if a.replier.Alerts == "" {
		return
	}
	r := a.out.Reply
	who := a.contact.Name
	if who == "" {
		who = "somebody we do not know"
	}
	var machines []string
	for _, act := range a.read.Acts {
		if act.Machine != "" {
			machines = append(machines, a.label(act.Machine))
		}
	}
	body := fmt.Sprintf("%s (%s) wrote: %q\n\nWhy you see it: %s.", who, r.From, models.Shorten(r.Text, 600), r.Person)
	if len(machines) > 0 {
		body += "\nMachines: " + strings.Join(machines, ", ") + "."
	}
	a.out.Messages = append(a.out.Messages, models.Message{
		Key: "alert/" + r.Key, Owner: a.contact.Owner, Channel: models.ChannelMail, Address: a.replier.Alerts,
		Purpose: models.PurposeShopAlert, Language: a.replier.Notify.Language, Urgent: true, Body: body, InReplyTo: r.Key,
		State: models.MessageQueued, Why: models.ReasonMayGo, QueuedAt: r.ReceivedAt, NotBefore: r.ReceivedAt,
	})
}
