package store

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"gorm.io/gorm"

	"example.org/roundsman/models"
)

// Orders in which numbers come before other names, and 2 before 10.
const (
	jobOrder   = "CAST(job AS INTEGER), job"
	checkOrder = "CAST(check_no AS INTEGER), check_no"
)

// jobFacts writes jobs and all that hangs on them.
func (w *factWriter) jobFacts(set models.FactSet) error {
	jobs := map[string]bool{} // those with something new
	steps := []func() error{
		func() error {
			return put(w, &w.done.CheckDefs, set.CheckDefs, "def", func(d models.CheckDef) (string, any) { return d.ID, nil },
				alike[models.CheckDef], nil)
		},
		func() error { return w.jobs(set.Jobs, jobs) },
		func() error {
			return putInJobs(w, &w.done.JobLines, set.JobLines, jobs, inJob[models.JobLine]{
				sort: models.SortLine, view: "job_lines_now", column: "line",
				key:   func(l models.JobLine) (string, any) { return l.Job, l.Line },
				taken: func(l *models.JobLine) (*bool, *models.TakenOut) { return &l.Withdrawn, &l.TakenOut },
			})
		},
		func() error {
			return putInJobs(w, &w.done.Parts, set.Parts, jobs, inJob[models.Part]{
				sort: models.SortPart, view: "job_parts_now", column: "part",
				key:   func(p models.Part) (string, any) { return p.Job, p.Part },
				taken: func(p *models.Part) (*bool, *models.TakenOut) { return &p.Withdrawn, &p.TakenOut },
			})
		},
		func() error {
			return put(w, &w.done.Checks, set.Checks, "check_no", func(c models.Check) (string, any) { return c.ID, nil },
				alike[models.Check], func(c models.Check) { jobs[c.Job] = true })
		},
		func() error { return w.checkAnswers(set.CheckAnswers, jobs) },
	}
	for _, step := range steps {
		if err := step(); err != nil {
			return err
		}
	}
	return w.jobsAgree(jobs)
}

// inJob says how lines or parts of jobs are kept, for putInJobs.
type inJob[T any] struct {
	sort         models.FactSort
	view, column string // those that hold, and the column of their number
	key          func(T) (job string, number any)
	taken        func(*T) (*bool, *models.TakenOut)
}

// putInJobs writes lines or parts of jobs. What was taken out does not come
// back; one that is said to have been taken out for a reason is written as it
// was and then taken back.
func putInJobs[T comparable, P head[T]](w *factWriter, c *models.Counts, vs []T, jobs map[string]bool, o inJob[T]) error {
	written, reasons := slices.Clone(vs), make([]models.TakenOut, len(vs))
	for i := range written {
		out, why := o.taken(&written[i])
		reasons[i], *why = *why, models.TakenOut{}
		*out = *out && reasons[i].TakenWhy == ""
	}
	err := put[T, P](w, c, written, "job", o.key, func(a, b T) bool {
		had, _ := o.taken(&a)
		has, _ := o.taken(&b)
		*had = *had && *has
		return alike[T, P](a, b)
	}, func(v T) {
		job, _ := o.key(v)
		jobs[job] = true
	})
	if err != nil {
		return err
	}
	for i, r := range reasons {
		if r.TakenWhy == "" {
			continue
		}
		job, number := o.key(vs[i])
		rows, err := list[int64](w.tx.Raw("SELECT id FROM "+o.view+" WHERE job = ? AND "+o.column+" = ? AND NOT withdrawn", job, number), "reading what job %s withdrew", job)
		if err != nil {
			return err
		}
		for _, row := range rows {
			jobs[job] = true
			w.done.Withdrawals.New++
			if err := w.withdraw(models.Withdrawal{Sort: o.sort, Taken: row, Why: r.TakenWhy, By: r.TakenBy}); err != nil {
				return err
			}
		}
	}
	return nil
}

// versionsOf gives the latest versions of the rows of a view whose column has
// one of some values.
func versionsOf[T any](tx *gorm.DB, view, column string, values []string) ([]T, error) {
	return list[T](tx.Table(view).Where(column+" IN (SELECT value FROM json_each(?))", jsonList(values)).Order("id"), "reading %s", view)
}

// namesOf gives the names of values, each once.
func namesOf[T any](vs []T, name func(T) string) []string {
	seen := make(map[string]bool, len(vs))
	var out []string
	for _, v := range vs {
		if n := name(v); !seen[n] {
			seen[n] = true
			out = append(out, n)
		}
	}
	return out
}

