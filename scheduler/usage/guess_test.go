package usage_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/usage"
)

// TestASlipAfterFewReadingsIsDoubted: what a machine of two readings is used
// must not be learned from the very value that is judged.
func TestASlipAfterFewReadingsIsDoubted(t *testing.T) {
	for name, c := range map[string]struct {
		start  models.Number
		source string
	}{
		"bought used, shop": {models.Num(5300), "shop"}, "bought used, owner": {models.Num(5300), "owner"},
		"unknown start, shop": {models.Number{}, "shop"}, "unknown start, owner": {models.Number{}, "owner"},
		"came new, shop": {models.Num(0), "shop"},
	} {
		in := models.MustDate("2025-01-10")
		h := models.History{Machine: models.Machine{ID: "D1", Kind: "utv", Meters: models.MetersMiles, InService: in, MilesStart: c.start}}
		for i, r := range []struct {
			after int
			miles float64
		}{{100, 5480}, {190, 5660}, {391, 54200}} {
			h.Readings = append(h.Readings, models.Reading{Fact: models.Fact{Row: int64(i + 1)}, Machine: "D1", At: in.AddDays(r.after),
				Miles: models.Num(r.miles), Source: c.source})
		}
		s := usage.Screen(h)
		require.Len(t, s.Doubts, 1, name)
		assert.Equal(t, int64(3), s.Doubts[0].Reading, name)
	}
}

// A machine that is used a lot after a quiet start is believed.
func TestABusySeasonAfterFewReadingsIsBelieved(t *testing.T) {
	in := models.MustDate("2025-01-10")
	for _, last := range []float64{6200, 9000, 13000} {
		h := models.History{Machine: models.Machine{ID: "D1", Kind: "utv", Meters: models.MetersMiles, InService: in, MilesStart: models.Num(5300)}}
		for i, r := range []struct {
			after int
			miles float64
		}{{100, 5480}, {190, 5660}, {391, last}} {
			h.Readings = append(h.Readings, models.Reading{Fact: models.Fact{Row: int64(i + 1)}, Machine: "D1", At: in.AddDays(r.after),
				Miles: models.Num(r.miles), Source: "shop"})
		}
		assert.Empty(t, usage.Screen(h).Doubts, "%v", last)
	}
}

// TestAServicesSlipIsDoubtedAndTheWorkIsNot: the meter of a service may be a
// slip too.
func TestAServicesSlipIsDoubtedAndTheWorkIsNot(t *testing.T) {
	in := models.MustDate("2025-01-10")
	h := models.History{Machine: models.Machine{ID: "D1", Kind: "utv", Meters: models.MetersMiles, InService: in, MilesStart: models.Num(3000)}}
	for i := range 10 {
		h.Readings = append(h.Readings, models.Reading{Fact: models.Fact{Row: int64(i + 1)}, Machine: "D1", At: in.AddDays(30 * (i + 1)),
			Miles: models.Num(3000 + 230*float64(i+1)), Source: "owner"})
	}
	h.Services = []models.Service{
		{Fact: models.Fact{Row: 7}, Machine: "D1", Item: "oil", At: in.AddDays(150), Miles: models.Num(4150)},
		{Fact: models.Fact{Row: 8}, Machine: "D1", Item: "coolant", At: in.AddDays(310), Miles: models.Num(53100)},
	}
	s := usage.Screen(h)
	assert.Empty(t, s.Doubts)
	require.Len(t, s.Doubted, 1)
	assert.Equal(t, int64(8), s.Doubted[0].Service)
	trusted := s.Trusted(h.Services)
	assert.Equal(t, models.Num(4150), trusted[0].Miles)
	assert.False(t, trusted[1].Miles.Known)
	assert.Equal(t, models.Num(53100), h.Services[1].Miles, "the fact stays as it is")

	h.Readings = append(h.Readings, models.Reading{Fact: models.Fact{Row: 20}, Machine: "D1", At: in.AddDays(310), Miles: models.Num(53100),
		Source: models.SourceShop, Standing: models.StandingConfirmed})
	assert.Empty(t, usage.Screen(h).Doubted, "somebody said that it is right")
}

// monthly is a machine read every 30 days at 300 miles each, ten times.
func monthly() models.History {
	in := models.MustDate("2025-01-10")
	h := models.History{Machine: models.Machine{ID: "D1", Kind: "utv", Meters: models.MetersMiles, InService: in, MilesStart: models.Num(0)}}
	for i := range 10 {
		h.Readings = append(h.Readings, models.Reading{Fact: models.Fact{Row: int64(i + 1)}, Machine: "D1", At: in.AddDays(30 * (i + 1)),
			Miles: models.Num(300 * float64(i+1)), Source: "owner"})
	}
	return h
}

