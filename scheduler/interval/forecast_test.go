package interval_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/interval"
	"example.org/roundsman/scheduler/usage"
)

// A worked example: 10 miles a day from 5,120 miles on March 1. A thousand
// miles take 100 days, so the oil is due on June 9; forty days on, 600 miles
// are left, and 325 days of the twelve months.
func TestForecastByMiles(t *testing.T) {
	use := miles("2026-03-01", 5120, 10)
	use.spread = 0.2
	rule := models.Rule{Kind: "utv", Item: "oil", Miles: models.Num(1000), Months: 12}
	got := one(t, input(ranch(), use, "2026-04-10", rule, done("oil", "2026-03-01", models.Num(5120), none)))
	want := models.Forecast{
		Machine: "M1", Item: "oil", Cycle: 2,
		EarlyOn: date("2026-05-20"), DueOn: date("2026-06-09"), LateOn: date("2026-06-29"),
		Driver: models.DriverMiles, Reason: models.ReasonUse,
		Detail: "1,000 mi or 12 months since 2026-03-01 at 5,120 mi",
		LastOn: date("2026-03-01"), LastMiles: models.Num(5120), AtMiles: models.Num(6120),
		Remaining: models.Remaining{Miles: models.Num(600), Days: models.Num(325)},
		GraceDays: 14, LeadDays: 30, Profile: 202606, Stage: models.StageClear, Worth: models.Num(0),
	}
	assert.Equal(t, want, got)
}

func TestForecastTakesWhateverComesFirst(t *testing.T) {
	both := ranch()
	both.Meters = models.MetersBoth
	two := func(milesADay, hoursADay float64) steady {
		return steady{from: date("2026-03-01"),
			value:  map[models.Meter]float64{models.Odometer: 5120, models.HourMeter: 410},
			perDay: map[models.Meter]float64{models.Odometer: milesADay, models.HourMeter: hoursADay}, spread: 0.5}
	}
	rule := models.Rule{Item: "oil", Miles: models.Num(1000), Hours: models.Num(100), Months: 12}
	tests := []struct {
		name             string
		use              steady
		driver           models.Driver
		reason           models.Reason
		early, due, late string
	}{
		{"miles", two(10, 0.5), models.DriverMiles, models.ReasonUse, "2026-04-20", "2026-06-09", "2026-07-29"},
		{"hours", two(5, 1), models.DriverHours, models.ReasonUse, "2026-04-20", "2026-06-09", "2026-07-29"},
		{"calendar", two(2, 0.2), models.DriverCalendar, models.ReasonCalendar, "2026-11-06", "2027-03-01", "2027-03-01"},
		{"calendar caps the late date", two(10, 0.3), models.DriverMiles, models.ReasonUse, "2026-04-20", "2026-06-09", "2026-07-29"},
		{"and all three where it comes first of all", two(0.5, 0.01), models.DriverCalendar, models.ReasonCalendar, "2027-03-01", "2027-03-01", "2027-03-01"},
		{"late cut alone", two(1000.0/300, 0.01), models.DriverMiles, models.ReasonUse, "2026-07-29", "2026-12-26", "2027-03-01"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			f := one(t, input(both, tt.use, "2026-03-02", rule, done("oil", "2026-03-01", models.Num(5120), models.Num(410))))
			assert.Equal(t, []string{tt.early, tt.due, tt.late}, []string{f.EarlyOn.String(), f.DueOn.String(), f.LateOn.String()})
			assert.Equal(t, tt.driver, f.Driver)
			assert.Equal(t, tt.reason, f.Reason)
			assert.Equal(t, models.Num(6120), f.AtMiles)
			assert.Equal(t, models.Num(510), f.AtHours)
			assert.Equal(t, "1,000 mi or 100 h or 12 months since 2026-03-01 at 5,120 mi and 410 h", f.Detail)
		})
	}
}

