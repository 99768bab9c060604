package store

import (
	"errors"
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
		func() error { return w.checkDefs(set.CheckDefs) },
		func() error { return w.jobs(set.Jobs, jobs) },
		func() error { return w.jobLines(set.JobLines, jobs) },
		func() error { return w.parts(set.Parts, jobs) },
		func() error { return w.checks(set.Checks, jobs) },
		func() error { return w.checkAnswers(set.CheckAnswers, jobs) },
	}
	for _, step := range steps {
		if err := step(); err != nil {
			return err
		}
	}
	return w.jobsAgree(jobs)
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
	latest := byKey(now, key)
	var handed []models.Job
	for _, v := range vs {
		if v.State == models.JobHanded && latest[v.ID].State != models.JobHanded {
			handed = append(handed, v)
		}
	}
	if err := w.benchDone(handed); err != nil {
		return err
	}
	w.done.Jobs, err = putVersions(w, vs, latest, key,
		func(j *models.Job) *models.Fact { return &j.Fact },
		func(a, b models.Job) bool { a.Fact = b.Fact; return a == b },
		func(_ *models.Job, v models.Job) { changed[v.ID] = true })
	return saying(err, "writing jobs")
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

func (w *factWriter) jobLines(vs []models.JobLine, changed map[string]bool) error {
	if len(vs) == 0 {
		return nil
	}
	type key struct {
		job  string
		line int
	}
	keyOf := func(l models.JobLine) key { return key{l.Job, l.Line} }
	now, err := versionsOf[models.JobLine](w.tx, "job_lines_now", "job", namesOf(vs, func(l models.JobLine) string { return l.Job }))
	if err != nil {
		return err
	}
	w.done.JobLines, err = putVersions(w, vs, byKey(now, keyOf), keyOf,
		func(l *models.JobLine) *models.Fact { return &l.Fact },
		func(a, b models.JobLine) bool { // what was taken out does not come back
			a.Fact, a.Withdrawn = b.Fact, a.Withdrawn && b.Withdrawn
			return a == b
		},
		func(_ *models.JobLine, v models.JobLine) { changed[v.Job] = true })
	return saying(err, "writing the lines of jobs")
}

func (w *factWriter) parts(vs []models.Part, changed map[string]bool) error {
	if len(vs) == 0 {
		return nil
	}
	type key struct {
		job  string
		part int
	}
	keyOf := func(p models.Part) key { return key{p.Job, p.Part} }
	now, err := versionsOf[models.Part](w.tx, "job_parts_now", "job", namesOf(vs, func(p models.Part) string { return p.Job }))
	if err != nil {
		return err
	}
	w.done.Parts, err = putVersions(w, vs, byKey(now, keyOf), keyOf,
		func(p *models.Part) *models.Fact { return &p.Fact },
		func(a, b models.Part) bool {
			a.Fact, a.Withdrawn = b.Fact, a.Withdrawn && b.Withdrawn
			return a == b
		},
		func(_ *models.Part, v models.Part) { changed[v.Job] = true })
	return saying(err, "writing the parts of jobs")
}

func (w *factWriter) checkDefs(vs []models.CheckDef) error {
	if len(vs) == 0 {
		return nil
	}
	key := func(d models.CheckDef) string { return d.ID }
	now, err := versionsOf[models.CheckDef](w.tx, "check_defs_now", "def", namesOf(vs, key))
	if err != nil {
		return err
	}
	w.done.CheckDefs, err = putVersions(w, vs, byKey(now, key), key,
		func(d *models.CheckDef) *models.Fact { return &d.Fact },
		func(a, b models.CheckDef) bool { a.Fact = b.Fact; return a == b },
		func(*models.CheckDef, models.CheckDef) {})
	return saying(err, "writing what checks follow which work")
}

func (w *factWriter) checks(vs []models.Check, changed map[string]bool) error {
	if len(vs) == 0 {
		return nil
	}
	key := func(c models.Check) string { return c.ID }
	now, err := versionsOf[models.Check](w.tx, "checks_now", "check_no", namesOf(vs, key))
	if err != nil {
		return err
	}
	w.done.Checks, err = putVersions(w, vs, byKey(now, key), key,
		func(c *models.Check) *models.Fact { return &c.Fact },
		func(a, b models.Check) bool { a.Fact = b.Fact; return a == b },
		func(_ *models.Check, v models.Check) { changed[v.Job] = true })
	return saying(err, "writing checks")
}

func (w *factWriter) checkAnswers(vs []models.CheckAnswer, changed map[string]bool) (err error) {
	if len(vs) == 0 {
		return nil
	}
	checks, err := versionsOf[models.Check](w.tx, "checks_now", "check_no",
		namesOf(vs, func(a models.CheckAnswer) string { return a.Check }))
	if err != nil {
		return err
	}
	known := byKey(checks, func(c models.Check) string { return c.ID })
	jobs, err := versionsOf[models.Job](w.tx, "jobs_now", "job", namesOf(checks, func(c models.Check) string { return c.Job }))
	if err != nil {
		return err
	}
	machineOf := make(map[string]string, len(jobs))
	for _, j := range jobs {
		machineOf[j.ID] = j.Machine
	}
	st, err := w.prepare(`INSERT INTO check_answers (entry, check_no, answered_at, result, words, said_by)
		VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING`)
	if err != nil {
		return fmt.Errorf("writing answers to checks: %w", err)
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	for _, v := range vs {
		check, ok := known[v.Check]
		if !ok {
			return models.Errorf(models.CodeConflict, "record the check with its answers", "an answer names the check %s, which is not recorded", v.Check)
		}
		row, err := insert(w.ctx, st, w.entry, v.Check, v.At, v.Result, v.Words, v.By)
		if err != nil {
			return fmt.Errorf("writing the answer to check %s: %w", v.Check, err)
		}
		if row == 0 {
			w.done.CheckAnswers.Same++
		} else {
			w.done.CheckAnswers.New++
			changed[check.Job] = true
		}
		err = w.loadWithdrawn(models.SortAnswer, machineOf[check.Job], v.Withdrawn, "check_no = ? AND answered_at = ? AND result = ? AND words = ? AND said_by = ?",
			v.Check, v.At, v.Result, v.Words, v.By)
		if err != nil {
			return err
		}
	}
	return nil
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
	known := byKey(now, func(j models.Job) string { return j.ID })
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
