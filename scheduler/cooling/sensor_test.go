package cooling_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/scheduler/cooling"
)

// Constants published with their temperatures for general-purpose 10 kohm
// thermistors (public application notes); the temperatures worked out with a
// reference program.
func TestSteinhartHartTemperatures(t *testing.T) {
	a := cooling.SteinhartHart{A: 2.108508173e-3, B: 0.7979204727e-4, C: 6.535076315e-7}
	b := cooling.SteinhartHart{A: 1.129148e-3, B: 2.34125e-4, C: 8.76741e-8}
	c := cooling.SteinhartHart{A: 1.40e-3, B: 2.37e-4, C: 9.90e-8}
	for _, tc := range []struct {
		curve     cooling.SteinhartHart
		ohm, want float64
	}{
		{a, 25000, 5}, {a, 10000, 25}, {a, 4000, 45},
		{b, 10000, 24.999668}, {b, 32650, 0.000225}, {b, 1000, 87.16814}, {b, 330, 126.217592},
		{c, 3000, 25.507394}, {c, 1000, 52.607286},
	} {
		got, err := tc.curve.TempC(tc.ohm)
		require.NoError(t, err)
		assert.InDelta(t, tc.want, got, 2e-6, "%g ohm", tc.ohm)
		back, err := tc.curve.Ohm(got)
		require.NoError(t, err)
		assert.InEpsilon(t, tc.ohm, back, 1e-9)
	}
}

func TestFitSteinhartHart(t *testing.T) {
	// Three points settle the constants exactly; the published constants are
	// those of a above.
	fit, err := cooling.FitSteinhartHart([]cooling.Point{{TempC: 45, Ohm: 4000}, {TempC: 5, Ohm: 25000}, {TempC: 25, Ohm: 10000}})
	require.NoError(t, err)
	assert.InEpsilon(t, 2.1085081731e-3, fit.A, 1e-9)
	assert.InEpsilon(t, 7.979204727e-5, fit.B, 1e-8)
	assert.InEpsilon(t, 6.535076315e-7, fit.C, 1e-8)

	// An application note's table of a 10 kohm sensor: fitted at 0, 25 and
	// 50 °C, the rows between come out within 0.0025 K.
	fit, err = cooling.FitSteinhartHart([]cooling.Point{{TempC: 0, Ohm: 32128}, {TempC: 25, Ohm: 9814}, {TempC: 50, Ohm: 3542}})
	require.NoError(t, err)
	assert.InEpsilon(t, 1.1041591248e-3, fit.A, 1e-9)
	assert.InEpsilon(t, 2.3891794671e-4, fit.B, 1e-9)
	assert.InEpsilon(t, 6.9316265e-8, fit.C, 1e-6)
	for _, row := range []struct{ ohm, c, off float64 }{{19549, 10, 0.0001}, {12262, 20, -0.0006}, {7908, 30, -0.0022}} {
		got, err := fit.TempC(row.ohm)
		require.NoError(t, err)
		assert.InDelta(t, row.off, got-row.c, 6e-5)
	}

	// Fitted to a beta curve it must find no cubic term.
	beta := cooling.Beta{R0Ohm: 2500, T0C: 20, BetaK: 3500}
	var points []cooling.Point
	for c := -40.0; c <= 130; c += 10 {
		ohm, err := beta.Ohm(c)
		require.NoError(t, err)
		points = append(points, cooling.Point{TempC: c, Ohm: ohm})
	}
	fit, err = cooling.FitSteinhartHart(points)
	require.NoError(t, err)
	assert.InDelta(t, 1.175781206e-3, fit.A, 1e-11)
	assert.InDelta(t, 1.0/3500, fit.B, 1e-12)
	assert.InDelta(t, 0, fit.C, 1e-13)
	again, err := cooling.FitBeta(points)
	require.NoError(t, err)
	assert.InDelta(t, 3500, again.BetaK, 1e-6)
}

// R = R0 exp(B(1/T-1/T0)) for 2500 ohm at 20 °C and 3500 K, an invented
// sensor; figures worked out with a reference program. Common practice, no
// source: about 2.5 kohm at 20, 0.32 at 80, 0.19 at 100 °C.
func TestBeta(t *testing.T) {
	beta := cooling.Beta{R0Ohm: 2500, T0C: 20, BetaK: 3500}
	for c, want := range map[float64]float64{-40: 53990.358, -20: 16490.847, 0: 5992.346, 20: 2500, 25: 2046.371,
		50: 825.219, 80: 328.839, 100: 193.325, 130: 96.197} {
		got, err := beta.Ohm(c)
		require.NoError(t, err)
		assert.InDelta(t, want, got, 6e-4)
	}
	fit, err := cooling.FitBeta([]cooling.Point{{TempC: 20, Ohm: 2500}, {TempC: 100, Ohm: 190}})
	require.NoError(t, err)
	assert.InDelta(t, 3524, fit.BetaK, 1)
	assert.InDelta(t, 2500, fit.R0Ohm, 1e-6)
}

