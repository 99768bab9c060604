package scheduler_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
	"example.org/roundsman/notify"
	"example.org/roundsman/notify/inbox"
	"example.org/roundsman/notify/policy"
	"example.org/roundsman/notify/spool"
	"example.org/roundsman/scheduler"
)

// Whatever a message is for, it is addressed by the same rules.
func TestMessagesOfEveryPurposeAreAddressedAlike(t *testing.T) {
	shop := policy.Settings{Zone: denver, Language: "en", Desk: "desk@example.com"}
	at := noon(date("2026-06-10"))
	owner := models.Owner{ID: "O1", Language: "es", TimeZone: "Nowhere/Land"}
	c := models.Contact{ID: "C1", Owner: "O1", Mail: "ada@example.com", Mobile: ada, MailConsentOn: date("2025-01-01"), SMSConsentOn: date("2025-01-01"),
		TimeZone: "Neither/Here"}
	dead := models.Person{Contact: c, Retired: []models.Channel{models.ChannelMail}}
	for _, p := range []models.Purpose{models.PurposeNotices, models.PurposeCheck, models.PurposeReading, models.PurposeVisit} {
		m, d := scheduler.Address(shop, at, owner, models.Person{Contact: c}, models.Message{Key: "k", Purpose: p})
		assert.True(t, d.Send, "%s: a zone that nobody knows holds nothing up", p)
		assert.Equal(t, models.Message{Key: "k", Owner: "O1", Contact: "C1", Channel: models.ChannelMail, Address: "ada@example.com", Purpose: p,
			Language: "es", State: models.MessageQueued, Why: models.ReasonMayGo, QueuedAt: models.InstantOf(at), NotBefore: models.InstantOf(at)}, m)
		m, d = scheduler.Address(shop, at, owner, dead, models.Message{Purpose: p})
		assert.True(t, d.Send)
		assert.Equal(t, ada, m.Address, "%s goes round a dead address", p)
	}
	m, d := scheduler.Address(shop, at, owner, dead, models.Message{Purpose: models.PurposeAnswer, Channel: models.ChannelMail, Address: "ada@example.com"})
	assert.True(t, d.Send, "who writes from an address gets the answer there")
	assert.Equal(t, "ada@example.com", m.Address)
}

func TestTheCourierSendsNothingToADeadAddress(t *testing.T) {
	st := openStore(t)
	record(t, st, calendarFleet())
	hold(t, runnerOf(st), date("2026-02-08")) // a mail waits
	at := noon(date("2026-02-08"))
	_, err := st.SaveBounce(t.Context(), models.Bounce{Key: "dsn1", At: models.InstantOf(at), Channel: models.ChannelMail,
		Address: "ADA@example.com", Fate: models.FateDead, Code: "5.1.1"}, "", nil, models.Entry{RecordedAt: 1, Actor: "test", Means: "bounce"})
	require.NoError(t, err)
	words := func(models.Envelope) (models.Composed, error) { return models.Composed{Text: "words"}, nil }
	c := notify.New(st, models.ClockFunc(func() time.Time { return at }), words, notify.Options{Shop: policy.Settings{Zone: denver}, Sole: true})
	c.Add(spool.Mail(t.TempDir(), func(notify.Outgoing) ([]byte, error) { return []byte("words"), nil }), notify.Limits{})
	tally, err := c.Drain(t.Context())
	require.NoError(t, err)
	assert.Zero(t, tally.Sent)
	logs, err := st.Messages(t.Context(), store.MessageFilter{})
	require.NoError(t, err)
	require.Len(t, logs, 1)
	assert.Equal(t, models.MessageDropped, logs[0].Message.State)
	assert.Equal(t, models.ReasonNoAddress, logs[0].Message.Why)
}

// alerts gives the words that the desk got.
func (k *talk) alerts() (out []string) {
	logs, err := k.st.Messages(k.t.Context(), store.MessageFilter{})
	require.NoError(k.t, err)
	for _, l := range logs {
		if l.Message.Purpose == models.PurposeShopAlert {
			out = append(out, l.Message.Body)
		}
	}
	return out
}

func TestAlertsSpeakTheShopsLanguageAndNameAMachineOnce(t *testing.T) {
	k := newTalk(t)
	k.says("M1 leaks coolant\nM1 runs hot")
	k.p.Notify.Language = "es"
	k.says("M1 leaks coolant\nM1 runs hot")
	assert.Equal(t, []string{
		"Ada, M1: something is wrong with a machine\n\nAda (+12025550101) says:\n\n> M1 leaks coolant\n> M1 runs hot",
		"Ada, M1: algo le pasa a una máquina\n\nAda (+12025550101) dice:\n\n> M1 leaks coolant\n> M1 runs hot",
	}, k.alerts())
}