// Rules count miles on every machine. A kilometer odometer at 8,046.72 km
// stands at exactly 5,000 miles: the mile is 1.609344 km (COMPUTED: GNU units
// 2.22; NIST SP 811, appendix B). The limit lies at exactly 6,000 miles, which
// shows as 9,656.064 km.
func TestForecastOnKilometers(t *testing.T) {
	m := ranch()
	m.Meters = models.MetersKM
	use := miles("2026-03-01", 5000, 10)
	var limits []usage.Limit
	use.seen = &limits
	rule := models.Rule{Item: "oil", Miles: models.Num(1000)}
	f := one(t, input(m, use, "2026-03-11", rule, done("oil", "2026-03-01", models.Num(8046.72), none)))
	require.Len(t, limits, 1)
	assert.InDelta(t, 6000, limits[0].Target, 1e-9)
	assert.Equal(t, date("2026-06-09"), f.DueOn)
	assert.Equal(t, models.DriverKM, f.Driver)
	assert.Equal(t, models.Num(9656.1), f.AtMiles)
	assert.Equal(t, models.Num(8046.72), f.LastMiles)
	assert.Equal(t, models.Remaining{KM: models.Num(1448.4)}, f.Remaining, "900 miles are 1,448.4096 km")
	assert.Equal(t, "1,609.3 km since 2026-03-01 at 8,046.7 km", f.Detail)
}

func TestForecastCountsFrom(t *testing.T) {
	oil := models.Rule{Item: "oil", Miles: models.Num(1000), FirstMiles: models.Num(200), Months: 12, FirstMonths: 3}
	breakIn := models.Rule{Item: "break_in", FirstMiles: models.Num(200)}
	grease := models.Rule{Item: "grease", Miles: models.Num(300)}
	used, unknown, undated := ranch(), ranch(), ranch()
	used.MilesStart, unknown.MilesStart, undated.InService = models.Num(812), none, 0
	tests := []struct {
		name     string
		machine  models.Machine
		rule     models.Rule
		services []models.Service
		reason   models.Reason // "" for no forecast
		lastOn   string
		dueOn    string
		detail   string
	}{
		{"new: the first interval", ranch(), oil, nil, models.ReasonUse, "2025-03-01", "2025-03-21", "200 mi or 3 months since new on 2025-03-01"},
		{"new, without a first interval", ranch(), grease, nil, models.ReasonUse, "2025-03-01", "2025-03-31", "300 mi since new on 2025-03-01"},
		{"done: the next interval", ranch(), oil, []models.Service{done("oil", "2025-03-20", models.Num(190), none)},
			models.ReasonUse, "2025-03-20", "2025-06-28", "1,000 mi or 12 months since 2025-03-20 at 190 mi"},
		{"the last of several, in any order", ranch(), grease, []models.Service{done("grease", "2025-05-01", models.Num(610), none),
			done("grease", "2025-03-30", models.Num(290), none)}, models.ReasonUse, "2025-05-01", "2025-05-31", "300 mi since 2025-05-01 at 610 mi"},
		{"two of one day: the higher value", ranch(), grease, []models.Service{done("grease", "2025-05-01", models.Num(610), none),
			done("grease", "2025-05-01", models.Num(600), none)}, models.ReasonUse, "2025-05-01", "2025-05-31", "300 mi since 2025-05-01 at 610 mi"},
		{"meter not written down: the likely value", ranch(), grease, []models.Service{done("grease", "2025-05-01", none, none)},
			models.ReasonUse, "2025-05-01", "2025-05-31", "300 mi since 2025-05-01"},
		{"used, never done", used, oil, nil, models.ReasonNoRecord, "", "", "1 item without a record; the machine came used"},
		{"past unknown", unknown, oil, nil, models.ReasonNoRecord, "", "", "1 item without a record; not known whether the machine came new"},
		{"day unknown", undated, oil, nil, models.ReasonNoRecord, "", "", "1 item without a record; not known when the machine came"},
		{"used, done since", used, grease, []models.Service{done("grease", "2025-05-01", models.Num(610), none)},
			models.ReasonUse, "2025-05-01", "2025-05-31", "300 mi since 2025-05-01 at 610 mi"},
		{"tested or changed: both count for the test", used, models.Rule{Item: models.ItemThermostat, Miles: models.Num(300)}, []models.Service{
			done(models.ItemThermostat, "2025-04-01", models.Num(310), none), done(models.ItemThermostatChange, "2025-05-01", models.Num(610), none)},
			models.ReasonUse, "2025-05-01", "2025-05-31", "300 mi since 2025-05-01 at 610 mi"},
		{"a test is no change", used, models.Rule{Item: models.ItemThermostatChange, Miles: models.Num(300)}, []models.Service{
			done(models.ItemThermostat, "2025-05-01", models.Num(610), none)}, models.ReasonNoRecord, "", "", "1 item without a record; the machine came used"},
		{"a change without a limit falls due never", used, models.Rule{Item: models.ItemThermostatChange, Teardown: "drain"}, nil, "", "", "", ""},
		{"break-in of a new machine", ranch(), breakIn, nil, models.ReasonUse, "2025-03-01", "2025-03-21", "200 mi since new on 2025-03-01"},
		{"break-in done: no more to come", ranch(), breakIn, []models.Service{done("break_in", "2025-03-20", none, none)}, "", "", "", ""},
		{"break-in of a used machine is past", used, breakIn, nil, "", "", "", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			// Ten miles a day from 0 on the day it came.
			fs := interval.Forecasts(input(tt.machine, miles("2025-03-01", 0, 10), "2025-03-02", tt.rule, tt.services...))
			if tt.reason == "" {
				assert.Empty(t, fs)
				return
			}
			require.Len(t, fs, 1)
			f := fs[0]
			assert.Equal(t, tt.reason, f.Reason)
			assert.Equal(t, tt.lastOn, f.LastOn.String())
			assert.Equal(t, tt.dueOn, f.DueOn.String())
			assert.Equal(t, tt.detail, f.Detail)
			if tt.reason == models.ReasonNoRecord {
				assert.Equal(t, models.StageUnsure, f.Stage)
				assert.NotEmpty(t, f.Ask)
				assert.Empty(t, f.Driver)
			}
		})
	}
}

