package mail_test

import (
	"bytes"
	"context"
	"errors"
	"net"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-smtp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/notify"
	"example.org/roundsman/notify/mail"
	"example.org/roundsman/notify/mail/mailtest"
	"example.org/roundsman/notify/notifytest"
)

func writer() *mail.Writer {
	return &mail.Writer{Name: "Juniper Creek Service", Address: "desk@example.org", ReplyTo: "reply+{id}@example.org",
		Envelope: "bounce+{id}@example.org", Clock: notifytest.NewClock(notifytest.Noon)}
}

func channel(s *mailtest.Server, change func(*mail.Server)) *mail.Channel {
	v := mail.Server{Host: s.Host, Port: s.Port, Roots: s.TLS, Hello: "shop.example.org", Timeout: 5 * time.Second}
	if change != nil {
		change(&v)
	}
	return mail.New(v, writer())
}

func letter(to string) notify.Outgoing {
	return notify.Outgoing{To: "Ana Núñez", Message: models.Message{
		ID: 7, Key: "k/" + to, Contact: "c1", Channel: models.ChannelMail, Address: to, Purpose: models.PurposeNotices,
		Language: "es", Composed: models.Composed{Subject: "R12: cambio de aceite, mañana", Text: "Año nuevo\n.\nfin\n", HTML: "<p>Año</p>"},
	}}
}

func TestSMTPKeepsTheContract(t *testing.T) {
	notifytest.Contract(t, func(t *testing.T) notifytest.Peer {
		s := mailtest.Start(t, mailtest.Options{})
		return notifytest.Peer{
			Channel: channel(s, nil), Good: "good@example.com",
			Temporary: "temp@example.com", Permanent: "perm@example.com", Hanging: "hang@example.com",
			Received: func() (out []string) {
				for _, m := range s.Taken() {
					out = append(out, m.Data)
				}
				return out
			},
			Break: s.Close,
		}
	})
}

// Each way in which a real server may answer, and what it must mean.
func TestWhatAServersAnswerMeans(t *testing.T) {
	tests := []struct {
		fault   mailtest.Fault
		outcome models.Outcome
		code    string
		why     models.Reason
		taken   bool
	}{
		{"ok", models.OutcomeSent, "", "", true},
		{mailtest.Temp, models.OutcomeTemporary, "450 4.2.1", "the mailbox is disabled", false},
		{mailtest.Perm, models.OutcomePermanent, "550 5.1.1", "no such mailbox", false},
		{mailtest.TempData, models.OutcomeTemporary, "451 4.3.0", "the mail server had an error", false},
		{mailtest.PermData, models.OutcomePermanent, "554 5.6.0", "the mail's content is not accepted", false},
		{mailtest.Closing, models.OutcomeDown, "421 4.3.2", "the mail system takes no mail now", false},
		{mailtest.Hang, models.OutcomeTemporary, "", models.ReasonLineLost, false},
		{mailtest.HangData, models.OutcomeDoubt, "", models.ReasonUnknownEnd, true},
		{mailtest.Drop, models.OutcomeTemporary, "", models.ReasonLineLost, false},
		{mailtest.DropData, models.OutcomeDoubt, "", models.ReasonUnknownEnd, true},
		{mailtest.DropEarly, models.OutcomeDoubt, "", models.ReasonUnknownEnd, false},
	}
	for _, tt := range tests {
		t.Run(string(tt.fault), func(t *testing.T) {
			t.Parallel()
			s := mailtest.Start(t, mailtest.Options{})
			session, err := channel(s, nil).Open(t.Context())
			require.NoError(t, err)
			defer func() { _ = session.Close() }() // its line may be cut
			ctx, cancel := context.WithTimeout(t.Context(), 500*time.Millisecond)
			defer cancel()
			receipt, err := session.Send(ctx, letter(string(tt.fault)+"@example.com"))
			assert.Equal(t, tt.taken, len(s.Taken()) == 1)
			if tt.outcome == models.OutcomeSent {
				require.NoError(t, err)
				assert.True(t, strings.HasPrefix(receipt.Code, "250 "), receipt.Code)
				return
			}
			var e *notify.SendError
			require.ErrorAs(t, err, &e)
			assert.Equal(t, tt.outcome, e.Outcome, e.Error())
			assert.Equal(t, tt.code, e.Code)
			assert.Equal(t, tt.why, e.Why)
			assert.Equal(t, tt.code == "" || tt.outcome == models.OutcomeDown, e.Spoiled)
		})
	}
}

func TestARefusedSenderIsTheChannelsFault(t *testing.T) {
	s := mailtest.Start(t, mailtest.Options{})
	s.Refuse("bounce+7-nlxoxhbs@example.org", 550, smtp.EnhancedCode{5, 7, 1})
	session, err := channel(s, nil).Open(t.Context())
	require.NoError(t, err)
	defer func() { _ = session.Close() }()
	_, err = session.Send(t.Context(), letter("good@example.com"))
	var e *notify.SendError
	require.ErrorAs(t, err, &e)
	assert.Equal(t, models.OutcomeDown, e.Outcome)
	assert.Equal(t, models.ReasonMailLogin, e.Why)
}

func TestOneConnectionForABatch(t *testing.T) {
	s := mailtest.Start(t, mailtest.Options{})
	session, err := channel(s, func(v *mail.Server) { v.Most = 4 }).Open(t.Context())
	require.NoError(t, err)
	for range 10 {
		_, err := session.Send(t.Context(), letter("good@example.com"))
		require.NoError(t, err)
	}
	require.NoError(t, session.Close())
	assert.Len(t, s.Taken(), 10)
	assert.Equal(t, 3, s.Connections(), "a fresh one after each four")
	first := s.Taken()[0]
	assert.Equal(t, "bounce+7-nlxoxhbs@example.org", first.From)
	assert.Equal(t, "good@example.com", first.To)
}

