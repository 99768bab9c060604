package scheduler

import (
	"context"
	"errors"
	"math"
	"slices"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/policy"
	"example.org/roundsman/scheduler/calendar"
	"example.org/roundsman/scheduler/interval"
	"example.org/roundsman/scheduler/visit"
	"example.org/roundsman/scheduler/visit/shop"
)

// PlanStore is what planning downtime needs of a store besides what a round
// needs.
type PlanStore interface {
	Store
	// Machines gives all machines by id.
	Machines(ctx context.Context) ([]models.Machine, error)
	// Standings gives where machines stand of which that was ever said.
	Standings(ctx context.Context) (map[string]models.MachineStanding, error)
	// Teardowns gives the teardowns that hold.
	Teardowns(ctx context.Context) ([]models.Teardown, error)
	// PlanningData gives what visits are planned on, and the visits whose last day
	// is not before a day (none: all).
	PlanningData(ctx context.Context, since models.Date) (models.PlanningData, error)
	// ChangeVisits stores what one act changes in visits with the messages
	// that tell it, all of it or nothing.
	ChangeVisits(ctx context.Context, changes []models.VisitChange,
		compose func(models.Visit, *models.MessageWithNotices) error, by models.Entry) ([]models.Visit, error)
}

// Planner plans downtime and keeps what was agreed.
type Planner struct {
	Store    PlanStore
	Notify   policy.Settings
	Settings shop.Settings
	Holidays calendar.Holidays

	// Search says how long and how to search; its Told is filled in.
	Search visit.Options
	// Invite writes the calendar part of a mail on a visit; nil writes none.
	// cancel says that the visit will not be.
	Invite func(v models.Visit, m models.Machine, to models.Contact, lang string, cancel bool, at time.Time) (string, error)
}

// Span is the days of a plan.
type Span struct {
	From models.Date // none: the shop's today
	Days int
}

// Plan is a plan for people with what it was made of.
type Plan struct {
	shop.Outcome
	Today  models.Date
	Steps  int64
	Owners map[string]models.Owner // by id, of the machines on the board
	ground models.PlanningData
}

// Plan works out the downtime plan at a time from the facts up to that day. It
// stores nothing. The same facts, time and search give the same plan.
func (p *Planner) Plan(ctx context.Context, at time.Time, span Span) (Plan, error) {
	in, owners, err := p.input(ctx, at, span)
	if err != nil {
		return Plan{}, err
	}
	draft, err := shop.New(in)
	if err != nil {
		return Plan{}, err
	}
	search := p.Search
	search.Told = draft.Told
	plan, err := visit.Solve(ctx, draft.Problem, search)
	if err != nil {
		return Plan{}, err
	}
	if err := ctx.Err(); err != nil {
		return Plan{}, err
	}
	return Plan{Outcome: draft.Explain(plan), Today: in.Today, Steps: plan.Steps, Owners: owners, ground: in.PlanningData}, nil
}

// input reads all that a plan is made of.
func (p *Planner) input(ctx context.Context, at time.Time, span Span) (in shop.Input, owners map[string]models.Owner, err error) {
	in = shop.Input{Today: models.DateOf(at.In(p.Notify.Zone)), From: span.From, Days: span.Days, Settings: p.Settings, Holidays: p.Holidays, Language: p.Notify.Language}
	if in.From == 0 {
		in.From = in.Today
	}
	board, err := Board(ctx, p.Store, p.Notify, at)
	if err != nil {
		return in, nil, err
	}
	owners = map[string]models.Owner{}
	for _, l := range board.Lines {
		if !l.Quiet {
			in.Forecasts = append(in.Forecasts, l.Forecast)
		}
		owners[l.Machine.Owner] = l.Owner
	}
	machines, err := p.Store.Machines(ctx)
	if err != nil {
		return in, nil, err
	}
	standings, err := p.Store.Standings(ctx)
	if err != nil {
		return in, nil, err
	}
	for _, m := range machines {
		if m.InService <= in.Today && standings[m.ID].InCare() {
			in.Machines = append(in.Machines, m)
		}
	}
	rules, err := p.Store.Rules(ctx)
	if err != nil {
		return in, nil, err
	}
	in.Rules = interval.NewBook(rules).For
	if in.Teardowns, err = p.Store.Teardowns(ctx); err != nil {
		return in, nil, err
	}
	// Visits shown for days that have passed are read too: they lapse.
	in.PlanningData, err = p.Store.PlanningData(ctx, in.Today.AddDays(-lapseDays))
	return in, owners, err
}

