package visit

import (
	"context"
	"fmt"
	"strconv"
)

// Options steer Solve. The zero value makes a first plan and no more.
type Options struct {
	Seed  uint64
	Steps int64 // steps of improvement; 0: until Spent

	// Spent says when to stop; nil never does. It is asked from one place at
	// a time.
	Spent func() bool
	// Used says what part of the budget is gone, 0..1; it lets the search
	// cool down by the clock and leaves the end of the budget to the bound.
	// nil: from Steps; without those either the search stays lukewarm.
	Used func() float64
	// Parallel runs fn(0) to fn(n-1), in any order or side by side, and comes
	// back when all are done. nil: one after the other. It never changes the
	// result.
	Parallel func(n int, fn func(i int))

	// First is called once, when the first plan stands; nil: not at all.
	First func()

	Told []Notified // days that people were told
}

// Plan is an answer to a Problem.
type Plan struct {
	Format string  `json:"format"`
	Visits []Visit `json:"visits"`
	Cost   int64   `json:"cost"`  // cents, as Check counts them
	Bound  int64   `json:"bound"` // cents: no plan costs less; 0 proves nothing
	Gap    float64 `json:"gap"`   // (Cost - Bound) / Cost

	// Optimal says that no plan costs less, because everything that could be
	// part of one was listed and tried; Bound is what the prices alone prove.
	Optimal bool `json:"optimal,omitempty"`

	Parts  Cost   `json:"-"`
	Moved  int64  `json:"-"` // cents for moving what was told; Bound counts them too
	Steps  int64  `json:"-"` // steps of improvement made
	Prices Prices `json:"-"` // from which Bound can be recomputed
}

// Solve plans a problem within a budget. The plan keeps every hard rule
// whatever the budget; its errors are faults of the problem or the options.
// When ctx ends, the best plan so far is given.
func Solve(ctx context.Context, p Problem, o Options) (Plan, error) {
	if err := p.Validate("problem"); err != nil {
		return Plan{}, err
	}
	if err := validTold(&p, o.Told); err != nil {
		return Plan{}, err
	}
	if o.Parallel == nil {
		o.Parallel = inTurn
	}
	r := &run{ctx: ctx, p: &p, o: o, shop: newShop(&p, o.Told)}
	st := r.start()
	if o.First != nil {
		o.First()
	}
	st = r.improve(st)
	return r.plan(st), nil
}

// validTold checks the days that people were told.
func validTold(p *Problem, told []Notified) error {
	const most = 10 * MaxMoney
	known := make(map[string]int64, len(p.Machines))
	for _, m := range p.Machines {
		known[m.ID] = 0
	}
	l := &faultList{file: "told"}
	seen := map[Notified]bool{}
	for i, t := range told {
		field := fmt.Sprintf("told[%d]", i)
		sum, ok := known[t.Machine]
		if !ok {
			l.add(field+".machine", t.Machine, "is not an id in machines", "correct the id or leave it out")
			continue
		}
		if key := (Notified{Machine: t.Machine, Day: t.Day}); seen[key] {
			l.add(field+".day", strconv.Itoa(t.Day), "was told twice", "give each machine and day once")
		} else {
			seen[key] = true
		}
		l.within(field+".day", int64(t.Day), -maxDate, maxDate)
		if l.within(field+".cents", t.Cents, 0, MaxMoney) {
			known[t.Machine] = sum + t.Cents
			l.within(field+".cents", sum+t.Cents, 0, most)
		}
	}
	return l.faults.Err()
}

// run is one call of Solve.
type run struct {
	ctx    context.Context
	p      *Problem
	o      Options
	shop   *shop
	used   int64     // steps made
	proven bool      // by enumeration: no plan is better
	climbs []*ascent // towards higher bounds
}

// cut says whether to stop at once.
func (r *run) cut() bool {
	return r.ctx.Err() != nil || (r.o.Spent != nil && r.o.Spent())
}

// done says whether the search is over.
func (r *run) done() bool {
	if r.cut() || (r.o.Steps > 0 && r.used >= r.o.Steps) {
		return true
	}
	if r.o.Steps > 0 {
		return false
	}
	return r.part() >= r.searchPart()
}

// searchPart is the part of a budget by the clock at which the search ends;
// the rest raises the bound, which takes longer where machines are many.
func (r *run) searchPart() float64 {
	if len(r.shop.units) > manyUnits {
		return 0.7
	}
	return 0.86
}

const manyUnits = 1000

// part says what part of the budget is gone, 0..1. Without a clock and
// without steps there is none.
func (r *run) part() float64 {
	switch {
	case r.o.Steps > 0:
		return r.searchPart() * float64(r.used) / float64(r.o.Steps)
	case r.o.Used != nil:
		return r.o.Used()
	case r.o.Spent != nil:
		return 0.6
	default:
		return 1
	}
}

// start makes a first plan: unit by unit, each exactly in what is left.
func (r *run) start() *state {
	st := newState(r.shop)
	w := newWalker(st, &prices{}, r.o.Seed, 0)
	all := r.allUnits()
	w.assign(all, 0, int32(r.shop.days)-1)
	for _, u := range all {
		w.replan(u, 0, int32(r.shop.days)-1)
	}
	st.total += w.st.total
	return st
}

// plan writes a state as a plan, its cost as Check counts it, and proves a
// bound for it.
func (r *run) plan(st *state) Plan {
	plan := Plan{Format: Format, Visits: st.visits(), Steps: r.used, Optimal: r.proven}
	plan.Parts = Check(r.p, plan.Visits).Cost
	plan.Cost = plan.Parts.Total()
	plan.Moved = moved(plan.Visits, r.o.Told)
	all := plan.Cost + plan.Moved
	r.prove(all, func(rounds int) bool {
		if r.cut() || r.proven {
			return true
		}
		switch {
		case r.o.Steps > 0:
			return int64(rounds) >= min(4000, r.o.Steps/100)
		case r.o.Used != nil:
			return r.o.Used() >= 0.99
		default:
			return true
		}
	})
	for _, a := range r.climbs {
		if v := boundCents(a.best); v > plan.Bound || plan.Prices.Format == "" {
			plan.Bound, plan.Prices = v, a.b.givePrices(a.bestDuals())
		}
	}
	again, err := Bound(r.p, r.o.Told, plan.Prices)
	plan.settle(all, again, err)
	return plan
}

// settle holds a plan's bound against what its prices give when they are
// worked out anew. A bound that these do not give, or that lies above what the
// plan itself costs, proves nothing and is not given.
func (p *Plan) settle(cost, again int64, err error) {
	if err != nil || again != p.Bound || p.Bound > cost {
		p.Bound, p.Optimal = 0, false
	}
	if cost > 0 {
		p.Gap = float64(cost-p.Bound) / float64(cost)
	}
}

// moved gives the cents for moving what was told.
func moved(visits []Visit, told []Notified) int64 {
	type at struct {
		machine string
		day     int
	}
	begins := make(map[at]bool, len(visits))
	for _, v := range visits {
		begins[at{v.Machine, v.Day}] = true
	}
	cents := int64(0)
	for _, t := range told {
		if !begins[at{t.Machine, t.Day}] {
			cents += t.Cents
		}
	}
	return cents
}
