package smpp_test

import (
	"bufio"
	"context"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/message/gsm"
	"example.org/roundsman/notify/sms/smpp"
)

// event is a line that a center in testdata writes.
type event struct {
	Event      string
	Port       int
	OK         bool   `json:"ok"`
	SystemID   string `json:"system_id"`
	Version    int
	ID         string
	To, From   string
	TON        int
	Coding     int
	ESM        int
	Text, Hex  string
	UDH        []string
	Registered int
	Validity   string
	Reference  int
	Status     int
}

// peer is a center that runs as a program of its own.
type peer struct {
	addr string
	mu   sync.Mutex
	log  []event
}

// missing skips a test whose peer is not installed; where all must be, it
// fails.
func missing(t *testing.T, what string) {
	t.Helper()
	if os.Getenv("ROUNDSMAN_PEERS") == "all" {
		t.Fatalf("missing: %s", what)
	}
	t.Skipf("install %s to run this test", what)
}

func startPeer(t *testing.T, env []string, name string, args ...string) *peer {
	t.Helper()
	cmd := exec.Command(name, args...)
	cmd.Env = append(os.Environ(), env...)
	cmd.Stderr = os.Stderr
	in, err := cmd.StdinPipe()
	require.NoError(t, err)
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	p := &peer{}
	port := make(chan int, 1)
	read := make(chan struct{})
	go func() {
		defer close(read)
		for sc := bufio.NewScanner(out); sc.Scan(); {
			var e event
			if err := json.Unmarshal(sc.Bytes(), &e); err != nil {
				continue
			}
			if e.Event == "port" {
				port <- e.Port
				continue
			}
			p.mu.Lock()
			p.log = append(p.log, e)
			p.mu.Unlock()
		}
	}()
	t.Cleanup(func() {
		_ = in.Close()
		_ = cmd.Process.Kill()
		<-read
		_ = cmd.Wait()
	})
	select {
	case n := <-port:
		p.addr = fmt.Sprintf("127.0.0.1:%d", n)
	case <-time.After(20 * time.Second):
		t.Fatal("the peer did not start")
	}
	return p
}

func (p *peer) events(kind string) []event {
	p.mu.Lock()
	defer p.mu.Unlock()
	var out []event
	for _, e := range p.log {
		if e.Event == kind {
			out = append(out, e)
		}
	}
	return out
}

// await gives the events of a kind once the peer has told of so many: it
// tells of them in its own time.
func (p *peer) await(t *testing.T, kind string, n int) []event {
	t.Helper()
	eventually(t, fmt.Sprintf("%d events %q of the peer", n, kind), func() bool { return len(p.events(kind)) >= n })
	return p.events(kind)
}

func npmPeer(t *testing.T) *peer {
	t.Helper()
	node, err := exec.LookPath("node")
	if err != nil {
		missing(t, "node (Debian package nodejs)")
	}
	dir := os.Getenv("ROUNDSMAN_NODE_PEERS")
	if _, err := os.Stat(filepath.Join(dir, "node_modules", "smpp", "package.json")); err != nil || dir == "" {
		missing(t, "npm package smpp 0.5.1 into a folder and name it in ROUNDSMAN_NODE_PEERS")
	}
	return startPeer(t, []string{"NODE_PATH=" + filepath.Join(dir, "node_modules")}, node, "testdata/npm_center.js")
}

// runUntil runs a client and gives the function that ends it.
func runUntil(t *testing.T, cfg smpp.Config, h smpp.Handler) (c *smpp.Client, stop func() error) {
	t.Helper()
	c, err := smpp.New(cfg, h)
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- c.Run(ctx) }()
	var once sync.Once
	stop = func() (err error) {
		once.Do(func() {
			cancel()
			err = <-ended
		})
		return err
	}
	t.Cleanup(func() { _ = stop() })
	return c, stop
}

