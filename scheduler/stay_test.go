package scheduler_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
	"example.org/roundsman/scheduler"
	"example.org/roundsman/scheduler/job"
)

// openJob opens a job on M1 and writes down that its coolant look is being
// done.
func openJob(t *testing.T, st *store.Store, on models.Date) string {
	t.Helper()
	jobs := &scheduler.Jobs{Store: st, Notify: runnerOf(st).Notify}
	act := scheduler.Act{At: noon(on), By: "Pat", Means: "job"}
	m, err := st.FindMachine(t.Context(), "M1")
	require.NoError(t, err)
	w, err := jobs.Open(t.Context(), act, job.Opening{Machine: m, On: on, By: "Pat"}, scheduler.TypedMeters{})
	require.NoError(t, err)
	_, _, err = jobs.Do(t.Context(), act, w.Job.ID, "line", func(k scheduler.Known) (models.JobChange, error) {
		return job.AddLine(k.Job, k.Machine, k.Defs, job.Work{Item: models.ItemCoolantLook, By: "Pat"})
	})
	require.NoError(t, err)
	return w.Job.ID
}

func TestWhatIsBeingDoneIsNotTold(t *testing.T) {
	st := openStore(t)
	record(t, st, calendarFleet())
	on := date("2026-03-12") // two days after both coolant looks are due
	openJob(t, st, on.AddDays(-1))
	hold(t, runnerOf(st), on)
	var told []string
	for _, n := range notices(t, st) {
		told = append(told, n.Machine)
	}
	assert.Equal(t, []string{"M2"}, told, "M1 stands in the shop and the work is being done")

	board, err := scheduler.Board(t.Context(), st, runnerOf(st).Notify, noon(on))
	require.NoError(t, err)
	for _, l := range board.Lines {
		assert.Equal(t, l.Machine.ID == "M1", l.Quiet, l.Machine.ID)
		assert.Equal(t, l.Machine.ID == "M1", l.Job != "", l.Machine.ID)
	}
}

func TestAForgottenJobDoesNotSilenceForEver(t *testing.T) {
	st := openStore(t)
	set := calendarFleet()
	set.Rules = append(set.Rules, models.Rule{Kind: "utv", Item: models.ItemOil, Months: 12, Origin: models.OriginHand})
	record(t, st, set)
	opened := date("2026-03-01")
	openJob(t, st, opened)
	r := runnerOf(st)
	items := func() []string {
		var out []string
		for _, n := range notices(t, st) {
			if n.Machine == "M1" {
				out = append(out, n.Item)
			}
		}
		return out
	}
	hold(t, r, opened.AddDays(29))
	assert.Empty(t, items(), "it stands in the shop")
	hold(t, r, opened.AddDays(30))
	assert.Equal(t, []string{models.ItemOil}, items(), "nobody handed it over: what is not being done is told again")
}

func TestTheHandOverEndsTheSilence(t *testing.T) {
	st := openStore(t)
	set := calendarFleet()
	set.Rules = append(set.Rules, models.Rule{Kind: "utv", Item: models.ItemOil, Months: 12, Origin: models.OriginHand})
	record(t, st, set)
	on := date("2026-03-11")
	id := openJob(t, st, on)
	jobs := &scheduler.Jobs{Store: st, Notify: runnerOf(st).Notify}
	act := scheduler.Act{At: noon(on), By: "Pat", Means: "job"}
	_, _, err := jobs.Do(t.Context(), act, id, "done", func(k scheduler.Known) (models.JobChange, error) {
		return job.Done(k.Job, k.Machine, k.Defs, job.Finish{On: on, By: "Pat"})
	})
	require.NoError(t, err)
	hold(t, runnerOf(st), on)
	for _, n := range notices(t, st) {
		assert.NotEqual(t, "M1", n.Machine, "it waits for the hand-over: %s", n.Item)
	}
	_, _, err = jobs.Do(t.Context(), act, id, "handover", func(k scheduler.Known) (models.JobChange, error) {
		return job.HandOver(k.Job, job.Hand{On: on, By: "Pat"})
	})
	require.NoError(t, err)
	hold(t, runnerOf(st), on.AddDays(1))
	var items []string
	for _, n := range notices(t, st) {
		if n.Machine == "M1" {
			items = append(items, n.Item)
		}
	}
	assert.Equal(t, []string{models.ItemOil}, items)
}

// TestAMeterReadTheOtherDayIsNotAskedFor: a machine that stands still is not
// asked for what was read a week ago.
func TestAMeterReadTheOtherDayIsNotAskedFor(t *testing.T) {
	st := openStore(t)
	set := odometerFleet()
	last := set.Readings[len(set.Readings)-1]
	for i := range 6 { // it stands still
		set.Readings = append(set.Readings, models.Reading{Machine: "M1", At: last.At.AddDays(60 * (i + 1)), Miles: last.Miles, Source: "owner"})
	}
	set.Services = []models.Service{{Machine: "M1", Item: models.ItemOil, At: last.At, Miles: last.Miles}}
	record(t, st, set)
	read := last.At.AddDays(360)
	asks := func(on models.Date) string {
		n := runnerOf(st).Notify
		p, err := scheduler.ProfileAt(t.Context(), st, n, noon(on))
		require.NoError(t, err)
		e, err := scheduler.EvaluationOf(t.Context(), st, n, p, "M1", noon(on))
		require.NoError(t, err)
		require.Len(t, e.Forecasts, 1)
		assert.Equal(t, last.At, e.Screened.PaceOf().Since, "not used since")
		f := e.Shown()[0]
		assert.True(t, f.LateOpen, "nobody knows how late it may be")
		return string(f.Ask)
	}
	assert.Empty(t, asks(read.AddDays(7)))
	assert.NotEmpty(t, asks(read.AddDays(30)))
}

// A text that waits while its machine comes to the shop does not go, and says
// that it was for this; what it told is told when the machine is back.
func TestWhatWaitsIsNotToldWhileTheMachineIsAtTheShop(t *testing.T) {
	begin := date("2026-06-01") // a Monday; the fleet's 40th day, and 800 miles
	st := openStore(t)
	record(t, st, busyFleet(begin.AddDays(60)))
	h := runnerOf(st)
	round := func(on models.Date) {
		t.Helper()
		_, err := h.Run(t.Context(), scheduler.HandSlot(noon(on)), noon(on))
		require.NoError(t, err)
	}
	round(begin)
	jobs := &scheduler.Jobs{Store: st, Notify: h.Notify}
	act := scheduler.Act{At: noon(begin), By: "Lee", Means: "job"}
	m, err := st.FindMachine(t.Context(), "M4")
	require.NoError(t, err)
	_, err = jobs.Open(t.Context(), act, job.Opening{Machine: m, On: begin, By: "Lee", Complaint: "stalls when warm"}, scheduler.TypedMeters{})
	require.NoError(t, err)
	round(begin.AddDays(1))
	ns, err := st.NoticesOf(t.Context(), []string{"M4"})
	require.NoError(t, err)
	waited := 0
	for _, n := range ns {
		if n.Message != nil {
			waited++
			assert.Equal(t, models.ReasonAtShop, n.LostWhy)
		}
	}
	assert.NotZero(t, waited)
}
