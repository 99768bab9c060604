package job

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
)

var (
	day  = models.MustDate("2026-06-01")
	utv  = models.Machine{ID: "M1", Tag: "R12", Kind: "utv", Owner: "O1", Meters: models.MetersBoth, Cooling: models.CoolingLiquid, Fuel: models.FuelGas}
	quad = models.Machine{ID: "M2", Tag: "Q3", Kind: "atv", Owner: "O1", Meters: models.MetersMiles, Cooling: models.CoolingAir, Fuel: models.FuelGas}
)

// apply does to a job in memory what the store does with a change.
func apply(w models.WholeJob, c models.JobChange) models.WholeJob {
	w.Job = c.Job
	if w.Job.ID == "" {
		w.Job.ID = "1"
	}
	for _, l := range c.Lines {
		if l.Line == 0 {
			l.Line = len(w.Lines) + 1
			w.Lines = append(w.Lines, l)
		} else {
			w.Lines[l.Line-1] = l
		}
	}
	for _, p := range c.Parts {
		if p.Part == 0 {
			p.Part = len(w.Parts) + 1
			w.Parts = append(w.Parts, p)
		} else {
			w.Parts[p.Part-1] = p
		}
	}
	for _, k := range c.Checks {
		if k.ID == "" {
			k.ID = fmt.Sprint(len(w.Checks) + 1)
			w.Checks = append(w.Checks, models.AskedCheck{Check: k})
			continue
		}
		for i := range w.Checks {
			if w.Checks[i].Check.ID == k.ID {
				w.Checks[i].Check = k
			}
		}
	}
	for _, a := range c.Answers {
		for i := range w.Checks {
			if w.Checks[i].Check.ID == a.Check {
				w.Checks[i].Answers = append(w.Checks[i].Answers, a)
			}
		}
	}
	return w
}

// must applies a change that may not fail.
func must(t require.TestingT, w models.WholeJob) func(models.JobChange, error) models.WholeJob {
	return func(c models.JobChange, err error) models.WholeJob {
		require.NoError(t, err)
		return apply(w, c)
	}
}

// shown is what the door for readings gives for values read exactly; 0 is none.
func shown(miles, hours float64) []models.Reading {
	r := models.Reading{Machine: "M1", At: day, Source: models.SourceShop}
	if miles > 0 {
		r.Miles = models.Num(miles)
	}
	if hours > 0 {
		r.Hours = models.Num(hours)
	}
	return []models.Reading{r}
}

func opened(t require.TestingT) models.WholeJob {
	return must(t, models.WholeJob{})(Open(Opening{Machine: utv, On: day, By: "Pat", Complaint: "  runs hot\n on hills ", Readings: shown(4000, 0)}))
}

// cooled is a job on which the thermostat was changed and that is done.
func cooled(t require.TestingT) models.WholeJob {
	w := opened(t)
	w = must(t, w)(AddLine(w, utv, Defs(nil), Work{Item: models.ItemThermostatChange, By: "Pat"}))
	return must(t, w)(Done(w, utv, Defs(nil), Finish{On: day.AddDays(1), By: "Pat", Correction: "new thermostat", Readings: shown(4001, 402)}))
}

func answerAll(t require.TestingT, w models.WholeJob) models.WholeJob {
	for _, a := range OpenBench(w) {
		w = must(t, w)(Answer(w, a.Check.ID, Reply{At: 100, On: day.AddDays(2), Result: models.CheckOK, By: "Pat"}))
	}
	return w
}

func handedOver(t require.TestingT) models.WholeJob {
	w := answerAll(t, cooled(t))
	return must(t, w)(HandOver(w, Hand{On: day.AddDays(2), By: "Pat"}))
}

func refused(t require.TestingT, err error, code models.Code, parts ...string) {
	require.Error(t, err)
	assert.Equal(t, code, models.CodeOf(err), err.Error())
	var e *models.Error
	require.ErrorAs(t, err, &e)
	assert.NotEmpty(t, e.Remedy, "every refusal says what to do: %v", err)
	for _, p := range parts {
		assert.ErrorContains(t, err, p)
	}
}

