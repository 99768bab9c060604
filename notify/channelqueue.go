package notify

import (
	"context"
	"sync"
	"time"

	"example.org/roundsman/models"
)

// channelQueue is one channel with its limits and its health.
type channelQueue struct {
	ch     Channel
	limits Limits

	mu       sync.Mutex
	since    time.Time // when it went down; zero: it is up
	why      models.Reason
	failures int       // to open, in a row
	next     time.Time // when it is tried again while down
	alarmed  bool      // the shop was told that it is down

	gate chan struct{} // holds the right to send the next message under the rate limit; nil: no limit
}

// newChannelQueue makes a lane that is up.
func newChannelQueue(ch Channel, limits Limits) *channelQueue {
	limits.Parallel = max(1, limits.Parallel)
	l := &channelQueue{ch: ch, limits: limits}
	if limits.PerSecond > 0 {
		l.gate = make(chan struct{}, 1)
		l.gate <- struct{}{}
	}
	return l
}

// Status says how a channel is.
type Status struct {
	Channel models.Channel
	Down    bool
	Since   models.Instant // when it went down
	Why     models.Reason
	NextTry models.Instant
}

func (l *channelQueue) status() Status {
	l.mu.Lock()
	defer l.mu.Unlock()
	return Status{Channel: l.ch.Name(), Down: !l.since.IsZero(), Since: models.InstantOf(l.since),
		Why: l.why, NextTry: models.InstantOf(l.next)}
}

// resting gives how long a channel that is down is still left alone.
func (l *channelQueue) resting(now time.Time) time.Duration {
	l.mu.Lock()
	defer l.mu.Unlock()
	return max(0, l.next.Sub(now))
}

// markDown records that the channel could not be opened, or said that it is down.
// news is true where it was up, or is down for another reason than before.
func (l *channelQueue) markDown(now time.Time, why models.Reason, waits []time.Duration) (news bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	news = l.since.IsZero() || l.why != why
	if l.since.IsZero() {
		l.since = now
	}
	l.failures++
	l.why, l.next = why, now.Add(wait(waits, l.failures))
	return news
}

// alarmAfter is how long a channel may be down before the shop is told of what
// may still pass by itself.
const alarmAfter = 15 * time.Minute

// alarming says, once for each time a channel is down, whether the shop is to
// be told of it now.
func (l *channelQueue) alarming(now time.Time, lasting bool) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.alarmed || !lasting && now.Sub(l.since) < alarmAfter {
		return false
	}
	l.alarmed = true
	return true
}

// markUp records that the channel works; news is true where it was down.
func (l *channelQueue) markUp() (news bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	news = !l.since.IsZero()
	l.since, l.why, l.failures, l.next, l.alarmed = time.Time{}, "", 0, time.Time{}, false
	return news
}

// size gives how many messages to claim at a time: no more than the rate
// limit lets go within half a minute, so that none is held for nothing.
func (l *channelQueue) size(batch int) int {
	if l.gate == nil {
		return batch
	}
	return max(1, min(batch, int(30*l.limits.PerSecond)))
}

// pass waits until the rate limit lets the next message go; false where the
// context is done before. The limit goes by real time, whatever time the
// courier's clock plays.
func (l *channelQueue) pass(ctx context.Context) bool {
	if l.gate == nil {
		return ctx.Err() == nil
	}
	select {
	case <-ctx.Done():
		return false
	case <-l.gate:
	}
	pause := time.Duration(float64(time.Second) / l.limits.PerSecond)
	time.AfterFunc(pause, func() { l.gate <- struct{}{} }) // there is one right only: this never waits
	return ctx.Err() == nil
}
