package shop

import (
	"context"
	"fmt"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/calendar"
	"example.org/roundsman/scheduler/visit"
)

var monday = models.MustDate("2026-05-04")

func choices() Settings {
	return Settings{OpenMin: [7]int{480, 480, 480, 480, 480}, Bays: 1, Technicians: 1,
		LaborCents: 9600, PartsCents: 3000, TransportCents: 6000, DowntimeCents: 4000, LateCents: 200, MoveCents: 2500}
}

// rules of an invented kind.
func rules(models.Machine) []models.Rule {
	return []models.Rule{
		{Kind: "utv", Item: models.ItemCoolant, Months: 24, WorkMin: 30, Teardown: "drain", PartsDays: 2},
		{Kind: "utv", Item: models.ItemThermostat, Months: 48, WorkMin: 20, Teardown: "drain", PartsDays: 2},
		{Kind: "utv", Item: models.ItemOil, Months: 12, WorkMin: 40},
		{Kind: "utv", Item: models.ItemBattery, Months: 12, WorkMin: 15, By: models.MonthDay{Month: 6, Day: 1}},
	}
}

// due makes a forecast of an interval in days, sure to the day.
func due(machine, item string, on models.Date, interval int) models.Forecast {
	return models.Forecast{Machine: machine, Item: item, EarlyOn: on, DueOn: on, LateOn: on, LastOn: on.AddDays(-interval), Stage: models.StageComing}
}

func ranch() Input {
	return Input{Today: monday, From: monday, Days: 60, Rules: rules, Settings: choices(),
		Machines: []models.Machine{
			{ID: "M1", Tag: "R1", Kind: "utv", Owner: "O1", Site: "north"},
			{ID: "M2", Tag: "R2", Kind: "utv", Owner: "O1"},
		},
		Teardowns: []models.Teardown{{Kind: "UTV", ID: "drain", AccessMin: 84}},
		Forecasts: []models.Forecast{
			due("M1", models.ItemCoolant, models.MustDate("2026-06-03"), 730),
			due("M1", models.ItemThermostat, models.MustDate("2026-06-20"), 1460),
			due("M2", models.ItemOil, models.MustDate("2026-05-20"), 365),
		},
	}
}

// solve plans an input to the end of a number of steps.
func solve(t require.TestingT, in Input) (*Draft, visit.Plan, Outcome) {
	d, err := New(in)
	require.NoError(t, err)
	plan, err := visit.Solve(context.Background(), d.Problem, visit.Options{Seed: 1, Steps: 400, Told: d.Told})
	require.NoError(t, err)
	require.Empty(t, visit.Check(&d.Problem, plan.Visits).Broken)
	return d, plan, d.Explain(plan)
}

func stopOf(t *testing.T, out Outcome, machine string) Stop {
	t.Helper()
	for _, s := range out.Stops {
		if s.Machine.ID == machine {
			return s
		}
	}
	require.Fail(t, "no stop of "+machine)
	return Stop{}
}

// The figures by hand from the formulas in the package's documentation.
func TestFormulas(t *testing.T) {
	d, err := New(ranch())
	require.NoError(t, err)
	item := func(machine, item string) visit.Item { return d.Problem.Items[d.items[itemID(machine, item)].at] }
	c := item("M1", models.ItemCoolant)
	assert.Equal(t, 30, c.Due)
	assert.Zero(t, c.Earliest, "0.4 of 730 days before its date lies before the plan")
	assert.Equal(t, 2, c.Lead, "parts take two days")
	assert.Nil(t, c.Latest)
	assert.Equal(t, int64(9600*30/60+3000), c.Value)
	assert.Equal(t, int64(2*200), c.Late, "the cooling system counts twice")
	assert.Equal(t, int64(150*400), c.Skip)
	assert.Equal(t, 84, d.Problem.Machines[0].Access["drain"])

	oil := item("M2", models.ItemOil)
	assert.Equal(t, 16, oil.Due)
	assert.Equal(t, int64(6400), oil.Value)
	assert.Equal(t, int64(200), oil.Late)
	assert.Equal(t, max(int64(150*200), 200*lateness(59-16)+6000+4000), oil.Skip)
	assert.Equal(t, []visit.Site{{ID: "north", Transport: 6000}, {ID: "O1", Transport: 6000}}, d.Problem.Sites,
		"a machine without a site is kept at its owner's")
}

