package web

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"errors"
	"time"

	"example.org/roundsman/models"
)

// linkDays is how long an owner's link works, in days.
const linkDays = 60

// feedDays is how long the address of a calendar works, in days.
const feedDays = 5 * 365

// Links makes and reads owners' links: the contact and the moment of giving
// out under a signature (HMAC-SHA-256, RFC 2104, cut to 128 bits). Nothing is
// stored for a link; a contact's links are withdrawn by the moment up to which
// they count no more.
type Links struct {
	key     []byte
	purpose string // links of one purpose open nothing of another
	days    int
}

// NewLinks takes the key that signs, at least 32 bytes.
func NewLinks(key []byte) (Links, error) {
	if len(key) < 32 {
		return Links{}, errors.New("the key that signs owners' links has fewer than 32 bytes")
	}
	return Links{key: key, purpose: "owner's link", days: linkDays}, nil
}

// feeds are the addresses of calendars, signed with the same key.
func (l Links) feeds() Links { return Links{key: l.key, purpose: "calendar", days: feedDays} }

// macSize is the length of a signature in bytes.
const macSize = 16

// Make gives the link of a contact given out at a moment.
func (l Links) Make(contact string, at models.Instant) string {
	body := binary.BigEndian.AppendUint64(nil, uint64(at))
	body = append(body, contact...)
	return base64.RawURLEncoding.EncodeToString(append(l.mac(body), body...))
}

// Read gives the contact of a link and when it was given out. ok is false for
// one that was altered, made up, or has expired.
func (l Links) Read(link string, now models.Instant) (contact string, given models.Instant, ok bool) {
	raw, err := base64.RawURLEncoding.Strict().DecodeString(link)
	if err != nil || len(raw) < macSize+8 || !hmac.Equal(raw[:macSize], l.mac(raw[macSize:])) {
		return "", 0, false
	}
	body := raw[macSize:]
	given = models.Instant(binary.BigEndian.Uint64(body))
	if now > given.Add(time.Duration(l.days)*24*time.Hour) {
		return "", 0, false
	}
	return string(body[8:]), given, true
}

func (l Links) mac(body []byte) []byte {
	m := hmac.New(sha256.New, l.key)
	m.Write([]byte(l.purpose + "\x00"))
	m.Write(body)
	return m.Sum(nil)[:macSize]
}
