package app

import (
	"context"
	"time"

	"example.org/roundsman/cmd/roundsman/demo"
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
	"example.org/roundsman/scheduler/job"
)

// LoadDemo records the invented fleet of the demo.
func (a *App) LoadDemo(ctx context.Context) error {
	rules, err := a.Store.Rules(ctx)
	if err != nil {
		return err
	}
	set := demo.Fleet(rules)
	set.Release(actor)
	_, err = a.Store.Record(ctx, set, a.entry("demo", ""))
	return err
}

// LoadDemoMorning records what happened in the demo's shop on the morning of
// its round, so that its pages have something to decide: two replies, a job
// whose checks before hand-over are open, and days on which machines cannot be spared.
func (a *App) LoadDemoMorning(ctx context.Context, at time.Time) error {
	for i, r := range demo.Replies() {
		r.ReceivedAt = models.InstantOf(at.Add(time.Duration(i-30) * time.Minute))
		if err := a.Replier.Apply(ctx, r); err != nil {
			return err
		}
	}
	today := models.DateOf(at.In(a.Runner.Notify.Zone))
	set := models.FactSet{Closures: demo.Closures(today)}
	if _, err := a.Store.Record(ctx, set, a.entry("demo", "")); err != nil {
		return err
	}
	return a.demoJob(ctx, at, today)
}

// demoJob opens and does the demo's job.
func (a *App) demoJob(ctx context.Context, at time.Time, today models.Date) error {
	j := demo.Job()
	m, err := a.Store.FindMachine(ctx, j.Machine)
	if err != nil {
		return err
	}
	act := scheduler.Act{At: at, By: "Tomas", Means: "demo"}
	w, err := a.Jobs().Open(ctx, act, job.Opening{Machine: m, On: today, By: act.By, Complaint: j.Complaint}, scheduler.TypedMeters{})
	if err != nil {
		return err
	}
	rules := []func(k scheduler.Known) (models.JobChange, error){}
	for _, item := range j.Items {
		rules = append(rules, func(k scheduler.Known) (models.JobChange, error) {
			return job.AddLine(k.Job, k.Machine, k.Defs, job.Work{Item: item, By: act.By})
		})
	}
	rules = append(rules, func(k scheduler.Known) (models.JobChange, error) {
		return job.Done(k.Job, k.Machine, k.Defs, job.Finish{On: today, By: act.By, Cause: j.Cause, Correction: j.Correction})
	})
	for _, rule := range rules {
		if _, _, err := a.Jobs().Do(ctx, act, w.Job.ID, "demo", rule); err != nil {
			return err
		}
	}
	return nil
}
