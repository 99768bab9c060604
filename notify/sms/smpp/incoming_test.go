package smpp_test

import (
	"encoding/binary"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/message/gsm"
	"example.org/roundsman/notify/sms/smpp"
	"example.org/roundsman/notify/sms/smpp/smsctest"
)

// inbound makes the messages in which a center brings a text.
func inbound(t *testing.T, text string, ref uint8) []smpp.Message {
	t.Helper()
	parts, err := gsm.Split(text, ref)
	require.NoError(t, err)
	var out []smpp.Message
	for _, p := range parts {
		m := smpp.Message{Source: smpp.Address{TON: 1, NPI: 1, Digits: "12125550123"},
			Dest: smpp.Address{TON: 1, NPI: 1, Digits: "12125550100"}, Short: p.Octets()}
		if p.Header != nil {
			m.ESMClass = smpp.ESMHeader
		}
		if p.Alphabet == gsm.UCS2 {
			m.DataCoding = 8
		}
		out = append(out, m)
	}
	return out
}

// wideRefs gives parts references of 16 bits (3GPP TS 23.040, 9.2.3.24.8).
func wideRefs(ms []smpp.Message) []smpp.Message {
	for i, m := range ms {
		h := m.Short[:6]
		ms[i].Short = append([]byte{6, 8, 4, 0, h[3], h[4], h[5]}, m.Short[6:]...)
	}
	return ms
}

func send(t *testing.T, center *smsctest.Center, m smpp.Message) smpp.Status {
	t.Helper()
	st, err := center.Send(m, 10*time.Second)
	require.NoError(t, err)
	return st
}

func bound(t *testing.T, center *smsctest.Center) {
	t.Helper()
	eventually(t, "a bound client", func() bool { return center.Bound() == 1 })
}

func TestIncomingIsAckedOnlyWhenStored(t *testing.T) {
	center := smsctest.Start(t, smsctest.Plan{})
	h := &memory{}
	run(t, config(center.Addr), h)
	bound(t, center)
	m := inbound(t, "6120 mi €", 1)[0]
	h.refuseNext(1)
	assert.Equal(t, smpp.StatusTemporary, send(t, center, m), "not stored: the center must keep it")
	assert.Empty(t, h.texts())
	assert.Equal(t, smpp.StatusOK, send(t, center, m))
	require.Len(t, h.incoming, 1)
	h.incoming[0].ID = ""
	assert.Equal(t, []smpp.Incoming{{From: phone, To: "+12125550100", Text: "6120 mi €"}}, h.incoming)
}

// The same words again are another text, however soon; what is offered again
// because its answer was lost with the link is the same one.
func TestCopiesAreKnownByTheOfferAndNotByTheirWords(t *testing.T) {
	center := smsctest.Start(t, smsctest.Plan{})
	h := &memory{}
	run(t, config(center.Addr), h)
	bound(t, center)
	stop, start := inbound(t, "STOP", 1)[0], inbound(t, "START", 1)[0]
	for _, m := range []smpp.Message{stop, start, stop, stop} {
		assert.Equal(t, smpp.StatusOK, send(t, center, m))
	}
	ids := map[string]bool{}
	for _, in := range h.incoming {
		ids[in.ID] = true
	}
	assert.Len(t, ids, 4, "four texts")
	last := h.incoming[3].ID
	center.Cut()
	require.Eventually(t, func() bool { binds, _ := center.Counts(); return binds == 2 && center.Bound() == 1 }, 20*time.Second, 5*time.Millisecond)
	for _, m := range []smpp.Message{stop, start, stop} {
		assert.Equal(t, smpp.StatusOK, send(t, center, m))
	}
	assert.Equal(t, last, h.incoming[4].ID, "offered again")
	assert.NotContains(t, ids, h.incoming[5].ID)
	assert.NotContains(t, ids, h.incoming[6].ID, "a new one")
}

