package smpp

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
)

// Codes and names: SMPP 3.4 section 5.1.3 (read in libsmpp34's smpp34.h). The
// specification itself calls only 0x64 temporary and 0x65 permanent; the rest
// of the split is common practice, no source.
func TestStatusClasses(t *testing.T) {
	tests := []struct {
		codes   []Status
		class   Class
		outcome models.Outcome
	}{
		{[]Status{0x00}, ClassDone, models.OutcomeSent},
		{[]Status{0x08, 0x14, 0x64}, ClassTemporary, models.OutcomeTemporary},
		{[]Status{0x58}, ClassSlow, models.OutcomeTemporary},
		{[]Status{0x45, 0xFE, 0xFF, 0x400, 0x4FF, 0x12345}, ClassAmbiguous, models.OutcomeTemporary},
		{[]Status{0x65, 0x66, 0x01, 0x02, 0x03, 0x61, 0x62}, ClassPermanent, models.OutcomePermanent},
		{[]Status{0x4A, 0x50, 0x51}, ClassPermanent, models.OutcomePermanent},
		{[]Status{0x0B}, ClassNumber, models.OutcomePermanent},
		{[]Status{0x04, 0x05}, ClassReconnect, models.OutcomeDown},
		{[]Status{0x0A, 0x0D, 0x0E, 0x0F, 0x15, 0x48, 0x49, 0x53}, ClassSettings, models.OutcomeDown},
	}
	for _, tt := range tests {
		for _, code := range tt.codes {
			assert.Equal(t, tt.class, code.Class(), code.Code())
			assert.Equal(t, tt.outcome, code.Class().Outcome(), code.Code())
			assert.NotEmpty(t, code.String())
		}
	}
	assert.Equal(t, "0x58", StatusThrottled.Code())
	assert.Equal(t, "submit_sm was answered 0x0B (invalid destination address)",
		(&StatusError{SubmitSM, StatusDestAddress}).Error())
}

// Forms of receipts: SMPP 3.4 appendix B for the text; sections 5.3.2.12 and
// 5.3.2.35 for the parameters, which some centers end with NUL.
func TestReceipts(t *testing.T) {
	const text = "id:0441842499 sub:001 dlvrd:001 submit date:2611250830 done date:2611250831 stat:UNDELIV err:034 text:id:7 stat:DELIVRD"
	tests := []struct {
		name string
		m    Message
		text string
		want Receipt
		is   bool
	}{
		{"text only", Message{ESMClass: ESMReceipt}, text,
			Receipt{ID: "0441842499", FromText: true, State: StateUndeliverable, Final: true, ErrorCode: "034"}, true},
		{"parameters win", Message{ESMClass: ESMReceipt, TLVs: TLVs{TextTLV(TagReceiptedMessageID, "1a55fb03"), Uint8TLV(TagMessageState, 2)}}, text,
			Receipt{ID: "1a55fb03", State: StateDelivered, Final: true, ErrorCode: "034"}, true},
		{"no NUL, our reference", Message{ESMClass: ESMReceipt, TLVs: TLVs{{TagReceiptedMessageID, []byte("x")}, Uint16TLV(TagUserMessageReference, 99)}}, "",
			Receipt{ID: "x", State: StateUnknown, Final: true, Reference: 99}, true},
		{"no type bit but an id", Message{TLVs: TLVs{TextTLV(TagReceiptedMessageID, "x"), Uint8TLV(TagMessageState, 1)}}, "",
			Receipt{ID: "x", State: StateEnRoute}, true},
		{"intermediate is not final", Message{ESMClass: esmIntermediate, TLVs: TLVs{TextTLV(TagReceiptedMessageID, "x"), Uint8TLV(TagMessageState, 3)}}, "",
			Receipt{ID: "x", State: StateExpired}, true},
		{"other case and order", Message{ESMClass: ESMReceipt}, "STAT:delivrd ID:AB12 Text:",
			Receipt{ID: "AB12", FromText: true, State: StateDelivered, Final: true}, true},
		{"accepted is not final", Message{ESMClass: ESMReceipt}, "id:5 stat:ACCEPTD",
			Receipt{ID: "5", FromText: true, State: StateAccepted}, true},
		{"a person wrote it", Message{}, "id:5 stat:DELIVRD", Receipt{}, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, is := receiptOf(tt.m, tt.text, "+12125550100")
			assert.Equal(t, tt.is, is)
			if is {
				tt.want.Text, tt.want.Address = tt.text, "+12125550100"
			}
			assert.Equal(t, tt.want, got)
		})
	}
}

// SameID says whether two ids name one message: equal but for case and
// leading zeros, or one the decimal and the other the hexadecimal form of the
// same number, as where a center answers in one and reports in the other.
func SameID(a, b string) bool {
	for _, x := range IDForms(a) {
		for _, y := range IDForms(b)[:1] {
			if x == y {
				return true
			}
		}
	}
	return false
}

