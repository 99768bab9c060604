package sheet

import (
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/job"
	"example.org/roundsman/scheduler/usage"
)

var update = flag.Bool("update", false, "write the golden files anew")

var (
	d     = models.MustDate
	num   = models.Num
	today = d("2026-06-01")
)

// even is a machine that has run the same every day since it came: so many
// miles and hours.
type even struct {
	m            models.Machine
	miles, hours float64
}

func (e even) value(meter models.Meter, on models.Date) float64 {
	run := float64(e.m.InService.DaysTo(on))
	if meter == models.HourMeter {
		return run * e.hours
	}
	return run * e.miles
}

func (e even) At(meter models.Meter, on models.Date) (usage.Range, bool) {
	v := e.value(meter, on)
	return usage.Range{Low: 0.99 * v, Likely: v, High: 1.01 * v}, e.m.Meters.Has(meter)
}

func (e even) First(limits []usage.Limit, _ models.Date) usage.Crossing {
	on := e.m.InService.AddDays(int(limits[0].Target / e.miles))
	return usage.Crossing{Early: on, Likely: on, Late: on, Meter: limits[0].Meter}
}

func (e even) Cumulative(meter models.Meter, _ models.Date, shown float64) (float64, bool) {
	if meter == models.Odometer {
		shown = e.m.Meters.Miles(shown)
	}
	return shown, e.m.Meters.Has(meter)
}

func (e even) Shown(meter models.Meter, v float64) float64 {
	if meter == models.Odometer {
		return e.m.Meters.Shown(v)
	}
	return v
}

// rules of a side-by-side, as the shop may have set them.
func rules() []models.Rule {
	rule := func(item, teardown string, work, days int) models.Rule {
		return models.Rule{Kind: "utv", Item: item, Teardown: teardown, WorkMin: work, PartsDays: days}
	}
	return []models.Rule{
		rule(models.ItemBelt, "belt_cover", 20, 4), rule(models.ItemCap, "", 5, 0), rule(models.ItemCoolant, "cooling_drain", 15, 3),
		rule(models.ItemECTSensor, "", 15, 0), rule(models.ItemECTSensorChange, "cooling_drain", 15, 5), rule(models.ItemGearOil, "", 20, 0), rule(models.ItemHoses, "cooling_drain", 30, 5),
		rule(models.ItemOil, "oil_drain", 15, 0), rule(models.ItemOilFilter, "oil_drain", 5, 1), rule(models.ItemThermostat, "", 30, 0),
		rule(models.ItemThermostatChange, "cooling_drain", 20, 5),
	}
}

func teardowns() []models.Teardown {
	return []models.Teardown{{Kind: "utv", ID: "cooling_drain", AccessMin: 60}, {Kind: "utv", ID: "belt_cover", AccessMin: 25}, {Kind: "utv", ID: "oil_drain", AccessMin: 15}}
}

func forecast(item string, stage models.Stage, last, due string) models.Forecast {
	f := models.Forecast{Machine: "M1", Item: item, Stage: stage, LastOn: d(last), DueOn: d(due), EarlyOn: d(due), LateOn: d(due), Reason: models.ReasonUse}
	if due == "" {
		f.Reason = models.ReasonNoRecord
	}
	return f
}

func r12() models.Machine {
	return models.Machine{ID: "M1", Tag: "R12", Kind: "utv", Owner: "O1", Make: "Ostrand", Model: "Ridge 570", Year: 2021, Serial: "OS57A21M004417",
		Site: "north barn", Meters: models.MetersBoth, InService: d("2021-04-02"), Duty: models.DutySevere, Cooling: models.CoolingLiquid,
		Fuel: models.FuelGas, CoolantLitres: num(5.7), LowestC: models.Degrees(-35)}
}

// base is a machine with nothing but itself.
func base(m models.Machine) Input {
	e := even{m, 3.2, 0.34}
	return Input{
		Today: today, History: models.History{Machine: m}, Owner: models.Owner{ID: "O1", Name: "Juniper Flat Ranch"},
		Rules: rules(), Teardowns: teardowns(), Scale: e, Use: e, Language: "en",
		Seen: map[models.Meter]models.Date{models.Odometer: m.InService, models.HourMeter: m.InService},
	}
}

