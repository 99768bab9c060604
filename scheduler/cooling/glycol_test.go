package cooling_test

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/cooling"
)

func eg(percent float64) cooling.Strength {
	return cooling.Strength{Glycol: cooling.Ethylene, Percent: percent, Basis: cooling.ByVolume}
}

func pg(percent float64) cooling.Strength {
	return cooling.Strength{Glycol: cooling.Propylene, Percent: percent, Basis: cooling.ByVolume}
}

// requireRefused asserts that a refusal bears a reason and counts as bad input.
func requireRefused(t *testing.T, err error, reason models.Reason) {
	t.Helper()
	var r *cooling.Refusal
	require.ErrorAs(t, err, &r)
	assert.Equal(t, reason, r.Reason, r.Error())
	assert.Equal(t, models.CodeInvalid, models.CodeOf(err))
}

// Rows of the ASHRAE tables by volume and by mass (cooling.TableSource), and
// straight lines between them, worked out by hand from the rows.
func TestFreezePoints(t *testing.T) {
	for _, tc := range []struct {
		s    cooling.Strength
		want float64
	}{
		{eg(0), 0}, {eg(8.9), -3.2}, {eg(18.1), -7.8}, {eg(32.6), -17.9}, {eg(47.6), -33.8}, {eg(49.6), -36.4}, {eg(52.7), -41.1}, {eg(57.8), -48.3},
		{pg(9.6), -3.3}, {pg(19.4), -7.1}, {pg(39.6), -21.1}, {pg(49.9), -33.5}, {pg(60), -51.1},
		{eg(10), -3.715}, {eg(20), -8.844}, {eg(25), -12.140}, {eg(100.0 / 3), -18.470}, {eg(40), -24.800}, {eg(50), -37.000}, {eg(55), -44.620},
		{pg(10), -3.447}, {pg(25), -10.000}, {pg(35), -16.891}, {pg(45), -27.060}, {pg(50), -33.650}, {pg(55), -41.600},
		{cooling.Strength{Glycol: cooling.Ethylene, Percent: 50, Basis: cooling.ByMass}, -33.8},
		{cooling.Strength{Glycol: cooling.Propylene, Percent: 50, Basis: cooling.ByMass}, -33.5},
		{cooling.Strength{Glycol: cooling.Ethylene, Percent: 60, Basis: cooling.ByMass}, -48.3},
	} {
		got, err := tc.s.FreezeC()
		require.NoError(t, err)
		assert.InDelta(t, tc.want, got, 6e-4, "%v", tc.s)
	}
	f, err := eg(50).FreezeC()
	require.NoError(t, err)
	assert.InDelta(t, -34.6, cooling.ToFahrenheit(f), 1e-9)
}

// CoolProp's fits of the same ASHRAE data (AEG and APG, incompressible
// fluids, MIT license): T = exp(sum c_i (x-0.35)^i) in kelvin, x the volume
// fraction. The table is rounded to 0.1 K and 0.1 %; the fit strays up to 0.27 K
// from it for ethylene glycol and 0.1 K for propylene glycol.
func TestFreezePointsAgainstCoolProp(t *testing.T) {
	for _, tc := range []struct {
		of     func(float64) cooling.Strength
		c      []float64
		within float64
	}{
		{eg, []float64{5.534468, -0.3574293, -0.6535113, -0.9039166, 1.048048, 4.622116}, 0.28},
		{pg, []float64{5.546103, -0.326277, -0.6666873, -0.8800598, -1.071417, -1.875782}, 0.10},
	} {
		for p := 10.0; p <= 57; p += 0.5 {
			sum := 0.0
			for i, c := range tc.c {
				sum += c * math.Pow(p/100-0.35, float64(i))
			}
			got, err := tc.of(p).FreezeC()
			require.NoError(t, err)
			assert.InDelta(t, math.Exp(sum)-273.15, got, tc.within, "%g %%", p)
		}
	}
}

// Melinder's data (IIR, in CoolProp's SecCool files, by mass) stand apart
// from ASHRAE's: 2.2 K at half ethylene glycol by mass. Neither is by volume.
func TestMassIsNotVolume(t *testing.T) {
	byMass := cooling.Strength{Glycol: cooling.Ethylene, Percent: 50, Basis: cooling.ByMass}
	mass, err := byMass.FreezeC()
	require.NoError(t, err)
	vol, err := eg(50).FreezeC()
	require.NoError(t, err)
	assert.InDelta(t, 3.2, mass-vol, 1e-9)
	const melinder = -36.028 // "Melinder, Ethylene glycol_TFreeze.txt", 50 %
	assert.InDelta(t, 2.23, mass-melinder, 0.01)

	other, err := byMass.In(cooling.ByVolume)
	require.NoError(t, err)
	assert.InDelta(t, 47.6, other.Percent, 1e-9)
}

