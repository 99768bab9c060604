package smpp_test

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"net/http/httptest"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/message/gsm"
	"example.org/roundsman/notify/sms/smpp"
	"example.org/roundsman/notify/sms/smpp/smsctest"
)

// memory is a handler that keeps what it gets, and refuses it while told to.
type memory struct {
	mu       sync.Mutex
	incoming []smpp.Incoming
	receipts []smpp.Receipt
	late     []smpp.LateAnswer
	refuse   int
}

func (m *memory) refused() error {
	if m.refuse > 0 {
		m.refuse--
		return errors.New("the disk is full")
	}
	return nil
}

func (m *memory) Incoming(_ context.Context, in smpp.Incoming) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if err := m.refused(); err != nil {
		return err
	}
	m.incoming = append(m.incoming, in)
	return nil
}

func (m *memory) Receipt(_ context.Context, r smpp.Receipt) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if err := m.refused(); err != nil {
		return err
	}
	m.receipts = append(m.receipts, r)
	return nil
}

func (m *memory) Late(_ context.Context, l smpp.LateAnswer) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.late = append(m.late, l)
	return nil
}

func (m *memory) texts() []string {
	m.mu.Lock()
	defer m.mu.Unlock()
	var out []string
	for _, in := range m.incoming {
		out = append(out, in.Text)
	}
	return out
}

func (m *memory) allReceipts() []smpp.Receipt {
	m.mu.Lock()
	defer m.mu.Unlock()
	return append([]smpp.Receipt(nil), m.receipts...)
}

func (m *memory) allLate() []smpp.LateAnswer {
	m.mu.Lock()
	defer m.mu.Unlock()
	return append([]smpp.LateAnswer(nil), m.late...)
}

func (m *memory) refuseNext(n int) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.refuse = n
}

func config(addr string) smpp.Config {
	return smpp.Config{
		Addr: addr, SystemID: "hillshop", Password: "pw", Source: "+12125550100", Country: "1",
		Patience: 10 * time.Second, BindWait: 10 * time.Second, BackoffFirst: 5 * time.Millisecond,
		BackoffMost: 20 * time.Millisecond, Receipts: true, Clock: models.ClockFunc(time.Now),
	}
}

// run starts a client that ends, cleanly, with the test.
func run(t *testing.T, cfg smpp.Config, h smpp.Handler) *smpp.Client { return start(t, cfg, h) }

func start(t testing.TB, cfg smpp.Config, h smpp.Handler) *smpp.Client {
	t.Helper()
	c, err := smpp.New(cfg, h)
	require.NoError(t, err)
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- c.Run(ctx) }()
	t.Cleanup(func() {
		stop()
		select {
		case err := <-ended:
			assert.NoError(t, err)
		case <-time.After(20 * time.Second):
			t.Error("the client did not end")
		}
	})
	return c
}

func eventually(t *testing.T, what string, ok func() bool) {
	t.Helper()
	require.Eventually(t, ok, 20*time.Second, 5*time.Millisecond, what)
}

const phone = "+12125550123"

func TestSubmitKinds(t *testing.T) {
	center := smsctest.Start(t, smsctest.Plan{Password: "pw", Receipts: true})
	h := &memory{}
	c := run(t, config(center.Addr), h)
	tests := []struct {
		name, body string
		parts      int
		coding     byte
	}{
		{"one part", "Hill Shop: unit 3, coolant due 10/15. Reply miles. €", 1, 0},
		{"two parts", strings.Repeat("miles ", 30), 2, 0},
		{"UCS-2", "Готово 👍", 1, 8},
		{"UCS-2 in parts", strings.Repeat("ж👍", 40), 2, 8},
	}
	for i, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			before := len(center.Taken())
			res := c.Submit(t.Context(), smpp.Text{Key: fmt.Sprint("m", i), To: phone, Body: tt.body})
			require.NoError(t, res.Err)
			assert.Equal(t, models.OutcomeSent, res.Outcome)
			assert.Equal(t, tt.parts, res.Parts)
			taken := center.Taken()[before:]
			require.Len(t, taken, tt.parts)
			assert.Equal(t, taken[len(taken)-1].ID, res.PeerID, "the last part's id")
			assert.Equal(t, tt.body, joined(t, taken))
			for i, m := range taken {
				assert.Equal(t, smpp.Address{TON: 1, NPI: 1, Digits: "12125550123"}, m.Message.Dest)
				assert.Equal(t, tt.coding, m.Message.DataCoding)
				assert.Equal(t, tt.parts > 1, m.Message.ESMClass&smpp.ESMHeader != 0)
				assert.Equal(t, i+1 == tt.parts, m.Message.Registered == 1, "only the last part asks for a receipt")
			}
			eventually(t, "receipt", func() bool {
				for _, r := range h.allReceipts() {
					if r.ID == res.PeerID {
						return r.State == smpp.StateDelivered && r.Final && r.Address == phone &&
							r.Reference == smpp.Reference(fmt.Sprint("m", i))
					}
				}
				return false
			})
		})
	}
}