func TestFormulasOfUnsureAndOverdue(t *testing.T) {
	in := ranch()
	wide := due("M1", models.ItemCoolant, models.MustDate("2026-06-03"), 100)
	wide.EarlyOn, wide.LateOn = wide.DueOn.AddDays(-40), wide.DueOn.AddDays(40)
	unsure := due("M2", models.ItemOil, models.MustDate("2026-05-20"), 365)
	unsure.Stage = models.StageUnsure
	overdue := due("M1", models.ItemOil, models.MustDate("2025-12-01"), 365)
	beyond := due("M2", models.ItemCoolant, models.MustDate("2026-08-01"), 730)
	far := due("M2", models.ItemThermostat, models.MustDate("2029-08-01"), 1460)
	season := due("M2", models.ItemBattery, models.MustDate("2026-05-31"), 365)
	season.Reason = models.ReasonSeason
	in.Forecasts = []models.Forecast{wide, unsure, overdue, beyond, far, season}
	d, err := New(in)
	require.NoError(t, err)
	item := func(machine, item string) visit.Item { return d.Problem.Items[d.items[itemID(machine, item)].at] }

	w := item("M1", models.ItemCoolant)
	s := 80 / 2.563
	sure := 0.0
	for x := 1; x <= 14; x++ {
		sure += (1 + math.Erf(float64(x)/s/math.Sqrt2)) / 2 / 14
	}
	assert.InDelta(t, 400*sure, float64(w.Late), 1)
	assert.Zero(t, w.Value, "going early saves more in risk than it gives away")
	assert.Less(t, sureness(wide), 0.75)
	assert.Equal(t, 1.0, sureness(season))

	// (6000 + 4000) / 4 for the oil, as its date is too unsure to call a machine
	// in; the same and the labor of 84 minutes for the coolant, due after the
	// plan; together no more than 90 % of a visit.
	small, drained := int64(2500), int64(2500+9600*84/60)
	assert.Equal(t, small*9000/(small+drained), item("M2", models.ItemOil).Skip)
	assert.Equal(t, drained*9000/(small+drained), item("M2", models.ItemCoolant).Skip)
	assert.NotContains(t, d.items, itemID("M2", models.ItemThermostat), "not within reach")
	o := item("M1", models.ItemOil)
	assert.Equal(t, -14, o.Due)
	assert.Greater(t, o.Skip, o.Late*lateness(59+14), "never left out for being late already")
	require.NotNil(t, item("M2", models.ItemBattery).Latest)
	assert.Equal(t, 27, *item("M2", models.ItemBattery).Latest)
}

// Phi of the normal distribution at one deviation: 0.8413 (NIST/SEMATECH
// e-Handbook of Statistical Methods, 1.3.6.7.1); the mean over 1..14 days of a
// range whose deviation is 14 days lies between it and one half.
func TestSureness(t *testing.T) {
	f := due("M", "oil", monday, 365)
	f.EarlyOn, f.LateOn = monday.AddDays(-18), monday.AddDays(18) // 36 / 2.563 = 14.05
	got := sureness(f)
	assert.Greater(t, got, 0.5)
	assert.Less(t, got, 0.8413)
	assert.InDelta(t, 0.69, got, 0.02)
}

