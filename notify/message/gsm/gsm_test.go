package gsm

import (
	"bufio"
	"encoding/hex"
	"os"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The whole of both tables against Perl's Encode::GSM0338 (see
// testdata/README.md), an independent reading of 3GPP TS 23.038.
func TestTablesAgreeWithPerl(t *testing.T) {
	f, err := os.Open("testdata/perl-encode-3.17.txt")
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	rows := 0
	for sc := bufio.NewScanner(f); sc.Scan(); {
		if strings.HasPrefix(sc.Text(), "#") {
			continue
		}
		code, point, ok := strings.Cut(sc.Text(), " ")
		require.True(t, ok)
		octets, err := hex.DecodeString(code)
		require.NoError(t, err)
		n, err := strconv.ParseUint(point, 16, 32)
		require.NoError(t, err)
		want := string(rune(n))
		assert.Equal(t, want, Decode(octets), code)
		got, ok := encode(want)
		assert.True(t, ok, code)
		assert.Equal(t, octets, got, code)
		rows++
	}
	assert.Equal(t, 127+10, rows)
	assert.Len(t, fromRune, 127)
}

// Sizes. Limits 160/153 and 70/67 and the rule against cutting: 3GPP TS
// 23.040 v18.0.0 clause 9.2.3.24.1; the counts computed from them by a
// separate program.
func TestCount(t *testing.T) {
	const plain = "Coolant service due: unit 3 at 412 h (limit 400 h). Freeze point -34 C."
	tests := []struct {
		name     string
		text     string
		alphabet Alphabet
		units    int
		segments int
	}{
		{"one full part", strings.Repeat("a", 160), GSM7, 160, 1},
		{"one more", strings.Repeat("a", 161), GSM7, 161, 2},
		{"two full parts", strings.Repeat("a", 306), GSM7, 306, 2},
		{"two and one", strings.Repeat("a", 307), GSM7, 307, 3},
		{"three full parts", strings.Repeat("a", 459), GSM7, 459, 3},
		{"three and one", strings.Repeat("a", 460), GSM7, 460, 4},
		{"euro costs two", strings.Repeat("€", 80), GSM7, 160, 1},
		{"euro, one more", strings.Repeat("€", 81), GSM7, 162, 2},
		{"escape not cut", strings.Repeat("a", 152) + "€" + strings.Repeat("a", 152), GSM7, 306, 3},
		{"Cyrillic full", strings.Repeat("ы", 70), UCS2, 70, 1},
		{"Cyrillic, one more", strings.Repeat("ы", 71), UCS2, 71, 2},
		{"Cyrillic two full", strings.Repeat("ы", 134), UCS2, 134, 2},
		{"Cyrillic three", strings.Repeat("ы", 135), UCS2, 135, 3},
		{"emoji costs two", strings.Repeat("😀", 35), UCS2, 70, 1},
		{"emoji, one more", strings.Repeat("😀", 36), UCS2, 72, 2},
		{"pair not cut", strings.Repeat("ы", 66) + "😀" + strings.Repeat("ы", 66), UCS2, 134, 3},
		{"e acute is in", strings.Repeat("é", 160), GSM7, 160, 1},
		{"small c cedilla is not", "ç", UCS2, 1, 1},
		{"capital c cedilla is", "Ç", GSM7, 1, 1},
		{"degree sign is not", "°", UCS2, 1, 1},
		{"backtick is not", "`", UCS2, 1, 1},
		{"capital omega is", "\u03A9", GSM7, 1, 1},
		{"ohm sign is not", "\u2126", UCS2, 1, 1},
		{"curly apostrophe is not", "’", UCS2, 1, 1},
		{"tab is not", "\t", UCS2, 1, 1},
		{"em dash is not", "—", UCS2, 1, 1},
		{"nothing", "", GSM7, 0, 1},
		{"a notice", plain, GSM7, 71, 1},
		{"a notice with a degree sign", strings.Replace(plain, "34 C", "34 °C", 1), UCS2, 72, 2},
		{"not UTF-8", "\xff", UCS2, 1, 1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			size := measure(tt.text)
			assert.Equal(t, tt.alphabet, size.Alphabet)
			assert.Equal(t, tt.units, size.Units)
			segments, alphabet := Count(tt.text)
			assert.Equal(t, tt.segments, segments)
			assert.Equal(t, tt.alphabet, alphabet)
			parts, err := Split(tt.text, 7)
			require.NoError(t, err)
			assert.Len(t, parts, tt.segments)
		})
	}
}

func TestAlphabetNames(t *testing.T) {
	assert.Equal(t, "GSM-7", GSM7.String())
	assert.Equal(t, "UCS-2", UCS2.String())
}

