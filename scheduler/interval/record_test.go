package interval_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/interval"
)

// Ten usual histories of a machine that came on 2023-04-01, as seen on
// 2026-11-28. What the record does not hold is late where the record is whole,
// and belongs to the first inspection where it is not (the rule is common
// practice, no source). A service that is on record counts in all of them.
func TestRecordsOfUsualHistories(t *testing.T) {
	rules := []models.Rule{
		{Item: models.ItemCoolant, Months: 24},
		{Item: "oil", Months: 12},
		{Item: "break_in", FirstMiles: models.Num(200)},
	}
	oil := func(days ...string) (out []models.Service) {
		for _, d := range days {
			out = append(out, done("oil", d, none, none))
		}
		return out
	}
	yearly := []string{"2023-10-10", "2024-10-02", "2025-10-20"}
	tests := []struct {
		name     string
		books    string // the day on which it was recorded
		services []models.Service
		readings []string
		late     []string
		first    string // items of the first inspection
		change   func(*models.Machine)
	}{
		{"loaded late, nothing on record", "2026-11-28", nil, nil, nil, "coolant, oil", nil},
		{"loaded late, one service soon after it came", "2026-11-28", oil("2023-06-01"), nil, []string{"oil"}, "coolant", nil},
		{"loaded late, one service of last year", "2026-11-28", oil("2025-11-01"), nil, []string{"oil"}, "coolant", nil},
		{"loaded late, readings alone from the first day on", "2026-11-28", nil, []string{"2023-04-01", "2024-06-01", "2026-11-01"}, nil, "coolant, oil", nil},
		{"loaded late, serviced every year since it came", "2026-11-28", oil(yearly...), nil, []string{"break_in", "coolant", "oil"}, "", nil},
		{"loaded late, with two years missing", "2026-11-28", oil("2023-10-10", "2025-10-20"), nil, []string{"oil"}, "coolant", nil},
		{"loaded late, serviced at first and not for years since", "2026-11-28", oil("2023-10-10", "2024-10-02"), nil, []string{"oil"}, "coolant", nil},
		{"recorded by the shop since it came, never brought in", "2023-04-03", nil, nil, []string{"break_in", "coolant", "oil"}, "", nil},
		{"recorded by the shop since it came, serviced once", "2023-04-03", oil("2024-02-01"), nil, []string{"break_in", "coolant", "oil"}, "", nil},
		{"bought used, serviced every year", "2026-11-28", oil(yearly...), nil, []string{"oil"}, "coolant",
			func(m *models.Machine) { m.MilesStart = models.Num(812) }},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := ranch()
			m.InService, m.BooksSince = date("2023-04-01"), date(tt.books)
			if tt.change != nil {
				tt.change(&m)
			}
			in := input(m, miles("2023-04-01", 0, 3), "2026-11-28", models.Rule{}, tt.services...)
			in.Rules, in.History.AsOf = rules, date("2026-11-28")
			for _, d := range tt.readings {
				in.History.Readings = append(in.History.Readings, models.Reading{Machine: "M1", At: date(d), Miles: models.Num(100)})
			}
			var late []string
			first := ""
			for _, f := range interval.Forecasts(in) {
				switch {
				case f.Item == models.ItemFirstInspection:
					first = string(f.Items)
				case f.Stage == models.StageLate:
					late = append(late, f.Item)
				}
			}
			assert.ElementsMatch(t, tt.late, late)
			assert.Equal(t, tt.first, first)
		})
	}
}

// A day of the year that was missed is late for half a year; then the next one
// counts, and begins a cycle that no notice was made in before.
func TestAMissedSeasonMakesWayForTheNext(t *testing.T) {
	wake := models.Rule{Item: "wake_up", By: models.MonthDay{Month: 4, Day: 15}}
	laidUp := models.MachineStanding{State: models.StandsLaidUp, On: date("2026-11-01"), Until: date("2027-04-20")}
	tests := []struct {
		name     string
		today    string
		item     string
		by       models.MonthDay
		services []models.Service
		standing []models.MachineStanding
		due      string
		stage    models.Stage
		cycle    int
		next     string
	}{
		{"missed in spring", "2026-06-01", "wake_up", wake.By, nil, nil, "2026-04-14", models.StageLate, 1, "2026-10-15"},
		{"the last day of its half year", "2026-10-14", "wake_up", wake.By, nil, nil, "2026-04-14", models.StageLate, 1, "2026-10-15"},
		{"then next spring's", "2026-10-15", "wake_up", wake.By, nil, nil, "2027-04-14", models.StageClear, 2028, "2027-03-15"},
		{"and the one after", "2028-01-01", "wake_up", wake.By, nil, nil, "2028-04-14", models.StageClear, 2029, "2028-03-15"},
		{"done: a cycle of its own again", "2027-05-01", "wake_up", wake.By, []models.Service{done("wake_up", "2027-04-20", none, none)}, nil, "2028-04-14", models.StageClear, 2, "2028-03-15"},
		{"laid up: no lay-up to be done", "2026-11-28", models.ItemLayUp, models.MonthDay{Month: 11, Day: 15}, nil, []models.MachineStanding{laidUp}, "2027-11-14", models.StageClear, 2028, "2027-10-15"},
		{"laid up over the day: with the waking up", "2027-04-16", "wake_up", wake.By, []models.Service{done("wake_up", "2026-04-01", none, none)}, []models.MachineStanding{laidUp}, "2027-04-20", models.StageComing, 2, "2027-04-20"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := ranch()
			m.BooksSince = date("2025-06-01")
			in := input(m, miles("2025-03-01", 0, 3), tt.today, models.Rule{Item: tt.item, By: tt.by}, tt.services...)
			in.History.Standings = tt.standing
			f := one(t, in)
			assert.Equal(t, tt.due, f.DueOn.String())
			assert.Equal(t, tt.stage, f.Stage)
			assert.Equal(t, tt.cycle, f.Cycle)
			assert.Equal(t, tt.next, interval.NextLook(f, in.Today).String())
		})
	}
}

// A day of the year without a past record begins with the coming one, however
// old the machine is and whether it came new.
func TestAYearlyRuleBeginsWithTheComingDay(t *testing.T) {
	rule := models.Rule{Item: models.ItemLayUp, By: models.MonthDay{Month: 11, Day: 15}}
	for name, start := range map[string]models.Number{"came new": models.Num(0), "bought used": models.Num(5300), "not known": none} {
		m := ranch()
		m.InService, m.BooksSince, m.MilesStart = date("2009-03-01"), date("2026-06-01"), start
		f := one(t, input(m, miles("2026-06-01", 9000, 3), "2026-06-01", rule))
		assert.Equal(t, models.ItemLayUp, f.Item, name)
		assert.Equal(t, "2026-11-14", f.DueOn.String(), name)
		assert.Equal(t, models.StageClear, f.Stage, name)
	}
}
