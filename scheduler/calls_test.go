package scheduler_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
	"example.org/roundsman/notify"
	"example.org/roundsman/scheduler"
)

// TestSomebodyRingsWhenNobodyAnswers: asked, asked again, and then a call is
// owed, until the check is answered.
func TestSomebodyRingsWhenNobodyAnswers(t *testing.T) {
	k := newTalk(t)
	handed := date("2026-03-12")
	repaired(t, k.st, k.p.Jobs, noon(handed))
	h := runnerOf(k.st)
	calls := func(on models.Date) (rings []models.RingFor) {
		for _, o := range callsOn(t, k.st, on) {
			rings = append(rings, o.Checks...)
		}
		return rings
	}
	var first models.Date
	for d := handed; d <= handed.AddDays(30); d++ {
		tell(t, h, k.st, d)
		if first == 0 && len(calls(d)) > 0 {
			first = d
		}
	}
	require.NotZero(t, first, "somebody rings in the end")
	assert.Greater(t, first, handed.AddDays(6), "not before it was asked twice, three days apart")
	got := calls(handed.AddDays(30))
	require.Len(t, got, 1)
	assert.Equal(t, "M1", got[0].Check.Machine.ID)
	list := callsOn(t, k.st, handed.AddDays(30))
	require.Len(t, list, 1, "one owner, whatever the call is about")
	assert.NotEmpty(t, list[0].Contacts)
	assert.Equal(t, first, got[0].Since)

	act := scheduler.Act{At: noon(handed.AddDays(30)), By: "Lee", Means: "check"}
	_, back, err := k.p.Answer(t.Context(), act, got[0].Check.Check.ID, models.CheckOK, "on the phone")
	require.NoError(t, err)
	assert.False(t, back)
	assert.Empty(t, calls(handed.AddDays(31)))
}

// callsOn gives the call list of a day.
func callsOn(t *testing.T, st *store.Store, on models.Date) []models.ToCall {
	t.Helper()
	list, total, err := scheduler.Calls(t.Context(), st, runnerOf(st).Notify, noon(on), 0)
	require.NoError(t, err)
	require.Len(t, list, total)
	return list
}

func TestTheCallListEndsWithACall(t *testing.T) {
	st := openStore(t)
	set := calendarFleet()
	set.Contacts[0].MailConsentOn = 0
	record(t, st, set)
	today := date("2026-03-10")
	hold(t, runnerOf(st), today)
	list := callsOn(t, st, today)
	require.Len(t, list, 1)
	assert.Equal(t, models.ReasonNoConsent, list[0].Why)
	assert.Equal(t, models.StageDue, list[0].Worst)
	assert.Equal(t, 2, list[0].Machines)
	assert.Equal(t, "Ada", list[0].Contacts[0].Name)
	call := func(reached bool, again models.Date) {
		require.NoError(t, st.RecordCall(t.Context(), models.Call{At: models.InstantOf(noon(today)), Owner: "O1", By: "Sam", Reached: reached,
			AgainOn: again, Note: "x"}, models.Entry{RecordedAt: 1, Actor: "test", Means: "call"}))
	}
	call(false, today.AddDays(1))
	assert.Empty(t, callsOn(t, st, today), "tomorrow again")
	list = callsOn(t, st, today.AddDays(1))
	require.Len(t, list, 1)
	assert.Equal(t, "x", list[0].Last.Note)
	call(true, 0)
	assert.Empty(t, callsOn(t, st, today.AddDays(1)), "reached")
}

// What could not be delivered is a call too, as soon as it is known.
func TestWhoCouldNotBeReachedByAMessageIsCalled(t *testing.T) {
	st := openStore(t)
	record(t, st, calendarFleet())
	on := date("2026-03-10")
	hold(t, runnerOf(st), on)
	assert.Empty(t, callsOn(t, st, on), "the mail is on its way")
	require.Equal(t, 1, carry(t, st, on, refusing{models.ChannelMail,
		&notify.SendError{Outcome: models.OutcomePermanent, Code: "550 5.7.1", Why: models.ReasonRulesRefused}}).Failed)
	list := callsOn(t, st, on)
	require.Len(t, list, 1)
	assert.Equal(t, models.ReasonRulesRefused, list[0].Why)
	assert.Equal(t, 2, list[0].Machines)
}

// A question that may not be asked in writing is asked on the phone.
func TestACheckThatMayNotBeWrittenIsRungFor(t *testing.T) {
	k := newTalk(t)
	handed := date("2026-03-12")
	repaired(t, k.st, k.p.Jobs, noon(handed))
	k.says("STOP")
	for d := handed; d <= handed.AddDays(10); d++ {
		hold(t, runnerOf(k.st), d)
	}
	var checks []string
	for _, o := range callsOn(t, k.st, handed.AddDays(10)) {
		for _, r := range o.Checks {
			checks = append(checks, r.Check.Machine.ID)
		}
	}
	assert.Equal(t, []string{"M1"}, checks)
}
