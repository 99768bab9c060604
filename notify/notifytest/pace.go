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
