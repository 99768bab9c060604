package notify

import (
	"context"
	"errors"
	"strings"
	"time"

	"example.org/roundsman/models"
)

// claimedBatch is one claim of messages of a lane, composed and ready.
type claimedBatch struct {
	ready []models.Claimed
	full  bool  // there may be more
	tally Tally // claimed, and those that could not be composed
	err   error // of the outbox
}

// claim takes the next messages of a lane and writes those that have no words
// yet. A message that cannot be composed goes back into the queue with the
// reason, so that nothing is lost by a slip in a template.
func (c *Courier) claim(ctx context.Context, l *channelQueue) (b claimedBatch) {
	if ctx.Err() != nil {
		return b
	}
	size := l.size(c.opts.Batch)
	claimed, err := c.claimFor(ctx, l, size)
	if err != nil {
		return claimedBatch{err: err}
	}
	b = claimedBatch{ready: claimed[:0], full: len(claimed) == size, tally: Tally{Claimed: len(claimed)}}
	var bad []int64
	for _, m := range claimed {
		if m.Message.Composed, err = c.words(m.Envelope); err != nil {
			c.opts.Log.Error("composing a message", "message", m.Message.ID, "err", err)
			bad = append(bad, m.Message.ID)
			continue
		}
		b.ready = append(b.ready, m)
	}
	if len(bad) > 0 {
		b.tally.Later = len(bad)
		kept := keep(ctx)
		lease := c.lease()
		defer c.held.drop(bad...)
		b.err = c.box.Release(kept, lease, bad, lease.Now.Add(wait(c.opts.Waits, 1)), models.ReasonNotComposed)
	}
	return b
}

// words gives a message's words: those of its first try, or new ones. A mail
// whose HTML was left behind, as an export does, gets it anew where its words
// come out the same; else it goes as plain text.
func (c *Courier) words(e models.Envelope) (models.Composed, error) {
	had := e.Message.Composed
	if had.IsZero() {
		return c.compose(e)
	}
	if e.Message.Channel == models.ChannelMail && had.HTML == "" {
		anew, err := c.compose(e)
		if err == nil && strings.TrimSpace(anew.Text) == strings.TrimSpace(had.Text) {
			had.HTML = anew.HTML
		}
	}
	return had, nil
}

// batch is one session's worth of messages on their way.
type batch struct {
	c       *Courier
	l       *channelQueue
	session Session
	ending  chan error // the recording of the last try, should it be under way
	tally   Tally
}

// recordPauses are the times between attempts to record.
var recordPauses = [...]time.Duration{100 * time.Millisecond, time.Second, 3 * time.Second}

// keep gives a context in which what has happened is recorded although the
// courier was told to stop. It has no end of its own: the outbox bounds its
// waits itself, and a context that cannot end costs the database driver less.
func keep(ctx context.Context) context.Context { return context.WithoutCancel(ctx) }

// send sends messages that are ready, on one session where it lasts. An error
// is of the outbox; what is wrong with the channel or a message is recorded
// there and counted.
func (c *Courier) send(ctx context.Context, l *channelQueue, ready []models.Claimed) (Tally, error) {
	if len(ready) == 0 {
		return Tally{}, nil
	}
	b := &batch{c: c, l: l}
	if !b.open(ctx) {
		return b.tally, c.giveBack(ctx, ready, l.status().Why)
	}
	defer b.close()
	return b.tally, b.sendAll(ctx, ready)
}

// open opens the lane's channel. Where it cannot be, the channel is down: the
// messages that wait for it say so, and it is left alone for a while.
func (b *batch) open(ctx context.Context) bool {
	opening, cancel := context.WithTimeout(ctx, b.c.opts.SendTimeout)
	defer cancel()
	s, err := b.l.ch.Open(opening)
	if err != nil {
		b.fell(ctx, openError(err))
		return false
	}
	b.session = s
	return true
}

