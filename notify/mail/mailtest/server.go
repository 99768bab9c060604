// Package mailtest runs a real SMTP server on the loopback that does what the
// recipient's address asks for, so that tests can try every way in which a
// mail may go.
package mailtest

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"io"
	"math/big"
	"net"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/emersion/go-sasl"
	"github.com/emersion/go-smtp"
	"github.com/stretchr/testify/require"
)

// Mail is a mail that the server has taken.
type Mail struct {
	From string
	To   string
	Data string
}

// Options set the server up. The zero value takes everything, with STARTTLS
// and without login.
type Options struct {
	Plain    bool   // offer no encryption
	Implicit bool   // encrypt from the first byte
	User     string // a login that is asked for before a mail is taken
	Password string

	// Pause is how long the server takes over each mail before it answers the
	// final dot, as one does that flushes it to disk first.
	Pause time.Duration

	// Fault decides what happens to a mail in the stead of its address; nil
	// or "" leaves it to the address. It is called with the recipient at RCPT.
	Fault func(to string) Fault
}

// Fault is what goes wrong with a mail. As the local part of an address it
// asks for itself: temp@example.com.
type Fault string

// The faults.
const (
	Temp      Fault = "temp"       // 450 4.2.1 at RCPT
	Perm      Fault = "perm"       // 550 5.1.1 at RCPT
	TempData  Fault = "temp-data"  // 451 4.3.0 after the final dot
	PermData  Fault = "perm-data"  // 554 5.6.0 after the final dot
	Closing   Fault = "closing"    // 421 4.3.2 at RCPT
	Hang      Fault = "hang"       // no answer to RCPT
	HangData  Fault = "hang-data"  // the mail is taken and no answer given
	Drop      Fault = "drop"       // the line is cut at RCPT
	DropData  Fault = "drop-data"  // the mail is taken and the line cut in place of the answer
	DropEarly Fault = "drop-early" // the line is cut while the mail is coming in
)

// Server is a running server.
type Server struct {
	Host string
	Port int
	TLS  *tls.Config // trusts the server

	pem  []byte
	opts Options
	srv  *smtp.Server
	l    net.Listener
	stop chan struct{}

	mu      sync.Mutex
	taken   []Mail
	conns   map[*smtp.Conn]bool
	senders map[string]error // MAIL FROM addresses that are refused
	once    sync.Once
}

// Start runs a server until the test ends or Close is called.
func Start(t testing.TB, o Options) *Server {
	t.Helper()
	cert, pool := Certificate(t)
	s := &Server{opts: o, stop: make(chan struct{}), senders: map[string]error{}, conns: map[*smtp.Conn]bool{}}
	s.srv = smtp.NewServer(s)
	s.srv.Domain = "localhost"
	s.srv.ReadTimeout, s.srv.WriteTimeout = time.Minute, time.Minute
	s.srv.AllowInsecureAuth = true
	s.srv.ErrorLog = silent{}
	secure := &tls.Config{Certificates: []tls.Certificate{cert}, MinVersion: tls.VersionTLS12}
	if !o.Plain && !o.Implicit {
		s.srv.TLSConfig = secure
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	addr, ok := l.Addr().(*net.TCPAddr)
	require.True(t, ok)
	s.Host, s.Port = "127.0.0.1", addr.Port
	s.TLS = &tls.Config{RootCAs: pool, MinVersion: tls.VersionTLS12}
	if o.Implicit {
		l = tls.NewListener(l, secure)
	}
	s.l = l
	s.pem = pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: cert.Certificate[0]})
	served := make(chan struct{})
	go func() {
		defer close(served)
		_ = s.srv.Serve(l) // it ends by Close
	}()
	t.Cleanup(func() { s.Close(); <-served })
	return s
}

type silent struct{}

func (silent) Printf(string, ...any) {}
func (silent) Println(...any)        {}

// Close ends the server and cuts all lines.
func (s *Server) Close() {
	s.once.Do(func() {
		close(s.stop)
		_ = s.l.Close()   // the server may not know its listener yet
		_ = s.srv.Close() // lines that are cut complain
	})
}

// Refuse makes the server answer MAIL FROM an address with an error.
func (s *Server) Refuse(sender string, code int, enhanced smtp.EnhancedCode) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.senders[sender] = &smtp.SMTPError{Code: code, EnhancedCode: enhanced, Message: "sender refused"}
}

