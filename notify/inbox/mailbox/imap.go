package mailbox

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"slices"
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
	Record   Record
	Clock    models.Clock
}

// Marker is the keyword that tells people which mails the program has handled,
// where the server keeps keywords (RFC 9051, 2.3.2).
const Marker imap.Flag = "$roundsman"

var _ Source = (*IMAP)(nil)

// Each hands over the mails of the folder that came since the first look, and
// those of the last two weeks before it that nobody had read. It sets no flag
// but the Marker, on those that were handled. Its errors have models.CodeInvalid where the
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
	box, err := m.enter(c)
	if err != nil {
		return 0, err
	}
	done, err := m.pass(ctx, c, box, fn)
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

func (m *IMAP) enter(c *imapclient.Client) (*imap.SelectData, error) {
	if err := c.Login(m.User, m.Password).Wait(); err != nil {
		return nil, refused(err, "check the user and password of the inbox", "the mail server at %s refuses the log-in of %s", m.Addr, m.User)
	}
	box, err := c.Select(m.folder(), nil).Wait()
	if err != nil {
		return nil, refused(err, "check the folder's name", "the mail folder %s cannot be opened", m.folder())
	}
	return box, nil
}

func (m *IMAP) folder() string {
	if m.Folder == "" {
		return "INBOX"
	}
	return m.Folder
}

// pass handles what was not handed over yet, one mail after the other, so that
// no more than one is in memory.
func (m *IMAP) pass(ctx context.Context, c *imapclient.Client, box *imap.SelectData, fn func(context.Context, []byte) error) (done int, err error) {
	b, known, err := m.Record.read(fmt.Sprintf("imap %s %s %s %d", m.Addr, m.User, m.folder(), box.UIDValidity))
	if err != nil {
		return 0, err
	}
	if !known {
		if err := m.first(c, box, &b); err != nil {
			return 0, err
		}
	}
	var since imap.UIDSet
	since.AddRange(imap.UID(max(b.From, 1)), 0)
	found, err := c.UIDSearch(&imap.SearchCriteria{UID: []imap.UIDSet{since}, NotFlag: []imap.Flag{imap.FlagDeleted}}, nil).Wait()
	if err != nil {
		return 0, unavailable(err, "searching the mail folder")
	}
	there := slices.Clone(b.Open)
	for _, uid := range found.AllUIDs() {
		there = append(there, uint32(uid))
	}
	keeps := slices.Contains(box.PermanentFlags, imap.FlagWildcard) || slices.Contains(box.PermanentFlags, Marker)
	var errs []error
	for _, uid := range there {
		if !b.wants(uid) || ctx.Err() != nil {
			continue
		}
		raw, err := fetch(c, imap.UID(uid))
		if err != nil {
			errs = append(errs, unavailable(err, "fetching a mail"))
			break
		}
		if raw != nil { // else it was taken away meanwhile
			err = fn(ctx, raw)
		}
		if err != nil && !errors.Is(err, errNotOurs) {
			errs = append(errs, fmt.Errorf("mail %d: %w", uid, err))
			continue
		}
		b.handled(uid)
		if err != nil || raw == nil {
			continue
		}
		done++
		if keeps { // for people only: an error of it changes nothing
			_ = c.Store(imap.UIDSetNum(imap.UID(uid)), &imap.StoreFlags{Op: imap.StoreFlagsAdd, Silent: true, Flags: []imap.Flag{Marker}}, nil).Close()
		}
	}
	b.close(there, uint32(box.UIDNext))
	return done, errors.Join(append(errs, m.Record.write(b))...)
}

// first begins the record of a mailbox: with what comes from now on, and what
// came lately and nobody has read.
func (m *IMAP) first(c *imapclient.Client, box *imap.SelectData, b *book) error {
	b.From = uint32(box.UIDNext)
	unread, err := c.UIDSearch(&imap.SearchCriteria{NotFlag: []imap.Flag{imap.FlagSeen, imap.FlagDeleted}, Since: m.Clock.Now().Add(-maxAge)}, nil).Wait()
	if err != nil {
		return unavailable(err, "searching the mail folder")
	}
	for _, uid := range unread.AllUIDs() {
		b.Open = append(b.Open, uint32(uid))
	}
	return nil
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
