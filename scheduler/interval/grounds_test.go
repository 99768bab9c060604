package interval_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// What hangs on a look or on a guess is due, but never late: nobody knows the
// day. A record, or a day that somebody knows, is.
func TestALookOrAGuessIsNeverLate(t *testing.T) {
	said := func(what string) models.History {
		m := models.Machine{ID: "M1", Kind: "utv", Meters: models.MetersMiles, Cooling: models.CoolingLiquid}
		b, err := models.ParseBaseline(models.ItemOil, what, m)
		require.NoError(t, err)
		b.Machine, b.On = "M1", date("2024-07-04")
		return models.History{Machine: m, Baselines: []models.Baseline{b}}
	}
	served := said("fine")
	served.Services = []models.Service{{Machine: "M1", Item: models.ItemOil, At: date("2024-08-01")}}
	cases := []struct {
		name   string
		h      models.History
		stage  models.Stage
		detail string
	}{
		{"fine", said("fine"), models.StageDue, "since looked over 2024-07-04"},
		{"a month", said("done:2024-06"), models.StageDue, "since about 2024-06"},
		{"a year", said("done:2023"), models.StageDue, "since about 2023"},
		{"a day", said("done:2024-06-12"), models.StageLate, "since 2024-06-12"},
		{"a service since", served, models.StageLate, "since 2024-08-01"},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			in := input(tc.h.Machine, miles("2024-01-01", 0, 10), "2026-11-28", models.Rule{Item: models.ItemOil, Months: 12}, tc.h.Services...)
			in.History.Baselines = tc.h.Baselines
			f := one(t, in)
			assert.Equal(t, tc.stage, f.Stage)
			assert.Contains(t, f.Detail, tc.detail)
		})
	}
}

// A machine that is laid up owes nothing until it is back, whatever had fallen
// due before; on that day it does.
func TestWhatIsLaidUpIsNotLate(t *testing.T) {
	cases := []struct {
		today, due string
		stage      models.Stage
	}{
		{"2026-10-31", "2026-03-01", models.StageLate},
		{"2026-11-28", "2027-04-01", models.StageClear},
		{"2027-04-01", "2026-03-01", models.StageLate},
	}
	for _, tc := range cases {
		in := input(ranch(), miles("2025-03-01", 0, 10), tc.today, models.Rule{Item: models.ItemOil, Months: 12}, done(models.ItemOil, "2025-03-01", none, none))
		if tc.today > "2026-11-01" {
			in.History.Standings = []models.MachineStanding{{Machine: in.History.Machine.ID, On: date("2026-11-01"), State: models.StandsLaidUp, Until: date("2027-04-01")}}
		}
		f := one(t, in)
		assert.Equal(t, tc.stage, f.Stage, tc.today)
		assert.Equal(t, tc.due, f.DueOn.String(), tc.today)
	}
}
