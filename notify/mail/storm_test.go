package mail_test

import (
	"bufio"
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
	"example.org/roundsman/notify"
	"example.org/roundsman/notify/mail"
	"example.org/roundsman/notify/mail/mailtest"
	"example.org/roundsman/notify/message"
	"example.org/roundsman/notify/notifytest"
)

// Names of the environment that make the test binary a courier to be killed.
const (
	envStorm     = "ROUNDSMAN_STORM_DB"
	envStormPort = "ROUNDSMAN_STORM_PORT"
	envStormFrom = "ROUNDSMAN_STORM_FROM"
	envStormFast = "ROUNDSMAN_STORM_FAST" // its clock is the fast one, and it serves rather than drains
)

func TestMain(m *testing.M) {
	if path := os.Getenv(envStorm); path != "" {
		if err := stormChild(path); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// compose writes messages in the name of an invented shop.
func compose(e models.Envelope) (models.Composed, error) {
	return message.Compose(message.Shop{Name: "Juniper Creek Service"}, e)
}

// stormChild is a courier in a process of its own: it sends until nothing is
// left, or until it is killed.
func stormChild(path string) error {
	ctx := context.Background()
	port, err := strconv.Atoi(os.Getenv(envStormPort))
	if err != nil {
		return err
	}
	from, err := strconv.ParseInt(os.Getenv(envStormFrom), 10, 64)
	if err != nil {
		return err
	}
	trust, err := os.ReadFile(path + ".pem")
	if err != nil {
		return err
	}
	roots := x509.NewCertPool()
	roots.AppendCertsFromPEM(trust)
	box, err := store.Open(ctx, path, store.Options{})
	if err != nil {
		return err
	}
	// The clock begins at noon and goes on from one child to the next.
	clock := models.ClockFunc(func() time.Time { return notifytest.Noon.Add(time.Since(time.UnixMilli(from))) })
	opts := notify.Options{Waits: []time.Duration{1}, DoubtWait: 1, DownWaits: []time.Duration{1}, Sole: true}
	serves := os.Getenv(envStormFast) != ""
	if serves {
		clock, opts = notifytest.FastClock(time.UnixMilli(from)), notify.Options{Poll: 50 * time.Millisecond, Sole: true}
	}
	c := notify.New(box, clock, compose, opts)
	c.Add(mail.New(mail.Server{Host: "127.0.0.1", Port: port, Roots: &tls.Config{RootCAs: roots, MinVersion: tls.VersionTLS12},
		Hello: "shop.example.org", Timeout: 5 * time.Second}, writer()), notify.Limits{})
	fmt.Println("begun")
	if serves {
		return errors.Join(notifytest.RunUntilEmpty(ctx, box, c), box.Close())
	}
	for {
		t, err := c.Drain(ctx)
		if err != nil {
			return err
		}
		if t.Claimed == 0 {
			return box.Close()
		}
	}
}

// storm is a mail server with bad days.
type storm struct {
	mu  sync.Mutex
	rng *rand.Rand
}

// fault gives one recipient in fifty a lasting refusal, one try in ten a
// passing one, and cuts one line in fifty at some point.
func (s *storm) fault(to string) mailtest.Fault {
	if lasting(to) {
		return mailtest.Perm
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	switch n := s.rng.IntN(100); {
	case n < 5:
		return mailtest.Temp
	case n < 10:
		return mailtest.TempData
	case n == 10:
		return []mailtest.Fault{mailtest.Drop, mailtest.DropEarly}[s.rng.IntN(2)]
	case n == 11:
		return mailtest.DropData
	}
	return ""
}

// lasting says whether an address is one of those that are always refused.
func lasting(address string) bool {
	return strings.HasSuffix(address, "7@example.com") && strings.Contains(address, "3")
}

// Ten thousand messages while lines are cut, the server refuses, and the
// courier is killed a hundred times with SIGKILL: each message ends sent or
// failed with a reason, none is lost, and none arrives twice but where a try
// was recorded as in doubt.
func TestTheStorm(t *testing.T) {
	t.Parallel() // it mostly waits
	messages, kills := 10_000, 100
	if testing.Short() {
		messages, kills = 600, 8
	}
	path := filepath.Join(t.TempDir(), "storm.db")
	box, err := store.Open(t.Context(), path, store.Options{})
	require.NoError(t, err)
	for first := 0; first < messages; first += 500 {
		notifytest.Queue(t.Context(), t, box, models.ChannelMail, first, min(500, messages-first))
	}
	require.NoError(t, box.Close())

	weather := &storm{rng: rand.New(rand.NewPCG(1, 2))}
	server := mailtest.Start(t, mailtest.Options{Fault: weather.fault})
	require.NoError(t, os.WriteFile(path+".pem", server.PEM(), 0o600))
	begun := time.Now()
	killed := 0
	for done := false; !done; {
		done = child(t, path, server.Port, begun, weather, killed < kills)
		if !done {
			killed++
		}
		require.Less(t, time.Since(begun), 8*time.Minute, "the storm does not end")
	}
	assert.Equal(t, kills, killed, "the courier ended before all kills were made")
	box, err = store.Open(t.Context(), path, store.Options{})
	require.NoError(t, err)
	defer func() { require.NoError(t, box.Close()) }()
	count(t, box, server, messages)
	t.Logf("%d messages, %d kills, %s", messages, killed, time.Since(begun).Round(time.Millisecond))
}

// child runs a courier and kills it after a moment, or lets it come to its
// end, and says whether it did.
func child(t *testing.T, path string, port int, begun time.Time, weather *storm, kill bool) (ended bool) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), envStorm+"="+path, envStormPort+"="+strconv.Itoa(port),
		envStormFrom+"="+strconv.FormatInt(begun.UnixMilli(), 10))
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	_, err = bufio.NewReader(out).ReadString('\n')
	if err != io.EOF {
		require.NoError(t, err)
	}
	if kill {
		weather.mu.Lock()
		pause := time.Duration(weather.rng.IntN(60_000)) * time.Microsecond
		weather.mu.Unlock()
		time.Sleep(pause)
		_ = cmd.Process.Kill() // SIGKILL; it may have ended
	}
	return cmd.Wait() == nil
}

