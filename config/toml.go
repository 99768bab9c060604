package config

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"sort"
	"strings"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"example.org/roundsman/models"
)

// maxFileBytes bounds a settings or rules file; one of this size has some ten
// thousand rules.
const maxFileBytes = 1 << 20

// place is where something stands in a file: lines and columns from 1, a
// column being one character. The zero place is not known.
type place struct{ line, column int }

// table is one TOML table with its keys in the order of the file.
type table struct {
	path    string // dotted; "" for the whole file
	at      place
	header  bool // opened by a [header] of its own
	damaged bool // some of its lines could not be read
	keys    []string
	entries map[string]*entry
}

// entry is one key of a table with its value.
type entry struct {
	path  string
	at    place
	value value
}

// value is what stands behind a key. Tables and arrays of tables have the
// kinds Table and ArrayTable, however they were written.
type value struct {
	kind   unstable.Kind
	text   string // the content of a string, the token of any other scalar
	at     place
	list   []value  // of an Array
	tables []*table // of an ArrayTable; one of a Table
}

// document takes a TOML file apart.
type document struct {
	file    string
	data    []byte
	lines   []int // offsets at which lines begin
	root    *table
	current *table // nil: under a header that could not be read
	parser  unstable.Parser
	base    int // offset of the parser's data in the file
	last    struct {
		offset int
		at     place
	} // the place asked for last: the next is seldom far
	faults models.Faults
}

// parseTOML takes a file apart and collects all that is wrong with its
// writing. The tree holds whatever could be read.
func parseTOML(file string, data []byte) (*table, models.Faults) {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf")) // some editors begin a text file with it
	d := &document{file: file, data: data, root: newTable("", place{1, 1})}
	if f, bad := unreadable(file, data); bad {
		return d.root, models.Faults{f}
	}
	d.lines = []int{0}
	for i, c := range data {
		if c == '\n' {
			d.lines = append(d.lines, i+1)
		}
	}
	d.current = d.root
	d.parser.Reset(data)
	for {
		for d.parser.NextExpression() {
			d.expression(d.parser.Expression())
		}
		err := d.parser.Error()
		if err == nil || !d.recover(err) {
			break
		}
	}
	return d.root, d.faults
}

// unreadable finds what makes a file no text at all.
func unreadable(file string, data []byte) (models.Fault, bool) {
	f := models.Fault{File: file}
	switch {
	case len(data) > maxFileBytes:
		f.Problem = fmt.Sprintf("is %d bytes long, more than the %d that a settings or rules file may have", len(data), maxFileBytes)
		f.Remedy = "check that this is the right file"
	case bytes.HasPrefix(data, []byte("\xff\xfe")) || bytes.HasPrefix(data, []byte("\xfe\xff")):
		f.Problem = "is written in UTF-16"
		f.Remedy = "save it as UTF-8"
	case bytes.IndexByte(data, 0) >= 0:
		f.Line = 1 + bytes.Count(data[:bytes.IndexByte(data, 0)], []byte("\n"))
		f.Problem = "holds a zero byte and is not a text file"
		f.Remedy = "check that this is the right file"
	case !utf8.Valid(data):
		i := 0
		for i < len(data) {
			r, n := utf8.DecodeRune(data[i:])
			if r == utf8.RuneError && n == 1 {
				break
			}
			i += n
		}
		f.Line = 1 + bytes.Count(data[:i], []byte("\n"))
		f.Problem = "is not written in UTF-8"
		f.Remedy = "save it as UTF-8"
	default:
		return f, false
	}
	return f, true
}

// place gives the place of an offset of the parser's data.
func (d *document) place(offset int) place {
	offset += d.base
	i := sort.SearchInts(d.lines, offset+1) - 1
	from, column := d.lines[i], 1
	if d.last.at.line == i+1 && d.last.offset <= offset {
		from, column = d.last.offset, d.last.at.column
	}
	d.last.offset = offset
	d.last.at = place{line: i + 1, column: column + utf8.RuneCount(d.data[from:offset])}
	return d.last.at
}

