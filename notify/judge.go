package notify

import (
	"time"

	"example.org/roundsman/models"
)

// judge asks policy whether a claimed message may still go now; one that goes is
// held for as long as its try may take.
func (o Options) judge(now time.Time) func(models.Claimed) models.Ruling {
	return func(c models.Claimed) models.Ruling {
		r := o.Shop.Rule(now, c)
		if r.Verdict == models.VerdictGo {
			r.LeaseEnds = models.InstantOf(now).Add(o.SendTimeout + leaseMargin)
		}
		return r
	}
}

// leaseMargin is how much longer than a try its lease lasts.
const leaseMargin = time.Minute
