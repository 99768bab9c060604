package notify

import (
	"context"
	"fmt"
	"time"

	"example.org/roundsman/models"
)

// batch is one claim of messages of a lane on its way.
type batch struct {
	c       *Courier
	l       *lane
	session Session
	done    *models.Ended // a try that has ended and is not recorded yet
	tally   Tally
}

// recordTimeout bounds the recording of what has happened when the courier is
// told to stop.
const recordTimeout = 15 * time.Second

// recordPauses are the times between attempts to record.
var recordPauses = [...]time.Duration{100 * time.Millisecond, time.Second, 3 * time.Second}

// batch claims, composes and sends one batch. An error is of the outbox; what
// is wrong with the channel or a message is recorded there and counted.
func (c *Courier) batch(ctx context.Context, l *lane) (Tally, error) {
	lease := c.lease()
	claimed, err := c.box.Claim(ctx, lease, l.ch.Name(), c.opts.Batch)
	if err != nil || len(claimed) == 0 {
		return Tally{}, err
	}
	b := &batch{c: c, l: l, tally: Tally{Claimed: len(claimed)}}
	ready, err := b.write(ctx, claimed)
	if err != nil || len(ready) == 0 {
		return b.tally, err
	}
	if !b.open(ctx) {
		return b.tally, b.giveBack(ctx, ready, b.l.status().Why)
	}
	defer b.close()
	return b.tally, b.sendAll(ctx, ready)
}

// keep gives a context in which what has happened can still be recorded after
// the courier was told to stop.
func keep(ctx context.Context) (context.Context, context.CancelFunc) {
	return context.WithTimeout(context.WithoutCancel(ctx), recordTimeout)
}

// write composes the messages that have no words yet and keeps the words. A
// message that cannot be composed goes back into the queue with the reason,
// so that nothing is lost by a slip in a template.
func (b *batch) write(ctx context.Context, claimed []models.Claimed) ([]models.Claimed, error) {
	words := map[int64]models.Composed{}
	ready := claimed[:0:0]
	var bad []int64
	for _, m := range claimed {
		if m.Message.Composed.IsZero() {
			composed, err := b.c.compose(m.Envelope)
			if err != nil {
				b.c.opts.Log.Error("composing a message", "message", m.Message.ID, "err", err)
				bad = append(bad, m.Message.ID)
				continue
			}
			words[m.Message.ID], m.Message.Composed = composed, composed
		}
		ready = append(ready, m)
	}
	kept, cancel := keep(ctx)
	defer cancel()
	if len(bad) > 0 {
		b.tally.Later += len(bad)
		lease := b.c.lease()
		if err := b.c.box.Release(kept, lease, bad, lease.Now.Add(wait(b.c.opts.Waits, 1)), ReasonNotComposed); err != nil {
			return nil, err
		}
	}
	if len(words) > 0 {
		if err := b.c.box.SaveComposed(kept, b.c.lease(), words); err != nil {
			return nil, err
		}
	}
	return ready, nil
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
	if b.l.rose() {
		b.c.opts.Log.Info("a channel works again", "channel", b.l.ch.Name())
		b.explain(ctx, "")
	}
	return true
}

func (b *batch) fell(ctx context.Context, e *SendError) {
	b.tally.Down = []models.Channel{b.l.ch.Name()}
	if b.l.fell(b.c.clock.Now(), e.Why, b.c.opts.DownWaits) {
		b.c.opts.Log.Warn("a channel is down", "channel", b.l.ch.Name(), "why", e.Why, "code", e.Code, "err", e.Err)
		b.explain(ctx, e.Why)
	}
}

// explain writes on the waiting messages why they wait. It is a courtesy: an
// error is logged and no more.
func (b *batch) explain(ctx context.Context, why models.Reason) {
	kept, cancel := keep(ctx)
	defer cancel()
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
	for i := range ms {
		if b.session == nil && !b.open(ctx) {
			return b.stop(ctx, ms[i:], b.l.status().Why)
		}
		if err := b.pace(ctx); err != nil {
			return b.stop(ctx, ms[i:], "")
		}
		down, err := b.one(ctx, ms[i])
		if err != nil {
			return err
		}
		if down != nil {
			b.fell(ctx, down)
			return b.stop(ctx, ms[i+1:], down.Why)
		}
	}
	return b.stop(ctx, nil, "")
}