func TestEncryptionAndLogin(t *testing.T) {
	login := mailtest.Options{User: "shop", Password: "s3cret"}
	with := func(user, password string, tls mail.TLS) func(*mail.Server) {
		return func(v *mail.Server) { v.User, v.Password, v.TLS = user, password, tls }
	}
	distrust := func(v *mail.Server) { v.Roots = nil }
	implicit, plain := login, login
	implicit.Implicit, plain.Plain = true, true
	tests := []struct {
		name   string
		server mailtest.Options
		client func(*mail.Server)
		why    models.Reason // "" works
	}{
		{"STARTTLS and login", login, with("shop", "s3cret", mail.StartTLS), ""},
		{"TLS from the first byte and login", implicit, with("shop", "s3cret", mail.Implicit), ""},
		{"wrong password", login, with("shop", "wrong", mail.StartTLS), models.ReasonMailLogin},
		{"no login where one is needed", login, with("", "", mail.StartTLS), models.ReasonMailLogin},
		{"a password is not shown on an open line", plain, with("shop", "s3cret", mail.NoTLS), models.ReasonMailLogin},
		{"a server without STARTTLS is refused", mailtest.Options{Plain: true}, with("", "", mail.StartTLS), models.ReasonNoTLS},
		{"an open line where it is asked for", mailtest.Options{Plain: true}, with("", "", mail.NoTLS), ""},
		{"a certificate that nobody trusts", mailtest.Options{}, distrust, models.ReasonNoTLS},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := mailtest.Start(t, tt.server)
			session, err := channel(s, tt.client).Open(t.Context())
			if err == nil {
				_, err = session.Send(t.Context(), letter("good@example.com"))
				defer func() { _ = session.Close() }()
			}
			if tt.why == "" {
				require.NoError(t, err)
				assert.Len(t, s.Taken(), 1)
				return
			}
			var e *notify.SendError
			require.ErrorAs(t, err, &e)
			assert.Equal(t, models.OutcomeDown, e.Outcome)
			assert.Equal(t, tt.why, e.Why, e.Error())
			assert.NotContains(t, e.Error(), "s3cret")
			assert.Empty(t, s.Taken())
		})
	}
}

// A server that takes the connection and says nothing must not hold a courier
// for ever, nor leave its connection open.
func TestASilentServer(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer func() { _ = l.Close() }()
	closed := make(chan error, 1)
	go func() {
		conn, err := l.Accept()
		if err != nil {
			closed <- err
			return
		}
		_, err = conn.Read(make([]byte, 1)) // ends when the client hangs up
		closed <- err
	}()
	addr, ok := l.Addr().(*net.TCPAddr)
	require.True(t, ok)
	c := mail.New(mail.Server{Host: "127.0.0.1", Port: addr.Port, TLS: mail.NoTLS, Timeout: 200 * time.Millisecond}, writer())
	begun := time.Now()
	_, err = c.Open(t.Context())
	assert.Less(t, time.Since(begun), 3*time.Second)
	var e *notify.SendError
	require.ErrorAs(t, err, &e)
	assert.Equal(t, models.OutcomeDown, e.Outcome)
	select {
	case err := <-closed:
		assert.Error(t, err)
	case <-time.After(3 * time.Second):
		t.Fatal("the connection was left open")
	}
}

func TestNoGoroutinesAreLeft(t *testing.T) {
	s := mailtest.Start(t, mailtest.Options{})
	before := runtime.NumGoroutine()
	for range 5 {
		session, err := channel(s, nil).Open(t.Context())
		require.NoError(t, err)
		_, err = session.Send(t.Context(), letter("good@example.com"))
		require.NoError(t, err)
		require.NoError(t, session.Close())
	}
	assert.Eventually(t, func() bool { return runtime.NumGoroutine() <= before+1 }, 5*time.Second, 20*time.Millisecond)
}

func TestTheDotsOfATextArrive(t *testing.T) {
	s := mailtest.Start(t, mailtest.Options{})
	session, err := channel(s, nil).Open(t.Context())
	require.NoError(t, err)
	_, err = session.Send(t.Context(), letter("good@example.com"))
	require.NoError(t, err)
	require.NoError(t, session.Close())
	assert.True(t, bytes.Contains([]byte(s.Taken()[0].Data), []byte("\r\n.\r\n")), "a dot alone on its line (RFC 5321, 4.5.2)")
}

func TestABadAddressIsPermanentAndLocal(t *testing.T) {
	s := mailtest.Start(t, mailtest.Options{})
	session, err := channel(s, nil).Open(t.Context())
	require.NoError(t, err)
	defer func() { assert.NoError(t, session.Close()) }()
	for _, address := range []string{"", "nobody", "a b@example.com", "x@example.com, y@example.com", "Ana <x@example.com>", "x@example.com\r\nBcc: y@example.com"} {
		_, err := session.Send(t.Context(), letter(address))
		var e *notify.SendError
		require.True(t, errors.As(err, &e), address)
		assert.Equal(t, models.OutcomePermanent, e.Outcome, address)
		assert.Equal(t, models.ReasonBadAddress, e.Why)
	}
	_, err = session.Send(t.Context(), letter("good@example.com"))
	require.NoError(t, err)
}
