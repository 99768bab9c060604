package visit

import (
	"context"
)

// Options steer Solve. The zero value makes a first plan and no more.
type Options struct {
	Seed  uint64
	Steps int64 // steps of improvement; 0: until Spent

	// Spent says when to stop; nil never does. It is asked from one place at
	// a time.
	Spent func() bool
	// Used says what part of the budget is gone, 0..1; it lets the search
	// cool down by the clock. nil: from Steps.
	Used func() float64
	// Parallel runs fn(0) to fn(n-1), in any order or side by side, and comes
	// back when all are done. nil: one after the other. It never changes the
	// result.
	Parallel func(n int, fn func(i int))

	Told []Told // days that people were told
}

// Plan is an answer to a Problem.
type Plan struct {
	Format string  `json:"format"`
	Visits []Visit `json:"visits"`
	Cost   int64   `json:"cost"`  // cents, as Check counts them
	Bound  int64   `json:"bound"` // cents: no plan costs less
	Gap    float64 `json:"gap"`   // (Cost - Bound) / Cost

	Parts  Cost   `json:"-"`
	Moved  int64  `json:"-"` // cents for moving what was told; Bound counts them too
	Steps  int64  `json:"-"` // steps of improvement made
	Prices Prices `json:"-"` // from which Bound can be recomputed
}

// Solve plans a problem within a budget. The plan keeps every hard rule
// whatever the budget; its errors are faults of the problem.
func Solve(ctx context.Context, p Problem, o Options) (Plan, error) {
	if err := p.Validate("problem"); err != nil {
		return Plan{}, err
	}
	r := newRun(ctx, &p, o)
	st := r.start()
	st = r.improve(st)
	return r.plan(st), nil
}

// run is one call of Solve.
type run struct {
	ctx  context.Context
	p    *Problem
	o    Options
	shop *shop
	used int64 // steps made
}

func newRun(ctx context.Context, p *Problem, o Options) *run {
	if o.Parallel == nil {
		o.Parallel = func(n int, fn func(int)) {
			for i := range n {
				fn(i)
			}
		}
	}
	return &run{ctx: ctx, p: p, o: o, shop: newShop(p, o.Told)}
}

// spent says whether to stop.
func (r *run) spent() bool {
	if r.ctx.Err() != nil || (r.o.Steps > 0 && r.used >= r.o.Steps) {
		return true
	}
	if r.o.Spent != nil {
		return r.o.Spent()
	}
	return r.o.Steps == 0
}

// part says what part of the budget is gone.
func (r *run) part() float64 {
	if r.o.Steps > 0 || (r.o.Used == nil && r.o.Spent == nil) {
		if r.o.Steps == 0 {
			return 1
		}
		return float64(r.used) / float64(r.o.Steps)
	}
	if r.o.Used != nil {
		return r.o.Used()
	}
	return 0.5
}

// start makes a first plan: unit by unit, those with most to lose first.
func (r *run) start() *state {
	st := newState(r.shop)
	w := newWalker(st, &prices{}, r.o.Seed, 0)
	all := make([]int32, len(r.shop.units))
	for u := range all {
		all[u] = int32(u)
	}
	w.assign(all, 0, int32(r.shop.days)-1)
	for _, u := range all {
		w.replan(u, 0, int32(r.shop.days)-1)
	}
	st.total += w.st.total
	return st
}

// plan writes a state as a plan, its cost as Check counts it.
func (r *run) plan(st *state) Plan {
	visits := st.visits()
	rep := Check(r.p, visits)
	plan := Plan{Format: Format, Visits: visits, Cost: rep.Cost.Total(), Parts: rep.Cost, Steps: r.used}
	return plan
}
