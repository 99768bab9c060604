package notify

import (
	"context"
	"errors"
	"fmt"

	"example.org/roundsman/models"
)

// Channel is a way to send messages: a mail server, a short message center, a
// folder. It is safe for use by several goroutines.
type Channel interface {
	// Name gives the channel whose messages it carries.
	Name() models.Channel
	// Open begins a batch, such as on one connection. Its errors are of the
	// channel and not of a message: they count as models.OutcomeDown unless
	// they say otherwise.
	Open(ctx context.Context) (Session, error)
}

// Session sends the messages of one batch. It belongs to one goroutine.
type Session interface {
	// Send hands one message over and comes back when the peer has answered
	// or the context is done. Its error is a *SendError; any other error
	// counts as in doubt. A session is not used again after an error that
	// spoils it (SendError.Spoiled) but closed.
	Send(ctx context.Context, o Outgoing) (Receipt, error)
	// Close ends the batch. What was sent stays sent whatever it returns.
	Close() error
}

// Settler is a session that can find out what became of a message whose try
// ended in doubt.
type Settler interface {
	// Settle says whether the peer has taken the message. known is false
	// where it cannot tell.
	Settle(ctx context.Context, o Outgoing) (taken, known bool, r Receipt, err error)
}

// Outgoing is a message on its way out.
type Outgoing struct {
	models.Message
	To string // the contact's name; may be ""
}

// Receipt is what a peer said when it took a message.
type Receipt struct {
	Code   string // its code: "250 2.0.0", "0x0"
	PeerID string // its own id of the message, for later receipts
}

// SendError is why a message was not sent.
type SendError struct {
	Outcome models.Outcome // temporary, permanent, doubt or down
	Code    string         // the peer's code; "" where it gave none
	Why     models.Reason  // for people: "mailbox full"
	Spoiled bool           // the session cannot be used any more
	Lasting bool           // our own account, sender or settings are refused: somebody must put it right
	Dead    bool           // there is no such address: nothing sent there will arrive
	Err     error          // the cause, for the log; may be nil
}

// Error gives outcome, reason, code and cause on one line.
func (e *SendError) Error() string {
	s := fmt.Sprintf("%s: %s", e.Outcome, e.Why)
	if e.Code != "" {
		s += " (" + e.Code + ")"
	}
	if e.Err != nil {
		s += ": " + e.Err.Error()
	}
	return s
}

// Unwrap gives the cause.
func (e *SendError) Unwrap() error { return e.Err }

// sendError reads an error of Send; an error that does not say what it is
// leaves the message in doubt and the session spoiled.
func sendError(err error) *SendError {
	var e *SendError
	if errors.As(err, &e) {
		return e
	}
	return &SendError{Outcome: models.OutcomeDoubt, Why: models.ReasonUnknownEnd, Spoiled: true, Err: err}
}

// openError reads an error of Open.
func openError(err error) *SendError {
	var e *SendError
	if errors.As(err, &e) {
		return e
	}
	return &SendError{Outcome: models.OutcomeDown, Why: models.ReasonDown, Err: err}
}
