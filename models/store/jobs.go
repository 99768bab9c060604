package store

import (
	"context"
	"fmt"
	"slices"

	"gorm.io/gorm"

	"example.org/roundsman/models"
)

// ChangeJob stores what one act changes in a job, whole or not at all, and
// gives the job as it stands then. A job, line, part or check without a number
// gets the next one. A job that somebody else has changed since it was read
// gives models.CodeConflict, as does a hand-over with a bench check open. The
// machine is marked for the next round. An alert is put into the outbox as a
// message, when it is not nil.
func (s *Store) ChangeJob(ctx context.Context, c models.JobChange, alert *models.Message, by models.Entry) (models.WholeJob, error) {
	var after models.WholeJob
	err := s.record(ctx, by, func(w *factWriter) (bool, error) {
		if err := w.change(&c); err != nil {
			return false, err
		}
		if alert != nil && w.done.Changed() {
			if err := w.tx.Create(alert).Error; err != nil {
				return false, fmt.Errorf("queuing the alert: %w", err)
			}
		}
		jobs, err := wholeJobs(w.tx, []models.Job{c.Job})
		if err != nil {
			return false, err
		}
		after = jobs[0]
		return w.done.Changed(), nil
	})
	if err != nil {
		return models.WholeJob{}, err
	}
	return after, nil
}

// change writes what one act changes in a job.
func (w *factWriter) change(c *models.JobChange) error {
	if err := w.based(c.Job); err != nil {
		return err
	}
	if err := w.number(c); err != nil {
		return err
	}
	return w.all(models.FactSet{
		ByHand: true, Jobs: []models.Job{c.Job}, JobLines: c.Lines, Parts: c.Parts, Checks: c.Checks, CheckAnswers: c.Answers,
		Services: c.Services, Readings: c.Readings,
	})
}

// based refuses a change that was made from an old version of the job.
func (w *factWriter) based(j models.Job) error {
	if j.ID == "" {
		return nil
	}
	now, err := versionsOf[models.Job](w.tx, "jobs_now", "job", []string{j.ID})
	if err != nil {
		return err
	}
	if len(now) == 1 && j.Row != now[0].Row {
		return models.Errorf(models.CodeConflict, "look at it again and repeat what is still to be done",
			"job %s was changed by somebody else a moment ago", j.ID)
	}
	return nil
}

// number gives numbers to what has none.
func (w *factWriter) number(c *models.JobChange) error {
	next := func(query string, args ...any) (n int, err error) {
		err = w.tx.Raw("SELECT ifnull(max("+query, args...).Scan(&n).Error
		return n + 1, saying(err, "numbering")
	}
	if c.Job.ID == "" {
		n, err := next("CAST(job AS INTEGER)), 0) FROM jobs WHERE job NOT GLOB '*[^0-9]*'")
		if err != nil {
			return err
		}
		c.Job.ID = fmt.Sprint(n)
	}
	line, err := next("line), 0) FROM job_lines WHERE job = ?", c.Job.ID)
	if err != nil {
		return err
	}
	part, err := next("part), 0) FROM job_parts WHERE job = ?", c.Job.ID)
	if err != nil {
		return err
	}
	check, err := next("CAST(check_no AS INTEGER)), 0) FROM checks WHERE check_no NOT GLOB '*[^0-9]*'")
	if err != nil {
		return err
	}
	c.Lines, c.Parts, c.Checks = slices.Clone(c.Lines), slices.Clone(c.Parts), slices.Clone(c.Checks)
	for i := range c.Lines {
		c.Lines[i].Job = c.Job.ID
		if c.Lines[i].Line == 0 {
			c.Lines[i].Line = line
			line++
		}
	}
	for i := range c.Parts {
		c.Parts[i].Job = c.Job.ID
		if c.Parts[i].Part == 0 {
			c.Parts[i].Part = part
			part++
		}
	}
	for i := range c.Checks {
		c.Checks[i].Job = c.Job.ID
		if c.Checks[i].ID == "" {
			c.Checks[i].ID = fmt.Sprint(check)
			check++
		}
	}
	return nil
}

