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
	fresh, err := st.SaveBounce(t.Context(), b, &alert, e)
	require.NoError(t, err)
	assert.True(t, fresh)
	fresh, err = st.SaveBounce(t.Context(), b, &alert, e)
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
	_, err := st.SaveBounce(t.Context(), b, nil, models.Entry{RecordedAt: 1, Actor: "test", Means: "bounce"})
	require.NoError(t, err)
	assert.Equal(t, 2, hold(t, h, date("2026-02-10")).Notices, "by text, since the mail reached nobody")
	assert.Zero(t, hold(t, h, date("2026-02-11")).Notices, "and once")
	logs, err := st.Messages(t.Context(), store.MessageFilter{})
	require.NoError(t, err)
	assert.Equal(t, ada, logs[len(logs)-1].Message.Address)
}

// nobody is a channel whose peer knows no mailbox.
type nobody struct{}

func (nobody) Name() models.Channel                           { return models.ChannelMail }
func (n nobody) Open(context.Context) (notify.Session, error) { return n, nil }
func (nobody) Close() error                                   { return nil }
func (nobody) Send(context.Context, notify.Outgoing) (notify.Receipt, error) {
	return notify.Receipt{}, &notify.SendError{Outcome: models.OutcomePermanent, Code: "550 5.1.1", Why: "no such mailbox", Dead: true}
}

func TestARefusalForWantOfAMailboxRetiresTheAddressAndIsToldByAnotherWay(t *testing.T) {
	st := openStore(t)
	set := calendarFleet()
	set.Contacts[0].Mobile, set.Contacts[0].SMSConsentOn = ada, date("2025-03-10")
	record(t, st, set)
	h := runnerOf(st)
	hold(t, h, date("2026-02-08")) // coming, by mail
	at := noon(date("2026-02-08"))
	words := func(models.Envelope) (models.Composed, error) { return models.Composed{Text: "words"}, nil }
	c := notify.New(st, models.ClockFunc(func() time.Time { return at }), words, notify.Options{Shop: policy.Settings{Zone: denver}, Sole: true})
	c.Add(nobody{}, notify.Limits{})
	tally, err := c.Drain(t.Context())
	require.NoError(t, err)
	require.Equal(t, 1, tally.Failed)

	r := hold(t, h, date("2026-02-09"))
	assert.Equal(t, 2, r.Notices, "both machines are told of again, over the other channel")
	logs, err := st.Messages(t.Context(), store.MessageFilter{States: []models.MessageState{models.MessageQueued}})
	require.NoError(t, err)
	require.Len(t, logs, 1)
	assert.Equal(t, models.ChannelSMS, logs[0].Message.Channel)
	assert.Zero(t, hold(t, h, date("2026-02-10")).Notices, "and only once")
}
