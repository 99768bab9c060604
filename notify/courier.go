package notify

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"example.org/roundsman/models"
)

// Compose writes the words of a message.
type Compose func(models.Envelope) (models.Composed, error)

// Courier carries messages from an outbox to their channels.
type Courier struct {
	box     Outbox
	clock   models.Clock
	compose Compose
	opts    Options
	by      string
	lanes   []*channelQueue
	wake    chan struct{}
	held    held

	claiming sync.Mutex // one claim or look at the leases at a time
}

// New makes a courier. Channels are added with Add before it is put to work.
func New(box Outbox, clock models.Clock, compose Compose, opts Options) *Courier {
	opts = opts.withDefaults()
	return &Courier{
		box: box, clock: clock, compose: compose, opts: opts,
		by:   "courier " + rand.Text()[:12],
		wake: make(chan struct{}, 1),
	}
}

// Add gives the courier a channel. Two channels of one name share its
// messages.
func (c *Courier) Add(ch Channel, l Limits) {
	c.lanes = append(c.lanes, newChannelQueue(ch, l))
}

// Wake makes a running courier look at the outbox at once.
func (c *Courier) Wake() {
	select {
	case c.wake <- struct{}{}:
	default:
	}
}

// Status says how each channel is, in the order in which they were added.
func (c *Courier) Status() []Status {
	out := make([]Status, len(c.lanes))
	for i, l := range c.lanes {
		out[i] = l.status()
	}
	return out
}

// Run works until the context is done; then it lets the tries that have begun
// end, within the timeout of one, and gives back what it holds. It returns
// nil then, and an error only where the outbox cannot be used at the start.
func (c *Courier) Run(ctx context.Context) error {
	if err := c.expire(ctx, c.lease(), c.opts.Sole); err != nil {
		return err
	}
	var wg sync.WaitGroup
	var bells []chan struct{}
	for _, l := range c.lanes {
		for range l.limits.Parallel {
			bell := make(chan struct{}, 1)
			bells = append(bells, bell)
			wg.Go(func() { c.work(ctx, l, bell) })
		}
	}
	c.ring(ctx, bells)
	wg.Wait()
	return nil
}

// ring passes each Wake on to all workers, and now and then renews the leases
// on what they hold and takes back those that have ended, until the context is
// done.
func (c *Courier) ring(ctx context.Context, bells []chan struct{}) {
	tick := time.NewTicker(c.opts.Poll)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-c.wake:
		case <-tick.C:
			if err := c.keepLeases(ctx); err != nil && ctx.Err() == nil {
				c.opts.Log.Error("keeping leases", "err", err)
			}
		}
		for _, bell := range bells {
			select {
			case bell <- struct{}{}:
			default:
			}
		}
	}
}

// work clears a lane again and again and sleeps in between.
func (c *Courier) work(ctx context.Context, l *channelQueue, bell <-chan struct{}) {
	for ctx.Err() == nil {
		if l.resting(c.clock.Now()) == 0 {
			_, err := c.clear(ctx, l)
			if err != nil && ctx.Err() == nil {
				c.opts.Log.Error("sending", "channel", l.ch.Name(), "err", err)
			}
		}
		c.sleep(ctx, l.resting(c.clock.Now()), bell)
	}
}

// sleep waits for the bell; for a channel that is down, no longer than until
// it is tried again, and not less either.
func (c *Courier) sleep(ctx context.Context, rest time.Duration, bell <-chan struct{}) {
	if rest > 0 {
		timer := time.NewTimer(rest)
		defer timer.Stop()
		select {
		case <-ctx.Done():
		case <-timer.C:
		}
		return
	}
	select {
	case <-ctx.Done():
	case <-bell:
	}
}

// Tally counts what a courier did.
type Tally struct {
	Claimed int
	Sent    int
	Later   int // to be tried again, in doubt or held
	Failed  int // refused for good, or given up
	Dropped int // must not go any more
	Doubts  int // of Later, those that may have been taken
	Down    []models.Channel
}

func (t *Tally) add(o Tally) {
	t.Claimed += o.Claimed
	t.Sent += o.Sent
	t.Later += o.Later
	t.Failed += o.Failed
	t.Dropped += o.Dropped
	t.Doubts += o.Doubts
	for _, ch := range o.Down {
		if !slices.Contains(t.Down, ch) {
			t.Down = append(t.Down, ch)
		}
	}
}

// Drain sends all that is due now, as many batches at a time as the channels
// allow, and comes back when nothing is left that could go. It is for
// commands that run once; a channel that is down is named in the Tally and
// its messages stay.
func (c *Courier) Drain(ctx context.Context) (Tally, error) {
	if err := c.expire(ctx, c.lease(), c.opts.Sole); err != nil {
		return Tally{}, err
	}
	var (
		wg    sync.WaitGroup
		mu    sync.Mutex
		total Tally
		errs  []error
	)
	for _, l := range c.lanes {
		for range l.limits.Parallel {
			wg.Go(func() {
				t, err := c.clear(ctx, l)
				mu.Lock()
				defer mu.Unlock()
				total.add(t)
				errs = append(errs, err)
			})
		}
	}
	wg.Wait()
	return total, errors.Join(append(errs, ctx.Err())...)
}

// clear sends batch after batch of a lane until nothing is due, the channel
// is down, or the context is done. While one batch is sent, the next is
// claimed and composed.
func (c *Courier) clear(ctx context.Context, l *channelQueue) (total Tally, err error) {
	now := c.claim(ctx, l)
	for {
		total.add(now.tally)
		if now.err != nil || now.tally.Claimed == 0 {
			return total, now.err
		}
		next := make(chan claimedBatch, 1)
		if now.full {
			go func() { next <- c.claim(ctx, l) }()
		} else {
			next <- claimedBatch{}
		}
		t, err := c.send(ctx, l, now.ready)
		total.add(t)
		then := <-next
		if err != nil || ctx.Err() != nil || len(t.Down) > 0 {
			total.add(then.tally)
			return total, errors.Join(err, then.err, c.giveBack(ctx, then.ready, l.status().Why))
		}
		if !now.full { // something may have come due meanwhile
			then = c.claim(ctx, l)
		}
		now = then
	}
}

// expire takes back what is held under leases that have ended.
func (c *Courier) expire(ctx context.Context, l models.Lease, sole bool) error {
	back, doubts, err := c.box.Expire(ctx, l, sole, l.Now.Add(c.opts.DoubtWait), models.ReasonKilled)
	if err != nil {
		return fmt.Errorf("taking back what a courier left: %w", err)
	}
	if back+doubts > 0 {
		c.opts.Log.Warn("a courier ended before its work", "put back", back, "in doubt", doubts)
	}
	return nil
}
