package interval_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/interval"
	"example.org/roundsman/scheduler/usage"
)

func date(s string) models.Date { return models.MustDate(s) }

// steady is a machine that runs evenly: what Use answers can be worked out by
// hand. Its range is a share of the days to go on either side.
type steady struct {
	from   models.Date
	value  map[models.Meter]float64 // on the evening of from
	perDay map[models.Meter]float64
	spread float64
	worth  float64
	seen   *[]usage.Limit // the limits last asked for
	by     *models.Date   // and the day by which it was not done
}

func (s steady) First(limits []usage.Limit, notYetBy models.Date) usage.Crossing {
	if s.seen != nil {
		*s.seen = limits
	}
	if s.by != nil {
		*s.by = notYetBy
	}
	var out usage.Crossing
	for _, l := range limits {
		days := (l.Target - s.value[l.Meter]) / s.perDay[l.Meter]
		at := func(f float64) models.Date { return s.from.AddDays(int(math.Ceil(days * f))) }
		c := usage.Crossing{Early: at(1 - s.spread), Likely: at(1), Late: at(1 + s.spread), Meter: l.Meter}
		if days <= 0 {
			c.Early, c.Late, c.Reached, c.Known = c.Likely, c.Likely, true, s.from
		}
		if out.IsZero() || c.Likely < out.Likely {
			out = c
		}
	}
	return out
}

func (s steady) At(m models.Meter, on models.Date) (usage.Range, bool) {
	per, ok := s.perDay[m]
	v := s.value[m] + per*float64(s.from.DaysTo(on))
	return usage.Range{Low: v, Likely: v, High: v}, ok
}

func (s steady) ReadingWorth([]usage.Limit, models.Date) float64 { return s.worth }

// miles and hours are steady machines that stood at a value on a day.
func miles(from string, value, perDay float64) steady {
	return steady{from: date(from), value: map[models.Meter]float64{models.Odometer: value},
		perDay: map[models.Meter]float64{models.Odometer: perDay}}
}

func hours(from string, value, perDay float64) steady {
	return steady{from: date(from), value: map[models.Meter]float64{models.HourMeter: value},
		perDay: map[models.Meter]float64{models.HourMeter: perDay}}
}

// input puts a case together; the scale is the real one.
func input(m models.Machine, use interval.Use, today string, rule models.Rule, services ...models.Service) interval.Input {
	h := models.History{Machine: m, Services: services}
	s := usage.Screen(h)
	return interval.Input{History: h, Rules: []models.Rule{rule}, Scale: &s, Use: use, Profile: 202606, Today: date(today)}
}

// one gives the single forecast of an input.
func one(t require.TestingT, in interval.Input) models.Forecast {
	fs := interval.Forecasts(in)
	require.Len(t, fs, 1)
	return fs[0]
}

// ranch is a side-by-side that came new.
func ranch() models.Machine {
	return models.Machine{ID: "M1", Tag: "7", Kind: "utv", Meters: models.MetersMiles, InService: date("2025-03-01"),
		MilesStart: models.Num(0), HoursStart: models.Num(0), Cooling: models.CoolingLiquid}
}

func done(item, at string, milesAt, hoursAt models.Number) models.Service {
	return models.Service{Machine: "M1", Item: item, At: date(at), Miles: milesAt, Hours: hoursAt}
}

var none models.Number

func TestSteadyIsSteady(t *testing.T) {
	s := miles("2026-03-01", 5120, 10)
	c := s.First([]usage.Limit{{Meter: models.Odometer, Target: 6120}}, 0)
	require.Equal(t, date("2026-06-09"), c.Likely)
}
