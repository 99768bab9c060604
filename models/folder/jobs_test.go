package folder

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
)

// anyJobs draws jobs on a folder's machines and what hangs on them.
func anyJobs(t *rapid.T, f *models.FactSet) {
	limits := func(miles, hours *models.Number) {
		for _, l := range []*models.Number{miles, hours} {
			if l.F == 0 {
				*l = models.Number{}
			}
		}
	}
	f.Jobs = several(t, 3, func(v *models.Job, n int) {
		m := rapid.SampledFrom(f.Machines).Draw(t, "machine")
		v.Machine, v.ID, v.OpenedOn = m.ID, v.ID+fmt.Sprint("j", n), max(v.OpenedOn, firstDay)
		onlyMeters(m.Meters, &v.Miles, &v.Hours)
		v.Turn = 2 + v.Turn%900
		v.BackOn = max(v.BackOn, firstDay)
		v.HandedOn, v.DoneOn = 0, 0
		v.State = rapid.SampledFrom(models.JobStates()).Draw(t, "state")
		if v.State == models.JobHanded || v.State == models.JobDone {
			v.DoneOn = v.OpenedOn
		}
		if v.State == models.JobHanded {
			v.HandedOn = v.DoneOn
		}
		v.OverrideWhy, v.OverrideBy = v.OverrideWhy+"x", v.OverrideBy+"x"
	}, func(v models.Job) string { return v.ID })
	f.CheckDefs = several(t, 2, func(v *models.CheckDef, n int) {
		v.ID, v.QuestionEN = v.ID+fmt.Sprint("d", n), v.QuestionEN+"q"
		limits(&v.AfterMiles, &v.AfterHours)
	}, func(v models.CheckDef) string { return v.ID })
	if len(f.Jobs) == 0 {
		return
	}
	job := func() string { return rapid.SampledFrom(f.Jobs).Draw(t, "job").ID }
	f.JobLines = several(t, 4, func(v *models.JobLine, n int) {
		v.Job, v.Line, v.Turn, v.What = job(), n+1, max(v.Turn%1000, 1), v.What+"w"
		v.Withdrawn = v.Withdrawn || v.TakenWhy != ""
	}, func(v models.JobLine) string { return fmt.Sprint(v.Job, v.Line) })
	f.Parts = several(t, 3, func(v *models.Part, n int) {
		v.Job, v.Part, v.Turn, v.Name = job(), n+1, max(v.Turn%1000, 1), v.Name+"p"
		limits(&v.Qty, &v.Qty)
		v.Withdrawn = v.Withdrawn || v.TakenWhy != ""
	}, func(v models.Part) string { return fmt.Sprint(v.Job, v.Part) })
	f.Checks = several(t, 3, func(v *models.Check, n int) {
		v.Job, v.ID, v.Turn, v.QuestionEN = job(), v.ID+fmt.Sprint("c", n), max(v.Turn%1000, 1), v.QuestionEN+"q"
		limits(&v.AfterMiles, &v.AfterHours)
	}, func(v models.Check) string { return v.ID })
	if len(f.Checks) > 0 {
		f.CheckAnswers = several(t, 4, func(v *models.CheckAnswer, _ int) {
			v.Check = rapid.SampledFrom(f.Checks).Draw(t, "check").ID
		}, func(v models.CheckAnswer) models.CheckAnswer { return v })
	}
}

const jobsHead = "job,machine,opened_on,complaint,state,turn,done_on,handed_on,back_on,override_why,override_by,miles,codes\n"

