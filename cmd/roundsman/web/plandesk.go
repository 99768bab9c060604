package web

import (
	"context"
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
	"slices"
	"sync"
	"time"
)

// planDesk keeps the last plan worked out. Planning a large fleet takes
// seconds, so it goes on behind the pages, once for each state of the facts.
type planDesk struct {
	planner Planner
	span    scheduler.Span
	ctx     context.Context // of the work behind the pages, ended by close
	end     context.CancelFunc
	work    sync.WaitGroup

	mu   sync.Mutex
	made planKey // of plan
	plan *scheduler.Plan
	err  error
	busy planKey
	done chan struct{} // closed when busy is worked out
}

// planKey says from what a plan was made.
type planKey struct {
	day   models.Date
	entry int64
}

func newPlanDesk(p Planner, days int) *planDesk {
	ctx, end := context.WithCancel(context.Background())
	return &planDesk{planner: p, span: scheduler.Span{Days: days}, ctx: ctx, end: end}
}

func (d *planDesk) close() {
	d.end()
	d.work.Wait()
}

// patience is how long a page waits for a plan before it shows without.
const (
	patience = 1500 * time.Millisecond
	planMost = 3 * time.Minute
)

// get gives the plan of the present facts, or the last one with fresh false
// while that is being worked out.
func (d *planDesk) get(ctx context.Context, key planKey, at time.Time) (plan *scheduler.Plan, fresh bool, err error) {
	done := d.begin(key, at)
	wait := time.NewTimer(patience)
	defer wait.Stop()
	select {
	case <-done:
	case <-wait.C:
	case <-ctx.Done():
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.plan, d.made == key, d.err
}

// begin has the plan of a key worked out, unless it is there or under way.
func (d *planDesk) begin(key planKey, at time.Time) <-chan struct{} {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.done == nil || d.made != key && d.busy == (planKey{}) {
		d.busy, d.done = key, make(chan struct{})
		done := d.done
		d.work.Go(func() {
			ctx, end := context.WithTimeout(d.ctx, planMost)
			defer end()
			plan, err := d.planner.Plan(ctx, at, d.span)
			d.mu.Lock()
			defer d.mu.Unlock()
			if d.busy, d.err = (planKey{}), err; err == nil {
				d.plan = &plan
			}
			d.made = key
			close(done)
		})
	}
	return d.done
}

// days gives other days for a machine's next stop from the last plan, at most
// three, without working one out.
func (d *planDesk) days(machine string, today models.Date) []models.Date {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.plan == nil {
		return nil
	}
	var out []models.Date
	for _, s := range d.plan.Stops {
		if s.Machine.ID != machine {
			continue
		}
		out = append(out, s.On)
		for _, a := range s.Alternatives {
			out = append(out, a.On)
		}
		break
	}
	out = slices.DeleteFunc(out, func(v models.Date) bool { return v < today })
	out = out[:min(3, len(out))]
	slices.Sort(out)
	return out
}
