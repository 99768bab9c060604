package scheduler_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
)

func TestTheDeskSeesFirstWhatIsMostUrgent(t *testing.T) {
	k := newTalk(t)
	for _, text := range []string{"we sold M1", "how much is it?", "M1 runs hot", "friday", "M2 leaks coolant", "thanks"} {
		k.says(text)
		k.later(time.Minute)
	}
	logs, err := scheduler.Waiting(t.Context(), k.st, 0)
	require.NoError(t, err)
	var texts []string
	for _, l := range logs {
		texts = append(texts, string(scheduler.UrgencyOf(l))+" "+l.Reply.Text)
	}
	assert.Equal(t, []string{"now M1 runs hot", "now M2 leaks coolant", "today how much is it?", "today friday", "later we sold M1"}, texts)
}

func TestOneActTakesBackWhatAReplyBrought(t *testing.T) {
	k := newTalk(t)
	act := scheduler.Act{At: k.at, By: "Dana", Means: "test"}
	before := k.history("M1")
	l := k.says("changed the coolant on M1 yesterday at 2150 mi")
	require.Len(t, k.history("M1").Services, len(before.Services)+1)
	require.True(t, scheduler.Undoable(l))

	_, err := k.p.Undo(t.Context(), act, l.Reply.ID, "  ")
	require.ErrorContains(t, err, "nothing says why")
	_, err = k.p.Undo(t.Context(), act, l.Reply.ID+100, "a slip")
	assert.Equal(t, models.CodeNotFound, models.CodeOf(err))
	taken, err := k.p.Undo(t.Context(), act, l.Reply.ID, "it was the other machine")
	require.NoError(t, err)
	require.NotEmpty(t, taken)
	for _, f := range taken {
		assert.Equal(t, "M1", f.Machine)
		assert.Equal(t, models.Withdrawn{Why: "it was the other machine", By: "Dana"}, f.Withdrawn)
	}
	after := k.history("M1")
	assert.Equal(t, before.Services, after.Services)
	assert.Equal(t, before.Readings, after.Readings)
	_, err = k.p.Undo(t.Context(), act, l.Reply.ID, "again")
	assert.Equal(t, models.CodeConflict, models.CodeOf(err), "once is enough")

	l = k.says("call me")
	assert.False(t, scheduler.Undoable(l))
	_, err = k.p.Undo(t.Context(), act, l.Reply.ID, "a slip")
	assert.Equal(t, models.CodeConflict, models.CodeOf(err))
}

func TestACheckIsOpenAgainWhenItsAnswerIsTakenBack(t *testing.T) {
	k, _ := checkAsked(t)
	before := k.owed()
	l := k.says("M1 ok")
	require.Zero(t, k.owed())
	_, err := k.p.Undo(t.Context(), scheduler.Act{At: k.at, By: "Dana", Means: "test"}, l.Reply.ID, "he meant M2")
	require.NoError(t, err)
	assert.Equal(t, before, k.owed())
}
