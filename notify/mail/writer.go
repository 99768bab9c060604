package mail

import (
	"bytes"
	"crypto"
	"fmt"
	"net/mail"
	"regexp"
	"strconv"
	"strings"

	gomail "github.com/wneessen/go-mail"

	"example.org/roundsman/models"
	"example.org/roundsman/notify"
	"example.org/roundsman/notify/message"
)

// Writer makes mails of messages.
type Writer struct {
	Name     string // of the shop, as the sender's name
	Address  string // the sender's address
	ReplyTo  string // where answers go; "" is Address
	Envelope string // where bounces go; {id} in it is the message's number; "" is Address
	Domain   string // right side of Message-IDs; "" is that of Address

	// Unsubscribe gives the https address at which one POST ends the mails
	// to a message's contact (RFC 8058); nil or "" is none.
	Unsubscribe func(models.Message) string

	Signing *Signing // nil: mails are not signed
	Clock   models.Clock
}

// Signing is what signs mails (RFC 6376).
type Signing struct {
	Domain   string
	Selector string
	Key      crypto.Signer
}

// NewSigning reads a private key in PEM form (RSA or Ed25519).
func NewSigning(domain, selector, pem string) (*Signing, error) {
	key, err := gomail.PrivKeyFromPEM([]byte(pem))
	if err != nil {
		return nil, &models.Error{Code: models.CodeInvalid, Message: "the signing key of mails cannot be read",
			Remedy: "give an RSA or Ed25519 private key in PEM form", Err: err}
	}
	return &Signing{Domain: domain, Selector: selector, Key: key}, nil
}

// Bytes gives a message as a mail, as it goes over the line.
func (w *Writer) Bytes(o notify.Outgoing) ([]byte, error) {
	m, err := w.build(o)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if _, err := m.WriteTo(&b); err != nil {
		return nil, fmt.Errorf("writing a mail: %w", err)
	}
	return b.Bytes(), nil
}

// MessageID gives the Message-ID of a message without angle brackets.
func (w *Writer) MessageID(m models.Message) string {
	domain := w.Domain
	if domain == "" {
		_, domain, _ = strings.Cut(w.Address, "@")
	}
	return message.MessageID(m.Key, domain)
}

// BounceID names a message in an address: its number, and some letters made of
// its key that who was not sent the mail does not know.
func BounceID(m models.Message) string {
	return strconv.FormatInt(m.ID, 10) + "-" + message.MessageID(m.Key, "")[:8]
}

// build makes the mail. An address that is not one is a permanent
// *notify.SendError.
func (w *Writer) build(o notify.Outgoing) (*gomail.Msg, error) {
	m := gomail.NewMsg(gomail.WithNoDefaultUserAgent(), gomail.WithCharset(gomail.CharsetUTF8), gomail.WithEncoding(gomail.EncodingQP))
	if err := w.address(m, o); err != nil {
		return nil, err
	}
	m.Subject(oneLine(o.Composed.Subject))
	m.SetMessageIDWithValue(w.MessageID(o.Message))
	m.SetDateWithValue(w.Clock.Now())
	w.automatic(m, o.Message)
	if o.Language != "" {
		m.SetGenHeader(gomail.HeaderContentLang, oneLine(o.Language))
	}
	oneClick, err := w.unsubscribe(m, o.Message)
	if err != nil {
		return nil, err
	}
	if o.Composed.Calendar == "" { // one level of parts: the same message gives the same bytes
		id, _, _ := strings.Cut(w.MessageID(o.Message), "@")
		m.SetBoundary("part-" + id) // the library writes it unquoted: no tspecials (RFC 2045 section 5.1)
	}
	m.SetBodyString(gomail.TypeTextPlain, o.Composed.Text)
	if o.Composed.HTML != "" {
		m.AddAlternativeString(gomail.TypeTextHTML, o.Composed.HTML)
	}
	if cal := o.Composed.Calendar; cal != "" {
		kind := gomail.ContentType("text/calendar; method=" + method(cal))
		m.AddAlternativeString(kind, cal, gomail.WithPartEncoding(gomail.EncodingB64))
		if err := m.AttachReader("visit.ics", strings.NewReader(cal), gomail.WithFileContentType("text/calendar")); err != nil {
			return nil, fmt.Errorf("attaching a calendar: %w", err)
		}
	}
	if s := w.Signing; s != nil {
		m.SetDKIM(w.signer(s, oneClick))
	}
	return m, nil
}

