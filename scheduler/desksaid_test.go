package scheduler_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
	"example.org/roundsman/scheduler"
)

// TestTheDeskRecordsARefusal: it holds for all who share the address, whatever
// way it is about, drops what waits, is lifted with a reason alone and without
// a new consent, and an older folder does not bring it back.
func TestTheDeskRecordsARefusal(t *testing.T) {
	k := newTalk(t)
	before := models.Contact{ID: "C2", Owner: "O2", Name: "Ada again", Role: models.RoleService, Mobile: ada, SMSConsentOn: date("2025-03-10")}
	record(t, k.st, models.FactSet{Contacts: []models.Contact{before}})
	record(t, k.st, models.FactSet{Services: []models.Service{{Machine: "M1", Item: models.ItemCoolantLook, At: date("2025-01-01")}}})
	hold(t, runnerOf(k.st), date("2026-03-10").AddDays(21)) // late: one more message waits
	act := scheduler.Act{At: k.at, By: "Dana", Means: "page"}
	refuse := func(r scheduler.Refusal) error {
		_, err := k.p.Refuse(t.Context(), act, r)
		return err
	}
	assert.Equal(t, models.CodeInvalid, models.CodeOf(refuse(scheduler.Refusal{Contact: "C1"})), "no reason")
	assert.Equal(t, models.CodeNotFound, models.CodeOf(refuse(scheduler.Refusal{Contact: "C9", Why: "x"})))
	assert.Equal(t, models.CodeConflict, models.CodeOf(refuse(scheduler.Refusal{Contact: "C1", Why: "x", Lift: true})), "nothing to lift")
	require.NoError(t, refuse(scheduler.Refusal{Contact: "C1", Why: "please stop texting me", Ways: []models.Channel{models.ChannelSMS}}))
	stops := func() (out []models.Date) {
		cs, err := k.st.Contacts(t.Context())
		require.NoError(t, err)
		for _, c := range cs {
			assert.True(t, c.MailStopOn.IsZero(), "mail goes on")
			assert.Equal(t, date("2025-03-10"), c.SMSConsentOn, "as it was given")
			out = append(out, c.SMSStopOn)
		}
		return out
	}
	today := date("2026-03-10")
	assert.Equal(t, []models.Date{today, today}, stops())
	logs, err := k.st.Messages(t.Context(), store.MessageFilter{States: []models.MessageState{models.MessageDropped}})
	require.NoError(t, err)
	assert.Len(t, logs, 1, "what waited for that number is dropped")
	assert.Empty(t, k.answers(), "who said it on the phone gets no message about it")
	replies, err := k.st.Replies(t.Context(), false, 1)
	require.NoError(t, err)
	assert.Equal(t, "please stop texting me", replies[0].Reply.Text)
	assert.Equal(t, models.CodeConflict, models.CodeOf(refuse(scheduler.Refusal{Contact: "C1", Why: "again", Ways: []models.Channel{models.ChannelSMS}})))

	stopped := before
	stopped.SMSStopOn = today
	require.NoError(t, refuse(scheduler.Refusal{Contact: "C2", Why: "it was another Ada", Lift: true}))
	assert.Equal(t, []models.Date{0, 0}, stops())
	record(t, k.st, models.FactSet{Contacts: []models.Contact{stopped}})
	assert.Equal(t, []models.Date{0, 0}, stops(), "a folder from before it was lifted")
	stopped.SMSStopOn = today.AddDays(1)
	record(t, k.st, models.FactSet{Contacts: []models.Contact{stopped}})
	assert.Equal(t, []models.Date{0, today.AddDays(1)}, stops(), "a new one is heard")
}

// TestARefusalOfAllIsSharedOnEachWay: a stop of mail and texts holds for who
// shares only the number.
func TestARefusalOfAllIsSharedOnEachWay(t *testing.T) {
	k := newTalk(t)
	record(t, k.st, models.FactSet{Contacts: []models.Contact{{ID: "C2", Owner: "O2", Name: "Ada again", Role: models.RoleService, Mobile: ada, SMSConsentOn: date("2025-03-10")}}})
	_, err := k.p.Refuse(t.Context(), scheduler.Act{At: k.at, By: "Dana", Means: "page"}, scheduler.Refusal{Contact: "C1", Why: "leave me alone"})
	require.NoError(t, err)
	cs, err := k.st.Contacts(t.Context())
	require.NoError(t, err)
	for _, c := range cs {
		assert.False(t, c.SMSStopOn.IsZero(), c.ID)
	}
	assert.False(t, cs[0].MailStopOn.IsZero() && cs[0].Mail != "", "mail too")
}

// TestTheDeskAnswersAnOwnersCheck as the owner would: what came back is open
// again and told to the shop, and a closed check is refused with the reason.
func TestTheDeskAnswersAnOwnersCheck(t *testing.T) {
	k := newTalk(t)
	handed := date("2026-03-12")
	id := repaired(t, k.st, k.p.Jobs, noon(handed))
	owed, err := k.st.OwedChecks(t.Context(), []string{"M1"}, models.CheckOwner)
	require.NoError(t, err)
	require.NotEmpty(t, owed)
	act := scheduler.Act{At: noon(handed.AddDays(9)), By: "Dana", Means: "check"}
	w, back, err := k.p.Answer(t.Context(), act, owed[0].Check.ID, models.CheckBad, "drips again")
	require.NoError(t, err)
	assert.True(t, back)
	assert.Equal(t, models.JobReopened, w.Job.State)
	replies, err := k.st.Replies(t.Context(), false, 1)
	require.NoError(t, err)
	assert.Equal(t, models.ReasonComeback, replies[0].Reply.Person, "kept as what the owner said")
	assert.Equal(t, "O1", replies[0].Reply.Owner)
	assert.Contains(t, k.answers(), models.PurposeShopAlert)
	_, _, err = k.p.Answer(t.Context(), act, owed[0].Check.ID, models.CheckOK, "")
	assert.Equal(t, models.CodeConflict, models.CodeOf(err), id)
}
