// Package bounce reads delivery status notifications (RFC 3464) and says what
// each means for the address that it is about.
//
// The package is pure.
package bounce

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/textproto"
	"regexp"
	"strconv"
	"strings"

	"github.com/emersion/go-message"
	_ "github.com/emersion/go-message/charset" // names and words in other charsets
)

// Action is what the reporting server did (RFC 3464, 2.3.3).
type Action string

// The actions.
const (
	Failed    Action = "failed"
	Delayed   Action = "delayed"
	Delivered Action = "delivered"
	Relayed   Action = "relayed"
	Expanded  Action = "expanded"
)

// Code is an enhanced status code, class.subject.detail (RFC 3463).
type Code struct{ Class, Subject, Detail int }

// String gives the code as it is written, "" for none.
func (c Code) String() string {
	if c == (Code{}) {
		return ""
	}
	return fmt.Sprintf("%d.%d.%d", c.Class, c.Subject, c.Detail)
}

// codeForm is RFC 3464, 2.3.4: DIGIT "." 1*3DIGIT "." 1*3DIGIT, whose class RFC
// 3463 bounds to 2, 4 and 5; without leading zeros.
var codeForm = regexp.MustCompile(`^([245])\.(0|[1-9]\d{0,2})\.(0|[1-9]\d{0,2})$`)

// ErrCode is given for what is no enhanced status code.
var ErrCode = errors.New("is not an enhanced status code")

// parseCode reads a code; a comment behind it is left out.
func parseCode(s string) (Code, error) {
	s, _, _ = strings.Cut(strings.TrimSpace(s), " ")
	m := codeForm.FindStringSubmatch(strings.TrimSpace(s))
	if m == nil {
		return Code{}, ErrCode
	}
	var c Code
	for i, p := range []*int{&c.Class, &c.Subject, &c.Detail} {
		n, err := strconv.Atoi(m[i+1])
		if err != nil {
			return Code{}, ErrCode
		}
		*p = n
	}
	return c, nil
}

// Recipient is what is reported of one address.
type Recipient struct {
	Address    string // the final recipient, or the original one where that is all there is
	Original   string // as we wrote it, where it is told
	Action     Action
	Status     Code
	Diagnostic string // the server's own words
}

// Report is a delivery status notification.
type Report struct {
	MessageID  string // of the mail that it is about, without brackets; "" where it is not told
	EnvelopeID string // ENVID of that mail (RFC 3461)
	SentTo     string // where the report was sent: the envelope sender of that mail; set by who received it
	Recipients []Recipient
	Loose      bool // not in the form of RFC 3464, but read from the words of a mailer
}

// Verdict is what a report means for an address.
type Verdict string

// Verdicts.
const (
	None   Verdict = "none"   // it was delivered, or is still under way
	Soft   Verdict = "soft"   // it may pass: full, busy, unreachable
	Refuse Verdict = "refuse" // this mail was refused for good; the address is not to blame
	Dead   Verdict = "dead"   // there is no such mailbox; nothing sent there will arrive
)

// dead lists the codes that speak of the address itself and that RFC 3463
// calls permanent, and 5.2.1 (disabled), 5.1.10 (RFC 7505: no mail taken at
// all there).
var dead = map[Code]bool{{5, 1, 1}: true, {5, 1, 2}: true, {5, 1, 3}: true, {5, 1, 6}: true, {5, 1, 10}: true, {5, 2, 1}: true}

// Verdict judges a report. A failure with a status of class 4 is soft: the
// server gave up, the address may be good (RFC 3464, appendix E, example of
// 4.0.0). One report alone should retire no address unless it says that there
// is none (appendix C).
func (r Recipient) Verdict() Verdict {
	switch {
	case r.Action != Failed || r.Status.Class == 2:
		return None
	case dead[r.Status]:
		return Dead
	case r.Status.Class == 4 || r.Status == Code{5, 2, 2}: // a full mailbox should be 4.2.2 (RFC 3463, 3.3)
		return Soft
	default:
		return Refuse
	}
}

// Limits of what is read, in octets and recipients.
const (
	maxPart       = 256 << 10
	maxRecipients = 200
)