// forty is the machine of a technician's bad morning: 40 jobs, the last of
// them three weeks ago for the same thing as today.
func forty() Input {
	m := r12()
	in := base(m)
	e := in.Use.(even)
	in.Contacts = []models.Contact{
		{ID: "C2", Owner: "O1", Name: "Bo Marsh", Role: models.RoleOperator, Mobile: "+12025550102"},
		{ID: "C1", Owner: "O1", Name: "Ada Cole", Role: models.RoleService, Mobile: "+12025550101", Mail: "ada@example.com", Prefers: models.ChannelSMS, SMSConsentOn: d("2024-01-01")},
	}
	in.Forecasts = []models.Forecast{
		forecast(models.ItemBelt, models.StageComing, "2025-06-01", "2026-06-20"),
		forecast(models.ItemCap, models.StageDue, "2024-05-20", "2026-05-20"),
		forecast(models.ItemCoolant, models.StageClear, "2026-05-10", "2028-05-10"),
		forecast(models.ItemECTSensor, models.StageUnsure, "", ""),
		forecast(models.ItemGearOil, models.StageClear, "2026-01-10", "2027-01-10"),
		forecast(models.ItemHoses, models.StageClear, "2023-02-01", "2027-02-01"),
		forecast(models.ItemOil, models.StageClear, "2026-05-10", "2026-12-01"),
		forecast(models.ItemOilFilter, models.StageClear, "2026-05-10", "2026-12-01"),
		forecast(models.ItemThermostat, models.StageClear, "2026-05-10", "2030-05-10"),
	}
	works := []struct{ complaint, item, what string }{
		{"", models.ItemOil, ""}, {"belt slips under load", models.ItemBelt, ""}, {"brakes squeak", "", "front pads, rotors turned"},
		{"", models.ItemOil, ""}, {"won't start", "", "new battery cable"}, {"", models.ItemGearOil, ""},
	}
	for i := range 38 {
		k := works[i%len(works)]
		on := d("2021-06-01").AddDays(i * 46)
		w := models.WholeJob{Job: models.Job{ID: fmt.Sprint(i + 1), Machine: m.ID, State: models.JobHanded, Turn: 1, OpenedOn: on, DoneOn: on, HandedOn: on,
			DoneBy: "Pat", Complaint: k.complaint, Miles: num(tenth(e.value(models.Odometer, on))), Hours: num(tenth(e.value(models.HourMeter, on)))}}
		w.Lines = []models.JobLine{{Job: w.Job.ID, Line: 1, Turn: 1, Item: k.item, What: k.what, By: "Pat"}}
		if k.item == models.ItemBelt {
			w.Parts = []models.Part{{Job: w.Job.ID, Part: 1, Turn: 1, Line: 1, Name: "drive belt", Number: "DB-118", Maker: "Kestrel", Equivalents: "3211180, 59011", CostCents: num(11900)}}
		}
		in.Jobs = append([]models.WholeJob{w}, in.Jobs...)
	}
	hot := models.WholeJob{
		Job: models.Job{ID: "39", Machine: m.ID, State: models.JobHanded, Turn: 1, OpenedOn: d("2026-05-09"), DoneOn: d("2026-05-10"), HandedOn: d("2026-05-11"),
			DoneBy: "Kim", Complaint: "overheats on long climbs", Cause: "thermostat sticks", Correction: "new thermostat, fresh coolant", Miles: num(5965.4), Hours: num(633.1)},
		Lines: []models.JobLine{{Job: "39", Line: 1, Turn: 1, Item: models.ItemThermostatChange, By: "Kim", Cooling: true}, {Job: "39", Line: 2, Turn: 1, Item: models.ItemCoolant, By: "Kim", Cooling: true}},
		Parts: []models.Part{{Job: "39", Part: 1, Turn: 1, Line: 1, Name: "thermostat", Number: "TH-82", Maker: "Alder", Equivalents: "A1; A2", CostCents: num(2450), Place: "head outlet"}},
		Checks: []models.AskedCheck{
			{Check: models.Check{ID: "211", Job: "39", Turn: 1, Kind: models.CheckOwner, QuestionEN: "Is it running right, and is the coolant still at the cold mark?", AfterDays: 7, From: d("2026-05-11")}},
		},
	}
	now := models.WholeJob{
		Job: models.Job{ID: "40", Machine: m.ID, State: models.JobOpen, Turn: 1, OpenedOn: today, Complaint: "runs hot again, fan never comes on", Codes: "P0217, P0480"},
		Checks: []models.AskedCheck{{Check: models.Check{ID: "213", Job: "40", Turn: 1, Kind: models.CheckBench, QuestionEN: "Fan runs when its relay is bridged?"},
			Answers: []models.CheckAnswer{{Result: models.CheckBad, Words: "motor stiff"}}}},
	}
	in.Jobs = append([]models.WholeJob{now, hot}, in.Jobs...)
	in.History.Services = []models.Service{{Machine: m.ID, Item: models.ItemCap, At: d("2024-05-20"), Miles: num(3660)}, {Machine: m.ID, Item: models.ItemThermostatChange, At: d("2026-05-10"), Miles: num(5965.4)}}
	in.History.Readings = []models.Reading{
		{Fact: models.Fact{Row: 1}, Machine: m.ID, At: d("2026-05-22"), Miles: num(6001), Source: "owner"},
		{Fact: models.Fact{Row: 2}, Machine: m.ID, At: d("2026-05-30"), Miles: num(9999), Source: "owner"},
	}
	in.Doubts = []models.Doubt{{Machine: m.ID, Reading: 2, Meter: models.Odometer, Reason: models.ReasonLeaps}}
	return in
}

