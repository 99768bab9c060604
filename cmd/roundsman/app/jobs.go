package app

import (
	"cmp"
	"context"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/policy"
	"example.org/roundsman/scheduler"
	"example.org/roundsman/scheduler/job"
	"example.org/roundsman/scheduler/sheet"
)

// Jobs is where acts on jobs come together.
func (a *App) Jobs() *scheduler.Jobs {
	return &scheduler.Jobs{Store: a.Store, Notify: a.Runner.Notify}
}

// Outbox is where the desk sends what waits.
func (a *App) Outbox() scheduler.Outbox {
	return scheduler.Outbox{Store: a.Store, Notify: a.Runner.Notify}
}

// Registry is where owners, contacts and machines are made and changed.
func (a *App) Registry() *scheduler.Registry {
	s := a.Settings.Shop
	return &scheduler.Registry{Store: a.Store, Zone: a.Runner.Notify.Zone, Country: s.Country, Metric: s.Units.Distance == "km"}
}

// Planned is work that no job tells of yet.
type Planned struct {
	Complaint string
	Items     []string
	Language  string // of the sheet; "" is the shop's
}

// Sheet makes the sheet of a machine at a time, from what was known then.
func (a *App) Sheet(ctx context.Context, machine string, at time.Time, plan Planned) (sheet.Sheet, error) {
	return a.sheet(ctx, scheduler.ProfileAt, machine, at, plan)
}

// profileOf chooses the profile that a machine is worked out with.
type profileOf func(ctx context.Context, st scheduler.Store, n policy.Settings, at time.Time) (scheduler.Profile, error)

// evaluation works out a machine at a time.
func (a *App) evaluation(ctx context.Context, profile profileOf, machine string, at time.Time) (scheduler.Evaluation, error) {
	p, err := profile(ctx, a.Store, a.Runner.Notify, at)
	if err != nil {
		return scheduler.Evaluation{}, err
	}
	return scheduler.EvaluationOf(ctx, a.Store, a.Runner.Notify, p, machine, at)
}

func (a *App) sheet(ctx context.Context, profile profileOf, machine string, at time.Time, plan Planned) (sheet.Sheet, error) {
	e, err := a.evaluation(ctx, profile, machine, at)
	if err != nil {
		return sheet.Sheet{}, err
	}
	jobs, err := a.Store.JobsOf(ctx, []string{machine})
	if err != nil {
		return sheet.Sheet{}, err
	}
	teardowns, err := a.Store.Teardowns(ctx)
	if err != nil {
		return sheet.Sheet{}, err
	}
	in := sheet.Input{
		Today: e.Today, History: e.History, Owner: e.People.Owner, Forecasts: e.Shown(), Rules: e.Rules, Teardowns: teardowns,
		Scale: &e.Screened, Use: e.Use, Doubts: e.Screened.Doubts, Doubted: e.Screened.Doubted, Pace: e.Screened.PaceOf(), Seen: e.Seen(), Language: cmp.Or(plan.Language, a.Runner.Notify.Language),
		Complaint: plan.Complaint, Items: plan.Items,
	}
	for _, c := range e.People.People {
		in.Contacts = append(in.Contacts, c.Contact)
	}
	for _, w := range jobs {
		if then, ok := job.AsOf(w, e.Today, models.InstantOf(at)); ok {
			in.Jobs = append(in.Jobs, then)
		}
	}
	return sheet.Build(in), nil
}

// SheetLayout gives the layout of a sheet as text in the units of the
// settings.
func (a *App) SheetLayout() sheet.Layout {
	u := a.Settings.Shop.Units
	return sheet.Layout{Liters: u.Volume == "l", Celsius: u.Temperature == "c"}
}

// FindItem gives the id of the item that a person means (models.FindItem), with
// the shop's own items. Nothing said is no item.
func (a *App) FindItem(ctx context.Context, said string) (string, error) {
	if said == "" {
		return "", nil
	}
	rules, err := a.Store.Rules(ctx)
	if err != nil {
		return "", err
	}
	own := make([]string, len(rules))
	for i, r := range rules {
		own[i] = r.Item
	}
	return models.FindItem(said, own...)
}