// joined reads the texts of a message's parts as a phone does.
func joined(t *testing.T, taken []smsctest.Taken) string {
	t.Helper()
	var b strings.Builder
	for _, m := range taken {
		data := m.Message.Short
		if m.Message.ESMClass&smpp.ESMHeader != 0 {
			_, ok, body, err := gsm.ParseHeader(data)
			require.NoError(t, err)
			require.True(t, ok)
			data = body
		}
		if m.Message.DataCoding == 8 {
			b.WriteString(gsm.DecodeUCS2(data))
		} else {
			b.WriteString(gsm.Decode(data))
		}
	}
	return b.String()
}

func TestSubmitRefusals(t *testing.T) {
	var status atomic.Uint32
	center := smsctest.Start(t, smsctest.Plan{Status: func(smpp.Message) smpp.Status { return smpp.Status(status.Load()) }})
	c := run(t, config(center.Addr), &memory{})
	tests := []struct {
		status  smpp.Status
		outcome models.Outcome
		why     models.Reason
	}{
		{smpp.StatusSystemError, models.OutcomeTemporary, "system error"},
		{smpp.StatusDestAddress, models.OutcomePermanent, "invalid destination address"},
		{smpp.StatusPermanent, models.OutcomePermanent, "permanent error of the receiver"},
		{smpp.StatusSubmitFailed, models.OutcomeTemporary, "submit failed"},
		{0x41F, models.OutcomeTemporary, "status 0x41F"},
		{smpp.StatusSourceAddress, models.OutcomeDown, "invalid source address"},
		{smpp.StatusBindState, models.OutcomeDown, "incorrect bind status for the command"},
	}
	for _, tt := range tests {
		status.Store(uint32(tt.status))
		res := c.Submit(t.Context(), smpp.Text{Key: "m", To: phone, Body: "hi"})
		assert.Equal(t, tt.outcome, res.Outcome, tt.status.Code())
		assert.Equal(t, tt.status.Code(), res.Code)
		assert.Equal(t, tt.why, res.Why)
	}
	res := c.Submit(t.Context(), smpp.Text{Key: "m", To: "555-0100", Body: "hi"})
	assert.Equal(t, models.OutcomePermanent, res.Outcome)
	assert.Equal(t, models.ReasonBadNumber, res.Why)
	res = c.Submit(t.Context(), smpp.Text{Key: "m", To: phone, Body: strings.Repeat("a", 153*255+1)})
	assert.Equal(t, models.OutcomePermanent, res.Outcome)
	assert.Equal(t, models.ReasonTextTooLong, res.Why)
	assert.Empty(t, center.Taken())
}

