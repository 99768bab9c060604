package smpp

import (
	"bytes"
	"encoding/hex"
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The worked example of the specification, section 3.2.3: a bind_transmitter
// with system_id "SMPP3TEST", password "secret08" and system_type "SUBMIT1"
// (from memory; the octets follow from section 4.1.1's field table).
func TestBindOctets(t *testing.T) {
	body, err := Bind{SystemID: "SMPP3TEST", Password: "secret08", SystemType: "SUBMIT1",
		Version: 0x00, AddrTON: 1, AddrNPI: 1}.Encode()
	require.NoError(t, err)
	got := PDU{Command: BindTransmitter, Sequence: 1, Body: body}.Append(nil)
	want := "0000002F" + "00000002" + "00000000" + "00000001" +
		"534D50503354455354" + "00" + "7365637265743038" + "00" + "5355424D495431" + "00" + "00" + "01" + "01" + "00"
	assert.Equal(t, strings.ToLower(want), hex.EncodeToString(got))

	p, err := ReadPDU(bytes.NewReader(got), 0)
	require.NoError(t, err)
	b, err := DecodeBind(p.Body)
	require.NoError(t, err)
	assert.Equal(t, "secret08", b.Password)
	assert.Equal(t, "bind_transmitter", p.Command.String())
}

func TestReadPDULimits(t *testing.T) {
	head := func(n uint32) []byte {
		b := PDU{Command: EnquireLink, Sequence: 7}.Append(nil)
		b[0], b[1], b[2], b[3] = byte(n>>24), byte(n>>16), byte(n>>8), byte(n)
		return b
	}
	tests := []struct {
		name string
		in   []byte
		err  error
	}{
		{"whole", head(16), nil},
		{"nothing", nil, io.EOF},
		{"cut in the length", head(16)[:3], io.ErrUnexpectedEOF},
		{"cut in the head", head(16)[:15], io.ErrUnexpectedEOF},
		{"ends after the length", head(16)[:4], io.ErrUnexpectedEOF},
		{"cut in the body", head(17), io.ErrUnexpectedEOF},
		{"too short to be", head(15), errLength},
		{"too long", head(maxPDULen + 1), errLength},
		{"4 GiB", head(0xFFFFFFFF), errLength},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p, err := ReadPDU(bytes.NewReader(tt.in), 0)
			if tt.err == nil {
				require.NoError(t, err)
				assert.Equal(t, PDU{Command: EnquireLink, Sequence: 7}, p)
				return
			}
			assert.ErrorIs(t, err, tt.err)
		})
	}
}

// Limits of the fields: section 4.4.1 and the tables beside it.
func TestEncodeRefusesLongFields(t *testing.T) {
	long := strings.Repeat("9", 21)
	tests := map[string]interface{ Encode() ([]byte, error) }{
		"source address":       Message{Source: Address{Digits: long}},
		"destination address":  Message{Dest: Address{Digits: long}},
		"service type":         Message{ServiceType: "ABCDEF"},
		"validity":             Message{Validity: strings.Repeat("0", 17)},
		"short message":        Message{Short: make([]byte, 255)},
		"parameter":            Message{TLVs: TLVs{{Tag: 1, Value: make([]byte, 0x10000)}}},
		"NUL inside":           Message{Dest: Address{Digits: "1\x002"}},
		"system id":            Bind{SystemID: strings.Repeat("a", 16)},
		"password":             Bind{Password: "ninechars"},
		"message id of query":  Query{ID: strings.Repeat("a", 65)},
		"message id of answer": QueryResult{ID: strings.Repeat("a", 65)},
	}
	for name, v := range tests {
		_, err := v.Encode()
		assert.ErrorIs(t, err, errField, name)
		assert.NotContains(t, err.Error(), "ninechars", "a password is not repeated")
	}
	_, err := Message{Short: make([]byte, 254), Dest: Address{Digits: long[:20]}}.Encode()
	assert.NoError(t, err)
}

func TestDecodeCutShort(t *testing.T) {
	body, err := Message{Dest: Address{1, 1, "12125550100"}, Short: []byte("hello"),
		TLVs: TLVs{Uint16TLV(TagUserMessageReference, 5)}}.Encode()
	require.NoError(t, err)
	whole := len(body)
	for n := range whole {
		_, err := DecodeMessage(body[:n])
		if n == whole-6 { // a message may end before its optional part
			assert.NoError(t, err)
			continue
		}
		assert.ErrorIs(t, err, errShort, "%d octets", n)
	}
	id, err := decodeID(nil)
	assert.NoError(t, err)
	assert.Empty(t, id)
	_, err = decodeID([]byte("abc"))
	assert.ErrorIs(t, err, errShort)
}

