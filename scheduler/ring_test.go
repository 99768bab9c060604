package scheduler_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
)

// TestSomebodyRingsWhenNobodyAnswers: asked, asked again, and then a call is
// owed, until the check is answered.
func TestSomebodyRingsWhenNobodyAnswers(t *testing.T) {
	k := newTalk(t)
	handed := date("2026-03-12")
	repaired(t, k.st, k.p.Jobs, noon(handed))
	h := runnerOf(k.st)
	calls := func(on models.Date) []scheduler.Call {
		c, err := scheduler.Calls(t.Context(), k.st, h.Notify, noon(on))
		require.NoError(t, err)
		return c
	}
	var first models.Date
	for d := handed; d <= handed.AddDays(30); d++ {
		hold(t, h, d)
		if first == 0 && len(calls(d)) > 0 {
			first = d
		}
	}
	require.NotZero(t, first, "somebody rings in the end")
	assert.Greater(t, first, handed.AddDays(6), "not before it was asked twice, three days apart")
	got := calls(handed.AddDays(30))
	require.Len(t, got, 1)
	assert.Equal(t, "M1", got[0].Check.Machine.ID)
	assert.NotEmpty(t, got[0].Contacts)
	assert.Equal(t, first, got[0].Since)

	act := scheduler.Act{At: noon(handed.AddDays(30)), By: "Lee", Means: "check"}
	_, back, err := k.p.Jobs.Answer(t.Context(), act, got[0].Check.Check.ID, models.CheckOK, "on the phone")
	require.NoError(t, err)
	assert.False(t, back)
	assert.Empty(t, calls(handed.AddDays(31)))
}
