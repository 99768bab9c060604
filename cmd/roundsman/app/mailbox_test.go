package app

import (
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/config"
	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
	"example.org/roundsman/notify/mail"
	"example.org/roundsman/notify/message"
	"example.org/roundsman/notify/sms"
	"example.org/roundsman/scheduler"
)

var noon = time.Date(2026, 6, 10, 18, 0, 0, 0, time.UTC)

// shopWithInbox opens a shop whose answers come into a maildir, with two mails
// sent to Ray and Ana.
func shopWithInbox(t *testing.T) (a *App, look func(mails ...string), sent []models.Message) {
	t.Helper()
	dir := t.TempDir()
	for _, sub := range []string{"new", "cur", "tmp"} {
		require.NoError(t, os.MkdirAll(filepath.Join(dir, "mail", sub), 0o700))
	}
	s := config.Defaults()
	s.Database.Path = filepath.Join(dir, "shop.db")
	s.Shop.MailFrom = "desk@shop.example.org"
	s.Inbox.Kind, s.Inbox.Path = "maildir", filepath.Join(dir, "mail")
	s.Mail.BounceAddress = "bounces+{id}@shop.example.org"
	a, err := New(t.Context(), s, Options{Clock: models.ClockFunc(func() time.Time { return noon }), Log: slog.New(slog.DiscardHandler)})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, a.Close()) })
	set := models.FactSet{Owners: []models.Owner{{ID: "o1", Name: "Ridge"}}}
	at := models.InstantOf(noon).Add(-time.Hour)
	for _, who := range []string{"ray", "ana"} {
		c := models.Contact{ID: who, Owner: "o1", Name: who, Role: models.RoleOwner, Mail: who + "@example.org",
			MailConsentOn: models.MustDate("2025-01-01")}
		set.Contacts = append(set.Contacts, c)
	}
	_, err = a.Store.Record(t.Context(), set, a.entry("test", ""))
	require.NoError(t, err)
	for _, c := range set.Contacts {
		m := models.Message{Key: "1/" + c.ID + "/notices", Owner: "o1", Contact: c.ID, Channel: models.ChannelMail, Address: c.Mail,
			Purpose: models.PurposeNotices, State: models.MessageSent, QueuedAt: at, EndedAt: at, Tries: 1}
		m.ID, err = a.Store.QueueMessage(t.Context(), m)
		require.NoError(t, err)
		sent = append(sent, m)
	}
	n := 0
	look = func(mails ...string) {
		t.Helper()
		for _, text := range mails {
			n++
			name := filepath.Join(dir, "mail", "new", fmt.Sprintf("17%08d.M1.host", n))
			require.NoError(t, os.WriteFile(name, []byte(strings.ReplaceAll(text, "\n", "\r\n")), 0o600))
		}
		w, err := a.mailbox()
		require.NoError(t, err)
		_, err = w.Look(t.Context())
		require.NoError(t, err)
	}
	return a, look, sent
}

// The desk and the program share a mailbox: what is for people is left to them,
// and what a program cannot read is shown to a person.
func TestASharedMailbox(t *testing.T) {
	a, look, _ := shopWithInbox(t)
	const photo = "From: ray@example.org\nMessage-ID: <p1@example.org>\nMIME-Version: 1.0\nContent-Type: image/jpeg; name=meter.jpg\n\nx\n"
	look("From: Shop <desk@shop.example.org>\nAuto-Submitted: auto-generated\nSubject: A reply\n\nRay says: STOP\n",
		"From: parts@wholesale.example.com\nSubject: Offers\n\nSTOP by and save 2150\n", photo, photo)
	replies, err := a.Store.Replies(t.Context(), false, 0)
	require.NoError(t, err)
	require.Len(t, replies, 1)
	assert.Equal(t, "[attached: meter.jpg]", replies[0].Reply.Text)
	assert.Equal(t, models.ReasonAttached, replies[0].Reply.Person)
	look("From: unknown@example.com\nSubject: STOP\n\n\n")
	replies, err = a.Store.Replies(t.Context(), false, 0)
	require.NoError(t, err)
	assert.Len(t, replies, 2, "a wish to end is kept, whoever sends it")
}

// The same words again are another text: STOP, START, STOP ends stopped,
// however quickly, and a text that is handed over twice is one.
func TestStopStartStopEndsStopped(t *testing.T) {
	a, _, _ := shopWithInbox(t)
	const number = "+12125550123"
	_, err := a.Store.Record(t.Context(), models.FactSet{Contacts: []models.Contact{{ID: "ray", Owner: "o1", Name: "ray", Role: models.RoleOwner,
		Mobile: number, SMSConsentOn: models.MustDate("2025-01-01")}}}, a.entry("test", ""))
	require.NoError(t, err)
	for i, words := range []string{"STOP", "START", "START", "STOP"} {
		id := fmt.Sprint("m", i)
		if i == 2 {
			id = "m1"
		}
		require.NoError(t, incoming{a}.Incoming(t.Context(), sms.Incoming{ID: id, From: number, Text: words}))
	}
	people, err := a.Store.People(t.Context(), []string{"o1"}, models.DateOf(noon))
	require.NoError(t, err)
	for _, p := range people["o1"].People {
		assert.Equal(t, p.Contact.ID == "ray", !p.Contact.SMSStopOn.IsZero(), p.Contact.ID)
	}
	replies, err := a.Store.Replies(t.Context(), false, 0)
	require.NoError(t, err)
	assert.Len(t, replies, 3)
}