// The day of the year: a service within half a year before it, or one that
// came late, counts for it.
func TestForecastBeforeTheSeason(t *testing.T) {
	snow := models.Rule{Item: "coolant_look", By: models.MonthDay{Month: 10, Day: 15}}
	withMonths := snow
	withMonths.Months = 12
	tests := []struct {
		name    string
		rule    models.Rule
		last    string
		due     string
		reason  models.Reason
		detail  string
		dueDays float64
	}{
		{"in spring: before this year's snow", snow, "2026-04-01", "2026-10-14", models.ReasonSeason, "by October 14 each year; last done 2026-04-01", 196},
		{"in time for it: next year's", snow, "2026-09-20", "2027-10-14", models.ReasonSeason, "by October 14 each year; last done 2026-09-20", 389},
		{"late: counts for the day missed", snow, "2026-11-03", "2027-10-14", models.ReasonSeason, "by October 14 each year; last done 2026-11-03", 345},
		{"months come first", withMonths, "2026-09-20", "2027-09-20", models.ReasonCalendar, "12 months since 2026-09-20, and by October 14 each year", 365},
		{"both on one day", withMonths, "2026-10-14", "2027-10-14", models.ReasonCalendar, "12 months since 2026-10-14, and by October 14 each year", 365},
		{"the season comes before the months", withMonths, "2026-12-01", "2027-10-14", models.ReasonSeason, "12 months since 2026-12-01, and by October 14 each year", 317},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			f := one(t, input(ranch(), miles("2025-03-01", 0, 10), tt.last, tt.rule, done("coolant_look", tt.last, none, none)))
			assert.Equal(t, []string{tt.due, tt.due, tt.due}, []string{f.EarlyOn.String(), f.DueOn.String(), f.LateOn.String()})
			assert.Equal(t, models.DriverCalendar, f.Driver)
			assert.Equal(t, tt.reason, f.Reason)
			assert.Equal(t, tt.detail, f.Detail)
			assert.Equal(t, models.Num(tt.dueDays), f.Remaining.Days)
			assert.False(t, f.Worth.Known)
		})
	}
}

// Twelve months are clamped to the end of a short month: python-dateutil
// gives 2025-02-28 for 2024-02-29 + 12 months, AddDate 2025-03-01.
func TestForecastMonthsAreClamped(t *testing.T) {
	for last, due := range map[string]string{"2024-02-29": "2025-02-28", "2025-08-31": "2026-08-31"} {
		f := one(t, input(ranch(), miles("2025-03-01", 0, 10), last, models.Rule{Item: "oil", Months: 12}, done("oil", last, none, none)))
		assert.Equal(t, due, f.DueOn.String())
	}
	f := one(t, input(ranch(), miles("2025-03-01", 0, 10), "2025-08-31", models.Rule{Item: "oil", Months: 6}, done("oil", "2025-08-31", none, none)))
	assert.Equal(t, "2026-02-28", f.DueOn.String())
}

