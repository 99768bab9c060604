package gateway

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"mime"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/sms"
)

// Header names of the signature, unless set otherwise.
const (
	SignatureHeader = "X-Signature"      // hexadecimal HMAC-SHA256
	TimeHeader      = "X-Signature-Time" // seconds since 1970, UTC
)

// Fields names the fields of what the provider posts: dotted paths in JSON,
// names in a form. "" takes the name beside it.
type Fields struct {
	ID    string // "id"
	From  string // "from"
	To    string // "to"
	Text  string // "text"
	State string // "state": a report on a message that went out, where it is there
}

// Hook is an http.Handler for what the provider posts. Nothing of a request
// is looked at before its signature is found right.
type Hook struct {
	Secret    []byte        // shared with the provider; at least 16 octets
	Previous  []byte        // an older secret that still counts, while it is changed; nil: none
	Tolerance time.Duration // how far the signed time may be off; 0: 5 minutes
	Signature string        // header name; "" is SignatureHeader
	Time      string        // header name; "" is TimeHeader
	Fields    Fields
	Delivered []string // values of State that mean delivered; nil: "delivered"
	Failed    []string // those that mean it never will be; nil: "undelivered", "failed", "expired", "rejected"
	Handler   sms.Handler
	Clock     models.Clock
	Log       *slog.Logger // nil: none

	mu   sync.Mutex
	seen map[string]time.Time // signatures handled, by when they expire
}

// minSecret is the least length of a secret, in octets (RFC 2104, 3, asks for
// the length of the hash; half of it is still beyond guessing).
const minSecret = 16

// Check says whether the hook can be used; its error is a models.Error.
func (h *Hook) Check() error {
	if err := CheckSecret(h.Secret); err != nil {
		return err
	}
	if h.Previous != nil {
		if err := CheckSecret(h.Previous); err != nil {
			return err
		}
	}
	if h.Handler == nil || h.Clock == nil {
		return errors.New("gateway: hook without handler or clock")
	}
	return nil
}

// CheckSecret refuses a secret that could be guessed.
func CheckSecret(secret []byte) error {
	if len(secret) < minSecret {
		return models.Errorf(models.CodeInvalid, "take 16 characters or more, by chance", "the text gateway's secret is too short")
	}
	return nil
}

// Sign gives the signature of a body at a time: the hexadecimal HMAC-SHA256
// (RFC 2104) of the time in seconds, a line feed and the body.
func Sign(secret []byte, seconds int64, body []byte) string {
	m := hmac.New(sha256.New, secret)
	_, _ = fmt.Fprintf(m, "%d\n", seconds) // a hash takes everything
	_, _ = m.Write(body)
	return hex.EncodeToString(m.Sum(nil))
}

// ServeHTTP takes a signed POST and answers 204 when what it brings is
// stored, 401 to a wrong signature, and 503 when it could not be stored, so
// that the provider posts it again. A request that was handled before is
// answered and not handled again.
func (h *Hook) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if r.Method != http.MethodPost {
		w.Header().Set("Allow", http.MethodPost)
		http.Error(w, "post only", http.StatusMethodNotAllowed)
		return
	}
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, maxAnswer))
	if err != nil {
		http.Error(w, "body too long or cut short", http.StatusRequestEntityTooLarge)
		return
	}
	signature, ok := h.verify(r.Header, body)
	if !ok {
		http.Error(w, "not signed", http.StatusUnauthorized)
		return
	}
	get, ok := reader(r.Header.Get("Content-Type"), body)
	if !ok {
		http.Error(w, "send JSON or a form", http.StatusUnsupportedMediaType)
		return
	}
	if h.handled(signature) {
		w.WriteHeader(http.StatusNoContent)
		return
	}
	if err := h.store(r, get); err != nil {
		h.log().Warn("text from the gateway not stored", "err", err)
		http.Error(w, "not stored, post it again", http.StatusServiceUnavailable)
		return
	}
	h.remember(signature)
	w.WriteHeader(http.StatusNoContent)
}

