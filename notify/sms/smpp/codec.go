package smpp

import (
	"bytes"
	"encoding/binary"
	"fmt"
)

// reader takes the fields off a body; after the first fault it gives zeros
// and keeps the fault.
type reader struct {
	b   []byte
	err error
}

func (r *reader) octet() byte {
	if r.err != nil || len(r.b) == 0 {
		r.err = orShort(r.err)
		return 0
	}
	c := r.b[0]
	r.b = r.b[1:]
	return c
}

// text reads a C-octet string. Its length is bounded by the PDU's alone:
// centers are known to exceed the specification's, and nothing here depends
// on it.
func (r *reader) text() string {
	if r.err != nil {
		return ""
	}
	i := bytes.IndexByte(r.b, 0)
	if i < 0 {
		r.err = errShort
		return ""
	}
	s := string(r.b[:i])
	r.b = r.b[i+1:]
	return s
}

func (r *reader) octets(n int) []byte {
	if r.err != nil || len(r.b) < n {
		r.err = orShort(r.err)
		return nil
	}
	v := bytes.Clone(r.b[:n])
	r.b = r.b[n:]
	return v
}

func (r *reader) tlvs() TLVs {
	var out TLVs
	for r.err == nil && len(r.b) > 0 {
		h := r.octets(4)
		if r.err != nil {
			break
		}
		v := r.octets(int(binary.BigEndian.Uint16(h[2:])))
		if r.err == nil {
			out = append(out, TLV{Tag: binary.BigEndian.Uint16(h), Value: v})
		}
	}
	return out
}

func orShort(err error) error {
	if err != nil {
		return err
	}
	return errShort
}

// writer puts fields into a body and keeps the first fault.
type writer struct {
	b   []byte
	err error
}

func (w *writer) octet(c ...byte) { w.b = append(w.b, c...) }

// text writes a C-octet string of at most limit octets with its NUL.
func (w *writer) text(name, s string, limit int) {
	if w.err == nil && (len(s) >= limit || bytes.IndexByte([]byte(s), 0) >= 0) {
		w.err = fmt.Errorf("%s %q: %w (%d)", name, s, errField, limit-1)
	}
	w.b = append(append(w.b, s...), 0)
}

func (w *writer) tlvs(ts TLVs) {
	for _, t := range ts {
		if len(t.Value) > 0xFFFF {
			w.err = fmt.Errorf("parameter 0x%04X: %w", t.Tag, errField)
			return
		}
		w.b = binary.BigEndian.AppendUint16(w.b, t.Tag)
		w.b = binary.BigEndian.AppendUint16(w.b, uint16(len(t.Value)))
		w.b = append(w.b, t.Value...)
	}
}

// Bind is the body of a bind request (section 4.1.5).
type Bind struct {
	SystemID     string // at most 15 octets
	Password     string // at most 8
	SystemType   string // at most 12
	Version      byte   // 0x34
	AddrTON      byte
	AddrNPI      byte
	AddressRange string // at most 40
}

// Encode writes the body; errField names a field that is too long.
func (b Bind) Encode() ([]byte, error) {
	var w writer
	w.text("system_id", b.SystemID, 16)
	w.text("password", "", 9)
	if len(b.Password) > 8 { // said without repeating it
		return nil, fmt.Errorf("password: %w (8)", errField)
	}
	w.b = w.b[:len(w.b)-1]
	w.octet(append([]byte(b.Password), 0)...)
	w.text("system_type", b.SystemType, 13)
	w.octet(b.Version, b.AddrTON, b.AddrNPI)
	w.text("address_range", b.AddressRange, 41)
	return w.b, w.err
}

// DecodeBind reads the body of a bind request.
func DecodeBind(body []byte) (Bind, error) {
	r := reader{b: body}
	b := Bind{SystemID: r.text(), Password: r.text(), SystemType: r.text(),
		Version: r.octet(), AddrTON: r.octet(), AddrNPI: r.octet(), AddressRange: r.text()}
	return b, r.err
}

// IDBody writes the body of a bind or submit response: one C-octet string
// (sections 4.1.6, 4.4.2), the system's or the message's id.
func IDBody(id string) []byte { return append([]byte(id), 0) }

// decodeID reads the string that IDBody writes. A response that reports a
// fault may come without a body, which gives "".
func decodeID(body []byte) (string, error) {
	if len(body) == 0 {
		return "", nil
	}
	r := reader{b: body}
	return r.text(), r.err
}

// Address is an address with its type and plan (sections 5.2.5, 5.2.6).
type Address struct {
	TON, NPI byte
	Digits   string // at most 20 octets
}

// Bits of esm_class (section 5.2.12).
const (
	esmTypeMask     = 0x3C
	ESMReceipt      = 0x04 // the SMSC's delivery receipt
	esmIntermediate = 0x20 // an intermediate notification
	ESMHeader       = 0x40 // the user data begins with a header
)

