package cooling_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/scheduler/cooling"
)

// The fraction of old fluid after n rounds is (1-d/V)^n (textbook dilution).
func TestDilute(t *testing.T) {
	for _, tc := range []struct {
		v, d             float64
		left             []float64
		tenth, twentieth int
	}{
		{4, 2.5, []float64{0.375, 0.140625, 0.052734, 0.019775, 0.007416}, 3, 4},
		{10, 4, []float64{0.6, 0.36, 0.216, 0.1296, 0.07776}, 5, 6},
		{3.2, 1.9, []float64{0.40625, 0.165039, 0.067047, 0.027238, 0.011065}, 3, 4},
		{2, 1, []float64{0.5, 0.25, 0.125, 0.0625, 0.03125}, 4, 5},
		{5, 5, []float64{0, 0, 0, 0, 0}, 1, 1},
	} {
		got, err := cooling.Dilute(tc.v, tc.d, 5)
		require.NoError(t, err)
		assert.InDeltaSlice(t, tc.left, got, 1e-6)
		n, err := cooling.RoundsTo(tc.v, tc.d, 0.10)
		require.NoError(t, err)
		assert.Equal(t, tc.tenth, n, "%v", tc)
		n, err = cooling.RoundsTo(tc.v, tc.d, 0.05)
		require.NoError(t, err)
		assert.Equal(t, tc.twentieth, n, "%v", tc)
	}
	_, err := cooling.Dilute(4, 5, 1)
	requireRefused(t, err, cooling.RefusedInput)
	_, err = cooling.RoundsTo(100, 0.1, 0.05)
	requireRefused(t, err, cooling.RefusedRounds)
	_, err = cooling.RoundsTo(4, 2, 1)
	requireRefused(t, err, cooling.RefusedInput)
}

// One correction drains V (want-now)/(fill-now) (textbook balance).
func TestAdjust(t *testing.T) {
	got, err := cooling.Adjust(cooling.Adjustment{SystemL: 10, Now: eg(30), Want: 50, Fill: eg(100)})
	require.NoError(t, err)
	require.Len(t, got.Steps, 1)
	assert.InDelta(t, 2.857142857, got.DrainL, 1e-9)
	assert.InDelta(t, 2.857142857, got.FillL, 1e-9)
	assert.InDelta(t, 50, got.Percent, 1e-9)

	// A drain that reaches 1 L only: three rounds, the last a part.
	got, err = cooling.Adjust(cooling.Adjustment{SystemL: 10, Now: eg(30), Want: 50, Fill: eg(100), DrainMaxL: 1})
	require.NoError(t, err)
	require.Len(t, got.Steps, 4)
	assert.InDelta(t, 37, got.Steps[0].Percent, 1e-9)
	assert.InDelta(t, 43.3, got.Steps[1].Percent, 1e-9)
	assert.InDelta(t, 48.97, got.Steps[2].Percent, 1e-9)
	assert.InDelta(t, 10*(50-48.97)/(100-48.97), got.Steps[3].DrainL, 1e-9)
	assert.InDelta(t, 50, got.Percent, 1e-9)

	// Low by a liter, and topped up: no drain, concentrate and water.
	got, err = cooling.Adjust(cooling.Adjustment{SystemL: 10, LowL: 1, Now: eg(50), Want: 50, Fill: eg(100)})
	require.NoError(t, err)
	assert.Zero(t, got.DrainL)
	assert.InDelta(t, 0.5, got.FillL, 1e-12)
	assert.InDelta(t, 0.5, got.WaterL, 1e-12)

	// Too strong: water brings it down.
	got, err = cooling.Adjust(cooling.Adjustment{SystemL: 8, Now: eg(60), Want: 50, Fill: eg(0)})
	require.NoError(t, err)
	assert.InDelta(t, 8.0/6, got.DrainL, 1e-9)

	// As it should be: nothing to do.
	got, err = cooling.Adjust(cooling.Adjustment{SystemL: 8, Now: eg(50), Want: 50, Fill: eg(100)})
	require.NoError(t, err)
	assert.Empty(t, got.Steps)
}