func (w *factWriter) jobs(vs []models.Job, changed map[string]bool) error {
	if len(vs) == 0 {
		return nil
	}
	key := func(j models.Job) string { return j.ID }
	now, err := versionsOf[models.Job](w.tx, "jobs_now", "job", namesOf(vs, key))
	if err != nil {
		return err
	}
	latest := models.ByKey(now, key)
	var handed []models.Job
	for _, v := range vs {
		if v.State == models.JobHanded && latest[v.ID].State != models.JobHanded {
			handed = append(handed, v)
		}
	}
	if err := w.benchDone(handed); err != nil {
		return err
	}
	return put(w, &w.done.Jobs, vs, "job", func(j models.Job) (string, any) { return j.ID, nil }, alike[models.Job],
		func(j models.Job) { changed[j.ID] = true })
}

// benchDone refuses to hand machines over while a check before hand-over of the job's
// present turn is open and no reason is given; it says which.
func (w *factWriter) benchDone(jobs []models.Job) error {
	bound := map[string]models.Job{} // those without a reason
	for _, j := range jobs {
		if j.OverrideWhy == "" || j.OverrideBy == "" {
			bound[j.ID] = j
		}
	}
	if len(bound) == 0 {
		return nil
	}
	open, err := list[models.Check](w.tx.Table("checks_now").Where("job IN (SELECT value FROM json_each(?)) AND kind = ? AND open",
		jsonList(slices.Sorted(maps.Keys(bound))), models.CheckBench).Order(jobOrder+", "+checkOrder), "reading open checks")
	if err != nil {
		return err
	}
	var say []string
	job := ""
	for _, c := range open {
		j, ok := bound[c.Job]
		if !ok || c.Turn != j.Turn || (job != "" && job != j.ID) {
			continue
		}
		job = j.ID
		say = append(say, fmt.Sprintf("%s (%s)", c.ID, models.Shorten(c.QuestionEN, 60)))
	}
	if job == "" {
		return nil
	}
	return models.Errorf(models.CodeConflict, "answer them, or give a reason and a name",
		"job %s cannot be handed over while a check before hand-over is open: %s", job, strings.Join(say, "; "))
}

func (w *factWriter) checkAnswers(vs []models.CheckAnswer, changed map[string]bool) error {
	if len(vs) == 0 {
		return nil
	}
	checks, err := versionsOf[models.Check](w.tx, "checks_now", "check_no",
		namesOf(vs, func(a models.CheckAnswer) string { return a.Check }))
	if err != nil {
		return err
	}
	known := models.ByKey(checks, func(c models.Check) string { return c.ID })
	jobs, err := versionsOf[models.Job](w.tx, "jobs_now", "job", namesOf(checks, func(c models.Check) string { return c.Job }))
	if err != nil {
		return err
	}
	jobOf := models.ByKey(jobs, func(j models.Job) string { return j.ID })
	for _, v := range vs {
		if known[v.Check].ID == "" {
			return models.Errorf(models.CodeConflict, "record the check with its answers", "an answer names the check %s, which is not recorded", v.Check)
		}
	}
	return putEach(w.tx, "answers to checks", vs, nil, inEntry[models.CheckAnswer](w),
		func(v models.CheckAnswer, row int64) error {
			job := known[v.Check].Job
			if tally(&w.done.CheckAnswers, row) {
				changed[job] = true
			}
			return w.loadWithdrawn(models.SortAnswer, jobOf[job].Machine, v.Withdrawn, "check_no = ? AND answered_at = ? AND result = ? AND words = ? AND said_by = ?",
				v.Check, v.At, v.Result, v.Words, v.By)
		})
}

// jobsAgree marks the machines of changed jobs, and refuses what names a job
// that is not recorded, and hand-overs of this entry with a check before hand-over open.
func (w *factWriter) jobsAgree(changed map[string]bool) error {
	if len(changed) == 0 {
		return nil
	}
	ids := make([]string, 0, len(changed))
	for id := range changed {
		ids = append(ids, id)
	}
	now, err := versionsOf[models.Job](w.tx, "jobs_now", "job", ids)
	if err != nil {
		return err
	}
	known := models.ByKey(now, func(j models.Job) string { return j.ID })
	var handed []models.Job
	for _, id := range ids {
		j, ok := known[id]
		if !ok {
			return models.Errorf(models.CodeConflict, "record the job with what hangs on it", "a line, part or check names the job %s, which is not recorded", id)
		}
		w.touched[j.Machine] = true
		if j.State == models.JobHanded && j.Entry == w.entry && j.Replaces == nil {
			handed = append(handed, j) // its checks came after it
		}
	}
	return w.benchDone(handed)
}
