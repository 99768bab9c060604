package mail

import (
	"errors"
	"slices"

	"github.com/wneessen/go-mail/smtp"
)

// login logs in by the best way that the server offers. The library's own
// choice does not see that a line made by our dialer is encrypted from the
// first byte.
type login struct {
	user, password string
	chosen         smtp.Auth
}

// errNoLogin is given where a server offers no way to log in that does not
// show the password.
var errNoLogin = errors.New("auth: the server offers no login that is safe on this line")

// Start chooses the way: SCRAM and CRAM-MD5 do not show the password, PLAIN
// and LOGIN do and are for encrypted lines only.
func (l *login) Start(s *smtp.ServerInfo) (proto string, toServer []byte, err error) {
	offers := func(way string) bool { return slices.Contains(s.Auth, way) }
	switch {
	case offers("SCRAM-SHA-256"):
		l.chosen = smtp.ScramSHA256Auth(l.user, l.password)
	case offers("PLAIN") && s.TLS:
		l.chosen = smtp.PlainAuth("", l.user, l.password, s.Name, false)
	case offers("LOGIN") && s.TLS:
		l.chosen = smtp.LoginAuth(l.user, l.password, s.Name, false)
	case offers("CRAM-MD5"):
		l.chosen = smtp.CRAMMD5Auth(l.user, l.password)
	default:
		return "", nil, errNoLogin
	}
	return l.chosen.Start(s)
}

// Next answers the server's challenge.
func (l *login) Next(fromServer []byte, more bool) ([]byte, error) {
	return l.chosen.Next(fromServer, more)
}
