package app

import (
	"cmp"
	"context"
	"slices"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
	"example.org/roundsman/scheduler/job"
	"example.org/roundsman/scheduler/sheet"
)

// Jobs is where acts on jobs come together.
func (a *App) Jobs() *scheduler.Jobs {
	return &scheduler.Jobs{Store: a.Store, Notify: a.Runner.Notify, Alerts: shopOf(a.Settings).Mail}
}

// Planned is work that no job tells of yet.
type Planned struct {
	Complaint string
	Items     []string
	Language  string // of the sheet; "" is the shop's
}

// Sheet makes the sheet of a machine at a time, from what was known then.
func (a *App) Sheet(ctx context.Context, machine string, at time.Time, plan Planned) (sheet.Sheet, error) {
	return a.sheet(ctx, a.Store, machine, at, plan)
}

func (a *App) sheet(ctx context.Context, facts scheduler.Store, machine string, at time.Time, plan Planned) (sheet.Sheet, error) {
	p, err := scheduler.ProspectOf(ctx, facts, a.Runner.Notify, machine, at)
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
		Today: p.Today, History: p.History, Owner: p.People.Owner, Forecasts: p.Forecasts, Rules: p.Rules, Teardowns: teardowns,
		Scale: &p.Screened, Use: p.Use, Doubts: p.Screened.Doubts, Language: cmp.Or(plan.Language, a.Runner.Notify.Language),
		Complaint: plan.Complaint, Items: plan.Items,
	}
	for _, c := range p.People.People {
		in.Contacts = append(in.Contacts, c.Contact)
	}
	for _, w := range jobs {
		if then, ok := job.AsOf(w, p.Today, models.InstantOf(at)); ok {
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

// CheckItem refuses an item that no rule and no list of the program knows.
func (a *App) CheckItem(ctx context.Context, item string) error {
	if item == "" || slices.Contains(models.KnownItems(), item) {
		return nil
	}
	rules, err := a.Store.Rules(ctx)
	if err != nil {
		return err
	}
	if slices.ContainsFunc(rules, func(r models.Rule) bool { return r.Item == item }) {
		return nil
	}
	return models.Errorf(models.CodeInvalid, "`roundsman rules list` lists the items; what is none of them is a repair (--repair)",
		"there is no item %q", item)
}