// pace waits for the rate limit; what has ended is recorded before.
func (b *batch) pace(ctx context.Context) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	pause := b.l.reserve(b.c.clock.Now())
	if pause <= 0 {
		return nil
	}
	if err := b.record(ctx); err != nil {
		return err
	}
	timer := time.NewTimer(pause)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-timer.C:
		return nil
	}
}

// one records the last try's end, begins the next and makes it. down is set
// where the channel has gone down in it.
func (b *batch) one(ctx context.Context, m models.Claimed) (down *SendError, err error) {
	ruling, err := b.advance(ctx, &m)
	if err != nil {
		return nil, fmt.Errorf("beginning a try of message %d: %w", m.Message.ID, err)
	}
	switch ruling.Verdict {
	case models.VerdictHold:
		b.tally.Later++
		return nil, nil
	case models.VerdictDrop:
		b.tally.Dropped++
		return nil, nil
	case models.VerdictGo:
		m.Message.Address = ruling.Address
		return b.try(ctx, m), nil
	}
	return nil, nil // lost: whoever has it counts it
}

// try sends one message and keeps how that ended.
func (b *batch) try(ctx context.Context, m models.Claimed) (down *SendError) {
	begun := models.InstantOf(b.c.clock.Now())
	sending, cancel := context.WithTimeout(context.WithoutCancel(ctx), b.c.opts.SendTimeout)
	defer cancel()
	receipt, why, err := b.send(sending, Outgoing{Message: m.Message, To: m.Contact.Name})
	now := models.InstantOf(b.c.clock.Now())
	a := models.Attempt{Message: m.Message.ID, Number: m.Message.Tries + 1, StartedAt: begun, EndedAt: now,
		Outcome: models.OutcomeSent, Code: receipt.Code, Why: why, PeerID: receipt.PeerID}
	if err != nil {
		e := sendError(err)
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
	if m.FirstTry.IsZero() {
		m.FirstTry = begun
	}
	ended := b.c.opts.after(m, a.Outcome, a.Why, now)
	ended.Attempt = a
	b.done = &ended
	b.count(ended)
	return down
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
			return r, ReasonSettled, nil
		}
	}
	r, err := b.session.Send(ctx, o)
	return r, ReasonSent, err
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

// record writes down the last try, should it not be yet.
func (b *batch) record(ctx context.Context) error {
	if b.done == nil {
		return nil
	}
	if _, err := b.advance(ctx, nil); err != nil {
		return fmt.Errorf("recording a try of message %d: %w", b.done.Attempt.Message, err)
	}
	return nil
}

// advance records the last try's end and begins the next one. It is tried
// more than once, since what is not recorded would be sent again.
func (b *batch) advance(ctx context.Context, next *models.Claimed) (ruling models.Ruling, err error) {
	kept, cancel := keep(ctx)
	defer cancel()
	for _, pause := range recordPauses {
		ruling, err = b.c.box.Advance(kept, b.c.lease(), b.done, next, b.c.opts.judge(b.c.zones, b.c.clock.Now()))
		if err == nil {
			b.done = nil
			return ruling, nil
		}
		select {
		case <-kept.Done():
			return ruling, err
		case <-time.After(pause):
		}
	}
	return ruling, err
}

// stop records the last try and gives back what was not begun.
func (b *batch) stop(ctx context.Context, rest []models.Claimed, why models.Reason) error {
	if err := b.record(ctx); err != nil {
		return err
	}
	return b.giveBack(ctx, rest, why)
}

// giveBack puts messages that were not begun back into the queue.
func (b *batch) giveBack(ctx context.Context, ms []models.Claimed, why models.Reason) error {
	if len(ms) == 0 {
		return nil
	}
	ids := make([]int64, len(ms))
	for i, m := range ms {
		ids[i] = m.Message.ID
	}
	kept, cancel := keep(ctx)
	defer cancel()
	return b.c.box.Release(kept, b.c.lease(), ids, 0, why)
}
