package interval_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/interval"
)

// rule makes a rule whose months tell it apart.
func rule(row int64, kind, maker, model, machine, item string, months int) models.Rule {
	return models.Rule{Fact: models.Fact{Row: row}, Kind: kind, Make: maker, Model: model, Machine: machine, Item: item, Months: months}
}

func TestResolvePrecedence(t *testing.T) {
	retired := rule(9, "", "", "", "M1", "oil", 7)
	retired.Retired = true
	retiredKind := rule(9, "utv", "", "", "", "oil", 7)
	retiredKind.Retired = true
	m := ranch()
	m.Make, m.Model = "Harrow", "Trail 800"
	kind, maker, model, machine := rule(1, "UTV", "", "", "", "oil", 12), rule(8, "", "harrow ", "", "", "oil", 10),
		rule(3, "", "HARROW", "trail 800", "", "oil", 9), rule(2, "", "", "", "M1", "oil", 6)
	tests := []struct {
		name  string
		rules []models.Rule
		want  int // months; 0: no rule
	}{
		{"kind", []models.Rule{kind}, 12},
		{"make and model before kind", []models.Rule{kind, model}, 9},
		{"one machine before all", []models.Rule{machine, kind, model, maker}, 6},
		{"a make alone between kind and model", []models.Rule{maker, kind}, 10},
		{"though it was written later", []models.Rule{maker, model}, 9},
		{"as precise as each other: the later", []models.Rule{maker, rule(5, "", "", "Trail 800", "", "oil", 13), rule(9, "", "", "Trail 800", "", "oil", 14)}, 14},
		{"as precise as each other: the later, other way", []models.Rule{maker, rule(5, "", "", "Trail 800", "", "oil", 13)}, 10},
		{"with the kind named too, narrower", []models.Rule{rule(4, "utv", "Harrow", "Trail 800", "", "oil", 8), rule(5, "", "Harrow", "Trail 800", "", "oil", 11)}, 8},
		{"the last written of one key", []models.Rule{rule(5, "utv", "", "", "", "oil", 24), kind}, 24},
		{"of one key in other letters", []models.Rule{rule(5, "Utv ", "", "", "", "oil", 24), kind}, 24},
		{"unnumbered: the later in the list", []models.Rule{rule(0, "utv", "", "", "", "oil", 24), rule(0, "utv", "", "", "", "oil", 18)}, 18},
		{"retired, so the wider one", []models.Rule{kind, machine, retired}, 12},
		{"retired and no other", []models.Rule{kind, retiredKind}, 0},
		{"retired before it was written again", []models.Rule{retiredKind, rule(10, "utv", "", "", "", "oil", 5)}, 5},
		{"another kind", []models.Rule{rule(1, "atv", "", "", "", "oil", 12)}, 0},
		{"another model", []models.Rule{rule(1, "utv", "Harrow", "Trail 900", "", "oil", 12)}, 0},
		{"another machine", []models.Rule{rule(1, "", "", "", "m1", "oil", 12)}, 0},
		{"for no machine", []models.Rule{rule(1, "", "", "", "", "oil", 12)}, 0},
		{"no item", []models.Rule{rule(1, "utv", "", "", "", "", 12)}, 0},
		{"none", nil, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := interval.Resolve(tt.rules, m)
			if tt.want == 0 {
				assert.Empty(t, got)
				return
			}
			require.Len(t, got, 1)
			assert.Equal(t, tt.want, got[0].Months)
		})
	}
}

func TestResolveFits(t *testing.T) {
	rules := []models.Rule{rule(1, "utv", "", "", "", "plugs", 12), rule(2, "utv", "", "", "", "coolant", 24),
		rule(3, "utv", "", "", "", "belt", 24), rule(4, "utv", "", "", "", "oil", 12)}
	items := func(m models.Machine) (out []string) {
		for _, r := range interval.Resolve(rules, m) {
			out = append(out, r.Item)
		}
		return out
	}
	m := ranch()
	assert.Equal(t, []string{"belt", "coolant", "oil", "plugs"}, items(m), "by item")
	m.Cooling, m.Fuel = models.CoolingAir, models.FuelDiesel
	assert.Equal(t, []string{"belt", "oil"}, items(m))
	m.Cooling = ""
	assert.Equal(t, []string{"belt", "coolant", "oil"}, items(m), "unknown cooling is asked about, not dropped")
}

