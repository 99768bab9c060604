package mailbox

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"html"
	"io"
	netmail "net/mail"
	"regexp"
	"strings"
	"time"

	"github.com/emersion/go-message"
	_ "github.com/emersion/go-message/charset" // words in other charsets
	"github.com/emersion/go-message/mail"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/inbox/bounce"
)

// Mail is a mail that came in.
type Mail struct {
	Reply  models.Reply
	Bounce *bounce.Report // the report that it is; nil for none
}

// Limits of what is read of a mail.
const (
	maxBody = 256 << 10 // octets of words
	maxText = 8000      // characters kept
	maxAge  = 14 * 24 * time.Hour
)

// Read reads a mail that came in at a time. What cannot be made out is left
// empty: a mail is never refused, since a person can still look at it.
func Read(raw []byte, now time.Time) Mail {
	m := Mail{Reply: models.Reply{Channel: models.ChannelMail, ReceivedAt: models.InstantOf(now)}}
	m.Reply.Key = keyOf(raw, "")
	if rep, ok, err := bounce.Parse(bytes.NewReader(raw)); err == nil && ok {
		m.Bounce = &rep
	}
	e, err := message.Read(bytes.NewReader(raw))
	if err != nil && !message.IsUnknownCharset(err) && !message.IsUnknownEncoding(err) {
		m.Reply.Text = shorten(string(raw))
		return m
	}
	h := mail.Header{Header: e.Header}
	r := &m.Reply
	if id, err := h.MessageID(); err == nil && id != "" {
		r.Key = keyOf(nil, id)
	}
	r.From = firstAddress(h, "From")
	if r.From == "" {
		r.From = firstAddress(h, "Sender")
	}
	for _, field := range []string{"Delivered-To", "X-Original-To", "To"} {
		if r.To = firstAddress(h, field); r.To != "" {
			break
		}
	}
	if m.Bounce != nil {
		m.Bounce.SentTo = r.To
	}
	if s, err := h.Subject(); err == nil {
		r.Subject = models.Shorten(strings.Join(strings.Fields(s), " "), 200)
	}
	r.AnswersTo = answersTo(h)
	r.Automatic = m.Bounce != nil || automatic(h)
	if t, err := h.Date(); err == nil && t.Before(now) && now.Sub(t) < maxAge {
		r.ReceivedAt = models.InstantOf(t) // a mail may have waited while the service was off
	}
	said, attached := words(e)
	r.Text = shorten(models.WithAttached(shorten(Own(said)), attached))
	return m
}

func keyOf(raw []byte, id string) string {
	if id != "" && len(id) <= 250 {
		return "mail/" + id
	}
	sum := sha256.Sum256(append(raw, id...))
	return "mail/" + hex.EncodeToString(sum[:16])
}

func shorten(s string) string {
	return models.Shorten(strings.TrimSpace(strings.ToValidUTF8(s, "\uFFFD")), maxText)
}

// firstAddress gives the first plain address of a field, as it is compared:
// in lower case. Addresses written against the rules are taken where one can
// still be seen.
func firstAddress(h mail.Header, field string) string {
	if list, err := h.AddressList(field); err == nil && len(list) > 0 {
		return strings.ToLower(list[0].Address)
	}
	s := h.Get(field)
	if i, j := strings.LastIndex(s, "<"), strings.LastIndex(s, ">"); i >= 0 && j > i {
		s = s[i+1 : j]
	}
	if a, err := netmail.ParseAddress(strings.TrimSpace(s)); err == nil {
		return strings.ToLower(a.Address)
	}
	return ""
}

// answersTo gives the Message-ID of the mail that is answered: In-Reply-To,
// or the last of References (RFC 5322, 3.6.4).
func answersTo(h mail.Header) string {
	if ids, err := h.MsgIDList("In-Reply-To"); err == nil && len(ids) > 0 {
		return ids[0]
	}
	if ids, err := h.MsgIDList("References"); err == nil && len(ids) > 0 {
		return ids[len(ids)-1]
	}
	return ""
}

