package app

import (
	"context"
	"crypto/sha256"
	"crypto/tls"
	"fmt"
	"net"
	"strconv"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/inbox/bounce"
	"example.org/roundsman/notify/inbox/mailbox"
	"example.org/roundsman/scheduler"
)

// mailbox readies the way in which answers to mail come in; nil for none.
func (a *App) mailbox() (*mailbox.Watch, error) {
	s := a.Settings.Inbox
	w := &mailbox.Watch{Applier: a.Replier, Bouncer: bouncer{a}, Every: s.Poll.Std(), Clock: a.Clock, Log: a.Log}
	switch s.Kind {
	case "imap":
		w.Source = &mailbox.IMAP{
			Addr: net.JoinHostPort(s.Host, strconv.Itoa(s.Port)), Security: s.TLS, User: s.User, Password: s.Password.Reveal(),
			Folder: s.Folder, Config: &tls.Config{ServerName: s.Host, MinVersion: tls.VersionTLS12},
		}
	case "maildir":
		dir, err := mailbox.OpenMaildir(s.Path)
		if err != nil {
			return nil, err
		}
		w.Source = dir
	default:
		return nil, nil
	}
	return w, nil
}

// bouncer records what reports say of addresses, and tells the shop of dead
// ones.
type bouncer struct{ a *App }

// Bounced records a report, one row for each address that did not get its mail.
func (b bouncer) Bounced(ctx context.Context, r bounce.Report, at models.Instant) error {
	for _, rcpt := range r.Recipients {
		fate, ok := map[bounce.Verdict]models.BounceKind{bounce.Soft: models.FateSoft, bounce.Refuse: models.FateRefuse,
			bounce.Dead: models.FateDead}[rcpt.Verdict()]
		if !ok || rcpt.Address == "" {
			continue
		}
		sum := sha256.Sum256(fmt.Appendf(nil, "%q %q %q %q", r.MessageID, strings.ToLower(rcpt.Address), rcpt.Status, rcpt.Diagnostic))
		row := models.Bounce{Key: fmt.Sprintf("mail/%x", sum[:12]), At: at, Channel: models.ChannelMail, Address: rcpt.Address,
			Fate: fate, Code: rcpt.Status.String(), Words: models.Shorten(rcpt.Diagnostic, 300)}
		fresh, err := b.a.Store.SaveBounce(ctx, row, scheduler.DeadAddress(b.a.Runner.Notify, row), b.a.entry("bounce", rcpt.Address))
		if err != nil {
			return err
		}
		if fresh {
			b.a.Log.Warn("mail came back", "address", row.Address, "fate", row.Fate, "code", row.Code)
		}
	}
	return nil
}