func TestResolveSevereDuty(t *testing.T) {
	tests := []struct {
		name           string
		duty           models.Duty
		factor         models.Number
		miles, first   float64
		months, firstM int
	}{
		{"normal duty", models.DutyNormal, models.Num(0.5), 1000, 300, 10, 1},
		{"half", models.DutySevere, models.Num(0.5), 500, 150, 5, 1},
		{"months exactly", models.DutySevere, models.Num(0.7), 700, 210, 7, 1},
		{"months rounded down", models.DutySevere, models.Num(0.75), 750, 225, 7, 1},
		{"least factor", models.DutySevere, models.Num(0.1), 100, 30, 1, 1},
		{"no factor", models.DutySevere, none, 1000, 300, 10, 1},
		{"a factor out of range", models.DutySevere, models.Num(1.5), 1000, 300, 10, 1},
		{"a factor of nothing", models.DutySevere, models.Num(0), 1000, 300, 10, 1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := models.Rule{Kind: "utv", Item: "oil", Miles: models.Num(1000), FirstMiles: models.Num(300), Months: 10,
				FirstMonths: 1, SevereFactor: tt.factor}
			m := ranch()
			m.Duty = tt.duty
			got := interval.Resolve([]models.Rule{r}, m)
			require.Len(t, got, 1)
			assert.InDelta(t, tt.miles, got[0].Miles.F, 1e-9)
			assert.InDelta(t, tt.first, got[0].FirstMiles.F, 1e-9)
			assert.Equal(t, none, got[0].Hours)
			assert.Equal(t, []int{tt.months, tt.firstM}, []int{got[0].Months, got[0].FirstMonths})
		})
	}
	m := ranch()
	m.Duty = models.DutySevere
	odd := interval.Resolve([]models.Rule{{Kind: "utv", Item: "oil", Months: 50, SevereFactor: models.Num(0.58)}}, m)
	require.Len(t, odd, 1)
	assert.Equal(t, 29, odd[0].Months, "though 50 times 0.58 is 28.999999999999996 to a computer")
	in := input(m, miles("2025-03-01", 0, 10), "2025-03-02", interval.Resolve([]models.Rule{{Kind: "utv", Item: "oil",
		Miles: models.Num(1000), SevereFactor: models.Num(0.5)}}, m)[0])
	assert.Equal(t, "500 mi since new on 2025-03-01 (severe duty)", one(t, in).Detail)
}

// Rules come in any order and hold all the same, and what holds is always one
// of those that name the machine.
func TestResolveProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pick := func(label string, of ...string) string { return rapid.SampledFrom(of).Draw(t, label) }
		var rules []models.Rule
		for i := range rapid.IntRange(0, 12).Draw(t, "rules") {
			r := rule(int64(i+1), pick("kind", "", "utv", "UTV", "atv"), pick("make", "", "Harrow"), pick("model", "", "800", "900"),
				pick("machine", "", "M1", "M2"), pick("item", "oil", "belt"), i+1)
			r.Retired = rapid.Bool().Draw(t, "retired")
			rules = append(rules, r)
		}
		m := ranch()
		m.Make, m.Model = pick("its make", "", "HARROW"), pick("its model", "", "800")
		got := interval.Resolve(rules, m)
		shuffled := append([]models.Rule(nil), rules...)
		rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0)).Shuffle(len(shuffled), func(i, j int) {
			shuffled[i], shuffled[j] = shuffled[j], shuffled[i]
		})
		require.Equal(t, got, interval.Resolve(shuffled, m))
		for i, r := range got {
			require.False(t, r.Retired)
			require.Contains(t, []string{"", "M1"}, r.Machine)
			require.True(t, i == 0 || got[i-1].Item < r.Item, "one rule an item, by item")
		}
	})
}
