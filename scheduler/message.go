package scheduler

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/policy"
)

// Address decides whether a message may go to a person of an owner, and
// addresses it. m says what it is: purpose, key and words, and channel and
// address where it is bound to them. All messages are made here: those of
// rounds and of visits, answers, alerts to the shop (no person) and tests.
// Where the decision is not to send, the message is only good for showing.
func Address(s policy.Settings, at time.Time, o models.Owner, p models.Person, m models.Message) (models.Message, policy.Decision) {
	ask := s.Ask(at, o, p, m.Purpose)
	ask.Channel, ask.Address, ask.Urgent = m.Channel, m.Address, m.Urgent
	d := policy.Decide(ask)
	m.Owner, m.Contact, m.Channel, m.Address = o.ID, p.Contact.ID, d.Channel, d.Address
	m.Language = cmp.Or(m.Language, s.LanguageOf(p.Contact, o))
	m.State, m.Why, m.QueuedAt, m.NotBefore = models.MessageQueued, d.Why, models.InstantOf(at), models.InstantOf(d.NotBefore)
	return m, d
}

// joined addresses a message of a round: the one that waits in the outbox is
// taken again where it may still go, else it is a new one.
func joined(s policy.Settings, at time.Time, o models.Owner, p models.Person, m models.Message) (models.Message, policy.Decision) {
	// One that was queued ahead of the clock goes when its time comes, if ever.
	if w := p.Waiting; w != nil && w.QueuedAt <= models.InstantOf(at.Add(models.MayLieAhead)) {
		ask := s.Ask(at, o, p, m.Purpose)
		ask.Channel, ask.Unanswered = w.Channel, 0 // it was decided on when it was made
		if d := policy.Decide(ask); d.Send && d.Address == w.Address {
			return *w, d
		}
	}
	return Address(s, at, o, p, m)
}

// alert makes the mail that tells the shop's desk something, in its language;
// nil where the desk has no address.
func alert(s policy.Settings, at time.Time, key, owner string, body models.Phrase) *models.Message {
	if s.Desk == "" {
		return nil
	}
	m, _ := Address(s, at, models.Owner{ID: owner}, models.Person{}, models.Message{Key: key, Purpose: models.PurposeShopAlert,
		Channel: models.ChannelMail, Address: s.Desk, Language: s.Language, Urgent: true, Body: body.In(s.Language)})
	return &m
}

// InboxDown is the way in of ChannelDown, where no answers to mail are read.
const InboxDown models.Channel = "inbox"

// ChannelDown makes the alert that a channel does not work, by a way that is
// not that channel: a text about mail, mail to the desk about texts, and of the
// inbox, whose log-in may be that of mail, whichever there is. nil where the
// shop has no such way.
func ChannelDown(s policy.Settings, at time.Time, ch models.Channel, why models.Reason) *models.Message {
	what := map[models.Channel]models.Phrase{
		models.ChannelMail: {EN: "Mail does not work", ES: "El correo no funciona"},
		models.ChannelSMS:  {EN: "Texts do not go out", ES: "Los mensajes de texto no salen"},
		InboxDown:          {EN: "Answers by mail are not read", ES: "Las respuestas por correo no se leen"},
	}[ch]
	words := models.Phrase{EN: what.EN + ": " + why.In("en") + ". What waits is kept.", ES: what.ES + ": " + why.In("es") + ". Lo que espera se conserva."}
	key := fmt.Sprintf("down/%s/%s", ch, models.DateOf(at.In(s.Zone)))
	switch {
	case ch == models.ChannelSMS, ch == InboxDown && s.DeskMobile == "":
		return alert(s, at, key, "", words)
	case s.DeskMobile == "":
		return nil
	}
	m, _ := Address(s, at, models.Owner{}, models.Person{}, models.Message{Key: key, Purpose: models.PurposeShopAlert,
		Channel: models.ChannelSMS, Address: s.DeskMobile, Language: s.Language, Urgent: true, Body: words.In(s.Language)})
	return &m
}

// news is what somebody said that the desk must see.
type news struct {
	who, from string // from: number or address; who and from may be ""
	said      string
	why       models.Reason
	machines  []models.Machine
	recorded  models.Phrase // what was taken from it as fact; may be ""
	back      []Known       // jobs that it opened again
}

// words tells the news in both languages. The first line says who says
// it, of which machines, and why it must be seen: it is the subject of the mail
// too.
func (n news) words() models.Phrase {
	var about []string
	if by := cmp.Or(n.who, n.from); by != "" {
		about = append(about, by)
	}
	for _, m := range n.machines {
		if name := m.Label(); name != "" && !slices.Contains(about, name) {
			about = append(about, name)
		}
	}
	of, from, quoted := "", "", "."
	if len(about) > 0 {
		of = strings.Join(about, ", ") + ": "
	}
	if n.from != "" {
		from = " (" + n.from + ")"
	}
	if said := strings.TrimSpace(models.Shorten(n.said, 600)); said != "" {
		quoted = ":\n\n> " + strings.Join(strings.FieldsFunc(said, func(r rune) bool { return r == '\n' || r == '\r' }), "\n> ")
	}
	out := models.Phrase{
		EN: of + n.why.In("en") + "\n\n" + cmp.Or(n.who, "Somebody we do not know") + from + " says" + quoted,
		ES: of + n.why.In("es") + "\n\n" + cmp.Or(n.who, "Alguien que no conocemos") + from + " dice" + quoted,
	}
	if n.recorded.EN != "" {
		out.EN += "\n\nRecorded from it: " + n.recorded.EN + ". If that is wrong, take it back."
		out.ES += "\n\nAnotado de ahí: " + n.recorded.ES + ". Si no es así, retírelo."
	}
	for _, k := range n.back {
		about := ""
		if k.Job.Job.Complaint != "" {
			about = " (" + k.Job.Job.Complaint + ")"
		}
		out.EN += fmt.Sprintf("\n\nJob %s of %s%s is open again. Please call.", k.Job.Job.ID, k.Machine.Label(), about)
		out.ES += fmt.Sprintf("\n\nEl trabajo %s de %s%s está abierto otra vez. Llame, por favor.", k.Job.Job.ID, k.Machine.Label(), about)
	}
	return out
}

// CameBack makes the alert about a report that mail did not arrive: that there
// is no such mailbox, or, where ours says that it names no mail of ours, that
// somebody should look. nil for other reports, whose message is told by another
// way, or where the desk has no address.
func CameBack(s policy.Settings, b models.Bounce, ours bool) *models.Message {
	said := strings.TrimSpace(b.Code + " " + b.Words)
	var words models.Phrase
	switch {
	case !ours:
		words = models.Phrase{
			EN: fmt.Sprintf("A report says that mail to %s came back (%s), but it names no mail of ours. Nothing was changed. If you know the address, ask whether it still holds.", b.Address, said),
			ES: fmt.Sprintf("Un informe dice que el correo a %s fue devuelto (%s), pero no nombra ningún correo nuestro. No se cambió nada. Si conoce la dirección, pregunte si todavía vale.", b.Address, said),
		}
	case b.Fate == models.FateDead:
		words = models.Phrase{
			EN: fmt.Sprintf("Mail to %s came back: there is no such mailbox (%s). Nothing more is sent there. Ask for the right address, and record it with a new date of consent.", b.Address, said),
			ES: fmt.Sprintf("El correo a %s fue devuelto: ese buzón no existe (%s). No se envía nada más allí. Pida la dirección correcta y anótela con una nueva fecha de consentimiento.", b.Address, said),
		}
	default:
		return nil
	}
	return alert(s, b.At.Time(), "dead/"+b.Key, "", words)
}
