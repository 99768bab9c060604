package inbox

import (
	"strconv"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// tokenKind says what a token is.
type tokenKind uint8

const (
	tokWord   tokenKind = iota // letters, or letters and digits: "hrs", "r12"
	tokNumber                  // a plain figure: vals holds its readings
	tokDate                    // 10/15, 10/15/26, 2026-10-15
	tokNth                     // 15th
	tokOther                   // a clock time, sum of money, percentage, phone number: not a meter
	tokClock                   // a time of day
	tokWeak                    // , & and the like
	tokStrong                  // . ; line end
	tokAsk                     // ?
	tokGood                    // 👍
	tokBad                     // 👎
)

// token is a word, figure or sign of a text.
type token struct {
	kind tokenKind
	text string    // lower case, without accents and apostrophes
	vals []float64 // of a number, the likelier first
	from int       // where it stands in the cleaned text
	to   int
	dash bool // a dash and another figure follow at once: "4-2150"
	used bool // something was read from it
	hint bool // only a doubt was
}

// folded is a text in the form in which words are compared.
type folded struct {
	text     string
	original string
	from     []int // for each octet of text, where it comes from in original; one more for the end
}

// foldText composes a text into lower case without accents, apostrophes and
// unusual signs, and keeps where everything stood.
func foldText(s string) folded {
	f := folded{original: s}
	var b strings.Builder
	put := func(r rune, at int) {
		n := b.Len()
		b.WriteRune(r)
		for ; n < b.Len(); n++ {
			f.from = append(f.from, at)
		}
	}
	for at, r := range s {
		switch {
		case r == '\'' || r == '’' || r == '‘' || r == '`' || r == '´' || r == '\uFE0F' || r == '\u200D':
		case r == '–' || r == '—' || r == '−' || r == '‐' || r == '‑':
			put('-', at)
		case unicode.IsSpace(r) && r != '\n':
			put(' ', at)
		default:
			for _, d := range norm.NFKD.String(string(r)) {
				if !unicode.Is(unicode.Mn, d) {
					put(unicode.ToLower(d), at)
				}
			}
		}
	}
	f.text, f.from = b.String(), append(f.from, len(s))
	return f
}

// fold gives the form of a text in which words are compared.
func fold(s string) string { return foldText(s).text }

// words gives the original of a stretch of the folded text.
func (f folded) words(from, to int) string {
	return strings.TrimSpace(f.original[f.from[from]:f.from[to]])
}

// signs that stand for words.
var goodSigns, badSigns, aboutSigns = "👍👌✅✔☑🆗", "👎❌✖", "~≈±∼˜"

// lex cuts a folded text into tokens.
func lex(s string, spanish bool) []token {
	var out []token
	for i := 0; i < len(s); {
		r, size := decode(s[i:])
		switch {
		case r == '\n' || r == ';' || r == '!':
			out = append(out, token{kind: tokStrong, text: string(r), from: i, to: i + size})
		case r == '.' && len(out) > 0 && introWords[out[len(out)-1].text] && out[len(out)-1].to == i && figureNext(s[i+1:]):
			// "No. 4", "unit. 4"
		case r == '.':
			out = append(out, token{kind: tokStrong, text: ".", from: i, to: i + size})
		case r == ',' || r == '&' || r == '/' || r == '+' || r == '|':
			out = append(out, token{kind: tokWeak, text: string(r), from: i, to: i + size})
		case r == '-' && i > 0 && s[i-1] == ' ' && i+1 < len(s) && s[i+1] == ' ':
			out = append(out, token{kind: tokWeak, text: "-", from: i, to: i + size})
		case r == '?' || r == '¿':
			out = append(out, token{kind: tokAsk, text: "?", from: i, to: i + size})
		case strings.ContainsRune(goodSigns, r):
			out = append(out, token{kind: tokGood, text: string(r), from: i, to: i + size})
		case strings.ContainsRune(badSigns, r):
			out = append(out, token{kind: tokBad, text: string(r), from: i, to: i + size})
		case strings.ContainsRune(aboutSigns, r):
			out = append(out, token{kind: tokWord, text: "about", from: i, to: i + size})
		case r == '#':
			out = append(out, token{kind: tokWord, text: "#", from: i, to: i + size})
		case isDigit(r) || (r == '$' || r == '-') && i+1 < len(s) && isDigit(rune(s[i+1])):
			t, n := lexFigure(s, i, spanish)
			out = append(out, t...)
			i = n
			continue
		case unicode.IsLetter(r):
			j := i
			for j < len(s) {
				r, n := decode(s[j:])
				inner := r == '-' && j+1 < len(s) && isDigit(rune(s[j+1])) && tagStart(s[i:j])
				if !unicode.IsLetter(r) && !isDigit(r) && !inner {
					break
				}
				j += n
			}
			out = append(out, token{kind: tokWord, text: s[i:j], from: i, to: j})
			i = j
			continue
		}
		i += size
	}
	return out
}

// figureNext says whether a text goes on with a figure.
func figureNext(s string) bool {
	s = strings.TrimLeft(s, " ")
	return s != "" && isDigit(rune(s[0]))
}

func decode(s string) (rune, int) {
	for _, r := range s {
		return r, max(1, len(string(r)))
	}
	return 0, 1
}

func isDigit(r rune) bool { return r >= '0' && r <= '9' }

// lexFigure reads what begins with a digit, a minus or a dollar sign. It
// gives the tokens and where the text goes on.
func lexFigure(s string, i int, spanish bool) ([]token, int) {
	start := i
	other := s[i] == '$' || s[i] == '-' && (start == 0 || s[start-1] == ' ') && !beforeDash(s, start)
	if !isDigit(rune(s[i])) {
		i++
	}
	j := i
	for j < len(s) && (isDigit(rune(s[j])) || strings.IndexByte(".,/:-", s[j]) >= 0 && j+1 < len(s) && isDigit(rune(s[j+1]))) {
		j++
	}
	run := s[i:j]
	k := j
	for k < len(s) && s[k] >= 'a' && s[k] <= 'z' {
		k++
	}
	tail := s[j:k]
	if j < len(s) && s[j] == ')' && len(run) <= 2 && (start == 0 || s[start-1] == ' ' || s[start-1] == '\n') {
		return []token{{kind: tokStrong, text: ")", from: start, to: j + 1}}, j + 1 // "1) R12 6120"
	}
	at := token{kind: tokOther, text: run, from: start, to: j}
	switch {
	case other || j < len(s) && s[j] == '%':
		return []token{at}, j
	case tail == "am" || tail == "pm" || strings.Contains(run, ":"):
		at.to, at.kind = k, tokClock
		return []token{at}, k
	case tail == "st" || tail == "nd" || tail == "rd" || tail == "th":
		at.kind, at.to = tokNth, k
		return []token{at}, k
	case strings.ContainsAny(run, "/-"):
		if _, ok := parseDate(run); ok {
			at.kind = tokDate
			return []token{at}, j
		}
		if strings.Count(run, "-")+strings.Count(run, "/") > 1 || phone(run) {
			return []token{at}, j
		}
		j = i + strings.IndexAny(s[i:], "/-") // "6120/412", "4-2150": two figures
		run, tail = s[i:j], ""
		at.text, at.to, at.dash = run, j, s[j] == '-'
	}
	at.kind, at.vals = tokNumber, figures(run, spanish)
	if len(at.vals) == 0 {
		at.kind = tokOther
	}
	if tail == "k" {
		for n := range at.vals {
			at.vals[n] *= 1000
		}
		at.to = k
		at.text += "k"
		return []token{at}, k
	}
	return []token{at}, j
}

// tagStart says whether letters may begin a tag that is written with a dash:
// R-12, but not "miles-6120" or "R12-6120".
func tagStart(s string) bool {
	return len(s) >= 1 && len(s) <= 3 && strings.IndexFunc(s, isDigit) < 0 && unitWords[s] == UnitNone
}

// phone knows seven digits with a dash after the third.
func phone(run string) bool { return len(run) == 8 && run[3] == '-' }

// beforeDash says whether a dash follows a word ("R12 -6120", "r12 - 6120"),
// where it is no minus.
func beforeDash(s string, at int) bool {
	for i := at - 1; i >= 0; i-- {
		if s[i] != ' ' {
			return s[i] != '\n'
		}
	}
	return false
}

// figures gives what a run of digits with points and commas may mean, the
// likelier first: 6,120 is six thousand in English and may be 6.12; 6.120 the
// other way round; 1.234,5 and 1,234.5 are plain.
func figures(run string, spanish bool) []float64 {
	dots, commas := strings.Count(run, "."), strings.Count(run, ",")
	group, point := ",", "."
	switch {
	case dots+commas == 0:
		return keep(run)
	case dots > 0 && commas > 0:
		if strings.LastIndex(run, ",") > strings.LastIndex(run, ".") {
			group, point = ".", ","
		}
		if strings.Count(run, point) != 1 || !grouped(strings.Split(run[:strings.Index(run, point)], group)) {
			return nil
		}
		return keep(strings.Replace(strings.ReplaceAll(run, group, ""), point, ".", 1))
	}
	sep := point
	if commas > 0 {
		sep = group
	}
	parts := strings.Split(run, sep)
	whole := strings.Join(parts, "")
	switch {
	case len(parts) > 2 && grouped(parts):
		return keep(whole)
	case len(parts) > 2:
		return nil
	case len(parts[1]) != 3 || len(parts[0]) > 3 || parts[0] == "0":
		return keep(parts[0] + "." + parts[1])
	}
	decimal, thousands := keep(parts[0]+"."+parts[1]), keep(whole)
	if sep == "," || spanish {
		return append(thousands, decimal...)
	}
	return append(decimal, thousands...)
}

// grouped says whether digits are cut into groups of three.
func grouped(parts []string) bool {
	for i, p := range parts {
		if i == 0 && (len(p) < 1 || len(p) > 3) || i > 0 && len(p) != 3 {
			return false
		}
	}
	return true
}

// keep reads a plain figure; one that no meter can show gives nothing.
func keep(s string) []float64 {
	f, err := strconv.ParseFloat(s, 64)
	if err != nil || f >= 1e7 || len(s) > 12 {
		return nil
	}
	return []float64{f}
}
