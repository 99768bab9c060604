package message

import "strings"

// block is a part of a plain text as HTML shows it.
type block struct {
	Heading string     // a line with a line of dashes below it
	Lines   []string   // a paragraph, its lines kept apart
	Bullets [][]string // lines that begin with "- ", each with those below it
}

// blocks takes a mail's text apart, so that its HTML form says the same. It
// knows paragraphs, headings and bullets, as the templates use them; bullets
// may go on in lines that begin with two spaces.
func blocks(text string) []block {
	var out []block
	for _, part := range strings.Split(strings.Trim(text, "\n"), "\n\n") {
		lines := strings.Split(part, "\n")
		if len(lines) > 1 && strings.Trim(lines[1], "-") == "" && len(lines[1]) > 2 {
			out = append(out, block{Heading: lines[0]})
			lines = lines[2:]
		}
		out = append(out, paragraphs(lines)...)
	}
	return out
}

func paragraphs(lines []string) []block {
	var out []block
	var b block
	flush := func() {
		if len(b.Lines)+len(b.Bullets) > 0 {
			out = append(out, b)
		}
		b = block{}
	}
	for _, line := range lines {
		bullet, isBullet := strings.CutPrefix(line, "- ")
		switch n := len(b.Bullets); {
		case isBullet:
			if len(b.Lines) > 0 {
				flush()
			}
			b.Bullets = append(b.Bullets, []string{bullet})
		case n > 0 && strings.HasPrefix(line, "  "):
			b.Bullets[n-1] = append(b.Bullets[n-1], strings.TrimSpace(line))
		default:
			if n > 0 {
				flush()
			}
			b.Lines = append(b.Lines, strings.TrimSpace(line))
		}
	}
	flush()
	return out
}