func TestIncomingParts(t *testing.T) {
	long := strings.Repeat("the pump in the lower field is hot ", 10)
	wide := strings.Repeat("ñж👍", 40)
	dir, err := smpp.NewDirFragments(filepath.Join(t.TempDir(), "parts"))
	require.NoError(t, err)
	for name, keep := range map[string]smpp.Fragments{"memory": smpp.NewMemoryFragments(), "folder": dir} {
		t.Run(name, func(t *testing.T) {
			center := smsctest.Start(t, smsctest.Plan{})
			h := &memory{}
			cfg := config(center.Addr)
			cfg.Fragments = keep
			run(t, cfg, h)
			bound(t, center)
			a, b := inbound(t, long, 7), wideRefs(inbound(t, wide, 7))
			require.Len(t, a, 3)
			require.Len(t, b, 3)
			// Two texts mixed, out of order, one part twice.
			for _, m := range []smpp.Message{a[2], b[0], a[0], a[0], b[2], b[1], a[1]} {
				assert.Equal(t, smpp.StatusOK, send(t, center, m))
			}
			assert.Equal(t, []string{wide, long}, h.texts())
			left, err := keep.All(t.Context())
			require.NoError(t, err)
			assert.Empty(t, left, "parts of whole texts are forgotten")
		})
	}
}

// The last part is acked only when the whole is stored; the center's second
// offer of it completes the text.
func TestIncomingLastPartRefused(t *testing.T) {
	center := smsctest.Start(t, smsctest.Plan{})
	h := &memory{}
	run(t, config(center.Addr), h)
	bound(t, center)
	ms := inbound(t, strings.Repeat("a", 200), 9)
	assert.Equal(t, smpp.StatusOK, send(t, center, ms[0]))
	h.refuseNext(1)
	assert.Equal(t, smpp.StatusTemporary, send(t, center, ms[1]))
	assert.Equal(t, smpp.StatusOK, send(t, center, ms[1]))
	assert.Equal(t, []string{strings.Repeat("a", 200)}, h.texts())
}

func TestIncomingPartsThatNeverCome(t *testing.T) {
	center := smsctest.Start(t, smsctest.Plan{})
	h := &memory{}
	cfg := config(center.Addr)
	cfg.PartsWait = 500 * time.Millisecond
	run(t, cfg, h)
	bound(t, center)
	ms := inbound(t, strings.Repeat("0123456789", 50), 3)
	require.Len(t, ms, 4)
	assert.Equal(t, smpp.StatusOK, send(t, center, ms[1]))
	assert.Equal(t, smpp.StatusOK, send(t, center, ms[2]))
	eventually(t, "what there is", func() bool { return len(h.texts()) == 1 })
	got := h.incoming[0]
	assert.True(t, got.Partial)
	assert.Equal(t, "[...]"+strings.Repeat("0123456789", 50)[153:459]+"[...]", got.Text)
}

// A sender's careless cut through a surrogate pair is healed, with the
// concatenation given in parameters.
func TestIncomingParametersAndCutPair(t *testing.T) {
	center := smsctest.Start(t, smsctest.Plan{})
	h := &memory{}
	run(t, config(center.Addr), h)
	bound(t, center)
	octets := gsm.EncodeUCS2("ok👍")
	for i, data := range [][]byte{octets[:6], octets[6:]} {
		m := inbound(t, "x", 1)[0]
		m.DataCoding, m.Short = 8, nil
		m.TLVs = smpp.TLVs{{Tag: smpp.TagMessagePayload, Value: data}, smpp.Uint16TLV(smpp.TagSARMsgRefNum, 300),
			smpp.Uint8TLV(smpp.TagSARTotalSegments, 2), smpp.Uint8TLV(smpp.TagSARSegmentSeqnum, uint8(i+1))}
		assert.Equal(t, smpp.StatusOK, send(t, center, m))
	}
	assert.Equal(t, []string{"ok👍"}, h.texts())
}

func TestReceiptsByStyle(t *testing.T) {
	for style, fromText := range map[smsctest.IDStyle]bool{smsctest.SameIDs: false, smsctest.TextIDs: true, smsctest.DecimalInText: true} {
		center := smsctest.Start(t, smsctest.Plan{Receipts: true, IDs: style, State: smpp.StateUndeliverable})
		h := &memory{}
		c := run(t, config(center.Addr), h)
		h.refuseNext(1) // the center offers it again
		res := c.Submit(t.Context(), smpp.Text{Key: "m", To: phone, Body: "hi"})
		require.Equal(t, models.OutcomeSent, res.Outcome)
		eventually(t, "a receipt", func() bool { return len(h.allReceipts()) == 1 })
		r := h.allReceipts()[0]
		assert.True(t, smpp.SameID(res.PeerID, r.ID), "%s %s", res.PeerID, r.ID)
		assert.Equal(t, fromText, r.FromText)
		assert.Equal(t, smpp.StateUndeliverable, r.State)
		assert.Empty(t, h.texts(), "a receipt is not a text")
	}
}