// Parse reads a mail as a report; ok is false when it is none. A mail that
// cannot be read at all is an error.
func Parse(r io.Reader) (rep Report, ok bool, err error) {
	e, err := message.Read(r)
	if err != nil && !message.IsUnknownCharset(err) && !message.IsUnknownEncoding(err) {
		return Report{}, false, fmt.Errorf("reading a mail: %w", err)
	}
	kind, params, _ := e.Header.ContentType()
	if strings.EqualFold(kind, "multipart/report") && strings.EqualFold(params["report-type"], "delivery-status") {
		return parseReport(e)
	}
	return parseLoose(e)
}

// parseReport reads a multipart/report (RFC 6522): words, delivery-status, and
// the mail or its head.
func parseReport(e *message.Entity) (Report, bool, error) {
	var rep Report
	parts := e.MultipartReader()
	if parts == nil {
		return Report{}, false, nil
	}
	defer func() { _ = parts.Close() }()
	for range 20 {
		p, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil && !message.IsUnknownCharset(err) && !message.IsUnknownEncoding(err) {
			break // a mail cut short still tells what came before
		}
		kind, _, _ := p.Header.ContentType()
		body := io.LimitReader(p.Body, maxPart)
		switch strings.ToLower(kind) {
		case "message/delivery-status", "message/global-delivery-status":
			rep.readStatus(body)
		case "message/rfc822", "text/rfc822-headers", "message/global", "message/global-headers":
			rep.readOriginal(body)
		}
	}
	return rep, len(rep.Recipients) > 0, nil
}

// readStatus reads the groups of fields: the first of the mail, the others
// one for each recipient (RFC 3464, 2.1).
func (rep *Report) readStatus(r io.Reader) {
	tp := textproto.NewReader(bufio.NewReader(r))
	for first := true; len(rep.Recipients) < maxRecipients; first = false {
		h, err := tp.ReadMIMEHeader()
		if first && len(h) > 0 {
			rep.EnvelopeID = strings.TrimSpace(h.Get("Original-Envelope-Id"))
		}
		if rcpt, ok := recipientOf(h); ok {
			rep.Recipients = append(rep.Recipients, rcpt)
		}
		if err != nil {
			return
		}
	}
}

func recipientOf(h textproto.MIMEHeader) (Recipient, bool) {
	original, final := address(xtext.Replace(h.Get("Original-Recipient"))), address(h.Get("Final-Recipient"))
	if original == "" && final == "" {
		return Recipient{}, false
	}
	out := Recipient{Address: final, Original: original,
		Action: Action(strings.ToLower(strings.TrimSpace(strings.SplitN(h.Get("Action"), "(", 2)[0])))}
	if out.Address == "" {
		out.Address = original
	}
	_, words, ok := strings.Cut(h.Get("Diagnostic-Code"), ";")
	if ok {
		out.Diagnostic = clean(words)
	}
	if code, err := parseCode(h.Get("Status")); err == nil {
		out.Status = code
	}
	if out.Status.Subject == 0 && out.Status.Detail == 0 { // X.0.0 says nothing; the server's words may
		if code, ok := findCode(out.Diagnostic); ok && (out.Status.Class == 0 || code.Class == out.Status.Class) {
			out.Status = code
		}
	}
	return out, true
}

// address reads "rfc822; someone@example.com" (RFC 3464, 2.3.1 and 2.3.2).
func address(field string) string {
	_, a, ok := strings.Cut(field, ";")
	if !ok {
		a = field
	}
	a = strings.Trim(strings.TrimSpace(a), "<>")
	if !strings.Contains(a, "@") || len(a) > 320 || strings.ContainsAny(a, " \r\n\t") {
		return ""
	}
	return a
}

// xtext takes off the coding of RFC 3461, 4, which some servers leave on the
// address that we gave them: only of the two characters that it must change,
// since "ray+45@" may be just that.
var xtext = strings.NewReplacer("+2B", "+", "+3D", "=")

// readOriginal takes the Message-ID of the mail that the report is about.
func (rep *Report) readOriginal(r io.Reader) {
	h, _ := textproto.NewReader(bufio.NewReader(r)).ReadMIMEHeader() // what there is of it
	if id := messageID(h.Get("Message-Id")); id != "" {
		rep.MessageID = id
	}
}

func messageID(s string) string {
	s = strings.TrimSpace(s)
	if i, j := strings.Index(s, "<"), strings.Index(s, ">"); i >= 0 && j > i {
		return s[i+1 : j]
	}
	return ""
}

