// Package sms sends texts over a short message center and takes what comes
// back from it. Package gateway beside it does the same over HTTP.
package sms

import (
	"context"

	"example.org/roundsman/notify/sms/smpp"
)

// Incoming is a text that somebody sent to the shop.
type Incoming struct {
	ID       string // of this text, whose copies have the same: the peer's own where it gives one
	From, To string // E.164 with the plus, where the peer says enough
	Text     string
	Binary   bool // no text but data; Text is empty
	Partial  bool // parts of it never came; each gap reads "[...]"
}

// Report is a peer's word on the fate of a message that it had taken.
type Report struct {
	PeerIDs   []string // the forms in which the message's id may have been recorded, the likeliest first
	Reference uint16   // smpp.Reference of the message's key; 0: not given
	Address   string   // the number that the message went to
	State     string   // for people: "delivered", "undelivered", "expired" ...
	Delivered bool
	Final     bool   // nothing more will come
	ErrorCode string // the network's own; "" for none
}

// Late is the peer's answer to a try that had already ended in doubt.
type Late struct {
	Key    string // of the message
	Taken  bool
	PeerID string
	Code   string
}

// Handler stores what comes in. A method returns nil only when the thing is
// safely stored; the peer then forgets it. The same thing may come twice.
type Handler interface {
	Incoming(context.Context, Incoming) error
	Report(context.Context, Report) error
	Late(context.Context, Late) error
}

// reportOf puts a center's receipt into the words of this package. An id read
// in a receipt's text may be written in another number base than the one in
// the answer, so all its forms are given.
func reportOf(r smpp.Receipt) Report {
	out := Report{
		Reference: r.Reference, Address: r.Address, State: r.State.String(),
		Delivered: r.State == smpp.StateDelivered, Final: r.Final && r.State != smpp.StateUnknown, ErrorCode: r.ErrorCode,
	}
	if r.ID == "" {
		return out
	}
	out.PeerIDs = []string{r.ID}
	for _, form := range smpp.IDForms(r.ID) {
		if form != r.ID {
			out.PeerIDs = append(out.PeerIDs, form)
		}
	}
	return out
}