func TestAdjustRefusals(t *testing.T) {
	base := cooling.Adjustment{SystemL: 10, Now: eg(30), Want: 50, Fill: eg(100)}
	for name, tc := range map[string]struct {
		change func(*cooling.Adjustment)
		reason string
	}{
		"premix as weak as wanted, not all drained": {func(a *cooling.Adjustment) { a.Fill, a.DrainMaxL = eg(50), 5 }, string(cooling.RefusedRounds)},
		"fill too weak":                            {func(a *cooling.Adjustment) { a.Fill = eg(40) }, string(cooling.RefusedReach)},
		"fill on the wrong side":                   {func(a *cooling.Adjustment) { a.Fill = eg(0) }, string(cooling.RefusedReach)},
		"a little stronger than the fill, and low": {func(a *cooling.Adjustment) { a.Now, a.Want, a.Fill, a.LowL = eg(1), 50.5, eg(50), 1 }, string(cooling.RefusedReach)},
		"fill as it is":                            {func(a *cooling.Adjustment) { a.Fill = eg(30) }, string(cooling.RefusedReach)},
		"top-up overshoots":                        {func(a *cooling.Adjustment) { a.Now, a.Want, a.Fill, a.LowL = eg(60), 55, eg(0), 1 }, string(cooling.RefusedTooStrong)},
		"two glycols":                              {func(a *cooling.Adjustment) { a.Fill = pg(100) }, string(cooling.RefusedMixture)},
		"by mass":                                  {func(a *cooling.Adjustment) { a.Now.Basis = cooling.ByMass }, string(cooling.RefusedBasis)},
		"no system":                                {func(a *cooling.Adjustment) { a.SystemL = 0 }, string(cooling.RefusedInput)},
		"drain beyond system":                      {func(a *cooling.Adjustment) { a.DrainMaxL = 11 }, string(cooling.RefusedInput)},
		"low beyond system":                        {func(a *cooling.Adjustment) { a.LowL = 11 }, string(cooling.RefusedInput)},
		"not a number":                             {func(a *cooling.Adjustment) { a.Want = math.NaN() }, string(cooling.RefusedInput)},
	} {
		a := base
		tc.change(&a)
		_, err := cooling.Adjust(a)
		t.Log(name, err)
		var r *cooling.Refusal
		require.ErrorAs(t, err, &r, name)
		assert.Equal(t, tc.reason, string(r.Reason), name)
	}
}

// Whatever an adjustment does, glycol is conserved: what was in, less what
// came out, plus what went in, is what the system holds at the end.
func TestAdjustConserves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := cooling.Adjustment{
			SystemL: rapid.Float64Range(0.5, 60).Draw(t, "system"),
			Now:     eg(rapid.Float64Range(0, 70).Draw(t, "now")),
			Want:    rapid.Float64Range(0, 70).Draw(t, "want"),
			Fill:    eg(rapid.SampledFrom([]float64{0, 33, 50, 60, 100}).Draw(t, "fill")),
		}
		a.LowL = a.SystemL * rapid.SampledFrom([]float64{0, 0, 0.1, 0.3}).Draw(t, "low")
		a.DrainMaxL = a.SystemL * rapid.SampledFrom([]float64{0, 0.3, 0.6, 1}).Draw(t, "drain")
		got, err := cooling.Adjust(a)
		if err != nil {
			var r *cooling.Refusal
			require.ErrorAs(t, err, &r)
			return
		}
		content, glycol := a.SystemL-a.LowL, (a.SystemL-a.LowL)*a.Now.Percent
		for _, s := range got.Steps {
			require.GreaterOrEqual(t, s.DrainL, 0.0)
			require.GreaterOrEqual(t, s.FillL, 0.0)
			require.GreaterOrEqual(t, s.WaterL, -1e-12)
			if a.DrainMaxL > 0 {
				require.LessOrEqual(t, s.DrainL, a.DrainMaxL*(1+1e-9))
			}
			glycol += s.FillL*a.Fill.Percent - s.DrainL*glycol/content
			content += s.FillL + s.WaterL - s.DrainL
			require.InDelta(t, a.SystemL, content, 1e-9*a.SystemL)
			require.InDelta(t, glycol/content, s.Percent, 1e-6)
		}
		if len(got.Steps) > 0 {
			require.InDelta(t, a.Want, got.Percent, 1e-6)
		}
	})
}

