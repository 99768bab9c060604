package scheduler

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"slices"
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
	Sender(ctx context.Context, ch models.Channel, from, contact string) (models.Sender, error)
	SaveReply(ctx context.Context, a models.AppliedReply, e models.Entry) (int64, error)
	TakeBackReply(ctx context.Context, reply int64, why string, by models.Entry) ([]models.TakenFact, error)
}

// Replier is where an owner's acts come together, whatever way they come: it
// reads what was written, records what it says, answers, and lays before the
// shop what a person must see.
type Replier struct {
	Store  ReplyStore
	Jobs   *Jobs // for answers to owner checks
	Notify policy.Settings
	Clock  models.Clock
	Log    *slog.Logger

	// Days gives days on which a machine could come for items; nil: none are
	// offered.
	Days func(ctx context.Context, at time.Time, machine string, items []string) ([]models.Date, error)
}

// Said is what a contact said in so many acts: on its own page, or to somebody
// of the shop who enters it.
type Said struct {
	Reply models.Reply // as it is kept: key, moment, words; Contact is who said it
	Acts  []inbox.Act
	Stops []models.Channel // which a stop ends; nil: that of the reply
	Actor string           // who enters it
	Means string           // by what way: "link", "page" ...

	checks []checked // answers to single checks, besides the acts
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
	a, err := p.begin(ctx, r)
	if err != nil {
		return err
	}
	err = p.store(ctx, a, a.work, models.Entry{Actor: r.From, Means: "reply", Note: string(r.Channel)})
	if errors.Is(err, models.ErrReplyKnown) {
		return nil // another process was quicker
	}
	return err
}

// Act does what a contact said, in one transaction. It does what a reply with
// the same meaning would, but for the message that answers one: who asked sees
// on the spot what became of it. A doubtful value comes back as a
// *models.DoubtfulReading unless its act is sure; nothing is recorded then.
func (p *Replier) Act(ctx context.Context, s Said) (models.AppliedReply, error) {
	a, err := p.begin(ctx, s.Reply)
	if err != nil {
		return models.AppliedReply{}, err
	}
	a.silent, a.read.Acts, a.checks, a.actor = true, s.Acts, s.checks, s.Actor
	if s.Stops != nil {
		a.stops = s.Stops
		if err := a.others(ctx); err != nil {
			return models.AppliedReply{}, err
		}
	}
	err = p.store(ctx, a, func(ctx context.Context) error {
		var machines []string
		for _, act := range s.Acts {
			machines = append(machines, act.Machine)
		}
		if err := a.know(ctx, machines); err != nil {
			return err
		}
		for i, act := range s.Acts {
			if owed := a.owed[act.Machine]; len(owed) > 0 && act.Kind.Answers() {
				s.Acts[i].Check = owed[0].Check.ID
			}
		}
		return a.doAll(ctx)
	}, models.Entry{Actor: s.Actor, Means: s.Means})
	return a.out, err
}

// begin finds who said something.
func (p *Replier) begin(ctx context.Context, r models.Reply) (*answering, error) {
	sender, err := p.Store.Sender(ctx, r.Channel, r.From, r.Contact)
	if err != nil {
		return nil, err
	}
	a := &answering{replier: p, sender: sender, out: models.AppliedReply{Reply: r}, stops: []models.Channel{r.Channel}}
	a.identify()
	return a, nil
}

// others adds to the sender's contacts those who share an address that a stop
// is about and not that of the reply.
func (a *answering) others(ctx context.Context) error {
	for _, ch := range a.stops {
		to := a.contact.Address(ch)
		if to == "" || ch == a.out.Reply.Channel {
			continue
		}
		more, err := a.replier.Store.Sender(ctx, ch, to, a.contact.ID)
		if err != nil {
			return err
		}
		for _, c := range more.Contacts {
			if !slices.ContainsFunc(a.sender.Contacts, func(has models.Contact) bool { return has.ID == c.ID }) {
				a.sender.Contacts = append(a.sender.Contacts, c)
			}
		}
	}
	return nil
}

// store works out what is to be recorded and records it.
func (p *Replier) store(ctx context.Context, a *answering, work func(context.Context) error, e models.Entry) error {
	r := a.out.Reply
	if err := work(ctx); err != nil {
		return fmt.Errorf("acting on what %s says: %w", cmp.Or(r.From, r.Contact), err)
	}
	e.RecordedAt = models.InstantOf(p.Clock.Now())
	if _, err := p.Store.SaveReply(ctx, a.out, e); err != nil {
		return err
	}
	p.Log.Info("reply", "means", e.Means, "channel", r.Channel, "contact", a.out.Reply.Contact, "acts", len(a.out.Acts), "person", a.out.Reply.Person)
	return nil
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
	stops    []models.Channel        // that a stop ends
	silent   bool                    // no message answers it
	actor    string                  // who enters it, of what is silent
	doubt    *models.DoubtfulReading // of who can be asked on the spot
	pending  *inbox.Question
	read     inbox.Reply
	known    []Evaluation                  // of the machines spoken of
	owed     map[string][]models.OwedCheck // owner checks without an answer, by machine
	purpose  models.Purpose                // of the message that the reply answers
	items    map[string][]string           // that the last message told of, by machine
	checks   []checked
	back     []Known // jobs that the answers open again
	out      models.AppliedReply
}