func TestOpenBringsWordsOntoOneLineAndRecordsTheMeter(t *testing.T) {
	c, err := Open(Opening{Machine: utv, On: day, Complaint: " runs  hot\non hills ", Readings: shown(4000.5, 0)})
	require.NoError(t, err)
	assert.Equal(t, "runs hot on hills", c.Job.Complaint)
	assert.Equal(t, []models.Reading{{Machine: "M1", At: day, Miles: models.Num(4000.5), Source: models.SourceShop}}, c.Readings)

	b := handedOver(t)
	b.Job.Machine = "M2"
	_, err = Open(Opening{Machine: utv, On: day, BackOf: &b})
	refused(t, err, models.CodeInvalid, "another machine")
	o := opened(t)
	_, err = Open(Opening{Machine: utv, On: day, BackOf: &o})
	refused(t, err, models.CodeConflict, "nothing can have come back")
}

func TestDoneRecordsServicesAndSetsChecks(t *testing.T) {
	w := opened(t)
	_, err := Done(w, utv, Defs(nil), Finish{On: day})
	refused(t, err, models.CodeConflict, "nothing is written down")
	w = must(t, w)(AddLine(w, utv, Defs(nil), Work{Item: models.ItemThermostatChange}))
	w = must(t, w)(AddLine(w, utv, Defs(nil), Work{Item: models.ItemCoolant}))
	w = must(t, w)(AddLine(w, utv, Defs(nil), Work{Item: models.ItemBelt}))
	w = must(t, w)(DropLine(w, 3))
	_, err = Done(w, utv, Defs(nil), Finish{On: day.AddDays(-1)})
	refused(t, err, models.CodeInvalid, "is before job 1 began")
	c, err := Done(w, utv, Defs(nil), Finish{On: day.AddDays(1), By: "Pat", Cause: "stuck closed", Readings: shown(4001, 0)})
	require.NoError(t, err)
	at := day.AddDays(1)
	assert.Equal(t, []models.Service{
		{Machine: "M1", Item: "thermostat_change", At: at, Miles: models.Num(4001)},
		{Machine: "M1", Item: "coolant", At: at, Miles: models.Num(4001)},
	}, c.Services, "the withdrawn belt is not among them")
	assert.Equal(t, models.JobDone, c.Job.State)
	assert.Equal(t, "stuck closed", c.Job.Cause)
	var ids []string
	for _, k := range c.Checks {
		ids = append(ids, k.Def)
	}
	assert.Equal(t, []string{"cooling_bled", "cooling_washer", "cooling_fan", "cooling_level", "cooling_drip", "cooling_held"}, ids)
}

func TestHandOverIsRefusedWhileABenchCheckIsOpen(t *testing.T) {
	w := cooled(t)
	_, err := HandOver(w, Hand{On: day.AddDays(2)})
	refused(t, err, models.CodeConflict, "bled", "fan seen to cycle", "No drip")
	for _, a := range OpenBench(w)[1:] {
		w = must(t, w)(Answer(w, a.Check.ID, Reply{Result: models.CheckOK}))
	}
	w = must(t, w)(Answer(w, "1", Reply{Result: models.CheckBad, Words: "air comes on and on"}))
	_, err = HandOver(w, Hand{On: day.AddDays(2)})
	refused(t, err, models.CodeConflict, "1 (Cold", "is not ok")
	assert.NotContains(t, err.Error(), "No drip")
	_, err = HandOver(w, Hand{On: day.AddDays(2), Why: "owner insists"})
	refused(t, err, models.CodeInvalid, "needs a name")
	forced := must(t, w)(HandOver(w, Hand{On: day.AddDays(2), Why: "owner insists", Who: "Lee"}))
	assert.Equal(t, []string{"owner insists", "Lee"}, []string{forced.Job.OverrideWhy, forced.Job.OverrideBy})

	w = must(t, w)(Answer(w, "1", Reply{Result: models.CheckOK}))
	_, err = HandOver(w, Hand{On: day})
	refused(t, err, models.CodeInvalid, "before the work")
	w = must(t, w)(HandOver(w, Hand{On: day.AddDays(2), Why: "not needed", Who: "Lee"}))
	assert.Equal(t, models.JobHanded, w.Job.State)
	assert.Empty(t, w.Job.OverrideWhy, "nothing was overridden")
	last := w.Checks[len(w.Checks)-1].Check
	assert.Equal(t, models.CheckOwner, last.Kind)
	assert.Equal(t, day.AddDays(2), last.From, "the owner's check counts from the hand-over")
	assert.Equal(t, models.Num(4001), last.FromMiles)
}

