package notify

import (
	"sync"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/policy"
)

// zones keeps the time zones that contacts live in.
type zones struct {
	shop  string
	known sync.Map // name -> *time.Location
}

// of gives the zone of a contact; a name that is not known counts as the
// shop's, and that as UTC, so that a slip in one fact holds nothing up.
func (z *zones) of(c models.Contact, o models.Owner) *time.Location {
	for _, name := range []string{policy.ZoneName(c, o, z.shop), z.shop} {
		if loc := z.load(name); loc != nil {
			return loc
		}
	}
	return time.UTC
}

func (z *zones) load(name string) *time.Location {
	if v, ok := z.known.Load(name); ok {
		loc, _ := v.(*time.Location)
		return loc
	}
	loc, err := time.LoadLocation(name)
	if err != nil {
		loc = nil
	}
	z.known.Store(name, loc)
	return loc
}

// judge asks policy whether a claimed message may still go now: consent and
// hours may have changed since it was put into the outbox. How often somebody
// is written to was decided then and is not asked again.
func (o Options) judge(z *zones, now time.Time) func(models.Claimed) models.Ruling {
	return func(c models.Claimed) models.Ruling {
		m := c.Message
		d := policy.Decide(policy.Ask{
			Now: now, Contact: c.Contact, Zone: z.of(c.Contact, c.Owner),
			Purpose: m.Purpose, Urgent: m.Urgent, Channel: m.Channel, Address: m.Address,
			Sharing: c.Sharing, Rules: o.Rules,
		})
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