func TestSplitHeaders(t *testing.T) {
	text := strings.Repeat("a", 152) + "€b"
	parts, err := Split(text+strings.Repeat("c", 20), 0xC7)
	require.NoError(t, err)
	require.Len(t, parts, 2)
	// TS 23.040 clause 9.2.3.24.1: length 05, element 00, length 03, reference, total, number.
	assert.Equal(t, []byte{5, 0, 3, 0xC7, 2, 1}, parts[0].Header)
	assert.Equal(t, []byte{5, 0, 3, 0xC7, 2, 2}, parts[1].Header)
	assert.Equal(t, strings.Repeat("a", 152), parts[0].Text)
	assert.Equal(t, "€b"+strings.Repeat("c", 20), parts[1].Text)
	assert.Len(t, parts[0].Octets(), 6+152)

	assert.Equal(t, "a\uFFFD", DecodeUCS2([]byte{0, 'a', 0}))
	assert.Equal(t, []byte{0xD8, 0x3D, 0xDE, 0x00}, EncodeUCS2("😀")) // RFC 2781 arithmetic
}

func TestPack(t *testing.T) {
	septets, ok := encode("hellohello")
	require.True(t, ok)
	// The usual published vector of 3GPP TS 23.038 packing (from memory), and
	// computed by a separate program.
	assert.Equal(t, "e8329bfd4697d9ec37", hex.EncodeToString(pack(septets, 0)))
	assert.Equal(t, septets, unpack(pack(septets, 0), 10, 0))
	assert.Equal(t, 1, fillBits(6), "48 bits, the next septet starts at 49")
	assert.Equal(t, 0, fillBits(7))
	assert.Equal(t, 0, fillBits(0))
	assert.Empty(t, pack(nil, 0))
	assert.Empty(t, unpack(nil, 3, 1))
	assert.Len(t, unpack([]byte{0xFF, 0xFF}, 9, 0), 2, "reads fewer where the octets end")
}

func TestParseHeader(t *testing.T) {
	tests := []struct {
		name string
		data []byte
		want Concat
		ok   bool
		body string
		err  error
	}{
		{"8-bit", []byte{5, 0, 3, 9, 2, 1, 'x'}, Concat{Ref: 9, Total: 2, Seq: 1}, true, "x", nil},
		{"16-bit", []byte{6, 8, 4, 1, 2, 3, 3, 'x'}, Concat{Ref: 0x102, Wide: true, Total: 3, Seq: 3}, true, "x", nil},
		{"after a port element", []byte{11, 5, 4, 0, 0, 0, 0, 0, 3, 9, 2, 1, 'x'}, Concat{Ref: 9, Total: 2, Seq: 1}, true, "x", nil},
		{"number above total", []byte{5, 0, 3, 9, 2, 3, 'x'}, Concat{}, false, "x", nil},
		{"number zero", []byte{5, 0, 3, 9, 2, 0, 'x'}, Concat{}, false, "x", nil},
		{"total zero", []byte{5, 0, 3, 9, 0, 0, 'x'}, Concat{}, false, "x", nil},
		{"empty header", []byte{0, 'x'}, Concat{}, false, "x", nil},
		{"no data", nil, Concat{}, false, "", errHeader},
		{"header past the data", []byte{9, 0}, Concat{}, false, "", errHeader},
		{"element past the header", []byte{2, 0, 3, 1, 1, 1}, Concat{}, false, "", errHeader},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c, ok, body, err := ParseHeader(tt.data)
			assert.ErrorIs(t, err, tt.err)
			assert.Equal(t, tt.want, c)
			assert.Equal(t, tt.ok, ok)
			assert.Equal(t, tt.body, string(body))
		})
	}
}

func TestPlain(t *testing.T) {
	tests := []struct{ in, want string }{
		{"It’s “due” — 3–5 days…", `It's "due" - 3-5 days...`},
		{"freeze point −34 °C", "freeze point -34 deg C"},
		{"freeze point -34°C.", "freeze point -34 deg C."},
		{"90° at 90 ℃", "90 deg at 90 deg C"},
		{"90ºC, 1º visita, n.º 4", "90 deg C, 1o visita, n.o 4"},
		{"°", "deg"},
		{"façade", "facade"},
		{"¿Cuántas millas marca la máquina? Año, pingüino, camión", "¿Cuantas millas marca la maquina? Año, pingüino, camion"},
		{"cafe\u0301", "café"}, // composed first, and é is in the alphabet
		{"Łódź", "Lodz"},
		{"ohm \u2126", "ohm Ω"},
		{"tab\there\u00A0now", "tab here now"},
		{"½ gal ± 2", "1/2 gal +/- 2"},
		{"Жан’s unit", "Жан’s unit"}, // must go in UCS-2 anyway
		{"done 👍 — ok", "done 👍 — ok"},
		{"plain {text} €5", "plain {text} €5"},
		{"", ""},
	}
	for _, tt := range tests {
		assert.Equal(t, tt.want, Plain(tt.in), tt.in)
	}
	for r, s := range near {
		assert.Zero(t, septets(r), "%q has a near form and needs none", r)
		assert.Equal(t, GSM7, alphabetOf(s), "near form of %q", r)
	}
}

