package scheduler

import (
	"context"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/policy"
)

// OutboxStore is what the desk's acts on the outbox need of a store.
type OutboxStore interface {
	// Envelopes gives messages with all that is needed to judge them, those
	// that there are, without taking them up.
	Envelopes(ctx context.Context, ids []int64) ([]models.Claimed, error)
	Tellable(ctx context.Context, machines []string) (map[string]models.Tellable, error)
	RetryMessage(ctx context.Context, id int64, at models.Instant) error
}

// Outbox says what becomes of messages, and sends one now: as the courier will
// judge it, so that no face promises what does not happen.
type Outbox struct {
	Store  OutboxStore
	Notify policy.Settings
}

// Prospects says what becomes of each message as things stand: that it goes now,
// or is held until a moment, or will not go, with why. One that has ended is
// judged as if it were tried again.
func (o Outbox) Prospects(ctx context.Context, ids []int64, at time.Time) (map[int64]models.Ruling, error) {
	cs, err := o.Store.Envelopes(ctx, ids)
	if err != nil {
		return nil, err
	}
	may, err := o.tellable(ctx, cs)
	if err != nil {
		return nil, err
	}
	out := make(map[int64]models.Ruling, len(cs))
	for _, c := range cs {
		m, when := c.Message, at
		if waits := m.NotBefore.Time(); m.State == models.MessageQueued && waits.After(at) {
			when = waits
		}
		r := o.judge(may, c, when)
		if r.Verdict == models.VerdictGo && when.After(at) {
			r = models.Ruling{Verdict: models.VerdictHold, NotBefore: m.NotBefore, Why: m.Why}
			if m.Why == models.ReasonMayGo || m.Why == models.ReasonRetriedByHand { // which is no reason to wait
				r.Why = ""
			}
		}
		out[m.ID] = r
	}
	return out, nil
}

// tellable gives what bears on whether people may be told of the machines of
// messages, by machine.
func (o Outbox) tellable(ctx context.Context, cs []models.Claimed) (map[string]models.Tellable, error) {
	var machines []string
	for _, c := range cs {
		for _, n := range c.Notices {
			machines = append(machines, n.Machine)
		}
	}
	return o.Store.Tellable(ctx, machines)
}

// judge says what would become of a message that is taken up at a time.
func (o Outbox) judge(may map[string]models.Tellable, c models.Claimed, at time.Time) models.Ruling {
	today := models.DateOf(at.In(o.Notify.Zone))
	for _, n := range c.Notices {
		if why := models.BarredWhy(may[n.Machine], c.Message.Owner, today); why != "" {
			return models.Ruling{Verdict: models.VerdictDrop, Why: why}
		}
	}
	return o.Notify.Rule(at, c)
}

// SendNow puts a message at the head of the queue, or one that failed or was
// taken out back into it, and says what becomes of it. One that would not go is
// left as it is: models.CodeConflict with why.
func (o Outbox) SendNow(ctx context.Context, id int64, at time.Time) (models.Ruling, error) {
	cs, err := o.Store.Envelopes(ctx, []int64{id})
	if err != nil {
		return models.Ruling{}, err
	}
	may, err := o.tellable(ctx, cs)
	if err != nil {
		return models.Ruling{}, err
	}
	var r models.Ruling
	if len(cs) == 1 {
		r = o.judge(may, cs[0], at)
	}
	if r.Verdict == models.VerdictDrop {
		return r, models.Errorf(models.CodeConflict, "settle that first", "message %d would not go: %s", id, r.Why)
	}
	return r, o.Store.RetryMessage(ctx, id, models.InstantOf(at))
}