// golden compares a text with a file of testdata.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(want), got)
}

// fits says whether a text fits a page.
func fits(t require.TestingT, text string, width, height int) {
	lines := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
	require.LessOrEqual(t, len(lines), height, "lines of\n%s", text)
	for _, l := range lines {
		require.LessOrEqual(t, len([]rune(l)), width, "columns of %q", l)
		require.Equal(t, strings.TrimRight(l, " "), l, "blanks at the end")
	}
}

func TestSheetsAsText(t *testing.T) {
	cases := map[string]struct {
		in Input
		l  Layout
	}{
		"forty_jobs":   {in: forty()},
		"forty_metric": {in: forty(), l: Layout{Liters: true, Celsius: true}},
		"nothing_known": {in: base(models.Machine{ID: "M9", Kind: "pump", Owner: "O1", Meters: models.MetersHours, InService: d("2026-01-01"),
			Cooling: models.CoolingAir})},
		"no_job":   {in: noJob()},
		"reopened": {in: reopened()},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			text := Text(Build(c.in), c.l)
			golden(t, name+".txt", text)
			fits(t, text, 80, 60)
		})
	}
}

// A sheet in Spanish asks in Spanish, and its head says where the machine stands.
func TestTheSheetAsksInItsLanguage(t *testing.T) {
	in := base(models.Machine{ID: "M9", Kind: "pump", Owner: "O1", Meters: models.MetersHours, InService: d("2026-01-01")})
	in.Rules, in.Language = nil, "es"
	in.Forecasts = []models.Forecast{
		{Machine: "M9", Item: models.ItemFirstInspection, Stage: models.StageUnsure, Reason: models.ReasonNoRecord, Ask: models.AskWhenEach},
		{Machine: "M9", Item: models.ItemOil, Stage: models.StageUnsure, Reason: models.ReasonNoRecord},
		{Machine: "M9", Item: models.ItemHoses, Stage: models.StageUnsure, Reason: models.ReasonWide, Ask: models.AskHourMeter},
	}
	in.History.Standings = []models.MachineStanding{{Machine: "M9", On: d("2026-01-05"), State: models.StandsLaidUp, Until: today.AddDays(30)}}
	s := Build(in)
	assert.Equal(t, []string{
		"qué toca y cuándo: no hay reglas para la clase pump; agréguelas con items.csv o corrija la clase",
		"cuánto refrigerante lleva todo el sistema",
		"cuándo se hizo cada uno por última vez, o una revisión",
		"cuándo se hizo por última vez: cambio de aceite del motor",
		"qué marca el horómetro",
	}, s.Asks)
	assert.Equal(t, "guardada hasta "+today.AddDays(30).String(), s.Machine.Standing)
	in.Language = "en"
	assert.Contains(t, strings.Join(strings.Split(Text(Build(in), Layout{}), "\n")[:3], " "), "laid up until "+today.AddDays(30).String())
	in.History.Standings[0].Until = today
	assert.Empty(t, Build(in).Machine.Standing, "it is in use again by itself")
}