// lapseDays is how far back visits are looked at.
const lapseDays = 366

// place finds a bay for an agreed visit on its day and gives it with its last
// day and minutes. wanted is the bay to take; "" takes that of the visit where
// it can, else any. A day that cannot be given gives models.CodeConflict.
func (p *Planner) place(ctx context.Context, v models.Visit, at time.Time, wanted string) (models.Visit, error) {
	today := models.DateOf(at.In(p.Notify.Zone))
	in, _, err := p.input(ctx, at, Span{Days: max(1, today.DaysTo(v.On)+roomDays)})
	if err != nil {
		return v, err
	}
	return placed(in, v, wanted)
}

// placed is place on what was read.
func placed(in shop.Input, v models.Visit, wanted string) (models.Visit, error) {
	trial := v
	trial.State, trial.Until, trial.Row = models.VisitAgreed, v.On, math.MaxInt64 // the last agreed gives way
	if trial.ID == "" {
		trial.ID = "new"
	}
	others := in.PlanningData.Visits[:0:0]
	for _, o := range in.PlanningData.Visits {
		if o.ID != v.ID {
			others = append(others, o)
		}
	}
	in.PlanningData.Visits = others
	draft, err := shop.New(in)
	if err != nil {
		return v, err
	}
	bays := draft.Bays()
	switch {
	case wanted != "":
		bays = []string{wanted}
	case v.Bay != "":
		bays = append([]string{v.Bay}, bays...)
	}
	why := "there is no bay"
	for _, bay := range bays {
		trial.Bay = bay
		in.PlanningData.Visits = append(others[:len(others):len(others)], trial)
		if draft, err = shop.New(in); err != nil {
			return v, err
		}
		placed, reason, ok := draft.Placed(trial.ID)
		if ok {
			v.Bay, v.Until, v.Minutes = bay, placed.Until, placed.Minutes
			return v, nil
		}
		why = reason
	}
	return v, models.Errorf(models.CodeConflict, "pick another day; `roundsman plan --json` lists alternatives",
		"the visit cannot be on %s: %s", v.On, why)
}

// Days that are offered to somebody who agrees to what is due: how many, from
// how many days ahead, and up to how many (common practice, no source).
const (
	offeredDays  = 3
	offeredFrom  = 2
	offeredUntil = 21
)

// Free gives the next days on which a machine could come for items, at most
// three; none where the shop has room for none, or the machine has a visit.
func (p *Planner) Free(ctx context.Context, at time.Time, machine string, items []string) ([]models.Date, error) {
	in, _, err := p.input(ctx, at, Span{Days: offeredUntil + roomDays})
	if err != nil {
		return nil, err
	}
	concerned := map[string]bool{machine: true} // the others take no room
	for _, v := range in.PlanningData.Visits {
		if v.Stands() && v.Machine == machine && v.On >= in.Today {
			return nil, nil
		}
		concerned[v.Machine] = concerned[v.Machine] || v.Stands()
	}
	in.Machines = slices.DeleteFunc(in.Machines, func(m models.Machine) bool { return !concerned[m.ID] })
	in.Forecasts = slices.DeleteFunc(in.Forecasts, func(f models.Forecast) bool { return !concerned[f.Machine] })
	var out []models.Date
	for n := offeredFrom; n <= offeredUntil && len(out) < offeredDays; n++ {
		_, err := placed(in, models.Visit{Machine: machine, On: in.Today.AddDays(n), Items: models.JoinNames(items)}, "")
		var refused *models.Error
		switch {
		case err == nil:
			out = append(out, in.Today.AddDays(n))
		case !errors.As(err, &refused) || refused.Code != models.CodeConflict:
			return nil, err
		}
	}
	return out, nil
}

// roomDays is how much longer than its first day a visit's plan is, so that
// work of several days ends within it.
const roomDays = 45