func TestWhyTheDay(t *testing.T) {
	in := ranch()
	_, _, out := solve(t, in)
	s := stopOf(t, out, "M1")
	assert.Equal(t, models.MustDate("2026-06-03"), s.On)
	assert.Equal(t, "the day it falls due; coolant change due Jun 3; thermostat test shares the teardown, saves 1.4 h", s.Why)
	assert.Equal(t, 84+30+20, s.Minutes)
	assert.Equal(t, 84, s.SavedMin)
	assert.Equal(t, StandingNew, s.Standing)
	require.Len(t, s.Alternatives, alternativesMost)
	assert.Positive(t, s.Alternatives[0].Extra)
	assert.Empty(t, out.Left)

	// A part that is changed on condition makes no visit; it is named where it is apart.
	in.Rules = func(m models.Machine) []models.Rule {
		return append(rules(m), models.Rule{Item: models.ItemThermostatChange, Teardown: "drain"}, models.Rule{Item: models.ItemECTSensorChange, Teardown: "other"})
	}
	_, _, out = solve(t, in)
	s = stopOf(t, out, "M1")
	assert.Contains(t, s.Why, "shares the teardown, saves 1.4 h; thermostat change can go with it")
	assert.NotContains(t, s.ItemIDs(), models.ItemThermostatChange)
	assert.NotContains(t, stopOf(t, out, "M2").Why, "can go with it")

	// So is the first inspection, which has no date of its own.
	in.Forecasts = append(in.Forecasts, models.Forecast{Machine: "M1", Item: models.ItemFirstInspection, Stage: models.StageUnsure, Items: "oil, belt"})
	_, _, out = solve(t, in)
	assert.Contains(t, stopOf(t, out, "M1").Why, "first inspection with it: 2 items without a record")
	assert.NotContains(t, stopOf(t, out, "M2").Why, "first inspection")
	in.Forecasts = in.Forecasts[:len(in.Forecasts)-1]

	// A blackout with a name moves it before it, and is named.
	in = ranch()
	in.PlanningData.Closures = []models.Closure{{Sort: models.ClosureBlack, Site: "north", From: models.MustDate("2026-06-01"), To: models.MustDate("2026-06-30"), Note: "the summer season"}}
	_, _, out = solve(t, in)
	s = stopOf(t, out, "M1")
	assert.Equal(t, models.MustDate("2026-05-29"), s.On, "a Friday: June 1 is a Monday")
	assert.Contains(t, s.Why, "last open day before the summer season; coolant change due Jun 3")

	// A hard bar of the rule's own, with the holiday before it kept.
	in = ranch()
	season := due("M2", models.ItemBattery, models.MustDate("2026-05-31"), 365)
	season.Reason = models.ReasonSeason
	in.Forecasts = []models.Forecast{season}
	us, err := calendar.NewHolidays("us", nil)
	require.NoError(t, err)
	in.Holidays = us
	d, _, out := solve(t, in)
	assert.Equal(t, "last open day before the season; battery test due May 31", stopOf(t, out, "M2").Why)
	assert.Equal(t, models.MustDate("2026-05-29"), stopOf(t, out, "M2").On)
	assert.Equal(t, []int{21, 46}, d.Problem.Closed, "Memorial Day, May 25, and Juneteenth, June 19 (5 U.S.C. 6103)")

	// Overdue, and parts that take two days.
	in.Forecasts = []models.Forecast{due("M1", models.ItemOil, models.MustDate("2026-03-01"), 365), due("M2", models.ItemCoolant, models.MustDate("2026-03-01"), 730)}
	_, _, out = solve(t, in)
	assert.Equal(t, monday, stopOf(t, out, "M1").On)
	assert.Contains(t, stopOf(t, out, "M1").Why, "first day with room, as it is overdue")
	assert.Equal(t, monday.AddDays(2), stopOf(t, out, "M2").On)
	assert.Contains(t, stopOf(t, out, "M2").Why, "first open day with its parts here")
}

