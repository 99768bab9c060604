package sms_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/notify"
	"example.org/roundsman/notify/message"
	"example.org/roundsman/notify/notifytest"
	"example.org/roundsman/notify/sms/smpp"
	"example.org/roundsman/notify/sms/smpp/smsctest"
)

// Whatever the pace of a healthy center, nobody gets a text twice, over real
// conversations on loopback.
func TestAHealthyCenterOfAnyPaceGetsEachTextOnce(t *testing.T) {
	messages, paces := 1000, []time.Duration{0, 1500 * time.Millisecond, 2500 * time.Millisecond, 20 * time.Second}
	if testing.Short() { // all of it takes some 30 seconds
		messages, paces = 100, paces[1:2]
	}
	for _, pace := range paces {
		t.Run(pace.String(), func(t *testing.T) {
			t.Parallel()
			center := smsctest.Start(t, smsctest.Plan{Delay: func(smpp.Message) time.Duration { return pace / notifytest.Fast }})
			box := notifytest.Outbox(t)
			for first := 0; first < messages; first += 500 {
				notifytest.Queue(t.Context(), t, box, models.ChannelSMS, first, min(500, messages-first))
			}
			compose := func(e models.Envelope) (models.Composed, error) {
				return message.Compose(message.Shop{Name: "Juniper Creek Service"}, e)
			}
			c := notify.New(box, notifytest.FastClock(time.Now()), compose, notify.Options{Poll: 50 * time.Millisecond, Sole: true})
			c.Add(start(t, center, &kept{}, func(cfg *smpp.Config) { cfg.Patience = time.Minute }), notify.Limits{Parallel: 8})
			require.NoError(t, notifytest.RunUntilEmpty(t.Context(), box, c))
			var to []string
			for _, m := range center.Taken() {
				if m.Message.Registered == 0 { // a text of two parts counts by its last one
					continue
				}
				number := m.Message.Dest.Number("1")
				to = append(to, number)
			}
			notifytest.EachOnce(t, box, to, messages)
		})
	}
}
