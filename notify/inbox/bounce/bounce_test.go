package bounce

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// dsn wraps groups of fields as RFC 3464 asks.
func dsn(status, original string) string {
	return crlf(`Return-Path: <>
From: Mail Delivery Subsystem <MAILER-DAEMON@mail.example.com>
To: <bounce+17@shop.example.com>
Subject: Returned mail
MIME-Version: 1.0
Content-Type: multipart/report; report-type=delivery-status;
	boundary="RAA14128.773615765/mail"

--RAA14128.773615765/mail
Content-Type: text/plain; charset=us-ascii

The following addresses had delivery problems

--RAA14128.773615765/mail
Content-Type: message/delivery-status

` + status + `
--RAA14128.773615765/mail
` + original + `
--RAA14128.773615765/mail--
`)
}

func crlf(s string) string { return strings.ReplaceAll(s, "\n", "\r\n") }

const head = `Content-Type: text/rfc822-headers

From: Hill Shop <desk@shop.example.com>
Message-ID: <k17.abc@shop.example.com>
Subject: R12: coolant change
`

func parse(t *testing.T, mail string) Report {
	t.Helper()
	rep, ok, err := Parse(strings.NewReader(mail))
	require.NoError(t, err)
	require.True(t, ok)
	return rep
}

// RFC 3464, appendix E, "Simple DSN": failed with a status of class 4.
func TestGivenUp(t *testing.T) {
	rep := parse(t, dsn(`Reporting-MTA: dns; cs.utk.edu
Original-Envelope-Id: QQ17

Original-Recipient: rfc822;louisl@larry.slip.umd.edu
Final-Recipient: rfc822;louisl@larry.slip.umd.edu
Action: failed
Status: 4.0.0
Diagnostic-Code: smtp; 426 connection timed out
Last-Attempt-Date: Thu, 7 Jul 1994 17:15:49 -0400
`, head))
	assert.Equal(t, "k17.abc@shop.example.com", rep.MessageID)
	assert.Equal(t, "QQ17", rep.EnvelopeID)
	assert.False(t, rep.Loose)
	require.Len(t, rep.Recipients, 1)
	r := rep.Recipients[0]
	assert.Equal(t, Recipient{Address: "louisl@larry.slip.umd.edu", Original: "louisl@larry.slip.umd.edu",
		Action: Failed, Status: Code{4, 0, 0}, Diagnostic: "426 connection timed out"}, r)
	assert.Equal(t, Soft, r.Verdict(), "the server gave up; the address may be good")
}

// RFC 3464, appendix E, "Multi-Recipient DSN": folded fields, comments behind
// the status, X.0.0 with the cause in the server's words.
func TestSeveralRecipients(t *testing.T) {
	rep := parse(t, dsn(`Reporting-MTA: dns; cs.utk.edu

Original-Recipient: rfc822;arathib@vnet.ibm.com
Final-Recipient: rfc822;arathib@vnet.ibm.com
Action: failed
Status: 5.0.0 (permanent failure)
Diagnostic-Code: smtp;  550 'arathib@vnet.IBM.COM' is not a
 registered gateway user
Remote-MTA: dns; vnet.ibm.com

Original-Recipient: rfc822;johnh@hpnjld.njd.hp.com
Final-Recipient: rfc822;johnh@hpnjld.njd.hp.com
Action: delayed
Status: 4.0.0 (hpnjld.njd.jp.com: host name lookup failure)

Original-Recipient: rfc822;wsnell@sdcc13.ucsd.edu
Final-Recipient: rfc822;wsnell@sdcc13.ucsd.edu
Action: failed
Status: 5.0.0
Diagnostic-Code: smtp; 550 user unknown
Remote-MTA: dns; sdcc13.ucsd.edu
`, "Content-Type: message/rfc822\n\n[original message goes here]"))
	require.Len(t, rep.Recipients, 3)
	assert.Equal(t, "550 'arathib@vnet.IBM.COM' is not a registered gateway user", rep.Recipients[0].Diagnostic)
	assert.Equal(t, Refuse, rep.Recipients[0].Verdict())
	assert.Equal(t, None, rep.Recipients[1].Verdict(), "delayed is not failed (appendix C)")
	assert.Equal(t, Dead, rep.Recipients[2].Verdict(), "550 user unknown is 5.1.1 in words")
	assert.Empty(t, rep.MessageID)
}

// Codes: RFC 3463; a failed report of class 4 is soft, 5.1.1 is the address's.
func TestVerdicts(t *testing.T) {
	tests := []struct {
		action Action
		code   string
		want   Verdict
	}{
		{Failed, "5.1.1", Dead}, {Failed, "5.1.2", Dead}, {Failed, "5.1.3", Dead}, {Failed, "5.1.6", Dead}, {Failed, "5.1.10", Dead}, {Failed, "5.2.1", Dead},
		{Failed, "4.2.2", Soft}, {Failed, "5.2.2", Soft}, {Failed, "4.4.7", Soft}, {Failed, "4.4.1", Soft}, {Failed, "4.2.1", Soft},
		{Failed, "5.7.1", Refuse}, {Failed, "5.3.4", Refuse}, {Failed, "5.2.3", Refuse}, {Failed, "5.0.0", Refuse}, {Failed, "", Refuse},
		{Delayed, "4.4.1", None}, {Delivered, "2.1.5", None}, {Relayed, "2.0.0", None}, {Expanded, "2.0.0", None}, {Failed, "2.0.0", None},
	}
	for _, tt := range tests {
		code, err := parseCode(tt.code)
		assert.Equal(t, tt.code == "", err != nil)
		assert.Equal(t, tt.code, code.String())
		assert.Equal(t, tt.want, Recipient{Action: tt.action, Status: code}.Verdict(), "%s %s", tt.action, tt.code)
	}
}

