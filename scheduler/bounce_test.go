package scheduler_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
	"example.org/roundsman/notify"
	"example.org/roundsman/notify/policy"
	"example.org/roundsman/scheduler"
)

func TestADeadAddressIsUsedNoMoreUntilItsContactAgreesAnew(t *testing.T) {
	st := openStore(t)
	record(t, st, calendarFleet())
	h := runnerOf(st)
	hold(t, h, date("2026-02-08")) // coming: goes to the address
	b := models.Bounce{Key: "dsn1", At: models.InstantOf(noon(date("2026-02-09"))), Channel: models.ChannelMail,
		Address: "ADA@example.com", Fate: models.FateDead, Code: "5.1.1"}
	e := models.Entry{RecordedAt: 1, Actor: "test", Means: "bounce"}
	alert := models.Message{Key: "alert", Purpose: models.PurposeShopAlert, State: models.MessageQueued}
	fresh, err := st.SaveBounce(t.Context(), b, "", &alert, e)
	require.NoError(t, err)
	assert.True(t, fresh)
	fresh, err = st.SaveBounce(t.Context(), b, "", &alert, e)
	require.NoError(t, err)
	assert.False(t, fresh, "the same report again changes nothing")

	r := hold(t, h, date("2026-03-10"))
	assert.Equal(t, 2, r.Withheld)
	ns := notices(t, st)
	assert.Equal(t, models.ReasonNoAddress, ns[len(ns)-1].Why)

	set := calendarFleet()
	set.Contacts[0].MailConsentOn = date("2026-03-12")
	record(t, st, set)
	assert.Equal(t, 2, hold(t, h, date("2026-03-12")).Notices)
}

func TestWhatCameBackIsToldByAnotherWay(t *testing.T) {
	st := openStore(t)
	set := calendarFleet()
	set.Contacts[0].Mobile, set.Contacts[0].SMSConsentOn = ada, date("2025-03-10")
	record(t, st, set)
	h := runnerOf(st)
	assert.Equal(t, 2, hold(t, h, date("2026-02-08")).Notices)
	b := models.Bounce{Key: "dsn1", At: models.InstantOf(noon(date("2026-02-09"))), Channel: models.ChannelMail,
		Address: "ADA@example.com", Fate: models.FateDead, Code: "5.1.1"}
	require.NoError(t, st.DropMessage(t.Context(), 1, b.At)) // it has left the outbox
	_, err := st.SaveBounce(t.Context(), b, "", nil, models.Entry{RecordedAt: 1, Actor: "test", Means: "bounce"})
	require.NoError(t, err)
	assert.Equal(t, 2, tell(t, h, st, date("2026-02-10")).Notices, "by text, since the mail reached nobody")
	assert.Zero(t, hold(t, h, date("2026-02-11")).Notices, "and once")
	logs, err := st.Messages(t.Context(), store.MessageFilter{})
	require.NoError(t, err)
	assert.Equal(t, ada, logs[len(logs)-1].Message.Address)
}

// refusing is a channel whose peer answers every message the same way.
type refusing struct {
	name   models.Channel
	answer *notify.SendError // nil: it takes all
}

func (r refusing) Name() models.Channel                         { return r.name }
func (r refusing) Open(context.Context) (notify.Session, error) { return r, nil }
func (refusing) Close() error                                   { return nil }
func (r refusing) Send(_ context.Context, o notify.Outgoing) (notify.Receipt, error) {
	if r.answer != nil {
		return notify.Receipt{}, r.answer
	}
	return notify.Receipt{Code: "taken", PeerID: "peer-" + o.Key}, nil
}

// carry sends what waits at noon of a day.
func carry(t *testing.T, st *store.Store, on models.Date, channels ...notify.Channel) notify.Tally {
	t.Helper()
	words := func(models.Envelope) (models.Composed, error) { return models.Composed{Text: "words"}, nil }
	c := notify.New(st, models.ClockFunc(func() time.Time { return noon(on) }), words,
		notify.Options{Shop: policy.Settings{Zone: denver}, Sole: true})
	for _, ch := range channels {
		c.Add(ch, notify.Limits{})
	}
	tally, err := c.Drain(t.Context())
	require.NoError(t, err)
	return tally
}

// tell holds the round of a day, and what it says goes.
func tell(t *testing.T, h *scheduler.Runner, st *store.Store, on models.Date) models.Round {
	t.Helper()
	r := hold(t, h, on)
	carry(t, st, on, refusing{name: models.ChannelMail}, refusing{name: models.ChannelSMS})
	return r
}

// lost are the ways in which a message reaches nobody: refused at once, or
// taken and given back. The address may be good in most of them.
func lost() map[string]struct {
	answer *notify.SendError
	later  func(t *testing.T, st *store.Store, m models.Message, at models.Instant)
} {
	permanent := func(code string, why models.Reason) *notify.SendError {
		return &notify.SendError{Outcome: models.OutcomePermanent, Code: code, Why: why}
	}
	type way = struct {
		answer *notify.SendError
		later  func(t *testing.T, st *store.Store, m models.Message, at models.Instant)
	}
	dead := permanent("550 5.1.1", models.ReasonNoMailbox)
	dead.Dead = true
	return map[string]way{
		"no such mailbox":        {answer: dead},
		"refused by its rules":   {answer: permanent("550 5.7.1", models.ReasonRulesRefused)},
		"mailbox full":           {answer: permanent("552 5.2.2", models.ReasonMailboxFull)},
		"number refused":         {answer: permanent("0x0B", "invalid destination address")},
		"receiver's own refusal": {answer: permanent("0x65", "permanent error of the receiver")},
		"report 5.7.1": {later: func(t *testing.T, st *store.Store, m models.Message, at models.Instant) {
			fresh, err := st.SaveBounce(t.Context(), models.Bounce{Key: "dsn1", At: at, Channel: m.Channel, Address: m.Address,
				Fate: models.FateRefuse, Code: "5.7.1"}, m.Key, nil, models.Entry{RecordedAt: at, Actor: "test", Means: "bounce"})
			require.NoError(t, err)
			require.True(t, fresh)
		}},
		"receipt: undelivered": {later: func(t *testing.T, st *store.Store, m models.Message, at models.Instant) {
			known, err := st.RecordReceipt(t.Context(), models.Receipt{At: at, PeerIDs: []string{m.PeerID}, Said: "undelivered (600)", Fate: models.ReceiptUndelivered})
			require.NoError(t, err)
			require.True(t, known)
		}},
	}
}

