package web

import (
	"sync"
	"time"
)

// limiter counts events of a key within a sliding window of two halves, so
// that no more than most go through in one window, give or take a half. It
// keeps at most maxKeys keys; when more come, the window's older half is
// forgotten, so that memory stays bounded whoever knocks.
type limiter struct {
	mu     sync.Mutex
	most   int
	half   time.Duration
	since  time.Time
	now    map[string]int
	before map[string]int
}

const maxKeys = 20_000

func newLimiter(most int, window time.Duration) *limiter {
	return &limiter{most: most, half: window / 2, now: map[string]int{}, before: map[string]int{}}
}

// turn moves the halves on.
func (l *limiter) turn(at time.Time) {
	switch passed := at.Sub(l.since); {
	case passed >= 2*l.half || passed < 0:
		l.now, l.before, l.since = map[string]int{}, map[string]int{}, at
	case passed >= l.half || len(l.now) >= maxKeys:
		l.before, l.now, l.since = l.now, map[string]int{}, at
	}
}

// full says whether a key has used up its events.
func (l *limiter) full(key string, at time.Time) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.turn(at)
	return l.now[key]+l.before[key] >= l.most
}

// count counts one event of a key.
func (l *limiter) count(key string, at time.Time) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.turn(at)
	l.now[key]++
}

// clear forgets a key, as after a log-in that went well.
func (l *limiter) clear(key string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	delete(l.now, key)
	delete(l.before, key)
}
