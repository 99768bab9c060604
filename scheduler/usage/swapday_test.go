package usage

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// A meter is replaced at some hour of a day: what is read that day is of the
// old meter or of the new one, whichever it fits.
func TestTheSwapsDayIsOfBothMeters(t *testing.T) {
	day := models.MustDate("2026-11-27")
	hours := func(on models.Date, v float64, row int64) models.Reading {
		r := models.Reading{Machine: "m", At: on, Hours: models.Num(v), Source: models.SourceShop}
		r.Row = row
		return r
	}
	swapped := func(old, fitted models.Number, before ...models.Reading) models.History {
		return models.History{Machine: models.Machine{ID: "m", Kind: "utv", Meters: models.MetersHours}, Readings: before,
			Swaps: []models.Swap{{Machine: "m", At: day, Meter: models.HourMeter, OldValue: old, NewValue: fitted}}}
	}
	older := hours(day.AddDays(-4), 333, 1)
	for name, c := range map[string]struct {
		h     models.History
		fresh models.Reading
		why   models.Reason
		value float64 // true hours, where it is not doubted
	}{
		"the new meter":                    {swapped(models.Num(335), models.Number{}, older), hours(day, 0.4, 0), "", 335.4},
		"the old meter":                    {swapped(models.Num(335), models.Number{}, older), hours(day, 334.8, 0), "", 334.8},
		"the old meter, rounded up":        {swapped(models.Num(334.6), models.Number{}, older), hours(day, 335, 0), "", 335},
		"past what the old meter showed":   {swapped(models.Num(335), models.Num(0), older), hours(day, 342, 0), models.ReasonPastSwap, 0},
		"a used meter that showed more":    {swapped(models.Num(335), models.Num(900), older), hours(day, 900.2, 0), "", 335.2},
		"what the old one showed unknown":  {swapped(models.Number{}, models.Number{}, older), hours(day, 0.4, 0), "", 333.4},
		"the day after the new was read":   {swapped(models.Num(335), models.Number{}, older, hours(day, 0.5, 2)), hours(day.AddDays(1), 0.5, 0), "", 335.5},
		"the same, of a machine just come": {swapped(models.Num(90), models.Num(0), hours(day, 0.5, 2)), hours(day.AddDays(1), 0.5, 0), "", 90.5},
	} {
		t.Run(name, func(t *testing.T) {
			d, _, asks := Asks(c.h, []models.Reading{c.fresh})
			assert.Equal(t, c.why, d.Reason)
			require.Equal(t, c.why != "", asks)
			if asks {
				return
			}
			c.h.Readings = append(c.h.Readings, c.fresh)
			s := Screen(c.h)
			last := s.Of(models.HourMeter)[len(s.Of(models.HourMeter))-1]
			assert.InDelta(t, c.value, last.Value, 1e-9)
			value, _ := s.Cumulative(models.HourMeter, c.fresh.At, c.fresh.Hours.F)
			assert.InDelta(t, c.value, value, 1e-9)
		})
	}
}

// What no machine of the trade ever runs is asked about, also where nothing
// else is known; what a person is sure of stands.
func TestMoreThanAnyMachineRunsIsAskedAbout(t *testing.T) {
	h := models.History{Machine: models.Machine{ID: "m", Kind: "utv", Meters: models.MetersBoth}}
	r := models.Reading{Machine: "m", At: models.MustDate("2026-11-27"), Source: models.SourceShop}
	for name, c := range map[string]struct {
		miles, hours float64
		asks         bool
	}{
		"hours":         {1200, 9_999_999, true},
		"miles":         {31_000_000, 400, true},
		"a high figure": {91_000, 9_800, false},
	} {
		t.Run(name, func(t *testing.T) {
			r := r
			r.Miles, r.Hours = models.Num(c.miles), models.Num(c.hours)
			d, _, asks := Asks(h, []models.Reading{r})
			require.Equal(t, c.asks, asks)
			if asks {
				assert.Equal(t, models.ReasonNeverRuns, d.Reason)
			}
			r.Standing = models.StandingConfirmed
			_, _, asks = Asks(h, []models.Reading{r})
			assert.False(t, asks)
		})
	}
}
