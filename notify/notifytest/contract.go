package notifytest

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/notify"
)

// Peer is a channel with the real or scripted peer behind it.
type Peer struct {
	Channel notify.Channel
	Good    string // an address that the peer takes

	// Addresses that the peer treats in a way of their own; "" where it has
	// no such thing.
	Temporary string // refused for now
	Permanent string // refused for good
	Hanging   string // never answered

	Received func() []string // what the peer has taken, each message whole
	Break    func()          // takes the peer away
}

// Contract checks what every channel must keep. start starts a fresh peer.
func Contract(t *testing.T, start func(t *testing.T) Peer) {
	t.Run("takes several on one session", func(t *testing.T) {
		p := start(t)
		s := open(t, p)
		for _, word := range []string{"alder", "birch", "cedar"} {
			_, err := send(t, s, p, p.Good, word)
			require.NoError(t, err)
		}
		require.NoError(t, s.Close())
		got := p.Received()
		require.Len(t, got, 3)
		for _, word := range []string{"alder", "birch", "cedar"} {
			assert.Contains(t, strings.Join(got, "\n"), word)
		}
	})
	t.Run("a refused message leaves the others alone", func(t *testing.T) {
		p := start(t)
		for outcome, address := range map[models.Outcome]string{
			models.OutcomeTemporary: p.Temporary, models.OutcomePermanent: p.Permanent,
		} {
			if address == "" {
				continue
			}
			s := open(t, p)
			_, err := send(t, s, p, address, "refused")
			requireOutcome(t, err, outcome)
			if !spoiled(err) {
				_, err = send(t, s, p, p.Good, "after "+string(outcome))
				require.NoError(t, err)
				assert.Contains(t, strings.Join(p.Received(), "\n"), "after "+string(outcome))
			}
			_ = s.Close() // a spoiled session may complain
		}
		assert.NotContains(t, strings.Join(p.Received(), "\n"), "refused")
	})
	t.Run("comes back when the peer hangs", func(t *testing.T) {
		p := start(t)
		if p.Hanging == "" {
			return
		}
		s := open(t, p)
		ctx, cancel := context.WithTimeout(t.Context(), 300*time.Millisecond)
		defer cancel()
		begun := time.Now()
		_, err := s.Send(ctx, outgoing(p, p.Hanging, "hanging"))
		assert.Less(t, time.Since(begun), 5*time.Second)
		var e *notify.SendError
		require.ErrorAs(t, err, &e)
		assert.Contains(t, []models.Outcome{models.OutcomeTemporary, models.OutcomeDoubt}, e.Outcome)
		assert.True(t, e.Spoiled)
		_ = s.Close() // its line is gone
	})
	t.Run("says that it is down", func(t *testing.T) {
		p := start(t)
		p.Break()
		s, err := p.Channel.Open(t.Context())
		if err == nil {
			_, err = send(t, s, p, p.Good, "down")
		}
		requireOutcome(t, err, models.OutcomeDown)
	})
}

func open(t *testing.T, p Peer) notify.Session {
	t.Helper()
	s, err := p.Channel.Open(t.Context())
	require.NoError(t, err)
	return s
}

func outgoing(p Peer, address, word string) notify.Outgoing {
	return notify.Outgoing{To: "Ana", Message: models.Message{
		ID: 7, Key: word, Contact: "c1", Channel: p.Channel.Name(), Address: address, Purpose: models.PurposeNotices,
		Language: "en", QueuedAt: models.InstantOf(Noon),
		Composed: models.Composed{Subject: "R12: " + word, Text: "R12 needs " + word + "\n", Segments: 1},
	}}
}

func send(t *testing.T, s notify.Session, p Peer, address, word string) (notify.Receipt, error) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
	defer cancel()
	return s.Send(ctx, outgoing(p, address, word))
}

func requireOutcome(t *testing.T, err error, want models.Outcome) {
	t.Helper()
	var e *notify.SendError
	require.ErrorAs(t, err, &e)
	assert.Equal(t, want, e.Outcome, e.Error())
	assert.NotEmpty(t, e.Why)
}

func spoiled(err error) bool {
	var e *notify.SendError
	return errors.As(err, &e) && e.Spoiled
}
