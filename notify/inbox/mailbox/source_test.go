package mailbox

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/emersion/go-imap/v2"
	"github.com/emersion/go-imap/v2/imapserver"
	"github.com/emersion/go-imap/v2/imapserver/imapmemserver"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/inbox/bounce"
)

// desk keeps what it is handed, and refuses words that it is told to.
type desk struct {
	mu      sync.Mutex
	replies []models.Reply
	bounces []bounce.Report
	refuse  string
	refused int // times
}

func (d *desk) Apply(_ context.Context, r models.Reply) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.refuse != "" && strings.Contains(r.Text, d.refuse) {
		d.refused++
		return errors.New("the disk is full")
	}
	d.replies = append(d.replies, r)
	return nil
}

func (d *desk) Bounced(_ context.Context, r bounce.Report, _ models.Instant) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.bounces = append(d.bounces, r)
	return nil
}

func (d *desk) texts() []string {
	d.mu.Lock()
	defer d.mu.Unlock()
	var out []string
	for _, r := range d.replies {
		out = append(out, r.Text)
	}
	return out
}

func plain(id, text string) []byte {
	return eml(fmt.Sprintf("From: ray@example.org\nMessage-ID: <%s@example.org>\nSubject: x\n\n%s\n", id, text))
}

func watch(s Source, d *desk) *Watch {
	return &Watch{Source: s, Applier: d, Bouncer: d, Clock: models.ClockFunc(func() time.Time { return now }), Log: slog.New(slog.DiscardHandler)}
}

// contract is what every source keeps: each mail is handed over until it was
// stored, and then no more.
func contract(t *testing.T, s Source, deliver func(t *testing.T, raw []byte)) {
	t.Helper()
	d := &desk{refuse: "later"}
	w := watch(s, d)
	n, err := w.Look(t.Context())
	require.NoError(t, err)
	assert.Zero(t, n)

	deliver(t, plain("m1", "6120"))
	deliver(t, plain("m2", "later 6130"))
	deliver(t, eml(dsnMail))
	n, err = w.Look(t.Context())
	assert.ErrorContains(t, err, "the disk is full")
	assert.Equal(t, 2, n, "one that fails does not stand in the way of the others")
	assert.Equal(t, []string{"6120"}, d.texts())
	require.Len(t, d.bounces, 1)
	assert.Equal(t, bounce.Dead, d.bounces[0].Recipients[0].Verdict())

	d.refuse = ""
	n, err = w.Look(t.Context())
	require.NoError(t, err)
	assert.Equal(t, 1, n)
	assert.Equal(t, []string{"6120", "later 6130"}, d.texts())
	n, err = w.Look(t.Context())
	require.NoError(t, err)
	assert.Zero(t, n, "nothing twice")
}

func newMaildir(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	for _, sub := range []string{"new", "cur", "tmp"} {
		require.NoError(t, os.Mkdir(filepath.Join(dir, sub), 0o700))
	}
	return dir
}

func TestMaildir(t *testing.T) {
	dir := newMaildir(t)
	s, err := OpenMaildir(dir)
	require.NoError(t, err)
	n := 0
	contract(t, s, func(t *testing.T, raw []byte) {
		n++
		require.NoError(t, os.WriteFile(filepath.Join(dir, "new", fmt.Sprintf("17%08d.M%d.host", n, n)), raw, 0o600))
	})
	left, err := os.ReadDir(filepath.Join(dir, "cur"))
	require.NoError(t, err)
	require.Len(t, left, 3)
	assert.True(t, strings.HasSuffix(left[0].Name(), ":2,S"), "kept, and marked as read: %s", left[0].Name())
	_, err = OpenMaildir(t.TempDir())
	assert.ErrorContains(t, err, "is not a maildir")
}

