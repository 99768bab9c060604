package sms

import (
	"context"
	"errors"
	"strings"
	"sync"

	"example.org/roundsman/models"
	"example.org/roundsman/notify"
	"example.org/roundsman/notify/sms/smpp"
)

// SMPP is the channel over a short message center. Run keeps its session;
// without it nothing is sent.
type SMPP struct {
	client *smpp.Client

	mu    sync.Mutex
	fates map[string]fate // of tries in doubt, by message key, as far as heard
	heard map[ref]string  // ids of receipts by reference, for those in doubt
}

// fate is what became known of a try that ended in doubt.
type fate struct {
	taken  bool
	peerID string
	code   string
}

// ref names a message in a receipt whose id we never got.
type ref struct {
	number  uint16
	address string
}

// maxHeard bounds what is remembered of fates and references.
const maxHeard = 10_000

var (
	_ notify.Channel = (*SMPP)(nil)
	_ notify.Settler = session{}
)

// NewSMPP makes the channel; the handler takes texts and reports.
func NewSMPP(cfg smpp.Config, h Handler) (*SMPP, error) {
	s := &SMPP{fates: map[string]fate{}, heard: map[ref]string{}}
	client, err := smpp.New(cfg, bridge{s, h})
	if err != nil {
		return nil, err
	}
	s.client = client
	return s, nil
}

// Run keeps the session with the center until the context ends.
func (s *SMPP) Run(ctx context.Context) error { return s.client.Run(ctx) }

// Up says whether the session with the center stands, and why where it does
// not.
func (s *SMPP) Up() (bool, error) { return s.client.Up() }

// Name gives models.ChannelSMS.
func (s *SMPP) Name() models.Channel { return models.ChannelSMS }

// Open waits for the session with the center.
func (s *SMPP) Open(ctx context.Context) (notify.Session, error) {
	if err := s.client.Await(ctx); err != nil {
		e := &notify.SendError{Outcome: models.OutcomeDown, Why: models.ReasonCenterUnreached, Spoiled: true, Err: err}
		var refused *smpp.StatusError
		if errors.As(err, &refused) && refused.Status.Class() == smpp.ClassSettings {
			e.Code, e.Why, e.Lasting = refused.Status.Code(), models.ReasonCenterLogin, true
		}
		return nil, e
	}
	return session{s}, nil
}

// session is a batch; the link behind it is shared and outlives it.
type session struct{ s *SMPP }

// Close leaves the link to the next batch.
func (session) Close() error { return nil }

// Send submits a message. The text goes as it was composed, less the line
// breaks at its end.
func (x session) Send(ctx context.Context, o notify.Outgoing) (notify.Receipt, error) {
	r := x.s.client.Submit(ctx, smpp.Text{Key: o.Key, To: o.Address, Body: strings.TrimRight(o.Composed.Text, "\r\n")})
	if r.Outcome == models.OutcomeSent {
		return notify.Receipt{Code: r.Code, PeerID: r.PeerID}, nil
	}
	return notify.Receipt{}, &notify.SendError{
		Outcome: r.Outcome, Code: r.Code, Why: r.Why, Err: r.Err,
		Spoiled: r.Outcome == models.OutcomeDoubt || r.Outcome == models.OutcomeDown,
		Lasting: r.Class == smpp.ClassSettings,
	}
}

// Settle finds out what became of a message in doubt: from an answer that
// came late, from a receipt that bears the message's reference, or, where the
// center's id is known, by query_sm. A center that answers none of these
// leaves the doubt.
func (x session) Settle(ctx context.Context, o notify.Outgoing) (taken, known bool, r notify.Receipt, err error) {
	x.s.mu.Lock()
	f, answered := x.s.fates[o.Key]
	id, received := x.s.heard[ref{smpp.Reference(o.Key), o.Address}]
	x.s.mu.Unlock()
	switch {
	case answered:
		return f.taken, true, notify.Receipt{Code: f.code, PeerID: f.peerID}, nil
	case received:
		return true, true, notify.Receipt{Code: smpp.StatusOK.Code(), PeerID: id}, nil
	case o.PeerID == "":
		return false, false, notify.Receipt{}, nil
	}
	_, err = x.s.client.Query(ctx, o.PeerID)
	var status *smpp.StatusError
	switch {
	case err == nil:
		return true, true, notify.Receipt{Code: smpp.StatusOK.Code(), PeerID: o.PeerID}, nil
	case errors.As(err, &status): // it does not know the message, or does not tell
		return false, false, notify.Receipt{Code: status.Status.Code()}, nil
	}
	return false, false, notify.Receipt{}, err
}

// bridge hands what the client brings to the handler, and remembers what may
// settle a doubt.
type bridge struct {
	s *SMPP
	h Handler
}

func (b bridge) Incoming(ctx context.Context, in smpp.Incoming) error {
	return b.h.Incoming(ctx, Incoming{ID: in.ID, From: in.From, To: in.To, Text: in.Text, Binary: in.Binary, Partial: in.Partial})
}

func (b bridge) Receipt(ctx context.Context, r smpp.Receipt) error {
	if err := b.h.Report(ctx, reportOf(r)); err != nil {
		return err
	}
	if r.Reference != 0 && r.ID != "" {
		b.s.mu.Lock()
		defer b.s.mu.Unlock()
		room(b.s.heard)
		b.s.heard[ref{r.Reference, r.Address}] = r.ID
	}
	return nil
}

func (b bridge) Late(ctx context.Context, l smpp.LateAnswer) error {
	taken := l.Status == smpp.StatusOK
	if taken && !l.Last {
		return nil // the client goes on with the next part when the message is tried again
	}
	b.s.mu.Lock()
	room(b.s.fates)
	b.s.fates[l.Key] = fate{taken: taken, peerID: l.PeerID, code: l.Status.Code()}
	b.s.mu.Unlock()
	return b.h.Late(ctx, Late{Key: l.Key, Taken: taken, PeerID: l.PeerID, Code: l.Status.Code()})
}

// room makes room for one more; what is forgotten only leaves a doubt.
func room[K comparable, V any](m map[K]V) {
	if len(m) < maxHeard {
		return
	}
	for k := range m {
		delete(m, k)
		return
	}
}
