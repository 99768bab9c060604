package usage

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// A machine used as evenly as clockwork is forecast where a ruler puts it.
func TestFirstOnASteadyMachine(t *testing.T) {
	s := Screen(steady(24)) // 5 miles and half an hour a day; last at 722 days
	m := Fit(&s, nil)
	c := m.First([]Limit{{models.Odometer, 722*5 + 300}, {models.HourMeter, 722/2 + 100}}, 0)
	assert.Equal(t, models.Odometer, c.Meter)
	assert.False(t, c.Reached)
	assert.InDelta(t, 60, float64(c.Likely-s.AsOf), 12)
	assert.Less(t, c.Early, c.Likely)
	assert.Less(t, c.Likely, c.Late)
	hours := m.First([]Limit{{models.HourMeter, 722/2 + 100}}, 0)
	assert.Equal(t, models.HourMeter, hours.Meter)
	assert.Greater(t, hours.Likely, c.Likely)
	r, ok := m.At(models.Odometer, s.AsOf.AddDays(60))
	require.True(t, ok)
	assert.InDelta(t, 782*5, r.Likely, 60)
	assert.Less(t, r.Low, r.Likely)
	assert.Less(t, r.Likely, r.High)
}

// A limit that lies behind is dated between the points around it, and known
// from the later one on.
func TestFirstWhenPassed(t *testing.T) {
	h := steady(12)
	s := Screen(h)
	m := Fit(&s, nil)
	c := m.First([]Limit{{models.Odometer, 1000}, {models.HourMeter, 5000}}, 0)
	require.True(t, c.Reached)
	assert.Equal(t, models.Odometer, c.Meter)
	assert.InDelta(t, 200, float64(c.Likely-h.Machine.InService), 2)
	assert.Equal(t, h.Readings[6].At, c.Known)
	r, ok := m.At(models.Odometer, c.Likely)
	require.True(t, ok)
	assert.InDelta(t, 1000, r.Likely, 10)
	assert.Zero(t, m.ReadingWorth([]Limit{{models.Odometer, 1000}}, s.AsOf.AddDays(9)))
}

// That nothing was reported done by a day moves the date behind that day, and
// never the plain forecast.
func TestNotYetBy(t *testing.T) {
	s := Screen(steady(12))
	m := Fit(&s, nil)
	limits := []Limit{{models.Odometer, 362*5 + 200}}
	plain := m.First(limits, 0)
	by := plain.Likely.AddDays(60)
	late := m.First(limits, by)
	assert.Greater(t, late.Likely, plain.Likely)
	assert.Greater(t, late.Late, by)
	assert.Equal(t, plain, m.First(limits, 0))
	assert.Equal(t, plain, m.First(limits, s.AsOf))
}

// Every machine gets an answer, however little is known of it.
func TestLittleKnown(t *testing.T) {
	in := models.MustDate("2024-05-01")
	for name, h := range map[string]models.History{
		"hours only, nothing read": {Machine: models.Machine{ID: "g", Kind: "generator", Meters: models.MetersHours, InService: in, HoursStart: models.Num(0)}},
		"unknown kind, one reading": {Machine: models.Machine{ID: "x", Kind: "hovercraft", Meters: models.MetersMiles},
			Readings: []models.Reading{{Machine: "x", At: in, Miles: models.Num(120)}}},
		"kilometers": {Machine: models.Machine{ID: "k", Meters: models.MetersBothKM, InService: in, MilesStart: models.Num(0)}},
	} {
		t.Run(name, func(t *testing.T) {
			s := Screen(h)
			for _, p := range []*Profile{nil, benchProfile(t)} {
				m := Fit(&s, p)
				c := m.First([]Limit{{models.Odometer, 620}, {models.HourMeter, 50}}, 0)
				require.False(t, c.IsZero())
				assert.Greater(t, c.Late-c.Early, models.Date(90), "the range is wide")
				assert.Greater(t, c.Early, in)
				assert.Positive(t, m.ReadingWorth([]Limit{{models.Odometer, 620}, {models.HourMeter, 50}}, in.AddDays(60)))
			}
		})
	}
	empty := Screen(models.History{})
	assert.True(t, Fit(&empty, nil).First([]Limit{{models.Odometer, 10}}, 0).IsZero())
}

// A reading tells more the longer the machine was not read.
func TestReadingWorthGrows(t *testing.T) {
	s := Screen(steady(8))
	m := Fit(&s, nil)
	limits := []Limit{{models.Odometer, 240*5 + 900}}
	soon, later := m.ReadingWorth(limits, s.AsOf.AddDays(7)), m.ReadingWorth(limits, s.AsOf.AddDays(90))
	assert.Positive(t, soon)
	assert.Greater(t, later, soon)
	c := m.First(limits, 0)
	assert.Less(t, later, float64(c.Late-c.Early))
}

// The profile of a fleet tells a newcomer of the class its season: machines
// that rest all summer are not due in summer.
func TestProfileTeachesTheSeason(t *testing.T) {
	f := NewFitter(20220400)
	for i := range 12 {
		h := models.History{Machine: models.Machine{ID: string(rune('a' + i)), Kind: "sled", Meters: models.MetersMiles,
			InService: models.MustDate("2018-10-01"), MilesStart: models.Num(0)}}
		miles := 0.0
		for d := models.MustDate("2018-10-15"); d < models.MustDate("2022-04-01"); d = d.AddDays(15) {
			if m := d.Month(); m <= 3 || m == 12 {
				miles += 120 + 20*float64(i%4)
			}
			r := models.Reading{At: d, Miles: models.Num(miles), Source: "owner"}
			r.Row = int64(d)
			h.Readings = append(h.Readings, r)
		}
		s := Screen(h)
		f.Add(&s)
	}
	p, err := f.Profile()
	require.NoError(t, err)
	h := models.History{Machine: models.Machine{ID: "new", Kind: "sled", Meters: models.MetersMiles,
		InService: models.MustDate("2022-04-10"), MilesStart: models.Num(0)}}
	s := Screen(h)
	c := Fit(&s, p).First([]Limit{{models.Odometer, 300}}, 0)
	assert.Greater(t, c.Early, models.MustDate("2022-10-15"))
	assert.Less(t, c.Late, models.MustDate("2023-04-15"))
	plain := Fit(&s, nil).First([]Limit{{models.Odometer, 300}}, 0)
	assert.Greater(t, plain.Late-plain.Early, c.Late-c.Early)
}
