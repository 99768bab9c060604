package mailbox

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"time"

	"github.com/emersion/go-imap/v2"
	"github.com/emersion/go-imap/v2/imapclient"

	"example.org/roundsman/models"
)

// Kinds of security of a connection.
const (
	TLS      = "tls"      // from the first octet (RFC 8314)
	StartTLS = "starttls" // turned on by command, and never done without
	NoTLS    = "none"     // to this machine only
)

// IMAP is a mailbox on a server (RFC 9051, RFC 3501).
type IMAP struct {
	Addr     string // host:port
	Security string // TLS, StartTLS or NoTLS
	Config   *tls.Config
	User     string
	Password string
	Folder   string        // "" is INBOX
	Timeout  time.Duration // for one pass; 0: 2 minutes
}

var _ Source = (*IMAP)(nil)

// Each hands over the mails of the folder that have no \Seen flag and sets it
// on those that were handled. Its errors have models.CodeInvalid where the
// server refuses the log-in or the folder, else models.CodeUnavailable.
func (m *IMAP) Each(ctx context.Context, fn func(context.Context, []byte) error) (int, error) {
	limit := m.Timeout
	if limit <= 0 {
		limit = 2 * time.Minute
	}
	ctx, cancel := context.WithTimeout(ctx, limit)
	defer cancel()
	c, err := m.dial(ctx)
	if err != nil {
		return 0, unavailable(err, "the mail server at %s does not answer", m.Addr)
	}
	defer func() { _ = c.Close() }()
	stop := context.AfterFunc(ctx, func() { _ = c.Close() }) // a command has no limit of its own
	defer stop()
	if err := m.enter(c); err != nil {
		return 0, err
	}
	done, err := m.pass(ctx, c, fn)
	if err == nil && ctx.Err() == nil {
		_ = c.Logout().Wait() // the work is done either way
	}
	return done, err
}

func (m *IMAP) dial(ctx context.Context) (*imapclient.Client, error) {
	host, _, err := net.SplitHostPort(m.Addr)
	if err != nil {
		return nil, err
	}
	if ip := net.ParseIP(host); m.Security == NoTLS && host != "localhost" && (ip == nil || !ip.IsLoopback()) {
		return nil, errors.New("a password is not sent without TLS to another machine")
	}
	cfg := &tls.Config{MinVersion: tls.VersionTLS12}
	if m.Config != nil {
		cfg = m.Config.Clone()
	}
	if cfg.ServerName == "" {
		cfg.ServerName = host
	}
	var d net.Dialer
	conn, err := d.DialContext(ctx, "tcp", m.Addr)
	if err != nil {
		return nil, err
	}
	if limit, ok := ctx.Deadline(); ok {
		if err := conn.SetDeadline(limit); err != nil {
			return nil, errors.Join(err, conn.Close())
		}
	}
	switch m.Security {
	case NoTLS:
		return imapclient.New(conn, nil), nil
	case StartTLS:
		return imapclient.NewStartTLS(conn, &imapclient.Options{TLSConfig: cfg})
	default:
		t := tls.Client(conn, cfg)
		if err := t.HandshakeContext(ctx); err != nil {
			return nil, errors.Join(err, conn.Close())
		}
		return imapclient.New(t, nil), nil
	}
}

func (m *IMAP) enter(c *imapclient.Client) error {
	if err := c.Login(m.User, m.Password).Wait(); err != nil {
		return refused(err, "check the user and password of the inbox", "the mail server at %s refuses the log-in of %s", m.Addr, m.User)
	}
	folder := m.Folder
	if folder == "" {
		folder = "INBOX"
	}
	if _, err := c.Select(folder, nil).Wait(); err != nil {
		return refused(err, "check the folder's name", "the mail folder %s cannot be opened", folder)
	}
	return nil
}

// pass handles what has no \Seen flag, one mail after the other, so that no
// more than one is in memory.
func (m *IMAP) pass(ctx context.Context, c *imapclient.Client, fn func(context.Context, []byte) error) (int, error) {
	found, err := c.UIDSearch(&imap.SearchCriteria{NotFlag: []imap.Flag{imap.FlagSeen, imap.FlagDeleted}}, nil).Wait()
	if err != nil {
		return 0, unavailable(err, "searching the mail folder")
	}
	done := 0
	var errs []error
	for _, uid := range found.AllUIDs() {
		raw, err := fetch(c, uid)
		if err != nil {
			return done, errors.Join(append(errs, unavailable(err, "fetching a mail"))...)
		}
		if raw == nil {
			continue // taken away meanwhile
		}
		if err := fn(ctx, raw); err != nil {
			errs = append(errs, fmt.Errorf("mail %d: %w", uid, err))
			continue
		}
		seen := &imap.StoreFlags{Op: imap.StoreFlagsAdd, Silent: true, Flags: []imap.Flag{imap.FlagSeen}}
		if err := c.Store(imap.UIDSetNum(uid), seen, nil).Close(); err != nil {
			return done, errors.Join(append(errs, unavailable(err, "marking a mail as read"))...)
		}
		done++
	}
	return done, errors.Join(errs...)
}

// fetch gives a mail without setting its \Seen flag.
func fetch(c *imapclient.Client, uid imap.UID) ([]byte, error) {
	section := &imap.FetchItemBodySection{Peek: true, Partial: &imap.SectionPartial{Offset: 0, Size: maxMail}}
	list, err := c.Fetch(imap.UIDSetNum(uid), &imap.FetchOptions{UID: true, BodySection: []*imap.FetchItemBodySection{section}}).Collect()
	if err != nil || len(list) == 0 || len(list[0].BodySection) == 0 {
		return nil, err
	}
	return list[0].BodySection[0].Bytes, nil
}

// refused sorts an error of a command: an answer of the server is a matter of
// settings, anything else of the line.
func refused(err error, remedy, format string, args ...any) error {
	var answer *imap.Error
	if errors.As(err, &answer) {
		e := models.Errorf(models.CodeInvalid, remedy, format, args...)
		e.Err = err
		return e
	}
	return unavailable(err, format, args...)
}

func unavailable(err error, format string, args ...any) error {
	e := models.Errorf(models.CodeUnavailable, "", format, args...)
	e.Err = err
	return e
}
