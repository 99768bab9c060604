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
	closing = regexp.MustCompile(`(?i)^\s*(thanks|thank you|thx|many thanks|regards|best|best regards|kind regards|sincerely|cheers|gracias|muchas gracias|saludos|atentamente|atte)[,.!]*\s*$`)
	notice  = regexp.MustCompile(`(?i)^\s*(confidential|this (e-?mail|message|communication) (is|and|may)|if you are not the intended|aviso de confidencialidad|confidencial|este (mensaje|correo) (es|puede)|(sent|enviado) (from|desde|via|by)\b)`)
)

// without takes out of a text what its sender did not write to say it: what
// it repeats of our own last message, a signature, a notice of the mail system.
func (a Asked) without(text string) string {
	sent := sayingsOf(a.Sent)
	lines := strings.Split(strings.ReplaceAll(text, "\r\n", "\n"), "\n")
	var out []string
	for i, l := range lines {
		blank := i > 0 && strings.TrimSpace(lines[i-1]) == ""
		switch {
		case notice.MatchString(l) && strings.TrimSpace(strings.Join(out, "")) != "":
			return strings.Join(out, "\n")
		case strings.TrimSpace(strings.Join(out, "")) != "" && (blank || closing.MatchString(lines[i-1])) && signs(l):
			return strings.Join(out, "\n")
		}
		out = append(out, ours(l, sent))
	}
	if left := strings.Join(out, "\n"); strings.TrimSpace(left) != "" {
		return left
	}
	return text
}

// signs says whether a line is a name, as a signature begins.
func signs(line string) bool {
	words := strings.FieldsFunc(line, func(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune("&/|,-–.", r) })
	if len(words) == 0 || len(words) > 5 || strings.ContainsAny(line, "?!") || strings.ContainsAny(line, "0123456789") {
		return false
	}
	first := fold(words[0])
	return capital(words[0]) && len(sayings[first]) == 0 && len(works[first]) == 0 && !fillers[first] && weekdays[first] == 0 && months[first] == 0 && !negators[first]
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