func TestTLVs(t *testing.T) {
	ts := TLVs{TextTLV(TagReceiptedMessageID, "1a2b"), Uint8TLV(TagMessageState, 2),
		{Tag: 0x1400}, Uint16TLV(TagUserMessageReference, 0x1234), {Tag: 0x9999, Value: []byte{1, 2, 3, 4, 5}}}
	id, ok := ts.Text(TagReceiptedMessageID)
	assert.True(t, ok)
	assert.Equal(t, "1a2b", id)
	n, ok := ts.Uint(TagUserMessageReference)
	assert.True(t, ok)
	assert.EqualValues(t, 0x1234, n)
	_, ok = ts.Uint(0x1400)
	assert.False(t, ok, "empty")
	_, ok = ts.Uint(0x9999)
	assert.False(t, ok, "five octets")
	_, ok = ts.Text(0x4242)
	assert.False(t, ok, "absent")
}

func TestMessageRoundTrip(t *testing.T) {
	text := rapid.StringMatching(`[ -~]{0,5}`)
	digits := rapid.StringMatching(`[0-9+]{0,20}`)
	rapid.Check(t, func(t *rapid.T) {
		address := func(name string) Address {
			return Address{rapid.Byte().Draw(t, name), rapid.Byte().Draw(t, name), digits.Draw(t, name)}
		}
		m := Message{
			ServiceType: text.Draw(t, "service"), Source: address("source"), Dest: address("dest"),
			ESMClass: rapid.Byte().Draw(t, "esm"), ProtocolID: rapid.Byte().Draw(t, "pid"),
			Validity: text.Draw(t, "validity"), ScheduleTime: text.Draw(t, "schedule"),
			Registered: rapid.Byte().Draw(t, "registered"), DataCoding: rapid.Byte().Draw(t, "coding"),
			Short: rapid.SliceOfN(rapid.Byte(), 1, 254).Draw(t, "short"),
		}
		for range rapid.IntRange(0, 3).Draw(t, "params") {
			m.TLVs = append(m.TLVs, TLV{rapid.Uint16().Draw(t, "tag"), rapid.SliceOfN(rapid.Byte(), 1, 40).Draw(t, "value")})
		}
		body, err := m.Encode()
		require.NoError(t, err)
		sent := PDU{Command: SubmitSM, Sequence: rapid.Uint32().Draw(t, "seq"), Body: body}
		p, err := ReadPDU(bytes.NewReader(sent.Append(nil)), 0)
		require.NoError(t, err)
		assert.Equal(t, sent, p)
		back, err := DecodeMessage(p.Body)
		require.NoError(t, err)
		assert.Equal(t, m, back)
	})
}

// Whatever comes over the line is read without harm, and what was read
// writes itself again.
func FuzzReadPDU(f *testing.F) {
	m := Message{Source: Address{1, 1, "12125550100"}, Dest: Address{3, 0, "55501"}, ESMClass: ESMReceipt,
		Short: []byte("id:1 stat:DELIVRD"), TLVs: TLVs{TextTLV(TagReceiptedMessageID, "1"), Uint8TLV(TagMessageState, 2)}}
	body, err := m.Encode()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(PDU{Command: DeliverSM, Sequence: 1, Body: body}.Append(nil))
	f.Add(PDU{Command: GenericNack, Status: 3, Sequence: 9}.Append(nil))
	f.Add([]byte{0, 0, 0, 15, 1})
	f.Fuzz(func(t *testing.T, in []byte) {
		p, err := ReadPDU(bytes.NewReader(in), 4096)
		if err != nil {
			return
		}
		if again := p.Append(nil); !bytes.Equal(again, in[:len(again)]) {
			t.Fatal("does not write itself again")
		}
		if m, err := DecodeMessage(p.Body); err == nil {
			text, _ := (&Client{}).text(m.DataCoding, m.UserData())
			receiptOf(m, text, "")
			if n := m.Source.Number("1"); len(n) > len(m.Source.Digits)+2 {
				t.Fatalf("number %q of %q", n, m.Source.Digits)
			}
			sar(m.TLVs)
			if again, err := m.Encode(); err == nil && !bytes.Equal(again, p.Body) {
				t.Fatalf("message does not write itself again\n%x\n%x", again, p.Body)
			} else if err != nil && !errors.Is(err, errField) {
				t.Fatal(err)
			}
		}
		_, _ = decodeData(p.Body)
		_, _ = DecodeBind(p.Body)
		_, _ = decodeID(p.Body)
		_, _ = DecodeQuery(p.Body)
		_, _ = DecodeQueryResult(p.Body)
	})
}
