package smpp

import (
	"context"
	"sync"
	"time"

	"example.org/roundsman/models"
)

// Steps of the pacer: what a first refusal slows to, and the slowest it gets.
const (
	firstGap = 50 * time.Millisecond
	mostGap  = 5 * time.Second
)

// pacer spaces submits. A throttled answer widens the gap between two by half,
// each accepted text takes an eighth off it again (quick retreat, careful
// return: common practice, no source).
type pacer struct {
	clock models.Clock
	least time.Duration // gap at the highest rate allowed
	head  chan struct{} // held by the one whose turn is next

	mu   sync.Mutex
	gap  time.Duration
	next time.Time // earliest time of the next submit
	slow time.Time // when the gap was last widened
}

func newPacer(rate float64, clock models.Clock) *pacer {
	p := &pacer{clock: clock, head: make(chan struct{}, 1)}
	if rate > 0 {
		p.least = time.Duration(float64(time.Second) / rate)
	}
	p.gap = p.least
	return p
}

// wait holds the caller until its turn, and gives the time of it; false when
// the context ended first. One caller at a time watches the clock, so that a
// gap that widens meanwhile holds for all who wait.
func (p *pacer) wait(ctx context.Context) (turn time.Time, ok bool) {
	select {
	case p.head <- struct{}{}:
		defer func() { <-p.head }()
	case <-ctx.Done():
		return time.Time{}, false
	}
	for {
		p.mu.Lock()
		now := p.clock.Now()
		early := p.next.Sub(now)
		if early <= 0 {
			p.next = now.Add(p.gap)
			p.mu.Unlock()
			return now, true
		}
		p.mu.Unlock()
		if !sleep(ctx, early) {
			return time.Time{}, false
		}
	}
}

// slower is told of a throttled answer to a request sent at some time. Those
// sent before the gap was last widened say nothing new: a whole window is
// often refused at once.
func (p *pacer) slower(sent time.Time) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if sent.Before(p.slow) {
		return
	}
	now := p.clock.Now()
	p.slow = now
	p.gap = min(max(p.gap+p.gap/2, firstGap), mostGap)
	if t := now.Add(p.gap); t.After(p.next) {
		p.next = t
	}
}

// faster is told of an accepted text.
func (p *pacer) faster() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.gap -= p.gap / 8; p.gap < p.least || p.gap < time.Millisecond {
		p.gap = p.least
	}
}
