package notify_test

import (
	"context"
	"fmt"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
	"example.org/roundsman/notify"
	"example.org/roundsman/notify/notifytest"
)

func TestTheRateLimitHolds(t *testing.T) {
	box, ch := notifytest.Outbox(t), mailScript()
	notifytest.Queue(t.Context(), t, box, models.ChannelMail, 0, 6)
	begun := time.Now()
	clock := notifytest.NewClock(notifytest.Noon) // stands still; the limit does not care
	c := notify.New(box, clock, compose, notify.Options{})
	c.Add(ch, notify.Limits{PerSecond: 20})
	assert.Equal(t, 6, drain(t, c).Sent)
	assert.GreaterOrEqual(t, time.Since(begun), 250*time.Millisecond, "five gaps of 50 ms")
}

func TestRunWorksInParallelAndStopsInOrder(t *testing.T) {
	box, ch := notifytest.Outbox(t), mailScript()
	begun := time.Now()
	clock := models.ClockFunc(func() time.Time { return notifytest.Noon.Add(time.Since(begun)) })
	c := notify.New(box, clock, compose, notify.Options{Batch: 5})
	c.Add(ch, notify.Limits{Parallel: 3})
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- c.Run(ctx) }()
	keys := notifytest.Queue(t.Context(), t, box, models.ChannelMail, 0, 40)
	c.Wake()
	require.Eventually(t, func() bool { return len(ch.keys()) == len(keys) }, 10*time.Second, 5*time.Millisecond)
	ch.onSend = func(notify.Outgoing) error { cancel(); return nil }
	notifytest.Queue(t.Context(), t, box, models.ChannelMail, 100, 40)
	c.Wake()
	require.NoError(t, <-done)
	sent := 0
	for _, l := range notifytest.ByKey(t, box) {
		assert.NotEqual(t, models.MessageSending, l.Message.State, "nothing stays held")
		if l.Message.State == models.MessageSent {
			sent++
		}
	}
	assert.Equal(t, len(ch.keys()), sent, "what was begun was recorded")
	assert.Less(t, sent, 80)
}

func TestStoredMessagesSurviveAReopen(t *testing.T) {
	path := t.TempDir() + "/outbox.db"
	s, err := store.Open(t.Context(), path, store.Options{})
	require.NoError(t, err)
	notifytest.Queue(t.Context(), t, s, models.ChannelMail, 0, 2)
	ch := mailScript()
	n := 0
	ch.onSend = func(notify.Outgoing) error {
		if n++; n == 2 {
			return fmt.Errorf("lost")
		}
		return nil
	}
	clock := notifytest.NewClock(notifytest.Noon)
	drain(t, courier(s, clock, notify.Options{}, ch))
	require.NoError(t, s.Close())
	s, err = store.Open(t.Context(), path, store.Options{})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	clock.Add(time.Hour)
	drain(t, courier(s, clock, notify.Options{}, ch))
	assert.Len(t, ch.keys(), 2)
}

// However slowly a peer answers, nobody gets a message twice: what waits in a
// worker's hands outlasts the lease of its claim. The process may sleep, and
// the clock may step.
func TestASlowPeerGetsNothingTwice(t *testing.T) {
	messages := 1000
	if testing.Short() {
		messages = 200
	}
	for _, c := range []struct {
		name  string
		step  time.Duration // by which the clock goes on for each message
		leap  time.Duration // a step of the clock, after every 40th
		batch int
	}{
		{"at once", 0, 0, 50},
		{"1.5 s", 1500 * time.Millisecond, 0, 50},
		{"2.5 s", 2500 * time.Millisecond, 0, 50},
		{"20 s", 20 * time.Second, 0, 50},
		{"asleep for 200 s", 100 * time.Millisecond, 200 * time.Second, 50},
		{"clock steps of 4 minutes", 100 * time.Millisecond, 4 * time.Minute, 50},
	} {
		t.Run(c.name, func(t *testing.T) {
			box, ch, clock := notifytest.Outbox(t), mailScript(), notifytest.NewClock(notifytest.Noon)
			keys := notifytest.Queue(t.Context(), t, box, models.ChannelMail, 0, messages)
			var sent atomic.Int64
			ch.onSend = func(notify.Outgoing) error {
				step := c.step
				if n := sent.Add(1); c.leap > 0 && n%40 == 0 {
					step += c.leap
				}
				clock.Add(step)
				time.Sleep(2 * time.Millisecond) // so that leases are looked at meanwhile
				return nil
			}
			cr := notify.New(box, clock, compose, notify.Options{Batch: c.batch, Poll: time.Millisecond, Sole: true})
			cr.Add(ch, notify.Limits{Parallel: 4})
			ctx, cancel := context.WithCancel(t.Context())
			done := make(chan error, 1)
			go func() { done <- cr.Run(ctx) }()
			require.Eventually(t, func() bool { return len(ch.keys()) >= len(keys) }, 5*time.Minute, 5*time.Millisecond)
			cancel()
			require.NoError(t, <-done)
			assert.ElementsMatch(t, keys, ch.keys())
			for _, l := range notifytest.ByKey(t, box) {
				assert.Equal(t, models.MessageSent, l.Message.State)
				assert.Len(t, l.Attempts, 1)
			}
		})
	}
}