// A shop that speaks Spanish reads its plan's reasons in Spanish.
func TestReasonsSpeakTheShopsLanguage(t *testing.T) {
	in := ranch()
	in.Language = "es"
	in.Forecasts = []models.Forecast{due("M1", models.ItemOil, models.MustDate("2026-03-01"), 365), due("M2", models.ItemCoolant, models.MustDate("2026-06-03"), 730),
		{Machine: "M1", Item: models.ItemFirstInspection, Stage: models.StageUnsure, Items: "belt, plugs"}}
	_, _, out := solve(t, in)
	assert.Equal(t, "primer día con lugar, porque ya está vencido; cambio de aceite del motor, para el 1 mar; "+
		models.ItemName(models.ItemFirstInspection, "es")+" a la vez: 2 servicios sin registro", stopOf(t, out, "M1").Why)
	assert.Contains(t, stopOf(t, out, "M2").Why, "cambio de refrigerante, para el 3 jun")
	for _, file := range []string{"explain.go", "ground.go"} {
		source, err := os.ReadFile(file)
		require.NoError(t, err)
		assert.NotRegexp(t, `return "[a-z ]{3,}"`, string(source), "%s says it in English alone", file)
	}
}

func TestWhatIsLeftOutSaysWhy(t *testing.T) {
	in := ranch()
	in.PlanningData.Closures = []models.Closure{{Sort: models.ClosureBlack, Site: "north", From: monday, To: monday.AddDays(100), Note: "season"}}
	in.PlanningData.Bays = []models.Bay{{ID: "lift", Kinds: "boat"}, {ID: "yard", Kinds: "utv, boat"}}
	_, _, out := solve(t, in)
	require.Len(t, out.Left, 2)
	assert.Equal(t, "the machine cannot be spared on any of its days", out.Left[0].Why)
	assert.Equal(t, "yard", stopOf(t, out, "M2").Bay)
	in.PlanningData.Bays = in.PlanningData.Bays[:1]
	d, err := New(in)
	require.NoError(t, err)
	assert.Empty(t, d.Problem.Bays, "a bay for boats only takes no utv")
	_, _, out = solve(t, in)
	assert.Equal(t, "no bay takes a utv", out.Left[0].Why)
}

func visitOn(row int64, machine string, state models.VisitState, on string, items models.Names) models.Visit {
	v := models.Visit{ID: fmt.Sprint(row), UID: fmt.Sprint("u", row), Machine: machine, State: state, On: models.MustDate(on), Until: models.MustDate(on), Bay: "1", Items: items}
	v.Row = row
	return v
}

func TestAgreedVisitsStay(t *testing.T) {
	in := ranch()
	in.PlanningData.Visits = []models.Visit{
		visitOn(1, "M1", models.VisitAgreed, "2026-05-12", "coolant"),
		visitOn(2, "M2", models.VisitAgreed, "2026-08-12", "oil"),   // after the plan
		visitOn(3, "M2", models.VisitDropped, "2026-05-12", "oil"),  // not to be
		visitOn(4, "gone", models.VisitAgreed, "2026-05-12", "oil"), // a machine that is not there
	}
	d, _, out := solve(t, in)
	require.Len(t, out.Stops, 1, "what is agreed for later is not planned twice")
	s := out.Stops[0]
	assert.Equal(t, StandingAgreed, s.Standing)
	assert.Equal(t, "1", s.Visit.ID)
	assert.Equal(t, models.MustDate("2026-05-12"), s.On)
	assert.Contains(t, s.Why, "agreed with the owner")
	assert.Empty(t, d.Conflicts)

	// Something recorded since forbids the day: it is told, and another day found.
	in.PlanningData.Closures = []models.Closure{{Sort: models.ClosureShop, From: models.MustDate("2026-05-12"), To: models.MustDate("2026-05-12")}}
	_, _, out = solve(t, in)
	require.Len(t, out.Conflicts, 1)
	assert.Equal(t, "the shop is closed on its day", out.Conflicts[0].Why)
	require.Len(t, out.Stops, 1)
	assert.Equal(t, StandingMoved, out.Stops[0].Standing)
	assert.Equal(t, "1", out.Stops[0].Visit.ID)
}