// PEM gives the server's certificate, for clients in other processes.
func (s *Server) PEM() []byte { return s.pem }

// Taken gives the mails that the server has taken, in order.
func (s *Server) Taken() []Mail {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]Mail(nil), s.taken...)
}

// Connections gives how many connections there have been.
func (s *Server) Connections() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.conns)
}

// NewSession begins a talk.
func (s *Server) NewSession(c *smtp.Conn) (smtp.Session, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.conns[c] = true // a talk begins anew after STARTTLS
	return &session{s: s, conn: c, in: s.opts.User == ""}, nil
}

type session struct {
	s        *Server
	conn     *smtp.Conn
	in       bool
	from, to string
	fault    Fault
}

func (x *session) AuthMechanisms() []string {
	if x.s.opts.User == "" {
		return nil
	}
	return []string{sasl.Plain}
}

func (x *session) Auth(string) (sasl.Server, error) {
	return sasl.NewPlainServer(func(_, user, password string) error {
		if user != x.s.opts.User || password != x.s.opts.Password {
			return &smtp.SMTPError{Code: 535, EnhancedCode: smtp.EnhancedCode{5, 7, 8}, Message: "no such login"}
		}
		x.in = true
		return nil
	}), nil
}

func (x *session) Mail(from string, _ *smtp.MailOptions) error {
	if !x.in {
		return &smtp.SMTPError{Code: 530, EnhancedCode: smtp.EnhancedCode{5, 7, 0}, Message: "log in first"}
	}
	x.s.mu.Lock()
	defer x.s.mu.Unlock()
	x.from = from
	return x.s.senders[from]
}

func (x *session) Rcpt(to string, _ *smtp.RcptOptions) error {
	x.to = to
	local, _, _ := strings.Cut(to, "@")
	x.fault = Fault(local)
	if x.s.opts.Fault != nil {
		x.fault = x.s.opts.Fault(to)
	}
	switch x.fault {
	case Temp:
		return &smtp.SMTPError{Code: 450, EnhancedCode: smtp.EnhancedCode{4, 2, 1}, Message: "mailbox busy"}
	case Perm:
		return &smtp.SMTPError{Code: 550, EnhancedCode: smtp.EnhancedCode{5, 1, 1}, Message: "no such mailbox"}
	case Closing:
		return &smtp.SMTPError{Code: 421, EnhancedCode: smtp.EnhancedCode{4, 3, 2}, Message: "closing"}
	case Hang:
		<-x.s.stop
	case Drop:
		return x.cut()
	}
	return nil
}

// cut closes the line without an answer.
func (x *session) cut() error {
	_ = x.conn.Conn().Close()
	return errors.New("cut")
}

func (x *session) Data(r io.Reader) error {
	if x.fault == DropEarly {
		return x.cut()
	}
	b, err := io.ReadAll(r)
	if err != nil {
		return err
	}
	switch x.fault {
	case TempData:
		return &smtp.SMTPError{Code: 451, EnhancedCode: smtp.EnhancedCode{4, 3, 0}, Message: "error"}
	case PermData:
		return &smtp.SMTPError{Code: 554, EnhancedCode: smtp.EnhancedCode{5, 6, 0}, Message: "content refused"}
	}
	time.Sleep(x.s.opts.Pause)
	x.s.mu.Lock()
	x.s.taken = append(x.s.taken, Mail{From: x.from, To: x.to, Data: string(b)})
	x.s.mu.Unlock()
	switch x.fault {
	case DropData:
		return x.cut()
	case HangData:
		<-x.s.stop
	}
	return nil
}

func (x *session) Reset() { x.from, x.to, x.fault = "", "", "" }

func (x *session) Logout() error { return nil }

// Certificate makes a certificate for the loopback and a pool that trusts it.
func Certificate(t testing.TB) (tls.Certificate, *x509.CertPool) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	template := &x509.Certificate{
		SerialNumber: big.NewInt(1), NotBefore: time.Unix(0, 0), NotAfter: time.Unix(1<<33, 0),
		IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}, DNSNames: []string{"localhost"},
		IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageDigitalSignature | x509.KeyUsageCertSign,
	}
	der, err := x509.CreateCertificate(rand.Reader, template, template, &key.PublicKey, key)
	require.NoError(t, err)
	leaf, err := x509.ParseCertificate(der)
	require.NoError(t, err)
	pool := x509.NewCertPool()
	pool.AddCert(leaf)
	return tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key, Leaf: leaf}, pool
}