// identify finds who the sender is and how to talk to him. Of several contacts
// with one number the one of the last message is meant.
func (a *answering) identify() {
	if n := len(a.sender.Contacts); n > 0 {
		a.contact = a.sender.Contacts[0]
	}
	meant := a.out.Reply.Contact
	if meant == "" && a.sender.Last != nil {
		meant = a.sender.Last.Contact
	}
	for _, c := range a.sender.Contacts {
		if c.ID == meant {
			a.contact = c
		}
	}
	for _, o := range a.sender.Owners {
		if o.ID == a.contact.Owner {
			a.owner = o
		}
	}
	a.zone = a.replier.Notify.ZoneOf(a.contact, a.owner)
	a.lang = a.replier.Notify.LanguageOf(a.contact, a.owner)
	a.today = models.DateOf(a.out.Reply.ReceivedAt.Time().In(a.zone))
	a.out.Reply.Contact, a.out.Reply.Owner = a.contact.ID, cmp.Or(a.contact.Owner, a.out.Reply.Owner)
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
	a.read = inbox.Read(a.words(), asked)
	a.person(a.read.Person)
	if a.contact.ID == "" && len(a.read.Acts) == 0 {
		a.person(models.ReasonStranger)
	}
	return a.doAll(ctx)
}

// words gives what was written. What is attached is for a person to look at.
func (a *answering) words() string {
	words, attached := a.out.Reply.Words()
	if attached {
		a.person(models.ReasonAttached)
	}
	return words
}

// doAll does what was read, answers it, and tells the desk what it must see.
func (a *answering) doAll(ctx context.Context) error {
	var done []inbox.Act
	for _, act := range a.read.Acts {
		if a.do(act) {
			done = append(done, act)
		}
	}
	if a.doubt != nil {
		return a.doubt
	}
	if err := a.answerChecks(ctx); err != nil {
		return err
	}
	if err := a.offer(ctx); err != nil {
		return err
	}
	answers := a.mayAnswer(done)
	if a.read.Ask != nil && !answers {
		a.read.Ask = nil
		a.person(models.ReasonTwice)
	}
	if a.read.Ask != nil {
		q, err := json.Marshal(a.read.Ask)
		if err != nil {
			return fmt.Errorf("keeping a question: %w", err)
		}
		a.out.Reply.Question = string(q)
		a.note("asked back", a.read.Ask.Act.Machine, string(a.read.Ask.Kind))
		if k := a.read.Ask.Act.Kind; k == inbox.KindComeback || k == inbox.KindTrouble {
			a.person(models.ReasonTrouble) // the shop must not wait for the answer
		}
	}
	if words := a.sayBack(done); answers && words != "" {
		a.answer(models.PurposeAnswer, words)
	}
	if a.out.Reply.Person != "" {
		a.alert()
	}
	return nil
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

// mayAnswer says whether a reply is answered, lest two programs write to each
// other for ever.
func (a *answering) mayAnswer(done []inbox.Act) bool {
	t := policy.Talk{At: a.out.Reply.ReceivedAt, Answered: a.sender.Answered, Did: len(done) > 0, Asks: a.read.Ask != nil || len(a.read.Acts) > 0}
	for _, r := range a.sender.Replies {
		t.Repeats = t.Repeats || r.Text == a.out.Reply.Text && r.Subject == a.out.Reply.Subject && t.At < r.ReceivedAt.Add(24*time.Hour)
	}
	return policy.MayAnswer(t)
}

// answer queues a message to the sender over the channel he used.
func (a *answering) answer(purpose models.Purpose, body string) {
	if a.silent {
		return
	}
	r := a.out.Reply
	m, d := Address(a.replier.Notify, r.ReceivedAt.Time(), a.owner, models.Person{Contact: a.contact}, models.Message{
		Key: "answer/" + r.Key + "/" + string(purpose), Channel: r.Channel, Address: r.From, Purpose: purpose,
		Urgent: purpose != models.PurposeAnswer, Body: body, InReplyTo: r.Key})
	if d.Send {
		a.out.Messages = append(a.out.Messages, m)
	}
}

// alert queues a mail to the shop that says what a person must see.
func (a *answering) alert() {
	r := a.out.Reply
	n := news{who: a.contact.Name, from: r.From, said: r.Text, why: r.Person, back: a.back,
		recorded: models.Phrase{EN: a.recorded("en"), ES: a.recorded("es")}}
	for _, act := range a.read.Acts {
		n.machines = append(n.machines, a.machines[act.Machine])
	}
	for _, c := range a.checks {
		if c.named {
			n.machines = append(n.machines, c.owed.Machine)
		}
	}
	if m := alert(a.replier.Notify, r.ReceivedAt.Time(), "alert/"+r.Key, a.contact.Owner, n.words()); m != nil {
		m.InReplyTo = r.Key
		a.out.Messages = append(a.out.Messages, *m)
	}
}

// recorded says in a language which facts were taken from the reply, each with
// its day; "" for none.
func (a *answering) recorded(lang string) string {
	var parts []string
	add := func(machine, what string, on models.Date) {
		day := models.Phrase{EN: " on ", ES: " el "}.In(lang) + models.ShortDay(on, lang, on.Year() != a.today.Year())
		parts = append(parts, a.label(machine)+" "+what+day)
	}
	for _, r := range a.out.Facts.Readings {
		add(r.Machine, meterWords(a.machines[r.Machine], inbox.Act{Miles: r.Miles, Hours: r.Hours}), r.At)
	}
	for _, s := range a.out.Facts.Services {
		add(s.Machine, models.ItemName(s.Item, lang), s.At)
	}
	return strings.Join(parts, "; ")
}