func TestThrottlingSlowsAndAllArrive(t *testing.T) {
	t.Parallel() // it mostly waits
	center := smsctest.Start(t, smsctest.Plan{Rate: 20})
	c := run(t, config(center.Addr), &memory{})
	begin := time.Now()
	const n = 30
	var sent sync.WaitGroup
	var failed atomic.Int32
	for i := range n {
		sent.Go(func() {
			text := smpp.Text{Key: fmt.Sprint(i), To: phone, Body: fmt.Sprint("text ", i)}
			for range 10 { // the courier's own tries
				if c.Submit(t.Context(), text).Outcome == models.OutcomeSent {
					return
				}
			}
			failed.Add(1)
		})
	}
	sent.Wait()
	assert.Less(t, time.Since(begin), 15*time.Second, "it did not slow to a crawl")
	assert.Zero(t, failed.Load())
	assert.Len(t, center.Taken(), n, "each once")
	_, submits := center.Counts()
	assert.Less(t, submits, 3*n, "it slowed down instead of hammering")
}

// One number whose queue is full slows nobody else.
func TestAFullQueueOfOneNumberSlowsNobody(t *testing.T) {
	const full = "+12125550199"
	center := smsctest.Start(t, smsctest.Plan{Status: func(m smpp.Message) smpp.Status {
		if m.Dest.Number("1") == full {
			return smpp.StatusQueueFull
		}
		return smpp.StatusOK
	}})
	c := run(t, config(center.Addr), &memory{})
	for i := range 40 {
		to, want := phone, models.OutcomeSent
		if i%2 == 0 {
			to, want = full, models.OutcomeTemporary
		}
		res := c.Submit(t.Context(), smpp.Text{Key: fmt.Sprint(i), To: to, Body: "hi"})
		require.Equal(t, want, res.Outcome)
	}
	_, submits := center.Counts()
	assert.Equal(t, 40, submits, "each was offered once: the next try is the courier's")
}

func TestMaxRate(t *testing.T) {
	center := smsctest.Start(t, smsctest.Plan{})
	cfg := config(center.Addr)
	cfg.MaxRate = 50
	c := run(t, cfg, &memory{})
	begin := time.Now()
	for i := range 11 {
		require.Equal(t, models.OutcomeSent, c.Submit(t.Context(), smpp.Text{Key: fmt.Sprint(i), To: phone, Body: "hi"}).Outcome)
	}
	assert.GreaterOrEqual(t, time.Since(begin), 190*time.Millisecond, "ten gaps of 20 ms")
}

// Answers in any order go to their own requests.
func TestUnorderedAnswers(t *testing.T) {
	center := smsctest.Start(t, smsctest.Plan{Delay: func(m smpp.Message) time.Duration {
		return time.Duration(97-int(m.Short[0])%10*10) * time.Millisecond
	}})
	c := run(t, config(center.Addr), &memory{})
	var wg sync.WaitGroup
	ids := make([]string, 10)
	for i := range ids {
		wg.Go(func() {
			ids[i] = c.Submit(t.Context(), smpp.Text{Key: fmt.Sprint(i), To: phone, Body: fmt.Sprint(i)}).PeerID
		})
	}
	wg.Wait()
	for _, m := range center.Taken() {
		assert.Equal(t, m.ID, ids[int(m.Message.Short[0]-'0')])
	}
}

// A link that is cut after the center took a message leaves a doubt; nothing
// is said sent that was not taken, nothing taken is said unsent.
func TestLostLinks(t *testing.T) {
	center := smsctest.Start(t, smsctest.Plan{DropAfter: 7})
	c := run(t, config(center.Addr), &memory{})
	outcomes := map[models.Outcome]int{}
	for i := range 50 {
		res := c.Submit(t.Context(), smpp.Text{Key: fmt.Sprint(i), To: phone, Body: fmt.Sprint(i)})
		outcomes[res.Outcome]++
		if res.Outcome == models.OutcomeDoubt {
			assert.ErrorIs(t, res.Err, smpp.ErrNoAnswer)
			assert.Equal(t, models.ReasonCenterSilent, res.Why)
		}
	}
	assert.Equal(t, map[models.Outcome]int{models.OutcomeSent: 43, models.OutcomeDoubt: 7}, outcomes)
	assert.Len(t, center.Taken(), 50)
	binds, _ := center.Counts()
	assert.Equal(t, 8, binds)
}

