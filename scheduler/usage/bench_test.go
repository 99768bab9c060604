package usage

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"example.org/roundsman/models"
)

// benchHistory invents a machine with n readings of both meters.
func benchHistory(id string, n int) models.History {
	rng := rand.New(rand.NewPCG(7, uint64(n)))
	in := models.MustDate("2018-05-01")
	h := models.History{Machine: models.Machine{ID: id, Kind: "utv", Owner: "o", Meters: models.MetersBoth, InService: in,
		MilesStart: models.Num(0), HoursStart: models.Num(0)}, Owner: models.Owner{ID: "o", Type: "ranch"}}
	hours := 0.0
	for i := range n {
		hours += 10 * rng.ExpFloat64()
		r := models.Reading{Machine: id, At: in.AddDays(20 * (i + 1)), Hours: models.Num(float64(int(hours*10)) / 10),
			Miles: models.Num(float64(int(hours * 105))), Source: "owner"}
		r.Row = int64(i + 1)
		h.Readings = append(h.Readings, r)
	}
	return h
}

// benchProfile fits a small fleet.
func benchProfile(tb testing.TB) *Profile {
	f := NewFitter(20210600)
	for i := range 40 {
		s := Screen(benchHistory(fmt.Sprintf("m%02d", i), 10+i))
		f.Add(&s)
	}
	p, err := f.Profile()
	if err != nil {
		tb.Fatal(err)
	}
	return p
}

// BenchmarkForecast is one forecast: a million must take under a minute on one
// core, so this must stay under 60,000 ns.
func BenchmarkForecast(b *testing.B) {
	p := benchProfile(b)
	s := Screen(benchHistory("m", 20))
	m := Fit(&s, p)
	limits := []Limit{{models.Odometer, m.track.lastMi + 650}, {models.HourMeter, m.track.lastHr + 60}}
	b.ResetTimer()
	for range b.N {
		m.First(limits, 0)
	}
}

// BenchmarkMachine is all the work for a machine with three items: screening,
// fitting and three forecasts, by the number of its readings.
func BenchmarkMachine(b *testing.B) {
	p := benchProfile(b)
	for _, n := range []int{10, 20, 40, 80, 160} {
		h := benchHistory("m", n)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for range b.N {
				s := Screen(h)
				m := Fit(&s, p)
				for i := range 3 {
					m.First([]Limit{{models.HourMeter, 1e3 + float64(i)*100}}, 0)
				}
			}
		})
	}
}