func TestItIsBackReopensTheJob(t *testing.T) {
	w := handedOver(t)
	check := w.Checks[len(w.Checks)-1].Check.ID
	c, err := Answer(w, check, Reply{At: 500, On: day.AddDays(9), Result: models.CheckBad, Words: "it's back", By: "Ada"})
	require.NoError(t, err)
	assert.True(t, CameBack(w, c))
	again := apply(w, c)
	assert.Equal(t, models.JobReopened, again.Job.State)
	assert.Equal(t, 2, again.Job.Turn)
	assert.Equal(t, day.AddDays(9), again.Job.BackOn)
	assert.Contains(t, again.Job.Note, "it's back")
	assert.Equal(t, "runs hot on hills", again.Job.Complaint)

	// The second turn has checks of its own.
	again = must(t, again)(AddLine(again, utv, Defs(nil), Work{What: "new radiator"}))
	again = must(t, again)(Done(again, utv, Defs(nil), Finish{On: day.AddDays(10), Correction: "radiator was clogged"}))
	assert.Len(t, OpenBench(again), 5)
	_, err = HandOver(again, Hand{On: day.AddDays(10)})
	refused(t, err, models.CodeConflict, "check before hand-over is open")
	_, err = Answer(again, "1", Reply{Result: models.CheckOK})
	refused(t, err, models.CodeConflict, "earlier attempt")

	fine := must(t, w)(Answer(w, check, Reply{At: 500, On: day.AddDays(9), Result: models.CheckOK}))
	assert.Equal(t, models.JobHanded, fine.Job.State)
	_, err = Reopen(w, Back{On: day})
	refused(t, err, models.CodeInvalid, "before job 1 was handed over")
}

func TestALineOnAJobThatIsDoneCountsAtOnce(t *testing.T) {
	w := opened(t)
	w = must(t, w)(AddLine(w, utv, Defs(nil), Work{Item: models.ItemOil}))
	w = must(t, w)(Done(w, utv, Defs(nil), Finish{On: day}))
	assert.Empty(t, OpenBench(w), "an oil change has no check before hand-over")
	c, err := AddLine(w, utv, Defs(nil), Work{Item: models.ItemHoses})
	require.NoError(t, err)
	assert.Equal(t, []models.Service{{Machine: "M1", Item: "hoses", At: day, Miles: models.Num(4000)}}, c.Services)
	w = apply(w, c)
	assert.Len(t, OpenBench(w), 5)
	_, err = DropLine(w, 2)
	refused(t, err, models.CodeConflict, "is recorded")
}

func TestRefusals(t *testing.T) {
	open, done, handed := opened(t), cooled(t), handedOver(t)
	gone := must(t, open)(Withdraw(open, "opened twice"))
	line := func(w models.WholeJob) error {
		_, err := AddLine(w, utv, nil, Work{Item: "oil"})
		return err
	}
	finish := func(w models.WholeJob) error {
		_, err := Done(w, utv, nil, Finish{On: day, Correction: "x"})
		return err
	}
	hand := func(w models.WholeJob) error {
		_, err := HandOver(w, Hand{On: day.AddDays(5)})
		return err
	}
	back := func(w models.WholeJob) error {
		_, err := Reopen(w, Back{On: day.AddDays(5)})
		return err
	}
	withdraw := func(w models.WholeJob) error {
		_, err := Withdraw(w, "x")
		return err
	}
	for name, err := range map[string]error{
		"line after hand-over":     line(handed),
		"line when withdrawn":      line(gone),
		"done twice":               finish(done),
		"done after hand-over":     finish(handed),
		"handed over when open":    hand(open),
		"handed over twice":        hand(handed),
		"back when open":           back(open),
		"back when done":           back(done),
		"withdrawn when done":      withdraw(done),
		"withdrawn when handed":    withdraw(handed),
		"withdrawn when withdrawn": withdraw(gone),
	} {
		t.Run(name, func(t *testing.T) { refused(t, err, models.CodeConflict, "job 1 is") })
	}
	_, err := Withdraw(open, " ")
	refused(t, err, models.CodeInvalid, "needs a reason")
	_, err = AddLine(open, quad, nil, Work{Item: models.ItemCoolant})
	refused(t, err, models.CodeInvalid, "Q3 has no coolant change", "air")
	_, err = AddLine(open, utv, nil, Work{})
	refused(t, err, models.CodeInvalid)
	_, err = AddPart(open, models.Part{Place: "left"})
	refused(t, err, models.CodeInvalid, "no number and no name")
	_, err = AddPart(open, models.Part{Name: "hose", Line: 4})
	refused(t, err, models.CodeNotFound, "no line 4")
	_, err = AddPart(open, models.Part{Name: "hose", Qty: models.Num(0)})
	refused(t, err, models.CodeInvalid, "quantity")
	_, err = DropPart(open, 1)
	refused(t, err, models.CodeNotFound)
	_, err = Answer(done, "77", Reply{})
	refused(t, err, models.CodeNotFound)
	_, err = Answer(done, "1", Reply{Result: models.CheckNotFitted})
	refused(t, err, models.CodeInvalid, "may be missing")
	_, err = Answer(handed, "1", Reply{Result: models.CheckOK})
	refused(t, err, models.CodeConflict, "at the bench")
	_, err = Answer(done, done.Checks[len(done.Checks)-1].Check.ID, Reply{Result: models.CheckOK})
	refused(t, err, models.CodeConflict, "owner's answer")
	_, err = Amend(open, strings.Repeat("x", 501), "", "", "")
	refused(t, err, models.CodeInvalid, "501 characters")
	_, err = Amend(gone, "x", "", "", "")
	refused(t, err, models.CodeConflict)
}