func TestAnActDoesWhatAReplyWouldInOneTransaction(t *testing.T) {
	k := newTalk(t)
	handed := date("2026-03-12")
	id := repaired(t, k.st, k.p.Jobs, noon(handed))
	k.at = noon(handed.AddDays(9))
	said := func(key, words string, stops []models.Channel, act inbox.Act) models.AppliedReply {
		act.Words = words
		out, err := k.p.Act(t.Context(), scheduler.Said{Acts: []inbox.Act{act}, Stops: stops, Actor: "C1", Means: "link",
			Reply: models.Reply{Key: key, ReceivedAt: models.InstantOf(k.at), Channel: models.ChannelMail, From: "ada@example.com", Text: words, Contact: "C1"}})
		require.NoError(t, err)
		return out
	}
	before, err := k.st.LastEntry(t.Context())
	require.NoError(t, err)
	out := said("1", "stalls again", nil, inbox.Act{Kind: inbox.KindComeback, Machine: "M1"})
	assert.Equal(t, models.ReasonComeback, out.Reply.Person)
	after, err := k.st.LastEntry(t.Context())
	require.NoError(t, err)
	assert.Equal(t, before+1, after, "one entry: one transaction")
	w, err := k.st.Job(t.Context(), id)
	require.NoError(t, err)
	assert.Equal(t, 2, w.Job.Turn, "the job is open again")
	assert.Equal(t, []string{"Ada, M1: a repair did not hold\n\nAda (ada@example.com) says:\n\n> stalls again\n\n" +
		"Job 1 of M1 (stalls when warm) is open again. Please call."}, k.alerts(), "told once")
	assert.Equal(t, []models.Purpose{models.PurposeShopAlert}, k.answers(), "who said it on a page sees the answer there")

	out = said("2", "2026-04-01", nil, inbox.Act{Kind: inbox.KindDay, Machine: "M1", On: date("2026-04-01")})
	assert.Equal(t, models.ReasonWantsDay, out.Reply.Person)
	assert.Equal(t, "day", out.Acts[0].Act)

	said("3", "STOP", models.Channels(), inbox.Act{Kind: inbox.KindStop})
	cs, err := k.st.Contacts(t.Context())
	require.NoError(t, err)
	assert.Equal(t, date("2026-03-21"), cs[0].MailStopOn)
	assert.Equal(t, date("2026-03-21"), cs[0].SMSStopOn)
}

func TestAnActThatAllIsWellClosesTheCheck(t *testing.T) {
	k := newTalk(t)
	repaired(t, k.st, k.p.Jobs, noon(date("2026-03-12")))
	k.at = noon(date("2026-03-21"))
	_, err := k.p.Act(t.Context(), scheduler.Said{Acts: []inbox.Act{{Kind: inbox.KindOK, Machine: "M1"}}, Actor: "Lee", Means: "page",
		Reply: models.Reply{Key: "1", ReceivedAt: models.InstantOf(k.at), Contact: "C1"}})
	require.NoError(t, err)
	owed, err := k.st.OwedChecks(t.Context(), []string{"M1"}, models.CheckOwner)
	require.NoError(t, err)
	assert.Empty(t, owed)
}

func TestAnActStoresNoReadingUnscreened(t *testing.T) {
	k := newTalk(t)
	before := len(k.history("M1").Readings)
	said := func(act inbox.Act) error {
		k.n++
		_, err := k.p.Act(t.Context(), scheduler.Said{Acts: []inbox.Act{act}, Actor: "C1", Means: "link",
			Reply: models.Reply{Key: string(rune('a' + k.n)), ReceivedAt: models.InstantOf(k.at), Channel: models.ChannelMail, Contact: "C1"}})
		return err
	}
	slip := inbox.Act{Kind: inbox.KindReading, Machine: "M1", Miles: models.Num(21500)}
	var doubt *models.DoubtfulReading
	require.ErrorAs(t, said(slip), &doubt)
	assert.Equal(t, models.Num(2150), doubt.Likely)
	slip.Kind, slip.Items = inbox.KindDone, []string{models.ItemCoolantLook}
	require.ErrorAs(t, said(slip), &doubt)
	assert.Len(t, k.history("M1").Readings, before)
	assert.Empty(t, k.history("M1").Services)
	require.NoError(t, said(inbox.Act{Kind: inbox.KindReading, Machine: "M1", Miles: models.Num(2150)}))
	slip.Kind, slip.Sure = inbox.KindReading, true
	require.NoError(t, said(slip))
	h := k.history("M1")
	require.Len(t, h.Readings, before+2)
	assert.Equal(t, models.StandingConfirmed, h.Readings[before+1].Standing)
}