func TestForecastWithoutLimitOrCooling(t *testing.T) {
	m := ranch()
	m.Meters = models.MetersHours
	f := one(t, input(m, hours("2025-03-01", 0, 1), "2025-04-01", models.Rule{Item: "belt", Miles: models.Num(2500)}))
	assert.Equal(t, models.ReasonNoLimit, f.Reason)
	assert.Equal(t, models.StageUnsure, f.Stage)
	assert.Equal(t, "the rule counts 2,500 miles, which the machine has no meter for", f.Detail)
	assert.Zero(t, f.DueOn)

	m = ranch()
	m.Cooling = ""
	rule := models.Rule{Item: models.ItemCoolant, Months: 24}
	f = one(t, input(m, miles("2025-03-01", 0, 10), "2030-01-01", rule))
	assert.Equal(t, models.ReasonCoolingUnknown, f.Reason)
	assert.Equal(t, models.StageUnsure, f.Stage, "and never a notice")
	assert.Zero(t, interval.NextLook(f, date("2030-01-01")))
	assert.NotEmpty(t, f.Ask)

	f = one(t, input(m, miles("2025-03-01", 0, 10), "2026-01-01", rule, done(models.ItemCap, "2025-05-01", none, none)))
	assert.Equal(t, models.ReasonCalendar, f.Reason, "a new pressure cap says that there is coolant")
	assert.Equal(t, "2027-03-01", f.DueOn.String())
	f = one(t, input(m, miles("2025-03-01", 0, 10), "2026-01-01", models.Rule{Item: models.ItemOil, Months: 12}))
	assert.Equal(t, models.ReasonCalendar, f.Reason, "oil does not ask for cooling")
}

func TestForecastOverdue(t *testing.T) {
	// The odometer stood at 1,400 on July 1: the limit of 1,000 lies behind.
	use := miles("2025-07-01", 1400, 10)
	f := one(t, input(ranch(), use, "2025-07-02", models.Rule{Item: "oil", Miles: models.Num(1000), LeadDays: 10}))
	assert.Equal(t, "2025-05-22", f.DueOn.String())
	assert.Equal(t, date("2025-07-01"), f.KnownOn)
	assert.Equal(t, models.Num(-410), f.Remaining.Miles)
	assert.Equal(t, models.StageDue, f.Stage, "grace runs from the day it became known")
	assert.Equal(t, models.StageDue, interval.StageOn(f, date("2025-07-15")))
	assert.Equal(t, models.StageLate, interval.StageOn(f, date("2025-07-16")))
	assert.Equal(t, date("2025-07-16"), interval.NextLook(f, date("2025-07-02")))
	assert.Empty(t, f.Ask)
}

// Grace is 5 % of the interval in days where that is more than 14: a two-year
// calendar limit of 730 days gives 36.5, rounded up to 37.
func TestForecastGrace(t *testing.T) {
	f := one(t, input(ranch(), miles("2025-03-01", 0, 10), "2025-03-02", models.Rule{Item: "oil", Months: 24}))
	assert.Equal(t, 37, f.GraceDays)
	f = one(t, input(ranch(), miles("2025-03-01", 0, 10), "2025-03-02", models.Rule{Item: "oil", Months: 9}))
	assert.Equal(t, 14, f.GraceDays)
}

// A limit of use and one of the calendar on the same day: by its use, which
// says more.
func TestForecastTie(t *testing.T) {
	use := miles("2026-03-01", 5120, 10)
	rule := models.Rule{Item: "oil", Miles: models.Num(920), Months: 3}
	f := one(t, input(ranch(), use, "2026-03-02", rule, done("oil", "2026-03-01", models.Num(5120), none)))
	assert.Equal(t, date("2026-06-01"), f.DueOn)
	assert.Equal(t, models.DriverMiles, f.Driver)
}

// Whatever a model answers, the three dates stand in order and not before the
// interval began.
func TestForecastPutsDatesInOrder(t *testing.T) {
	use := miles("2026-03-01", 5120, 10)
	use.spread = -2
	f := one(t, input(ranch(), use, "2026-03-02", models.Rule{Item: "oil", Miles: models.Num(1000)},
		done("oil", "2026-03-01", models.Num(5120), none)))
	assert.Equal(t, []models.Date{date("2026-06-09"), date("2026-06-09"), date("2026-06-09")}, []models.Date{f.EarlyOn, f.DueOn, f.LateOn})
}

