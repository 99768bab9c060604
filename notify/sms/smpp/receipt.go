package smpp

import (
	"math/big"
	"strings"
)

// State is a message_state (section 5.2.28).
type State byte

// The states.
const (
	StateEnRoute       State = 1
	StateDelivered     State = 2
	StateExpired       State = 3
	StateDeleted       State = 4
	StateUndeliverable State = 5
	StateAccepted      State = 6
	StateUnknown       State = 7
	StateRejected      State = 8
)

// stateWords pairs the words of receipts' texts (appendix B) with the states.
var stateWords = map[string]State{
	"ENROUTE": StateEnRoute, "DELIVRD": StateDelivered, "EXPIRED": StateExpired,
	"DELETED": StateDeleted, "UNDELIV": StateUndeliverable, "ACCEPTD": StateAccepted,
	"UNKNOWN": StateUnknown, "REJECTD": StateRejected,
}

// Final says whether nothing more will be heard of the message.
func (s State) Final() bool { return s != StateEnRoute && s != StateAccepted && s != 0 }

// String gives the state for people and for the record.
func (s State) String() string {
	switch s {
	case StateEnRoute:
		return "on its way"
	case StateDelivered:
		return "delivered"
	case StateExpired:
		return "expired"
	case StateDeleted:
		return "deleted"
	case StateUndeliverable:
		return "undelivered"
	case StateAccepted:
		return "accepted"
	case StateRejected:
		return "rejected"
	default:
		return "unknown"
	}
}

// Receipt is the center's word on a message that it had taken.
type Receipt struct {
	ID        string // the center's id of the message, "" if it names none
	FromText  bool   // the id was read in the text, where its number base may differ
	State     State
	Final     bool   // nothing more will come
	ErrorCode string // the network's own, "" for none
	Reference uint16 // the sender's user_message_reference, 0 for none
	Address   string // the number that the message went to
	Text      string // the receipt's own words
}

// receiptOf reads a message as a receipt; false when it is none. The
// parameters 0x001E and 0x0427 count before the text, whose form
// (appendix B) is each vendor's own.
func receiptOf(m Message, text, address string) (Receipt, bool) {
	kind := m.ESMClass & esmTypeMask
	id, tagged := m.TLVs.Text(TagReceiptedMessageID)
	if kind != ESMReceipt && kind != esmIntermediate && !tagged {
		return Receipt{}, false
	}
	fields := receiptFields(text)
	r := Receipt{ID: id, Address: address, Text: text, ErrorCode: fields["err"]}
	if !tagged {
		r.ID, r.FromText = fields["id"], true
	}
	if n, ok := m.TLVs.Uint(TagMessageState); ok && n <= 0xFF {
		r.State = State(n)
	} else {
		r.State = stateWords[strings.ToUpper(fields["stat"])]
	}
	if r.State == 0 {
		r.State = StateUnknown
	}
	r.Final = r.State.Final() && kind != esmIntermediate
	if n, ok := m.TLVs.Uint(TagUserMessageReference); ok {
		r.Reference = uint16(n)
	}
	return r, true
}

// receiptFields reads "id:... sub:... dlvrd:... submit date:... done date:...
// stat:... err:... text:...". Keys are taken in any order and case; what
// follows text: is left out, since people wrote it.
func receiptFields(text string) map[string]string {
	out := map[string]string{}
	for i := 0; i+len("text:") <= len(text); i++ {
		if strings.EqualFold(text[i:i+len("text:")], "text:") {
			text = text[:i]
			break
		}
	}
	for _, word := range strings.Fields(text) {
		key, value, ok := strings.Cut(word, ":")
		if key = strings.ToLower(key); ok && value != "" && out[key] == "" {
			out[key] = value
		}
	}
	return out
}

// IDForms lists the forms in which a message's id may have been given, the
// plain one (lower case, no leading zeros) first: itself, its digits read as
// decimal and written in hexadecimal, and the other way round.
func IDForms(id string) []string {
	plain := plainID(id)
	forms := []string{plain}
	if len(plain) > 32 {
		return forms
	}
	if n, ok := new(big.Int).SetString(plain, 10); ok && isDigits(plain) {
		forms = append(forms, n.Text(16))
	}
	if n, ok := new(big.Int).SetString(plain, 16); ok && n.Sign() >= 0 && isHex(plain) {
		if s := n.Text(10); s != plain {
			forms = append(forms, s)
		}
	}
	return forms
}

func plainID(id string) string {
	s := strings.TrimLeft(strings.ToLower(strings.TrimSpace(id)), "0")
	if s == "" && id != "" {
		return "0"
	}
	return s
}

func isDigits(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }
func isHex(s string) bool    { return s != "" && strings.Trim(s, "0123456789abcdef") == "" }
