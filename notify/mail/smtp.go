package mail

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"sync"
	"time"

	gomail "github.com/wneessen/go-mail"

	"example.org/roundsman/models"
	"example.org/roundsman/notify"
)

// TLS says how the line to a server is encrypted.
type TLS string

// Ways of encryption. There is no "if it can": a line that is not encrypted
// must be asked for.
const (
	StartTLS TLS = "starttls" // RFC 3207; the default
	Implicit TLS = "tls"      // from the first byte (RFC 8314)
	NoTLS    TLS = "none"
)

// Server says how a mail server is reached.
type Server struct {
	Host     string
	Port     int // 0: 587, or 465 with Implicit
	TLS      TLS // "" is StartTLS
	User     string
	Password string        // "" with User "": no login
	Hello    string        // name in EHLO; "" is the host's own
	Timeout  time.Duration // for connecting, and for each mail; 0 is 1 minute
	Most     int           // mails on one connection; 0 is 100
	Roots    *tls.Config   // for tests and private authorities; nil: the system's
}

// Channel sends mails over SMTP.
type Channel struct {
	server Server
	writer *Writer
}

// New makes the channel to a server.
func New(s Server, w *Writer) *Channel {
	if s.TLS == "" {
		s.TLS = StartTLS
	}
	if s.Port == 0 {
		s.Port = 587
		if s.TLS == Implicit {
			s.Port = 465
		}
	}
	if s.Timeout <= 0 {
		s.Timeout = time.Minute
	}
	if s.Most <= 0 {
		s.Most = 100
	}
	return &Channel{server: s, writer: w}
}

// Name gives models.ChannelMail.
func (c *Channel) Name() models.Channel { return models.ChannelMail }

// Open connects, encrypts and logs in.
func (c *Channel) Open(ctx context.Context) (notify.Session, error) {
	s := &session{c: c}
	if err := s.dial(ctx); err != nil {
		return nil, err
	}
	return s, nil
}

// session is one connection at a time to the server; after so many mails it
// takes a fresh one.
type session struct {
	c      *Channel
	client *gomail.Client
	sent   int

	mu   sync.Mutex
	conn net.Conn // to be closed when a context ends; go-mail does not
}

func (s *session) dial(ctx context.Context) error {
	client, err := s.newClient()
	if err != nil {
		return &notify.SendError{Outcome: models.OutcomeDown, Why: models.ReasonMailSettings, Lasting: true, Err: err}
	}
	if err := client.DialWithContext(ctx); err != nil {
		s.hangUp() // go-mail leaves the connection open where the greeting or login fails
		return openError(err)
	}
	s.client, s.sent = client, 0
	return nil
}

func (s *session) newClient() (*gomail.Client, error) {
	v := s.c.server
	secure := &tls.Config{ServerName: v.Host, MinVersion: tls.VersionTLS12}
	if v.Roots != nil {
		secure = v.Roots.Clone()
		secure.ServerName = v.Host
	}
	opts := []gomail.Option{
		gomail.WithPort(v.Port), gomail.WithTimeout(v.Timeout), gomail.WithTLSConfig(secure),
		gomail.WithoutNoop(), gomail.WithDialContextFunc(s.dialer(secure)),
	}
	switch v.TLS {
	case NoTLS:
		opts = append(opts, gomail.WithTLSPolicy(gomail.NoTLS))
	case Implicit:
		opts = append(opts, gomail.WithSSL())
	default:
		opts = append(opts, gomail.WithTLSPolicy(gomail.TLSMandatory))
	}
	if v.Hello != "" {
		opts = append(opts, gomail.WithHELO(v.Hello))
	}
	if v.User != "" {
		opts = append(opts, gomail.WithSMTPAuthCustom(&login{user: v.User, password: v.Password}))
	}
	return gomail.NewClient(v.Host, opts...)
}

// dialer connects and remembers the connection.
func (s *session) dialer(secure *tls.Config) gomail.DialContextFunc {
	return func(ctx context.Context, network, address string) (net.Conn, error) {
		var d net.Dialer
		conn, err := d.DialContext(ctx, network, address)
		if err != nil {
			return nil, err
		}
		if s.c.server.TLS == Implicit {
			conn = tls.Client(conn, secure)
		}
		s.mu.Lock()
		s.conn = conn
		s.mu.Unlock()
		return conn, nil
	}
}

// hangUp closes the connection under the library.
func (s *session) hangUp() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.conn != nil {
		_ = s.conn.Close() // it may be closed already
		s.conn = nil
	}
}

// Send sends one mail. The end of the context closes the connection.
func (s *session) Send(ctx context.Context, o notify.Outgoing) (notify.Receipt, error) {
	m, err := s.c.writer.build(o)
	if err != nil {
		var e *notify.SendError
		if errors.As(err, &e) {
			return notify.Receipt{}, e
		}
		return notify.Receipt{}, &notify.SendError{Outcome: models.OutcomeTemporary, Why: models.ReasonNotComposed, Err: err}
	}
	if s.sent >= s.c.server.Most {
		if err := s.fresh(ctx); err != nil {
			return notify.Receipt{}, err
		}
	}
	stop := context.AfterFunc(ctx, s.hangUp)
	defer stop()
	err = s.client.Send(m)
	s.sent++
	if m.IsDelivered() { // whatever came after, such as a refused RSET
		if err != nil {
			s.sent = s.c.server.Most // take a fresh connection for the next
		}
		return receipt(m), nil
	}
	if err != nil {
		return notify.Receipt{}, sendError(err)
	}
	return notify.Receipt{}, classify(stepTaken, 0, "", errors.New("the library reports neither an error nor a delivery"))
}

// receipt reads the server's answer: "2.0.0 Ok: queued as 4F2A".
func receipt(m *gomail.Msg) notify.Receipt {
	answer := oneLine(m.ServerResponse())
	return notify.Receipt{Code: models.Shorten("250 "+answer, 40), PeerID: queueID(answer)}
}

// fresh takes a new connection in place of the old one.
func (s *session) fresh(ctx context.Context) error {
	_ = s.Close() // its mails are sent, whatever the old connection says
	if err := s.dial(ctx); err != nil {
		return err
	}
	return nil
}

// Close says goodbye and closes the connection.
func (s *session) Close() error {
	var err error
	if s.client != nil {
		err = s.client.Close()
		s.client = nil
	}
	s.hangUp()
	if err != nil {
		return fmt.Errorf("closing the line to the mail server: %w", err)
	}
	return nil
}
