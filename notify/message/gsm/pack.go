package gsm

// fillBits gives the bits (0..6) between a header of so many octets and the
// first septet, which starts on a septet border counted from the start of the
// user data (TS 23.040 clause 9.2.3.24).
func fillBits(headerOctets int) int { return (7 - headerOctets*8%7) % 7 }

// pack writes septets, one to a byte, into octets, low bits first (TS 23.038
// clause 6.1.2.1), after fill zero bits (0..6). Bits left over are zero; the
// number of septets travels beside the octets.
func pack(septets []byte, fill int) []byte {
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
