package notify

import (
	"sync"
	"time"

	"example.org/roundsman/models"
)

// lane is one channel with its limits and its health.
type lane struct {
	ch     Channel
	limits Limits

	mu       sync.Mutex
	since    time.Time // when it went down; zero: it is up
	why      models.Reason
	failures int       // to open, in a row
	next     time.Time // when it is tried again while down
	slot     time.Time // when the next message may go under the rate limit
}

// Status says how a channel is.
type Status struct {
	Channel models.Channel
	Down    bool
	Since   models.Instant // when it went down
	Why     models.Reason
	NextTry models.Instant
}

func (l *lane) status() Status {
	l.mu.Lock()
	defer l.mu.Unlock()
	return Status{Channel: l.ch.Name(), Down: !l.since.IsZero(), Since: models.InstantOf(l.since),
		Why: l.why, NextTry: models.InstantOf(l.next)}
}

// resting gives how long a channel that is down is still left alone.
func (l *lane) resting(now time.Time) time.Duration {
	l.mu.Lock()
	defer l.mu.Unlock()
	return max(0, l.next.Sub(now))
}

// fell records that the channel could not be opened, or said that it is down.
// news is true where it was up, or is down for another reason than before.
func (l *lane) fell(now time.Time, why models.Reason, waits []time.Duration) (news bool) {
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

// rose records that the channel works; news is true where it was down.
func (l *lane) rose() (news bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	news = !l.since.IsZero()
	l.since, l.why, l.failures, l.next = time.Time{}, "", 0, time.Time{}
	return news
}

// reserve takes the next slot under the rate limit and gives the time until
// it.
func (l *lane) reserve(now time.Time) time.Duration {
	if l.limits.PerSecond <= 0 {
		return 0
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.slot.Before(now) {
		l.slot = now
	}
	pause := l.slot.Sub(now)
	l.slot = l.slot.Add(time.Duration(float64(time.Second) / l.limits.PerSecond))
	return pause
}
