package sms_test

import (
	"context"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/notify"
	"example.org/roundsman/notify/message/gsm"
	"example.org/roundsman/notify/notifytest"
	"example.org/roundsman/notify/sms"
	"example.org/roundsman/notify/sms/smpp"
	"example.org/roundsman/notify/sms/smpp/smsctest"
)

type kept struct {
	mu       sync.Mutex
	incoming []sms.Incoming
	reports  []sms.Report
	late     []sms.Late
}

func (k *kept) Incoming(_ context.Context, in sms.Incoming) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.incoming = append(k.incoming, in)
	return nil
}

func (k *kept) Report(_ context.Context, r sms.Report) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.reports = append(k.reports, r)
	return nil
}

func (k *kept) Late(_ context.Context, l sms.Late) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.late = append(k.late, l)
	return nil
}

func (k *kept) counts() (incoming, reports, late int) {
	k.mu.Lock()
	defer k.mu.Unlock()
	return len(k.incoming), len(k.reports), len(k.late)
}

func start(t *testing.T, center *smsctest.Center, h sms.Handler, change func(*smpp.Config)) *sms.SMPP {
	t.Helper()
	cfg := smpp.Config{Addr: center.Addr, SystemID: "hillshop", Password: "pw", Source: "+12125550100",
		Patience: 5 * time.Second, BindWait: 5 * time.Second, BackoffFirst: 5 * time.Millisecond,
		BackoffMost: 20 * time.Millisecond, Receipts: true, Clock: models.ClockFunc(time.Now)}
	if change != nil {
		change(&cfg)
	}
	s, err := sms.NewSMPP(cfg, h)
	require.NoError(t, err)
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.Run(ctx) }()
	t.Cleanup(func() {
		stop()
		assert.NoError(t, <-ended)
	})
	return s
}

const (
	good      = "+12125550111"
	temporary = "+12125550112"
	permanent = "+12125550113"
	hanging   = "+12125550114"
)

// What every channel keeps, against the center for tests.
func TestContract(t *testing.T) {
	t.Parallel() // it mostly waits
	notifytest.Contract(t, func(t *testing.T) notifytest.Peer {
		center := smsctest.Start(t, smsctest.Plan{
			Status: func(m smpp.Message) smpp.Status {
				switch "+" + m.Dest.Digits {
				case temporary:
					return smpp.StatusSystemError
				case permanent:
					return smpp.StatusDestAddress
				}
				return smpp.StatusOK
			},
			Delay: func(m smpp.Message) time.Duration {
				if "+"+m.Dest.Digits == hanging {
					return time.Second
				}
				return 0
			},
		})
		return notifytest.Peer{
			Channel: start(t, center, &kept{}, nil),
			Good:    good, Temporary: temporary, Permanent: permanent, Hanging: hanging,
			Received: func() []string {
				var out []string
				for _, m := range center.Taken() {
					out = append(out, gsm.Decode(m.Message.Short))
				}
				return out
			},
			Break: center.Close,
		}
	})
}

func outgoing(key, text string) notify.Outgoing {
	return notify.Outgoing{Message: models.Message{Key: key, Channel: models.ChannelSMS, Address: good,
		Composed: models.Composed{Text: text}}}
}

func TestSendAndReport(t *testing.T) {
	center := smsctest.Start(t, smsctest.Plan{Receipts: true, IDs: smsctest.DecimalInText})
	h := &kept{}
	ch := start(t, center, h, nil)
	assert.Equal(t, models.ChannelSMS, ch.Name())
	s, err := ch.Open(t.Context())
	require.NoError(t, err)
	r, err := s.Send(t.Context(), outgoing("k1", "R12 needs oil\n"))
	require.NoError(t, err)
	assert.Equal(t, "0x00", r.Code)
	assert.Equal(t, "R12 needs oil", gsm.Decode(center.Taken()[0].Message.Short), "no empty line at the end")
	require.Eventually(t, func() bool { _, n, _ := h.counts(); return n == 1 }, 20*time.Second, 5*time.Millisecond)
	rep := h.reports[0]
	assert.Contains(t, rep.PeerIDs, r.PeerID, "the decimal id of the receipt is known by the hexadecimal one of the answer")
	assert.True(t, rep.Delivered && rep.Final)
	assert.Equal(t, "delivered", rep.State)
	assert.Equal(t, smpp.Reference("k1"), rep.Reference)

	_, err = center.Send(smpp.Message{Source: smpp.Address{TON: 1, NPI: 1, Digits: good[1:]}, Short: []byte("6120")}, 10*time.Second)
	require.NoError(t, err)
	assert.NotEmpty(t, h.incoming[0].ID)
	h.incoming[0].ID = ""
	assert.Equal(t, []sms.Incoming{{From: good, Text: "6120"}}, h.incoming)
}

