package folder

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"strings"
	"unicode/utf8"
)

// Bounds of what is read at once, so that a hostile or broken file costs a
// fault and no memory.
const (
	maxLine        = 256 << 10        // bytes of one line
	maxRecordLines = 4 * maxWordLines // lines of one row that has line breaks inside quotes
	maxRecord      = 16 << 20         // bytes of such a row
)

// parseError is something wrong with the text of a file, before it is cells.
type parseError struct {
	line, column int // 1 is the first; column 0 is not known, line 0 the whole file
	what, remedy string
}

// textLine is one line without its end.
type textLine struct {
	text string
	no   int
	long bool // longer than maxLine, and cut
}

// lines hands out the lines of a file and can take some back. Text that is
// not UTF-8 or not text at all is told once for the file.
type lines struct {
	src     *bufio.Reader
	no      int          // number of the last line read
	taken   int64        // bytes read
	held    []textLine   // taken back, the next one first
	mishaps []parseError // found since they were last fetched
	fatal   bool         // the rest of the file is not worth reading
	garbled bool         // it has been told that the file is not UTF-8
	cells   []string     // the cells of the last row, to be used again
}

// newLines begins to read a file, past its byte order mark. The buffer holds
// maxLine bytes.
func newLines(buffer *bufio.Reader) *lines {
	l := &lines{src: buffer}
	start, err := l.src.Peek(4)
	if err != nil && !errors.Is(err, io.EOF) {
		l.give(parseError{what: "cannot be read: " + plainError(err), remedy: "see that the file can be opened and try again"})
		return l
	}
	switch {
	case bytes.HasPrefix(start, []byte{0xEF, 0xBB, 0xBF}):
		_, _ = l.src.Discard(3)
		l.taken = 3
	case bytes.HasPrefix(start, []byte{0xFF, 0xFE}), bytes.HasPrefix(start, []byte{0xFE, 0xFF}):
		l.give(parseError{what: "is UTF-16 text", remedy: remedyUTF8})
	case bytes.HasPrefix(start, []byte("PK\x03\x04")):
		l.give(parseError{what: "is a workbook or an archive, not CSV text", remedy: remedyUTF8})
	}
	return l
}

// remedyUTF8 is what to do about a file that is no UTF-8 text.
const remedyUTF8 = "save it again as CSV in UTF-8"

// give tells of something that ends the reading of the file.
func (l *lines) give(m parseError) {
	l.mishaps = append(l.mishaps, m)
	l.fatal = true
}

// next gives the next line; false is the end of the file.
func (l *lines) next() (textLine, bool) {
	if len(l.held) > 0 {
		t := l.held[0]
		l.held = l.held[1:]
		return t, true
	}
	if l.fatal {
		return textLine{}, false
	}
	raw, err := l.src.ReadSlice('\n')
	l.no++
	l.taken += int64(len(raw))
	text, no := string(bytes.TrimSuffix(bytes.TrimSuffix(raw, []byte("\n")), []byte("\r"))), l.no
	long := errors.Is(err, bufio.ErrBufferFull)
	for errors.Is(err, bufio.ErrBufferFull) {
		raw, err = l.src.ReadSlice('\n')
		l.taken += int64(len(raw))
	}
	if err != nil && !errors.Is(err, io.EOF) {
		l.give(parseError{line: no, what: "cannot be read on: " + plainError(err), remedy: "see that the disk is well and try again"})
		return textLine{}, false
	}
	if err != nil && text == "" {
		return textLine{}, false
	}
	if strings.IndexByte(text, 0) >= 0 {
		l.give(parseError{line: no, what: "is not text: it holds a zero byte", remedy: remedyUTF8})
		return textLine{}, false
	}
	return textLine{text: l.utf8(text, no, long), no: no, long: long}, true
}

// utf8 gives the text, made valid where it is not; the first such line of a
// file is told.
func (l *lines) utf8(text string, no int, long bool) string {
	if utf8.ValidString(text) {
		return text
	}
	if !l.garbled && !long {
		l.garbled = true
		l.mishaps = append(l.mishaps, parseError{line: no, what: "is not UTF-8 text", remedy: remedyUTF8})
	}
	return strings.ToValidUTF8(text, string(utf8.RuneError))
}

// fetch gives the mishaps since the last call.
func (l *lines) fetch() []parseError {
	m := l.mishaps
	l.mishaps = nil
	return m
}