func TestJobsTakeTheirStateFromTheirDates(t *testing.T) {
	fsys := onDisk(map[string]string{"machines.csv": baseMachines,
		"jobs.csv": "job,machine,opened_on,complaint,done_on,handed_on\n" +
			"1,M1,2025-01-02,runs hot,,\n2,M1,2025-01-02,,2025-01-03,\n3,M1,2025-01-02,,2025-01-03,2025-01-04\n",
		"job_lines.csv":     "job,line,item,what,cooling\n1,1,coolant,,yes\n1,2,,fins cleaned,no\n",
		"parts.csv":         "job,part,name,number,cost_cents\n1,1,thermostat,TH-1,2450\n",
		"check_defs.csv":    "def,kind,items,question_en,retired\nown,bench,belt,Run in?,\ncooling_washer,bench,,,yes\n",
		"checks.csv":        "check,job,kind,question_en\n9,1,bench,Bled?\n",
		"check_answers.csv": "check,answered_at,result\n9,2025-01-02T10:00:00-07:00,OK\n",
	})
	f, report := readAll(t, fsys, Options{Now: today})
	require.Empty(t, texts(report.Faults))
	require.Len(t, f.Jobs, 3)
	var states []models.JobState
	for _, j := range f.Jobs {
		states = append(states, j.State)
		assert.Equal(t, 1, j.Turn)
	}
	assert.Equal(t, []models.JobState{models.JobOpen, models.JobDone, models.JobHanded}, states)
	assert.True(t, f.JobLines[0].Cooling)
	assert.False(t, f.JobLines[1].Cooling)
	assert.Equal(t, "2025-01-02T17:00:00Z", f.CheckAnswers[0].At.String())
	assert.Equal(t, models.CheckOK, f.CheckAnswers[0].Result)
}

func TestFaultsOfJobs(t *testing.T) {
	row := func(s string) map[string]string { return map[string]string{"jobs.csv": jobsHead + s + "\n"} }
	base := func(file, text string) map[string]string {
		return map[string]string{"jobs.csv": jobsHead + "1,M1,2025-01-02,,,,,,,,,,\n", file: text}
	}
	for want, files := range map[string]map[string]string{
		"is not in machines.csv":                       row("1,M9,2025-01-02,,,,,,,,,,"),
		"is empty, and the job is handed over":         row("1,M1,2025-01-02,,handed over,,2025-01-03,,,,,,"),
		"is given, and the job is open":                row("1,M1,2025-01-02,,open,,2025-01-03,2025-01-03,,,,,"),
		"is empty, and the job is done":                row("1,M1,2025-01-02,,done,,,,,,,,"),
		"is empty, and the job is reopened":            row("1,M1,2025-01-02,,reopened,2,,,,,,,"),
		"is the first, and the job is reopened":        row("1,M1,2025-01-02,,reopened,,,,2025-02-01,,,,"),
		"is before the job was opened":                 row("1,M1,2025-01-02,,,,2025-01-01,,,,,,"),
		"is before the work was done":                  row("1,M1,2025-01-02,,,,2025-01-05,2025-01-04,,,,,"),
		"and override_why go together":                 row("1,M1,2025-01-02,,,,,,,because,,,"),
		"holds what is no trouble code":                row("1,M1,2025-01-02,,,,,,,,,,P9"),
		"is not one of the words for it":               row("1,M1,2025-01-02,,lost,,,,,,,,"),
		"is not in jobs.csv":                           base("job_lines.csv", "job,line,item,what\n7,1,oil,\n"),
		"says neither an item nor what was repaired":   base("job_lines.csv", "job,line,item,what\n1,1,,\n"),
		"says neither what it is nor its number":       base("parts.csv", "job,part,name,number\n1,1,,\n"),
		"is out of range":                              base("parts.csv", "job,part,name,number,cost_cents\n1,1,x,,24.5\n"),
		"write the question in English, or mark":       base("check_defs.csv", "def,kind,items,question_en\nown,bench,belt,\n"),
		"is not in checks.csv":                         base("check_answers.csv", "check,answered_at,result\n9,2025-01-02T10:00:00Z,ok\n"),
		"is not a time":                                base("check_answers.csv", "check,answered_at,result\n9,2025-01-02,ok\n"),
		"is still to come":                             base("check_answers.csv", "check,answered_at,result\n9,2099-01-02T00:00:00Z,ok\n"),
		"is on line 2 already":                         row("1,M1,2025-01-02,a,,,,,,,,,\n1,M1,2025-01-02,b,,,,,,,,,"),
		"is on line 2 of the file already":             base("job_lines.csv", "job,line,item,what\n1,1,oil,\n1,1,belt,\n"),
		"is for a meter that machine M3 does not have": row("1,M3,2025-01-02,,,,,,,,,5,"),
	} {
		files["machines.csv"] = "machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max\n" +
			"M1,T1,utv,O1,both,2024-01-01,,,\nM3,T3,generator,O1,hours,2024-01-01,,,\n"
		_, report := readAll(t, onDisk(files), Options{Now: today})
		told := strings.Join(texts(report.Faults), "\n")
		assert.Contains(t, told, want)
	}
}