var (
	codeInText  = regexp.MustCompile(`(?:^|[\s(#;-])([245]\.\d{1,3}\.\d{1,3})(?:[\s):;,.]|$)`)
	plainInText = regexp.MustCompile(`(?:^|[\s:])(4\d\d|5\d\d)[\s-]`)
	addressText = regexp.MustCompile(`<?([A-Za-z0-9.!#$%&'*+/=?^_{|}~-]+@[A-Za-z0-9.-]+\.[A-Za-z]{2,})>?`)
	noSuch      = regexp.MustCompile(`(?i)user unknown|unknown user|no such (user|mailbox|address|recipient)|does not exist|doesn't exist|address rejected|mailbox unavailable|invalid recipient|account (is )?disabled`)
)

func findCode(words string) (Code, bool) {
	if m := codeInText.FindStringSubmatch(words); m != nil {
		if c, err := parseCode(m[1]); err == nil {
			return c, true
		}
	}
	if m := plainInText.FindStringSubmatch(words + " "); m != nil { // an SMTP code tells the class at least
		n := int(m[1][0] - '0')
		if n == 5 && noSuch.MatchString(words) {
			return Code{5, 1, 1}, true
		}
		return Code{Class: n}, true
	}
	return Code{}, false
}

// parseLoose reads the words of mailers that do not keep to RFC 3464. It asks
// for a sender that is a mailer and a status code beside an address; anything
// less is no report.
func parseLoose(e *message.Entity) (Report, bool, error) {
	from := strings.ToLower(e.Header.Get("From"))
	mailer := strings.Contains(from, "mailer-daemon") || strings.Contains(from, "postmaster@") ||
		strings.Contains(from, "mail delivery") || strings.TrimSpace(e.Header.Get("Return-Path")) == "<>"
	if !mailer || e.Header.Get("Auto-Submitted") == "auto-generated" && !strings.Contains(from, "mailer-daemon") {
		return Report{}, false, nil
	}
	text, id := firstText(e)
	rep := Report{MessageID: id, Loose: true}
	for _, m := range e.Header.Values("X-Failed-Recipients") {
		for _, a := range strings.Split(m, ",") {
			if a = address(a); a != "" && len(rep.Recipients) < maxRecipients {
				rep.Recipients = append(rep.Recipients, Recipient{Address: a, Action: Failed})
			}
		}
	}
	code, found := findCode(text)
	if len(rep.Recipients) == 0 && found {
		if m := addressText.FindStringSubmatch(text); m != nil {
			rep.Recipients = append(rep.Recipients, Recipient{Address: m[1], Action: Failed})
		}
	}
	if !found {
		return Report{}, false, nil
	}
	for i := range rep.Recipients {
		rep.Recipients[i].Status = code
		rep.Recipients[i].Diagnostic = clean(text)
	}
	return rep, len(rep.Recipients) > 0, nil
}

// firstText gives the first words of a mail and the Message-ID of the mail
// that it returns, where one hangs on it.
func firstText(e *message.Entity) (text, id string) {
	_ = e.Walk(func(_ []int, p *message.Entity, err error) error { // what cannot be read is left out
		if err != nil && !message.IsUnknownCharset(err) && !message.IsUnknownEncoding(err) {
			return nil
		}
		kind, _, _ := p.Header.ContentType()
		b, _ := io.ReadAll(io.LimitReader(p.Body, maxPart))
		switch {
		case kind == "message/rfc822" || kind == "text/rfc822-headers":
			var rep Report
			rep.readOriginal(strings.NewReader(string(b)))
			id = rep.MessageID
		case strings.HasPrefix(kind, "text/") && text == "":
			text = string(b)
		}
		return nil
	})
	if i := strings.Index(strings.ToLower(text), "message-id:"); i >= 0 && id == "" {
		line, _, _ := strings.Cut(text[i:], "\n")
		id = messageID(line)
	}
	return text, id
}

// clean makes a server's words one line of at most 300 characters.
func clean(s string) string {
	if dec, err := (&mime.WordDecoder{}).DecodeHeader(s); err == nil {
		s = dec
	}
	s = strings.Join(strings.Fields(strings.ToValidUTF8(s, "?")), " ")
	if r := []rune(s); len(r) > 300 {
		return string(r[:300])
	}
	return s
}