// A visit that is still going on keeps its bay although it began before the plan.
func TestVisitStillGoingOn(t *testing.T) {
	in := ranch()
	in.From, in.Today = monday.AddDays(1), monday.AddDays(1)
	v := visitOn(1, "M1", models.VisitAgreed, "2026-05-04", "coolant")
	v.Until = monday.AddDays(1)
	in.PlanningData.Visits = []models.Visit{v}
	d, _, out := solve(t, in)
	assert.Equal(t, monday, d.Problem.Start)
	assert.Equal(t, 61, d.Problem.Days)
	for _, s := range out.Stops {
		assert.True(t, s.Standing == StandingAgreed || s.On >= in.From, "nothing new before the first day")
	}
	assert.Len(t, out.Days, 60)
}

func TestAbsencesTakeMinutes(t *testing.T) {
	in := ranch()
	in.PlanningData.Technicians = []models.Technician{{ID: "sam", Mon: 480, Tue: 480, Fri: 300}, {ID: "kim", Mon: 240}}
	in.PlanningData.Closures = []models.Closure{
		{Sort: models.ClosureAway, Technician: "sam", From: monday, To: monday.AddDays(7)},
		{Sort: models.ClosureAway, Technician: "nobody", From: monday, To: monday},
	}
	d, err := New(in)
	require.NoError(t, err)
	assert.Equal(t, []int{720, 480, 0, 0, 300, 0, 0}, d.Problem.TechMin)
	assert.Equal(t, [][3]int{{0, 1, 480}, {4, 4, 300}, {7, 7, 480}}, d.Problem.TechOff)
	require.Len(t, d.Notes, 1)
	for lang, says := range map[string]string{"en": "an absence names the technician", "es": "una ausencia nombra al técnico"} {
		words, _ := d.Notes[0].In(lang)
		assert.Contains(t, words, says)
		assert.Contains(t, words, `"nobody"`)
	}
}

// One new fact moves as few others as it can: what people were shown costs to
// move.
func TestPlansAreStable(t *testing.T) {
	in := ranch()
	in.Machines, in.Forecasts = nil, nil
	for i := range 12 {
		id := fmt.Sprintf("M%02d", i)
		in.Machines = append(in.Machines, models.Machine{ID: id, Kind: "utv", Owner: "O1"})
		in.Forecasts = append(in.Forecasts, due(id, models.ItemOil, monday.AddDays(10+i%4), 365))
	}
	_, _, before := solve(t, in)
	require.Len(t, before.Stops, 12)
	for i, s := range before.Stops {
		v := visitOn(int64(i+1), s.Machine.ID, models.VisitPlanned, s.On.String(), models.JoinNames(s.ItemIDs()))
		v.Bay = s.Bay
		in.PlanningData.Visits = append(in.PlanningData.Visits, v)
	}
	in.Forecasts[3] = due("M03", models.ItemOil, monday.AddDays(30), 365)
	_, _, after := solve(t, in)
	moved := 0
	for _, s := range after.Stops {
		require.NotEmpty(t, s.Visit.ID)
		if s.Standing == StandingMoved {
			moved++
			assert.Equal(t, "M03", s.Machine.ID)
		}
	}
	assert.LessOrEqual(t, moved, 1)
	assert.Empty(t, after.Gone)
}

func TestWhatNoPlanCanBeMadeOf(t *testing.T) {
	for want, spoil := range map[string]func(*Input){
		"plan of 0 days":   func(in *Input) { in.Days = 0 },
		"before today":     func(in *Input) { in.From = in.Today.AddDays(-1) },
		"open on no day":   func(in *Input) { in.Settings.OpenMin = [7]int{} },
		"plan of 99999 da": func(in *Input) { in.Days = 99999 },
	} {
		in := ranch()
		spoil(&in)
		_, err := New(in)
		assert.ErrorContains(t, err, want)
		assert.Equal(t, models.CodeInvalid, models.CodeOf(err))
	}
}

