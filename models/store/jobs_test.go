package store

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// jobStore is a store with the small fleet in it.
func jobStore(t *testing.T) *Store {
	t.Helper()
	s := newStore(t)
	_, err := s.Record(t.Context(), fleet(), entry("import"))
	require.NoError(t, err)
	return s
}

func change(t *testing.T, s *Store, c models.JobChange) models.WholeJob {
	t.Helper()
	w, err := s.ChangeJob(t.Context(), c, nil, entry("job"))
	require.NoError(t, err)
	return w
}

// doneJob opens a job, gives it a line, a part and two bench checks, and has
// it done.
func doneJob(t *testing.T, s *Store) models.WholeJob {
	t.Helper()
	w := change(t, s, models.JobChange{
		Job:   models.Job{Machine: "M1", State: models.JobOpen, Turn: 1, OpenedOn: day1.AddDays(50), Complaint: "runs hot"},
		Lines: []models.JobLine{{Turn: 1, Item: "thermostat", By: "Pat", Cooling: true}, {Turn: 1, What: "cleaned the fins"}},
		Parts: []models.Part{{Turn: 1, Line: 1, Name: "thermostat", Number: "TH-1", CostCents: models.Num(2450)}},
	})
	j := w.Job
	j.State, j.DoneOn = models.JobDone, day1.AddDays(51)
	return change(t, s, models.JobChange{Job: j,
		Checks: []models.Check{
			{Turn: 1, Kind: models.CheckBench, Def: "bled", QuestionEN: "Bled cold?"},
			{Turn: 1, Kind: models.CheckBench, Def: "drip", QuestionEN: "No drip?"},
		},
		Services: []models.Service{{Machine: "M1", Item: "thermostat", At: day1.AddDays(51), Miles: models.Num(500)}},
	})
}

func handed(w models.WholeJob) models.Job {
	j := w.Job
	j.State, j.HandedOn = models.JobHanded, day1.AddDays(52)
	return j
}

func answer(check string, r models.CheckResult, at models.Instant) models.CheckAnswer {
	return models.CheckAnswer{Check: check, At: at, Result: r, By: "Pat"}
}

func TestJobIsNumberedKeptAndRead(t *testing.T) {
	s := jobStore(t)
	w := doneJob(t, s)
	assert.Equal(t, "1", w.Job.ID)
	assert.Equal(t, models.JobDone, w.Job.State)
	assert.Equal(t, "runs hot", w.Job.Complaint)
	require.Len(t, w.Lines, 2)
	assert.Equal(t, []int{1, 2}, []int{w.Lines[0].Line, w.Lines[1].Line})
	require.Len(t, w.Parts, 1)
	assert.Equal(t, models.Num(2450), w.Parts[0].CostCents)
	require.Len(t, w.Checks, 2)
	assert.Equal(t, "2", w.Checks[1].Check.ID)
	assert.True(t, w.Checks[0].Open())

	h, err := s.History(t.Context(), "M1", models.Window{})
	require.NoError(t, err)
	assert.Len(t, h.Services, 2, "the service of the job stands beside the oil")

	read, err := s.Job(t.Context(), "1")
	require.NoError(t, err)
	assert.Equal(t, w, read)
	of, err := s.JobsOf(t.Context(), []string{"M1", "M2"})
	require.NoError(t, err)
	assert.Equal(t, []models.WholeJob{w}, of)
	_, err = s.Job(t.Context(), "99")
	assert.Equal(t, models.CodeNotFound, models.CodeOf(err))

	versions, err := s.JobVersions(t.Context(), "1")
	require.NoError(t, err)
	require.Len(t, versions, 2)
	assert.Equal(t, []models.JobState{models.JobOpen, models.JobDone}, []models.JobState{versions[0].Job.State, versions[1].Job.State})
	assert.Equal(t, "test", versions[1].Entry.Actor)
}

func TestJobMarksItsMachineForTheNextRound(t *testing.T) {
	s := jobStore(t)
	saveLook(t, s, models.Look{States: []models.MachineState{
		{Machine: "M1", NextLook: models.MaxDate}, {Machine: "M2", NextLook: models.MaxDate}}, LastEntry: 99})
	w := doneJob(t, s)
	change(t, s, models.JobChange{Job: w.Job, Answers: []models.CheckAnswer{answer("1", models.CheckOK, 10)}})
	look, err := s.ToLook(t.Context(), day1.AddDays(60), day1.AddDays(60), 0)
	require.NoError(t, err)
	assert.Equal(t, []models.OwnerMachines{{Owner: "O1", Machines: []string{"M1"}}}, look)
}

