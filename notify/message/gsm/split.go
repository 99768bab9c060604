package gsm

import (
	"errors"
	"unicode/utf16"
)

// Most that one message and one part of a concatenated message hold: 140
// octets of user data, less 6 for the header with an 8-bit reference or 7 for
// the one with a 16-bit reference (TS 23.040 clause 9.2.3.24.1). Septets for
// GSM7, 16-bit units for UCS2.
const (
	singleGSM7 = 160
	singleUCS2 = 70
	partGSM7   = 153
	partUCS2   = 67

	// MaxParts is the most parts that the header can number.
	MaxParts = 255
)

// errTooLong is given for a text that needs more than MaxParts parts.
var errTooLong = errors.New("the text needs more than 255 parts")

// size says what a text takes as a short message.
type size struct {
	Alphabet Alphabet
	Units    int // septets or 16-bit units, without headers
	Segments int // parts with 8-bit references, at least 1
	Left     int // units that still fit the last part
}

// measure gives a text's size. Parts are filled in order and never cut inside
// an escape or a surrogate pair, which is how they are sent.
func measure(text string) size {
	s := size{Alphabet: alphabetOf(text)}
	for _, r := range text {
		s.Units += width(s.Alphabet, r)
	}
	single, part := limits(s.Alphabet)
	if s.Units <= single {
		s.Segments, s.Left = 1, single-s.Units
		return s
	}
	used := 0
	s.Segments = 1
	for _, r := range text {
		w := width(s.Alphabet, r)
		if used+w > part {
			s.Segments, used = s.Segments+1, 0
		}
		used += w
	}
	s.Left = part - used
	return s
}

// Count gives the number of parts that a text is sent in (at least 1) and the
// alphabet it needs.
func Count(text string) (segments int, alphabet Alphabet) {
	s := measure(text)
	return s.Segments, s.Alphabet
}

// Part is one short message of a text.
type Part struct {
	Alphabet Alphabet
	Header   []byte // user data header; nil for a text of one part
	Body     []byte // septets one to a byte, or 16-bit units big-endian
	Text     string // what the body says
}

// Octets gives header and body together, the form in which an SMPP
// short_message carries them (septets unpacked).
func (p Part) Octets() []byte {
	return append(append(make([]byte, 0, len(p.Header)+len(p.Body)), p.Header...), p.Body...)
}

// UserData gives header and body as they go over the air: septets packed
// after the header's fill bits. It is at most 140 octets.
func (p Part) UserData() []byte {
	if p.Alphabet == UCS2 {
		return p.Octets()
	}
	return append(append([]byte(nil), p.Header...), pack(p.Body, fillBits(len(p.Header)))...)
}

// Split cuts a text into parts: one without a header where it fits, else as
// many as needed, each filled as far as it goes without cutting an escape or
// a surrogate pair. The reference ties the parts together at the receiver. It
// gives errTooLong for more than MaxParts.
func Split(text string, ref uint8) ([]Part, error) {
	size := measure(text)
	single, part := limits(size.Alphabet)
	if size.Units <= single {
		return []Part{newPart(size.Alphabet, text, nil)}, nil
	}
	var texts []string
	from, used := 0, 0
	for i, r := range text {
		w := width(size.Alphabet, r)
		if used+w > part {
			texts = append(texts, text[from:i])
			from, used = i, 0
		}
		used += w
	}
	texts = append(texts, text[from:])
	if len(texts) > MaxParts {
		return nil, errTooLong
	}
	parts := make([]Part, len(texts))
	for i, t := range texts {
		parts[i] = newPart(size.Alphabet, t, header(ref, len(texts), i+1))
	}
	return parts, nil
}

func newPart(a Alphabet, text string, header []byte) Part {
	p := Part{Alphabet: a, Header: header, Text: text}
	if a == UCS2 {
		p.Body = EncodeUCS2(text)
	} else {
		p.Body, _ = encode(text) // the alphabet was chosen because it can
	}
	return p
}

// width gives the units that a character takes.
func width(a Alphabet, r rune) int {
	if a == GSM7 {
		return septets(r)
	}
	if n := utf16.RuneLen(r); n > 0 {
		return n
	}
	return 1
}

func limits(a Alphabet) (single, part int) {
	if a == GSM7 {
		return singleGSM7, partGSM7
	}
	return singleUCS2, partUCS2
}
