package smpp

import (
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/message/gsm"
)

// Text is one text message to send.
type Text struct {
	Key  string // the sender's stable name of the message; the same for every try
	To   string // E.164 with the plus
	Body string
}

// Result says how a try ended.
type Result struct {
	Outcome models.Outcome
	Class   Class  // of Status, where the center answered
	Code    string // the center's status, for example "0x58"; "" where it gave none
	Why     models.Reason
	PeerID  string // the center's id of the last part, which the receipt will name
	Parts   int    // parts the text has
	Taken   int    // parts taken, this try and earlier ones of this client
	Err     error  // for the log; nil when sent
}

// Reference gives the number by which a receipt can name a message whose id
// never reached us (user_message_reference, section 5.3.2.17): a hash of its
// key, never 0.
func Reference(key string) uint16 {
	h := fnv.New32a()
	_, _ = h.Write([]byte(key)) // never fails
	sum := h.Sum32()
	if n := uint16(sum) ^ uint16(sum>>16); n != 0 {
		return n
	}
	return 1
}

// tries bounds how often one part is offered within one Submit.
const tries = 5

// Submit sends a text and says how that ended: sent, temporary, permanent,
// doubt (it went out and no answer came) or down (it did not go out; the
// message is not to blame). Throttled parts are offered again a few times,
// each time later. A text of which some parts were taken goes on from there
// when its key is submitted again.
func (c *Client) Submit(ctx context.Context, t Text) Result {
	dest, err := destAddress(t.To)
	if err != nil {
		return Result{Outcome: models.OutcomePermanent, Class: ClassNumber, Why: models.ReasonBadNumber, Err: err}
	}
	parts, err := gsm.Split(t.Body, uint8(Reference(t.Key)))
	if err != nil {
		return Result{Outcome: models.OutcomePermanent, Class: ClassPermanent, Why: models.ReasonTextTooLong, Err: err}
	}
	source, err := sourceAddress(c.cfg.Source)
	if err != nil {
		return Result{Outcome: models.OutcomeDown, Why: models.ReasonUnwritable, Err: err}
	}
	res := Result{Parts: len(parts), Taken: c.takenBefore(t.Key)}
	for res.Taken < len(parts) {
		last := res.Taken == len(parts)-1
		body, err := c.message(source, dest, parts[res.Taken], t.Key, last).Encode()
		if err != nil {
			res.Outcome, res.Class, res.Why, res.Err = models.OutcomePermanent, ClassPermanent, models.ReasonUnwritable, err
			break
		}
		id, err := c.submitPart(ctx, body, t.Key, res.Taken, len(parts))
		if err != nil {
			res.failed(ctx, err)
			break
		}
		res.Taken++
		res.PeerID = id
	}
	if res.Taken == len(parts) {
		res.Outcome, res.Code, res.Why = models.OutcomeSent, StatusOK.Code(), models.ReasonCenterTook
	}
	c.keepTaken(t.Key, res.Taken, len(parts))
	return res
}

// message builds the submit_sm of one part. Only the last one asks for a
// receipt, which then stands for the whole text.
func (c *Client) message(source, dest Address, p gsm.Part, key string, last bool) Message {
	m := Message{Source: source, Dest: dest, Short: p.Octets(), Validity: validity(c.cfg.Validity)}
	if p.Alphabet == gsm.UCS2 {
		m.DataCoding = codingUCS2
	}
	if p.Header != nil {
		m.ESMClass |= ESMHeader
	}
	if c.cfg.Receipts && last {
		m.Registered = 1
		m.TLVs = TLVs{Uint16TLV(TagUserMessageReference, Reference(key))}
	}
	return m
}

// validity writes a time span in the relative form of section 7.1.1.2,
// rounded up to minutes, at most 30 days; "" for none.
func validity(d time.Duration) string {
	if d <= 0 {
		return ""
	}
	m := int((min(d, 30*24*time.Hour) + time.Minute - 1) / time.Minute)
	return fmt.Sprintf("0000%02d%02d%02d00000R", m/1440, m/60%24, m%60)
}