// Message is the body of submit_sm and deliver_sm (sections 4.4.1, 4.6.1).
type Message struct {
	ServiceType  string // at most 5 octets
	Source, Dest Address
	ESMClass     byte
	ProtocolID   byte
	Priority     byte
	ScheduleTime string // empty or 16 octets
	Validity     string // empty or 16 octets
	Registered   byte   // 1: a receipt is wanted
	Replace      byte
	DataCoding   byte
	DefaultMsgID byte
	Short        []byte // at most 254 octets
	TLVs         TLVs
}

// Encode writes the body; errField names a field that is too long.
func (m Message) Encode() ([]byte, error) {
	var w writer
	w.text("service_type", m.ServiceType, 6)
	w.octet(m.Source.TON, m.Source.NPI)
	w.text("source_addr", m.Source.Digits, 21)
	w.octet(m.Dest.TON, m.Dest.NPI)
	w.text("destination_addr", m.Dest.Digits, 21)
	w.octet(m.ESMClass, m.ProtocolID, m.Priority)
	w.text("schedule_delivery_time", m.ScheduleTime, 17)
	w.text("validity_period", m.Validity, 17)
	w.octet(m.Registered, m.Replace, m.DataCoding, m.DefaultMsgID)
	if len(m.Short) > 254 {
		return nil, fmt.Errorf("short_message: %w (254)", errField)
	}
	w.octet(byte(len(m.Short)))
	w.octet(m.Short...)
	w.tlvs(m.TLVs)
	return w.b, w.err
}

// DecodeMessage reads the body of submit_sm and deliver_sm.
func DecodeMessage(body []byte) (Message, error) {
	r := reader{b: body}
	m := Message{ServiceType: r.text()}
	m.Source = Address{TON: r.octet(), NPI: r.octet(), Digits: r.text()}
	m.Dest = Address{TON: r.octet(), NPI: r.octet(), Digits: r.text()}
	m.ESMClass, m.ProtocolID, m.Priority = r.octet(), r.octet(), r.octet()
	m.ScheduleTime, m.Validity = r.text(), r.text()
	m.Registered, m.Replace, m.DataCoding, m.DefaultMsgID = r.octet(), r.octet(), r.octet(), r.octet()
	m.Short = r.octets(int(r.octet()))
	m.TLVs = r.tlvs()
	return m, r.err
}

// decodeData reads the body of data_sm (section 4.7.1), which carries its
// text in message_payload.
func decodeData(body []byte) (Message, error) {
	r := reader{b: body}
	m := Message{ServiceType: r.text()}
	m.Source = Address{TON: r.octet(), NPI: r.octet(), Digits: r.text()}
	m.Dest = Address{TON: r.octet(), NPI: r.octet(), Digits: r.text()}
	m.ESMClass, m.Registered, m.DataCoding = r.octet(), r.octet(), r.octet()
	m.TLVs = r.tlvs()
	return m, r.err
}

// UserData gives the message's octets: short_message, or message_payload
// where that is empty (section 5.3.2.32).
func (m Message) UserData() []byte {
	if len(m.Short) == 0 {
		v, _ := m.TLVs.Get(TagMessagePayload)
		return v
	}
	return m.Short
}

// Query is the body of query_sm (section 4.8.1).
type Query struct {
	ID     string // at most 64 octets
	Source Address
}

// Encode writes the body; errField names a field that is too long.
func (q Query) Encode() ([]byte, error) {
	var w writer
	w.text("message_id", q.ID, 65)
	w.octet(q.Source.TON, q.Source.NPI)
	w.text("source_addr", q.Source.Digits, 21)
	return w.b, w.err
}

// DecodeQuery reads the body of query_sm.
func DecodeQuery(body []byte) (Query, error) {
	r := reader{b: body}
	q := Query{ID: r.text(), Source: Address{TON: r.octet(), NPI: r.octet(), Digits: r.text()}}
	return q, r.err
}

// QueryResult is the body of query_sm_resp (section 4.8.2).
type QueryResult struct {
	ID        string
	FinalDate string // empty while the message is on its way
	State     State
	ErrorCode byte // the network's own
}

// Encode writes the body; errField names a field that is too long.
func (q QueryResult) Encode() ([]byte, error) {
	var w writer
	w.text("message_id", q.ID, 65)
	w.text("final_date", q.FinalDate, 17)
	w.octet(byte(q.State), q.ErrorCode)
	return w.b, w.err
}

// DecodeQueryResult reads the body of query_sm_resp.
func DecodeQueryResult(body []byte) (QueryResult, error) {
	r := reader{b: body}
	q := QueryResult{ID: r.text(), FinalDate: r.text(), State: State(r.octet()), ErrorCode: r.octet()}
	return q, r.err
}