func TestFitRefusals(t *testing.T) {
	for name, points := range map[string][]cooling.Point{
		"too few":    {{TempC: 20, Ohm: 2500}},
		"rising":     {{TempC: 20, Ohm: 2500}, {TempC: 80, Ohm: 2600}, {TempC: 90, Ohm: 2700}},
		"same twice": {{TempC: 20, Ohm: 2500}, {TempC: 20, Ohm: 2400}, {TempC: 90, Ohm: 270}},
	} {
		_, err := cooling.FitBeta(points)
		requireRefused(t, err, cooling.RefusedPoints)
		_, err = cooling.FitSteinhartHart(points)
		requireRefused(t, err, cooling.RefusedPoints)
		t.Log(name, err)
	}
	_, err := cooling.FitBeta([]cooling.Point{{TempC: 20, Ohm: 2500}, {TempC: 900, Ohm: 1}})
	requireRefused(t, err, cooling.RefusedRange)
	_, err = cooling.FitBeta([]cooling.Point{{TempC: 20, Ohm: -1}, {TempC: 90, Ohm: 200}})
	requireRefused(t, err, cooling.RefusedInput)
}

// Temperature to resistance and back is the identity for every curve.
func TestCurvesInvert(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		beta := cooling.Beta{
			R0Ohm: math.Pow(10, rapid.Float64Range(2, 5).Draw(t, "log r0")),
			T0C:   rapid.Float64Range(0, 40).Draw(t, "t0"),
			BetaK: rapid.Float64Range(2500, 5000).Draw(t, "beta"),
		}
		var points []cooling.Point
		for _, c := range []float64{-40, 0, 40, 90, 130} {
			ohm, err := beta.Ohm(c)
			require.NoError(t, err)
			// A real table strays from a pure beta curve a little.
			points = append(points, cooling.Point{TempC: c, Ohm: ohm * rapid.Float64Range(0.98, 1.02).Draw(t, "stray")})
		}
		fit, err := cooling.FitSteinhartHart(points)
		require.NoError(t, err)
		c := rapid.Float64Range(-40, 130).Draw(t, "c")
		for _, curve := range []cooling.Curve{beta, fit} {
			ohm, err := curve.Ohm(c)
			require.NoError(t, err)
			back, err := curve.TempC(ohm)
			require.NoError(t, err)
			require.InDelta(t, c, back, 1e-6, "%T", curve)
			hotter, err := curve.Ohm(min(c+1, 130))
			require.NoError(t, err)
			require.LessOrEqual(t, hotter, ohm, "resistance falls")
		}
	})
}

func TestReadOhm(t *testing.T) {
	beta := cooling.Beta{R0Ohm: 2500, T0C: 20, BetaK: 3500}
	for _, tc := range []struct {
		curve cooling.Curve
		ohm   float64
		want  cooling.State
	}{
		{beta, 2500, cooling.StateGood}, {beta, 193, cooling.StateGood}, {beta, math.Inf(1), cooling.StateOpen},
		{beta, 2e6, cooling.StateOpen}, {beta, 0, cooling.StateShort}, {beta, 2, cooling.StateShort}, {beta, -1, cooling.StateSuspect},
	} {
		got := cooling.ReadOhm(tc.curve, tc.ohm)
		assert.Equal(t, tc.want, got.State, "%T %g: %s", tc.curve, tc.ohm, got.Why)
		assert.Equal(t, tc.want == cooling.StateGood, got.TempC != nil)
	}
}

// What lies beyond the rows of the table is marked as a guess.
func TestBeyondTheTable(t *testing.T) {
	curve, err := cooling.FitCurve([]cooling.Point{{TempC: 20, Ohm: 2500}, {TempC: 80, Ohm: 320}})
	require.NoError(t, err)
	for c, want := range map[float64]cooling.State{20: cooling.StateGood, 50: cooling.StateGood, 89: cooling.StateGood, 11: cooling.StateGood,
		92: cooling.StateBeyond, 8: cooling.StateBeyond, -10: cooling.StateBeyond, 110: cooling.StateBeyond} {
		ohm, r, err := curve.AtTemp(c)
		require.NoError(t, err)
		assert.Equal(t, want, r.State, "%g °C", c)
		back := cooling.ReadOhm(curve, ohm)
		assert.Equal(t, want, back.State, "%g ohm", ohm)
		if want == cooling.StateBeyond {
			assert.Contains(t, back.Why, "from 20 to 80 °C")
		}
	}
	_, err = cooling.FitCurve([]cooling.Point{{TempC: 20, Ohm: 2500}})
	requireRefused(t, err, cooling.RefusedPoints)
}

