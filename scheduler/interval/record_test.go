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