// A message that reached nobody told nobody: it goes by the other way where
// that is allowed, once.
func TestWhatWasRefusedOrCameBackIsToldByAnotherWay(t *testing.T) {
	for name, w := range lost() {
		t.Run(name, func(t *testing.T) {
			st := openStore(t)
			set := calendarFleet()
			set.Contacts[0].Mobile, set.Contacts[0].SMSConsentOn = ada, date("2025-03-10")
			record(t, st, set)
			h := runnerOf(st)
			hold(t, h, date("2026-02-08")) // coming, by mail
			carry(t, st, date("2026-02-08"), refusing{models.ChannelMail, w.answer})
			if w.later != nil {
				logs, err := st.Messages(t.Context(), store.MessageFilter{})
				require.NoError(t, err)
				require.Equal(t, models.MessageSent, logs[0].Message.State)
				w.later(t, st, logs[0].Message, models.InstantOf(noon(date("2026-02-08")))+600)
			}
			r := hold(t, h, date("2026-02-09"))
			assert.Equal(t, 2, r.Notices, "both machines are told of again, over the other channel")
			logs, err := st.Messages(t.Context(), store.MessageFilter{})
			require.NoError(t, err)
			require.Len(t, logs, 2)
			assert.Equal(t, models.MessageFailed, logs[0].Message.State, "the outbox shows its end")
			assert.Equal(t, models.ChannelSMS, logs[1].Message.Channel)
			carry(t, st, date("2026-02-09"), refusing{name: models.ChannelSMS})
			assert.Zero(t, hold(t, h, date("2026-02-10")).Notices, "and only once")
		})
	}
}

// Where there is no other way somebody has to call, and the list says why. An
// address that is not dead is tried again when it has rested.
func TestWhatReachedNobodyIsOnTheCallListAndTriedAgainAfterARest(t *testing.T) {
	for name, w := range lost() {
		t.Run(name, func(t *testing.T) {
			st := openStore(t)
			record(t, st, calendarFleet())
			h := runnerOf(st)
			hold(t, h, date("2026-02-08"))
			carry(t, st, date("2026-02-08"), refusing{models.ChannelMail, w.answer})
			if w.later != nil {
				logs, err := st.Messages(t.Context(), store.MessageFilter{})
				require.NoError(t, err)
				w.later(t, st, logs[0].Message, models.InstantOf(noon(date("2026-02-08")))+600)
			}
			for _, day := range []models.Date{date("2026-02-09"), date("2026-02-10")} {
				list, _, err := scheduler.Calls(t.Context(), st, h.Notify, noon(day), 0)
				require.NoError(t, err)
				require.Len(t, list, 1, "at once, and after the round in which no other way was found")
				assert.NotEmpty(t, list[0].Why)
				hold(t, h, day)
			}
			assert.Zero(t, hold(t, h, date("2026-02-20")).Notices, "it rests for 14 days")
			if w.answer != nil && w.answer.Dead {
				assert.Zero(t, hold(t, h, date("2026-02-24")).Notices, "and a dead one for good")
				return
			}
			assert.Equal(t, 2, hold(t, h, date("2026-02-24")).Notices)
			carry(t, st, date("2026-02-24"), refusing{name: models.ChannelMail})
			list, _, err := scheduler.Calls(t.Context(), st, h.Notify, noon(date("2026-02-24")).Add(time.Hour), 0)
			require.NoError(t, err)
			assert.Empty(t, list)
		})
	}
}

func TestAReceiptBeforeTheAnswerToTheTryIsKept(t *testing.T) {
	for fate, state := range map[models.ReceiptFate]models.MessageState{
		models.ReceiptDelivered: models.MessageSent, models.ReceiptUndelivered: models.MessageFailed} {
		st := openStore(t)
		record(t, st, calendarFleet())
		hold(t, runnerOf(st), date("2026-02-08"))
		logs, err := st.Messages(t.Context(), store.MessageFilter{})
		require.NoError(t, err)
		at := models.InstantOf(noon(date("2026-02-08")))
		known, err := st.RecordReceipt(t.Context(), models.Receipt{At: at, PeerIDs: []string{"other", "peer-" + logs[0].Message.Key}, Said: string(fate), Fate: fate})
		require.NoError(t, err)
		assert.False(t, known)
		carry(t, st, date("2026-02-08"), refusing{name: models.ChannelMail})
		logs, err = st.Messages(t.Context(), store.MessageFilter{})
		require.NoError(t, err)
		assert.Equal(t, state, logs[0].Message.State)
		assert.Equal(t, string(fate), logs[0].Message.Receipt)
	}
}