func noJob() Input {
	in := forty()
	in.Jobs = in.Jobs[1:]
	in.Forecasts[7].Stage, in.Forecasts[7].DueOn = models.StageDue, d("2026-05-30")
	in.Forecasts[6].Stage, in.Forecasts[6].DueOn = models.StageLate, d("2026-04-30")
	return in
}

// reopened is a quad that shows kilometers, whose repair came back.
func reopened() Input {
	m := models.Machine{ID: "Q3", Kind: "atv", Owner: "O1", Meters: models.MetersKM, InService: d("2023-01-01"), Cooling: models.CoolingAir}
	in := base(m)
	in.Rules, in.Teardowns = nil, nil
	in.Jobs = []models.WholeJob{{
		Job: models.Job{ID: "7", Machine: "Q3", State: models.JobReopened, Turn: 2, OpenedOn: d("2026-05-01"), BackOn: today, Complaint: "stalls at idle",
			Correction: "cleaned the carburetor", Note: "back: same as before (Ada)", Miles: num(6200)},
		Lines: []models.JobLine{{Job: "7", Line: 1, Turn: 1, What: "cleaned the carburetor", By: "Pat"}},
	}}
	return in
}

// What a technician must know in ten seconds stands in the first lines: what
// was done last, what it may be, what to do while in there, what to buy.
func TestTheFirstLinesTellWhatMatters(t *testing.T) {
	text := Text(Build(forty()), Layout{})
	lines := strings.Split(text, "\n")
	at := func(part string) int {
		for i, l := range lines {
			if strings.Contains(l, part) {
				return i
			}
		}
		return -1
	}
	last, back, with, buy := at("LAST "), at("BACK?"), at("WITH IT"), at("BUY ")
	assert.True(t, 0 < last && last < back && back < with && with < buy && buy < 28, "%d %d %d %d", last, back, with, buy)
}

func TestBuildKnowsTheStory(t *testing.T) {
	s := Build(forty())
	require.NotNil(t, s.Last)
	assert.Equal(t, "39", s.Last.Job)
	assert.Equal(t, 22, s.Last.SinceDays)
	require.NotNil(t, s.Job)
	assert.Equal(t, []Code{{"P0217", "Engine Coolant Over Temperature Condition"}, {"P0480", "Cooling Fan 1 Control Circuit"}}, s.Job.Codes)
	require.Len(t, s.Alike, 1)
	assert.Equal(t, "39", s.Alike[0].Job)
	assert.Contains(t, s.Alike[0].Why[0], "both say hot")
	assert.Len(t, s.History, 40, "39 jobs and the cap, which no job tells of; the thermostat is told by its job")
	require.Len(t, s.Meters, 2)
	assert.Equal(t, num(6001), s.Meters[0].Last, "the doubted reading is passed over")
	assert.Equal(t, "Ada Cole", s.Owner.Contacts[0].Name, "who answers for it comes first")
	require.Len(t, s.Checks, 2)
	assert.Equal(t, models.CheckBench, s.Checks[0].Kind)
	assert.True(t, s.Checks[0].Bad)
	assert.Equal(t, d("2026-05-18"), s.Checks[1].AskOn)
	ids := map[string]bool{}
	for _, c := range s.Cautions {
		ids[c.ID] = true
	}
	for _, id := range []string{"hot_coolant", "glycol_poison", "fan_starts", "exhaust_gas"} {
		assert.True(t, ids[id], id)
	}
	b, err := json.Marshal(s)
	require.NoError(t, err)
	var back Sheet
	require.NoError(t, json.Unmarshal(b, &back))
	assert.NotEmpty(t, s.Forecasts)
	s.Forecasts = nil // what Due was made of is not a part of the sheet
	assert.Equal(t, s, back, "the JSON tells all else")
}

