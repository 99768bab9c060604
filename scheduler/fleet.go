package scheduler

import (
	"context"
	"sync"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/policy"
)

// FleetStore is what a page of the fleet needs of a store.
type FleetStore interface {
	Store
	Fleet(ctx context.Context, f models.FleetFilter) (models.FleetPage, error)
	// FleetBehind gives the machines whose lines are not of a day, at most so
	// many, with the number of all.
	FleetBehind(ctx context.Context, today models.Date, limit int) (ids []string, all int, err error)
	// SaveFleet keeps the dates and lines of a look's machines.
	SaveFleet(ctx context.Context, l models.Look) error
}

// Fleet gives pages of the fleet as it stands today, as the board shows it, and
// not as the last round found it: what has come due, or was recorded, since is
// worked out first.
type Fleet struct {
	Store  FleetStore
	Notify policy.Settings
	Clock  models.Clock

	working sync.Mutex
}

// pageLooks is how many machines are worked out before one page is shown. Where
// more are behind, as after a change of rules, a round is to look at them.
const pageLooks = 100

// Page gives a page of the fleet. Its Behind counts machines that are shown as
// they were when they were last worked out.
func (f *Fleet) Page(ctx context.Context, filter models.FleetFilter) (models.FleetPage, error) {
	behind, err := f.catchUp(ctx, f.Clock.Now())
	if err != nil {
		return models.FleetPage{}, err
	}
	page, err := f.Store.Fleet(ctx, filter)
	page.Behind = behind
	return page, err
}

// catchUp works out the machines whose lines are of an earlier day, and gives
// how many are left. Only one page does it at a time; what another has begun is
// not waited for where there is much.
func (f *Fleet) catchUp(ctx context.Context, at time.Time) (left int, err error) {
	today := models.DateOf(at.In(f.Notify.Zone))
	ids, all, err := f.Store.FleetBehind(ctx, today, pageLooks)
	if err != nil || all == 0 {
		return all, err
	}
	if !f.working.TryLock() {
		if all > pageLooks {
			return all, nil
		}
		f.working.Lock() // it is soon done
	}
	defer f.working.Unlock()
	look := models.Look{Today: today}
	if look.LastEntry, err = f.Store.LastEntry(ctx); err != nil { // before the facts: a later one works it out again
		return all, err
	}
	p, err := LastProfile(ctx, f.Store, f.Notify, at)
	if err != nil {
		return all, err
	}
	es, err := evaluationsOf(ctx, f.Store, f.Notify, p, ids, at)
	if err != nil && len(es) == 0 {
		return all, err
	}
	for i := range es {
		if e := &es[i]; e.Err == nil {
			look.States = append(look.States, e.State())
			look.Forecasts = append(look.Forecasts, e.Forecasts...)
		}
	}
	return all - len(look.States), f.Store.SaveFleet(ctx, look)
}