// 5 V over 1000 ohm: 2500 ohm give 3.571429 V, 187 ohm 0.787700 V (Ohm's law).
func TestDivider(t *testing.T) {
	d := cooling.Divider{SupplyV: 5, PullUpOhm: 1000}
	for ohm, volts := range map[float64]float64{2500: 3.571429, 187: 0.787700, 0: 0, math.Inf(1): 5} {
		got, err := d.Ohm(volts)
		require.NoError(t, err)
		if math.IsInf(ohm, 1) {
			assert.True(t, math.IsInf(got, 1))
		} else {
			assert.InDelta(t, ohm, got, 1e-2)
		}
	}
	beta := cooling.Beta{R0Ohm: 2500, T0C: 20, BetaK: 3500}
	for v, want := range map[float64]cooling.State{3.571429: cooling.StateGood, 5: cooling.StateOpen, 4.95: cooling.StateOpen, 0.01: cooling.StateShort, 0: cooling.StateShort} {
		got, err := cooling.ReadVolts(beta, d, v)
		require.NoError(t, err)
		assert.Equal(t, want, got.State, "%g V", v)
	}
	_, err := d.Ohm(5.1)
	requireRefused(t, err, cooling.RefusedInput)
	_, err = cooling.Divider{}.Ohm(1)
	requireRefused(t, err, cooling.RefusedInput)
	_, err = d.Ohm(-5)
	requireRefused(t, err, cooling.RefusedInput)
}

// SAE J1979 service 01 PID 0x05: one byte, °C = A - 40.
func TestCoolantByte(t *testing.T) {
	for b, want := range map[byte]float64{0x01: -39, 0x28: 0, 0x3C: 20, 0x7B: 83, 0x82: 90, 0xA0: 120} {
		r := cooling.FromByte(b)
		assert.Equal(t, want <= -25 || want >= 115, r.State == cooling.StateSuspect, "%g °C", want)
		assert.NotEmpty(t, r.Why, "a verdict beside every value")
		require.NotNil(t, r.TempC)
		assert.Equal(t, want, *r.TempC)
	}
	zero := cooling.FromByte(0)
	assert.Equal(t, cooling.StateSuspect, zero.State)
	assert.Equal(t, -40.0, *zero.TempC, "a raw zero is -40 °C, never 0")
	full := cooling.FromByte(0xFF)
	assert.Equal(t, cooling.StateSuspect, full.State)
	assert.Equal(t, 215.0, *full.TempC)
	got, err := cooling.ParseFrame(" 41 05 3c\r\n")
	require.NoError(t, err)
	assert.Equal(t, 20.0, *got.TempC)
	for frame, want := range map[string]float64{"7E8 03 41 05 7B": 83, "7E8 03 41 05 7B AA AA AA AA": 83, "7e8034105 3c": 20,
		"18 DA F1 10 03 41 05 7B 55 55 55 55": 83, "48 6B 10 41 05 7B 84": 83, "83 F1 11 41 05 7B 46": 83} {
		got, err := cooling.ParseFrame(frame)
		require.NoError(t, err, frame)
		assert.Equal(t, want, *got.TempC, frame)
	}
	for _, bad := range []string{"", "41 0C 1A", "41 05", "41 05 3C 00", "7E8 04 41 05 7B 00", "7E8 03 41 0C 1A F8", "7E8 03 7F 01 12", "41 05 ZZ", "NO DATA", "4105+1"} {
		_, err := cooling.ParseFrame(bad)
		requireRefused(t, err, cooling.RefusedInput)
	}
}

// Names in the words of SAE J2012, as in python-OBD's public list.
func TestCodeName(t *testing.T) {
	name, ok := cooling.CodeName(" p0128")
	assert.True(t, ok)
	assert.Equal(t, "Coolant Thermostat (Coolant Temperature Below Thermostat Regulating Temperature)", name)
	_, ok = cooling.CodeName("P9999")
	assert.False(t, ok)
}

func FuzzParseFrame(f *testing.F) {
	for _, s := range []string{"41 05 7B", "4105", "41 05 é", "\x00"} {
		f.Add(s)
	}
	f.Add("7E8 03 41 05 7B 00 00 00 00")
	f.Fuzz(func(t *testing.T, s string) {
		r, err := cooling.ParseFrame(s)
		if err == nil {
			require.NotNil(t, r.TempC)
			require.True(t, *r.TempC >= -40 && *r.TempC <= 215)
		}
	})
}
