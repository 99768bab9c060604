package app

import (
	"context"
	"crypto/sha256"
	"fmt"
	"net"
	"regexp"
	"strconv"
	"strings"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/inbox/bounce"
	"example.org/roundsman/notify/inbox/mailbox"
	"example.org/roundsman/notify/mail"
	"example.org/roundsman/notify/message"
	"example.org/roundsman/scheduler"
)

// mailbox readies the way in which answers to mail come in; nil for none.
func (a *App) mailbox() (*mailbox.Watch, error) {
	s := a.Settings.Inbox
	w := &mailbox.Watch{Applier: a.Replier, Bouncer: bouncer{a}, Every: s.Poll.Std(), Clock: a.Clock, Log: a.Log,
		Alarm: func(ctx context.Context, err error) error {
			return a.alarm(ctx, scheduler.InboxDown, models.Reason(err.Error()))
		}}
	if s.Others == "leave" {
		w.Ours = a.ours
	}
	record := mailbox.Record{Path: a.Store.Path() + ".inbox"}
	switch s.Kind {
	case "imap":
		terms, err := trust(s.Host, s.CA)
		if err != nil {
			return nil, err
		}
		w.Source = &mailbox.IMAP{
			Record: record, Clock: a.Clock,
			Addr: net.JoinHostPort(s.Host, strconv.Itoa(s.Port)), Security: s.TLS, User: s.User, Password: s.Password.Reveal(),
			Folder: s.Folder, Config: terms,
		}
	case "maildir":
		dir, err := mailbox.OpenMaildir(s.Path, record)
		if err != nil {
			return nil, err
		}
		w.Source = dir
	default:
		return nil, nil
	}
	return w, nil
}

// ourID is the form of a Message-ID of the program's own (message.MessageID).
var ourID = regexp.MustCompile(`^[a-z2-7]{32}@`)

// ours says whether a mail in a mailbox that people use too is for the program:
// one of a contact, or that answers a mail of ours, or that asks for an end of
// them; and never one of the shop's own, such as an alert to the desk.
func (a *App) ours(ctx context.Context, r models.Reply) (bool, error) {
	s := a.Settings.Shop
	switch {
	case strings.EqualFold(r.From, s.MailFrom), strings.EqualFold(r.From, s.ReplyTo):
		return false, nil
	case ourID.MatchString(r.AnswersTo), strings.EqualFold(strings.TrimSpace(r.Subject), "stop"):
		return true, nil
	}
	sender, err := a.Store.Sender(ctx, models.ChannelMail, r.From, "")
	return len(sender.Contacts) > 0, err
}

// bouncer records what reports say of addresses, and tells the shop of dead
// ones.
type bouncer struct{ a *App }

// Bounced records a report, one row for each address that did not get its
// mail. Anybody can write one: it counts for the mail of ours that it names,
// by its Message-ID or by the address for bounces that it came to. One that
// names none retires no address and is shown to the desk.
func (b bouncer) Bounced(ctx context.Context, r bounce.Report, at models.Instant) error {
	of, err := b.about(ctx, r, at)
	if err != nil {
		return err
	}
	for _, rcpt := range r.Recipients {
		fate, ok := map[bounce.Verdict]models.BounceKind{bounce.Soft: models.FateSoft, bounce.Refuse: models.FateRefuse,
			bounce.Dead: models.FateDead}[rcpt.Verdict()]
		if !ok || rcpt.Address == "" {
			continue
		}
		sum := sha256.Sum256(fmt.Appendf(nil, "%q %q %q %q", r.MessageID, strings.ToLower(rcpt.Address), rcpt.Status, rcpt.Diagnostic))
		row := models.Bounce{Key: fmt.Sprintf("mail/%x", sum[:12]), At: at, Channel: models.ChannelMail, Address: rcpt.Address,
			Fate: fate, Code: rcpt.Status.String(), Words: models.Shorten(rcpt.Diagnostic, 300)}
		if of.Key != "" && fate != models.FateDead {
			row.Address = of.Address // it may have been sent on, and come back from there
		}
		if fate == models.FateDead && !strings.EqualFold(of.Address, rcpt.Address) {
			row.Fate = models.FateRefuse // of another's mailbox, or of no mail of ours
		}
		alert := scheduler.CameBack(b.a.Runner.Notify, row, of.Key != "")
		fresh, err := b.a.Store.SaveBounce(ctx, row, of.Key, alert, b.a.entry("bounce", row.Address))
		if err != nil {
			return err
		}
		if fresh {
			b.a.Log.Warn("mail came back", "address", row.Address, "fate", row.Fate, "code", row.Code, "ours", of.Key != "")
		}
	}
	return nil
}

// bounceDays is how old a mail may be of which a report is believed: longer
// than servers try (RFC 5321, 4.5.4.1: 4 to 5 days).
const bounceDays = 30

// about finds the mail of ours that a report is about; the zero value for none.
func (b bouncer) about(ctx context.Context, r bounce.Report, at models.Instant) (models.Message, error) {
	sent, err := b.a.Store.SentMails(ctx, at.Add(-bounceDays*24*time.Hour))
	if err != nil {
		return models.Message{}, err
	}
	id, _, _ := strings.Cut(r.MessageID, "@")
	before, after, verp := strings.Cut(strings.ToLower(b.a.Settings.Mail.BounceAddress), "{id}")
	for _, m := range sent {
		ours, _, _ := strings.Cut(message.MessageID(m.Key, ""), "@")
		if id != "" && strings.EqualFold(id, ours) || verp && r.SentTo == before+mail.BounceID(m)+after {
			return m, nil
		}
	}
	return models.Message{}, nil
}