func TestRequestsOfThePeer(t *testing.T) {
	center := smsctest.Start(t, smsctest.Plan{})
	h := &memory{}
	run(t, config(center.Addr), h)
	bound(t, center)
	st, err := center.SendPDU(smpp.PDU{Command: smpp.EnquireLink}, 10*time.Second)
	require.NoError(t, err)
	assert.Equal(t, smpp.StatusOK, st)
	st, err = center.SendPDU(smpp.PDU{Command: 0x00000111}, 10*time.Second)
	require.NoError(t, err)
	assert.Equal(t, smpp.StatusCommandID, st, "an unknown command gets a generic_nack")
	st, err = center.SendPDU(smpp.PDU{Command: smpp.DeliverSM, Body: []byte{1, 2, 3}}, 10*time.Second)
	require.NoError(t, err)
	assert.Equal(t, smpp.StatusBadTLVs, st)

	// data_sm: section 4.7.1.
	body := append([]byte("\x00\x01\x0112125550123\x00\x01\x0112125550100\x00\x00\x00\x00"), 0x04, 0x24, 0, 2, 'o', 'k')
	st, err = center.SendPDU(smpp.PDU{Command: smpp.DataSM, Body: body}, 10*time.Second)
	require.NoError(t, err)
	assert.Equal(t, smpp.StatusOK, st)
	assert.Equal(t, []string{"ok"}, h.texts())

	st, err = center.SendPDU(smpp.PDU{Command: smpp.Unbind}, 10*time.Second)
	require.NoError(t, err)
	assert.Equal(t, smpp.StatusOK, st)
	eventually(t, "a new bind", func() bool { b, _ := center.Counts(); return b == 2 })
}

// A peer that sends a length out of range is left, with a word, and nothing
// of that size is ever allocated.
func TestLengthOutOfRange(t *testing.T) {
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer func() { _ = ln.Close() }()
	got := make(chan smpp.PDU, 1)
	go func() {
		conn, err := ln.Accept()
		if err != nil {
			return
		}
		defer func() { _ = conn.Close() }()
		p, err := smpp.ReadPDU(conn, 0)
		if err != nil {
			return
		}
		_, _ = conn.Write(smpp.PDU{Command: smpp.BindTransceiverResp, Sequence: p.Sequence, Body: smpp.IDBody("x")}.Append(nil))
		_, _ = conn.Write(binary.BigEndian.AppendUint32(nil, 0x7FFFFFFF))
		if p, err = smpp.ReadPDU(conn, 0); err == nil {
			got <- p
		}
	}()
	run(t, config(ln.Addr().String()), &memory{})
	select {
	case p := <-got:
		assert.Equal(t, smpp.GenericNack, p.Command)
		assert.Equal(t, smpp.StatusCommandLength, p.Status)
	case <-time.After(20 * time.Second):
		t.Fatal("no generic_nack")
	}
}

func TestDirFragmentsSurviveAndPutAside(t *testing.T) {
	dir := t.TempDir()
	first, err := smpp.NewDirFragments(dir)
	require.NoError(t, err)
	f := smpp.Fragment{FragmentKey: smpp.FragmentKey{From: phone, To: "55501", Ref: 3, Total: 2}, Seq: 1,
		Data: []byte("a"), At: time.Date(2026, 11, 25, 8, 0, 0, 0, time.UTC)}
	require.NoError(t, first.Keep(t.Context(), f))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "junk.part.json"), []byte("{"), 0o600))

	again, err := smpp.NewDirFragments(dir)
	require.NoError(t, err)
	all, err := again.All(t.Context())
	require.NoError(t, err)
	assert.Equal(t, []smpp.Fragment{f}, all)
	assert.FileExists(t, filepath.Join(dir, "junk.part.json.unreadable"))
	require.NoError(t, again.Forget(t.Context(), f.FragmentKey))
	all, err = again.All(t.Context())
	require.NoError(t, err)
	assert.Empty(t, all)
}