func TestSameID(t *testing.T) {
	same := [][2]string{{"1a55fb03", "1A55FB03"}, {"1a55fb03", "441842435"}, {"0441842435", "1a55fb03"},
		{"0000000012", "12"}, {"c", "12"}, {"12", "c"}, {"a-b", "A-B"}, {"0", "000"}}
	for _, p := range same {
		assert.True(t, SameID(p[0], p[1]), "%v", p)
	}
	for _, p := range [][2]string{{"12", "13"}, {"1a", "27"}, {"a-b", "ab"}, {"", "0"}, {"xyz", "12"}} {
		assert.False(t, SameID(p[0], p[1]), "%v", p)
	}
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.StringMatching(`[0-9a-fA-F]{1,20}`).Draw(t, "a")
		b := rapid.StringMatching(`[0-9a-f-]{1,20}`).Draw(t, "b")
		assert.True(t, SameID(a, a))
		assert.Equal(t, SameID(a, b), SameID(b, a), "%q %q", a, b)
	})
}

// ITU-T E.164: at most 15 digits, no country code begins with 0.
func TestAddresses(t *testing.T) {
	for _, ok := range []string{"+12125550100", "+123456789012345", "+2901234"} {
		a, err := destAddress(ok)
		assert.NoError(t, err, ok)
		assert.Equal(t, ok, a.Number(""))
	}
	for _, bad := range []string{"", "+", "12125550100", "+1234567890123456", "+02125550100", "+1 212", "+123", "+1212555010a"} {
		_, err := destAddress(bad)
		assert.ErrorIs(t, err, errAddress, bad)
	}
	senders := map[string]Address{
		"": {}, "+12125550100": {1, 1, "12125550100"}, "12125550100": {1, 1, "12125550100"},
		"55501": {3, 0, "55501"}, "Hill Shop": {5, 0, "Hill Shop"},
	}
	for in, want := range senders {
		got, err := sourceAddress(in)
		assert.NoError(t, err, in)
		assert.Equal(t, want, got, in)
	}
	for _, bad := range []string{"twelve chars", "ñandú", "12", "+1234"} {
		_, err := sourceAddress(bad)
		assert.ErrorIs(t, err, ErrSender, bad)
	}
	numbers := []struct {
		a       Address
		country string
		want    string
	}{
		{Address{1, 1, "12125550100"}, "", "+12125550100"},
		{Address{1, 1, "+12125550100"}, "", "+12125550100"},
		{Address{1, 1, "0012125550100"}, "", "+12125550100"},
		{Address{2, 1, "2125550100"}, "1", "+12125550100"},
		{Address{0, 0, "2125550100"}, "1", "+12125550100"},
		{Address{0, 1, "12125550100"}, "1", "+12125550100"},
		{Address{3, 0, "55501"}, "1", "55501"},
		{Address{5, 0, "Hill Shop"}, "1", "Hill Shop"},
		{Address{0, 0, "0212555"}, "", "0212555"},
	}
	for _, n := range numbers {
		assert.Equal(t, n.want, n.a.Number(n.country), "%+v", n.a)
	}
}

// Relative time, section 7.1.1.2: YYMMDDhhmmsst00R.
func TestValidity(t *testing.T) {
	assert.Equal(t, "", validity(0))
	assert.Equal(t, "000001000000000R", validity(24*time.Hour))
	assert.Equal(t, "000000013000000R", validity(90*time.Minute))
	assert.Equal(t, "000000000100000R", validity(time.Second))
	assert.Equal(t, "000030000000000R", validity(400*24*time.Hour))
}

func TestTextOfCodings(t *testing.T) {
	c := &Client{}
	tests := []struct {
		name   string
		coding byte
		data   []byte
		want   string
		ok     bool
	}{
		{"default", 0x00, []byte{0x00, 0x41, 0x1B, 0x65}, "@A€", true},
		{"IA5", 0x01, []byte("a@b {ok}"), "a@b {ok}", true},
		{"IA5 that is GSM", 0x01, []byte{'a', 0x00, 'b'}, "a@b", true},
		{"Latin-1", 0x03, []byte{'a', 0xF1, 'o'}, "año", true},
		{"Cyrillic", 0x06, []byte{0xD6}, "ж", true},
		{"Hebrew", 0x07, []byte{0xE0}, "א", true},
		{"UCS-2", 0x08, []byte{0xD8, 0x3D, 0xDC, 0x4D}, "👍", true},
		{"octets", 0x04, []byte{1, 2}, "", false},
		{"flash text", 0xF0, []byte("ok"), "ok", true},
		{"flash octets", 0xF5, []byte("ok"), "", false},
	}
	for _, tt := range tests {
		got, ok := c.text(tt.coding, tt.data)
		assert.Equal(t, tt.want, got, tt.name)
		assert.Equal(t, tt.ok, ok, tt.name)
	}
	gsmCenter := &Client{cfg: Config{IA5IsGSM: true}}
	got, _ := gsmCenter.text(0x01, []byte{'a', 0x7D, 'o'})
	assert.Equal(t, "año", got)
}
