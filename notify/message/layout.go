package message

import (
	"strings"
	"unicode/utf8"
)

// textWidth is where lines of a plain mail end, in characters: common
// practice, so that a reply may quote them within 78 (RFC 5322 section 2.1.1).
const textWidth = 72

// oneLine joins lines and runs of spaces to single spaces, so that a text
// template can be laid out freely and no line break reaches a subject.
func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// tidy trims the ends of lines and more than one empty line in a row, which
// the branches of a template leave, and ends the text with one line break.
func tidy(s string) string {
	var out []string
	for _, line := range strings.Split(s, "\n") {
		line = strings.TrimRight(line, " \t\r")
		if line == "" && (len(out) == 0 || out[len(out)-1] == "") {
			continue
		}
		out = append(out, line)
	}
	return strings.TrimRight(strings.Join(out, "\n"), "\n") + "\n"
}

// wrap breaks lines at spaces so that they are at most width characters long
// where words allow it. What follows a break is indented like its line, and
// below the text of a bullet.
func wrap(text string, width int) string {
	var b strings.Builder
	for i, line := range strings.Split(text, "\n") {
		if i > 0 {
			b.WriteByte('\n')
		}
		wrapLine(&b, line, width)
	}
	return b.String()
}

func wrapLine(b *strings.Builder, line string, width int) {
	if utf8.RuneCountInString(line) <= width {
		b.WriteString(line)
		return
	}
	indent := line[:len(line)-len(strings.TrimLeft(line, " "))]
	b.WriteString(indent)
	next := indent
	if strings.HasPrefix(line[len(indent):], "- ") {
		next += "  "
	}
	used := len(indent)
	for i, word := range strings.Fields(line) {
		n := utf8.RuneCountInString(word)
		switch {
		case i == 0:
		case used+1+n > width && used > len(next):
			b.WriteString("\n" + next)
			used = len(next)
		default:
			b.WriteByte(' ')
			used++
		}
		b.WriteString(word)
		used += n
	}
}
