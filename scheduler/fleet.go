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
	// many.
	FleetBehind(ctx context.Context, today models.Date, limit int) ([]string, error)
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
// more are behind, as after a change of rules, that is left to a round: pages
// are asked for many times a second.
const pageLooks = 100

// Page gives a page of the fleet. Its Behind says that machines are shown as
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

// catchUp works out the machines whose lines are of an earlier day, and says
// whether some are left.
func (f *Fleet) catchUp(ctx context.Context, at time.Time) (left bool, err error) {
	ids, err := f.behind(ctx, at)
	if err != nil || len(ids) == 0 || len(ids) > pageLooks {
		return len(ids) > 0, err
	}
	f.working.Lock() // it is soon done
	defer f.working.Unlock()
	if ids, err = f.behind(ctx, at); err != nil || len(ids) == 0 { // another page may have done it
		return false, err
	}
	ids = ids[:min(len(ids), pageLooks)]
	look := models.Look{Today: models.DateOf(at.In(f.Notify.Zone))}
	if look.LastEntry, err = f.Store.LastEntry(ctx); err != nil { // before the facts: a later one works it out again
		return true, err
	}
	p, err := LastProfile(ctx, f.Store, f.Notify, at)
	if err != nil {
		return true, err
	}
	es, err := evaluationsOf(ctx, f.Store, f.Notify, p, ids, at)
	if err != nil && len(es) == 0 {
		return true, err
	}
	for i := range es {
		if e := &es[i]; e.Err == nil {
			look.States = append(look.States, e.State())
			look.Forecasts = append(look.Forecasts, e.Forecasts...)
		}
	}
	return len(look.States) < len(ids), f.Store.SaveFleet(ctx, look)
}

func (f *Fleet) behind(ctx context.Context, at time.Time) ([]string, error) {
	return f.Store.FleetBehind(ctx, models.DateOf(at.In(f.Notify.Zone)), pageLooks+1)
}
