package interval_test

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/interval"
	"example.org/roundsman/scheduler/usage"
)

// modeled gives the input of a history with the real screening and model.
func modeled(h models.History, p *usage.Profile, today models.Date, rules ...models.Rule) interval.Input {
	s := usage.Screen(h)
	return interval.Input{History: h, Rules: interval.Resolve(rules, h.Machine), Scale: &s, Use: usage.Fit(&s, p), Profile: 202606, Today: today}
}

func profile(t require.TestingT) *usage.Profile {
	p, err := usage.NewFitter(202606).Profile()
	require.NoError(t, err)
	return p
}

// undated takes out what depends on the day asked.
func undated(fs []models.Forecast) []models.Forecast {
	out := slices.Clone(fs)
	for i := range out {
		out[i].Stage, out[i].Remaining, out[i].Ask, out[i].Worth = "", models.Remaining{}, "", none
	}
	return out
}

// anyHistory draws a machine with readings and services, some of them odd.
func anyHistory(t *rapid.T) models.History {
	m := ranch()
	m.Meters = rapid.SampledFrom(models.MeterSets()).Draw(t, "meters")
	h := models.History{Machine: m}
	at, mi, hr := m.InService, 0.0, 0.0
	for i := range rapid.IntRange(0, 8).Draw(t, "facts") {
		at = at.AddDays(rapid.IntRange(1, 120).Draw(t, "days"))
		mi += rapid.Float64Range(0, 1500).Draw(t, "miles")
		hr += rapid.Float64Range(0, 120).Draw(t, "hours")
		miles, hours := models.Num(mi), models.Num(hr)
		if rapid.IntRange(0, 9).Draw(t, "slip") == 0 {
			miles.F *= 10
		}
		if rapid.IntRange(0, 2).Draw(t, "sort") == 0 {
			if rapid.IntRange(0, 3).Draw(t, "unwritten") == 0 {
				miles, hours = none, none
			}
			item := rapid.SampledFrom([]string{"oil", "belt", "coolant"}).Draw(t, "item")
			h.Services = append(h.Services, models.Service{Machine: m.ID, Item: item, At: at, Miles: miles, Hours: hours})
			continue
		}
		h.Readings = append(h.Readings, models.Reading{Fact: models.Fact{Row: int64(i + 1)}, Machine: m.ID, At: at, Miles: miles, Hours: hours, Source: "owner"})
	}
	return h
}

var someRules = []models.Rule{
	{Kind: "utv", Item: "oil", Miles: models.Num(1000), Hours: models.Num(100), Months: 12, FirstMiles: models.Num(200)},
	{Kind: "utv", Item: "belt", Miles: models.Num(2500), Hours: models.Num(250)},
	{Kind: "utv", Item: "coolant", Months: 24, By: models.MonthDay{Month: 10, Day: 15}},
	{Kind: "utv", Item: "break_in", FirstHours: models.Num(20)},
}

// The dates are a function of facts, rules and profile: they do not move with
// the day on which they are asked, nor with the order of the facts. Early, due
// and late stand in order, never before the interval began, and stages follow
// from the dates.
func TestForecastProperties(t *testing.T) {
	p := profile(t)
	rapid.Check(t, func(t *rapid.T) {
		h := anyHistory(t)
		today := h.Machine.InService.AddDays(rapid.IntRange(0, 1500).Draw(t, "today"))
		fs := interval.Forecasts(modeled(h, p, today, someRules...))
		later := interval.Forecasts(modeled(h, p, today.AddDays(rapid.IntRange(0, 900).Draw(t, "asked later")), someRules...))
		require.Equal(t, undated(fs), undated(later))

		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
		mixed := h
		mixed.Readings, mixed.Services = slices.Clone(h.Readings), slices.Clone(h.Services)
		r.Shuffle(len(mixed.Readings), func(i, j int) { mixed.Readings[i], mixed.Readings[j] = mixed.Readings[j], mixed.Readings[i] })
		r.Shuffle(len(mixed.Services), func(i, j int) { mixed.Services[i], mixed.Services[j] = mixed.Services[j], mixed.Services[i] })
		require.Equal(t, fs, interval.Forecasts(modeled(mixed, p, today, someRules...)))

		for _, f := range fs {
			require.Equal(t, interval.StageOn(f, today), f.Stage)
			require.NotEmpty(t, f.Reason)
			require.NotEmpty(t, f.Detail)
			if f.DueOn.IsZero() {
				require.Equal(t, models.StageUnsure, f.Stage)
				continue
			}
			require.LessOrEqual(t, f.LastOn, f.EarlyOn)
			require.LessOrEqual(t, f.EarlyOn, f.DueOn)
			require.LessOrEqual(t, f.DueOn, f.LateOn)
			require.GreaterOrEqual(t, f.GraceDays, 14)
			require.NotEmpty(t, f.Driver)
		}
	})
}

// A longer interval never falls due earlier, whichever limit is longer.
func TestForecastIsMonotoneInTheInterval(t *testing.T) {
	p := profile(t)
	rapid.Check(t, func(t *rapid.T) {
		h := anyHistory(t)
		short := models.Rule{Kind: "utv", Item: "oil", Miles: models.Num(rapid.Float64Range(50, 5000).Draw(t, "miles")),
			Hours: models.Num(rapid.Float64Range(5, 500).Draw(t, "hours")), Months: rapid.IntRange(1, 36).Draw(t, "months")}
		long := short
		switch rapid.IntRange(0, 2).Draw(t, "longer in") {
		case 0:
			long.Miles.F *= rapid.Float64Range(1, 3).Draw(t, "times")
		case 1:
			long.Hours.F *= rapid.Float64Range(1, 3).Draw(t, "times")
		default:
			long.Months += rapid.IntRange(0, 24).Draw(t, "more months")
		}
		a := one(t, modeled(h, p, h.Machine.InService, short))
		b := one(t, modeled(h, p, h.Machine.InService, long))
		require.LessOrEqual(t, a.DueOn, b.DueOn)
		require.LessOrEqual(t, a.EarlyOn, b.EarlyOn)
		require.LessOrEqual(t, a.LateOn, b.LateOn)
	})
}

func BenchmarkForecasts(b *testing.B) {
	h := models.History{Machine: ranch()}
	h.Machine.Meters = models.MetersBoth
	for i := range 20 {
		v := float64(i + 1)
		h.Readings = append(h.Readings, models.Reading{Fact: models.Fact{Row: int64(i + 1)}, Machine: "M1", At: h.Machine.InService.AddDays(30 * (i + 1)),
			Miles: models.Num(300 * v), Hours: models.Num(25 * v), Source: "owner"})
	}
	h.Services = []models.Service{done("oil", "2026-05-01", models.Num(4200), models.Num(350)), done("belt", "2026-05-01", models.Num(4200), models.Num(350))}
	in := modeled(h, profile(b), date("2026-11-20"), someRules...)
	b.Run("real model", func(b *testing.B) {
		for b.Loop() {
			interval.Forecasts(in)
		}
	})
	use := miles("2026-10-22", 6000, 10)
	use.value[models.HourMeter], use.perDay[models.HourMeter] = 500, 0.8
	in.Use = use
	b.Run("without the model", func(b *testing.B) {
		for b.Loop() {
			interval.Forecasts(in)
		}
	})
	book := interval.NewBook(someRules)
	b.Run("rules of a machine", func(b *testing.B) {
		for b.Loop() {
			book.For(h.Machine)
		}
	})
}