func TestStrengthFor(t *testing.T) {
	for _, tc := range []struct {
		g       cooling.Glycol
		c, want float64
	}{
		{cooling.Ethylene, -10, 21.714}, {cooling.Ethylene, -20, 35.167}, {cooling.Ethylene, -30, 44.654},
		{cooling.Ethylene, -36.4, 49.600}, {cooling.Ethylene, -40, 52.028}, {cooling.Ethylene, 0, 0},
		{cooling.Propylene, -10, 25.000}, {cooling.Propylene, -20, 38.400}, {cooling.Propylene, -30, 47.338},
		{cooling.Propylene, -36.4, 51.775}, {cooling.Propylene, -40, 54.111}, {cooling.Propylene, -51.1, 60},
	} {
		got, err := cooling.StrengthFor(tc.g, tc.c, cooling.ByVolume)
		require.NoError(t, err)
		assert.InDelta(t, tc.want, got.Percent, 6e-4, "%s %g", tc.g, tc.c)
	}
}

func TestGlycolRefusals(t *testing.T) {
	_, err := eg(57.9).FreezeC()
	requireRefused(t, err, cooling.RefusedRange)
	_, err = pg(60.1).FreezeC()
	requireRefused(t, err, cooling.RefusedRange)
	for _, p := range []float64{-1, 101, math.NaN(), math.Inf(1)} {
		_, err = eg(p).FreezeC()
		requireRefused(t, err, cooling.RefusedInput)
	}
	_, err = cooling.StrengthFor(cooling.Ethylene, -48.4, cooling.ByVolume)
	requireRefused(t, err, cooling.RefusedRange)
	_, err = cooling.StrengthFor(cooling.Propylene, 0.1, cooling.ByVolume)
	requireRefused(t, err, cooling.RefusedRange)
	_, err = cooling.Strength{Glycol: cooling.Ethylene, Percent: 40}.FreezeC()
	requireRefused(t, err, cooling.RefusedBasis)
	_, err = cooling.FromTester(cooling.Propylene, cooling.Ethylene, -30)
	requireRefused(t, err, cooling.RefusedTester)
	s, err := cooling.FromTester(cooling.Ethylene, cooling.Ethylene, -30)
	require.NoError(t, err)
	assert.InDelta(t, 44.654, s.Percent, 6e-4)
}

// ASTM D4985-10, scope 1.1: 108 °C at 50 vol % of ethylene glycol; nothing
// else has a source here.
func TestBoilOnlyWhereSourced(t *testing.T) {
	p, err := cooling.Protect(eg(50))
	require.NoError(t, err)
	require.NotNil(t, p.BoilC)
	assert.Equal(t, 108.0, *p.BoilC)
	assert.Empty(t, p.BoilWhy)
	for _, s := range []cooling.Strength{eg(40), pg(50), {Glycol: cooling.Ethylene, Percent: 50, Basis: cooling.ByMass}} {
		_, err := s.BoilC()
		requireRefused(t, err, cooling.RefusedSource)
		p, err := cooling.Protect(s)
		require.NoError(t, err)
		assert.Nil(t, p.BoilC)
		assert.Contains(t, p.BoilWhy, "50 % by volume only")
	}
	weak, err := cooling.Protect(eg(30))
	require.NoError(t, err)
	assert.Contains(t, weak.Notes[0], "40 to 60 %")
}

// The strength for a temperature freezes at that temperature, and stronger
// mixtures of the table never freeze sooner.
func TestFreezeIsInverseAndFalling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := rapid.SampledFrom([]cooling.Glycol{cooling.Ethylene, cooling.Propylene}).Draw(t, "glycol")
		b := rapid.SampledFrom([]cooling.Basis{cooling.ByVolume, cooling.ByMass}).Draw(t, "basis")
		c := rapid.Float64Range(-48.3, 0).Draw(t, "c")
		s, err := cooling.StrengthFor(g, c, b)
		require.NoError(t, err)
		back, err := s.FreezeC()
		require.NoError(t, err)
		require.InDelta(t, c, back, 1e-9)
		weaker := s
		weaker.Percent *= rapid.Float64Range(0, 1).Draw(t, "share")
		w, err := weaker.FreezeC()
		require.NoError(t, err)
		require.GreaterOrEqual(t, w, back-1e-9)
		other := cooling.ByMass
		if b == other {
			other = cooling.ByVolume
		}
		o, err := s.In(other)
		require.NoError(t, err)
		oc, err := o.FreezeC()
		require.NoError(t, err)
		require.InDelta(t, c, oc, 1e-9, "both bases name one mixture")
	})
}

func TestParseGlycolAndBasis(t *testing.T) {
	for text, want := range map[string]cooling.Glycol{"EG": cooling.Ethylene, " ethylene": cooling.Ethylene, "Pg": cooling.Propylene, "PROPYLENE": cooling.Propylene} {
		got, err := cooling.ParseGlycol(text)
		require.NoError(t, err)
		assert.Equal(t, want, got)
	}
	_, err := cooling.ParseGlycol("green")
	requireRefused(t, err, cooling.RefusedInput)
	b, err := cooling.ParseBasis("")
	require.NoError(t, err)
	assert.Equal(t, cooling.ByVolume, b)
	_, err = cooling.ParseBasis("molar")
	requireRefused(t, err, cooling.RefusedInput)
}

// A refusal is one line that a person can act on, without a stop.
func TestRefusalReads(t *testing.T) {
	_, err := eg(70).FreezeC()
	assert.EqualError(t, err, "no freezing point is tabulated for 70 % ethylene glycol by volume: the table ends at 57.8 %; "+
		"use a mixture of 40 to 60 %; beyond the table freezing gets worse again toward pure glycol, and heat transfer falls")
	var e *models.Error
	assert.True(t, errors.As(err, &e))
}
