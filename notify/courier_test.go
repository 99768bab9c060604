package notify_test

import (
	"context"
	"errors"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/notify"
	"example.org/roundsman/notify/message"
	"example.org/roundsman/notify/notifytest"
)

// script is a channel whose answers a test writes.
type script struct {
	name models.Channel
	mu   sync.Mutex
	sent []string // keys, in order
	open int      // sessions opened

	onOpen func() error
	onSend func(o notify.Outgoing) error
}

func (s *script) Name() models.Channel { return s.name }

func (s *script) Open(context.Context) (notify.Session, error) {
	s.mu.Lock()
	s.open++
	s.mu.Unlock()
	if s.onOpen != nil {
		if err := s.onOpen(); err != nil {
			return nil, err
		}
	}
	return scripted{s}, nil
}

type scripted struct{ *script }

func (s scripted) Close() error { return nil }

func (s scripted) Send(_ context.Context, o notify.Outgoing) (notify.Receipt, error) {
	if s.onSend != nil {
		if err := s.onSend(o); err != nil {
			return notify.Receipt{}, err
		}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.sent = append(s.sent, o.Key)
	return notify.Receipt{Code: "ok", PeerID: "p" + o.Key}, nil
}

func (s *script) keys() []string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]string(nil), s.sent...)
}

func compose(e models.Envelope) (models.Composed, error) {
	return message.Compose(message.Shop{Name: "Juniper Creek Service"}, e)
}

func mailScript() *script { return &script{name: models.ChannelMail} }

// courier makes a courier with one channel over an outbox.
func courier(box notify.Outbox, clock models.Clock, o notify.Options, channels ...*script) *notify.Courier {
	c := notify.New(box, clock, compose, o)
	for _, ch := range channels {
		c.Add(ch, notify.Limits{})
	}
	return c
}

func drain(t *testing.T, c *notify.Courier) notify.Tally {
	t.Helper()
	tally, err := c.Drain(t.Context())
	require.NoError(t, err)
	return tally
}

func TestSendsWhatIsDueOnceAndRecordsIt(t *testing.T) {
	box, clock, ch := notifytest.Outbox(t), notifytest.NewClock(notifytest.Noon), mailScript()
	keys := notifytest.Queue(t.Context(), t, box, models.ChannelMail, 0, 120)
	c := courier(box, clock, notify.Options{}, ch)
	tally := drain(t, c)
	assert.Equal(t, 120, tally.Sent)
	assert.Equal(t, keys, ch.keys(), "the oldest first, each once")
	assert.Equal(t, 3, ch.open, "one session for a batch of 50")
	assert.Zero(t, drain(t, c).Claimed)
	for _, l := range notifytest.ByKey(t, box) {
		assert.Equal(t, models.MessageSent, l.Message.State)
		assert.Equal(t, "p"+l.Message.Key, l.Message.PeerID)
		assert.Contains(t, l.Message.Composed.Text, "R12")
		assert.Equal(t, 1, l.Message.Tries)
		assert.Equal(t, models.InstantOf(notifytest.Noon), l.Message.EndedAt)
		require.Len(t, l.Attempts, 1)
		assert.Equal(t, models.OutcomeSent, l.Attempts[0].Outcome)
		assert.Equal(t, "ok", l.Attempts[0].Code)
	}
}

// RFC 5321 section 4.5.4.1: the next try at least 30 minutes later, two in
// about the first hour, then every two or three hours, given up after 4-5
// days.
func TestBacksOffAndGivesUp(t *testing.T) {
	box, clock, ch := notifytest.Outbox(t), notifytest.NewClock(notifytest.Noon), mailScript()
	key := notifytest.Queue(t.Context(), t, box, models.ChannelMail, 0, 1)[0]
	var tries []time.Duration
	ch.onSend = func(notify.Outgoing) error {
		tries = append(tries, clock.Now().Sub(notifytest.Noon))
		return &notify.SendError{Outcome: models.OutcomeTemporary, Code: "450 4.2.1", Why: "the mailbox is busy"}
	}
	c := courier(box, clock, notify.Options{}, ch)
	for range 6 * 24 * 2 {
		drain(t, c)
		if notifytest.ByKey(t, box)[key].Message.State.Ended() {
			break
		}
		clock.Add(30 * time.Minute)
	}
	require.Greater(t, len(tries), 10)
	assert.Equal(t, []time.Duration{0, 30 * time.Minute, 150 * time.Minute}, tries[:3])
	for i := 1; i < len(tries); i++ {
		assert.GreaterOrEqual(t, tries[i]-tries[i-1], 30*time.Minute)
	}
	last := tries[len(tries)-1]
	assert.Greater(t, last, 4*24*time.Hour)
	assert.LessOrEqual(t, last, 5*24*time.Hour)
	l := notifytest.ByKey(t, box)[key]
	assert.Equal(t, models.MessageFailed, l.Message.State)
	assert.Equal(t, models.Reason("given up: the mailbox is busy"), l.Message.Why)
	assert.Len(t, l.Attempts, len(tries))
}