// A doubt is settled by the answer that comes late, by a receipt that bears
// the message's reference, or by asking for an id; else it stays.
func TestSettle(t *testing.T) {
	t.Parallel() // it mostly waits
	settler := func(t *testing.T, ch *sms.SMPP) notify.Settler {
		s, err := ch.Open(t.Context())
		require.NoError(t, err)
		return s.(notify.Settler)
	}
	doubt := func(t *testing.T, ch *sms.SMPP, o notify.Outgoing) {
		s, err := ch.Open(t.Context())
		require.NoError(t, err)
		ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
		defer cancel()
		_, err = s.Send(ctx, o)
		var e *notify.SendError
		require.ErrorAs(t, err, &e)
		require.Equal(t, models.OutcomeDoubt, e.Outcome)
	}
	t.Run("late answers", func(t *testing.T) {
		center := smsctest.Start(t, smsctest.Plan{
			Delay: func(smpp.Message) time.Duration { return time.Second },
			Status: func(m smpp.Message) smpp.Status {
				if strings.HasPrefix(string(m.Short), "no") {
					return smpp.StatusRejected
				}
				return smpp.StatusOK
			}})
		h := &kept{}
		ch := start(t, center, h, nil)
		yes, no := outgoing("a", "yes"), outgoing("b", "no")
		doubt(t, ch, yes)
		doubt(t, ch, no)
		require.Eventually(t, func() bool { _, _, n := h.counts(); return n == 2 }, 20*time.Second, 5*time.Millisecond)
		taken, known, r, err := settler(t, ch).Settle(t.Context(), yes)
		require.NoError(t, err)
		assert.True(t, taken && known)
		assert.Equal(t, center.Taken()[0].ID, r.PeerID)
		taken, known, r, err = settler(t, ch).Settle(t.Context(), no)
		require.NoError(t, err)
		assert.False(t, taken)
		assert.True(t, known)
		assert.Equal(t, "0x66", r.Code)
		_, known, _, err = settler(t, ch).Settle(t.Context(), outgoing("c", "never"))
		require.NoError(t, err)
		assert.False(t, known)
	})
	t.Run("a receipt with our reference", func(t *testing.T) {
		center := smsctest.Start(t, smsctest.Plan{Mute: true, Receipts: true})
		h := &kept{}
		ch := start(t, center, h, nil)
		o := outgoing("a", "hello")
		doubt(t, ch, o)
		require.Eventually(t, func() bool { _, n, _ := h.counts(); return n == 1 }, 20*time.Second, 5*time.Millisecond)
		taken, known, r, err := settler(t, ch).Settle(t.Context(), o)
		require.NoError(t, err)
		assert.True(t, taken && known)
		assert.Equal(t, center.Taken()[0].ID, r.PeerID)
	})
	t.Run("query_sm", func(t *testing.T) {
		center := smsctest.Start(t, smsctest.Plan{})
		ch := start(t, center, &kept{}, nil)
		s, err := ch.Open(t.Context())
		require.NoError(t, err)
		r, err := s.Send(t.Context(), outgoing("a", "hello"))
		require.NoError(t, err)
		o := outgoing("other", "hello")
		o.PeerID = r.PeerID
		taken, known, _, err := settler(t, ch).Settle(t.Context(), o)
		require.NoError(t, err)
		assert.True(t, taken && known)
		o.PeerID = "nosuch"
		_, known, r, err = settler(t, ch).Settle(t.Context(), o)
		require.NoError(t, err)
		assert.False(t, known)
		assert.Equal(t, "0x67", r.Code)
	})
}

func TestNotSetUp(t *testing.T) {
	_, err := sms.NewSMPP(smpp.Config{Source: "far too long a name", Clock: models.ClockFunc(time.Now)}, &kept{})
	assert.ErrorIs(t, err, smpp.ErrSender)
}

// A refused log-in takes this channel down and nothing else with it.
func TestRefusedLogIn(t *testing.T) {
	t.Parallel() // it mostly waits
	center := smsctest.Start(t, smsctest.Plan{Password: "other"})
	ch := start(t, center, &kept{}, func(c *smpp.Config) { c.BindWait = 500 * time.Millisecond })
	require.Eventually(t, func() bool { _, err := ch.Up(); return err != nil }, 20*time.Second, 5*time.Millisecond)
	_, err := ch.Open(t.Context())
	var e *notify.SendError
	require.ErrorAs(t, err, &e)
	assert.Equal(t, models.OutcomeDown, e.Outcome)
	assert.Equal(t, models.ReasonCenterLogin, e.Why)
	assert.True(t, e.Lasting, "somebody must put it right")
	up, err := ch.Up()
	assert.False(t, up)
	assert.Equal(t, models.CodeInvalid, models.CodeOf(err))
	binds, _ := center.Counts()
	assert.Zero(t, binds)
}
