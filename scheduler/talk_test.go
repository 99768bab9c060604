package scheduler_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
	"example.org/roundsman/scheduler"
)

// last gives the words of the newest message of a purpose.
func (k *talk) last(p models.Purpose) (out string) {
	k.t.Helper()
	logs, err := k.st.Messages(k.t.Context(), store.MessageFilter{})
	require.NoError(k.t, err)
	id := int64(0)
	for _, l := range logs {
		if l.Message.Purpose == p && l.Message.ID > id {
			id, out = l.Message.ID, l.Message.Body
		}
	}
	return out
}

// later moves the talk on.
func (k *talk) later(d time.Duration) {
	k.at = k.at.Add(d)
	at := k.at
	k.p.Clock = models.ClockFunc(func() time.Time { return at })
}

func TestAQuestionLapses(t *testing.T) {
	k := newTalk(t)
	before := len(k.history("M1").Readings)
	require.NotEmpty(t, k.says("M1 21500 mi").Reply.Question)
	k.later(8 * 24 * time.Hour)
	l := k.says("yes")
	assert.Len(t, k.history("M1").Readings, before, "nobody remembers after a week what was asked")
	assert.Equal(t, models.ReasonAgrees, l.Reply.Person, "it is read against the notice")
}

func TestTheNewestMessageIsTheOneThatIsAnswered(t *testing.T) {
	k := newTalk(t)
	before := len(k.history("M1").Readings)
	require.NotEmpty(t, k.says("M1 21500 mi").Reply.Question)
	k.later(24 * time.Hour)
	record(t, k.st, models.FactSet{Services: []models.Service{{Machine: "M1", Item: models.ItemCoolantLook, At: date("2025-01-01")}}})
	k.later(20 * 24 * time.Hour)
	hold(t, runnerOf(k.st), models.DateOf(k.at))
	require.NotZero(t, drain(t, k.st, k.at))
	k.says("yes")
	assert.Len(t, k.history("M1").Readings, before, "the yes is to what was sent since")
}

func TestAUnitOfACorrectionCounts(t *testing.T) {
	k := newTalk(t)
	before := len(k.history("M1").Readings)
	require.NotEmpty(t, k.says("M1 21500 mi").Reply.Question)
	k.says("no its 215 hours")
	h := k.history("M1")
	require.Len(t, h.Readings, before+1)
	assert.Equal(t, models.Num(215), h.Readings[before].Hours)
	assert.False(t, h.Readings[before].Miles.Known)
}

func TestEverybodyGetsAnAnswer(t *testing.T) {
	tests := []struct {
		text, answer string
		why          models.Reason
	}{
		{"M1 runs hot", "We saw that something is wrong with M1. Stop if it runs hot, let it go cold before anyone opens it. We will call you.", models.ReasonTrouble},
		{"M1 leaks coolant", "We saw that something is wrong with M1. Stop if it runs hot, let it go cold before anyone opens it. We will call you.", models.ReasonTrouble},
		{"M1 brakes squeal", "We saw that something is wrong with M1. Stop if it runs hot. We will call you.", models.ReasonTrouble},
		{"call me", "We will call you.", models.ReasonAsksCall},
		{"no thanks", "We saw your no. We will get in touch about another day.", models.ReasonCallsOff},
		{"how much is it?", "Somebody here reads your message and gets back to you.", models.ReasonQuestion},
		{"friday", "You named Fri, Mar 13. We will confirm the day.", models.ReasonWantsDay},
		{"M1 2150 mi. When can you do it?", "Thank you, noted: M1 2150 mi. Somebody here reads your message and gets back to you.", models.ReasonQuestion},
	}
	for _, tt := range tests {
		k := newTalk(t)
		l := k.says(tt.text)
		assert.Equal(t, tt.why, l.Reply.Person, tt.text)
		assert.Equal(t, tt.answer, k.last(models.PurposeAnswer), tt.text)
		assert.NotEmpty(t, k.last(models.PurposeShopAlert), "the desk is told: %s", tt.text)
	}
	k := newTalk(t)
	k.says("who is this")
	assert.Equal(t, []models.Purpose{models.PurposeHelp}, k.answers())
	cs, err := k.st.Contacts(t.Context())
	require.NoError(t, err)
	assert.True(t, cs[0].SMSStopOn.IsZero())
}

func TestAYesToWhatIsDueIsOfferedDays(t *testing.T) {
	k := newTalk(t)
	k.p.Days = func(_ context.Context, _ time.Time, machine string, items []string) ([]models.Date, error) {
		assert.Equal(t, "M1", machine)
		assert.Equal(t, []string{models.ItemCoolantLook}, items)
		return []models.Date{date("2026-03-12"), date("2026-03-17")}, nil
	}
	l := k.says("M1 yes please")
	assert.Equal(t, models.ReasonAgrees, l.Reply.Person)
	assert.Equal(t, "We can take M1 on Thu, Mar 12 or Tue, Mar 17. Which suits you?", k.last(models.PurposeAnswer))
	l = k.says("tuesday")
	assert.Equal(t, models.ReasonWantsDay, l.Reply.Person)
	assert.Equal(t, "2026-03-17", l.Acts[0].Detail, "the Tuesday that was offered")
}