// "While the intake is off: thermostat, 8 months early, saves 1.4 h".
func TestWithinATeardown(t *testing.T) {
	in := base(r12())
	in.Rules = []models.Rule{
		{Item: "intake_gasket", Teardown: "intake", WorkMin: 30, AccessMin: 84},
		{Item: models.ItemThermostatChange, Teardown: "intake", WorkMin: 20},
		{Item: models.ItemECTSensorChange, Teardown: "intake", WorkMin: 10},
		{Item: models.ItemBelt, Teardown: "belt_cover"},
	}
	in.Items = []string{"intake_gasket"}
	in.Forecasts = []models.Forecast{
		forecast("intake_gasket", models.StageClear, "2026-01-01", "2030-01-01"),
		forecast(models.ItemThermostatChange, models.StageClear, "2023-02-01", "2027-02-01"),
		forecast(models.ItemECTSensorChange, models.StageClear, "2026-01-01", "2030-01-01"), // 43 months of 48 left: not now
		forecast(models.ItemBelt, models.StageClear, "2026-01-01", "2026-10-01"),
	}
	s := Build(in)
	require.Len(t, s.Within, 1)
	w := s.Within[0]
	assert.Equal(t, []string{"intake_gasket"}, w.InHand)
	require.Len(t, w.Items, 1)
	assert.Equal(t, models.ItemThermostatChange, w.Items[0].Item)
	assert.Equal(t, 245, w.Items[0].DaysEarly)
	assert.Equal(t, 84, w.Items[0].SavesMin)
	text := Text(s, Layout{})
	assert.Contains(t, text, "while the intake is done (saves 1.4 h)")
	assert.Contains(t, text, "2027-02-01, 8 months early, saves 1.4 h")
	assert.Empty(t, s.Due)
}

// A part that is changed on condition is offered while it is apart, unless its
// test was passed lately; once its test has failed it is to be changed, apart
// or not, until it was.
func TestChangesOnCondition(t *testing.T) {
	in := base(r12())
	in.Rules = []models.Rule{{Item: models.ItemCoolant, Teardown: "drain", AccessMin: 60}, {Item: models.ItemThermostat, Months: 48},
		{Item: models.ItemThermostatChange, Teardown: "drain", WorkMin: 20}}
	in.Items = []string{models.ItemCoolant}
	test := forecast(models.ItemThermostat, models.StageClear, "2022-08-01", "2026-08-01")
	fresh := forecast(models.ItemThermostat, models.StageClear, "2025-08-01", "2029-08-01")
	in.Forecasts = []models.Forecast{forecast(models.ItemCoolant, models.StageDue, "2024-05-01", "2026-05-01"), test}
	s := Build(in)
	require.Len(t, s.Within, 1)
	require.Len(t, s.Within[0].Items, 1)
	assert.Equal(t, models.ReasonOnCondition, s.Within[0].Items[0].Reason)
	assert.Contains(t, Text(s, Layout{}), "thermostat change            on condition, saves 1 h")
	assert.NotContains(t, bought(s), models.ItemThermostatChange, "nothing is bought for what may be left")

	in.Forecasts[1] = fresh
	assert.Empty(t, Build(in).Within, "its test was passed a year ago, of four")

	in.Items = nil
	in.Forecasts = in.Forecasts[1:]
	in.Jobs = append(in.Jobs, models.WholeJob{Job: models.Job{ID: "77", Machine: in.History.Machine.ID, State: models.JobOpen, Turn: 1, OpenedOn: in.Today},
		Checks: []models.AskedCheck{{Check: models.Check{ID: "300", Job: "77", Turn: 1, Kind: models.CheckBench, Def: job.PassedCheck(models.ItemThermostat)},
			Answers: []models.CheckAnswer{{Check: "300", Result: models.CheckBad}}}}})
	s = Build(in)
	require.Len(t, s.Due, 1)
	assert.Equal(t, models.ItemThermostatChange, s.Due[0].Item)
	assert.Contains(t, Text(s, Layout{}), "thermostat change            its test failed")
	in.History.Services = append(in.History.Services, models.Service{Item: models.ItemThermostatChange, At: in.Today})
	assert.Empty(t, Build(in).Due)
}

func bought(s Sheet) (items []string) {
	for _, b := range s.Buy {
		items = append(items, b.Item)
	}
	return items
}

// Of what is due together without a job, the first pays for the teardown.
func TestTogetherSavesAllButOneTeardown(t *testing.T) {
	s := Build(noJob())
	require.NotEmpty(t, s.Within)
	w := s.Within[0]
	assert.Equal(t, "oil_drain", w.Teardown)
	assert.Equal(t, []string{models.ItemOil, models.ItemOilFilter}, []string{w.Items[0].Item, w.Items[1].Item})
	assert.Equal(t, []int{0, 15, 15}, []int{w.Items[0].SavesMin, w.Items[1].SavesMin, w.SavesMin})
}

