package scheduler

import (
	"context"
	"fmt"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/policy"
	"example.org/roundsman/scheduler/job"
)

// JobStore is what jobs need of a store.
type JobStore interface {
	ReadingStore
	Job(ctx context.Context, id string) (models.WholeJob, error)
	Check(ctx context.Context, id string) (models.OwedCheck, error)
	CheckDefs(ctx context.Context) ([]models.CheckDef, error)
	FindMachine(ctx context.Context, name string) (models.Machine, error)
	People(ctx context.Context, owners []string, today models.Date) (map[string]models.People, error)
	// ChangeJob stores a change whole or not at all, with an alert that may
	// be nil.
	ChangeJob(ctx context.Context, c models.JobChange, alert *models.Message, by models.Entry) (models.WholeJob, error)
}

// Jobs is where acts on jobs come together, whatever face they come from: it
// reads the job, asks the rules, and stores what they say. A complaint that
// came back is told to the shop in the same transaction.
type Jobs struct {
	Store  JobStore
	Notify policy.Settings
}

// Act is who does something when, and by what way ("job", "reply", "page").
type Act struct {
	At    time.Time
	By    string
	Means string
}

// On gives the shop's date of an act.
func (j *Jobs) On(a Act) models.Date { return models.DateOf(a.At.In(j.Notify.Zone)) }

func (a Act) entry(note string) models.Entry {
	return models.Entry{RecordedAt: models.InstantOf(a.At), Actor: a.By, Means: a.Means, Note: note}
}

// Known is a job with what its rules ask of the rest.
type Known struct {
	Job     models.WholeJob
	Machine models.Machine
	Defs    []models.CheckDef // in force
}

// meters takes what a job's meters show through the door for readings.
func (j *Jobs) meters(ctx context.Context, a Act, m models.Machine, on models.Date, typed TypedMeters) ([]models.Reading, error) {
	door := Readings{Store: j.Store}
	return door.Check(ctx, MeterEntry{TypedMeters: typed, Machine: m, On: on, Today: j.On(a), Source: models.SourceShop})
}

// Open stores the opening of a job. What its meters show is refused as
// Readings.Enter does.
func (j *Jobs) Open(ctx context.Context, a Act, o job.Opening, typed TypedMeters) (w models.WholeJob, err error) {
	if o.Readings, err = j.meters(ctx, a, o.Machine, o.On, typed); err != nil {
		return w, err
	}
	c, err := job.Open(o)
	if err != nil {
		return w, err
	}
	return j.Store.ChangeJob(ctx, c, nil, a.entry("open"))
}

// Done has the work of a job done.
func (j *Jobs) Done(ctx context.Context, a Act, id string, f job.Finish, typed TypedMeters) (models.WholeJob, error) {
	_, after, err := j.Do(ctx, a, id, "done", func(k Known) (c models.JobChange, err error) {
		if f.Readings, err = j.meters(ctx, a, k.Machine, f.On, typed); err != nil {
			return c, err
		}
		return job.Done(k.Job, k.Machine, k.Defs, f)
	})
	return after, err
}

// HandOver hands a job's machine over to its owner.
func (j *Jobs) HandOver(ctx context.Context, a Act, id string, h job.Hand, typed TypedMeters) (models.WholeJob, error) {
	_, after, err := j.Do(ctx, a, id, "handover", func(k Known) (c models.JobChange, err error) {
		if h.Readings, err = j.meters(ctx, a, k.Machine, h.On, typed); err != nil {
			return c, err
		}
		return job.HandOver(k.Job, h)
	})
	return after, err
}

// Do reads a job, has the rules make a change of it, and stores that. before
// is the job as it was read.
func (j *Jobs) Do(ctx context.Context, a Act, id, note string, rule func(Known) (models.JobChange, error)) (before, after models.WholeJob, err error) {
	k, err := j.Know(ctx, id)
	if err != nil {
		return before, after, err
	}
	c, err := rule(k)
	if err != nil {
		return k.Job, after, err
	}
	alert, err := j.alert(ctx, a, k, c)
	if err != nil {
		return k.Job, after, err
	}
	after, err = j.Store.ChangeJob(ctx, c, alert, a.entry(note))
	return k.Job, after, err
}

// Know reads a job with its machine and the checks in force.
func (j *Jobs) Know(ctx context.Context, id string) (k Known, err error) {
	if k.Job, err = j.Store.Job(ctx, id); err != nil {
		return k, err
	}
	if k.Machine, err = j.Store.FindMachine(ctx, "id:"+k.Job.Job.Machine); err != nil {
		return k, err
	}
	own, err := j.Store.CheckDefs(ctx)
	if err != nil {
		return k, err
	}
	k.Defs = job.Defs(own)
	return k, nil
}

// alert makes the message that tells the shop of a comeback; nil when there
// is none, or the desk has no address.
func (j *Jobs) alert(ctx context.Context, a Act, k Known, c models.JobChange) (*models.Message, error) {
	if j.Notify.Desk == "" || !job.CameBack(k.Job, c) {
		return nil, nil
	}
	people, err := j.Store.People(ctx, []string{k.Machine.Owner}, j.On(a))
	if err != nil {
		return nil, err
	}
	n := news{who: people[k.Machine.Owner].Owner.Name, why: models.ReasonComeback, machines: []models.Machine{k.Machine}, back: []Known{k}}
	for _, s := range c.Answers {
		n.said = s.Words
	}
	return alert(j.Notify, a.At, fmt.Sprintf("back/%s/%d", c.Job.ID, c.Job.Turn), k.Machine.Owner, n.words()), nil
}
