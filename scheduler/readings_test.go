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

// odometerFleet has one machine that was read every month at 300 miles a
// month, 5,300 miles at last on 2026-03-01.
func odometerFleet() models.FactSet {
	in := date("2025-01-01")
	set := models.FactSet{
		Owners: []models.Owner{{ID: "O1", Name: "Juniper Flat"}},
		Machines: []models.Machine{{ID: "M1", Tag: "R1", Kind: "utv", Owner: "O1", Meters: models.MetersMiles,
			InService: in, MilesStart: models.Num(800), Cooling: models.CoolingLiquid}},
		Rules: []models.Rule{{Kind: "utv", Item: models.ItemOil, Miles: models.Num(1000), Origin: models.OriginHand}},
	}
	for i := range 16 {
		set.Readings = append(set.Readings, models.Reading{Machine: "M1", At: in.AddDays(i * 30),
			Miles: models.Num(800 + float64(i)*300), Source: "owner"})
	}
	return set
}

// door opens a store with the fleet and gives its machine, the door, and an
// entry for a day after the last reading.
func door(t *testing.T) (*store.Store, *scheduler.Readings, scheduler.MeterEntry) {
	t.Helper()
	st := openStore(t)
	record(t, st, odometerFleet())
	m, err := st.FindMachine(t.Context(), "M1")
	require.NoError(t, err)
	on := date("2025-01-01").AddDays(15*30 + 20)
	return st, &scheduler.Readings{Store: st}, scheduler.MeterEntry{Machine: m, On: on, Today: on, Source: models.SourceShop}
}

func enter(t *testing.T, d *scheduler.Readings, e scheduler.MeterEntry) ([]models.Reading, error) {
	t.Helper()
	rs, _, err := d.Enter(t.Context(), e, models.Entry{RecordedAt: 2, Actor: "test", Means: "test"})
	return rs, err
}

func TestADoubtfulReadingComesBackTyped(t *testing.T) {
	st, d, e := door(t)
	e.Miles = "54,200"
	_, err := enter(t, d, e)
	require.Error(t, err)
	assert.Equal(t, models.CodeDoubtful, models.CodeOf(err))
	var doubt *models.DoubtfulReading
	require.ErrorAs(t, err, &doubt)
	assert.Equal(t, models.Odometer, doubt.Meter)
	assert.Equal(t, models.Num(54200), doubt.Shown)
	assert.NotEmpty(t, doubt.Reason)
	assert.Equal(t, models.Num(5420), doubt.Likely)

	e.Sure = true
	_, err = enter(t, d, e)
	require.NoError(t, err)
	h, err := st.History(t.Context(), "M1", models.Window{})
	require.NoError(t, err)
	last := h.Readings[len(h.Readings)-1]
	assert.Equal(t, models.StandingConfirmed, last.Standing)
}

func TestTheDoorRefusesWhatCannotBe(t *testing.T) {
	_, d, e := door(t)
	for name, c := range map[string]struct {
		change func(*scheduler.MeterEntry)
		want   string
	}{
		"nothing typed":  {func(*scheduler.MeterEntry) {}, "no value is given"},
		"no number":      {func(e *scheduler.MeterEntry) { e.Miles = "six" }, `miles "six" is not a number`},
		"below zero":     {func(e *scheduler.MeterEntry) { e.Miles = "-5" }, "is negative"},
		"no such meter":  {func(e *scheduler.MeterEntry) { e.Hours = "41" }, "R1 has no such meter"},
		"another unit":   {func(e *scheduler.MeterEntry) { e.Miles = "5500 km" }, "in a unit that the meter does not show"},
		"after today":    {func(e *scheduler.MeterEntry) { e.Miles, e.On = "5600", e.Today.AddDays(1) }, "lies after today"},
		"falls, of 2025": {func(e *scheduler.MeterEntry) { e.Miles, e.On = "5600", date("2025-06-01") }, "doubtful"},
	} {
		bad := e
		c.change(&bad)
		_, err := enter(t, d, bad)
		require.Error(t, err, name)
		assert.ErrorContains(t, err, c.want, name)
	}
}

func TestAGuessIsKeptWithItsWidth(t *testing.T) {
	st, d, e := door(t)
	e.Miles = "about 5,400"
	rs, err := enter(t, d, e)
	require.NoError(t, err)
	assert.Equal(t, models.Num(270), rs[0].Width, "5 % of it: common practice, no source")
	h, err := st.History(t.Context(), "M1", models.Window{})
	require.NoError(t, err)
	assert.Equal(t, models.Num(270), h.Readings[len(h.Readings)-1].Width)
	e.Miles = "5400" // read exactly afterwards: another reading
	_, changed, err := d.Enter(t.Context(), e, models.Entry{RecordedAt: 3, Actor: "test", Means: "test"})
	require.NoError(t, err)
	assert.True(t, changed)
}