func TestNoAnswerThenLate(t *testing.T) {
	t.Parallel() // it mostly waits
	center := smsctest.Start(t, smsctest.Plan{Delay: func(smpp.Message) time.Duration { return time.Second }})
	h := &memory{}
	cfg := config(center.Addr)
	cfg.Patience = 300 * time.Millisecond
	c := run(t, cfg, h)
	res := c.Submit(t.Context(), smpp.Text{Key: "slow", To: phone, Body: "hi"})
	assert.Equal(t, models.OutcomeDoubt, res.Outcome)
	eventually(t, "the late answer", func() bool { return len(h.allLate()) == 1 })
	late := h.allLate()[0]
	assert.Equal(t, smpp.LateAnswer{Key: "slow", PeerID: center.Taken()[0].ID, Status: smpp.StatusOK, Last: true}, late)

	ctx, cancel := context.WithTimeout(t.Context(), 100*time.Millisecond)
	defer cancel()
	res = c.Submit(ctx, smpp.Text{Key: "hurried", To: phone, Body: "hi"})
	assert.Equal(t, models.OutcomeDoubt, res.Outcome, "the caller's own limit leaves the same doubt")
	done, cancelled := context.WithCancel(t.Context())
	cancelled()
	res = c.Submit(done, smpp.Text{Key: "stopped", To: phone, Body: "hi"})
	assert.Equal(t, models.OutcomeDown, res.Outcome)
	assert.Equal(t, models.ReasonStoppedEarly, res.Why)
	assert.Len(t, center.Taken(), 2)
}

// A text of which some parts were taken goes on from there.
func TestPartsGoOn(t *testing.T) {
	var n atomic.Int32
	center := smsctest.Start(t, smsctest.Plan{Status: func(smpp.Message) smpp.Status {
		if n.Add(1) == 2 {
			return smpp.StatusSystemError
		}
		return smpp.StatusOK
	}})
	c := run(t, config(center.Addr), &memory{})
	text := smpp.Text{Key: "long", To: phone, Body: strings.Repeat("0123456789", 40)}
	res := c.Submit(t.Context(), text)
	assert.Equal(t, models.OutcomeTemporary, res.Outcome)
	assert.Equal(t, 1, res.Taken)
	res = c.Submit(t.Context(), text)
	assert.Equal(t, models.OutcomeSent, res.Outcome)
	assert.Equal(t, text.Body, joined(t, center.Taken()), "no part twice")
}

func TestLogInRefused(t *testing.T) {
	center := smsctest.Start(t, smsctest.Plan{Password: "other"})
	cfg := config(center.Addr)
	cfg.BindWait, cfg.RefusedFirst, cfg.RefusedMost = 50*time.Millisecond, 5*time.Millisecond, 20*time.Millisecond
	c := run(t, cfg, &memory{})
	var err error
	require.Eventually(t, func() bool { _, err = c.Up(); return models.CodeOf(err) == models.CodeInvalid }, 20*time.Second, 5*time.Millisecond)
	assert.ErrorContains(t, err, "refuses the log-in: invalid password")
	assert.NotContains(t, err.Error(), "pw")
	res := c.Submit(t.Context(), smpp.Text{Key: "m", To: phone, Body: "hi"})
	assert.Equal(t, models.OutcomeDown, res.Outcome)
	assert.Equal(t, models.ReasonCenterUnreached, res.Why)
	center.Change(func(p *smsctest.Plan) { p.Password = "" })
	require.Eventually(t, func() bool { bound, _ := c.Up(); return bound }, 20*time.Second, 5*time.Millisecond, "it is tried again")
}

func TestNobodyThereThenSomebody(t *testing.T) {
	center := smsctest.Start(t, smsctest.Plan{})
	center.Close()
	cfg := config(center.Addr)
	cfg.BindWait = 50 * time.Millisecond
	c := run(t, cfg, &memory{})
	res := c.Submit(t.Context(), smpp.Text{Key: "m", To: phone, Body: "hi"})
	assert.Equal(t, models.OutcomeDown, res.Outcome, "the message is not to blame")
	bound, err := c.Up()
	assert.False(t, bound)
	assert.ErrorContains(t, err, "connecting")
}

