package usage

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
)

// drawHistory draws a machine with readings, services and now and then a slip.
func drawHistory(t *rapid.T) models.History {
	meters := rapid.SampledFrom(models.MeterSets()).Draw(t, "meters")
	in := models.MustDate("2019-01-01").AddDays(rapid.IntRange(0, 500).Draw(t, "in"))
	m := models.Machine{ID: "m", Kind: rapid.SampledFrom([]string{"utv", "boat", ""}).Draw(t, "kind"), Meters: meters, Owner: "o"}
	if rapid.Bool().Draw(t, "known start") {
		m.InService, m.MilesStart, m.HoursStart = in, models.Num(0), models.Num(0)
	}
	h := models.History{Machine: m, Owner: models.Owner{ID: "o", Type: "ranch"}}
	day, hours := in, 0.0
	for i := range rapid.IntRange(0, 25).Draw(t, "readings") {
		day = day.AddDays(rapid.IntRange(0, 90).Draw(t, "days"))
		hours += rapid.Float64Range(0, 60).Draw(t, "hours")
		r := models.Reading{Machine: "m", At: day, Source: rapid.SampledFrom([]string{"shop", "owner"}).Draw(t, "source")}
		r.Row = int64(i + 1)
		slip := rapid.SampledFrom([]float64{1, 1, 1, 1, 1, 10, 0.1, 1.609}).Draw(t, "slip")
		if meters.Has(models.Odometer) {
			r.Miles = models.Num(math.Round(hours*100*slip) / 10)
		}
		if meters.Has(models.HourMeter) {
			r.Hours = models.Num(math.Round(hours*10) / 10)
		}
		h.Readings = append(h.Readings, r)
		if rapid.IntRange(0, 5).Draw(t, "service") == 0 {
			h.Services = append(h.Services, models.Service{Machine: "m", Item: "oil", At: day, Miles: r.Miles, Hours: r.Hours})
		}
	}
	if meters.Has(models.HourMeter) && rapid.IntRange(0, 4).Draw(t, "swap") == 0 {
		h.Swaps = append(h.Swaps, models.Swap{Machine: "m", At: in.AddDays(200), Meter: models.HourMeter, OldValue: models.Num(300), NewValue: models.Num(0)})
	}
	return h
}

// ask puts the usual questions to a history and gives the answers as text.
func ask(h models.History, p *Profile) string {
	s := Screen(h)
	m := Fit(&s, p)
	limits := []Limit{{models.Odometer, m.track.lastMi + 700}, {models.HourMeter, m.track.lastHr + 60}}
	r, _ := m.At(models.HourMeter, s.AsOf.AddDays(30))
	return fmt.Sprintln(s.Points, s.Doubts, m.First(limits, 0), m.First(limits, s.AsOf.AddDays(90)), r,
		m.ReadingWorth(limits, s.AsOf.AddDays(14)))
}

// Neither the order of the facts nor a second time of asking matters.
func TestOrderDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := drawHistory(t)
		want := ask(h, nil)
		assert.Equal(t, want, ask(h, nil))
		h.Readings = rapid.Permutation(h.Readings).Draw(t, "readings'")
		h.Services = rapid.Permutation(h.Services).Draw(t, "services'")
		assert.Equal(t, want, ask(h, nil))
	})
}

// A profile is the same whatever the order in which the fleet was added, and
// after it was stored.
func TestProfileOrderAndStorage(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var fleet []Screened
		for i := range rapid.IntRange(0, 6).Draw(t, "machines") {
			h := drawHistory(t)
			h.Machine.ID = fmt.Sprint("m", i)
			fleet = append(fleet, Screen(h))
		}
		fit := func(list []Screened) (*Profile, string) {
			f := NewFitter(20200300)
			for i := range list {
				f.Add(&list[i])
			}
			p, err := f.Profile()
			require.NoError(t, err)
			b, err := p.MarshalBinary()
			require.NoError(t, err)
			return p, string(b)
		}
		p, one := fit(fleet)
		_, two := fit(rapid.Permutation(fleet).Draw(t, "fleet'"))
		assert.Equal(t, one, two)
		var back Profile
		require.NoError(t, back.UnmarshalBinary([]byte(one)))
		h := drawHistory(t)
		assert.Equal(t, ask(h, p), ask(h, &back))
	})
}

// What is dated after AsOf changes nothing, and no fact of a later day can
// move a date that was given before it.
func TestFutureChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := drawHistory(t)
		h.AsOf = models.MustDate("2020-06-30")
		kept := h
		kept.Readings = slices.DeleteFunc(slices.Clone(h.Readings), func(r models.Reading) bool { return r.At > h.AsOf })
		kept.Services = slices.DeleteFunc(slices.Clone(h.Services), func(s models.Service) bool { return s.At > h.AsOf })
		kept.Swaps = slices.DeleteFunc(slices.Clone(h.Swaps), func(s models.Swap) bool { return s.At > h.AsOf })
		want := ask(kept, nil)
		lie := models.Reading{Machine: "m", At: h.AsOf.AddDays(1), Miles: models.Num(123456), Hours: models.Num(9999), Source: "shop"}
		h.Readings = append(h.Readings, lie)
		assert.Equal(t, want, ask(h, nil))
		kept.AsOf = h.AsOf.AddDays(300) // asked later, with nothing new
		assert.Equal(t, want, ask(kept, nil))
	})
}

// Dates are given, in order, after the last point and within the horizon; a
// further limit is never reached earlier; points never fall.
func TestSoundDates(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := drawHistory(t)
		s := Screen(h)
		for _, meter := range []models.Meter{models.Odometer, models.HourMeter} {
			p := s.Of(meter)
			for i := 1; i < len(p); i++ {
				assert.LessOrEqual(t, p[i-1].On, p[i].On)
			}
			if len(p) > 0 {
				last := p[len(p)-1]
				v, ok := s.Cumulative(meter, last.On, last.Shown)
				assert.True(t, ok)
				assert.InDelta(t, last.Value, v, 1e-6)
				if len(h.Swaps) == 0 {
					assert.InDelta(t, last.Shown, s.Shown(meter, v), 1e-6)
				}
			}
		}
		m := Fit(&s, nil)
		if s.AsOf.IsZero() || h.Machine.Meters == models.MetersNone {
			assert.True(t, m.First([]Limit{{models.Odometer, 1}, {models.HourMeter, 1}}, 0).IsZero())
			return
		}
		before := Crossing{}
		for _, more := range []float64{1, 30, 200, 2000, 1e6} {
			c := m.First([]Limit{{models.Odometer, m.track.lastMi + 10*more}, {models.HourMeter, m.track.lastHr + more}}, 0)
			require.False(t, c.IsZero())
			assert.LessOrEqual(t, c.Early, c.Likely)
			assert.LessOrEqual(t, c.Likely, c.Late)
			assert.GreaterOrEqual(t, c.Early, models.Date(m.from))
			assert.LessOrEqual(t, c.Late, models.Date(m.from).AddDays(horizon+1))
			assert.GreaterOrEqual(t, c.Likely+1, before.Likely) // a day for the rounding
			before = c
			w := m.ReadingWorth([]Limit{{models.HourMeter, m.track.lastHr + more}}, models.Date(m.from).AddDays(20))
			assert.False(t, math.IsNaN(w) || w < 0, "worth %v", w)
		}
	})
}
