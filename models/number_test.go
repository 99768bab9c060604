package models_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
)

func TestParseNumber(t *testing.T) {
	for text, want := range map[string]models.Number{
		"": {}, "0": models.Num(0), "0.0": models.Num(0), "-0": models.Num(0), "412.5": models.Num(412.5),
		"6120": models.Num(6120), "007": models.Num(7), ".5": models.Num(0.5), "5.": models.Num(5),
		"1000000000": models.Num(models.MaxNumber), "0.1": models.Num(0.1),
	} {
		n, err := models.ParseNumber(text)
		require.NoError(t, err, text)
		assert.Equal(t, want, n, text)
	}
	for text, want := range map[string]error{
		"-1": models.ErrNegative, "-0.5": models.ErrNegative,
		"1000000000.5": models.ErrTooLarge, strings.Repeat("9", 40): models.ErrTooLarge,
		strings.Repeat("9", 41): models.ErrNotANumber, strings.Repeat("0", 41): models.ErrNotANumber,
		"1,000": models.ErrNotANumber, "1e3": models.ErrNotANumber, "+1": models.ErrNotANumber, " 1": models.ErrNotANumber,
		"1 ": models.ErrNotANumber, "1.2.3": models.ErrNotANumber, "--1": models.ErrNotANumber, "-": models.ErrNotANumber,
		".": models.ErrNotANumber, "-.": models.ErrNotANumber, "NaN": models.ErrNotANumber, "Inf": models.ErrNotANumber,
		"0x10": models.ErrNotANumber, "1_000": models.ErrNotANumber, "٣": models.ErrNotANumber, "412 h": models.ErrNotANumber,
		"1\x00": models.ErrNotANumber,
	} {
		n, err := models.ParseNumber(text)
		assert.ErrorIs(t, err, want, text)
		assert.Equal(t, models.Number{}, n, text)
	}
}

func TestNumberOr(t *testing.T) {
	assert.Equal(t, 5.0, models.Number{}.Or(5))
	assert.Equal(t, 0.0, models.Num(0).Or(5), "zero is known")
	assert.Empty(t, models.Number{}.String())
	assert.Equal(t, "1000000000", models.Num(models.MaxNumber).String(), "no exponent")
	assert.Equal(t, "0.1", models.Num(0.1).String())
}

// What is written reads back to the same figure.
func TestNumberRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := models.Num(rapid.Float64Range(0, models.MaxNumber).Draw(t, "n"))
		if len(n.String()) > 40 {
			t.Skip("longer than anybody writes")
		}
		back, err := models.ParseNumber(n.String())
		require.NoError(t, err)
		assert.Equal(t, n, back)
	})
}

func TestNumberScan(t *testing.T) {
	var n models.Number
	for src, want := range map[any]models.Number{1.5: models.Num(1.5), int64(3): models.Num(3), nil: {}} {
		require.NoError(t, n.Scan(src))
		assert.Equal(t, want, n)
	}
	assert.ErrorContains(t, n.Scan("1.5"), "string")
	v, err := models.Number{}.Value()
	require.NoError(t, err)
	assert.Nil(t, v)
}

func TestParseCelsius(t *testing.T) {
	for text, want := range map[string]models.Celsius{
		"": {}, "-36.4": models.Degrees(-36.4), // ASTM D4985: freezing at or below -36.4 °C at 50 % by volume
		"0": models.Degrees(0), "-0": models.Degrees(0), "108": models.Degrees(108), "-273.15": models.Degrees(-273.15),
	} {
		c, err := models.ParseCelsius(text)
		require.NoError(t, err, text)
		assert.Equal(t, want.Known, c.Known, text)
		assert.InDelta(t, want.F, c.F, 0, text)
	}
	for _, text := range []string{"-", "--5", "-273.16", "-300", "cold", "-34F", "−34", "1e2"} {
		_, err := models.ParseCelsius(text)
		assert.Error(t, err, text)
	}
}

// Units: exact factors of NIST SP 811, appendix B.8, and GNU units 2.22.
func TestMiles(t *testing.T) {
	assert.Equal(t, 1.609344, models.KilometersPerMile)
	for _, set := range []models.Meters{models.MetersKM, models.MetersBothKM} {
		assert.InDelta(t, 1, set.Miles(1.609344), 1e-15)
		assert.InDelta(t, 621.371192237334, set.Miles(1000), 1e-9)
		assert.InDelta(t, 160.9344, set.Shown(100), 1e-12)
	}
	for _, set := range []models.Meters{models.MetersMiles, models.MetersBoth, models.MetersHours} {
		assert.Equal(t, 1000.0, set.Miles(1000))
		assert.Equal(t, 1000.0, set.Shown(1000))
	}
	rapid.Check(t, func(t *rapid.T) {
		set := rapid.SampledFrom(models.MeterSets()).Draw(t, "set")
		miles := rapid.Float64Range(0, 1e6).Draw(t, "miles")
		assert.InDelta(t, miles, set.Miles(set.Shown(miles)), 1e-9)
	})
}

func FuzzParseNumber(f *testing.F) {
	for _, s := range []string{"", "0", "412.5", "-1", "1e9", "1,000", ".", "5.", ".5", "NaN", strings.Repeat("9", 41)} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		n, err := models.ParseNumber(s)
		if err != nil {
			assert.Equal(t, models.Number{}, n)
			return
		}
		if !n.Known {
			assert.Empty(t, s)
			return
		}
		want, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err, "taken although it is no number: %q", s)
		assert.True(t, n.F >= 0 && n.F <= models.MaxNumber && !math.IsNaN(n.F), s)
		assert.InDelta(t, want, n.F, 0)
	})
}