// An unclear refusal holds what comes unasked until a person has decided.
func TestAnUnclearRefusalHoldsUntilAPersonDecides(t *testing.T) {
	k := newTalk(t)
	record(t, k.st, models.FactSet{Services: []models.Service{{Machine: "M1", Item: models.ItemCoolantLook, At: date("2025-01-01")}}})
	hold(t, runnerOf(k.st), date("2026-03-10").AddDays(21)) // one more message waits
	l := k.says("stop it already, I never signed up")
	require.Equal(t, models.ReasonNoMore, l.Reply.Person)
	assert.NotEmpty(t, k.last(models.PurposeShopAlert))
	person := func() models.Person {
		p, err := k.st.People(t.Context(), []string{"O1"}, date("2026-04-01"))
		require.NoError(t, err)
		return p["O1"].People[0]
	}
	assert.True(t, person().Undecided)
	_, d := scheduler.Address(k.p.Notify, noon(date("2026-04-01")), models.Owner{ID: "O1"}, person(), models.Message{Purpose: models.PurposeNotices})
	assert.Equal(t, models.ReasonNoMore, d.Why)
	assert.True(t, d.NotBefore.After(noon(date("2026-04-01"))))
	require.NoError(t, k.st.MarkReply(t.Context(), models.ReplyMark{Reply: l.Reply.ID, At: 1, By: "Max"}))
	assert.False(t, person().Undecided)
}

func TestAStopFromNobodyWeKnowIsKept(t *testing.T) {
	k := newTalk(t)
	r := models.Reply{Key: "s", ReceivedAt: models.InstantOf(k.at), Channel: models.ChannelSMS, From: "+12025550177", Text: "Please stop texting me"}
	require.NoError(t, k.p.Apply(t.Context(), r))
	record(t, k.st, models.FactSet{Contacts: []models.Contact{{ID: "C9", Owner: "O1", Name: "Nora Bell", Role: models.RoleService,
		Mobile: "+12025550177", SMSConsentOn: date("2026-03-20")}}})
	c, ok, err := k.st.Contact(t.Context(), "C9")
	require.NoError(t, err)
	require.True(t, ok)
	assert.Equal(t, date("2026-03-10"), c.SMSStopOn)
}

func TestStopStartStop(t *testing.T) {
	k := newTalk(t)
	for _, text := range []string{"STOP", "START", "STOP"} {
		k.says(text)
	}
	cs, err := k.st.Contacts(t.Context())
	require.NoError(t, err)
	assert.Equal(t, date("2026-03-10"), cs[0].SMSStopOn)
}

// Our List-Unsubscribe makes a mail whose subject alone says it.
func TestASubjectAloneStops(t *testing.T) {
	k := newTalk(t)
	cs, err := k.st.Contacts(t.Context())
	require.NoError(t, err)
	r := models.Reply{Key: "m", ReceivedAt: models.InstantOf(k.at), Channel: models.ChannelMail, From: cs[0].Mail, Subject: "STOP"}
	require.NoError(t, k.p.Apply(t.Context(), r))
	cs, err = k.st.Contacts(t.Context())
	require.NoError(t, err)
	assert.Equal(t, date("2026-03-10"), cs[0].MailStopOn)
}

// After a request for a reading or a visit "done" is no service.
func TestDoneIsOnlyOfWhatWasDue(t *testing.T) {
	k := newTalk(t)
	before := len(k.history("M1").Services)
	l := k.says("M1 done")
	assert.Len(t, k.history("M1").Services, before, "nobody said when")
	assert.Equal(t, `M1, coolant level and condition inspection: on what day was it done? Reply with the day, like "yesterday" or "Nov 20".`, k.last(models.PurposeAnswer))
	l = k.says("yesterday")
	assert.Len(t, k.history("M1").Services, before+1, "the notice told of one item")
	assert.Equal(t, models.ItemCoolantLook, k.history("M1").Services[before].Item)
	assert.Empty(t, l.Reply.Person)
	assert.Equal(t, "Thank you, noted: M1 coolant level and condition inspection (Mon, Mar 9).", k.last(models.PurposeAnswer), "the day is named")
}

// A value that was hedged is stored with its own width, and what the meter is
// believed to show is then less sure than after one that was read off.
func TestAHedgedValueLeavesTheForecastWider(t *testing.T) {
	width := func(text string) float64 {
		k := newTalk(t)
		require.Empty(t, k.says(text).Reply.Person)
		p, err := scheduler.LastProfile(t.Context(), k.st, k.p.Notify, k.at)
		require.NoError(t, err)
		e, err := scheduler.EvaluationOf(t.Context(), k.st, k.p.Notify, p, "M1", k.at)
		require.NoError(t, err)
		r, ok := e.Use.At(models.Odometer, e.Today)
		require.True(t, ok)
		return r.High - r.Low
	}
	exact := width("M1 2150 mi")
	for _, text := range []string{"M1 about 2150 mi", "M1 2150ish mi", "M1 prob 2150 mi", "M1 como 2150 millas"} {
		assert.Greater(t, width(text), exact+10, text)
	}
}