func TestOutcomesEndWhereTheyShould(t *testing.T) {
	tests := []struct {
		name  string
		err   error
		state models.MessageState
		doubt bool
		why   models.Reason
	}{
		{"temporary", &notify.SendError{Outcome: models.OutcomeTemporary, Why: "busy"}, models.MessageQueued, false, "busy"},
		{"permanent", &notify.SendError{Outcome: models.OutcomePermanent, Why: "no such mailbox"}, models.MessageFailed, false, "no such mailbox"},
		{"doubt", &notify.SendError{Outcome: models.OutcomeDoubt, Why: "line lost"}, models.MessageQueued, true, "line lost"},
		{"an error that says nothing is a doubt", errors.New("boom"), models.MessageQueued, true, models.ReasonUnknownEnd},
		{"down", &notify.SendError{Outcome: models.OutcomeDown, Why: "closing"}, models.MessageQueued, false, "closing"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			box, clock, ch := notifytest.Outbox(t), notifytest.NewClock(notifytest.Noon), mailScript()
			key := notifytest.Queue(t.Context(), t, box, models.ChannelMail, 0, 1)[0]
			ch.onSend = func(notify.Outgoing) error { return tt.err }
			c := courier(box, clock, notify.Options{}, ch)
			drain(t, c)
			l := notifytest.ByKey(t, box)[key]
			assert.Equal(t, tt.state, l.Message.State)
			assert.Equal(t, tt.doubt, l.Message.InDoubt)
			assert.Equal(t, tt.why, l.Message.Why)
			if l.Message.State == models.MessageQueued {
				ch.onSend = nil
				clock.Add(time.Hour)
				drain(t, c)
				again := notifytest.ByKey(t, box)[key].Message
				assert.Equal(t, models.MessageSent, again.State)
				assert.Equal(t, tt.doubt, again.InDoubt, "a doubt stays on the record")
				assert.Equal(t, l.Message.Composed, again.Composed, "every try sends the same words")
			}
		})
	}
}

func TestAChannelThatIsDownHoldsItsQueueAndTheOthersGoOn(t *testing.T) {
	box, clock := notifytest.Outbox(t), notifytest.NewClock(notifytest.Noon)
	mail, sms := mailScript(), &script{name: models.ChannelSMS}
	notifytest.Queue(t.Context(), t, box, models.ChannelMail, 0, 60)
	notifytest.Queue(t.Context(), t, box, models.ChannelSMS, 100, 5)
	mail.onOpen = func() error { return &notify.SendError{Outcome: models.OutcomeDown, Why: "no route"} }
	c := courier(box, clock, notify.Options{}, mail, sms)
	tally := drain(t, c)
	assert.Equal(t, 5, tally.Sent)
	assert.Equal(t, []models.Channel{models.ChannelMail}, tally.Down)
	assert.Equal(t, notify.Status{Channel: models.ChannelMail, Down: true, Since: models.InstantOf(notifytest.Noon),
		Why: "no route", NextTry: models.InstantOf(notifytest.Noon.Add(15 * time.Second))}, c.Status()[0])
	assert.False(t, c.Status()[1].Down)
	for _, l := range notifytest.ByKey(t, box) {
		if l.Message.Channel == models.ChannelMail {
			assert.Equal(t, models.MessageQueued, l.Message.State)
			assert.Equal(t, models.Reason("no route"), l.Message.Why)
			assert.Zero(t, l.Message.Tries, "the messages are not to blame")
		}
	}
	mail.onOpen = nil
	clock.Add(time.Minute)
	assert.Equal(t, 60, drain(t, c).Sent)
	assert.False(t, c.Status()[0].Down)
}

