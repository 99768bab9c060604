package scheduler_test

import (
	"context"
	"log/slog"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
	"example.org/roundsman/notify"
	"example.org/roundsman/notify/policy"
	"example.org/roundsman/notify/spool"
	"example.org/roundsman/scheduler"
)

const ada = "+12025550101"

// talk is a shop with one contact who reads by text.
type talk struct {
	t  *testing.T
	st *store.Store
	p  *scheduler.Replier
	n  int
	at time.Time
}

func newTalk(t *testing.T) *talk {
	st := openStore(t)
	set := calendarFleet()
	set.Contacts[0].Mobile, set.Contacts[0].SMSConsentOn = ada, date("2025-03-10")
	set.Contacts[0].Prefers = models.ChannelSMS
	for i := range set.Machines {
		set.Machines[i].Meters = models.MetersBoth
		set.Machines[i].MilesStart = models.Num(0)
	}
	for i := range 10 {
		set.Readings = append(set.Readings, models.Reading{Machine: "M1", At: date("2025-04-01").AddDays(30 * i),
			Miles: models.Num(200 + 200*float64(i)), Hours: models.Num(20 + 20*float64(i)), Source: "shop"})
	}
	record(t, st, set)
	at := noon(date("2026-03-10"))
	hold(t, runnerOf(st), date("2026-03-10"))
	deliver(t, st, at)
	shop := runnerOf(st).Notify
	shop.Desk = "desk@example.com"
	p := &scheduler.Replier{Store: st, Notify: shop, Jobs: &scheduler.Jobs{Store: st, Notify: shop},
		Clock: models.ClockFunc(func() time.Time { return at }), Log: slog.New(slog.DiscardHandler)}
	return &talk{t: t, st: st, p: p, at: at}
}

// deliver sends what is due into a folder.
func deliver(t *testing.T, st *store.Store, at time.Time) { require.Equal(t, 1, drain(t, st, at)) }

// drain is deliver of however many messages, and gives their number.
func drain(t *testing.T, st *store.Store, at time.Time) int {
	words := func(models.Envelope) (models.Composed, error) { return models.Composed{Text: "words"}, nil }
	c := notify.New(st, models.ClockFunc(func() time.Time { return at }), words, notify.Options{Shop: policy.Settings{Zone: denver}, Sole: true})
	c.Add(spool.Texts(t.TempDir()), notify.Limits{})
	tally, err := c.Drain(t.Context())
	require.NoError(t, err)
	return tally.Sent
}

// says hands a text in and gives what came of it.
func (k *talk) says(text string) models.ReplyLog {
	k.t.Helper()
	k.n++
	r := models.Reply{Key: text + string(rune('a'+k.n)), ReceivedAt: models.InstantOf(k.at), Channel: models.ChannelSMS, From: ada, Text: text}
	require.NoError(k.t, k.p.Apply(k.t.Context(), r))
	require.NoError(k.t, k.p.Apply(k.t.Context(), r), "the same again")
	logs, err := k.st.Replies(k.t.Context(), false, 1)
	require.NoError(k.t, err)
	return logs[0]
}

// answers gives the purposes of the messages queued on replies.
func (k *talk) answers() (out []models.Purpose) {
	logs, err := k.st.Messages(k.t.Context(), store.MessageFilter{})
	require.NoError(k.t, err)
	for _, l := range logs {
		if l.Message.InReplyTo != "" {
			out = append(out, l.Message.Purpose)
		}
	}
	return out
}

func (k *talk) history(machine string) models.History {
	h, err := k.st.History(k.t.Context(), machine, models.Window{})
	require.NoError(k.t, err)
	return h
}

func TestAReadingByTextIsRecordedAndConfirmed(t *testing.T) {
	k := newTalk(t)
	before := len(k.history("M1").Readings)
	l := k.says("M1 2150 mi")
	require.Empty(t, l.Reply.Person)
	h := k.history("M1")
	require.Len(t, h.Readings, before+1)
	got := h.Readings[before]
	assert.Equal(t, models.Num(2150), got.Miles)
	assert.Equal(t, date("2026-03-10"), got.At)
	assert.Equal(t, "text", got.Source)
	assert.Equal(t, "C1", l.Reply.Contact)
	assert.Equal(t, []models.Purpose{models.PurposeAnswer}, k.answers())
}

func TestADoubtfulReadingIsAskedBackOnceAndYesConfirmsIt(t *testing.T) {
	k := newTalk(t)
	before := len(k.history("M1").Readings)
	l := k.says("M1 21500 mi")
	assert.NotEmpty(t, l.Reply.Question)
	assert.Len(t, k.history("M1").Readings, before, "nothing is recorded until it is confirmed")
	l = k.says("yes")
	assert.Empty(t, l.Reply.Question)
	h := k.history("M1")
	require.Len(t, h.Readings, before+1)
	assert.Equal(t, models.Num(2150), h.Readings[before].Miles, "yes to the value that was asked about")
}