func TestAGuessIsToleratedWithinItsWidthAndNotBeyond(t *testing.T) {
	guess := func(after int, miles, width float64) models.History {
		h := monthly()
		h.Readings = append(h.Readings, models.Reading{Fact: models.Fact{Row: 99}, Machine: "D1", At: h.Machine.InService.AddDays(after),
			Miles: models.Num(miles), Width: models.Num(width), Source: "owner"})
		return h
	}
	s := usage.Screen(guess(305, 2900, 150))
	assert.Empty(t, s.Doubts, "100 below the last value, and 150 wide")
	p := s.Of(models.Odometer)
	for i := 1; i < len(p); i++ {
		assert.GreaterOrEqual(t, p[i].Value, p[i-1].Value, "points never fall")
	}
	s = usage.Screen(guess(305, 2000, 150))
	require.Len(t, s.Doubts, 1)
	assert.Equal(t, int64(99), s.Doubts[0].Reading)
	s = usage.Screen(guess(305, 30500, 150))
	require.Len(t, s.Doubts, 1)

	s = usage.Screen(guess(165, 1900, 300)) // between 1,500 and 1,800
	assert.Empty(t, s.Doubts)
	for _, p := range s.Of(models.Odometer) {
		if p.Reading == 99 {
			assert.InDelta(t, 1650, p.Value, 60, "the values around it say more than the guess does")
		}
	}
}

// TestAGuessTellsLessThanAReading: after a guess the range is wider, and the
// use that it speaks for counts for less.
func TestAGuessTellsLessThanAReading(t *testing.T) {
	with := func(width models.Number) *usage.Model {
		h := monthly()
		h.Readings = append(h.Readings, models.Reading{Fact: models.Fact{Row: 99}, Machine: "D1", At: h.Machine.InService.AddDays(330),
			Miles: models.Num(3900), Width: width, Source: "owner"})
		s := usage.Screen(h)
		require.Empty(t, s.Doubts)
		return usage.Fit(&s, nil)
	}
	exact, guess := with(models.Number{}), with(models.Num(300))
	on := models.MustDate("2025-01-10").AddDays(331)
	e, _ := exact.At(models.Odometer, on)
	g, _ := guess.At(models.Odometer, on)
	assert.Greater(t, g.High-g.Low, e.High-e.Low+100)
	limit := []usage.Limit{{Meter: models.Odometer, Target: 5000}}
	ce, cg := exact.First(limit, 0), guess.First(limit, 0)
	assert.Greater(t, cg.Late-cg.Early, ce.Late-ce.Early)
	assert.GreaterOrEqual(t, cg.Likely, ce.Likely, "900 miles in a month weigh less when they are a guess")
}

// TestNothingIsKnownOfAMachineWithoutADate: no day to count from, no value.
func TestNothingIsKnownOfAMachineWithoutADate(t *testing.T) {
	s := usage.Screen(models.History{Machine: models.Machine{ID: "D1", Kind: "utv", Meters: models.MetersBoth}})
	m := usage.Fit(&s, nil)
	for _, meter := range []models.Meter{models.Odometer, models.HourMeter} {
		_, ok := m.At(meter, models.MustDate("2026-11-28"))
		assert.False(t, ok)
	}
}

func TestPaceOf(t *testing.T) {
	in := models.MustDate("2025-01-01")
	pace := func(points ...[2]float64) usage.Pace {
		h := models.History{Machine: models.Machine{ID: "D1", Kind: "utv", Meters: models.MetersMiles, InService: in}}
		for i, p := range points {
			h.Readings = append(h.Readings, models.Reading{Fact: models.Fact{Row: int64(i + 1)}, Machine: "D1", At: in.AddDays(int(p[0])),
				Miles: models.Num(p[1]), Source: "shop"})
		}
		s := usage.Screen(h)
		return s.PaceOf()
	}
	p := pace([2]float64{0, 1000}, [2]float64{60, 1600}, [2]float64{120, 2200}, [2]float64{190, 2340})
	assert.InDelta(t, 61, p.Lately.F, 1, "140 miles in 70 days")
	assert.InDelta(t, 304, p.Before.F, 1, "1,200 miles in 120 days")
	assert.True(t, p.Differs())
	assert.Zero(t, p.Since)
	p = pace([2]float64{0, 1000}, [2]float64{60, 1600}, [2]float64{130, 1600}, [2]float64{200, 1600})
	assert.Equal(t, in.AddDays(60), p.Since)
	assert.Empty(t, pace([2]float64{0, 1000}).Meter)
	assert.Empty(t, pace([2]float64{0, 1000}, [2]float64{5, 1100}).Meter, "five days tell no month")
}
