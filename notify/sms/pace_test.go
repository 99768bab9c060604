package sms_test

import (
	"testing"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/message"
	"example.org/roundsman/notify/notifytest"
	"example.org/roundsman/notify/sms/smpp"
	"example.org/roundsman/notify/sms/smpp/smsctest"
)

// Whatever the pace of a healthy center, nobody gets a text twice, over real
// conversations on loopback.
func TestAHealthyCenterOfAnyPaceGetsEachTextOnce(t *testing.T) {
	t.Parallel() // it mostly waits
	compose := func(e models.Envelope) (models.Composed, error) {
		return message.Compose(message.Shop{Name: "Juniper Creek Service"}, e)
	}
	notifytest.OnceAtAnyPace(t, models.ChannelSMS, compose, func(t *testing.T, pace time.Duration) notifytest.PacedPeer {
		center := smsctest.Start(t, smsctest.Plan{Delay: func(smpp.Message) time.Duration { return pace }})
		taken := func() (to []string) {
			for _, m := range center.Taken() {
				if m.Message.Registered == 0 { // a text of two parts counts by its last one
					continue
				}
				to = append(to, m.Message.Dest.Number("1"))
			}
			return to
		}
		return notifytest.PacedPeer{Taken: taken,
			Channel: start(t, center, &kept{}, func(cfg *smpp.Config) { cfg.Patience = time.Minute })}
	})
}