func TestAmendAndParts(t *testing.T) {
	w := handedOver(t)
	w = must(t, w)(Amend(w, "", "stuck half open", "", "P0128"))
	assert.Equal(t, "stuck half open", w.Job.Cause)
	assert.Equal(t, "runs hot on hills", w.Job.Complaint)
	assert.Equal(t, models.JobHanded, w.Job.State)
	o := opened(t)
	o = must(t, o)(AddPart(o, models.Part{Name: "thermostat", Number: "TH-82", Equivalents: " A1;A2 , A1", Qty: models.Num(1)}))
	assert.Equal(t, "A1, A2", o.Parts[0].Equivalents)
	o = must(t, o)(DropPart(o, 1))
	assert.Empty(t, PartsOf(o, 0))
}

// Whatever is done in whatever order, a machine is with its owner only when
// every check before hand-over of its turn was answered, or a reason and a name are kept.
func TestNoOrderOfActsHandsOverAnOpenCheck(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := opened(t)
		on := day
		for range rapid.IntRange(1, 40).Draw(t, "acts") {
			on = on.AddDays(rapid.IntRange(0, 2).Draw(t, "days"))
			var c models.JobChange
			var err error
			switch rapid.IntRange(0, 6).Draw(t, "act") {
			case 0:
				c, err = AddLine(w, utv, Defs(nil), Work{Item: rapid.SampledFrom(models.KnownItems()).Draw(t, "item")})
			case 1:
				c, err = Done(w, utv, Defs(nil), Finish{On: on})
			case 2:
				c, err = HandOver(w, Hand{On: on, Why: rapid.SampledFrom([]string{"", "because"}).Draw(t, "why"), Who: rapid.SampledFrom([]string{"", "Lee"}).Draw(t, "who")})
			case 3, 4:
				if len(w.Checks) > 0 {
					c, err = Answer(w, rapid.SampledFrom(w.Checks).Draw(t, "check").Check.ID,
						Reply{On: on, Result: rapid.SampledFrom(models.CheckResults()).Draw(t, "result")})
				} else {
					continue
				}
			case 5:
				c, err = Reopen(w, Back{On: on})
			case 6:
				c, err = AddCheck(w, models.Check{Kind: models.CheckBench, QuestionEN: "Greased?"})
			}
			if err != nil {
				refusalIsUsable(t, err)
				continue
			}
			w = apply(w, c)
			if w.Job.State == models.JobHanded && len(OpenBench(w)) > 0 && (w.Job.OverrideWhy == "" || w.Job.OverrideBy == "") {
				t.Fatalf("handed over with %d open checks before hand-over", len(OpenBench(w)))
			}
		}
	})
}

func refusalIsUsable(t *rapid.T, err error) {
	code := models.CodeOf(err)
	if code == models.CodeInternal || code == "" {
		t.Fatalf("a refusal without a code: %v", err)
	}
}
