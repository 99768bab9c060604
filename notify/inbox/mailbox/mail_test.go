package mailbox

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/inbox/bounce"
)

var now = time.Date(2026, 11, 25, 18, 0, 0, 0, time.UTC)

func eml(s string) []byte { return []byte(strings.ReplaceAll(s, "\n", "\r\n")) }

const answer = `Return-Path: <ray@example.org>
Delivered-To: reply+x7@shop.example.com
From: "Ray Núñez" <Ray@Example.org>
To: Hill Shop <desk@shop.example.com>
Subject: =?utf-8?Q?Re:_R12:_cambio_de_refrigerante?=
Date: Wed, 25 Nov 2026 10:30:00 -0700
Message-ID: <a1@example.org>
In-Reply-To: <k17.abc@shop.example.com>
References: <old@shop.example.com> <k17.abc@shop.example.com>
MIME-Version: 1.0
Content-Type: text/plain; charset=iso-8859-1
Content-Transfer-Encoding: quoted-printable

Ten=EDa 6120 ayer

On Wed, Nov 25, 2026 at 9:00 AM Hill Shop
<desk@shop.example.com> wrote:

> R12 needs coolant at 6,500 mi.
> Reply with the meter.

Sent from my iPhone
`

func TestReadAnswer(t *testing.T) {
	m := Read(eml(answer), now)
	assert.Nil(t, m.Bounce)
	assert.Equal(t, models.Reply{
		Key: "mail/a1@example.org", ReceivedAt: models.InstantOf(time.Date(2026, 11, 25, 17, 30, 0, 0, time.UTC)),
		Channel: models.ChannelMail, From: "ray@example.org", To: "reply+x7@shop.example.com",
		Subject: "Re: R12: cambio de refrigerante", Text: "Tenía 6120 ayer", AnswersTo: "k17.abc@shop.example.com",
	}, m.Reply)
}

// Which mails no person wrote: RFC 3834, 5; RFC 5321, 4.5.5; RFC 2919.
func TestAutomatic(t *testing.T) {
	for head, want := range map[string]bool{
		"Auto-Submitted: auto-replied": true, "Auto-Submitted: auto-generated; owner=x": true, "Auto-Submitted: no": false,
		"Precedence: bulk": true, "Precedence: first-class": false, "List-Id: <ranch.example.org>": true,
		"Return-Path: <>": true, "X-Autoreply: yes": true, "X-Mailer: phone": false,
	} {
		m := Read(eml(head+"\nFrom: ray@example.org\nSubject: x\n\nI am away\n"), now)
		assert.Equal(t, want, m.Reply.Automatic, head)
	}
	assert.True(t, Read(eml("From: no-reply@example.org\n\nx\n"), now).Reply.Automatic)
}

// A mail that waited is dated as it was written, one with a wrong clock as it
// came.
func TestWhen(t *testing.T) {
	for date, want := range map[string]time.Time{
		"Tue, 24 Nov 2026 18:00:00 +0000": now.Add(-24 * time.Hour),
		"Wed, 25 Nov 2026 19:00:00 +0000": now, "Sat, 25 Oct 2025 18:00:00 +0000": now, "yesterday": now,
	} {
		m := Read(eml("From: ray@example.org\nDate: "+date+"\n\n6120\n"), now)
		assert.Equal(t, models.InstantOf(want), m.Reply.ReceivedAt, date)
	}
}

func TestHTML(t *testing.T) {
	m := Read(eml(`From: ray@example.org
MIME-Version: 1.0
Content-Type: text/html; charset=utf-8

<html><head><style>p{color:red}</style></head><body><!-- x --><p>R12 is at <b>6,120</b>&nbsp;mi</p><div>unit&#32;4 &amp; pump ok</div>
<div class="gmail_quote">On Wed Hill Shop wrote: <blockquote>R12 needs coolant at 6,500</blockquote></div></body></html>
`), now)
	assert.Equal(t, "R12 is at 6,120 mi\nunit 4 & pump ok", m.Reply.Text)

	m = Read(eml(`From: ray@example.org
MIME-Version: 1.0
Content-Type: multipart/mixed; boundary=b

--b
Content-Type: multipart/alternative; boundary=c

--c
Content-Type: text/plain; charset=utf-8
Content-Transfer-Encoding: base64

NjEyMCBtaQo=
--c
Content-Type: text/html

<p>other words</p>
--c--
--b
Content-Type: text/plain
Content-Disposition: attachment; filename=log.txt

9999
--b--
`), now)
	assert.Equal(t, "6120 mi\n[attached: log.txt]", m.Reply.Text, "the plain part, and the name of what is attached")
	words, attached := m.Reply.Words()
	assert.Equal(t, "6120 mi", words)
	assert.True(t, attached)
}