// memoryServer is go-imap's own server in memory; Dovecot is tried beside it.
func memoryServer(t *testing.T) (addr string, user *imapmemserver.User) {
	t.Helper()
	mem := imapmemserver.New()
	user = imapmemserver.NewUser("desk", "pw")
	require.NoError(t, user.Create("INBOX", nil))
	mem.AddUser(user)
	srv := imapserver.New(&imapserver.Options{InsecureAuth: true, Caps: imap.CapSet{imap.CapIMAP4rev1: {}, imap.CapIMAP4rev2: {}},
		NewSession: func(*imapserver.Conn) (imapserver.Session, *imapserver.GreetingData, error) {
			return mem.NewSession(), nil, nil
		}})
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	served := make(chan struct{})
	go func() {
		defer close(served)
		_ = srv.Serve(ln) // ends when it is closed
	}()
	t.Cleanup(func() {
		_ = srv.Close()
		<-served
	})
	return ln.Addr().String(), user
}

type literal struct{ *bytes.Reader }

func (l literal) Size() int64 { return l.Reader.Size() }

func TestIMAPInMemory(t *testing.T) {
	addr, user := memoryServer(t)
	s := &IMAP{Addr: addr, Security: NoTLS, User: "desk", Password: "pw", Timeout: 20 * time.Second}
	contract(t, s, func(t *testing.T, raw []byte) {
		_, err := user.Append("INBOX", literal{bytes.NewReader(raw)}, &imap.AppendOptions{})
		require.NoError(t, err)
	})
}

func TestIMAPRefusals(t *testing.T) {
	addr, _ := memoryServer(t)
	nothing := func(context.Context, []byte) error { return nil }
	tests := map[string]struct {
		s    IMAP
		code models.Code
		want string
	}{
		"password": {IMAP{Addr: addr, Security: NoTLS, User: "desk", Password: "no-word"}, models.CodeInvalid, "refuses the log-in of desk"},
		"folder":   {IMAP{Addr: addr, Security: NoTLS, User: "desk", Password: "pw", Folder: "Nowhere"}, models.CodeInvalid, "folder Nowhere cannot be opened"},
		"nobody":   {IMAP{Addr: "127.0.0.1:1", Security: NoTLS}, models.CodeUnavailable, "does not answer"},
		"no TLS":   {IMAP{Addr: "192.0.2.1:143", Security: NoTLS}, models.CodeUnavailable, "not sent without TLS to another machine"},
		"not TLS":  {IMAP{Addr: addr, Security: TLS, Timeout: 5 * time.Second}, models.CodeUnavailable, "does not answer"},
	}
	for name, tt := range tests {
		_, err := tt.s.Each(t.Context(), nothing)
		require.Error(t, err, name)
		assert.Equal(t, tt.code, models.CodeOf(err), name)
		assert.Contains(t, err.Error(), tt.want, name)
		assert.NotContains(t, err.Error(), "no-word", name)
	}
}

// A server that says nothing more does not hold the watch for ever.
func TestIMAPHangs(t *testing.T) {
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer func() { _ = ln.Close() }()
	s := &IMAP{Addr: ln.Addr().String(), Security: NoTLS, Timeout: 200 * time.Millisecond}
	begun := time.Now()
	_, err = s.Each(t.Context(), func(context.Context, []byte) error { return nil })
	assert.Error(t, err)
	assert.Less(t, time.Since(begun), 5*time.Second)
}

func TestWatchRuns(t *testing.T) {
	dir := newMaildir(t)
	s, err := OpenMaildir(dir)
	require.NoError(t, err)
	d := &desk{refuse: "6120"}
	var log bytes.Buffer
	w := watch(s, d)
	w.Every, w.Log = 5*time.Millisecond, slog.New(slog.NewTextHandler(&log, nil))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "new", "1.a"), plain("m1", "6120"), 0o600))
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- w.Run(ctx) }()
	require.Eventually(t, func() bool {
		d.mu.Lock()
		defer d.mu.Unlock()
		return d.refused >= 3
	}, 20*time.Second, 5*time.Millisecond, "the same trouble three times")
	d.mu.Lock()
	d.refuse = ""
	d.mu.Unlock()
	require.Eventually(t, func() bool { return len(d.texts()) == 1 }, 20*time.Second, 5*time.Millisecond)
	stop()
	require.NoError(t, <-ended)
	assert.Equal(t, 1, strings.Count(log.String(), "the disk is full"), "the same trouble is told once")
}
