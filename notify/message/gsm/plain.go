package gsm

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// near gives forms within the 7-bit alphabet for characters that it lacks and
// that do not come apart into a letter and accents. Usage is common practice,
// no source; the degree sign is written out because a wrong temperature does
// harm.
var near = map[rune]string{
	'‘': "'", '’': "'", '‚': "'", '‛': "'", '′': "'", '`': "'", '´': "'", 'ʼ': "'", '‹': "'", '›': "'",
	'“': `"`, '”': `"`, '„': `"`, '‟': `"`, '″': `"`, '«': `"`, '»': `"`,
	'‐': "-", '‑': "-", '‒': "-", '–': "-", '—': "-", '―': "-", '−': "-", '\u00AD': "",
	'…': "...", '•': "-", '·': "-", '×': "x", '÷': "/", '±': "+/-", '⁄': "/",
	'≤': "<=", '≥': ">=", '≈': "~", '→': "->", '←': "<-",
	'½': "1/2", '¼': "1/4", '¾': "3/4", '⅓': "1/3", '⅔': "2/3", '⅛': "1/8",
	'²': "2", '³': "3", '¹': "1", 'º': "o", 'ª': "a", '№': "No.",
	'™': "", '®': "", '©': "(c)", '¢': "c", 'µ': "u", 'μ': "u", '\u2126': "Ω", '¶': "", '¦': "|",
	'ł': "l", 'Ł': "L", 'đ': "d", 'Đ': "D", 'ð': "d", 'Ð': "D", 'þ': "th", 'Þ': "Th",
	'œ': "oe", 'Œ': "OE", 'ı': "i", 'ẞ': "SS", 'ĳ': "ij", 'Ĳ': "IJ", 'ŉ': "'n", 'ħ': "h", 'Ħ': "H",
	'\t': " ", '\u00A0': " ", '\u202F': " ", '\u2007': " ", '\u2008': " ", '\u2009': " ", '\u200A': " ",
	'\u2002': " ", '\u2003': " ", '\u2004': " ", '\u2005': " ", '\u2006': " ", '\u3000': " ",
	'\u2028': "\n", '\u2029': "\n", '\u0085': "\n",
	'\u200B': "", '\u200C': "", '\u200D': "", '\u2060': "", '\uFEFF': "", '\u200E': "", '\u200F': "",
	'\uFE0E': "", '\uFE0F': "",
}

// Plain writes a text within the 7-bit alphabet where its language can bear
// that: curly quotes straight, dashes short, the degree sign as "deg", Latin
// letters without the accents that the alphabet lacks (é, ñ, ü and others
// that it has are kept). A text that has no such form, because of its script
// or of an emoji, comes back as it was: it must be sent in UCS-2 anyway and
// may as well be spelled right. Plain of a plain text changes nothing.
func Plain(text string) string {
	if alphabetOf(text) == GSM7 {
		return text
	}
	var b strings.Builder
	b.Grow(len(text))
	runes := []rune(norm.NFC.String(text))
	for i, r := range runes {
		switch {
		case septets(r) > 0:
			b.WriteRune(r)
		case isDegree(r, runes[i+1:]):
			writeDegree(&b, r, runes[i+1:])
		default:
			s, ok := nearOf(r)
			if !ok {
				return text
			}
			b.WriteString(s)
		}
	}
	return b.String()
}

// isDegree knows the degree signs, and the masculine ordinal that Spanish
// keyboards offer in its place ("90 ºC").
func isDegree(r rune, rest []rune) bool {
	if r == 'º' {
		return len(rest) > 0 && (rest[0] == 'C' || rest[0] == 'F') &&
			(len(rest) == 1 || !unicode.IsLetter(rest[1]))
	}
	return r == '°' || r == '℃' || r == '℉'
}

// writeDegree writes a degree sign as the word "deg", with a space before it
// and before the letter of its scale.
func writeDegree(b *strings.Builder, r rune, rest []rune) {
	if s := b.String(); s != "" && !strings.HasSuffix(s, " ") && !strings.HasSuffix(s, "\n") {
		b.WriteByte(' ')
	}
	b.WriteString("deg")
	switch {
	case r == '℃':
		b.WriteString(" C")
	case r == '℉':
		b.WriteString(" F")
	case len(rest) > 0 && (unicode.IsLetter(rest[0]) || unicode.IsDigit(rest[0])):
		b.WriteByte(' ')
	}
}

// nearOf gives a near form of a character that the alphabet lacks.
func nearOf(r rune) (string, bool) {
	if s, ok := near[r]; ok {
		return s, true
	}
	var b strings.Builder
	for i, d := range []rune(norm.NFD.String(string(r))) {
		switch {
		case i == 0 && unicode.Is(unicode.Latin, d) && septets(d) > 0:
			b.WriteRune(d)
		case i == 0 && unicode.Is(unicode.Mn, d) && d < 0x0370:
			return "", true // an accent that belongs to no letter
		case i > 0 && unicode.Is(unicode.Mn, d):
		default:
			return "", false
		}
	}
	return b.String(), true
}