func TestStopIsHonoredAtOnceForTheNumberAndConfirmedOnce(t *testing.T) {
	k := newTalk(t)
	record(t, k.st, models.FactSet{Contacts: []models.Contact{{ID: "C2", Owner: "O2", Name: "Ada again", Role: models.RoleService,
		Mobile: ada, SMSConsentOn: date("2025-03-10")}}})
	record(t, k.st, models.FactSet{Services: []models.Service{{Machine: "M1", Item: models.ItemCoolantLook, At: date("2025-01-01")}}})
	hold(t, runnerOf(k.st), date("2026-03-10").AddDays(21)) // late: one more message waits
	k.says("STOP")
	cs, err := k.st.Contacts(t.Context())
	require.NoError(t, err)
	for _, c := range cs {
		assert.Equal(t, date("2026-03-10"), c.SMSStopOn, c.ID)
	}
	logs, err := k.st.Messages(t.Context(), store.MessageFilter{States: []models.MessageState{models.MessageDropped}})
	require.NoError(t, err)
	assert.Len(t, logs, 1, "what waited for that number is dropped")
	k.says("stop")
	assert.Equal(t, []models.Purpose{models.PurposeStopped}, k.answers(), "one confirmation")
	k.says("START")
	cs, err = k.st.Contacts(t.Context())
	require.NoError(t, err)
	assert.True(t, cs[0].SMSStopOn.IsZero())
	assert.Equal(t, date("2026-03-10"), cs[0].SMSConsentOn)
}

func TestWorkDoneElsewhereResetsTheInterval(t *testing.T) {
	k := newTalk(t)
	l := k.says("M1 done last week at 2100 mi")
	require.Empty(t, l.Reply.Person, "%+v", l)
	h := k.history("M1")
	require.Len(t, h.Services, 1)
	assert.Equal(t, models.ItemCoolantLook, h.Services[0].Item, "the item that was asked about")
	assert.True(t, h.Services[0].At < date("2026-03-10"))
}

func TestWhatCannotBeReadGoesToAPersonAndIsNeverLost(t *testing.T) {
	k := newTalk(t)
	l := k.says("the goat ate the manual, what now")
	assert.NotEmpty(t, l.Reply.Person)
	assert.ElementsMatch(t, []models.Purpose{models.PurposeAnswer, models.PurposeShopAlert}, k.answers(), "the sender and the desk")
	waiting, err := k.st.Replies(t.Context(), true, 0)
	require.NoError(t, err)
	require.Len(t, waiting, 1)
	require.NoError(t, k.st.MarkReply(t.Context(), models.ReplyMark{Reply: waiting[0].Reply.ID, At: 1, By: "Max"}))
	waiting, err = k.st.Replies(t.Context(), true, 0)
	require.NoError(t, err)
	assert.Empty(t, waiting)
}

func TestTroubleIsToldToTheShopAlsoWhereTheMachineIsAskedBack(t *testing.T) {
	k := newTalk(t)
	l := k.says("it's back, runs hot again")
	assert.NotEmpty(t, l.Reply.Question, "two machines: which one?")
	assert.Equal(t, models.ReasonTrouble, l.Reply.Person)
	assert.ElementsMatch(t, []models.Purpose{models.PurposeAnswer, models.PurposeShopAlert}, k.answers())
}

func TestAStrangersTextIsKeptAndShown(t *testing.T) {
	k := newTalk(t)
	r := models.Reply{Key: "x", Channel: models.ChannelSMS, From: "+12025550199", Text: "6120"}
	require.NoError(t, k.p.Apply(context.Background(), r))
	logs, err := k.st.Replies(t.Context(), true, 1)
	require.NoError(t, err)
	require.Len(t, logs, 1)
	assert.Empty(t, logs[0].Reply.Contact)
}

func TestAnAutomaticAnswerDoesNothing(t *testing.T) {
	k := newTalk(t)
	r := models.Reply{Key: "auto", Channel: models.ChannelMail, From: "ada@example.com", Text: "I am away until Monday. STOP", Automatic: true}
	require.NoError(t, k.p.Apply(t.Context(), r))
	cs, err := k.st.Contacts(t.Context())
	require.NoError(t, err)
	assert.True(t, cs[0].MailStopOn.IsZero())
	assert.Empty(t, k.answers())
}

func TestAReplyEndsTheSilence(t *testing.T) {
	k := newTalk(t)
	people := func() models.Person {
		p, err := k.st.People(t.Context(), []string{"O1"}, date("2026-03-10"))
		require.NoError(t, err)
		return p["O1"].People[0]
	}
	assert.Equal(t, 1, people().Unanswered)
	k.says("ok")
	assert.Zero(t, people().Unanswered)
}

// A guess in an answer counts as one, as wide as the one that is typed at the
// desk; a service keeps none, so that it is a reading of its own.
func TestAGuessByTextIsAGuess(t *testing.T) {
	k := newTalk(t)
	h := k.history("M1")
	readings, services := len(h.Readings), len(h.Services)
	l := k.says("M1 about 2150 mi")
	require.Empty(t, l.Reply.Person)
	h = k.history("M1")
	require.Len(t, h.Readings, readings+1)
	assert.Equal(t, models.Guessed(2150, models.Odometer, false).Width, h.Readings[readings].Width)
	k.says("M1 oil changed at about 2160 mi")
	h = k.history("M1")
	require.Len(t, h.Services, services+1)
	assert.Equal(t, models.Number{}, h.Services[services].Miles)
	require.Len(t, h.Readings, readings+2)
	assert.Equal(t, models.Num(2160), h.Readings[readings+1].Miles)
	assert.True(t, h.Readings[readings+1].Width.Known)
}