// count compares what the outbox says with what the server has.
func count(t *testing.T, box *store.Store, server *mailtest.Server, messages int) {
	t.Helper()
	copies := map[string]int{}
	for _, m := range server.Taken() {
		copies[m.To]++
	}
	logs, err := box.Messages(t.Context(), store.MessageFilter{})
	require.NoError(t, err)
	require.Len(t, logs, messages)
	var sent, failed, tries, doubts, byKill, byCut int
	for _, l := range logs {
		m := l.Message
		n, inDoubt, kills := copies[m.Address], 0, 0
		tries += len(l.Attempts)
		for _, a := range l.Attempts {
			require.NotEmpty(t, a.Why)
			if a.Outcome == models.OutcomeDoubt {
				inDoubt++
				if a.Why == models.ReasonKilled {
					kills++
				}
			}
		}
		doubts += inDoubt
		require.Equal(t, inDoubt > 0, m.InDoubt)
		require.NotEmpty(t, m.Why)
		require.Len(t, l.Attempts, m.Tries, "each try is on the record")
		switch m.State {
		case models.MessageSent:
			sent++
			require.False(t, lasting(m.Address))
			require.GreaterOrEqual(t, n, 1, "sent and not there: %s", m.Key)
			require.LessOrEqual(t, n, 1+inDoubt, "there twice and no doubt on the record: %s", m.Key)
		case models.MessageFailed:
			failed++
			require.True(t, lasting(m.Address), "failed for no lasting reason: %s", m.Why)
			require.Zero(t, n)
		default:
			require.Fail(t, "a message has not ended", "%s: %s", m.Key, m.State)
		}
		extra := max(0, n-1)
		byKill += min(extra, kills)
		byCut += extra - min(extra, kills)
	}
	assert.Equal(t, messages, sent+failed)
	t.Logf("sent %d, failed %d, tries %d, in doubt %d; arrived twice: %d where a kill, %d where a cut line fell between the server's acceptance and our record",
		sent, failed, tries, doubts, byKill, byCut)
}
