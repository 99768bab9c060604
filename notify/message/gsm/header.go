package gsm

import "errors"

// Information elements of the user data header (TS 23.040 clause 9.2.3.24).
const (
	elementConcat8  = 0x00
	elementConcat16 = 0x08
)

// errHeader is given for user data whose header is cut short.
var errHeader = errors.New("the user data header is cut short")

// header writes the header of part seq (from 1) of total.
func header(ref uint8, total, seq int) []byte {
	return []byte{5, elementConcat8, 3, ref, byte(total), byte(seq)}
}

// Concat says which part of which text a message is.
type Concat struct {
	Ref   uint16
	Wide  bool  // the reference has 16 bits; it never matches one of 8
	Total uint8 // at least 1
	Seq   uint8 // 1..Total
}

// ParseHeader takes the header off user data. Concat is false where the
// header has no concatenation element that makes sense (TS 23.040: one with a
// zero total or a part number of zero or above the total is ignored); other
// elements are left out. It gives errHeader when the header's own length goes
// past the data.
func ParseHeader(data []byte) (c Concat, ok bool, body []byte, err error) {
	if len(data) == 0 || int(data[0]) >= len(data) {
		return Concat{}, false, nil, errHeader
	}
	header, body := data[1:1+int(data[0])], data[1+int(data[0]):]
	for len(header) > 0 {
		if len(header) < 2 || len(header) < 2+int(header[1]) {
			return Concat{}, false, nil, errHeader
		}
		id, v := header[0], header[2:2+int(header[1])]
		header = header[2+int(header[1]):]
		var e Concat
		switch {
		case id == elementConcat8 && len(v) == 3:
			e = Concat{Ref: uint16(v[0]), Total: v[1], Seq: v[2]}
		case id == elementConcat16 && len(v) == 4:
			e = Concat{Ref: uint16(v[0])<<8 | uint16(v[1]), Wide: true, Total: v[2], Seq: v[3]}
		}
		if e.Total > 0 && e.Seq > 0 && e.Seq <= e.Total {
			c, ok = e, true // where an element comes twice the last one counts
		}
	}
	return c, ok, body, nil
}