func (h *Hook) log() *slog.Logger {
	if h.Log == nil {
		return slog.New(slog.DiscardHandler)
	}
	return h.Log
}

func or(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}

// verify compares signatures in constant time, and then the time.
func (h *Hook) verify(header http.Header, body []byte) (signature string, ok bool) {
	if h.Check() != nil {
		return "", false
	}
	signature = strings.ToLower(header.Get(or(h.Signature, SignatureHeader)))
	at, err := strconv.ParseInt(header.Get(or(h.Time, TimeHeader)), 10, 64)
	if err != nil || at < 0 || at > 1<<40 {
		return "", false
	}
	right := hmac.Equal([]byte(signature), []byte(Sign(h.Secret, at, body)))
	if !right && h.Previous != nil {
		right = hmac.Equal([]byte(signature), []byte(Sign(h.Previous, at, body)))
	}
	if !right {
		return "", false
	}
	off := h.Clock.Now().Sub(time.Unix(at, 0))
	return signature, off.Abs() <= h.tolerance()
}

func (h *Hook) tolerance() time.Duration {
	if h.Tolerance <= 0 {
		return 5 * time.Minute
	}
	return h.Tolerance
}

// handled says whether a request was handled before. One older than the
// tolerance is refused by its time, so no longer memory is needed.
func (h *Hook) handled(signature string) bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	_, ok := h.seen[signature]
	return ok
}

func (h *Hook) remember(signature string) {
	h.mu.Lock()
	defer h.mu.Unlock()
	now := h.Clock.Now()
	if h.seen == nil {
		h.seen = map[string]time.Time{}
	}
	for s, until := range h.seen {
		if now.After(until) {
			delete(h.seen, s)
		}
	}
	h.seen[signature] = now.Add(2 * h.tolerance())
}

// reader gives the fields of a body by its type; false for others.
func reader(contentType string, body []byte) (get func(path string) string, ok bool) {
	kind, _, err := mime.ParseMediaType(contentType)
	if err != nil {
		return nil, false
	}
	switch kind {
	case "application/json":
		var doc any
		if err := json.Unmarshal(body, &doc); err != nil {
			return nil, false
		}
		return func(path string) string {
			s, _ := field(doc, path)
			return s
		}, true
	case "application/x-www-form-urlencoded":
		form, err := url.ParseQuery(string(body))
		return form.Get, err == nil
	}
	return nil, false
}

// store hands on a text, or a report where the state field is there.
func (h *Hook) store(r *http.Request, get func(string) string) error {
	id := get(or(h.Fields.ID, "id"))
	from, to := get(or(h.Fields.From, "from")), get(or(h.Fields.To, "to"))
	if state := get(or(h.Fields.State, "state")); state != "" {
		report := sms.Report{Address: number(to), State: models.Shorten(state, 60)}
		if id != "" {
			report.PeerIDs = []string{id}
		}
		report.Delivered = among(state, h.Delivered, "delivered")
		report.Final = report.Delivered || among(state, h.Failed, "undelivered", "failed", "expired", "rejected")
		return h.Handler.Report(r.Context(), report)
	}
	return h.Handler.Incoming(r.Context(), sms.Incoming{ID: id, From: number(from), To: number(to),
		Text: get(or(h.Fields.Text, "text"))})
}

// among says whether a word is one of a list, or of the usual one where there
// is none; case does not count.
func among(word string, list []string, usual ...string) bool {
	if list == nil {
		list = usual
	}
	return slices.ContainsFunc(list, func(w string) bool { return strings.EqualFold(w, word) })
}

// number writes a number of digits alone with its plus.
func number(s string) string {
	s = strings.TrimSpace(s)
	if models.ValidMobile("+" + s) {
		return "+" + s
	}
	return s
}