// works notes that the peer dealt with a message: a channel that can be opened
// may still refuse all that it is given.
func (b *batch) works(ctx context.Context) {
	if b.l.markUp() {
		b.c.opts.Log.Info("a channel works again", "channel", b.l.ch.Name())
		b.explain(ctx, "")
	}
}

// fell notes that the channel is down. What somebody must put right, and what
// does not pass by itself, is told to the shop by another way.
func (b *batch) fell(ctx context.Context, e *SendError) {
	b.tally.Down = []models.Channel{b.l.ch.Name()}
	now := b.c.clock.Now()
	if b.l.markDown(now, e.Why, b.c.opts.DownWaits) {
		b.c.opts.Log.Warn("a channel is down", "channel", b.l.ch.Name(), "why", e.Why, "code", e.Code, "err", e.Err)
		b.explain(ctx, e.Why)
	}
	if s := b.l.status(); b.l.alarming(now, e.Lasting) && b.c.opts.Alarm != nil {
		if err := b.c.opts.Alarm(keep(ctx), s, models.Reason(strings.TrimSpace(string(e.Why)+" "+parens(e.Code)))); err != nil {
			b.c.opts.Log.Error("telling that a channel is down", "channel", s.Channel, "err", err)
		}
		b.c.Wake()
	}
}

// parens puts a code that is there in parentheses.
func parens(code string) string {
	if code == "" {
		return ""
	}
	return "(" + code + ")"
}

// explain writes on the waiting messages why they wait. It is a courtesy: an
// error is logged and no more.
func (b *batch) explain(ctx context.Context, why models.Reason) {
	kept := keep(ctx)
	if err := b.c.box.Explain(kept, b.l.ch.Name(), models.InstantOf(b.c.clock.Now()), why); err != nil {
		b.c.opts.Log.Error("explaining a wait", "channel", b.l.ch.Name(), "err", err)
	}
}

func (b *batch) close() {
	if b.session == nil {
		return
	}
	if err := b.session.Close(); err != nil {
		b.c.opts.Log.Debug("ending a batch", "channel", b.l.ch.Name(), "err", err)
	}
	b.session = nil
}

// sendAll sends the messages in their order. Whatever comes between, the last
// try is recorded and what was not begun goes back into the queue.
func (b *batch) sendAll(ctx context.Context, ms []models.Claimed) error {
	for i, m := range ms {
		if b.session == nil && !b.open(ctx) {
			return b.stop(ctx, ms[i:], b.l.status().Why)
		}
		if !b.l.pass(ctx) {
			return b.stop(ctx, ms[i:], "")
		}
		ruling, err := b.begin(ctx, m)
		if err != nil {
			return errors.Join(err, b.stop(ctx, ms[i:], ""))
		}
		if ruling.Verdict != models.VerdictGo {
			b.c.held.drop(m.Message.ID)
		}
		switch ruling.Verdict {
		case models.VerdictHold:
			b.tally.Later++
		case models.VerdictDrop:
			b.tally.Dropped++
		case models.VerdictGo:
			m.Message.Address = ruling.Address
			down, err := b.try(ctx, m)
			if err != nil {
				return errors.Join(err, b.stop(ctx, ms[i+1:], ""))
			}
			if down != nil {
				b.fell(ctx, down)
				return b.stop(ctx, ms[i+1:], down.Why)
			}
		}
	}
	return b.recorded()
}

// begin asks the outbox whether a message may go and records that a try
// begins.
func (b *batch) begin(ctx context.Context, m models.Claimed) (models.Ruling, error) {
	kept := keep(ctx)
	return b.c.box.Begin(kept, b.c.lease(), m, b.c.opts.judge(b.c.clock.Now()))
}

