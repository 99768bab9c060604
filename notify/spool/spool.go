// Package spool is the channel for trying things out and for shops without a
// mail server: it writes each message into a folder, mails as .eml and texts
// as .txt, for people and programs to open.
package spool

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/models/private"
	"example.org/roundsman/notify"
	"example.org/roundsman/notify/message"
)

// Render writes a message as the content of its file. Its error may be a
// *notify.SendError.
type Render func(notify.Outgoing) ([]byte, error)

// Channel writes messages into a folder.
type Channel struct {
	name   models.Channel
	dir    string
	ending string
	render Render
}

// Mail makes the channel of mails.
func Mail(dir string, render Render) *Channel {
	return &Channel{name: models.ChannelMail, dir: dir, ending: ".eml", render: render}
}

// Texts makes the channel of texts.
func Texts(dir string) *Channel {
	return &Channel{name: models.ChannelSMS, dir: dir, ending: ".txt", render: text}
}

// text gives a text with a head that says to whom it goes.
func text(o notify.Outgoing) ([]byte, error) {
	who := o.Address
	if o.To != "" {
		who += " (" + strings.Join(strings.Fields(o.To), " ") + ")"
	}
	return fmt.Appendf(nil, "To: %s\nSegments: %d\n\n%s\n", who, o.Composed.Segments, o.Composed.Text), nil
}

// Name gives the channel whose messages it carries.
func (c *Channel) Name() models.Channel { return c.name }

// Open makes the folder where it is not there.
func (c *Channel) Open(context.Context) (notify.Session, error) {
	if err := private.Folder(c.dir); err != nil {
		return nil, c.down(err)
	}
	return session{c}, nil
}

// down words what is wrong with the folder; no message is to blame for it.
func (c *Channel) down(err error) *notify.SendError {
	var pe *os.PathError
	cause := err
	if errors.As(err, &pe) {
		cause = pe.Err
	}
	return &notify.SendError{Outcome: models.OutcomeDown, Spoiled: true, Err: err,
		Why: models.Reason(fmt.Sprintf("the folder %s cannot be written: %v", c.dir, cause))}
}

type session struct{ c *Channel }

// Close does nothing: each file is whole when Send comes back.
func (session) Close() error { return nil }

// Send writes a message's file whole or not at all. The name is made of the
// message's key, so that the same message sent again takes the same place.
func (s session) Send(ctx context.Context, o notify.Outgoing) (notify.Receipt, error) {
	if err := ctx.Err(); err != nil {
		return notify.Receipt{}, &notify.SendError{Outcome: models.OutcomeTemporary, Why: models.ReasonStoppedEarly, Err: err}
	}
	body, err := s.c.render(o)
	if err != nil {
		var e *notify.SendError
		if errors.As(err, &e) {
			return notify.Receipt{}, e
		}
		return notify.Receipt{}, &notify.SendError{Outcome: models.OutcomeTemporary, Why: models.ReasonNotComposed, Err: err}
	}
	name := FileName(o.Message, s.c.ending)
	if err := private.Replace(filepath.Join(s.c.dir, name), body, private.FileMode); err != nil {
		return notify.Receipt{}, s.c.down(err)
	}
	return notify.Receipt{Code: "written", PeerID: name}, nil
}

// FileName gives a message's file name: the day it was queued, the contact,
// the purpose, and some letters of its key.
func FileName(m models.Message, ending string) string {
	who := m.Contact
	if who == "" {
		who = "shop"
	}
	id := message.MessageID(m.Key, "")
	day := models.DateOf(m.QueuedAt.Time())
	return strings.Join([]string{day.String(), plain(who), plain(string(m.Purpose)), id[:8]}, "_") + ending
}

// plain keeps letters, digits and dashes of a name, at most 40.
func plain(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '-':
			return r
		}
		return '-'
	}, s)
	return s[:min(len(s), 40)]
}
