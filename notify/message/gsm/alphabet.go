package gsm

import (
	"unicode/utf16"
	"unicode/utf8"
)

// Alphabet is the way in which a text's characters are coded.
type Alphabet uint8

// The alphabets. The zero value is GSM7.
const (
	GSM7 Alphabet = iota // 7-bit default alphabet with the extension table
	UCS2                 // 16-bit big-endian code units; pairs outside the basic plane
)

// String gives "GSM-7" or "UCS-2".
func (a Alphabet) String() string {
	if a == UCS2 {
		return "UCS-2"
	}
	return "GSM-7"
}

// escape announces a character of the extension table.
const escape = 0x1B

// defaultAlphabet lists the characters of codes 0x00..0x7F in order (3GPP TS
// 23.038 table 6.2.1). Code 0x1B, the escape, stands as U+FFFF, which no text
// can mean.
const defaultAlphabet = "@£$¥èéùìòÇ\nØø\rÅå" +
	"Δ_ΦΓΛΩΠΨΣΘΞ\uFFFFÆæßÉ" +
	" !\"#¤%&'()*+,-./" +
	"0123456789:;<=>?" +
	"¡ABCDEFGHIJKLMNO" +
	"PQRSTUVWXYZÄÖÑÜ§" +
	"¿abcdefghijklmno" +
	"pqrstuvwxyzäöñüà"

// extension pairs each code after an escape with its character (TS 23.038
// table 6.2.1.1). Each costs two septets.
var extension = []struct {
	code byte
	r    rune
}{
	{0x0A, '\f'}, {0x14, '^'}, {0x28, '{'}, {0x29, '}'}, {0x2F, '\\'},
	{0x3C, '['}, {0x3D, '~'}, {0x3E, ']'}, {0x40, '|'}, {0x65, '€'},
}

// Tables made once of the two lists above and never changed.
var (
	toRune   [128]rune
	toExtra  [128]rune     // 0 where the extension table has no character
	fromRune map[rune]byte // default alphabet
	fromMore map[rune]byte // extension table
)

func init() {
	fromRune = make(map[rune]byte, 128)
	code := byte(0)
	for _, r := range defaultAlphabet {
		toRune[code] = r
		if code != escape {
			fromRune[r] = code
		}
		code++
	}
	fromMore = make(map[rune]byte, len(extension))
	for _, e := range extension {
		toExtra[e.code] = e.r
		fromMore[e.r] = e.code
	}
}

// septets gives what a character costs in the 7-bit alphabet: 1, 2, or 0
// where the alphabet lacks it.
func septets(r rune) int {
	if _, ok := fromRune[r]; ok {
		return 1
	}
	if _, ok := fromMore[r]; ok {
		return 2
	}
	return 0
}

// alphabetOf gives the alphabet that a text needs: GSM7 if every character is
// in it, else UCS2. Text that is not UTF-8 needs UCS2, for U+FFFD.
func alphabetOf(text string) Alphabet {
	for _, r := range text {
		if septets(r) == 0 {
			return UCS2
		}
	}
	return GSM7
}

// encode gives a text as septets, one to a byte, and false when the 7-bit
// alphabet lacks one of its characters.
func encode(text string) ([]byte, bool) {
	out := make([]byte, 0, len(text))
	for _, r := range text {
		if code, ok := fromRune[r]; ok {
			out = append(out, code)
			continue
		}
		code, ok := fromMore[r]
		if !ok {
			return nil, false
		}
		out = append(out, escape, code)
	}
	return out, true
}

// Decode reads septets, one to a byte. As TS 23.038 asks of a receiver, an
// escape before a code that the extension table lacks is left out and the
// code read in the default alphabet, and an escape before another escape or
// at the end is a space. A byte over 0x7F is U+FFFD.
func Decode(b []byte) string {
	out := make([]rune, 0, len(b))
	for i := 0; i < len(b); i++ {
		switch c := b[i]; {
		case c > 0x7F:
			out = append(out, utf8.RuneError)
		case c != escape:
			out = append(out, toRune[c])
		case i+1 == len(b):
			out = append(out, ' ')
		case b[i+1] == escape:
			out = append(out, ' ')
			i++
		case b[i+1] <= 0x7F && toExtra[b[i+1]] != 0:
			out = append(out, toExtra[b[i+1]])
			i++
		}
	}
	return string(out)
}

// EncodeUCS2 gives a text as big-endian 16-bit units; a character outside the
// basic plane is a surrogate pair, as phones read it.
func EncodeUCS2(text string) []byte {
	units := utf16.Encode([]rune(text))
	out := make([]byte, 0, 2*len(units))
	for _, u := range units {
		out = append(out, byte(u>>8), byte(u))
	}
	return out
}

// DecodeUCS2 reads big-endian 16-bit units. A lone half of a pair and a last
// odd byte are each U+FFFD.
func DecodeUCS2(b []byte) string {
	units := make([]uint16, 0, len(b)/2+1)
	for i := 0; i+1 < len(b); i += 2 {
		units = append(units, uint16(b[i])<<8|uint16(b[i+1]))
	}
	if len(b)%2 == 1 {
		units = append(units, utf8.RuneError)
	}
	return string(utf16.Decode(units))
}