// randomInput draws a small shop.
func randomInput(t *rapid.T) Input {
	in := ranch()
	in.Days = rapid.IntRange(1, 40).Draw(t, "days")
	in.Machines, in.Forecasts = nil, nil
	sites := []string{"", "north", "south"}
	items := []string{models.ItemCoolant, models.ItemThermostat, models.ItemOil, models.ItemBattery}
	for i := range rapid.IntRange(1, 5).Draw(t, "machines") {
		m := models.Machine{ID: fmt.Sprint("M", i), Kind: rapid.SampledFrom([]string{"utv", "atv"}).Draw(t, "kind"), Owner: "O", Site: rapid.SampledFrom(sites).Draw(t, "site")}
		in.Machines = append(in.Machines, m)
		for _, item := range rapid.SliceOfNDistinct(rapid.SampledFrom(items), 0, 4, rapid.ID[string]).Draw(t, "items") {
			f := due(m.ID, item, monday.AddDays(rapid.IntRange(-60, 60).Draw(t, "due")), rapid.IntRange(20, 800).Draw(t, "interval"))
			spread := rapid.IntRange(0, 60).Draw(t, "spread")
			f.EarlyOn, f.LateOn = f.DueOn.AddDays(-spread), f.DueOn.AddDays(spread)
			f.Reason = rapid.SampledFrom([]models.Reason{models.ReasonUse, models.ReasonSeason}).Draw(t, "reason")
			in.Forecasts = append(in.Forecasts, f)
		}
	}
	for range rapid.IntRange(0, 4).Draw(t, "closures") {
		from := monday.AddDays(rapid.IntRange(-5, 40).Draw(t, "from"))
		in.PlanningData.Closures = append(in.PlanningData.Closures, models.Closure{
			Sort: rapid.SampledFrom(models.ClosureSorts()).Draw(t, "sort"), From: from, To: from.AddDays(rapid.IntRange(0, 10).Draw(t, "length")),
			Site: rapid.SampledFrom(sites).Draw(t, "at"), Kind: rapid.SampledFrom([]string{"", "utv", "boat"}).Draw(t, "of"),
			MaxOut: rapid.IntRange(0, 2).Draw(t, "most"), Technician: "sam", Note: "a note"})
	}
	for i := range rapid.IntRange(0, 3).Draw(t, "visits") {
		m := rapid.SampledFrom(in.Machines).Draw(t, "of machine")
		v := visitOn(int64(i+1), m.ID, rapid.SampledFrom(models.VisitStates()).Draw(t, "state"), monday.AddDays(rapid.IntRange(-3, 45).Draw(t, "on")).String(),
			models.Names(rapid.SampledFrom(items).Draw(t, "item")))
		v.Bay = rapid.SampledFrom([]string{"1", "2"}).Draw(t, "bay")
		in.PlanningData.Visits = append(in.PlanningData.Visits, v)
	}
	in.Settings.Bays = rapid.IntRange(1, 2).Draw(t, "bays")
	return in
}

// Whatever a shop records, a plan can be made, keeps every rule, and every
// alternative that it names is possible and costs what it says.
func TestAnyShopCanBePlanned(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, err := New(randomInput(t))
		require.NoError(t, err)
		plan, err := visit.Solve(context.Background(), d.Problem, visit.Options{Seed: 1, Steps: 1, Told: d.Told})
		require.NoError(t, err)
		report := visit.Check(&d.Problem, plan.Visits)
		require.Empty(t, report.Broken)
		out := d.Explain(plan)
		require.Len(t, out.Stops, len(plan.Visits))
		planned := 0
		for _, s := range out.Stops {
			planned += len(s.Items)
			assert.NotEmpty(t, s.Why)
			if s.Standing == StandingAgreed {
				continue // its dates are waived and its day is not for moving
			}
			for _, a := range s.Alternatives {
				moved := append([]visit.Visit(nil), plan.Visits...)
				for i := range moved {
					if moved[i].Machine == s.visit.Machine && moved[i].Day == s.visit.Day {
						moved[i].Day, moved[i].Bay = d.day(a.On), a.Bay
					}
				}
				other := visit.Check(&d.Problem, moved)
				assert.Empty(t, other.Broken)
				assert.Equal(t, a.Extra, other.Cost.Total()-report.Cost.Total())
			}
		}
		for _, l := range out.Left {
			assert.NotEmpty(t, l.Why)
		}
		assert.LessOrEqual(t, planned+len(out.Left), len(d.Problem.Items))
	})
}
