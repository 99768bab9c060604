package config_test

import (
	"fmt"
	"maps"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/config"
	"example.org/roundsman/models"
)

const someRules = `
[[teardown]]
kind = "utv"
teardown = "cooling_drain"
access_min = 45

[[rule]]
kind = "utv"
item = "coolant"
miles = 1_000
hours = 250.5
months = 24
first_miles = 200
first_hours = 20
first_months = 1
severe_factor = 0.5
lead_days = 45
parts_days = 3
by = "10-15"
teardown = "cooling_drain"
work_min = 15
access_min = 45
note = "from the manual, page 12"

[[rule]]
kind = "utv"
make = "Aspen"
model = "Trail 700"
item = "belt"
miles = 1.5e3

[[rule]]
machine = "M-17"
item = "winch_rope"
by = "02-29"
`

func TestParseRules(t *testing.T) {
	f, err := config.ParseRules("rules.toml", []byte(someRules))
	require.NoError(t, err)
	assert.Empty(t, f.Warnings)
	assert.Equal(t, []models.Teardown{{Kind: "utv", ID: "cooling_drain", AccessMin: 45}}, f.Teardowns)
	assert.Equal(t, []models.Rule{
		{
			Kind: "utv", Item: models.ItemCoolant, Miles: models.Num(1000), Hours: models.Num(250.5), Months: 24,
			FirstMiles: models.Num(200), FirstHours: models.Num(20), FirstMonths: 1, SevereFactor: models.Num(0.5),
			LeadDays: 45, PartsDays: 3, By: models.MonthDay{Month: 10, Day: 15}, Teardown: "cooling_drain",
			WorkMin: 15, AccessMin: 45, Origin: models.OriginFile, Note: "from the manual, page 12",
		},
		{Kind: "utv", Make: "Aspen", Model: "Trail 700", Item: models.ItemBelt, Miles: models.Num(1500), Origin: models.OriginFile},
		{Machine: "M-17", Item: "winch_rope", By: models.MonthDay{Month: 2, Day: 29}, Origin: models.OriginFile},
	}, f.Rules)
}

func TestParseNoRules(t *testing.T) {
	f, err := config.ParseRules("rules.toml", []byte("# none yet\n"))
	require.NoError(t, err)
	assert.Empty(t, f.Rules)
}

func TestLoadRulesWithoutAFile(t *testing.T) {
	_, err := config.LoadRules("rules.toml", noFiles)
	assert.Equal(t, models.CodeUnavailable, models.CodeOf(err))
	assert.ErrorContains(t, err, "rules.toml")
}

// A shop has the rules that its settings name, from the folder of the settings.
func TestShopRules(t *testing.T) {
	host := files(map[string]string{"etc/roundsman.toml": "rules = \"own.toml\"\n", "etc/own.toml": someRules})
	l, err := config.Load("etc/roundsman.toml", nil, host)
	require.NoError(t, err)
	f, err := l.ShopRules(host)
	require.NoError(t, err)
	assert.Len(t, f.Rules, 3)

	l, err = config.Load("", nil, noFiles)
	require.NoError(t, err)
	f, err = l.ShopRules(noFiles)
	require.NoError(t, err)
	require.NotEmpty(t, f.Rules)
	assert.Equal(t, models.OriginShipped, f.Rules[0].Origin)
}

// Teardowns whose minutes are not known, or known twice, are worth a look.
func TestRuleWarnings(t *testing.T) {
	f, err := config.ParseRules("r.toml", []byte(`[[teardown]]
kind = "utv"
teardown = "hood"
access_min = 5
[[rule]]
kind = "utv"
item = "cap"
months = 24
teardown = "hood"
access_min = 10
[[rule]]
kind = "atv"
item = "cap"
months = 24
teardown = "hood"
[[rule]]
kind = "utv"
item = "coolant_look"
months = 6
teardown = "hood"
`))
	require.NoError(t, err)
	assert.Equal(t, "r.toml:5:3: rule.teardown \"hood\" takes 10 minutes here and 5 in its [[teardown]]; leave access_min out here, unless this machine differs\n"+
		"r.toml:11:3: rule.teardown \"hood\" has no minutes, so that sharing it saves nothing; write access_min here, or a [[teardown]] for the kind",
		f.Warnings.Error())
}

