package gsm

// FillBits gives the bits (0..6) between a header of so many octets and the
// first septet, which starts on a septet border counted from the start of the
// user data (TS 23.040 clause 9.2.3.24).
func FillBits(headerOctets int) int { return (7 - headerOctets*8%7) % 7 }

// Pack writes septets, one to a byte, into octets, low bits first (TS 23.038
// clause 6.1.2.1), after fill zero bits (0..6). Bits left over are zero; the
// number of septets travels beside the octets.
func Pack(septets []byte, fill int) []byte {
	out := make([]byte, (fill+7*len(septets)+7)/8)
	at := fill
	for _, s := range septets {
		v := uint16(s&0x7F) << (at % 8)
		out[at/8] |= byte(v)
		if hi := byte(v >> 8); hi != 0 {
			out[at/8+1] |= hi
		}
		at += 7
	}
	return out
}

// Unpack reads n septets from octets after fill bits (0..6), one to a byte.
// It reads fewer where the octets end.
func Unpack(octets []byte, n, fill int) []byte {
	if have := (len(octets)*8 - fill) / 7; n > have {
		n = have
	}
	if n <= 0 {
		return nil
	}
	out := make([]byte, n)
	for i := range out {
		at := fill + 7*i
		v := uint16(octets[at/8])
		if at/8+1 < len(octets) {
			v |= uint16(octets[at/8+1]) << 8
		}
		out[i] = byte(v>>(at%8)) & 0x7F
	}
	return out
}