// A machine with an open bench check stays at the shop: whatever way a
// hand-over comes, the store refuses it and says which check is open.
func TestNoHandOverWithAnOpenBenchCheck(t *testing.T) {
	s := jobStore(t)
	w := doneJob(t, s)
	refused := func(err error, which ...string) {
		t.Helper()
		require.Equal(t, models.CodeConflict, models.CodeOf(err))
		for _, text := range which {
			assert.ErrorContains(t, err, text)
		}
	}
	_, err := s.ChangeJob(t.Context(), models.JobChange{Job: handed(w)}, nil, entry("job"))
	refused(err, "1 (Bled cold?)", "2 (No drip?)")
	_, err = s.Record(t.Context(), models.FactSet{Jobs: []models.Job{handed(w)}}, entry("import"))
	refused(err, "1 (Bled cold?)")
	raw := handed(w) // past the store's methods: the database refuses too
	raw.Fact = models.Fact{Entry: 1, Replaces: &w.Job.Row}
	err = s.write.Create(&raw).Error
	require.ErrorContains(t, err, "a bench check is open")
	refused(asModelError(err), "a bench check is open")

	w = change(t, s, models.JobChange{Job: w.Job, Answers: []models.CheckAnswer{
		answer("1", models.CheckNotFitted, 10), answer("2", models.CheckBad, 11)}})
	_, err = s.ChangeJob(t.Context(), models.JobChange{Job: handed(w)}, nil, entry("job"))
	refused(err, "2 (No drip?)")
	assert.NotContains(t, err.Error(), "Bled")

	owed, err := s.OwedChecks(t.Context(), nil, models.CheckBench)
	require.NoError(t, err)
	require.Len(t, owed, 1)
	assert.Equal(t, "R1", owed[0].Machine.Tag)

	w = change(t, s, models.JobChange{Job: w.Job, Answers: []models.CheckAnswer{answer("2", models.CheckOK, 12)}})
	w = change(t, s, models.JobChange{Job: handed(w)})
	assert.Equal(t, models.JobHanded, w.Job.State)
}

func TestHandOverWithAReasonIsKept(t *testing.T) {
	s := jobStore(t)
	j := handed(doneJob(t, s))
	j.OverrideWhy = "owner fetched it, road call tomorrow"
	_, err := s.ChangeJob(t.Context(), models.JobChange{Job: j}, nil, entry("job"))
	require.Error(t, err, "a reason without a name is none")
	j.OverrideBy = "Pat"
	w := change(t, s, models.JobChange{Job: j})
	assert.Equal(t, "owner fetched it, road call tomorrow", w.Job.OverrideWhy)
	owed, err := s.OwedChecks(t.Context(), nil, "")
	require.NoError(t, err)
	assert.Empty(t, owed, "the bench is done with it")

	w.Job.Cause = "thermostat stuck" // a correction afterwards is no second hand-over
	assert.Equal(t, "thermostat stuck", change(t, s, models.JobChange{Job: w.Job}).Job.Cause)
}

func TestAJobKeepsItsOrder(t *testing.T) {
	s := jobStore(t)
	w := change(t, s, models.JobChange{Job: models.Job{Machine: "M1", State: models.JobOpen, Turn: 1, OpenedOn: day1}})
	try := func(edit func(*models.Job)) error {
		j := w.Job
		edit(&j)
		_, err := s.ChangeJob(t.Context(), models.JobChange{Job: j}, nil, entry("job"))
		return err
	}
	for name, edit := range map[string]func(*models.Job){
		"handed over before it is done": func(j *models.Job) { j.State = models.JobHanded },
		"reopened before the hand-over": func(j *models.Job) { j.State, j.Turn = models.JobReopened, 2 },
		"another machine's":             func(j *models.Job) { j.Machine = "M2" },
		"another turn":                  func(j *models.Job) { j.Turn = 2 },
	} {
		assert.Equal(t, models.CodeConflict, models.CodeOf(try(edit)), name)
	}
	require.NoError(t, try(func(j *models.Job) { j.Cause = "first" }))
	err := try(func(j *models.Job) { j.Cause = "second, from the old version" })
	assert.Equal(t, models.CodeConflict, models.CodeOf(err))
	assert.ErrorContains(t, err, "changed by somebody else")
}

func TestReopenedJobAsksItsChecksAnew(t *testing.T) {
	s := jobStore(t)
	w := doneJob(t, s)
	w = change(t, s, models.JobChange{Job: w.Job, Answers: []models.CheckAnswer{
		answer("1", models.CheckOK, 10), answer("2", models.CheckOK, 11)}})
	w = change(t, s, models.JobChange{Job: handed(w), Checks: []models.Check{
		{Turn: 1, Kind: models.CheckOwner, QuestionEN: "Is it right?", AfterDays: 7, From: day1.AddDays(52)}}})
	owed, err := s.OwedChecks(t.Context(), []string{"M1"}, models.CheckOwner)
	require.NoError(t, err)
	require.Len(t, owed, 1)
	assert.Equal(t, "3", owed[0].Check.ID)

	alert := models.Message{Key: "alert/1", Purpose: models.PurposeShopAlert, Channel: models.ChannelMail, State: models.MessageQueued}
	j := w.Job
	j.State, j.Turn, j.BackOn = models.JobReopened, 2, day1.AddDays(60)
	w, err = s.ChangeJob(t.Context(), models.JobChange{Job: j, Answers: []models.CheckAnswer{answer("3", models.CheckBad, 20)}}, &alert, entry("reply"))
	require.NoError(t, err)
	assert.Equal(t, 2, w.Job.Turn)
	var queued int64
	require.NoError(t, s.read.Model(&models.Message{}).Where("key = 'alert/1'").Count(&queued).Error)
	assert.EqualValues(t, 1, queued, "the shop is told in the same transaction")
	c, err := s.Check(t.Context(), "3")
	require.NoError(t, err)
	assert.False(t, c.Open())
	assert.Equal(t, "1", c.Job.ID)
	_, err = s.Check(t.Context(), "77")
	assert.Equal(t, models.CodeNotFound, models.CodeOf(err))
}