// A rules file written from rules reads back to the same rules.
func TestRulesRoundTrip(t *testing.T) {
	number := func(lo, hi float64) *rapid.Generator[models.Number] {
		return rapid.Custom(func(t *rapid.T) models.Number {
			if rapid.Bool().Draw(t, "unknown") {
				return models.Number{}
			}
			return models.Num(rapid.Float64Range(lo, hi).Draw(t, "figure"))
		})
	}
	text := rapid.StringMatching(`([A-Za-z0-9"'\\#=\[\]é漢😀]([ A-Za-z0-9"'\\é漢😀]{0,20}[A-Za-z0-9"'\\é漢😀])?)?`)
	id := rapid.StringMatching(`[a-z][a-z0-9_]{0,12}`)
	rapid.Check(t, func(t *rapid.T) {
		var rules []models.Rule
		for i := range rapid.IntRange(0, 8).Draw(t, "rules") {
			r := models.Rule{
				Kind: text.Draw(t, "kind"), Machine: fmt.Sprintf("M-%d", i), Item: id.Draw(t, "item"),
				Miles: number(1, 1e6).Draw(t, "miles"), Hours: number(1, 1e5).Draw(t, "hours"), Months: rapid.IntRange(1, 240).Draw(t, "months"),
				FirstMiles: number(1, 1e6).Draw(t, "first miles"), FirstHours: number(1, 1e5).Draw(t, "first hours"), FirstMonths: rapid.IntRange(0, 240).Draw(t, "first months"),
				SevereFactor: number(0.1, 1).Draw(t, "severe"), LeadDays: rapid.IntRange(0, 365).Draw(t, "lead"), PartsDays: rapid.IntRange(0, 365).Draw(t, "parts"),
				By: models.MonthDay{Month: 10, Day: rapid.IntRange(1, 31).Draw(t, "by")}, WorkMin: rapid.IntRange(0, 10000).Draw(t, "work"),
				Origin: models.OriginFile, Note: text.Draw(t, "note"),
			}
			if rapid.Bool().Draw(t, "apart") {
				r.Teardown, r.AccessMin = id.Draw(t, "teardown"), rapid.IntRange(0, 10000).Draw(t, "access")
			}
			if rapid.Bool().Draw(t, "make") {
				r.Make, r.Model = "Aspen", "Trail "+id.Draw(t, "model")
			}
			rules = append(rules, r)
		}
		teardowns := []models.Teardown{{Kind: "utv", ID: "hood"}, {Kind: "atv", ID: "hood", AccessMin: 5}}
		data := config.WriteRules(rules, teardowns)
		f, err := config.ParseRules("rules.toml", data)
		require.NoError(t, err, "%s", data)
		assert.Equal(t, rules, f.Rules, "%s", data)
		assert.Equal(t, teardowns, f.Teardowns)
	})
}

func TestWriteRules(t *testing.T) {
	got := config.WriteRules([]models.Rule{
		{Kind: "utv", Item: models.ItemCoolant, Miles: models.Num(1000), Hours: models.Num(0.5), By: models.MonthDay{Month: 2, Day: 29}, Note: "say \"cold\"\tand wait"},
		{Kind: "utv", Item: models.ItemOil, Hours: models.Num(100), Retired: true},
	}, []models.Teardown{{Kind: "utv", ID: "hood"}})
	assert.Equal(t, `[[teardown]]
kind = "utv"
teardown = "hood"
access_min = 0

[[rule]]
kind = "utv"
item = "coolant"
miles = 1000
hours = 0.5
by = "02-29"
note = "say \"cold\"\u0009and wait"
`, string(got))
}