// fault notes something wrong at a place.
func (d *document) fault(at place, field, problem, remedy string) {
	d.faults = append(d.faults, models.Fault{File: d.file, Line: at.line, Column: at.column,
		Field: field, Problem: problem, Remedy: remedy})
}

var (
	keyLine    = regexp.MustCompile(`^[ \t]*([A-Za-z0-9_."'-]+|"[^"]*"|'[^']*')[ \t]*=`)
	bareKey    = regexp.MustCompile(`^[ \t]*([A-Za-z0-9_.-]+)[ \t]*[=:]`)
	headerLine = regexp.MustCompile(`^[ \t]*\[{1,2}[ \t]*[A-Za-z_]`) // an array's row begins otherwise
)

// recover notes a fault of writing and goes on with the next line that looks
// like the beginning of something. It says whether there is one.
func (d *document) recover(err error) bool {
	offset := 0
	var pe *unstable.ParserError
	if !errors.As(err, &pe) {
		d.fault(place{}, "", "is not TOML: "+err.Error(), "")
		return false
	}
	offset = int(d.parser.Range(pe.Highlight).Offset)
	at := d.place(offset)
	resume := at.line + 1
	if open, ok := d.openList(pe.Message, at); ok {
		at, resume = open, at.line
	}
	line := d.lineText(at.line)
	problem, remedy := explain(pe.Message, line)
	d.fault(at, d.keyOf(line), problem, remedy)
	if d.current != nil {
		d.current.damaged = true
	}
	if strings.HasPrefix(strings.TrimSpace(line), "[") && !keyLine.MatchString(line) {
		d.current = nil // its keys must not be taken for those of the table above
	}
	for next := resume; next <= len(d.lines); next++ {
		text := d.lineText(next)
		if !keyLine.MatchString(text) && !headerLine.MatchString(text) {
			continue
		}
		d.base = d.lines[next-1]
		d.parser.Reset(d.data[d.base:])
		return true
	}
	return false
}

// keyOf gives the path of the key at the beginning of a faulty line, or "".
func (d *document) keyOf(line string) string {
	m := bareKey.FindStringSubmatch(line)
	if m == nil || d.current == nil {
		return ""
	}
	return d.current.join(m[1])
}

// maxListLines bounds how far back the beginning of an open list is looked for.
const maxListLines = 500

// openList finds where a list begins that was never closed, when the parser
// has noticed it only at the beginning of a later line.
func (d *document) openList(message string, at place) (place, bool) {
	line := d.lineText(at.line)
	before := string([]rune(line)[:at.column-1])
	inList := strings.Contains(message, "after array value") ||
		strings.Contains(message, "at start of value") && keyLine.MatchString(line)
	if !inList || strings.TrimSpace(before) != "" {
		return place{}, false
	}
	for n := at.line - 1; n >= max(1, at.line-maxListLines); n-- {
		text := d.lineText(n)
		if i := strings.IndexByte(text, '['); i >= 0 && keyLine.MatchString(text) {
			return place{n, 1 + utf8.RuneCountInString(text[:i])}, true
		}
	}
	return place{}, false
}

// lineText gives a line without its end; lines count from 1.
func (d *document) lineText(n int) string {
	end := len(d.data)
	if n < len(d.lines) {
		end = d.lines[n] - 1
	}
	return string(d.data[d.lines[n-1]:end])
}

// expression takes in a header or a key with its value.
func (d *document) expression(n *unstable.Node) {
	switch n.Kind {
	case unstable.Table, unstable.ArrayTable:
		d.header(n)
	case unstable.KeyValue:
		if d.current != nil {
			d.keyValue(d.current, n)
		}
	}
}

// maxKeyParts bounds the parts of a dotted key; the program's own have three.
const maxKeyParts = 10

// keyPart is one part of a dotted key.
type keyPart struct {
	name string
	at   place
}

func (d *document) key(n *unstable.Node) []keyPart {
	var parts []keyPart
	for it := n.Key(); it.Next(); {
		k := it.Node()
		parts = append(parts, keyPart{string(k.Data), d.place(int(k.Raw.Offset))})
		if len(parts) > maxKeyParts {
			d.fault(parts[0].at, "", "is a key of too many parts", "write a key that is known here")
			return parts[:1]
		}
	}
	return parts
}

