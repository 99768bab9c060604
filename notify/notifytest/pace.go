package notifytest

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
	"example.org/roundsman/notify"
)

// Fast is how much faster than the world a FastClock goes, so that leases end
// while a peer that seems to take seconds answers.
const Fast = 100

// FastClock gives a clock that begins at noon at a moment of the world.
func FastClock(from time.Time) models.ClockFunc {
	return func() time.Time { return Noon.Add(Fast * time.Since(from)) }
}

// stepEvery is how long, in the world, the hands of a SteppingClock stay.
const stepEvery = 100 * time.Millisecond

// SteppingClock gives a FastClock whose hands are moved by four minutes again and
// again, forward and back, as by somebody who sets it.
func SteppingClock(from time.Time) models.ClockFunc {
	steps := [...]time.Duration{0, 4 * time.Minute, 0, -4 * time.Minute}
	fast := FastClock(from)
	return func() time.Time { return fast().Add(steps[int(time.Since(from)/stepEvery)%len(steps)]) }
}

// RunUntilEmpty has a courier work on an outbox until nothing waits in it.
func RunUntilEmpty(ctx context.Context, box *store.Store, c *notify.Courier) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	ended := make(chan error, 1)
	go func() { ended <- c.Run(ctx) }()
	for {
		_, waiting, err := box.Letters(ctx, 0, 1)
		if err != nil || waiting == 0 {
			stop()
			return <-ended
		}
		select {
		case err := <-ended:
			return err
		case <-time.After(20 * time.Millisecond):
		}
	}
}

// EachOnce sees that every message of an outbox was taken, once, and that one
// try of each is on record and nothing in doubt. to are the addresses of what
// the peer took.
func EachOnce(t testing.TB, box *store.Store, to []string, messages int) {
	t.Helper()
	copies := map[string]int{}
	for _, address := range to {
		copies[address]++
	}
	assert.Len(t, copies, messages)
	assert.Len(t, to, messages, "each once")
	logs, err := box.Messages(t.Context(), store.MessageFilter{})
	require.NoError(t, err)
	for _, l := range logs {
		assert.Equal(t, models.MessageSent, l.Message.State)
		assert.Len(t, l.Attempts, 1)
		assert.False(t, l.Message.InDoubt)
	}
}

// PacedPeer is a peer over which a courier sends, with what it took: the address of
// each message.
type PacedPeer struct {
	Channel notify.Channel
	Taken   func() []string
}

// OnceAtAnyPace sees that a healthy peer, whatever its pace, gets each message
// once, also while the clock is set forward and back. start starts one that takes
// so long to answer; a short run has one pace and fewer messages.
func OnceAtAnyPace(t *testing.T, ch models.Channel, compose func(models.Envelope) (models.Composed, error), start func(t *testing.T, pace time.Duration) PacedPeer) {
	const usual = 1500 * time.Millisecond
	messages, forms := 1000, []struct {
		name  string
		pace  time.Duration
		clock func(from time.Time) models.ClockFunc
	}{
		{usual.String(), usual, FastClock},
		{"at once", 0, FastClock},
		{"2.5s", 2500 * time.Millisecond, FastClock},
		{"20s", 20 * time.Second, FastClock},
		{"clock steps of 4 minutes", usual, SteppingClock},
	}
	if testing.Short() { // all of it takes some 40 seconds
		messages, forms = 100, forms[:1]
	}
	for _, form := range forms {
		t.Run(form.name, func(t *testing.T) {
			t.Parallel()
			peer := start(t, form.pace/Fast)
			box := Outbox(t)
			for first := 0; first < messages; first += 500 {
				Queue(t.Context(), t, box, ch, first, min(500, messages-first))
			}
			c := notify.New(box, form.clock(time.Now()), compose, notify.Options{Poll: 50 * time.Millisecond, Sole: true})
			c.Add(peer.Channel, notify.Limits{Parallel: 8})
			require.NoError(t, RunUntilEmpty(t.Context(), box, c))
			EachOnce(t, box, peer.Taken(), messages)
		})
	}
}
