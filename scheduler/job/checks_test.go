package job

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

func defsOf(checks []models.Check) []string {
	var out []string
	for _, c := range checks {
		out = append(out, c.Def)
	}
	return out
}

func TestWhichChecksFollowWhichWork(t *testing.T) {
	bench := []string{"cooling_bled", "cooling_washer", "cooling_fan", "cooling_level", "cooling_drip"}
	all := append(append([]string(nil), bench...), "cooling_held")
	no := false
	for name, c := range map[string]struct {
		complaint string
		m         models.Machine
		work      []Work
		want      []string
	}{
		"coolant":                    {m: utv, work: []Work{{Item: models.ItemCoolant}}, want: all},
		"a look opens nothing":       {m: utv, work: []Work{{Item: models.ItemCoolantLook}, {Item: models.ItemPumpLook}}},
		"a cap needs no bleeding":    {m: utv, work: []Work{{Item: models.ItemCap}}, want: []string{"cooling_level", "cooling_drip", "cooling_held"}},
		"an oil change":              {m: utv, work: []Work{{Item: models.ItemOil}}},
		"an oil change on a rattle":  {m: utv, complaint: "rattles", work: []Work{{Item: models.ItemOil}}, want: []string{"repair_held"}},
		"a repair":                   {m: utv, work: []Work{{What: "new tie rod end"}}, want: []string{"repair_held"}},
		"a repair of a water pump":   {m: utv, complaint: "leaks", work: []Work{{What: "Replaced water pump and gasket"}}, want: all},
		"the same in Spanish":        {m: utv, work: []Work{{What: "cambio de bomba de agua"}}, want: all},
		"a technician says it isn't": {m: utv, work: []Work{{What: "radiator guard bent back", Cooling: &no}}, want: []string{"repair_held"}},
		"no coolant in it":           {m: quad, work: []Work{{What: "thermostat housing of the oil cooler"}}, want: []string{"repair_held"}},
	} {
		t.Run(name, func(t *testing.T) {
			w := must(t, models.WholeJob{})(Open(Opening{Machine: c.m, On: day, Complaint: c.complaint}))
			for _, k := range c.work {
				w = must(t, w)(AddLine(w, c.m, Defs(nil), k))
			}
			done, err := Done(w, c.m, Defs(nil), Finish{On: day})
			require.NoError(t, err)
			assert.Equal(t, c.want, defsOf(done.Checks))
		})
	}
}

func TestOwnerCheckKeepsToTheMetersThatTheMachineHas(t *testing.T) {
	w := must(t, models.WholeJob{})(Open(Opening{Machine: quad, On: day, Complaint: "stalls"}))
	w = must(t, w)(AddLine(w, quad, Defs(nil), Work{What: "cleaned the carburetor"}))
	c, err := Done(w, quad, Defs(nil), Finish{On: day})
	require.NoError(t, err)
	require.Len(t, c.Checks, 1)
	assert.Equal(t, models.Num(50), c.Checks[0].AfterMiles)
	assert.Equal(t, 7, c.Checks[0].AfterDays)
	assert.False(t, c.Checks[0].AfterHours.Known)
}

func TestAShopsDefinitionsTakeThePlaceOfTheShipped(t *testing.T) {
	own := []models.CheckDef{
		{ID: "belt_run", Kind: models.CheckBench, Items: models.ItemBelt, QuestionEN: "Belt run in?"},
		{ID: "cooling_fan", Kind: models.CheckBench, Items: groupCooling, QuestionEN: "Fan on at 98?"},
		{ID: "cooling_washer", Retired: true},
	}
	defs := Defs(own)
	assert.Equal(t, []string{"cooling_bled", "cooling_fan", "cooling_level", "cooling_drip", "cooling_held", "repair_held",
		PassedCheck(models.ItemThermostat), PassedCheck(models.ItemECTSensor), "belt_run"}, idsOf(defs))
	assert.Equal(t, "Fan on at 98?", defs[1].QuestionEN)
}

func idsOf(defs []models.CheckDef) []string {
	var out []string
	for _, d := range defs {
		out = append(out, d.ID)
	}
	return out
}

// DECISIONS of the trade that the shipped questions must hold: cold means
// hours, the radiator and not only the bottle, and "if fitted".
func TestShippedQuestionsSayWhatMatters(t *testing.T) {
	text := map[string]string{}
	for _, d := range Defs(nil) {
		assert.NotEmpty(t, d.QuestionES, d.ID)
		text[d.ID] = d.QuestionEN
	}
	for id, parts := range map[string][]string{
		"cooling_bled":   {"Cold", "high point", "bleed screw (if fitted)", "without air"},
		"cooling_fan":    {"operating temperature", "fan seen to cycle"},
		"cooling_level":  {"hours, best the next morning", "cap on", "run once more as a closed system", "cold mark", "radiator and not only the bottle"},
		"cooling_drip":   {"No drip"},
		"cooling_washer": {"crush washer", "if it has one"},
		"cooling_held":   {"running right", "cold mark"},
	} {
		for _, p := range parts {
			assert.Contains(t, text[id], p, id)
		}
	}
}

func TestChecksByHand(t *testing.T) {
	w := handedOver(t)
	_, err := AddCheck(w, models.Check{Kind: models.CheckBench, QuestionEN: "x"})
	refused(t, err, models.CodeConflict)
	c, err := AddCheck(w, models.Check{Kind: models.CheckOwner, QuestionES: "¿Sigue bien?"})
	require.NoError(t, err)
	assert.Equal(t, w.Job.HandedOn, c.Checks[0].From)
	assert.Equal(t, 7, c.Checks[0].AfterDays, "without a limit it is asked after a week")
	assert.Equal(t, "¿Sigue bien?", c.Checks[0].Question("en"))
	_, err = AddCheck(w, models.Check{Kind: models.CheckOwner})
	refused(t, err, models.CodeInvalid, "asks nothing")
}

// A test says what is to be seen; it opens nothing, so nothing is bled. The
// machine stays until it was seen.
func TestATestAsksWhetherItWasPassed(t *testing.T) {
	w := opened(t)
	w = must(t, w)(AddLine(w, utv, Defs(nil), Work{Item: models.ItemThermostat, By: "Pat"}))
	w = must(t, w)(Done(w, utv, Defs(nil), Finish{On: day, By: "Pat", Correction: "tested"}))
	var defs []string
	for _, c := range w.Checks {
		if c.Check.Kind == models.CheckBench {
			defs = append(defs, c.Check.Def)
		}
	}
	assert.Equal(t, []string{"thermostat_passed"}, defs)
	assert.Len(t, OpenBench(w), 1)
}