// TestAJobsMetersAreScreened: a slip typed at any step of a job is refused,
// and nothing of the step is stored.
func TestAJobsMetersAreScreened(t *testing.T) {
	st, _, e := door(t)
	jobs := &scheduler.Jobs{Store: st, Notify: runnerOf(st).Notify}
	act := scheduler.Act{At: noon(e.On), By: "Pat", Means: "job"}
	slip, right := scheduler.TypedMeters{Miles: "54200"}, scheduler.TypedMeters{Miles: "5,430.5"}
	sure := scheduler.TypedMeters{Miles: "54200", Sure: true}
	doubtful := func(err error) {
		t.Helper()
		require.Error(t, err)
		assert.Equal(t, models.CodeDoubtful, models.CodeOf(err))
	}

	_, err := jobs.Open(t.Context(), act, job.Opening{Machine: e.Machine, On: e.On, By: "Pat"}, slip)
	doubtful(err)
	w, err := jobs.Open(t.Context(), act, job.Opening{Machine: e.Machine, On: e.On, By: "Pat"}, right)
	require.NoError(t, err)
	assert.Equal(t, models.Num(5430.5), w.Job.Miles)
	id := w.Job.ID
	_, _, err = jobs.Do(t.Context(), act, id, "line", func(k scheduler.Known) (models.JobChange, error) {
		return job.AddLine(k.Job, k.Machine, k.Defs, job.Work{Item: models.ItemOil, By: "Pat"})
	})
	require.NoError(t, err)
	_, err = jobs.Done(t.Context(), act, id, job.Finish{On: e.On, By: "Pat"}, slip)
	doubtful(err)
	h, err := st.History(t.Context(), "M1", models.Window{})
	require.NoError(t, err)
	assert.Empty(t, h.Services, "a slip was not stored as a service")

	w, err = jobs.Done(t.Context(), act, id, job.Finish{On: e.On, By: "Pat"}, sure)
	require.NoError(t, err)
	assert.Equal(t, models.Num(54200), w.Job.Miles)
	h, err = st.History(t.Context(), "M1", models.Window{})
	require.NoError(t, err)
	require.Len(t, h.Services, 1)
	assert.Equal(t, models.Num(54200), h.Services[0].Miles)
	assert.Equal(t, models.StandingConfirmed, h.Readings[len(h.Readings)-1].Standing, "somebody said that it is right")

	_, err = jobs.HandOver(t.Context(), act, id, job.Hand{On: e.On, By: "Pat"}, scheduler.TypedMeters{Miles: "61"})
	doubtful(err)
	w, err = jobs.HandOver(t.Context(), act, id, job.Hand{On: e.On, By: "Pat"}, scheduler.TypedMeters{Miles: "54203"})
	require.NoError(t, err)
	assert.Equal(t, models.Num(54203), w.Job.Miles)
}

// TestAGuessAtAJobIsNoServicesMeter: the service has no meter value then, and
// the guess is a reading.
func TestAGuessAtAJobIsNoServicesMeter(t *testing.T) {
	st, _, e := door(t)
	jobs := &scheduler.Jobs{Store: st, Notify: runnerOf(st).Notify}
	act := scheduler.Act{At: noon(e.On), By: "Pat", Means: "job"}
	w, err := jobs.Open(t.Context(), act, job.Opening{Machine: e.Machine, On: e.On, By: "Pat"}, scheduler.TypedMeters{})
	require.NoError(t, err)
	_, _, err = jobs.Do(t.Context(), act, w.Job.ID, "line", func(k scheduler.Known) (models.JobChange, error) {
		return job.AddLine(k.Job, k.Machine, k.Defs, job.Work{Item: models.ItemOil, By: "Pat"})
	})
	require.NoError(t, err)
	_, err = jobs.Done(t.Context(), act, w.Job.ID, job.Finish{On: e.On, By: "Pat"}, scheduler.TypedMeters{Miles: "about 5450"})
	require.NoError(t, err)
	h, err := st.History(t.Context(), "M1", models.Window{})
	require.NoError(t, err)
	require.Len(t, h.Services, 1)
	assert.False(t, h.Services[0].Miles.Known)
	assert.Equal(t, models.Num(5450), h.Readings[len(h.Readings)-1].Miles)
}

// A swap on record that does not fit, as older stores may hold one, is named.
func TestADoubtfulSwapOnRecordIsNamed(t *testing.T) {
	st, d, e := door(t)
	_, err := st.Record(t.Context(), models.FactSet{Swaps: []models.Swap{{Machine: e.Machine.ID, At: e.On, Meter: models.Odometer,
		OldValue: models.Num(54200), NewValue: models.Num(0)}}}, models.Entry{Actor: "test", Means: "import"})
	require.NoError(t, err)
	found, err := d.OfMachine(t.Context(), e.Machine.ID)
	require.NoError(t, err)
	require.Len(t, found, 1)
	assert.Equal(t, "swaps.csv", found[0].File)
	assert.NotZero(t, found[0].Row)
}