// The rules that come with the program: what a shop may expect of them.
func TestShipped(t *testing.T) {
	f, err := config.Shipped()
	require.NoError(t, err)
	assert.Empty(t, f.Warnings)

	minutes := map[string]int{}
	for _, td := range f.Teardowns {
		minutes[td.Kind+"/"+td.ID] = td.AccessMin
	}
	items := map[string][]string{}
	used := map[string]bool{}
	for _, r := range f.Rules {
		name := r.Kind + "/" + r.Item
		items[r.Kind] = append(items[r.Kind], r.Item)
		assert.Equal(t, config.ShippedNote, r.Note, name)
		assert.Equal(t, models.OriginShipped, r.Origin, name)
		assert.Contains(t, models.KnownItems(), r.Item, name)
		assert.Positive(t, r.WorkMin, name)
		assert.True(t, r.SevereFactor.Or(0.5) >= 0.1 && r.SevereFactor.Or(0.5) <= 1, name)
		if r.Teardown != "" {
			used[r.Kind+"/"+r.Teardown] = true
			assert.Positive(t, minutes[r.Kind+"/"+r.Teardown], "%s: nobody says how long %s takes", name, r.Teardown)
		}
		// Hours-only machines must meet a limit too.
		switch {
		case models.ItemOf(r.Item).OnCondition:
			assert.True(t, r.Months == 0 && !r.Hours.Known && !r.Miles.Known && r.By.IsZero(), "%s is given a date of ours", name)
			assert.NotEmpty(t, r.Teardown, "%s: nothing is apart for it", name)
		case r.Item != models.ItemBreakIn:
			assert.True(t, r.Months > 0 || !r.By.IsZero(), "%s has no calendar limit for a machine that stands", name)
		default:
			assert.True(t, r.FirstHours.Known && !r.Miles.Known && !r.Hours.Known && r.Months == 0, "%s comes once", name)
		}
	}
	for name := range minutes {
		assert.True(t, used[name], "no rule needs the teardown %s", name)
	}

	kinds := []string{"utv", "atv", "tractor", "generator"}
	assert.Len(t, items, len(kinds))
	everywhere := []string{models.ItemOil, models.ItemOilFilter, models.ItemAirFilter, models.ItemFuelFilter, models.ItemBattery, models.ItemBreakIn}
	anywhere := slices.Concat(slices.Collect(maps.Values(items))...)
	for _, it := range models.Items() {
		if it.ID == models.ItemFirstInspection { // it stands for items that have rules
			continue
		}
		assert.Contains(t, anywhere, it.ID, "an item without a rule that comes with the program")
		if it.Cooling {
			everywhere = append(everywhere, it.ID)
		}
	}
	for _, kind := range kinds {
		for _, item := range everywhere {
			assert.Contains(t, items[kind], item, kind)
		}
		assert.Equal(t, kind == "utv", slices.Contains(items[kind], models.ItemBelt), "a belt in a %s", kind)
		assert.Equal(t, kind != "generator", slices.Contains(items[kind], models.ItemBrakesLook), "brakes in a %s", kind)
	}
}

// A look comes at least as often as the change of what is looked at
// (common practice, no source).
func TestShippedLooksComeOften(t *testing.T) {
	f, err := config.Shipped()
	require.NoError(t, err)
	by := map[models.RuleKey]models.Rule{}
	for _, r := range f.Rules {
		by[r.Key()] = r
	}
	for _, kind := range []string{"utv", "atv", "tractor", "generator"} {
		look := by[models.RuleKey{Kind: kind, Item: models.ItemCoolantLook}]
		change := by[models.RuleKey{Kind: kind, Item: models.ItemCoolant}]
		assert.LessOrEqual(t, look.Months*2, change.Months, kind)
		assert.LessOrEqual(t, look.Hours.F*2, change.Hours.F, kind)
		// The change of thermostat and sensor shares the drain; their tests come together and open nothing.
		for _, item := range []string{models.ItemThermostatChange, models.ItemECTSensorChange} {
			assert.Equal(t, change.Teardown, by[models.RuleKey{Kind: kind, Item: item}].Teardown, kind)
		}
		thermostat, sensor := by[models.RuleKey{Kind: kind, Item: models.ItemThermostat}], by[models.RuleKey{Kind: kind, Item: models.ItemECTSensor}]
		assert.Empty(t, thermostat.Teardown+sensor.Teardown, kind)
		assert.Equal(t, thermostat.Months, sensor.Months, kind)
	}
}

// The shipped file is what the writer would write, but for its remarks.
func TestShippedIsWrittenBack(t *testing.T) {
	f, err := config.Shipped()
	require.NoError(t, err)
	back, err := config.ParseRules("back.toml", config.WriteRules(f.Rules, f.Teardowns))
	require.NoError(t, err)
	for i := range back.Rules {
		back.Rules[i].Origin = models.OriginShipped
	}
	assert.Equal(t, f.Rules, back.Rules)
	assert.Equal(t, f.Teardowns, back.Teardowns)
}

func TestRulesExample(t *testing.T) {
	data, err := os.ReadFile("example-rules.toml")
	require.NoError(t, err)
	f, err := config.ParseRules("example-rules.toml", data)
	require.NoError(t, err)
	assert.Empty(t, f.Warnings)
	assert.Len(t, f.Rules, 4)
	assert.Len(t, f.Teardowns, 1)
}