// The whole protocol against npm smpp 0.5.1, which knows nothing of our codec.
func TestAgainstNPM(t *testing.T) {
	p := npmPeer(t)
	h := &memory{}
	cfg := config(p.addr)
	cfg.Password, cfg.Validity, cfg.IA5IsGSM = "secret", 24*time.Hour, true
	cfg.Patience, cfg.BindWait = 10*time.Second, 10*time.Second
	c, stop := runUntil(t, cfg, h)

	texts := []string{
		"Hill Shop: unit 3 coolant due 10/15 @ 6,500 mi {€}. STOP to end",
		"Готово 👍, ñ",
		strings.Repeat("Über 0123 ñ€ ", 20),
		strings.Repeat("ж👍", 50),
	}
	sent := 0
	for i, text := range texts {
		res := c.Submit(t.Context(), smpp.Text{Key: fmt.Sprint(i), To: "+12125550123", Body: text})
		require.NoError(t, res.Err)
		require.Equal(t, models.OutcomeSent, res.Outcome)
		parts, _ := gsm.Count(text)
		assert.Equal(t, parts, res.Parts)
		sent += parts
		eventually(t, "the receipt", func() bool {
			for _, r := range h.allReceipts() {
				if r.ID == res.PeerID {
					return r.State == smpp.StateDelivered && !r.FromText
				}
			}
			return false
		})
	}
	assertNPMSubmits(t, p.await(t, "submit", sent), texts)

	res := c.Submit(t.Context(), smpp.Text{Key: "bare", To: "+12125550188", Body: "ok"})
	require.Equal(t, models.OutcomeSent, res.Outcome)
	eventually(t, "a receipt without parameters", func() bool {
		for _, r := range h.allReceipts() {
			if r.FromText {
				return r.ID != res.PeerID && smpp.SameID(r.ID, res.PeerID) && r.State == smpp.StateDelivered
			}
		}
		return false
	})
	for code, want := range map[string]models.Outcome{"08": models.OutcomeTemporary, "45": models.OutcomeTemporary,
		"58": models.OutcomeTemporary, "65": models.OutcomePermanent} {
		res := c.Submit(t.Context(), smpp.Text{Key: code, To: "+1212555019" + code, Body: "ok"})
		assert.Equal(t, want, res.Outcome, code)
		assert.Equal(t, "0x"+code, res.Code)
	}
	state, err := c.Query(t.Context(), res.PeerID)
	require.NoError(t, err)
	assert.Equal(t, smpp.StateDelivered, state)

	require.Equal(t, models.OutcomeSent, c.Submit(t.Context(), smpp.Text{Key: "w", To: "+12125550123", Body: "PLEASE WRITE"}).Outcome)
	eventually(t, "what it writes", func() bool { return len(h.texts()) == 4 })
	assert.ElementsMatch(t, []string{"€ 6ä", "año 6120 mi @ {ok}", "Готово 👍", "back at the lower field"}, h.texts())
	for _, e := range p.await(t, "taken", 5) {
		assert.Zero(t, e.Status)
	}
	require.NoError(t, stop())
	assert.Len(t, p.await(t, "unbind", 1), 1)
	assert.Equal(t, 0x34, p.await(t, "bind", 1)[0].Version)
}

// assertNPMSubmits compares what npm smpp read with what was sent.
func assertNPMSubmits(t *testing.T, got []event, texts []string) {
	t.Helper()
	i := 0
	for n, text := range texts {
		parts, err := gsm.Split(text, 0)
		require.NoError(t, err)
		var whole strings.Builder
		for j, part := range parts {
			require.Less(t, i, len(got))
			e := got[i]
			i++
			whole.WriteString(e.Text)
			assert.Equal(t, part.Text, e.Text)
			assert.Equal(t, "12125550123", e.To)
			assert.Equal(t, "12125550100", e.From)
			assert.Equal(t, 1, e.TON)
			until, err := time.Parse(time.RFC3339, e.Validity)
			require.NoError(t, err)
			assert.WithinDuration(t, time.Now().Add(24*time.Hour), until, time.Minute, "npm's reading of our relative time")
			assert.Equal(t, len(parts) > 1, len(e.UDH) == 1)
			if len(parts) > 1 {
				assert.Equal(t, fmt.Sprintf("%02x%02x", len(parts), j+1), e.UDH[0][len(e.UDH[0])-4:])
			}
			if j+1 == len(parts) {
				assert.Equal(t, int(smpp.Reference(fmt.Sprint(n))), e.Reference)
			}
		}
		assert.Equal(t, text, whole.String())
	}
}

func TestNPMRefusesThePassword(t *testing.T) {
	p := npmPeer(t)
	cfg := config(p.addr)
	cfg.Password, cfg.Patience = "wrong", 10*time.Second
	c := run(t, cfg, &memory{})
	require.Eventually(t, func() bool { _, err := c.Up(); return models.CodeOf(err) == models.CodeInvalid }, time.Minute, 10*time.Millisecond)
	assert.False(t, p.await(t, "bind", 1)[0].OK)
}

// Net::SMPP 1.19 (Debian libnet-smpp-perl), a second independent reading.
func TestAgainstPerl(t *testing.T) {
	perl, err := exec.LookPath("perl")
	if err != nil {
		missing(t, "perl")
	}
	if exec.Command(perl, "-MNet::SMPP", "-MJSON::PP", "-e", "1").Run() != nil {
		missing(t, "libnet-smpp-perl")
	}
	p := startPeer(t, nil, perl, "testdata/perl_center.pl")
	cfg := config(p.addr)
	cfg.Patience, cfg.BindWait = 10*time.Second, 10*time.Second
	c, stop := runUntil(t, cfg, &memory{})
	texts := []string{"unit 3 at 6,120 mi €", "Готово 👍", strings.Repeat("hello €", 30)}
	var want []string
	for i, text := range texts {
		res := c.Submit(t.Context(), smpp.Text{Key: fmt.Sprint(i), To: "+12125550123", Body: text})
		require.NoError(t, res.Err)
		assert.Equal(t, models.OutcomeSent, res.Outcome)
		parts, err := gsm.Split(text, uint8(smpp.Reference(fmt.Sprint(i))))
		require.NoError(t, err)
		for _, part := range parts {
			want = append(want, hex.EncodeToString(part.Octets()))
		}
		assert.Equal(t, fmt.Sprintf("p%d", len(want)), res.PeerID)
	}
	state, err := c.Query(t.Context(), "p1")
	require.NoError(t, err)
	assert.Equal(t, smpp.StateDelivered, state)
	require.NoError(t, stop())
	assert.Len(t, p.await(t, "unbind", 1), 1)
	var got []string
	for _, e := range p.await(t, "submit", len(want)) {
		got = append(got, e.Hex)
	}
	assert.Equal(t, want, got)
}
