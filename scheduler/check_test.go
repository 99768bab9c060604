package scheduler_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
	"example.org/roundsman/scheduler"
	"example.org/roundsman/scheduler/job"
)

// repaired opens, does and hands over a job on M1 and gives its number.
func repaired(t *testing.T, st *store.Store, jobs *scheduler.Jobs, at time.Time) string {
	t.Helper()
	m, err := st.FindMachine(t.Context(), "M1")
	require.NoError(t, err)
	act := scheduler.Act{At: at, By: "Lee", Means: "job"}
	w, err := jobs.Open(t.Context(), act, job.Opening{Machine: m, On: jobs.On(act), By: "Lee", Complaint: "stalls when warm"}, scheduler.TypedMeters{})
	require.NoError(t, err)
	for _, rule := range []func(scheduler.Known) (models.JobChange, error){
		func(k scheduler.Known) (models.JobChange, error) {
			return job.AddLine(k.Job, k.Machine, k.Defs, job.Work{Item: models.ItemThermostatChange, By: "Lee"})
		},
		func(k scheduler.Known) (models.JobChange, error) {
			return job.Done(k.Job, k.Machine, k.Defs, job.Finish{On: jobs.On(act), By: "Lee", Cause: "stuck", Correction: "new thermostat"})
		},
	} {
		_, w, err = jobs.Do(t.Context(), act, w.Job.ID, "test", rule)
		require.NoError(t, err)
	}
	handOver := func(why, who string) error {
		_, _, err := jobs.Do(t.Context(), act, w.Job.ID, "test", func(k scheduler.Known) (models.JobChange, error) {
			return job.HandOver(k.Job, job.Hand{On: jobs.On(act), By: "Lee", Why: why, Who: who})
		})
		return err
	}
	assert.Equal(t, models.CodeConflict, models.CodeOf(handOver("", "")), "not while a check before hand-over is open")
	require.NoError(t, handOver("the owner waits at the gate", "Max"))
	return w.Job.ID
}

// TestOwnersAreAskedWhetherTheRepairHeldUntilTheyAnswer goes from the job to
// the question, to the question asked again, and to "it's back".
func TestOwnersAreAskedWhetherTheRepairHeldUntilTheyAnswer(t *testing.T) {
	k := newTalk(t)
	handed := date("2026-03-12")
	id := repaired(t, k.st, k.p.Jobs, noon(handed))
	asked := func() (out []models.Notice) {
		for _, n := range notices(t, k.st) {
			if n.Subject == models.SubjectCheck {
				out = append(out, n)
			}
		}
		return out
	}
	h := runnerOf(k.st)
	tell(t, h, k.st, handed)
	assert.Empty(t, asked(), "not on the day of the hand-over")
	for d := handed.AddDays(1); d <= handed.AddDays(30); d++ {
		tell(t, h, k.st, d)
	}
	require.NotEmpty(t, asked())
	assert.LessOrEqual(t, asked()[0].DueOn, handed.AddDays(7), "a week, or sooner by its use (common practice, no source)")
	first := len(asked())
	assert.Equal(t, 2, first, "asked, and asked again, and no more: then somebody rings")
	assert.NotEqual(t, asked()[0].Ordinal, asked()[1].Ordinal)

	k.at = noon(handed.AddDays(31))
	l := k.says("M1 it's back")
	assert.Equal(t, models.ReasonComeback, l.Reply.Person)
	w, err := k.st.Job(t.Context(), id)
	require.NoError(t, err)
	assert.Equal(t, 2, w.Job.Turn, "the job is open again")
	tell(t, h, k.st, handed.AddDays(31))
	assert.Len(t, asked(), first, "nobody is asked while the machine is at the shop again")
}

// checkAsked gives a talk with an owner who was asked whether work on the
// thermostat of M1 held, and that job.
func checkAsked(t *testing.T) (*talk, string) {
	k := newTalk(t)
	handed := date("2026-03-12")
	id := repaired(t, k.st, k.p.Jobs, noon(handed))
	h := runnerOf(k.st)
	for d := handed; d <= handed.AddDays(8); d++ {
		hold(t, h, d)
	}
	k.at = noon(handed.AddDays(8))
	deliver(t, k.st, k.at)
	return k, id
}

func (k *talk) owed() int {
	k.t.Helper()
	owed, err := k.st.OwedChecks(k.t.Context(), []string{"M1"}, models.CheckOwner)
	require.NoError(k.t, err)
	return len(owed)
}

func TestOKClosesTheCheck(t *testing.T) {
	k, _ := checkAsked(t)
	l := k.says("M1 ok")
	assert.Empty(t, l.Reply.Person)
	assert.Zero(t, k.owed())
}

func TestAFaultElsewhereLeavesTheCheckOpen(t *testing.T) {
	k, id := checkAsked(t)
	before := k.owed()
	require.NotZero(t, before)
	for _, text := range []string{"the new belt squeals now", "The brakes still grind"} {
		l := k.says(text)
		assert.Equal(t, models.ReasonTrouble, l.Reply.Person, text)
		require.Len(t, l.Acts, 1, text)
		assert.Equal(t, "trouble", l.Acts[0].Act, text)
	}
	w, err := k.st.Job(t.Context(), id)
	require.NoError(t, err)
	assert.Equal(t, 1, w.Job.Turn, "the job is not opened again")
	assert.Equal(t, before, k.owed(), "the owner is still to say whether the repair held")
	assert.Equal(t, models.ReasonComeback, k.says("it leaks coolant again").Reply.Person)
}