// A system that holds six quarts, a gallon and a half, mostly drained, needs
// no more than a gallon back (common practice, no source).
func TestCoolantToBuy(t *testing.T) {
	buy := func(liters, lowest float64) Coolant {
		in := base(r12())
		in.History.Machine.CoolantLitres, in.History.Machine.LowestC = num(liters), models.Degrees(lowest)
		in.Items = []string{models.ItemCoolant}
		s := Build(in)
		require.NotEmpty(t, s.Buy)
		return *s.Buy[0].Coolant
	}
	six := buy(1.5*gallon, -35)
	assert.Equal(t, 1, six.Containers)
	assert.Equal(t, "50/50 premix", six.Strength)
	assert.InDelta(t, -37, six.GoodToC.F, 0.05, "50 % by volume, as the table of the cooling bench has it")
	assert.Equal(t, 1, buy(5.7, -35).Containers, "the same, given in rounded liters")
	assert.Equal(t, 2, buy(7, -35).Containers)
	cold := buy(5.7, -45)
	assert.Equal(t, "concentrate", cold.Strength)
	assert.Greater(t, cold.Percent, 50.0)
	assert.InDelta(t, cold.FillL, cold.ProductL+cold.WaterL, 1e-9)
	assert.NotEmpty(t, buy(5.7, -90).Refused, "no table goes there")

	in := base(r12())
	in.History.Machine.CoolantLitres = models.Number{}
	in.Items = []string{models.ItemCoolant}
	assert.Contains(t, Build(in).Buy[0].Coolant.Refused, "not known")
	in.Items = []string{models.ItemOil}
	assert.Empty(t, Build(in).Buy)
}

func TestPartsShowTheNewestOfEach(t *testing.T) {
	s := Build(forty())
	names := map[string]Part{}
	for _, p := range s.Parts {
		names[p.Name] = p
	}
	require.Len(t, s.Parts, 2)
	assert.Equal(t, 22, names["thermostat"].AgeDays)
	assert.Equal(t, "38", names["drive belt"].Job, "the newest of seven belts")
	assert.Equal(t, 11, monthsBetween(d("2025-06-15"), d("2026-05-31")))
	assert.Equal(t, 1, monthsBetween(d("2026-01-31"), d("2026-02-28")))
	assert.Equal(t, 0, monthsBetween(d("2026-02-28"), d("2026-01-31")))
}

// Whatever a machine's story, its sheet fits a page and keeps every caution
// that belongs to it.
func TestEverySheetFitsAPage(t *testing.T) {
	kinds := []string{"utv", "atv", "generator", "compact tractor", "trailer pump", "x"}
	words := rapid.Map(rapid.SliceOfN(rapid.IntRange(0, 90), 0, 12), func(ns []int) string {
		var ws []string
		for _, n := range ns {
			ws = append(ws, strings.Repeat("x", n))
		}
		return strings.Join(ws, " ")
	})
	rapid.Check(t, func(t *rapid.T) {
		in := forty()
		m := &in.History.Machine
		m.Kind = rapid.SampledFrom(kinds).Draw(t, "kind")
		m.Site, m.Model = words.Draw(t, "site"), words.Draw(t, "model")
		in.Rules = nil
		in.Forecasts = nil
		for _, item := range models.KnownItems() {
			in.Rules = append(in.Rules, models.Rule{Item: item, Teardown: rapid.SampledFrom([]string{"", "a", "b", "c"}).Draw(t, "teardown"), AccessMin: 20, PartsDays: 9})
			in.Forecasts = append(in.Forecasts, models.Forecast{Item: item, Stage: rapid.SampledFrom(models.Stages()).Draw(t, "stage"),
				LastOn: d("2025-01-01"), DueOn: today.AddDays(rapid.IntRange(-400, 400).Draw(t, "due")), Ask: models.Ask(words.Draw(t, "ask"))})
		}
		for i := range in.Jobs {
			if rapid.IntRange(0, 9).Draw(t, "odd") == 0 {
				in.Jobs[i].Job.Complaint = words.Draw(t, "complaint")
				in.Jobs[i].Job.Correction = words.Draw(t, "correction")
				in.Jobs[i].Job.State = rapid.SampledFrom(models.JobStates()).Draw(t, "state")
			}
			for range rapid.IntRange(0, 2).Draw(t, "checks") {
				in.Jobs[i].Checks = append(in.Jobs[i].Checks, models.AskedCheck{Check: models.Check{ID: "9", Turn: 1, Kind: models.CheckBench, QuestionEN: words.Draw(t, "question")}})
			}
		}
		s := Build(in)
		text := Text(s, Layout{})
		fits(t, text, 80, 60)
		flat := strings.Join(strings.Fields(text), " ")
		for _, c := range s.Cautions {
			require.Contains(t, flat, strings.Join(strings.Fields(c.Short.EN), " "))
		}
	})
}

