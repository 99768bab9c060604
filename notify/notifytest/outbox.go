// Package notifytest helps tests of couriers and channels: an outbox in a
// file with messages to invented people, and the contract that every channel
// must keep.
package notifytest

import (
	"context"
	"fmt"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
)

// Noon is 12:00 in Denver on a Wednesday, when messages may go.
var Noon = time.Date(2026, 6, 10, 18, 0, 0, 0, time.UTC)

// Clock is a clock that is set by hand.
type Clock struct {
	mu sync.Mutex
	t  time.Time
}

// NewClock makes a clock that shows t until it is set.
func NewClock(t time.Time) *Clock { return &Clock{t: t} }

// Now gives the time set.
func (c *Clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.t
}

// Set sets the time.
func (c *Clock) Set(t time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.t = t
}

// Add sets the clock forward.
func (c *Clock) Add(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.t = c.t.Add(d)
}

// Outbox opens a new store in the test's folder.
func Outbox(t testing.TB) *store.Store {
	t.Helper()
	s, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "outbox.db"), store.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return s
}

// Contact gives the nth invented contact (0 to 79,999), who agreed to both
// channels. Numbers end in 555-01xx, which are set aside for fiction.
func Contact(n int) models.Contact {
	return models.Contact{
		ID: fmt.Sprintf("c%05d", n), Owner: "mesa", Name: "Ana", Role: models.RoleService,
		Mail: fmt.Sprintf("c%05d@example.com", n), Mobile: fmt.Sprintf("+1%03d55501%02d", 200+n/100%800, n%100),
		Prefers: models.ChannelMail, TimeZone: "America/Denver",
		MailConsentOn: models.MustDate("2025-01-01"), SMSConsentOn: models.MustDate("2025-01-01"),
	}
}

// Entry is the head of a recording by a test.
func Entry() models.Entry {
	return models.Entry{RecordedAt: models.InstantOf(Noon), Actor: "test", Means: "test"}
}

// Queue records n contacts from first on, and puts a message over a channel
// to each of them into the outbox. It gives the messages' keys in order.
func Queue(ctx context.Context, t testing.TB, s *store.Store, ch models.Channel, first, n int) []string {
	t.Helper()
	var contacts []models.Contact
	for i := range n {
		contacts = append(contacts, Contact(first+i))
	}
	machine := models.Machine{ID: "m1", Tag: "R12", Kind: "utv", Owner: "mesa", Meters: models.MetersMiles}
	_, err := s.Record(ctx, models.FactSet{
		Owners:   []models.Owner{{ID: "mesa", Name: "Mesa Verde Ranch", TimeZone: "America/Denver"}},
		Machines: []models.Machine{machine}, Contacts: contacts,
	}, Entry())
	require.NoError(t, err)
	at := models.InstantOf(Noon)
	round, err := s.BeginRound(ctx, models.Round{Slot: fmt.Sprintf("%s %d", ch, first), At: at + models.Instant(first), StartedAt: at})
	require.NoError(t, err)
	look := models.Look{Round: round.ID}
	var keys []string
	for _, c := range contacts {
		key := fmt.Sprintf("%d/%s/%s", round.ID, c.ID, ch)
		keys = append(keys, key)
		look.Letters = append(look.Letters, models.MessageWithNotices{
			Message: models.Message{Key: key, Round: round.ID, Owner: c.Owner, Contact: c.ID, Channel: ch,
				Address: c.Address(ch), Purpose: models.PurposeNotices, Language: "en",
				State: models.MessageQueued, QueuedAt: at, NotBefore: at},
			Notices: []models.Notice{{Round: round.ID, Owner: c.Owner, Contact: c.ID, Machine: "m1",
				Subject: models.SubjectItem, Item: models.ItemCoolant, Cycle: first + 1, Stage: models.StageDue,
				DueOn: models.MustDate("2026-06-09"), Driver: models.DriverMiles, Reason: models.ReasonUse,
				AtMiles: models.Num(6120), Remaining: models.Remaining{Miles: models.Num(40)}, DecidedAt: at}},
		})
	}
	_, err = s.SaveLook(ctx, look)
	require.NoError(t, err)
	round.FinishedAt = at
	round.State = models.RoundDone
	require.NoError(t, s.FinishRound(ctx, round))
	return keys
}

// ByKey gives all messages with their attempts by key.
func ByKey(t testing.TB, s *store.Store) map[string]store.MessageLog {
	t.Helper()
	logs, err := s.Messages(context.WithoutCancel(t.Context()), store.MessageFilter{})
	require.NoError(t, err)
	out := make(map[string]store.MessageLog, len(logs))
	for _, l := range logs {
		out[l.Message.Key] = l
	}
	return out
}