// Form: RFC 3464, 2.3.4 and RFC 3463, 2: no leading zeros, class 2, 4 or 5.
func TestParseCode(t *testing.T) {
	for _, bad := range []string{"", "5", "5.1", "5.01.1", "5.1.01", "3.1.1", "6.1.1", "5.1.1111", "5.1.1x", "a.b.c", "-5.1.1", "5.1.1.1"} {
		_, err := parseCode(bad)
		assert.ErrorIs(t, err, ErrCode, bad)
	}
	code, err := parseCode(" 5.1.1 (no such user)")
	require.NoError(t, err)
	assert.Equal(t, Code{5, 1, 1}, code)
	rapid.Check(t, func(t *rapid.T) {
		c := Code{rapid.SampledFrom([]int{2, 4, 5}).Draw(t, "class"), rapid.IntRange(0, 999).Draw(t, "subject"), rapid.IntRange(0, 999).Draw(t, "detail")}
		back, err := parseCode(c.String())
		assert.NoError(t, err)
		assert.Equal(t, c, back)
	})
}

func TestPlusAddresses(t *testing.T) {
	rep := parse(t, dsn(`Reporting-MTA: dns; mx.example.org

Original-Recipient: rfc822; ray+2Bfarm@example.org
Final-Recipient: rfc822; <ray+45@example.org>
Action: Failed
Status: 5.1.1
`, head))
	assert.Equal(t, "ray+farm@example.org", rep.Recipients[0].Original)
	assert.Equal(t, "ray+45@example.org", rep.Recipients[0].Address, "an address that only looks coded")
	assert.Equal(t, Dead, rep.Recipients[0].Verdict(), "actions are read in any case")
}

// Mailers that do not keep to RFC 3464 (common practice, no source).
func TestLooseReports(t *testing.T) {
	rep := parse(t, crlf(`From: MAILER-DAEMON@mx.example.net
To: bounce+17@shop.example.com
Subject: failure notice
Content-Type: text/plain

Hi. I wasn't able to deliver your message to the following addresses.

<ray@example.org>:
Remote host said: 550 5.1.1 <ray@example.org>: Recipient address rejected

--- Below this line is a copy of the message.
Message-ID: <k17.abc@shop.example.com>
`))
	assert.True(t, rep.Loose)
	assert.Equal(t, "k17.abc@shop.example.com", rep.MessageID)
	assert.Equal(t, "ray@example.org", rep.Recipients[0].Address)
	assert.Equal(t, Dead, rep.Recipients[0].Verdict())

	rep = parse(t, crlf("From: MAILER-DAEMON@mx.example.net\nX-Failed-Recipients: ray@example.org, kim@example.org\n\nmailbox is full 452 4.2.2 over quota\n"))
	require.Len(t, rep.Recipients, 2)
	assert.Equal(t, Soft, rep.Recipients[1].Verdict())
}

func TestNotAReport(t *testing.T) {
	for name, mail := range map[string]string{
		"a person":           "From: Ray <ray@example.org>\nSubject: Re: R12\n\n6120, and the 5.1.1 thing is done\n",
		"another report":     "Content-Type: multipart/report; report-type=disposition-notification; boundary=b\n\n--b\n\nread\n--b--\n",
		"a mailer's chatter": "From: MAILER-DAEMON@example.net\n\nhello\n",
		"no recipients":      dsn("Reporting-MTA: dns; x\n", head),
		"nothing":            "\n",
	} {
		_, ok, err := Parse(strings.NewReader(mail))
		assert.NoError(t, err, name)
		assert.False(t, ok, name)
	}
}

// A report that is cut short tells what came before the cut.
func TestCutShort(t *testing.T) {
	whole := dsn("Reporting-MTA: dns; x\n\nFinal-Recipient: rfc822; ray@example.org\nAction: failed\nStatus: 5.1.1\n", head)
	rep := parse(t, whole[:strings.Index(whole, "text/rfc822-headers")])
	assert.Equal(t, Dead, rep.Recipients[0].Verdict())
}

func FuzzParse(f *testing.F) {
	f.Add(dsn("Reporting-MTA: dns; x\n\nFinal-Recipient: rfc822; ray@example.org\nAction: failed\nStatus: 5.1.1\n", head))
	f.Add("From: mailer-daemon@x\n\n<a@b.example>: 550 5.1.1 no")
	f.Fuzz(func(t *testing.T, s string) {
		rep, ok, err := Parse(strings.NewReader(s))
		if ok && (err != nil || len(rep.Recipients) == 0) {
			t.Fatal("a report of nobody")
		}
		for _, r := range rep.Recipients {
			if !strings.Contains(r.Address, "@") || strings.ContainsAny(r.Address, "\r\n") {
				t.Fatalf("no address: %q", r.Address)
			}
			if r.Verdict() == Dead && r.Action != Failed {
				t.Fatal("dead without a failure")
			}
		}
	})
}