// Common practice, no source: a system of six quarts (a gallon and a half),
// mostly drained, needs no more than a gallon back.
func TestBuySixQuarts(t *testing.T) {
	for _, product := range []float64{50, 100} {
		for _, quarts := range []float64{3, 3.5, 4} {
			got, err := cooling.Buy(cooling.Purchase{
				SystemL: 6 * cooling.LitersPerQuart, DrainedL: quarts * cooling.LitersPerQuart, Want: 50,
				Product: eg(product), ContainerL: cooling.LitersPerGallon,
			})
			require.NoError(t, err)
			assert.Equal(t, 1, got.Containers, "%g quarts of %g %%", quarts, product)
			assert.LessOrEqual(t, got.FillL, cooling.LitersPerGallon+1e-9)
			assert.InDelta(t, got.FillL, got.ProductL+got.WaterL, 1e-12)
		}
	}
	// Exactly a gallon of premix out of a gallon can: rounding buys no second.
	got, err := cooling.Buy(cooling.Purchase{SystemL: 5.678, DrainedL: 4 * 0.946352946, Want: 50, Product: eg(50), ContainerL: 3.785411784})
	require.NoError(t, err)
	assert.Equal(t, 1, got.Containers)
	assert.InDelta(t, 0, got.LeftOverL, 1e-9)
}

func TestBuyOnTopOfWhatStays(t *testing.T) {
	old := 30.0
	got, err := cooling.Buy(cooling.Purchase{SystemL: 10, DrainedL: 6, Old: &old, Want: 50, Product: eg(100), ContainerL: 1, SpareL: 0.5})
	require.NoError(t, err)
	assert.InDelta(t, 100*(5-1.2)/6, got.FillPercent, 1e-9)
	assert.InDelta(t, 3.8, got.ProductL, 1e-9)
	assert.InDelta(t, 2.2, got.WaterL, 1e-9)
	assert.Equal(t, 5, got.Containers) // 3.8 and a spare half liter
	assert.InDelta(t, 1.2, got.LeftOverL, 1e-9)

	_, err = cooling.Buy(cooling.Purchase{SystemL: 10, DrainedL: 6, Old: &old, Want: 50, Product: eg(50), ContainerL: 1})
	requireRefused(t, err, cooling.RefusedReach)
	strong := 70.0
	_, err = cooling.Buy(cooling.Purchase{SystemL: 10, DrainedL: 1, Old: &strong, Want: 40, Product: eg(50), ContainerL: 1})
	requireRefused(t, err, cooling.RefusedTooStrong)
	_, err = cooling.Buy(cooling.Purchase{SystemL: 10, DrainedL: 6, Want: 50, Product: eg(0), ContainerL: 1})
	requireRefused(t, err, cooling.RefusedInput)
}

func TestChangeChemistry(t *testing.T) {
	c := cooling.Change{SystemL: 4, DrainL: 2.5, From: "IAT", To: "OAT", Old: cooling.Ethylene, New: cooling.Ethylene, Want: 50}
	got, err := cooling.ChangeChemistry(c)
	require.NoError(t, err)
	assert.Equal(t, 4, got.Rounds) // to 5 %, as in TestDilute
	assert.InDelta(t, 10, got.FreshL, 1e-9)
	require.NotNil(t, got.Water)
	assert.InDelta(t, 7.5, got.Water.WaterL, 1e-9)
	assert.InDelta(t, 80, got.Water.LastPercent, 1e-9)
	assert.Contains(t, got.Warnings[0], "do not top IAT up with OAT")
	assert.NotContains(t, got.Warnings[len(got.Warnings)-1], "tester")

	c.New = cooling.Propylene
	got, err = cooling.ChangeChemistry(c)
	require.NoError(t, err)
	assert.Contains(t, got.Warnings[len(got.Warnings)-1], "no tester")

	c.DrainL = 1.5 // half the system cannot be reached with 1.5 L of concentrate
	got, err = cooling.ChangeChemistry(c)
	require.NoError(t, err)
	assert.Nil(t, got.Water)

	c.New, c.To = cooling.Ethylene, " iat"
	got, err = cooling.ChangeChemistry(c)
	require.NoError(t, err)
	assert.Zero(t, got.Rounds)
}

// A strength that coolants are not made for is warned about: ASTM D3306 and
// D6210 vouch for 40 to 60 % by volume.
func TestAdjustWarnsOfStrength(t *testing.T) {
	for want, notes := range map[float64]int{39: 1, 40: 0, 50: 0, 60: 0, 61: 2, 75: 2} {
		got, err := cooling.Adjust(cooling.Adjustment{SystemL: 10, Now: eg(30), Want: want, Fill: eg(100)})
		require.NoError(t, err)
		assert.Len(t, got.Notes, notes, "%g %%", want)
	}
}
