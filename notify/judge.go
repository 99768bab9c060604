package notify

import (
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/policy"
)

// judge asks policy whether a claimed message may still go now: consent and
// hours may have changed since it was put into the outbox. How often somebody
// is written to was decided then and is not asked again.
func (o Options) judge(now time.Time) func(models.Claimed) models.Ruling {
	return func(c models.Claimed) models.Ruling {
		m := c.Message
		ask := o.Shop.Ask(now, c.Owner, models.Person{Contact: c.Contact, Sharing: c.Sharing, Retired: c.Retired, Undecided: c.Undecided}, m.Purpose)
		ask.Urgent, ask.Channel, ask.Address = m.Urgent, m.Channel, m.Address
		d := policy.Decide(ask)
		at := models.InstantOf(now)
		switch {
		case !d.Send:
			return models.Ruling{Verdict: models.VerdictDrop, Why: d.Why}
		case d.NotBefore.After(now):
			return models.Ruling{Verdict: models.VerdictHold, Why: d.Why, NotBefore: ceil(d.NotBefore)}
		}
		return models.Ruling{Verdict: models.VerdictGo, Why: d.Why, Address: d.Address,
			LeaseEnds: at.Add(o.SendTimeout + leaseMargin)}
	}
}

// ceil gives the first whole second that is not before a time.
func ceil(t time.Time) models.Instant {
	i := models.InstantOf(t)
	if i.Time().Before(t) {
		i++
	}
	return i
}

// leaseMargin is how much longer than a try its lease lasts.
const leaseMargin = time.Minute