// What comes out of Split, read as a phone reads it, is the text again; every
// part but the last is as full as it can be and none is too long.
func TestSplitProperties(t *testing.T) {
	runes := rapid.SampledFrom([]rune("abc 0é€{}\n^ñыΩ—😀界"))
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOfN(runes, 0, 700, -1).Draw(t, "text")
		if rapid.Bool().Draw(t, "plain") {
			text = strings.Map(func(r rune) rune {
				if septets(r) == 0 {
					return 'x'
				}
				return r
			}, text)
		}
		ref := rapid.Uint8().Draw(t, "ref")
		parts, err := Split(text, ref)
		require.NoError(t, err)
		n, _ := Count(text)
		assert.Len(t, parts, n)
		_, limit := limits(parts[0].Alphabet)
		var whole strings.Builder
		for i, p := range parts {
			assert.LessOrEqual(t, len(p.UserData()), 140)
			whole.WriteString(read(t, p, i+1, len(parts)))
			if i+1 < len(parts) {
				next := []rune(parts[i+1].Text)[0]
				used := width(p.Alphabet, next)
				for _, r := range p.Text {
					used += width(p.Alphabet, r)
				}
				assert.Greater(t, used, limit, "part not full")
			}
		}
		assert.Equal(t, text, whole.String())
	})
}

// read takes a part off the air again.
func read(t *rapid.T, p Part, seq, total int) string {
	data := p.UserData()
	if p.Header != nil {
		c, ok, _, err := ParseHeader(data)
		require.NoError(t, err)
		require.True(t, ok)
		assert.Equal(t, seq, int(c.Seq))
		assert.Equal(t, total, int(c.Total))
	}
	body := data[len(p.Header):]
	if p.Alphabet == UCS2 {
		return DecodeUCS2(body)
	}
	return Decode(unpack(body, len(p.Body), fillBits(len(p.Header))))
}

func TestPackProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		septets := rapid.SliceOfN(rapid.ByteMax(0x7F), 1, 160).Draw(t, "septets")
		fill := rapid.IntRange(0, 6).Draw(t, "fill")
		packed := pack(septets, fill)
		assert.Len(t, packed, (fill+7*len(septets)+7)/8)
		assert.Equal(t, septets, unpack(packed, len(septets), fill))
	})
}

func FuzzPlain(f *testing.F) {
	for _, s := range []string{"It’s 90°C", "Łódź", "ы", "\xff", "é€😀", "e\u0301\u0301"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		p := Plain(s)
		if alphabetOf(p) != GSM7 && p != s {
			t.Fatalf("neither plain nor left alone: %q", p)
		}
		if Plain(p) != p {
			t.Fatalf("not stable: %q", p)
		}
		if b, ok := encode(p); ok && Decode(b) != p {
			t.Fatalf("does not read back: %q", p)
		}
		if utf8.ValidString(s) && DecodeUCS2(EncodeUCS2(s)) != s {
			t.Fatalf("UCS-2 does not read back: %q", s)
		}
	})
}

func FuzzReceive(f *testing.F) {
	f.Add([]byte{5, 0, 3, 1, 2, 1, 'a'})
	f.Add([]byte{0x1B, 0x1B, 0x65, 0x80})
	f.Fuzz(func(t *testing.T, b []byte) {
		if s := Decode(b); !utf8.ValidString(s) {
			t.Fatalf("not UTF-8: %q", s)
		}
		if s := DecodeUCS2(b); !utf8.ValidString(s) {
			t.Fatalf("not UTF-8: %q", s)
		}
		c, ok, body, err := ParseHeader(b)
		if err != nil && (ok || body != nil) {
			t.Fatal("an error with a result")
		}
		if ok && (c.Seq == 0 || c.Seq > c.Total) {
			t.Fatalf("impossible part %+v", c)
		}
		if len(body) > len(b) {
			t.Fatal("more body than data")
		}
	})
}

// unpack reads n septets from octets after fill bits (0..6), one to a byte.
// It reads fewer where the octets end.
func unpack(octets []byte, n, fill int) []byte {
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
