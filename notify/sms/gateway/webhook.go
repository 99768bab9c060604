package gateway

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"mime"
	"net/http"
	"net/url"
	"path"
	"slices"
	"strconv"
	"strings"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/sms"
)

// Header names of the signature, unless set otherwise.
const (
	SignatureHeader = "X-Signature"      // hexadecimal HMAC-SHA256
	TimeHeader      = "X-Signature-Time" // seconds since 1970, UTC
)

// Way is how a provider shows with what it posts that it has the secret.
type Way string

// Ways. Only the first one tells a request that is played again from a new
// one; the others rest on the line being encrypted.
const (
	SignTime  Way = "time"  // HMAC-SHA256 over time, line feed and body; "" too
	SignBody  Way = "body"  // HMAC-SHA256 over the body, hexadecimal or base64, "sha256=" before it or not
	BasicAuth Way = "basic" // the secret as password (RFC 7617), whatever the user
	InPath    Way = "path"  // the secret as the last step of the path
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
	Way       Way           // how the secret comes
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
	return hex.EncodeToString(sum(secret, append(fmt.Appendf(nil, "%d\n", seconds), body...)))
}

// ServeHTTP takes a signed POST and answers 204 when what it brings is
// stored, 401 to a wrong signature, and 503 when it could not be stored, so
// that the provider posts it again. What comes twice has the same id.
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
	signature, ok := h.verify(r, body)
	if !ok {
		http.Error(w, "not signed", http.StatusUnauthorized)
		return
	}
	get, ok := reader(r.Header.Get("Content-Type"), body)
	if !ok {
		http.Error(w, "send JSON or a form", http.StatusUnsupportedMediaType)
		return
	}
	if err := h.store(r, signature, get); err != nil {
		h.log().Warn("text from the gateway not stored", "err", err)
		http.Error(w, "not stored, post it again", http.StatusServiceUnavailable)
		return
	}
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

// verify sees, in constant time, that a request bears the secret. name is the
// signature where no other request has it: what bears it again is a copy.
func (h *Hook) verify(r *http.Request, body []byte) (name string, ok bool) {
	if h.Check() != nil {
		return "", false
	}
	given := r.Header.Get(or(h.Signature, SignatureHeader))
	switch h.Way {
	case SignBody:
		mac, ok := signatureIn(given)
		return "", ok && h.known(func(secret []byte) bool { return hmac.Equal(mac, sum(secret, body)) })
	case BasicAuth:
		_, password, ok := r.BasicAuth()
		return "", ok && h.known(func(secret []byte) bool { return same(password, secret) })
	case InPath:
		_, last := path.Split(r.URL.Path)
		return "", h.known(func(secret []byte) bool { return same(last, secret) })
	}
	at, err := strconv.ParseInt(r.Header.Get(or(h.Time, TimeHeader)), 10, 64)
	if err != nil || at < 0 || at > 1<<40 {
		return "", false
	}
	given = strings.ToLower(given)
	if !h.known(func(secret []byte) bool { return hmac.Equal([]byte(given), []byte(Sign(secret, at, body))) }) {
		return "", false
	}
	return given, h.Clock.Now().Sub(time.Unix(at, 0)).Abs() <= h.tolerance()
}

// known says whether one of the secrets fits.
func (h *Hook) known(fits func(secret []byte) bool) bool {
	return fits(h.Secret) || h.Previous != nil && fits(h.Previous)
}

// same compares what was given with a secret, without telling by the time it
// takes how much of it fits.
func same(given string, secret []byte) bool {
	a, b := sha256.Sum256([]byte(given)), sha256.Sum256(secret)
	return hmac.Equal(a[:], b[:])
}

// signatureIn reads the forms in which an HMAC-SHA256 is written.
func signatureIn(s string) (mac []byte, ok bool) {
	s = strings.TrimPrefix(s, "sha256=")
	if mac, err := hex.DecodeString(s); err == nil && len(mac) == sha256.Size {
		return mac, true
	}
	mac, err := base64.StdEncoding.DecodeString(s)
	return mac, err == nil && len(mac) == sha256.Size
}

// sum gives the HMAC-SHA256 of data (RFC 2104).
func sum(secret, data []byte) []byte {
	m := hmac.New(sha256.New, secret)
	_, _ = m.Write(data) // a hash takes everything
	return m.Sum(nil)
}

func (h *Hook) tolerance() time.Duration {
	if h.Tolerance <= 0 {
		return 5 * time.Minute
	}
	return h.Tolerance
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

// store hands on a text, or a report where the state field is there. A text
// without an id of the provider's is known by its signature, else it is a new
// one: the same words may be said twice.
func (h *Hook) store(r *http.Request, signature string, get func(string) string) error {
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
	if id == "" {
		id = or(signature, rand.Text())
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