func TestSpansAndFigures(t *testing.T) {
	for days, want := range map[int]string{0: "0 days", 1: "1 day", 59: "59 days", 60: "2 months", -245: "8 months", 700: "23 months", 731: "2.0 years", 1500: "4.1 years"} {
		assert.Equal(t, want, span(days))
	}
	assert.Equal(t, []string{"?", "0", "999", "1,000", "-1,234,568"}, []string{whole(models.Number{}), whole(num(0.4)), whole(num(999)), whole(num(999.6)), whole(num(-1234567.8))})
}

// TestRunSinceIsToldAsFarAsItIsKnown: what a meter has run since a day is told
// where its value of that day can be, marked where it was worked out, and not
// told at all for a day before the meter was first seen.
func TestRunSinceIsToldAsFarAsItIsKnown(t *testing.T) {
	in := forty()
	in.Jobs, in.Complaint, in.Items = nil, "", nil
	in.Seen = map[models.Meter]models.Date{models.Odometer: today.AddDays(-200)}
	in.History.Services = []models.Service{
		{Fact: models.Fact{Row: 1}, Item: models.ItemOil, At: today.AddDays(-300)},
		{Fact: models.Fact{Row: 2}, Item: models.ItemBelt, At: today.AddDays(-100)},
		{Fact: models.Fact{Row: 3}, Item: models.ItemAirFilter, At: today.AddDays(-50), Miles: models.Num(53100)},
		{Fact: models.Fact{Row: 4}, Item: models.ItemHoses, At: today.AddDays(-10), Miles: models.Num(6000)},
	}
	in.Doubted = []usage.DoubtedService{{Service: 3, Meter: models.Odometer, Reason: models.ReasonExtraDigit, Likely: models.Num(5310)}}
	s := Build(in)
	require.Len(t, s.History, 4)
	hoses, filter, belt, oil := s.History[0], s.History[1], s.History[2], s.History[3]
	assert.True(t, hoses.Since.Known)
	assert.False(t, hoses.About, "written down")
	assert.True(t, filter.About, "its own value is left out: worked out from the others")
	assert.Positive(t, filter.Since.F)
	assert.True(t, belt.Since.Known)
	assert.True(t, belt.About)
	assert.False(t, oil.Since.Known, "before the meter was first seen")
	text := Text(s, Layout{})
	assert.Contains(t, text, "53100 mi on")
	assert.Contains(t, text, "~")
	assert.Contains(t, text, "10 days and", "the distance does not stand where a meter's value would")
}

// TestTheUseIsSaidInOneLine, and a meter never read has no likely value.
func TestTheUseIsSaidInOneLine(t *testing.T) {
	in := forty()
	for want, pace := range map[string]usage.Pace{
		"Used about 60 mi a month lately, 300 before.": {Meter: models.Odometer, Lately: models.Num(60.2), Before: models.Num(302)},
		"Used about 300 mi a month.":                   {Meter: models.Odometer, Lately: models.Num(303)},
		"Used about 4.5 h a month.":                    {Meter: models.HourMeter, Lately: models.Num(4.52)},
		"Not used since 2026-03-01.":                   {Meter: models.Odometer, Since: d("2026-03-01")},
	} {
		in.Pace = pace
		assert.Contains(t, strings.Join(strings.Fields(Text(Build(in), Layout{})), " "), want)
	}
	in.Seen = nil
	text := Text(Build(in), Layout{})
	assert.NotContains(t, text, "Likely now")
	assert.Contains(t, text, "No meter of it has been read yet.")
}
