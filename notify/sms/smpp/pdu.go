package smpp

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
)

// Command is a command_id (section 5.1.2.1).
type Command uint32

// The commands that the client sends or answers.
const (
	GenericNack         Command = 0x80000000
	BindReceiver        Command = 0x00000001
	BindTransmitter     Command = 0x00000002
	QuerySM             Command = 0x00000003
	QuerySMResp         Command = 0x80000003
	SubmitSM            Command = 0x00000004
	SubmitSMResp        Command = 0x80000004
	DeliverSM           Command = 0x00000005
	DeliverSMResp       Command = 0x80000005
	Unbind              Command = 0x00000006
	UnbindResp          Command = 0x80000006
	BindTransceiver     Command = 0x00000009
	BindTransceiverResp Command = 0x80000009
	EnquireLink         Command = 0x00000015
	EnquireLinkResp     Command = 0x80000015
	AlertNotification   Command = 0x00000102
	DataSM              Command = 0x00000103
	DataSMResp          Command = 0x80000103
)

// IsResponse says whether the command answers another.
func (c Command) IsResponse() bool { return c&GenericNack != 0 }

// Response gives the command that answers this one.
func (c Command) Response() Command { return c | GenericNack }

// String gives the command's name in the specification, or its number.
func (c Command) String() string {
	names := map[Command]string{
		GenericNack: "generic_nack", BindReceiver: "bind_receiver", BindTransmitter: "bind_transmitter",
		QuerySM: "query_sm", SubmitSM: "submit_sm", DeliverSM: "deliver_sm", Unbind: "unbind",
		BindTransceiver: "bind_transceiver", EnquireLink: "enquire_link",
		AlertNotification: "alert_notification", DataSM: "data_sm",
	}
	if n, ok := names[c]; ok {
		return n
	}
	if n, ok := names[c&^GenericNack]; ok {
		return n + "_resp"
	}
	return fmt.Sprintf("command 0x%08X", uint32(c))
}

// headerLen is the length of a PDU's head in octets (section 3.2).
const headerLen = 16

// maxPDULen is the length from which on a PDU is refused unread: the longest
// fields of the specification with a 64 KiB message_payload beside them.
const maxPDULen = 70_000

// maxSequence is the highest sequence_number (section 3.2).
const maxSequence = 0x7FFFFFFF

// Errors of the codec.
var (
	errLength = errors.New("command_length is out of range")
	errShort  = errors.New("the PDU ends inside a field")
	errField  = errors.New("a field is longer than the specification allows")
)

// PDU is one protocol data unit with its body not yet read.
type PDU struct {
	Command  Command
	Status   Status // 0 in requests
	Sequence uint32 // 1..MaxSequence
	Body     []byte
}

// ReadPDU reads one PDU. A length under headerLen or over limit (0:
// maxPDULen) is errLength: the stream can then no longer be followed. io.EOF
// means that the stream ended between two PDUs.
func ReadPDU(r io.Reader, limit int) (PDU, error) {
	if limit <= 0 {
		limit = maxPDULen
	}
	var h [headerLen]byte
	if _, err := io.ReadFull(r, h[:4]); err != nil {
		return PDU{}, err
	}
	n := binary.BigEndian.Uint32(h[:4])
	if n < headerLen || n > uint32(limit) {
		return PDU{}, fmt.Errorf("%w: %d", errLength, n)
	}
	if _, err := io.ReadFull(r, h[4:]); err != nil {
		return PDU{}, unexpected(err)
	}
	p := PDU{
		Command:  Command(binary.BigEndian.Uint32(h[4:])),
		Status:   Status(binary.BigEndian.Uint32(h[8:])),
		Sequence: binary.BigEndian.Uint32(h[12:]),
	}
	if n > headerLen {
		p.Body = make([]byte, n-headerLen)
		if _, err := io.ReadFull(r, p.Body); err != nil {
			return PDU{}, unexpected(err)
		}
	}
	return p, nil
}

func unexpected(err error) error {
	if errors.Is(err, io.EOF) {
		return io.ErrUnexpectedEOF
	}
	return err
}

// Append writes the PDU behind b.
func (p PDU) Append(b []byte) []byte {
	b = binary.BigEndian.AppendUint32(b, uint32(headerLen+len(p.Body)))
	b = binary.BigEndian.AppendUint32(b, uint32(p.Command))
	b = binary.BigEndian.AppendUint32(b, uint32(p.Status))
	b = binary.BigEndian.AppendUint32(b, p.Sequence)
	return append(b, p.Body...)
}

// TLV tags that matter here (section 5.3.2).
const (
	TagReceiptedMessageID   uint16 = 0x001E
	TagUserMessageReference uint16 = 0x0204
	TagSARMsgRefNum         uint16 = 0x020C
	TagSARTotalSegments     uint16 = 0x020E
	TagSARSegmentSeqnum     uint16 = 0x020F
	tagSCInterfaceVersion   uint16 = 0x0210
	tagNetworkErrorCode     uint16 = 0x0423
	TagMessagePayload       uint16 = 0x0424
	TagMessageState         uint16 = 0x0427
)

// TLV is an optional parameter (section 3.2.4).
type TLV struct {
	Tag   uint16
	Value []byte
}

// TLVs are a PDU's optional parameters in their order.
type TLVs []TLV

// Get gives the first value of a tag.
func (ts TLVs) Get(tag uint16) ([]byte, bool) {
	for _, t := range ts {
		if t.Tag == tag {
			return t.Value, true
		}
	}
	return nil, false
}

// Uint gives the first value of a tag as a number of 1 to 4 octets.
func (ts TLVs) Uint(tag uint16) (uint32, bool) {
	v, ok := ts.Get(tag)
	if !ok || len(v) == 0 || len(v) > 4 {
		return 0, false
	}
	var n uint32
	for _, b := range v {
		n = n<<8 | uint32(b)
	}
	return n, true
}

// Text gives the first value of a tag as text, without the NUL that ends it.
func (ts TLVs) Text(tag uint16) (string, bool) {
	v, ok := ts.Get(tag)
	for len(v) > 0 && v[len(v)-1] == 0 {
		v = v[:len(v)-1]
	}
	return string(v), ok && len(v) > 0
}

// Uint16TLV makes a parameter of two octets.
func Uint16TLV(tag, v uint16) TLV { return TLV{Tag: tag, Value: []byte{byte(v >> 8), byte(v)}} }

// Uint8TLV makes a parameter of one octet.
func Uint8TLV(tag uint16, v uint8) TLV { return TLV{Tag: tag, Value: []byte{v}} }

// TextTLV makes a parameter of a C-octet string.
func TextTLV(tag uint16, s string) TLV { return TLV{Tag: tag, Value: append([]byte(s), 0)} }