func TestConfigRefused(t *testing.T) {
	for name, change := range map[string]func(*smpp.Config){
		"long account":  func(c *smpp.Config) { c.SystemID = strings.Repeat("a", 16) },
		"long password": func(c *smpp.Config) { c.Password = "123456789" },
		"sender":        func(c *smpp.Config) { c.Source = "a name too long" },
		"no clock":      func(c *smpp.Config) { c.Clock = nil },
	} {
		cfg := config("127.0.0.1:1")
		change(&cfg)
		_, err := smpp.New(cfg, &memory{})
		assert.Error(t, err, name)
	}
	_, err := smpp.New(config("127.0.0.1:1"), nil)
	assert.Error(t, err)
}

func TestSilentLinkIsMadeAnew(t *testing.T) {
	center := smsctest.Start(t, smsctest.Plan{NoEnquire: true})
	cfg := config(center.Addr)
	cfg.EnquireEvery, cfg.Patience = 20*time.Millisecond, 50*time.Millisecond
	run(t, cfg, &memory{})
	eventually(t, "a second bind", func() bool { b, _ := center.Counts(); return b >= 2 })
	center.Change(func(p *smsctest.Plan) { p.NoEnquire = false })
	eventually(t, "a link that stays", func() bool {
		before, _ := center.Counts()
		time.Sleep(200 * time.Millisecond)
		after, _ := center.Counts()
		return before == after && center.Bound() == 1
	})
}

func TestTLS(t *testing.T) {
	// httptest's certificate is made for 127.0.0.1 and example.com.
	web := httptest.NewUnstartedServer(nil)
	web.StartTLS()
	defer web.Close()
	center := smsctest.Start(t, smsctest.Plan{TLS: web.TLS})
	roots := x509.NewCertPool()
	roots.AddCert(web.Certificate())
	cfg := config(center.Addr)
	cfg.TLS = &tls.Config{RootCAs: roots}
	c := run(t, cfg, &memory{})
	assert.Equal(t, models.OutcomeSent, c.Submit(t.Context(), smpp.Text{Key: "m", To: phone, Body: "hi"}).Outcome)

	cfg.TLS = &tls.Config{} // does not know the certificate
	cfg.BindWait = 100 * time.Millisecond
	stranger := run(t, cfg, &memory{})
	assert.Equal(t, models.OutcomeDown, stranger.Submit(t.Context(), smpp.Text{Key: "m", To: phone, Body: "hi"}).Outcome)
	eventually(t, "the reason", func() bool {
		_, err := stranger.Up()
		return err != nil && strings.Contains(err.Error(), "certificate")
	})
}

func TestQuery(t *testing.T) {
	center := smsctest.Start(t, smsctest.Plan{State: smpp.StateUndeliverable})
	c := run(t, config(center.Addr), &memory{})
	res := c.Submit(t.Context(), smpp.Text{Key: "m", To: phone, Body: "hi"})
	state, err := c.Query(t.Context(), res.PeerID)
	require.NoError(t, err)
	assert.Equal(t, smpp.StateUndeliverable, state)
	_, err = c.Query(t.Context(), "nosuch")
	var status *smpp.StatusError
	require.ErrorAs(t, err, &status)
	assert.Equal(t, smpp.StatusQueryFailed, status.Status)
}

// A client that is told to end waits for the answers it is owed and takes
// leave.
func TestEndsCleanly(t *testing.T) {
	center := smsctest.Start(t, smsctest.Plan{Delay: func(smpp.Message) time.Duration { return 100 * time.Millisecond }})
	c, err := smpp.New(config(center.Addr), &memory{})
	require.NoError(t, err)
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- c.Run(ctx) }()
	result := make(chan smpp.Result, 1)
	go func() { result <- c.Submit(t.Context(), smpp.Text{Key: "m", To: phone, Body: "hi"}) }()
	eventually(t, "the submit to arrive", func() bool { return len(center.Taken()) == 1 })
	stop()
	assert.Equal(t, models.OutcomeSent, (<-result).Outcome)
	assert.NoError(t, <-ended)
	eventually(t, "the link's end", func() bool { return center.Bound() == 0 })
}
