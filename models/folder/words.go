package folder

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"example.org/roundsman/models"
)

// Bounds of what was written to and by people, in characters: of a text of
// many lines, of one line of it, and of keys that a peer may have made. They
// are far above what the program sends and takes; what is longer all the same
// is cut when it is written, so that it can be read again.
const (
	maxWords     = 1 << 20
	maxWordLines = 10_000
	maxWordLine  = 8_000
	maxKey       = 2_000
)

// words is a text of many lines. Line ends are line feeds; blanks around the
// text are dropped.
func words(hint string) codec[string] {
	return codec[string]{
		hint: hint,
		parse: func(_ *pass, cell string) (string, *problem) {
			if strings.ContainsFunc(cell, strange) {
				return "", &problem{what: "holds a control character", remedy: "take it out; line ends and tabs may stay"}
			}
			lines := strings.Split(cell, "\n")
			if len(lines) > maxWordLines {
				return "", &problem{what: fmt.Sprintf("has more than %d lines", maxWordLines), remedy: "shorten it"}
			}
			for _, l := range lines {
				if utf8.RuneCountInString(l) > maxWordLine {
					return "", &problem{what: fmt.Sprintf("has a line of more than %d characters", maxWordLine), remedy: "break the line"}
				}
			}
			if utf8.RuneCountInString(cell) > maxWords {
				return "", &problem{what: fmt.Sprintf("is longer than %d characters", maxWords), remedy: "shorten it"}
			}
			return cell, nil
		},
		format: manyLines,
	}
}

// strange says whether a character has no place in a text of many lines.
func strange(r rune) bool { return unicode.IsControl(r) && r != '\n' && r != '\t' }

// lineEnds makes line feeds of the line ends of other systems and of mail.
var lineEnds = strings.NewReplacer("\r\n", "\n", "\r", "\n")

// manyLines gives a text as it reads back from a cell.
func manyLines(s string) string {
	s = lineEnds.Replace(strings.ToValidUTF8(s, string(utf8.RuneError)))
	if strings.ContainsFunc(s, strange) {
		s = strings.Map(func(r rune) rune {
			if strange(r) {
				return ' '
			}
			return r
		}, s)
	}
	s = strings.TrimSpace(s)
	if len(s) <= maxWordLine {
		return s
	}
	lines := strings.Split(s, "\n")
	if len(lines) > maxWordLines {
		lines = append(lines[:maxWordLines-1], "…")
	}
	for i, l := range lines {
		lines[i] = models.Shorten(l, maxWordLine)
	}
	return strings.TrimSpace(models.Shorten(strings.Join(lines, "\n"), maxWords))
}

// calendarPart is an iCalendar text, whose line ends are CRLF (RFC 5545, 3.1)
// and line feeds in the file.
var calendarPart = codec[string]{
	hint: "leave it as an export gives it",
	parse: func(in *pass, cell string) (string, *problem) {
		text, bad := words("").parse(in, cell)
		if bad != nil {
			return "", bad
		}
		return strings.ReplaceAll(text, "\n", "\r\n") + "\r\n", nil
	},
	format: manyLines,
}

// said is a line of words that the program or a peer wrote, cut where it is
// too long.
func said[S ~string](hint string) codec[S] {
	c := word[S](maxText, hint)
	c.format = func(v S) string { return strings.TrimSpace(models.Shorten(oneLine(string(v)), maxText)) }
	return c
}

// key is a name by which rows of other files know a row.
func key(hint string) codec[string] { return word[string](maxKey, hint) }

// anyInstant is a moment that may be still to come.
var anyInstant = codec[models.Instant]{
	hint: instant.hint,
	parse: func(_ *pass, cell string) (models.Instant, *problem) {
		return instant.parse(&pass{}, cell)
	},
	format: instant.format,
}

// balance is a figure that may be below zero.
var balance = codec[models.Number]{
	hint: "write a plain number such as 1234.5 or -12",
	parse: func(_ *pass, cell string) (models.Number, *problem) {
		digits, below := strings.CutPrefix(cell, "-")
		n, err := models.ParseNumber(digits)
		if err != nil || digits == "" {
			return models.Number{}, refuse("is not a number, or is too large")
		}
		if below && n.F != 0 {
			n.F = -n.F
		}
		return n, nil
	},
	format: func(n models.Number) string {
		if n.Known && -tiny < n.F && n.F < tiny {
			n.F = 0 // what sums leave over; its digits would be many
		}
		return n.String()
	},
}

// tiny is less than any meter shows.
const tiny = 1e-9