// report is a delivery report (RFC 3464) to an address of ours.
func report(to, recipient, status, messageID string) string {
	return fmt.Sprintf(`Return-Path: <>
From: MAILER-DAEMON@mx.example.net
To: %s
MIME-Version: 1.0
Content-Type: multipart/report; report-type=delivery-status; boundary=b

--b

Not delivered.
--b
Content-Type: message/delivery-status

Reporting-MTA: dns; mx.example.net

Final-Recipient: rfc822; %s
Action: failed
Status: %s

--b
Content-Type: text/rfc822-headers

Message-ID: <%s>
--b--
`, to, recipient, status, messageID)
}

// Anybody can write a report: it counts for the mail of ours that it names.
func TestAReportCountsForTheMailThatItNames(t *testing.T) {
	ours := func(m models.Message) string { return message.MessageID(m.Key, "shop.example.org") }
	for name, tt := range map[string]struct {
		report func(ray models.Message) string
		failed bool // Ray's mail
		dead   bool // Ray's address
		alerts int
	}{
		"by its Message-ID": {func(ray models.Message) string {
			return report("desk@shop.example.org", "ray@example.org", "5.1.1", ours(ray))
		}, true, true, 1},
		"by the address it came to": {func(ray models.Message) string {
			return report("bounces+"+mail.BounceID(ray)+"@shop.example.org", "Ray@example.org", "5.1.1", "")
		}, true, true, 1},
		"refused by rules": {func(ray models.Message) string {
			return report("desk@shop.example.org", "ray@example.org", "5.7.1", ours(ray))
		}, true, false, 0},
		"full, after it was sent on": {func(ray models.Message) string {
			return report("desk@shop.example.org", "ray@elsewhere.example.com", "5.2.2", ours(ray))
		}, true, false, 0},
		"no mailbox where it was sent on": {func(ray models.Message) string {
			return report("desk@shop.example.org", "ray@elsewhere.example.com", "5.1.1", ours(ray))
		}, true, false, 0},
		"forged, naming nothing": {func(models.Message) string {
			return report("desk@shop.example.org", "ray@example.org", "5.1.1", "")
		}, false, false, 1},
		"forged, with a made-up Message-ID": {func(models.Message) string {
			return report("desk@shop.example.org", "ray@example.org", "5.1.1", "abc@shop.example.org")
		}, false, false, 1},
		"forged, with a guessed number": {func(ray models.Message) string {
			return report(fmt.Sprintf("bounces+%d@shop.example.org", ray.ID), "ray@example.org", "5.1.1", "")
		}, false, false, 1},
		"delayed": {func(ray models.Message) string {
			return strings.Replace(report("desk@shop.example.org", "ray@example.org", "4.2.2", ours(ray)), "Action: failed", "Action: delayed", 1)
		}, false, false, 0},
	} {
		t.Run(name, func(t *testing.T) {
			a, look, sent := shopWithInbox(t)
			text := tt.report(sent[0])
			look(text, text)
			logs, err := a.Store.Messages(t.Context(), store.MessageFilter{})
			require.NoError(t, err)
			want := map[bool]models.MessageState{true: models.MessageFailed, false: models.MessageSent}
			assert.Equal(t, want[tt.failed], logs[0].Message.State, "to Ray: %s", logs[0].Message.Why)
			assert.Equal(t, models.MessageSent, logs[1].Message.State, "to Ana")
			assert.Len(t, logs, 2+tt.alerts)
			people, err := a.Store.People(t.Context(), []string{"o1"}, models.DateOf(noon))
			require.NoError(t, err)
			for _, p := range people["o1"].People {
				assert.Equal(t, tt.dead && p.Contact.ID == "ray", len(p.Retired) > 0, p.Contact.ID)
				_, back := p.CameBack[models.ChannelMail]
				assert.Equal(t, tt.failed && p.Contact.ID == "ray", back, p.Contact.ID)
			}
		})
	}
}

// A channel that is down is told by another way, once a day.
func TestAChannelThatIsDownIsToldByAnotherWay(t *testing.T) {
	a, _, sent := shopWithInbox(t)
	told := func() []string {
		logs, err := a.Store.Messages(t.Context(), store.MessageFilter{})
		require.NoError(t, err)
		var out []string
		for _, l := range logs[len(sent):] {
			require.Equal(t, models.PurposeShopAlert, l.Message.Purpose)
			out = append(out, string(l.Message.Channel)+" to "+l.Message.Address)
		}
		return out
	}
	for range 2 {
		require.NoError(t, a.alarm(t.Context(), models.ChannelSMS, models.ReasonCenterLogin+" (0x0A)"))
	}
	assert.Equal(t, []string{"mail to desk@shop.example.org"}, told())
	require.NoError(t, a.alarm(t.Context(), models.ChannelMail, models.ReasonMailLogin))
	assert.Len(t, told(), 1, "there is no other way")
	a.Runner.Notify.DeskMobile = "+12125550100"
	require.NoError(t, a.alarm(t.Context(), models.ChannelMail, models.ReasonMailLogin))
	require.NoError(t, a.alarm(t.Context(), scheduler.InboxDown, "the log-in is refused"))
	assert.Equal(t, []string{"mail to desk@shop.example.org", "sms to +12125550100", "sms to +12125550100"}, told())
}