// try sends one message and has recorded how that ended. down is set where
// the channel has gone down in it; err is of the recording of the try before.
func (b *batch) try(ctx context.Context, m models.Claimed) (down *SendError, err error) {
	begun := models.InstantOf(b.c.clock.Now())
	sending, cancel := context.WithTimeout(context.WithoutCancel(ctx), b.c.opts.SendTimeout)
	defer cancel()
	receipt, why, failure := b.send(sending, Outgoing{Message: m.Message, To: m.Contact.Name})
	now := models.InstantOf(b.c.clock.Now())
	a := models.Attempt{Message: m.Message.ID, Number: m.Message.Tries + 1, StartedAt: begun, EndedAt: now,
		Outcome: models.OutcomeSent, Code: receipt.Code, Why: why, PeerID: receipt.PeerID}
	dead := false
	if failure != nil {
		e := sendError(failure)
		dead = e.Dead
		a.Outcome, a.Code, a.Why = e.Outcome, e.Code, e.Why
		b.c.opts.Log.Info("a try failed", "message", m.Message.ID, "channel", m.Message.Channel,
			"outcome", e.Outcome, "code", e.Code, "why", e.Why, "err", e.Err)
		if e.Spoiled || e.Outcome == models.OutcomeDown {
			b.close()
		}
		if e.Outcome == models.OutcomeDown {
			down = e
		}
	}
	if down == nil && (failure == nil || a.Code != "") {
		b.works(ctx)
	}
	if m.FirstTry.IsZero() {
		m.FirstTry = begun
	}
	ended := b.c.opts.after(m, a.Outcome, a.Why, now)
	ended.Attempt, ended.Dead = a, dead
	b.count(ended)
	return down, b.record(ctx, ended)
}

// send hands the message over; one in doubt is asked for first where the peer
// can tell what became of it.
func (b *batch) send(ctx context.Context, o Outgoing) (Receipt, models.Reason, error) {
	if s, ok := b.session.(Settler); ok && o.InDoubt {
		taken, known, r, err := s.Settle(ctx, o)
		if err != nil {
			return r, "", err
		}
		if known && taken {
			return r, models.ReasonSettled, nil
		}
	}
	r, err := b.session.Send(ctx, o)
	return r, models.ReasonSent, err
}

func (b *batch) count(e models.Ended) {
	switch e.State {
	case models.MessageSent:
		b.tally.Sent++
	case models.MessageFailed:
		b.tally.Failed++
	default:
		b.tally.Later++
	}
	if e.Attempt.Outcome == models.OutcomeDoubt {
		b.tally.Doubts++
	}
}

// record has written down how a try ended while the next one is made. There
// is one such recording at a time; the error is of the one before.
func (b *batch) record(ctx context.Context, e models.Ended) error {
	err := b.recorded()
	b.ending = make(chan error, 1)
	go func() { b.ending <- b.end(ctx, e) }()
	return err
}

// recorded waits until what has ended is recorded.
func (b *batch) recorded() error {
	if b.ending == nil {
		return nil
	}
	err := <-b.ending
	b.ending = nil
	return err
}

// end records a try's end. It tries more than once, since what is not
// recorded will be sent again.
func (b *batch) end(ctx context.Context, e models.Ended) (err error) {
	kept := keep(ctx)
	defer b.c.held.drop(e.Attempt.Message)
	for _, pause := range recordPauses {
		if err = b.c.box.End(kept, b.c.lease(), e); err == nil {
			return nil
		}
		time.Sleep(pause)
	}
	return err
}

// stop waits for the last recording and gives back what was not begun.
func (b *batch) stop(ctx context.Context, rest []models.Claimed, why models.Reason) error {
	return errors.Join(b.recorded(), b.c.giveBack(ctx, rest, why))
}

// giveBack puts messages that were not begun back into the queue.
func (c *Courier) giveBack(ctx context.Context, ms []models.Claimed, why models.Reason) error {
	if len(ms) == 0 {
		return nil
	}
	ids := make([]int64, len(ms))
	for i, m := range ms {
		ids[i] = m.Message.ID
	}
	defer c.held.drop(ids...)
	return c.box.Release(keep(ctx), c.lease(), ids, 0, why)
}