// A mail without words says what it brings, so that a person looks.
func TestMailsWithoutWords(t *testing.T) {
	for body, want := range map[string]string{
		"Content-Type: image/jpeg; name=meter.jpg\nContent-Transfer-Encoding: base64\n\n/9j/4A==\n": "[attached: meter.jpg]",
		"Content-Type: image/heic\nContent-Transfer-Encoding: base64\n\n/9j/4A==\n":                 "[attached: image/heic]",
		"Content-Type: text/calendar; method=REPLY\n\nBEGIN:VCALENDAR\nMETHOD:REPLY\nBEGIN:VEVENT\nATTENDEE;PARTSTAT=DECLINED:mailto:ray@example.org\n" +
			"END:VEVENT\nEND:VCALENDAR\n": "[attached: invitation declined]",
	} {
		for _, head := range []string{"From: ray@example.org\nMIME-Version: 1.0\n", "From: ray@example.org\nMIME-Version: 1.0\nContent-Type: multipart/mixed; boundary=b\n\n--b\n"} {
			tail := ""
			if strings.Contains(head, "boundary") {
				tail = "--b--\n"
			}
			m := Read(eml(head+body+tail), now)
			assert.Equal(t, want, m.Reply.Text)
			words, attached := m.Reply.Words()
			assert.Empty(t, words)
			assert.True(t, attached)
		}
	}
}

// Nothing is refused: what cannot be made out is left for a person.
func TestBadMail(t *testing.T) {
	m := Read([]byte("no mail at all \xff"), now)
	assert.Contains(t, m.Reply.Text, "no mail at all")
	assert.True(t, strings.HasPrefix(m.Reply.Key, "mail/"))
	assert.Equal(t, m.Reply.Key, Read([]byte("no mail at all \xff"), now.Add(time.Hour)).Reply.Key, "the same mail, the same key")
	m = Read(eml("From: Ray ray@@example\nContent-Type: text/plain; charset=klingon\n\n6120\n"), now)
	assert.Equal(t, "6120", m.Reply.Text)
	assert.Empty(t, m.Reply.From)
}

func TestBounceIsTold(t *testing.T) {
	m := Read(eml(dsnMail), now)
	require.NotNil(t, m.Bounce)
	assert.Equal(t, bounce.Dead, m.Bounce.Recipients[0].Verdict())
	assert.Equal(t, "k17.abc@shop.example.com", m.Bounce.MessageID)
	assert.Equal(t, "bounce+17@shop.example.com", m.Bounce.SentTo)
	assert.True(t, m.Reply.Automatic)
}

const dsnMail = `Return-Path: <>
From: MAILER-DAEMON@mx.example.net
To: bounce+17@shop.example.com
Message-ID: <d1@mx.example.net>
MIME-Version: 1.0
Content-Type: multipart/report; report-type=delivery-status; boundary=b

--b

Not delivered.
--b
Content-Type: message/delivery-status

Reporting-MTA: dns; mx.example.net

Final-Recipient: rfc822; ray@example.org
Action: failed
Status: 5.1.1

--b
Content-Type: text/rfc822-headers

Message-ID: <k17.abc@shop.example.com>
--b--
`

func TestOwn(t *testing.T) {
	tests := map[string]struct{ in, want string }{
		"bare":              {"6120", "6120"},
		"quoted below":      {"6120\n\nOn Nov 25, 2026, Hill Shop <desk@shop.example.com> wrote:\n> R12: 6,500\n", "6120"},
		"quoted above":      {"On Nov 25, 2026, Hill Shop <desk@shop.example.com> wrote:\n> R12: 6,500\n> reply\n\n6120\n", "6120"},
		"between the lines": {"> R12?\n6120\n> 4?\n2150", "6120\n2150"},
		"unmarked":          {"6120\n\nOn Wed, Nov 25, 2026 at 9:00 Hill Shop wrote:\n\nR12: 6,500 mi", "6120"},
		"wrapped":           {"ok\nOn Wed, Nov 25, 2026 at 9:00 AM Hill Shop <desk@shop.example.com>\nwrote:\n> x", "ok"},
		"Spanish":           {"6120\nEl mié, 25 nov 2026 a las 9:00, Taller (<desk@shop.example.com>) escribió:\n> R12", "6120"},
		"original message":  {"6120\n-----Original Message-----\nFrom: Hill Shop\nR12: 6,500", "6120"},
		"head lines":        {"6120\n\nFrom: Hill Shop <desk@shop.example.com>\nSent: Wednesday\nTo: Ray\n\n6,500", "6120"},
		"Spanish head":      {"6120\nDe: Taller\nEnviado el: miércoles\n6,500", "6120"},
		"a line of its own": {"From: the barn\nit is hot", "From: the barn\nit is hot"},
		"signature":         {"6120\n-- \nRay, 555-0100", "6120"},
		"phone":             {"6120\n\nSent from my iPhone", "6120"},
		"Spanish phone":     {"6120\nEnviado desde mi iPhone", "6120"},
		"only a quote":      {"> R12: 6,500", "> R12: 6,500"},
		"CRLF":              {"6120\r\n> x\r\n", "6120"},
	}
	for name, tt := range tests {
		assert.Equal(t, tt.want, Own(tt.in), name)
	}
}

func FuzzRead(f *testing.F) {
	f.Add(eml(answer))
	f.Add(eml(dsnMail))
	f.Fuzz(func(t *testing.T, raw []byte) {
		m := Read(raw, now)
		if m.Reply.Key == "" || m.Reply.ReceivedAt.IsZero() || m.Reply.ReceivedAt > models.InstantOf(now) {
			t.Fatalf("key %q at %s", m.Reply.Key, m.Reply.ReceivedAt)
		}
		if n := len([]rune(m.Reply.Text)); n > maxText {
			t.Fatalf("%d characters", n)
		}
		if strings.ContainsAny(m.Reply.From+m.Reply.To, "\r\n") {
			t.Fatal("a line end in an address")
		}
	})
}
