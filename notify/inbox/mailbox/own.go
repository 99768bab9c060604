package mailbox

import (
	"regexp"
	"strings"
)

// Lines that begin what is repeated of the mail that is answered, and lines
// that programs add (common practice, no source).
var (
	attribution = regexp.MustCompile(`(?i)^\s*(on\b.{5,250}\bwrote|el\b.{5,250}\bescribi[oó]|le\b.{5,250}\ba écrit|am\b.{5,250}\bschrieb.*)\s*:\s*$`)
	divider     = regexp.MustCompile(`(?i)^\s*(-{2,}\s*(original message|forwarded message|mensaje original|mensaje reenviado)\s*-{2,}|_{10,})\s*$`)
	headLine    = regexp.MustCompile(`(?i)^\s*\*?(from|de)\s*:\*?\s+.*\S`)
	headNext    = regexp.MustCompile(`(?i)^\s*\*?(sent|date|to|subject|enviado|fecha|para|asunto)( el)?\s*:\*?`)
	added       = regexp.MustCompile(`(?i)^\s*(sent from my\b.*|sent from (mail|outlook|yahoo)\b.*|get outlook for\b.*|enviado desde mi\b.*|obtener outlook\b.*|enviado desde (outlook|correo)\b.*|(get|download|try|descarga|descargue|obt[eé]n|consigue) .{1,40}\b(app|aplicaci[oó]n)\b.*)$`)
)

// Own gives what the writer of an answer wrote anew: without the quoted lines,
// the line that introduces them, the signature (behind "-- ", RFC 3676, 4.3)
// and what phones add. Where nothing else is left the whole text is given.
func Own(text string) string {
	lines := strings.Split(strings.ReplaceAll(text, "\r\n", "\n"), "\n")
	var out []string
	for i := 0; i < len(lines); i++ {
		l := lines[i]
		switch {
		case strings.HasPrefix(strings.TrimLeft(l, " \t"), ">"):
			continue
		case l == "-- " || strings.TrimRight(l, " \t") == "--" && i > 0:
			return owned(out, text)
		case divider.MatchString(l), headLine.MatchString(l) && i+1 < len(lines) && headNext.MatchString(lines[i+1]):
			return owned(out, text)
		case added.MatchString(l):
			continue
		}
		if n := introduces(lines[i:]); n > 0 {
			if !quoteFollows(lines[i+n:]) {
				return owned(out, text) // all that follows is the old mail, unmarked
			}
			i += n - 1
			continue
		}
		out = append(out, l)
	}
	return owned(out, text)
}

// introduces counts the lines of "On ..., X wrote:", which mailers wrap.
func introduces(lines []string) int {
	joined := ""
	for n := 1; n <= 3 && n <= len(lines); n++ {
		joined += " " + strings.TrimSpace(lines[n-1])
		if attribution.MatchString(joined) {
			return n
		}
	}
	return 0
}

func quoteFollows(lines []string) bool {
	for _, l := range lines {
		if t := strings.TrimSpace(l); t != "" {
			return strings.HasPrefix(t, ">")
		}
	}
	return true // nothing follows at all
}

func owned(lines []string, whole string) string {
	s := strings.TrimSpace(strings.Join(lines, "\n"))
	if s == "" {
		return strings.TrimSpace(whole)
	}
	return s
}