// An owner is not asked about a repair that a later visit has seen.
func TestOwnersCheckLapsesWithTheNextHandOver(t *testing.T) {
	s := jobStore(t)
	visit := func(on models.Date) models.WholeJob {
		w := change(t, s, models.JobChange{Job: models.Job{Machine: "M1", State: models.JobOpen, Turn: 1, OpenedOn: on}})
		w.Job.State, w.Job.DoneOn = models.JobDone, on
		w = change(t, s, models.JobChange{Job: w.Job})
		w.Job.State, w.Job.HandedOn = models.JobHanded, on
		return change(t, s, models.JobChange{Job: w.Job, Checks: []models.Check{{Turn: 1, Kind: models.CheckOwner, QuestionEN: "Is it right?", From: on}}})
	}
	owed := func() (jobs []string) {
		cs, err := s.OwedChecks(t.Context(), nil, models.CheckOwner)
		require.NoError(t, err)
		for _, c := range cs {
			jobs = append(jobs, c.Job.ID)
		}
		return jobs
	}
	first := visit(day1)
	assert.Equal(t, []string{first.Job.ID}, owed())
	second := visit(day1.AddDays(20))
	assert.Equal(t, []string{second.Job.ID}, owed())
	third := visit(day1.AddDays(20))
	assert.Equal(t, []string{second.Job.ID, third.Job.ID}, owed(), "two jobs of one visit are both asked")
}

func TestJobFactsAreWrittenOnceAndExportWhole(t *testing.T) {
	s := jobStore(t)
	w := doneJob(t, s)
	change(t, s, models.JobChange{Job: w.Job, Answers: []models.CheckAnswer{answer("2", models.CheckBad, 11), answer("1", models.CheckOK, 10)}})
	_, err := s.Record(t.Context(), models.FactSet{CheckDefs: []models.CheckDef{{ID: "own", Kind: models.CheckBench, QuestionEN: "Greased?"}}}, entry("import"))
	require.NoError(t, err)
	for _, table := range []string{"jobs", "job_lines", "job_parts", "check_defs", "checks", "check_answers"} {
		_, err := s.writeDB.ExecContext(t.Context(), "DELETE FROM "+table)
		assert.ErrorContains(t, err, "facts are written once", table)
		_, err = s.writeDB.ExecContext(t.Context(), "UPDATE "+table+" SET id = id + 100")
		assert.ErrorContains(t, err, "facts are written once", table)
	}
	set, err := s.AllFacts(t.Context())
	require.NoError(t, err)
	other := newStore(t)
	first, err := other.Record(t.Context(), set, entry("import"))
	require.NoError(t, err)
	assert.Equal(t, models.Counts{New: 2}, first.CheckAnswers)
	again, err := other.Record(t.Context(), set, entry("import"))
	require.NoError(t, err)
	assert.False(t, again.Changed())
	back, err := other.Job(t.Context(), "1")
	require.NoError(t, err)
	assert.Equal(t, []models.CheckResult{models.CheckOK, models.CheckBad},
		[]models.CheckResult{back.Checks[0].Answers[0].Result, back.Checks[1].Answers[0].Result})
}

func TestWhatHangsOnNoJobIsRefused(t *testing.T) {
	s := jobStore(t)
	for name, set := range map[string]models.FactSet{
		"line":   {JobLines: []models.JobLine{{Job: "9", Line: 1, Turn: 1, What: "x"}}},
		"part":   {Parts: []models.Part{{Job: "9", Part: 1, Turn: 1, Name: "x"}}},
		"check":  {Checks: []models.Check{{ID: "1", Job: "9", Turn: 1, Kind: models.CheckBench, QuestionEN: "x"}}},
		"answer": {CheckAnswers: []models.CheckAnswer{answer("9", models.CheckOK, 1)}},
	} {
		_, err := s.Record(t.Context(), set, entry("import"))
		assert.Equal(t, models.CodeConflict, models.CodeOf(err), name)
		assert.ErrorContains(t, err, "is not recorded", name)
	}
}
