package trial

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/usage"
)

// series is a meter's true path: values on days, rising.
type series struct {
	day   []float64
	value []float64
}

func (s *series) add(day, value float64) {
	s.day, s.value = append(s.day, day), append(s.value, value)
}

// reaches gives the day on which the path reaches a value, linear between its
// points; ok is false when it never does.
func (s *series) reaches(v float64) (day float64, ok bool) {
	for i := range s.day {
		if s.value[i] >= v {
			if i == 0 {
				return s.day[0], true
			}
			f := (v - s.value[i-1]) / (s.value[i] - s.value[i-1])
			return s.day[i-1] + f*(s.day[i]-s.day[i-1]), true
		}
	}
	return 0, false
}

// readSeries reads two columns of a CSV file; total sums the values up.
func readSeries(t *testing.T, name, day, value string, parse func(string) float64, times float64, total bool) series {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "..", "testdata", "series", name))
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	col := map[string]int{}
	for i, n := range rows[0] {
		col[n] = i
	}
	var s series
	sum := 0.0
	for _, r := range rows[1:] {
		v, err := strconv.ParseFloat(r[col[value]], 64)
		require.NoError(t, err)
		if sum += v * times; !total {
			sum = v * times
		}
		s.add(parse(r[col[day]]), sum)
	}
	return s
}

// rolled is the mean absolute error of the model and of the simple rules over
// the forecasts of a rolling trial, in days.
type rolled struct {
	model  float64
	simple map[string]float64
	n      float64
	inside float64 // share of truths in the 80 % range
}

func (r *rolled) best() (string, float64) {
	name, best := "", math.Inf(1)
	for _, k := range []string{"lifetime", "last two", "least squares", "weights 120 d"} {
		if v := r.simple[k]; v < best {
			name, best = k, v
		}
	}
	return name, best
}

// roll forecasts from each look on, with the looks up to it, when the path
// gets ahead by a distance.
func roll(looks, path series, first int, ahead float64) rolled {
	r := rolled{simple: map[string]float64{}}
	base := models.MustDate("2001-01-01")
	for i := first - 1; i < len(looks.day); i++ {
		target := looks.value[i] + ahead
		truth, ok := path.reaches(target)
		if !ok {
			break
		}
		h := models.History{Machine: models.Machine{ID: "m", Kind: "wagon", Meters: models.MetersMiles}}
		for j := 0; j <= i; j++ {
			x := models.Reading{Machine: "m", At: base.AddDays(int(math.Round(looks.day[j]))), Miles: models.Num(looks.value[j])}
			x.Row = int64(j + 1)
			h.Readings = append(h.Readings, x)
		}
		s := usage.Screen(h)
		c := usage.Fit(&s, nil).First([]usage.Limit{{Meter: models.Odometer, Target: target}}, 0)
		r.n++
		r.model += math.Abs(float64(c.Likely-base) - truth)
		if float64(c.Early-base) <= truth && truth <= float64(c.Late-base) {
			r.inside++
		}
		seen := series{looks.day[:i+1], looks.value[:i+1]}
		for name, rate := range simpleRates {
			due := looks.day[i] + ahead/math.Max(rate(seen), 1e-9)
			r.simple[name] += math.Abs(due - truth)
		}
	}
	r.model /= r.n
	r.inside /= r.n
	for k := range r.simple {
		r.simple[k] /= r.n
	}
	return r
}

// TestWagon rolls through the visits of one station wagon (real odometer
// readings, see testdata/series/README.md): the week in which it has run 5,000
// miles more, from the eighth visit on.
func TestWagon(t *testing.T) {
	week := func(s string) float64 { v, _ := strconv.ParseFloat(s, 64); return 7 * v }
	path := readSeries(t, "wagon_weeks_miles.csv", "age_weeks", "miles_thousand", week, 1000, false)
	r := roll(path, path, 8, 5000)
	name, best := r.best()
	t.Logf("wagon: %.0f forecasts, model %.1f days, best simple rule (%s) %.1f, ratio %.2f, 80 %% range holds %.0f %%",
		r.n, r.model, name, best, r.model/best, 100*r.inside)
	assert.LessOrEqual(t, r.model/best, 1.05)
}

// TestRides rolls through two years of daily rides, seasonal and growing by
// two thirds (real counts, see testdata/series/README.md), read every
// fourteenth day: when 60,000 rides more are made.
func TestRides(t *testing.T) {
	day := func(s string) float64 { return float64(models.MustDate(s) - models.MustDate("2001-01-01")) }
	path := readSeries(t, "daily_rides.csv", "date", "count", day, 1, true)
	var looks series
	for i := 13; i < len(path.day); i += 14 {
		looks.add(path.day[i], path.value[i])
	}
	r := roll(looks, path, 4, 60000)
	name, best := r.best()
	t.Logf("rides: %.0f forecasts, model %.1f days, best simple rule (%s) %.1f, ratio %.2f, 80 %% range holds %.0f %%",
		r.n, r.model, name, best, r.model/best, 100*r.inside)
	assert.LessOrEqual(t, r.model/best, 1.3)
}
