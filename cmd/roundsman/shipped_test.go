package main

import (
	"bytes"
	"log/slog"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/config"
	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
)

// A store that an older version made gets the shipped rules that are new, and
// keeps what its shop changed, retired or wrote by another word for the kind.
func TestAnOlderStoreGetsTheNewShippedRules(t *testing.T) {
	t.Parallel()
	ctx, s := t.Context(), demoSettings(t.TempDir())
	shipped, err := config.Shipped()
	require.NoError(t, err)
	var set models.FactSet
	for _, r := range shipped.Rules {
		switch {
		case r.Item == "wake_up" || r.Item == "brake_fluid" || r.Item == "hyd_oil":
			continue // not known then
		case r.Kind == "utv" && r.Item == models.ItemOil:
			r.Months, r.Origin = 7, models.OriginHand
		}
		set.Rules = append(set.Rules, r)
	}
	set.Rules = append(set.Rules, models.Rule{Kind: "side-by-side", Item: "brake_fluid", Months: 12, Origin: models.OriginFolder})
	st, err := store.Open(ctx, s.Database.Path, store.Options{})
	require.NoError(t, err)
	day := func(d string) models.Instant { return models.InstantOf(models.MustDate(d).In(time.UTC)) }
	_, err = st.Record(ctx, set, models.Entry{RecordedAt: day("2025-05-01"), Actor: "test", Means: "test"})
	require.NoError(t, err)
	_, err = st.Record(ctx, models.FactSet{Rules: []models.Rule{{Kind: "atv", Item: models.ItemLayUp, Retired: true}}},
		models.Entry{RecordedAt: day("2025-05-02"), Actor: "test", Means: "test"})
	require.NoError(t, err)
	require.NoError(t, st.Close())

	for _, first := range []bool{true, false} {
		var log bytes.Buffer
		a, err := app.New(ctx, s, app.Options{Clock: models.ClockFunc(func() time.Time { return day("2026-11-28").Time().Add(20 * time.Hour) }),
			Log: slog.New(slog.NewTextHandler(&log, nil))})
		require.NoError(t, err)
		rules, err := a.Store.EveryRule(ctx)
		require.NoError(t, err)
		require.NoError(t, a.Close())
		got := map[[2]string]models.Rule{}
		for _, r := range rules {
			got[[2]string{r.Kind, r.Item}] = r
		}
		for _, k := range [][2]string{{"utv", "wake_up"}, {"atv", "wake_up"}, {"atv", "brake_fluid"}, {"tractor", "hyd_oil"}} {
			assert.Equal(t, models.MustDate("2026-11-28"), got[k].Since, "%v", k)
			assert.Equal(t, models.OriginShipped, got[k].Origin)
		}
		assert.NotContains(t, got, [2]string{"utv", "brake_fluid"}, "the shop has its own")
		assert.True(t, got[[2]string{"atv", models.ItemLayUp}].Retired)
		assert.Equal(t, 7, got[[2]string{"utv", models.ItemOil}].Months)
		assert.Equal(t, models.MustDate("2025-05-01"), got[[2]string{"utv", models.ItemBelt}].Since)
		assert.Equal(t, first, bytes.Contains(log.Bytes(), []byte(`kind=tractor item=hyd_oil`)), log.String())
	}
}