// automatic knows answers that no person wrote: RFC 3834, 5 (any
// Auto-Submitted but "no"), an empty return path (RFC 5321, 4.5.5), lists (RFC
// 2919), and fields of common programs (common practice, no source).
func automatic(h mail.Header) bool {
	if v, _, _ := strings.Cut(strings.ToLower(h.Get("Auto-Submitted")), ";"); strings.TrimSpace(v) != "" && strings.TrimSpace(v) != "no" {
		return true
	}
	switch strings.ToLower(strings.TrimSpace(h.Get("Precedence"))) {
	case "bulk", "junk", "list", "auto_reply", "auto-reply":
		return true
	}
	for _, field := range []string{"List-Id", "List-Unsubscribe", "X-Autoreply", "X-Autorespond", "X-Auto-Reply-From"} {
		if h.Has(field) {
			return true
		}
	}
	from := strings.ToLower(h.Get("From"))
	return strings.TrimSpace(h.Get("Return-Path")) == "<>" || strings.Contains(from, "mailer-daemon@") ||
		strings.Contains(from, "noreply@") || strings.Contains(from, "no-reply@")
}

// errFound ends a walk.
var errFound = errors.New("found")

// words gives a mail's text: the first plain part that says anything, else the
// first HTML part as text; and what is attached, by its names.
func words(e *message.Entity) (text string, attached []string) {
	var plain, rich string
	walked := 0
	err := e.Walk(func(_ []int, p *message.Entity, err error) error {
		if walked++; walked > 50 {
			return errFound
		}
		if err != nil && !message.IsUnknownCharset(err) && !message.IsUnknownEncoding(err) {
			return nil // a part that cannot be read says nothing
		}
		kind, params, err := p.Header.ContentType()
		if err != nil {
			kind = "text/plain"
		}
		disposition, names, _ := p.Header.ContentDisposition()
		switch {
		case strings.HasPrefix(kind, "multipart/"), kind == "application/pgp-signature", kind == "application/pkcs7-signature":
			return nil
		case disposition == "attachment", kind != "text/plain" && kind != "text/html":
			attached = append(attached, attachment(p, kind, cmp.Or(names["filename"], params["name"])))
			return nil
		case plain != "", kind == "text/html" && rich != "":
			return nil
		}
		b, _ := io.ReadAll(io.LimitReader(p.Body, maxBody)) // what there is of it
		if kind == "text/html" {
			rich = fromHTML(string(b))
			return nil
		}
		plain = strings.TrimSpace(string(b))
		return nil
	})
	if err != nil && !errors.Is(err, errFound) && plain == "" && rich == "" {
		return "", attached
	}
	return cmp.Or(plain, rich), attached
}

// attachment says in few words what is attached: the answer to an invitation
// by what it answers (RFC 5545, 3.2.12), all else by its name or kind.
func attachment(p *message.Entity, kind, name string) string {
	if kind == "text/calendar" {
		b, _ := io.ReadAll(io.LimitReader(p.Body, maxBody))
		if m := partStat.FindSubmatch(b); m != nil {
			return "invitation " + strings.ToLower(string(m[1]))
		}
	}
	return models.Shorten(strings.Join(strings.Fields(cmp.Or(name, kind)), " "), 80)
}

var partStat = regexp.MustCompile(`(?i)PARTSTAT=(ACCEPTED|DECLINED|TENTATIVE)`)

var (
	hidden   = regexp.MustCompile(`(?is)<(style|script|head|title)\b.*?</(style|script|head|title)\s*>|<!--.*?-->`)
	quoted   = regexp.MustCompile(`(?is)<blockquote\b.*|<div[^>]*\b(class|id)\s*=\s*["']?[^"'>]*(gmail_quote|moz-cite-prefix|yahoo_quoted|appendonsend|divRplyFwdMsg)\b.*`)
	lineTags = regexp.MustCompile(`(?i)<(br|/p|/div|/tr|/li|/h[1-6])\b[^>]*>`)
	anyTag   = regexp.MustCompile(`(?s)<[^>]*>`)
)

// fromHTML gives the words of an HTML text, less what it quotes.
func fromHTML(s string) string {
	s = hidden.ReplaceAllString(s, "")
	s = quoted.ReplaceAllString(s, "")
	s = strings.ReplaceAll(strings.ReplaceAll(s, "\r", ""), "\n", " ")
	s = lineTags.ReplaceAllString(s, "\n")
	s = html.UnescapeString(anyTag.ReplaceAllString(s, ""))
	lines := strings.Split(s, "\n")
	for i, l := range lines {
		lines[i] = strings.Join(strings.Fields(l), " ")
	}
	return strings.Join(lines, "\n")
}
