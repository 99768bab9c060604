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
	"slices"
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

var clock = models.ClockFunc(func() time.Time { return now })

func plain(id, text string) []byte {
	return eml(fmt.Sprintf("From: ray@example.org\nMessage-ID: <%s@example.org>\nSubject: x\n\n%s\n", id, text))
}

func watch(s Source, d *desk) *Watch {
	return &Watch{Source: s, Applier: d, Bouncer: d, Clock: clock, Log: slog.New(slog.DiscardHandler)}
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

// record is a record in the test's own folder.
func record(t *testing.T) Record { return Record{Path: filepath.Join(t.TempDir(), "inbox")} }

func TestMaildir(t *testing.T) {
	dir := newMaildir(t)
	s, err := OpenMaildir(dir, record(t))
	require.NoError(t, err)
	n := 0
	contract(t, s, func(t *testing.T, raw []byte) {
		n++
		require.NoError(t, os.WriteFile(filepath.Join(dir, "new", fmt.Sprintf("17%08d.M%d.host", n, n)), raw, 0o600))
	})
	left, err := os.ReadDir(filepath.Join(dir, "new"))
	require.NoError(t, err)
	assert.Len(t, left, 3, "unread as they came: they are for people too")
	_, err = OpenMaildir(t.TempDir(), record(t))
	assert.ErrorContains(t, err, "is not a maildir")
}

// A person who opens a mail before the program looks takes it from nobody, and
// what was read before the program came is left alone.
func TestMaildirIsShared(t *testing.T) {
	dir, r := newMaildir(t), record(t)
	put := func(name, text string) {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), plain(filepath.Base(name), text), 0o600))
	}
	put("cur/1.a:2,S", "read long ago")
	put("cur/2.b:2,", "not read yet")
	d := &desk{}
	look := func() {
		s, err := OpenMaildir(dir, r)
		require.NoError(t, err)
		_, err = watch(s, d).Look(t.Context())
		require.NoError(t, err)
	}
	look()
	assert.Equal(t, []string{"not read yet"}, d.texts())
	put("cur/3.c:2,S", "opened at once")
	put("new/4.d", "unopened")
	look()
	require.NoError(t, os.Rename(filepath.Join(dir, "new/4.d"), filepath.Join(dir, "cur/4.d:2,RS")))
	look()
	assert.Equal(t, []string{"not read yet", "opened at once", "unopened"}, d.texts())
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
	s := &IMAP{Addr: addr, Security: NoTLS, User: "desk", Password: "pw", Timeout: 20 * time.Second, Record: record(t), Clock: clock}
	contract(t, s, func(t *testing.T, raw []byte) {
		_, err := user.Append("INBOX", literal{bytes.NewReader(raw)}, &imap.AppendOptions{})
		require.NoError(t, err)
	})
}

// flags gives the flags of all mails of the inbox, by the server's own account.
func flags(t *testing.T, s *IMAP) (out [][]imap.Flag) {
	t.Helper()
	c, err := s.dial(t.Context())
	require.NoError(t, err)
	defer func() { _ = c.Close() }()
	box, err := s.enter(c)
	require.NoError(t, err)
	if box.NumMessages == 0 {
		return nil
	}
	var all imap.SeqSet
	all.AddRange(1, 0)
	list, err := c.Fetch(all, &imap.FetchOptions{Flags: true}).Collect()
	require.NoError(t, err)
	for _, m := range list {
		out = append(out, m.Flags)
	}
	return out
}

// shared plays a mailbox that people use too: put appends a mail with flags.
func shared(t *testing.T, s *IMAP, put func(raw []byte, flags ...imap.Flag)) {
	put(plain("m1", "read long ago"), imap.FlagSeen)
	put(plain("m2", "not read yet"))
	d := &desk{}
	w := watch(s, d)
	w.Ours = func(_ context.Context, r models.Reply) (bool, error) {
		return !strings.Contains(r.Text, "newsletter"), nil
	}
	look := func(want int) {
		t.Helper()
		n, err := w.Look(t.Context())
		require.NoError(t, err)
		assert.Equal(t, want, n)
	}
	look(1)
	put(plain("m3", "opened at once"), imap.FlagSeen)
	put(plain("m4", "newsletter"))
	put(plain("m5", "unopened"))
	look(2)
	look(0)
	assert.Equal(t, []string{"not read yet", "opened at once", "unopened"}, d.texts())
	marked, seen := []bool{}, []bool{}
	for _, f := range flags(t, s) {
		marked, seen = append(marked, slices.Contains(f, Marker)), append(seen, slices.Contains(f, imap.FlagSeen))
	}
	assert.Equal(t, []bool{true, false, true, false, false}, seen, "none was marked as read")
	assert.Equal(t, []bool{false, true, true, false, true}, marked, "those of others bear no mark of ours")
}

func TestIMAPIsShared(t *testing.T) {
	addr, user := memoryServer(t)
	s := &IMAP{Addr: addr, Security: NoTLS, User: "desk", Password: "pw", Timeout: 20 * time.Second, Record: record(t), Clock: clock}
	shared(t, s, func(raw []byte, flags ...imap.Flag) {
		_, err := user.Append("INBOX", literal{bytes.NewReader(raw)}, &imap.AppendOptions{Flags: flags, Time: now})
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
		tt.s.Record, tt.s.Clock = record(t), clock
		_, err := tt.s.Each(t.Context(), nothing)
		require.Error(t, err, name)
		assert.Equal(t, tt.code, models.CodeOf(err), name)
		assert.Contains(t, err.Error(), tt.want, name)
		assert.NotContains(t, err.Error(), "no-word", name)
	}
}

// A log-in that is refused is tried less and less often and told once; when it
// works again a new refusal is told anew.
func TestARefusedLogInIsToldOnce(t *testing.T) {
	d := &desk{}
	src := &failing{err: models.Errorf(models.CodeInvalid, "", "the log-in is refused")}
	w := watch(src, d)
	w.Every = time.Millisecond
	told := make(chan error, 10)
	w.Alarm = func(_ context.Context, err error) error { told <- err; return nil }
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- w.Run(ctx) }()
	require.ErrorContains(t, <-told, "refused")
	require.Eventually(t, func() bool { return src.looks() >= 5 }, 20*time.Second, time.Millisecond)
	assert.Empty(t, told)
	src.set(nil)
	n := src.looks()
	require.Eventually(t, func() bool { return src.looks() > n+1 }, 20*time.Second, time.Millisecond)
	src.set(models.Errorf(models.CodeInvalid, "", "the log-in is refused"))
	require.ErrorContains(t, <-told, "refused")
	stop()
	require.NoError(t, <-ended)
	src.mu.Lock()
	defer src.mu.Unlock()
	assert.GreaterOrEqual(t, src.at[4].Sub(src.at[0]), 30*time.Millisecond, "pauses of 2, 4, 8 and 16 ms")
}

// failing is a source that cannot be looked into.
type failing struct {
	mu  sync.Mutex
	err error
	at  []time.Time
}

func (f *failing) set(err error) { f.mu.Lock(); defer f.mu.Unlock(); f.err = err }
func (f *failing) looks() int    { f.mu.Lock(); defer f.mu.Unlock(); return len(f.at) }
func (f *failing) Each(context.Context, func(context.Context, []byte) error) (int, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.at = append(f.at, time.Now())
	return 0, f.err
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
	s, err := OpenMaildir(dir, record(t))
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
