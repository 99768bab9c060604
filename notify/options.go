package notify

import (
	"context"
	"log/slog"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/policy"
)

// Options set the courier up. The zero value is ready for use.
type Options struct {
	// Waits are the times from a failed try to the next one; the last goes
	// on. nil is 30 minutes, 2 hours, 3 hours: two tries in the first hour
	// or so and then every two or three hours (RFC 5321 section 4.5.4.1).
	Waits []time.Duration
	// GiveUp is how long after its first try a message is tried again. 0 is
	// five days (RFC 5321: at least 4 to 5 days).
	GiveUp time.Duration
	// DoubtWait is the time until a message in doubt is sent once more. 0 is
	// ten minutes.
	DoubtWait time.Duration

	Batch       int           // messages claimed at a time, fewer under a low rate limit; 0 is 50
	SendTimeout time.Duration // for one message; 0 is 2 minutes
	Poll        time.Duration // how often the outbox is looked at unasked; 0 is 10 seconds

	// DownWaits are the times after which a channel that is down is tried
	// again; the last goes on. nil is 15 s, 1, 5 and 10 minutes.
	DownWaits []time.Duration

	Shop policy.Settings // consent, quiet hours and days, zones; asked again at each try

	// Sole says that no other courier can be at work on the same outbox, so
	// that leases of a courier that was killed need not be waited for.
	Sole bool

	// Alarm is told once when a channel is down for a reason that somebody must
	// put right, or has been for a quarter of an hour; nil: nobody is.
	Alarm func(ctx context.Context, s Status, why models.Reason) error

	Log *slog.Logger // nil: none
}

// Limits bound the use of one channel.
type Limits struct {
	Parallel  int     // batches at the same time; 0 is 1
	PerSecond float64 // messages a second over all of them; 0 is no limit
}

func (o Options) withDefaults() Options {
	if o.Waits == nil {
		o.Waits = []time.Duration{30 * time.Minute, 2 * time.Hour, 3 * time.Hour}
	}
	if o.DownWaits == nil {
		o.DownWaits = []time.Duration{15 * time.Second, time.Minute, 5 * time.Minute, 10 * time.Minute}
	}
	setDefault(&o.GiveUp, 5*24*time.Hour)
	setDefault(&o.DoubtWait, 10*time.Minute)
	setDefault(&o.SendTimeout, 2*time.Minute)
	setDefault(&o.Poll, 10*time.Second)
	if o.Batch <= 0 {
		o.Batch = 50
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	return o
}

func setDefault(d *time.Duration, v time.Duration) {
	if *d <= 0 {
		*d = v
	}
}

// wait gives the time from the nth failure (>= 1) to the next try.
func wait(waits []time.Duration, n int) time.Duration {
	if len(waits) == 0 {
		return 0
	}
	return waits[min(max(n, 1), len(waits))-1]
}

// after says what becomes of a message when a try ended with an outcome at a
// time: the state it goes into, when it may be tried again, and why.
func (o Options) after(c models.Claimed, outcome models.Outcome, why models.Reason, at models.Instant) models.Ended {
	switch outcome {
	case models.OutcomeSent:
		return models.Ended{State: models.MessageSent, Why: why}
	case models.OutcomePermanent:
		return models.Ended{State: models.MessageFailed, Why: why}
	case models.OutcomeDown: // the message is not to blame: its place and its time stay
		return models.Ended{State: models.MessageQueued, NotBefore: at.Add(wait(o.DownWaits, 1)), Why: why}
	}
	pause := wait(o.Waits, c.Failures+1)
	if outcome == models.OutcomeDoubt && c.Failures == 0 {
		pause = min(pause, o.DoubtWait)
	}
	next := at.Add(pause)
	if first := c.FirstTry; !first.IsZero() && next > first.Add(o.GiveUp) {
		return models.Ended{State: models.MessageFailed, Why: models.ReasonGivenUp + ": " + why}
	}
	return models.Ended{State: models.MessageQueued, NotBefore: next, Why: why}
}