func TestAStopDuringABatchStopsTheRest(t *testing.T) {
	for _, ch := range []models.Channel{models.ChannelMail, models.ChannelSMS} {
		t.Run(string(ch), func(t *testing.T) {
			box, clock := notifytest.Outbox(t), notifytest.NewClock(notifytest.Noon)
			peer := &script{name: ch}
			keys := notifytest.Queue(t.Context(), t, box, ch, 0, 10)
			peer.onSend = func(o notify.Outgoing) error {
				if o.Key != keys[3] {
					return nil
				}
				for n := 4; n < 10; n++ { // the stops come in while the fourth is under way
					stopped := notifytest.Contact(n)
					stopped.SMSStopOn, stopped.MailStopOn = models.MustDate("2026-06-10"), models.MustDate("2026-06-10")
					_, err := box.Record(context.Background(), models.FactSet{Contacts: []models.Contact{stopped}}, notifytest.Entry())
					if err != nil {
						return err
					}
				}
				return nil
			}
			tally := drain(t, courier(box, clock, notify.Options{}, peer))
			assert.Equal(t, keys[:4], peer.keys())
			assert.Equal(t, 6, tally.Dropped)
			l := notifytest.ByKey(t, box)[keys[9]]
			assert.Equal(t, models.MessageDropped, l.Message.State)
			assert.Equal(t, models.Reason("stopped by the contact"), l.Message.Why)
		})
	}
}

func TestAStopOfOneHoldsForAllOnTheNumber(t *testing.T) {
	box, clock, peer := notifytest.Outbox(t), notifytest.NewClock(notifytest.Noon), &script{name: models.ChannelSMS}
	keys := notifytest.Queue(t.Context(), t, box, models.ChannelSMS, 0, 2)
	sharer := notifytest.Contact(500)
	sharer.Mobile = notifytest.Contact(1).Mobile
	sharer.SMSStopOn = models.MustDate("2026-06-01")
	_, err := box.Record(t.Context(), models.FactSet{Contacts: []models.Contact{sharer}}, notifytest.Entry())
	require.NoError(t, err)
	drain(t, courier(box, clock, notify.Options{}, peer))
	assert.Equal(t, keys[:1], peer.keys())
}

func TestQuietHoursHoldAndRelease(t *testing.T) {
	evening := time.Date(2026, 6, 11, 2, 0, 0, 0, time.UTC) // 20:00 in Denver
	box, clock, ch := notifytest.Outbox(t), notifytest.NewClock(evening), mailScript()
	key := notifytest.Queue(t.Context(), t, box, models.ChannelMail, 0, 1)[0]
	c := courier(box, clock, notify.Options{}, ch)
	assert.Equal(t, 1, drain(t, c).Later)
	m := notifytest.ByKey(t, box)[key].Message
	assert.Equal(t, models.Reason("quiet hours"), m.Why)
	assert.Equal(t, "2026-06-11T14:00:00Z", m.NotBefore.String(), "08:00 in Denver")
	clock.Set(m.NotBefore.Time().Add(-time.Second))
	assert.Zero(t, drain(t, c).Claimed)
	clock.Set(m.NotBefore.Time())
	assert.Equal(t, 1, drain(t, c).Sent)
}

func TestAnUrgentAnswerGoesFirst(t *testing.T) {
	box, clock, ch := notifytest.Outbox(t), notifytest.NewClock(notifytest.Noon), &script{name: models.ChannelSMS}
	notifytest.Queue(t.Context(), t, box, models.ChannelSMS, 0, 3)
	_, err := box.SaveLook(t.Context(), models.Look{Round: 1, Letters: []models.MessageWithNotices{{Message: models.Message{
		Key: "stop answer", Round: 1, Channel: models.ChannelSMS, Address: "+13035550199", Purpose: models.PurposeStopped,
		Urgent: true, State: models.MessageQueued, QueuedAt: models.InstantOf(notifytest.Noon),
		NotBefore: models.InstantOf(notifytest.Noon)}}}})
	require.NoError(t, err)
	drain(t, courier(box, clock, notify.Options{}, ch))
	assert.Equal(t, "stop answer", ch.keys()[0])
}

func TestWordsThatCannotBeWrittenLoseNothing(t *testing.T) {
	box, clock, ch := notifytest.Outbox(t), notifytest.NewClock(notifytest.Noon), mailScript()
	key := notifytest.Queue(t.Context(), t, box, models.ChannelMail, 0, 1)[0]
	broken := true
	c := notify.New(box, clock, func(e models.Envelope) (models.Composed, error) {
		if broken {
			return models.Composed{}, errors.New("template slip")
		}
		return compose(e)
	}, notify.Options{})
	c.Add(ch, notify.Limits{})
	drain(t, c)
	assert.Equal(t, models.ReasonNotComposed, notifytest.ByKey(t, box)[key].Message.Why)
	broken = false
	clock.Add(30 * time.Minute)
	assert.Equal(t, 1, drain(t, c).Sent)
}