// address sets sender, recipient and the way back.
func (w *Writer) address(m *gomail.Msg, o notify.Outgoing) error {
	fill := func(s string) string { return strings.ReplaceAll(s, "{id}", BounceID(o.Message)) }
	from, err := bareAddress(oneLine(w.Name), w.Address)
	if err != nil {
		return &notify.SendError{Outcome: models.OutcomeDown, Why: models.ReasonShopAddress, Lasting: true, Err: err}
	}
	m.FromMailAddress(from)
	if w.Envelope != "" {
		if err := m.EnvelopeFrom(fill(w.Envelope)); err != nil {
			return &notify.SendError{Outcome: models.OutcomeDown, Why: models.ReasonBounceAddress, Lasting: true, Err: err}
		}
	}
	if w.ReplyTo != "" && w.ReplyTo != w.Address {
		if err := m.ReplyTo(fill(w.ReplyTo)); err != nil {
			return &notify.SendError{Outcome: models.OutcomeDown, Why: models.ReasonAnswerAddress, Lasting: true, Err: err}
		}
	}
	to, err := bareAddress(oneLine(o.To), o.Address)
	if err != nil {
		return &notify.SendError{Outcome: models.OutcomePermanent, Why: models.ReasonBadAddress, Err: err}
	}
	m.AddToMailAddress(to)
	return nil
}

// bareAddress gives an address with a name, where it is an address and
// nothing else.
func bareAddress(name, address string) (*mail.Address, error) {
	a, err := mail.ParseAddress(address)
	if err != nil {
		return nil, err
	}
	if a.Address != address {
		return nil, fmt.Errorf("%q is more than an address", address)
	}
	a.Name = name
	return a, nil
}

// automatic says that no person wrote the mail, so that no vacation program
// answers it, and what it answers, if anything (RFC 3834 sections 3.1.7, 5).
func (w *Writer) automatic(m *gomail.Msg, msg models.Message) {
	if !answers(msg.Purpose) {
		m.SetGenHeader("Auto-Submitted", "auto-generated")
		return
	}
	m.SetGenHeader("Auto-Submitted", "auto-replied")
	// What is answered is known by the key of the reply: a mail's is its Message-ID.
	if ref, ok := strings.CutPrefix(msg.InReplyTo, "mail/"); ok && messageID.MatchString(ref) {
		m.SetGenHeaderPreformatted(gomail.HeaderInReplyTo, "<"+ref+">")
		m.SetGenHeaderPreformatted(gomail.HeaderReferences, "<"+ref+">")
	}
}

// messageID is the usual form of a Message-ID (RFC 5322, 3.6.4), which has one
// "@"; a mail without one is known by a hash of it.
var messageID = regexp.MustCompile(`^[^\s<>@]+@[^\s<>@]+$`)

// answers says whether messages of a purpose answer what somebody sent.
func answers(p models.Purpose) bool {
	switch p {
	case models.PurposeAnswer, models.PurposeStopped, models.PurposeStarted, models.PurposeHelp:
		return true
	}
	return false
}

// unsubscribe tells mail programs how to end the mails: by one POST where the
// shop has a public address (RFC 8058), and always by a mail that says STOP
// (RFC 2369).
func (w *Writer) unsubscribe(m *gomail.Msg, msg models.Message) (oneClick bool, err error) {
	if msg.Contact == "" || answers(msg.Purpose) {
		return false, nil
	}
	back := w.ReplyTo
	if back == "" {
		back = w.Address
	}
	byMail := "mailto:" + strings.ReplaceAll(back, "{id}", BounceID(msg)) + "?subject=STOP"
	if w.Unsubscribe != nil {
		if link := w.Unsubscribe(msg); link != "" {
			if err := m.SetListUnsubscribeOneClick(link, byMail); err != nil {
				return false, &notify.SendError{Outcome: models.OutcomeDown, Why: models.ReasonPublicAddress, Lasting: true, Err: err}
			}
			return true, nil
		}
	}
	m.SetListUnsubscribe(byMail)
	return false, nil
}

// oneLine keeps line breaks out of headers.
func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// method reads the METHOD of an iCalendar text; PUBLISH where it has none.
func method(cal string) string {
	for line := range strings.Lines(cal) {
		if v, ok := strings.CutPrefix(strings.TrimRight(line, "\r\n"), "METHOD:"); ok {
			return v
		}
	}
	return "PUBLISH"
}

// signer makes the signer of one mail. Which headers it signs must fit one
// line with their tag: the library folds a longer list in the middle of a
// name but signs it unfolded, and nobody can verify that (go-mail v0.8.1). So
// a mail with one-click has the two headers that RFC 8058 section 4 wants
// signed, and others the way back and the form of the content.
func (w *Writer) signer(s *Signing, oneClick bool) *gomail.DKIMSigner {
	d := gomail.NewDKIMSigner(s.Domain, s.Selector, s.Key)
	d.NowFunc = w.Clock.Now
	if oneClick {
		d.SignHeaders("From", "To", "Subject", "Date", "Message-ID", "List-Unsubscribe", "List-Unsubscribe-Post")
	} else {
		d.SignHeaders("From", "To", "Subject", "Date", "Message-ID", "Reply-To", "MIME-Version", "Content-Type")
	}
	return d
}
