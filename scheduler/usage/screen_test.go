package usage

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// steady is a utility side-by-side read about once a month: 5 miles and half
// an hour a day.
func steady(n int) models.History {
	in := models.MustDate("2021-01-01")
	h := models.History{Machine: models.Machine{ID: "m", Kind: "utv", Meters: models.MetersBoth, InService: in,
		MilesStart: models.Num(0), HoursStart: models.Num(0)}}
	for i := range n {
		d := 30*(i+1) + i%3
		r := models.Reading{Machine: "m", At: in.AddDays(d), Miles: models.Num(float64(5*d) + 0.4), Hours: models.Num(float64(d) / 2), Source: "owner"}
		r.Row = int64(i + 1)
		h.Readings = append(h.Readings, r)
	}
	return h
}

// at sets one reading's values.
func at(h models.History, i int, miles, hours models.Number) models.History {
	h.Readings[i].Miles, h.Readings[i].Hours = miles, hours
	return h
}

func TestScreenNamesTheSlip(t *testing.T) {
	h12 := steady(12)
	miles, hours := h12.Readings[7].Miles.F, h12.Readings[7].Hours // 1,205.4 mi, 120.5 h
	for name, c := range map[string]struct {
		miles, hours models.Number
		reason       models.Reason
		likely       models.Number
	}{
		"two digits swapped":  {models.Num(2105.4), hours, models.ReasonSwapped, models.Num(miles)},
		"a digit too many":    {models.Num(12105.4), hours, models.ReasonExtraDigit, models.Num(miles)},
		"a digit missing":     {models.Num(125.4), hours, models.ReasonMissing, models.Num(miles)},
		"kilometers as miles": {models.Num(1939.9), hours, models.ReasonKilometers, models.Num(1939.9 / 1.609344)},
		"hours as miles":      {models.Num(121), models.Number{}, models.ReasonHoursInBox, models.Number{}},
		"tenths as a digit":   {models.Num(12054), hours, models.ReasonTenths, models.Num(miles)},
	} {
		t.Run(name, func(t *testing.T) {
			s := Screen(at(steady(12), 7, c.miles, c.hours))
			require.Len(t, s.Doubts, 1)
			d := s.Doubts[0]
			assert.Equal(t, int64(8), d.Reading)
			assert.Equal(t, models.Odometer, d.Meter)
			assert.Equal(t, c.reason, d.Reason)
			assert.InDelta(t, c.likely.F, d.Likely.F, 0.5)
			assert.Len(t, s.Of(models.Odometer), 12) // the start and eleven readings
		})
	}
}

func TestScreenKeepsWhatIsGood(t *testing.T) {
	s := Screen(steady(24))
	assert.Empty(t, s.Doubts)
	assert.Len(t, s.Of(models.HourMeter), 25)
	assert.Equal(t, models.MustDate("2021-01-01").AddDays(722), s.AsOf)
}

func TestScreenHonorsPeople(t *testing.T) {
	h := at(steady(12), 7, models.Num(5000), models.Number{})
	require.Len(t, Screen(h).Doubts, 1)
	h.Readings[7].Standing = models.StandingWithdrawn
	s := Screen(h)
	assert.Empty(t, s.Doubts)
	assert.Len(t, s.Of(models.Odometer), 12)
	h.Readings[7].Standing = models.StandingConfirmed
	s = Screen(h)
	assert.Contains(t, values(s.Of(models.Odometer)), 5000.0)
}

// A reading that looked like a leap is cleared by those that follow it.
func TestLaterReadingClears(t *testing.T) {
	h := steady(4)
	for i := range 4 {
		r := models.Reading{Machine: "m", At: h.Readings[3].At.AddDays(10 * (i + 1)), Miles: models.Num(7000 + 60*float64(i)), Source: "owner"}
		r.Row = int64(10 + i)
		h.Readings = append(h.Readings, r)
	}
	first := h
	first.Readings = h.Readings[:5]
	assert.NotEmpty(t, Screen(first).Doubts, "one reading 6,000 miles ahead is doubted")
	assert.Empty(t, Screen(h).Doubts, "four that agree are not")
}

func TestScreenThroughSwapAndTurn(t *testing.T) {
	h := steady(12)
	swap := h.Readings[5].At
	h.Swaps = []models.Swap{{Machine: "m", At: swap, Meter: models.HourMeter, OldValue: h.Readings[5].Hours, NewValue: models.Num(2)}}
	for i := 6; i < 12; i++ {
		h.Readings[i].Hours = models.Num(h.Readings[i].Hours.F - h.Readings[5].Hours.F + 2)
	}
	s := Screen(h)
	assert.Empty(t, s.Doubts)
	p := s.Of(models.HourMeter)
	assert.InDelta(t, 362.0/2, p[len(p)-1].Value, 1e-9)
	assert.InDelta(t, h.Readings[11].Hours.F, s.Shown(models.HourMeter, p[len(p)-1].Value), 1e-9)

	for name, limit := range map[string]models.Number{"known": models.Num(9999.9), "inferred": {}} {
		t.Run("turn "+name, func(t *testing.T) {
			h := steady(16)
			h.Machine.MilesMax = limit
			h.Machine.MilesStart = models.Num(8900)
			for i := range h.Readings {
				v := h.Readings[i].Miles.F + 8900
				if v >= 10000 {
					v -= 10000
				}
				h.Readings[i].Miles = models.Num(v)
				h.Readings[i].Source = models.SourceShop
			}
			s := Screen(h)
			assert.Empty(t, s.Doubts)
			p := s.Of(models.Odometer)
			assert.InDelta(t, 8900+480*5+0.4, p[len(p)-1].Value, 1e-6)
			v, ok := s.Cumulative(models.Odometer, h.Readings[15].At, h.Readings[15].Miles.F)
			assert.True(t, ok)
			assert.InDelta(t, p[len(p)-1].Value, v, 1e-6)
			assert.InDelta(t, h.Readings[15].Miles.F, s.Shown(models.Odometer, v), 1e-6)
		})
	}
}

func TestScreenKilometers(t *testing.T) {
	h := steady(12)
	h.Machine.Meters = models.MetersKM
	s := Screen(h)
	assert.Empty(t, s.Doubts)
	p := s.Of(models.Odometer)
	assert.InDelta(t, h.Readings[11].Miles.F/models.KilometersPerMile, p[len(p)-1].Value, 1e-9)
	assert.Empty(t, s.Of(models.HourMeter), "a meter that the machine lacks has no points")
}

// Identical rows, a service with the same value and the reading itself are one
// point; a doubted value in two rows is two doubts.
func TestScreenMergesTheSame(t *testing.T) {
	h := steady(6)
	again := h.Readings[2]
	again.Row = 99
	h.Readings = append(h.Readings, again)
	h.Services = []models.Service{{Machine: "m", Item: "oil", At: again.At, Miles: again.Miles, Hours: again.Hours}}
	s := Screen(h)
	assert.Empty(t, s.Doubts)
	assert.Len(t, s.Of(models.Odometer), 7)
	h = at(h, 2, models.Num(90000), models.Number{})
	h.Readings[6].Miles, h.Readings[6].Hours = models.Num(90000), models.Number{}
	assert.Len(t, Screen(h).Doubts, 2)
}

func values(p []Point) []float64 {
	var out []float64
	for _, x := range p {
		out = append(out, x.Value)
	}
	return out
}