// submitPart offers one part until it is taken, refused or in doubt.
func (c *Client) submitPart(ctx context.Context, body []byte, key string, part, parts int) (string, error) {
	var err error
	for range tries {
		var l *link
		if l, err = c.session(ctx); err != nil {
			return "", fmt.Errorf("%w: %w", errNotSent, err)
		}
		var p PDU
		var sent time.Time
		p, sent, err = c.askPaced(ctx, l, body, key, part, parts)
		var status *StatusError
		switch {
		case err == nil:
			c.pace.faster()
			return decodeID(p.Body)
		case errors.As(err, &status) && status.Status.Class() == ClassSlow:
			c.pace.slower(sent)
		case errors.As(err, &status) && status.Status.Class() == ClassReconnect:
			l.fail(err)
			return "", err
		case !errors.Is(err, errNotSent) || ctx.Err() != nil:
			return "", err
		}
	}
	return "", err
}

// askPaced waits for a place in the window and a turn, and asks.
func (c *Client) askPaced(ctx context.Context, l *link, body []byte, key string, part, parts int) (p PDU, sent time.Time, err error) {
	select {
	case c.window <- struct{}{}:
		defer func() { <-c.window }()
	case <-ctx.Done():
		return PDU{}, sent, fmt.Errorf("%w: %w", errNotSent, ctx.Err())
	}
	sent, ok := c.pace.wait(ctx)
	if !ok {
		return PDU{}, sent, fmt.Errorf("%w: %w", errNotSent, ctx.Err())
	}
	p, err = l.ask(ctx, SubmitSM, body, func(p PDU) { c.lateAnswer(key, part, parts, p) })
	return p, sent, err
}

// failed puts the error of a part into the result.
func (r *Result) failed(ctx context.Context, err error) {
	r.Err = err
	var status *StatusError
	switch {
	case errors.Is(err, errNotSent) && ctx.Err() != nil:
		r.Outcome, r.Why = models.OutcomeDown, models.ReasonStoppedEarly
	case errors.Is(err, errNotSent):
		r.Outcome, r.Why = models.OutcomeDown, models.ReasonCenterUnreached
	case errors.As(err, &status):
		r.Class = status.Status.Class()
		r.Outcome = r.Class.Outcome()
		r.Code = status.Status.Code()
		r.Why = models.Reason(status.Status.String())
	default: // no answer, or one that cannot be read
		r.Outcome, r.Why = models.OutcomeDoubt, models.ReasonCenterSilent
	}
}

// maxPartial bounds the texts whose taken parts are remembered.
const maxPartial = 10_000

func (c *Client) takenBefore(key string) int {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.partial[key]
}

// keepTaken remembers how far a text of several parts got.
func (c *Client) keepTaken(key string, taken, parts int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	delete(c.partial, key)
	if taken > 0 && taken < parts && key != "" && len(c.partial) < maxPartial {
		c.partial[key] = taken
	}
}

// Query asks the center for the state of a message that it had taken
// (section 4.8). The error is a *StatusError, ErrNoAnswer or errNotSent.
func (c *Client) Query(ctx context.Context, peerID string) (State, error) {
	source, err := sourceAddress(c.cfg.Source)
	if err != nil {
		return 0, err
	}
	body, err := Query{ID: peerID, Source: source}.Encode()
	if err != nil {
		return 0, err
	}
	l, err := c.session(ctx)
	if err != nil {
		return 0, fmt.Errorf("%w: %w", errNotSent, err)
	}
	p, err := l.ask(ctx, QuerySM, body, nil)
	if err != nil {
		return 0, err
	}
	r, err := DecodeQueryResult(p.Body)
	if err != nil {
		return 0, fmt.Errorf("reading the answer to query_sm: %w", err)
	}
	return r.State, nil
}