// wholeJobs reads all that hangs on jobs, in their order.
func wholeJobs(tx *gorm.DB, jobs []models.Job) ([]models.WholeJob, error) {
	ids := namesOf(jobs, func(j models.Job) string { return j.ID })
	list := jsonList(ids)
	var lines []models.JobLine
	var parts []models.Part
	var checks []models.Check
	var answers []models.CheckAnswer
	var now []models.Job
	for _, q := range []struct {
		table, order string
		into         any
	}{
		{"jobs_now", "job", &now},
		{"job_lines_now", "job, line", &lines}, {"job_parts_now", "job, part", &parts}, {"checks_now", checkOrder, &checks},
	} {
		err := tx.Table(q.table).Where("job IN (SELECT value FROM json_each(?))", list).Order(q.order).Find(q.into).Error
		if err != nil {
			return nil, fmt.Errorf("reading %s: %w", q.table, err)
		}
	}
	err := tx.Table("check_answers_now").Where("check_no IN (SELECT value FROM json_each(?))", jsonList(namesOf(checks, func(c models.Check) string { return c.ID }))).
		Order("answered_at, id").Find(&answers).Error
	if err != nil {
		return nil, fmt.Errorf("reading answers to checks: %w", err)
	}
	latest := models.ByKey(now, func(j models.Job) string { return j.ID })
	out := make([]models.WholeJob, len(ids))
	at := make(map[string]*models.WholeJob, len(ids))
	for i, id := range ids {
		out[i].Job = latest[id]
		at[id] = &out[i]
	}
	for _, l := range lines {
		at[l.Job].Lines = append(at[l.Job].Lines, l)
	}
	for _, p := range parts {
		at[p.Job].Parts = append(at[p.Job].Parts, p)
	}
	said := map[string][]models.CheckAnswer{}
	for _, a := range answers {
		said[a.Check] = append(said[a.Check], a)
	}
	for _, c := range checks {
		at[c.Job].Checks = append(at[c.Job].Checks, models.AskedCheck{Check: c, Answers: said[c.ID]})
	}
	return out, nil
}

// Job gives a job by its number. An unknown one gives models.CodeNotFound.
func (s *Store) Job(ctx context.Context, id string) (models.WholeJob, error) {
	jobs, err := s.jobsWhere(ctx, "job = ?", id)
	if err != nil {
		return models.WholeJob{}, err
	}
	if len(jobs) == 0 {
		return models.WholeJob{}, models.Errorf(models.CodeNotFound, "`roundsman job list` lists them", "there is no job %s", id)
	}
	return jobs[0], nil
}

// JobsOf gives the jobs of machines, the newest first; nil is every machine.
func (s *Store) JobsOf(ctx context.Context, machines []string) ([]models.WholeJob, error) {
	if machines == nil {
		return s.jobsWhere(ctx, "")
	}
	return s.jobsWhere(ctx, "machine IN (SELECT value FROM json_each(?))", jsonList(machines))
}

func (s *Store) jobsWhere(ctx context.Context, where string, args ...any) (out []models.WholeJob, err error) {
	err = s.view(ctx, func(tx *gorm.DB) error {
		db := tx.Table("jobs_now").Order("opened_on DESC, CAST(job AS INTEGER) DESC, job DESC")
		if where != "" {
			db = db.Where(where, args...)
		}
		var jobs []models.Job
		if err := db.Find(&jobs).Error; err != nil {
			return err
		}
		out, err = wholeJobs(tx, jobs)
		return err
	})
	return out, saying(err, "reading jobs")
}

// Names gives by the names of their files the numbers of all jobs and checks
// and the keys of all messages and replies.
func (s *Store) Names(ctx context.Context) (map[string]map[string]bool, error) {
	out := map[string]map[string]bool{}
	for table, column := range map[string]string{"jobs": "job", "checks": "check_no", "messages": "key", "replies": "key"} {
		var names []string
		if err := s.read.WithContext(ctx).Table(table).Distinct(column).Pluck(column, &names).Error; err != nil {
			return nil, saying(err, "reading the names of %s", table)
		}
		known := make(map[string]bool, len(names))
		for _, n := range names {
			known[n] = true
		}
		out[table+".csv"] = known
	}
	return out, nil
}

// JobVersions gives every version of a job with its entry, the oldest first.
func (s *Store) JobVersions(ctx context.Context, id string) (out []models.JobVersion, err error) {
	err = s.view(ctx, func(tx *gorm.DB) error {
		return eachVersion(tx, "job = ?", id, func(v models.Job, e models.Entry) { out = append(out, models.JobVersion{Job: v, Entry: e}) })
	})
	return out, saying(err, "reading the history of job %s", id)
}