// header opens the table or adds one to the array of tables it names.
func (d *document) header(n *unstable.Node) {
	parts := d.key(n)
	last := parts[len(parts)-1]
	into := d.descend(d.root, parts[:len(parts)-1])
	d.current = nil
	if into == nil {
		return
	}
	e := into.entries[last.name]
	if n.Kind == unstable.ArrayTable {
		if e == nil {
			e = into.add(last, value{kind: unstable.ArrayTable, at: last.at})
		} else if e.value.kind != unstable.ArrayTable {
			d.twice(last.at, e)
			return
		}
		d.current = newTable(e.path, last.at)
		d.current.header = true
		e.value.tables = append(e.value.tables, d.current)
		return
	}
	switch {
	case e == nil:
		e = into.add(last, value{kind: unstable.Table, at: last.at, tables: []*table{newTable(into.join(last.name), last.at)}})
	case e.value.kind != unstable.Table || e.value.tables[0].header:
		d.twice(last.at, e)
		return
	}
	d.current = e.value.tables[0]
	d.current.header, d.current.at = true, last.at
}

// descend goes down to the table that parts name and makes those on the way;
// nil when something else stands there.
func (d *document) descend(t *table, parts []keyPart) *table {
	for _, p := range parts {
		e := t.entries[p.name]
		if e == nil {
			e = t.add(p, value{kind: unstable.Table, at: p.at, tables: []*table{newTable(t.join(p.name), p.at)}})
		}
		if len(e.value.tables) == 0 {
			d.twice(p.at, e)
			return nil
		}
		t = e.value.tables[len(e.value.tables)-1]
	}
	return t
}

func (d *document) keyValue(into *table, n *unstable.Node) {
	parts := d.key(n)
	last := parts[len(parts)-1]
	if into = d.descend(into, parts[:len(parts)-1]); into == nil {
		return
	}
	if e := into.entries[last.name]; e != nil {
		d.twice(last.at, e)
		return
	}
	e := into.add(last, value{})
	e.value = d.value(n.Value(), e.path, last.at)
}

// value copies a value out of the parser, which forgets it at the next
// expression.
func (d *document) value(n *unstable.Node, path string, at place) value {
	v := value{kind: n.Kind, text: string(n.Data), at: at}
	if n.Raw.Length > 0 {
		v.at = d.place(int(n.Raw.Offset))
	}
	switch n.Kind {
	case unstable.Array:
		for it := n.Children(); it.Next(); {
			v.list = append(v.list, d.value(it.Node(), path, at))
		}
	case unstable.InlineTable:
		t := newTable(path, v.at)
		t.header = true
		for it := n.Children(); it.Next(); {
			d.keyValue(t, it.Node())
		}
		v.kind, v.tables = unstable.Table, []*table{t}
	}
	return v
}

// twice notes a key or table that stands in the file already.
func (d *document) twice(at place, first *entry) {
	d.fault(at, first.path, fmt.Sprintf("stands in this file twice, first on line %d", first.at.line), "keep one of them")
}

// crossCheck lets the library judge a file in which nothing was found, for
// the rarer rules of TOML.
func crossCheck(file string, data []byte) models.Faults {
	var all map[string]any
	err := toml.Unmarshal(bytes.TrimPrefix(data, []byte("\xef\xbb\xbf")), &all)
	if err == nil {
		return nil
	}
	f := models.Fault{File: file, Problem: "is not TOML: " + strings.TrimPrefix(err.Error(), "toml: "),
		Remedy: "write each table once, with its keys below its name"}
	var de *toml.DecodeError
	if errors.As(err, &de) {
		f.Line, f.Column = de.Position()
	}
	return models.Faults{f}
}

func newTable(path string, at place) *table {
	return &table{path: path, at: at, entries: map[string]*entry{}}
}

// join gives the dotted path of a key of the table.
func (t *table) join(name string) string {
	if t.path == "" {
		return name
	}
	return t.path + "." + name
}

func (t *table) add(k keyPart, v value) *entry {
	e := &entry{path: t.join(k.name), at: k.at, value: v}
	t.keys = append(t.keys, k.name)
	t.entries[k.name] = e
	return e
}