func TestAKilledCouriersWorkIsTakenUp(t *testing.T) {
	box, clock, ch := notifytest.Outbox(t), notifytest.NewClock(notifytest.Noon), mailScript()
	keys := notifytest.Queue(t.Context(), t, box, models.ChannelMail, 0, 3)
	dead := models.Lease{By: "dead", Now: models.InstantOf(clock.Now()), Ends: models.InstantOf(clock.Now()).Add(5 * time.Minute)}
	claimed, err := box.Claim(t.Context(), dead, models.ChannelMail, 3)
	require.NoError(t, err)
	require.Len(t, claimed, 3)
	ruling, err := box.Begin(t.Context(), dead, claimed[0], func(models.Claimed) models.Ruling {
		return models.Ruling{Verdict: models.VerdictGo, Address: "x@example.com", LeaseEnds: dead.Ends}
	})
	require.NoError(t, err)
	require.Equal(t, models.VerdictGo, ruling.Verdict) // and here it is killed

	assert.Zero(t, drain(t, courier(box, clock, notify.Options{}, ch)).Claimed, "its lease holds")
	tally := drain(t, courier(box, clock, notify.Options{Sole: true}, ch))
	assert.Equal(t, 2, tally.Sent, "the only courier need not wait")
	l := notifytest.ByKey(t, box)[keys[0]]
	assert.True(t, l.Message.InDoubt)
	assert.Equal(t, models.ReasonKilled, l.Message.Why)
	require.Len(t, l.Attempts, 1)
	assert.Equal(t, models.OutcomeDoubt, l.Attempts[0].Outcome)
	clock.Add(10 * time.Minute)
	assert.Equal(t, 1, drain(t, courier(box, clock, notify.Options{}, ch)).Sent)

	ruling, err = box.Begin(t.Context(), dead, claimed[1], func(models.Claimed) models.Ruling { panic("not asked") })
	require.NoError(t, err)
	assert.Equal(t, models.VerdictLost, ruling.Verdict)
}

// settler is a peer that can be asked what became of a message.
type settler struct{ *script }

func (s settler) Open(context.Context) (notify.Session, error) { return settling{scripted(s)}, nil }

type settling struct{ scripted }

func (s settling) Settle(_ context.Context, o notify.Outgoing) (bool, bool, notify.Receipt, error) {
	return true, true, notify.Receipt{PeerID: "settled " + o.Key}, nil
}

func TestADoubtIsSettledWhereThePeerCanTell(t *testing.T) {
	box, clock, ch := notifytest.Outbox(t), notifytest.NewClock(notifytest.Noon), &script{name: models.ChannelSMS}
	key := notifytest.Queue(t.Context(), t, box, models.ChannelSMS, 0, 1)[0]
	ch.onSend = func(notify.Outgoing) error { return errors.New("line lost") }
	c := notify.New(box, clock, compose, notify.Options{})
	c.Add(settler{ch}, notify.Limits{})
	drain(t, c)
	clock.Add(time.Hour)
	drain(t, c)
	m := notifytest.ByKey(t, box)[key].Message
	assert.Equal(t, models.MessageSent, m.State)
	assert.Equal(t, models.ReasonSettled, m.Why)
	assert.Empty(t, ch.keys(), "it was not sent again")
}

// TestAMovedMailGetsItsHTMLAnew: an export leaves HTML behind; the next try,
// from another store, sends what the first one did.
func TestAMovedMailGetsItsHTMLAnew(t *testing.T) {
	old, clock, ch := notifytest.Outbox(t), notifytest.NewClock(notifytest.Noon), mailScript()
	key := notifytest.Queue(t.Context(), t, old, models.ChannelMail, 0, 1)[0]
	ch.onSend = func(notify.Outgoing) error { return &notify.SendError{Outcome: models.OutcomeTemporary, Why: "busy"} }
	drain(t, courier(old, clock, notify.Options{}, ch))
	first := notifytest.ByKey(t, old)[key].Message
	require.NotEmpty(t, first.Composed.HTML)
	set, err := old.AllFacts(t.Context())
	require.NoError(t, err)
	require.Empty(t, set.Messages[0].Composed.HTML)

	for _, said := range []struct{ text, html string }{{first.Composed.Text, first.Composed.HTML}, {"other words", ""}} {
		box := notifytest.Outbox(t)
		set.Messages[0].Composed.Text = said.text
		_, err = box.Record(t.Context(), set, notifytest.Entry())
		require.NoError(t, err)
		ch.onSend = nil
		clock.Add(time.Hour)
		drain(t, courier(box, clock, notify.Options{}, ch))
		again := notifytest.ByKey(t, box)[key].Message
		assert.Equal(t, models.MessageSent, again.State)
		assert.Equal(t, 2, again.Tries)
		assert.Equal(t, said.text, again.Composed.Text)
		assert.Equal(t, said.html, again.Composed.HTML)
	}
}