// record is one row of a file, cut into cells.
type record struct {
	line  int      // its first line
	cells []string // trimmed of blanks
	text  string   // as it stands in the file
	at    []place  // where the cells begin; nil: one after another in text
}

// place is where a cell begins: a line (0 is the record's first) and the
// bytes before it there.
type place struct{ line, bytes int }

// position gives the line and character, from 1, at which cell i begins.
func (r *record) position(i int) (line, column int) {
	if r.at != nil {
		row := strings.SplitN(r.text, "\n", r.at[i].line+2)[r.at[i].line]
		return r.line + r.at[i].line, utf8.RuneCountInString(row[:min(r.at[i].bytes, len(row))]) + 1
	}
	rest, before := r.text, 0
	for range i {
		_, tail, _ := strings.Cut(rest, ",")
		before += len(rest) - len(tail)
		rest = tail
	}
	return r.line, utf8.RuneCountInString(r.text[:before]) + 1
}

// blank says whether no cell holds anything.
func (r *record) blank() bool {
	for _, c := range r.cells {
		if c != "" {
			return false
		}
	}
	return true
}

// record gives the next row, whose cells hold until the next call. A line that
// is no row is told as a mishap, and reading can go on behind it; false is the
// end of the file.
func (l *lines) record() (rec record, bad *parseError, more bool) {
	first, ok := l.next()
	if !ok {
		return record{}, nil, false
	}
	if first.long {
		return record{}, &parseError{line: first.no, what: "is longer than 256 KiB", remedy: "see whether line ends or quotes are missing"}, true
	}
	if strings.IndexByte(first.text, '"') < 0 {
		l.cells = l.cells[:0]
		for cell := range strings.SplitSeq(first.text, ",") {
			l.cells = append(l.cells, strings.TrimSpace(cell))
		}
		return record{line: first.no, cells: l.cells, text: first.text}, nil, true
	}
	return l.quoted(first)
}

// quoted reads a row that has quotes and may go on over more lines. Where the
// quotes do not match, only its first line is lost.
func (l *lines) quoted(first textLine) (record, *parseError, bool) {
	var text strings.Builder
	text.WriteString(first.text)
	open := strings.Count(first.text, `"`)%2 != 0
	var more []textLine
	for open && len(more) < maxRecordLines && text.Len() < maxRecord {
		t, ok := l.next()
		if !ok {
			break
		}
		more = append(more, t)
		if t.long {
			break
		}
		text.WriteByte('\n')
		text.WriteString(t.text)
		open = strings.Count(t.text, `"`)%2 == 0
	}
	if !open {
		rec, err := parseQuoted(first.no, text.String())
		if err == nil {
			return rec, nil, true
		}
		open = len(more) > 0
		if !open {
			return record{}, quoteMishap(first, err), true
		}
	}
	l.held = append(more, l.held...)
	last := strings.LastIndexByte(first.text, '"')
	return record{}, &parseError{
		line: first.no, column: utf8.RuneCountInString(first.text[:last]) + 1,
		what: "has a quote without its match", remedy: remedyQuote,
	}, true
}

// remedyQuote is what to do about quotes that do not match.
const remedyQuote = `put the whole cell in quotes and write each quote inside it twice, as in "4"" hose"`

// parseQuoted cuts a row with quotes into cells by the rules of RFC 4180.
func parseQuoted(line int, text string) (record, error) {
	r := csv.NewReader(strings.NewReader(text))
	r.FieldsPerRecord = -1
	r.TrimLeadingSpace = true
	cells, err := r.Read()
	if err != nil {
		return record{}, err
	}
	rec := record{line: line, cells: cells, text: text, at: make([]place, len(cells))}
	for i, c := range cells {
		at, column := r.FieldPos(i)
		rec.at[i] = place{line: at - 1, bytes: column - 1}
		cells[i] = strings.TrimSpace(c)
	}
	return rec, nil
}

// quoteMishap tells of a line whose quotes stand where none may.
func quoteMishap(line textLine, err error) *parseError {
	m := &parseError{line: line.no, what: "has a quote where none may stand", remedy: remedyQuote}
	var pe *csv.ParseError
	if errors.As(err, &pe) && pe.Line == 1 {
		m.column = utf8.RuneCountInString(line.text[:min(max(pe.Column-1, 0), len(line.text))]) + 1
	}
	return m
}
