package store

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// TestWhatIsTakenBackCountsNowhere: it is gone from the history, stays in the
// list with reason and name, and does not come back with the same folder.
func TestWhatIsTakenBackCountsNowhere(t *testing.T) {
	s := newStore(t)
	set := fleet()
	set.Swaps = []models.Swap{{Machine: "M1", At: day1, Meter: models.Odometer, OldValue: models.Num(10)}}
	set.Services = []models.Service{{Machine: "M1", Item: "oil", At: day1}}
	_, err := s.Record(t.Context(), set, entry("import"))
	require.NoError(t, err)
	last, err := s.LastEntry(t.Context())
	require.NoError(t, err)
	facts, err := s.FactsOf(t.Context(), "M1", -1)
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(facts), 3)
	for _, f := range facts {
		taken := models.Withdrawal{Sort: f.Sort, Taken: f.Row, Why: "wrong machine", By: "Kim"}
		_, err := s.Withdraw(t.Context(), "M2", taken, entry("hand"))
		assert.Equal(t, models.CodeNotFound, models.CodeOf(err), "another machine's %s", f.Sort)
		_, err = s.Withdraw(t.Context(), "M1", taken, entry("hand"))
		require.NoError(t, err)
		_, err = s.Withdraw(t.Context(), "M1", taken, entry("hand"))
		assert.Equal(t, models.CodeConflict, models.CodeOf(err))
	}
	gone := func() {
		h, err := s.History(t.Context(), "M1", models.Window{})
		require.NoError(t, err)
		assert.Empty(t, h.Swaps)
		assert.Empty(t, h.Services)
		for _, r := range h.Readings {
			assert.Equal(t, models.StandingWithdrawn, r.Standing)
		}
	}
	gone()
	before, err := s.History(t.Context(), "M1", models.Window{LastEntry: last})
	require.NoError(t, err)
	assert.Len(t, before.Services, 1, "then it was not known yet")
	done, err := s.Record(t.Context(), set, entry("import"))
	require.NoError(t, err)
	assert.False(t, done.Changed())
	gone()

	all, err := s.AllFacts(t.Context())
	require.NoError(t, err)
	assert.Equal(t, models.Withdrawn{Why: "wrong machine", By: "Kim"}, all.Services[0].Withdrawn)
	other := newStore(t)
	_, err = other.Record(t.Context(), all, entry("import"))
	require.NoError(t, err)
	carried, err := other.FactsOf(t.Context(), "M1", -1)
	require.NoError(t, err)
	require.Len(t, carried, len(facts))
	for _, f := range carried {
		assert.Equal(t, models.Withdrawn{Why: "wrong machine", By: "Kim"}, f.Withdrawn, f.Sort)
	}
}
