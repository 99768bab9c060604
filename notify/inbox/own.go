package inbox

import (
	"regexp"
	"slices"
	"strings"
	"unicode"
)

// Lines that close a mail, and notices that mail systems add (common
// practice, no source).
var (
	closing = regexp.MustCompile(`(?i)^\s*(thanks( again| so much)?|thank you|thx|many thanks|thanks much|regards|best|best wishes|best regards|kind regards|warm regards|warmly|sincerely|respectfully|cordially|cheers|yours( truly)?|take care|gracias|mil gracias|muchas gracias|saludos|saludos cordiales|un saludo|atentamente|atte|(un )?abrazos?|que esten bien)[,.!]*\s*$`)
	notice  = regexp.MustCompile(`(?i)^\s*(confidential|this (e-?mail|message|communication) (is|and|may)|if you are not the intended|aviso de confidencialidad|confidencial|este (mensaje|correo) (es|puede)|(sent|enviado) (from|desde|via|by)\b)`)
	// What may hold digits below a name, and says nothing of a machine.
	telephone = regexp.MustCompile(`\(?\b\d{3}\)?[\s.-]*\d{3}[\s.-]*\d{4}\b|\b\d{3}[.-]\d{4}\b`)
	furniture = regexp.MustCompile(`(?i)\S+@\S+|\b\S+\.(com|org|net|example)\b|` +
		`\b(p\.?\s?o\.?\s*box|apdo\.?|apartado|box|badge|suite|ste|lic(ense)?|cell|tel|ph|phone|fax|ext|since|est\.?|desde|hwy|highway|cr|county road|route|rt|km|no)\.?[:#\s]*#?\d+\b|` +
		`\b\d+[a-z]?\s+([nsew]\.?\s+)?([\pL\d]+\s+){0,3}(st|street|rd|road|ave|avenue|ln|lane|dr|drive|hwy|highway|blvd|way|ct|court|calle)\b\.?(\s+\d+)?|\b[A-Z]{2},?\s+\d{5}(-\d{4})?\b`)
)

// without takes out of a text what its sender did not write to say it: what
// it repeats of our own last message, a signature, a notice of the mail system.
func (a Asked) without(text string) string {
	sent := sayingsOf(a.Sent)
	lines := strings.Split(strings.ReplaceAll(text, "\r\n", "\n"), "\n")
	for i, l := range lines {
		if notice.MatchString(l) && written(lines[:i]) {
			lines = lines[:i]
			break
		}
	}
	var out []string
	for _, l := range lines[:a.signature(lines)] {
		out = append(out, ours(l, sent))
	}
	if written(out) {
		return strings.Join(out, "\n")
	}
	return text
}

// written says whether lines hold anything.
func written(lines []string) bool { return strings.TrimSpace(strings.Join(lines, "")) != "" }

// signature gives the line at which a signature begins: a name behind an empty
// line or a closing, with nothing below it but what stands below names. A line
// below that may tell of a machine keeps all of it.
func (a Asked) signature(lines []string) int {
	for i := 1; i < len(lines); i++ {
		after := strings.TrimSpace(lines[i-1]) == "" || closing.MatchString(lines[i-1])
		if after && written(lines[:i]) && a.signs(lines[i]) && !slices.ContainsFunc(lines[i:], func(l string) bool { return !a.belongs(l) }) {
			return i
		}
	}
	return len(lines)
}

// signs says whether a line begins with a name, as a signature does: capitals,
// and no word that says something here.
func (a Asked) signs(line string) bool {
	name := strings.TrimLeft(line, " \t-–—~*_")
	if n := strings.IndexAny(name, "|/,–—•"); n > 0 {
		name = name[:n]
	}
	words := strings.FieldsFunc(name, func(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune("&-.", r) })
	for len(words) > 1 && nameArticles[fold(words[0])] {
		words = words[1:]
	}
	if len(words) == 0 || len(words) > 5 || strings.ContainsAny(name, "?!0123456789") || !unicode.IsUpper([]rune(words[0])[0]) {
		return false
	}
	first := fold(words[0])
	short := len(first) == 1 && len(words) == 1 && strings.TrimSpace(line) == words[0] // "N" may be a no, "N." is a name
	return !short && !telling(first) && !known(first) && a.belongs(line)
}

// nameArticles stand before the name of a family or firm.
var nameArticles = wordSet("ejido ranch the los las la el familia rancho")

// belongs says whether a line may stand below a name and says nothing of its
// own: a title, a place, an address, a telephone, a motto between signs. It is
// strict: digits are of what such lines hold, words begin with capitals, and none
// is a word of faults, days, answers or refusals.
func (a Asked) belongs(line string) bool {
	text := furniture.ReplaceAllString(telephone.ReplaceAllString(line, ""), "")
	if text = strings.TrimSpace(text); text == "" {
		return true
	}
	motto := len(text) > 2 && strings.ContainsAny(text[:1], "\"*_~") && text[len(text)-1] == text[0]
	if strings.ContainsAny(text, "?0123456789") {
		return false
	}
	for _, w := range strings.FieldsFunc(text, func(r rune) bool { return !unicode.IsLetter(r) }) {
		f := fold(w)
		if telling(f) || !motto && len(f) > 3 && unicode.IsLower([]rune(w)[0]) || slices.ContainsFunc(a.Machines, func(k Known) bool { return slices.Contains(k.names(), f) }) {
			return false
		}
	}
	return true
}

// telling says whether a word says something where it stands alone.
func telling(w string) bool {
	said := slices.ContainsFunc(sayings[w], func(e entry) bool { return len(e.words) == 1 && e.sense != senseSaid })
	_, week := weekdays[w]
	return said || week || months[w] != 0 || negators[w] || turnWords[w] || doubtWords[w] || unitWords[w] != UnitNone && w != "mi" && w != "mile" || spans[w] > 0 || faultParts[w] || ails[w] || losses[w] || fluids[w] ||
		hardStops[w] || weakStops[w] || messageWords[w] && w != "list" || refuseWords[w] && w != "de"
}

// sayingsOf cuts a message into its sentences, in the form in which they are
// compared.
func sayingsOf(s string) []string {
	var out []string
	for _, part := range strings.FieldsFunc(s, func(r rune) bool { return r == '\n' || r == '.' || r == '?' || r == '!' }) {
		out = append(out, bare(part))
	}
	return out
}

// bare gives the words of a text without signs.
func bare(s string) string {
	return strings.Join(strings.FieldsFunc(fold(s), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }), " ")
}

// ours takes the sentences of three words or more that we sent out of a line.
func ours(line string, sent []string) string {
	if len(sent) == 0 {
		return line
	}
	var b strings.Builder
	for rest := line; rest != ""; {
		n := strings.IndexAny(rest, ".?!") + 1
		if n == 0 {
			n = len(rest)
		}
		said := bare(rest[:n])
		quoted := strings.Count(said, " ") >= 2 && slices.ContainsFunc(sent, func(s string) bool { return strings.HasSuffix(" "+s, " "+said) })
		if !quoted {
			b.WriteString(rest[:n])
		}
		rest = rest[n:]
	}
	return b.String()
}