func TestForecastAsks(t *testing.T) {
	both := ranch()
	both.Meters = models.MetersBoth
	two := miles("2026-03-01", 5120, 10)
	two.value[models.HourMeter], two.perDay[models.HourMeter] = 410, 1
	rule := models.Rule{Item: "oil", Miles: models.Num(1000)}
	svc := done("oil", "2026-03-01", models.Num(5120), models.Num(410))
	tests := []struct {
		name          string
		spread, worth float64
		rule          models.Rule
		ask           string
		want          models.Number
	}{
		{"worth it", 0.2, 12.34, rule, "what the odometer shows", models.Num(12.3)},
		{"not worth it", 0.2, 3, rule, "", models.Num(3)},
		{"narrow enough", 0.05, 12, rule, "", none},
		{"never more than the range", 0.2, 99, rule, "what the odometer shows", models.Num(40)},
		{"unsure asks in any case", 0.95, 1, rule, "what the odometer shows", models.Num(1)},
		{"hours", 0.2, 12, models.Rule{Item: "oil", Hours: models.Num(100)}, "what the hour meter shows", models.Num(12)},
		{"both", 0.2, 12, models.Rule{Item: "oil", Hours: models.Num(100), Miles: models.Num(1000)}, "what both meters show", models.Num(12)},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			use := two
			use.spread, use.worth = tt.spread, tt.worth
			f := one(t, input(both, use, "2026-03-20", tt.rule, svc))
			assert.Equal(t, tt.ask, string(f.Ask))
			assert.Equal(t, tt.want, f.Worth)
		})
	}
}

func TestForecastCycles(t *testing.T) {
	rule := models.Rule{Item: "oil", Miles: models.Num(1000)}
	in := input(ranch(), miles("2026-03-01", 5120, 10), "2026-03-02", rule,
		done("oil", "2025-09-01", models.Num(4120), none), done("oil", "2026-03-01", models.Num(5120), none),
		done("oil", "2026-03-01", none, none), done("belt", "2026-03-01", none, none))
	assert.Equal(t, 3, one(t, in).Cycle, "two services of one day are one")
	in.Corrections = map[string]int{"oil": 2, "belt": 1}
	assert.Equal(t, 5, one(t, in).Cycle)
	in.History.AsOf = date("2026-02-01")
	f := one(t, in)
	assert.Equal(t, 4, f.Cycle, "what came after the day asked is not known")
	assert.Equal(t, date("2025-09-01"), f.LastOn)
}

func TestCase(t *testing.T) {
	used := ranch()
	used.MilesStart = models.Num(812)
	use := miles("2026-03-01", 3000, 10)
	use.spread = 0.9
	var by models.Date
	use.by = &by
	rule := models.Rule{Item: "oil", Miles: models.Num(2500)}
	a, ok := interval.Case(input(used, use, "", rule), "oil", date("2026-03-05"))
	require.True(t, ok)
	// 812 at in_service and 2,500 more: 312 miles from 3,000, 32 days.
	assert.Equal(t, interval.Answer{EarlyOn: date("2026-03-05"), DueOn: date("2026-04-02"), LateOn: date("2026-04-30")}, a)
	assert.Equal(t, date("2026-03-05"), by, "not reported done by the day asked")

	rule.Miles = models.Num(9000)
	a, ok = interval.Case(input(used, use, "", rule), "oil", date("2026-03-05"))
	require.True(t, ok)
	assert.Equal(t, date("2027-04-09"), a.LateOn, "400 days")
	assert.Equal(t, date("2027-04-09"), a.DueOn)

	rule.Months = 12
	a, ok = interval.Case(input(used, use, "", rule), "oil", date("2026-03-05"))
	require.True(t, ok)
	assert.Equal(t, date("2026-03-01"), a.DueOn, "the calendar's day has passed")
	a, ok = interval.Case(input(used, use, "", rule), "oil", date("2020-01-01"))
	require.True(t, ok)
	assert.Equal(t, date("2021-02-04"), a.DueOn, "400 days, though the machine came later")
	_, ok = interval.Case(input(used, use, "", rule), "belt", date("2026-03-05"))
	assert.False(t, ok)
}
