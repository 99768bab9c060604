package scheduler_test

import (
	"context"
	"fmt"
	"log/slog"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
	"example.org/roundsman/notify/policy"
	"example.org/roundsman/scheduler"
)

// drawFacts draws a small fleet with irregular, sometimes odd readings.
func drawFacts(t *rapid.T) models.FactSet {
	start := date("2024-01-01")
	day := rapid.IntRange(0, 700)
	set := models.FactSet{
		Rules: []models.Rule{
			{Kind: "utv", Item: models.ItemOil, Miles: models.Num(1000), Hours: models.Num(100), Months: 12, Origin: models.OriginHand},
			{Kind: "utv", Item: models.ItemCoolant, Months: 24, Origin: models.OriginHand},
			{Kind: "utv", Item: models.ItemBelt, Miles: models.Num(2500), Origin: models.OriginHand},
		},
	}
	for o := range rapid.IntRange(1, 3).Draw(t, "owners") {
		id := fmt.Sprintf("O%d", o)
		set.Owners = append(set.Owners, models.Owner{ID: id, Name: id})
		set.Contacts = append(set.Contacts, models.Contact{ID: "C" + id, Owner: id, Name: "A", Role: models.RoleService,
			Mail: "a@example.com", Mobile: "+12025550101", MailConsentOn: start.AddDays(day.Draw(t, "consent"))})
	}
	for i := range rapid.IntRange(1, 6).Draw(t, "machines") {
		m := models.Machine{ID: fmt.Sprintf("M%d", i), Kind: "utv", Owner: rapid.SampledFrom(set.Owners).Draw(t, "owner").ID,
			Meters:    rapid.SampledFrom(models.MeterSets()).Draw(t, "meters"),
			InService: start.AddDays(day.Draw(t, "in service")), Cooling: models.CoolingLiquid}
		if m.Meters.Has(models.Odometer) {
			m.MilesStart = models.Num(0)
		}
		if m.Meters.Has(models.HourMeter) {
			m.HoursStart = models.Num(0)
		}
		set.Machines = append(set.Machines, m)
		most := 12
		if m.Meters == models.MetersNone {
			most = 0
		}
		for range rapid.IntRange(0, most).Draw(t, "readings") {
			d := day.Draw(t, "on")
			r := models.Reading{Machine: m.ID, At: start.AddDays(d), Source: rapid.SampledFrom([]string{"owner", "shop"}).Draw(t, "source")}
			v := float64(d) * rapid.Float64Range(2, 8).Draw(t, "per day")
			if m.Meters.Has(models.Odometer) {
				r.Miles = models.Num(v)
			}
			if m.Meters.Has(models.HourMeter) {
				r.Hours = models.Num(v / 12)
			}
			set.Readings = append(set.Readings, r)
		}
		if rapid.Bool().Draw(t, "serviced") {
			set.Services = append(set.Services, models.Service{Machine: m.ID, Item: models.ItemOil, At: start.AddDays(day.Draw(t, "done on"))})
		}
	}
	return set
}

// derived is all that a round works out anew.
func derived(t require.TestingT, st *store.Store, machines []models.Machine) (fs []models.Forecast, ds []models.Doubt) {
	fs, err := st.Forecasts(context.Background(), nil)
	require.NoError(t, err)
	for _, m := range machines {
		d, err := st.Doubts(context.Background(), m.ID)
		require.NoError(t, err)
		ds = append(ds, d...)
	}
	return fs, ds
}

// TestDerivedRowsComeBackAndNothingIsToldTwice is the property on which the
// whole program leans: over random facts and rounds, throwing the derived rows
// away and holding a round at the same time gives the same rows and no second
// notice.
func TestDerivedRowsComeBackAndNothingIsToldTwice(t *testing.T) {
	dir := t.TempDir()
	n := 0
	rapid.Check(t, func(rt *rapid.T) {
		n++
		ctx := context.Background()
		st, err := store.Open(ctx, filepath.Join(dir, fmt.Sprintf("%d.db", n)), store.Options{})
		require.NoError(rt, err)
		defer st.Close()
		set := drawFacts(rt)
		record := func(set models.FactSet) {
			set.Release("test")
			_, err := st.Record(ctx, set, models.Entry{RecordedAt: 1, Actor: "test", Means: "test"})
			require.NoError(rt, err)
		}
		record(set)
		h := &scheduler.Runner{Store: st, Log: slog.New(slog.DiscardHandler),
			Notify: policy.Settings{Zone: denver, Language: "en"}}
		on := date("2025-06-01")
		for i := range rapid.IntRange(1, 5).Draw(rt, "rounds") {
			at := noon(on)
			_, err := h.Run(ctx, fmt.Sprintf("slot %d", i), at)
			require.NoError(rt, err)
			var ids []string
			for _, m := range set.Machines {
				ids = append(ids, m.ID)
			}
			fs, ds := derived(rt, st, set.Machines)
			before, err := st.NoticesOf(ctx, ids)
			require.NoError(rt, err)

			require.NoError(rt, st.ForgetDerived(ctx))
			r, err := h.Run(ctx, fmt.Sprintf("slot %d again", i), at.Add(time.Second))
			require.NoError(rt, err)
			fs2, ds2 := derived(rt, st, set.Machines)
			after, err := st.NoticesOf(ctx, ids)
			require.NoError(rt, err)
			assert.Equal(rt, len(set.Machines), r.Looked)
			require.Equal(rt, fs, fs2)
			require.Equal(rt, ds, ds2)
			require.Equal(rt, before, after)

			// Life goes on: time passes, and now and then a late fact comes in.
			on = on.AddDays(rapid.IntRange(1, 90).Draw(rt, "days"))
			if rapid.Bool().Draw(rt, "late fact") {
				m := rapid.SampledFrom(set.Machines).Draw(rt, "machine")
				record(models.FactSet{Services: []models.Service{{Machine: m.ID, Item: models.ItemOil,
					At: on.AddDays(-rapid.IntRange(0, 200).Draw(rt, "ago"))}}})
			}
		}
	})
}
