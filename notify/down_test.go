package notify_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/notify"
	"example.org/roundsman/notify/notifytest"
)

// A refusal of our own sender or account is no fault of the messages: they
// wait, the pauses grow, the shop is told once, and all go when it is mended.
func TestARefusedSenderHoldsTheQueueAndIsToldOnce(t *testing.T) {
	box, clock := notifytest.Outbox(t), notifytest.NewClock(notifytest.Noon)
	ch := &script{name: models.ChannelSMS}
	keys := notifytest.Queue(t.Context(), t, box, models.ChannelSMS, 0, 30)
	tries := 0
	refuse := func(notify.Outgoing) error {
		tries++
		return &notify.SendError{Outcome: models.OutcomeDown, Code: "0x0A", Why: models.ReasonCenterLogin, Spoiled: true, Lasting: true}
	}
	ch.onSend = refuse
	var alarms []notify.Status
	var whys []models.Reason
	c := notify.New(box, clock, compose, notify.Options{Sole: true, Alarm: func(_ context.Context, s notify.Status, why models.Reason) error {
		alarms, whys = append(alarms, s), append(whys, why)
		return nil
	}})
	c.Add(ch, notify.Limits{})
	var rests []time.Duration
	for until := clock.Now().Add(time.Hour); clock.Now().Before(until); {
		drain(t, c)
		rest := c.Status()[0].NextTry.Time().Sub(clock.Now())
		require.Positive(t, rest)
		rests = append(rests, rest)
		clock.Add(rest)
	}
	assert.LessOrEqual(t, tries, 10, "in an hour")
	assert.IsIncreasing(t, []int64{int64(rests[0]), int64(rests[1]), int64(rests[2])}, "%v", rests)
	require.Len(t, alarms, 1)
	assert.Equal(t, models.ChannelSMS, alarms[0].Channel)
	assert.Equal(t, []models.Reason{models.ReasonCenterLogin + " (0x0A)"}, whys)
	for _, l := range notifytest.ByKey(t, box) {
		assert.Equal(t, models.MessageQueued, l.Message.State)
	}
	ch.onSend = nil
	drain(t, c)
	assert.ElementsMatch(t, keys, ch.keys(), "each once")
	assert.False(t, c.Status()[0].Down)

	ch.onSend = refuse
	notifytest.Queue(t.Context(), t, box, models.ChannelSMS, 100, 1)
	drain(t, c)
	assert.Len(t, alarms, 2, "a new time, a new alarm")
}

// What may pass by itself is told when it has not for a quarter of an hour.
func TestASilentServerIsToldAfterAWhile(t *testing.T) {
	box, clock := notifytest.Outbox(t), notifytest.NewClock(notifytest.Noon)
	ch := &script{name: models.ChannelMail, onOpen: func() error {
		return &notify.SendError{Outcome: models.OutcomeDown, Why: models.ReasonNoServer}
	}}
	notifytest.Queue(t.Context(), t, box, models.ChannelMail, 0, 1)
	var told []time.Duration
	c := notify.New(box, clock, compose, notify.Options{Sole: true, Alarm: func(context.Context, notify.Status, models.Reason) error {
		told = append(told, clock.Now().Sub(notifytest.Noon))
		return nil
	}})
	c.Add(ch, notify.Limits{})
	for range 60 {
		drain(t, c)
		clock.Add(time.Minute)
	}
	assert.Equal(t, []time.Duration{15 * time.Minute}, told)
}
