package config

import (
	"bytes"
	"errors"
	"fmt"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"example.org/roundsman/models"
)

const (
	// maxFileBytes bounds a settings or rules file; one of this size has some
	// ten thousand rules.
	maxFileBytes = 1 << 20
	// maxRefused bounds the faults of writing that are told in one go: the
	// file is decoded anew after each.
	maxRefused = 100
)

// place is where something stands in a file: lines and columns from 1, a
// column being one character. The zero place is not known.
type place struct{ line, column int }

// spot is where a key and its value stand, and how the value is written.
type spot struct {
	table      string // under whose header
	key, value place
	kind       unstable.Kind
	items      []spot // the values of a list
}

// document is a settings or rules file that the library decodes. The library
// stops at the first value that it cannot take: that one is told and blanked
// out, and the rest decoded again, so that all faults are told in one go.
type document struct {
	schema *schema
	file   string
	lines  []string // what is left to decode
	faults models.Faults
	spots  map[string]spot  // by path; "rule[2].miles" in the third [[rule]]
	tables map[string]place // the same for tables
	starts []int            // lines on which tables begin, in order
}

// decode reads a file into what fresh gives, anew for each try, and says what
// cannot be taken. A try that is given up leaves what could be read.
func decode(s *schema, file string, data []byte, fresh func() any) *document {
	d := &document{schema: s, file: file}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf")) // some editors begin a text file with it
	if f, bad := unreadable(file, data); bad {
		fresh()
		d.faults = models.Faults{f}
		return d
	}
	d.lines = strings.Split(string(data), "\n")
	for range maxRefused {
		err := toml.Unmarshal([]byte(strings.Join(d.lines, "\n")), fresh())
		var refused *toml.DecodeError
		switch {
		case err == nil:
			d.walk(d.lines)
			d.refuseBare()
			d.unknown()
			return d
		case errors.As(err, &refused):
			d.refuse(refused)
		default:
			d.walk(d.lines)
			if !d.refuseBare() {
				d.fault(place{}, "", "", "is not TOML: "+err.Error(), "write key = value, with texts in double quotes")
				return d
			}
		}
	}
	d.fault(place{}, "", "", "has more faults than these", "mend these first, then check again")
	return d
}

func (d *document) fault(at place, key, val, problem, remedy string) {
	d.faults = append(d.faults, models.Fault{File: d.file, Line: at.line, Column: at.column,
		Field: key, Value: val, Problem: problem, Remedy: remedy})
}

// unreadable finds what makes a file no text at all.
func unreadable(file string, data []byte) (models.Fault, bool) {
	f := models.Fault{File: file}
	lineOf := func(i int) int { return 1 + bytes.Count(data[:i], []byte("\n")) }
	switch zero := bytes.IndexByte(data, 0); {
	case len(data) > maxFileBytes:
		f.Problem = fmt.Sprintf("is %d bytes long, more than the %d that a settings or rules file may have", len(data), maxFileBytes)
		f.Remedy = "check that this is the right file"
	case bytes.HasPrefix(data, []byte("\xff\xfe")) || bytes.HasPrefix(data, []byte("\xfe\xff")):
		f.Problem, f.Remedy = "is written in UTF-16", "save it as UTF-8"
	case zero >= 0:
		f.Line, f.Problem, f.Remedy = lineOf(zero), "holds a zero byte and is not a text file", "check that this is the right file"
	case !utf8.Valid(data):
		valid := len(data) - len(bytes.TrimLeftFunc(data, func(r rune) bool { return r != utf8.RuneError }))
		f.Line, f.Problem, f.Remedy = lineOf(valid), "is not written in UTF-8", "save it as UTF-8"
	default:
		return f, false
	}
	return f, true
}

var (
	keyLine    = regexp.MustCompile(`^[ \t]*([A-Za-z0-9_."'-]+|"[^"]*"|'[^']*')[ \t]*=`)
	bareKey    = regexp.MustCompile(`^[ \t]*([A-Za-z0-9_.-]+)[ \t]*[=:]`)
	headerLine = regexp.MustCompile(`^[ \t]*\[{1,2}[ \t]*([A-Za-z_][A-Za-z0-9_.]*)`) // a list's row begins otherwise
	scalar     = regexp.MustCompile(`^("([^"\\]|\\.)*"|'[^']*'|[^],#\s]+)`)
	inList     = regexp.MustCompile(scalar.String() + `[ \t]*,?`)
	afterOpen  = regexp.MustCompile(`[\[,][ \t]*$`)
	bareClock  = regexp.MustCompile(`^([0-9]{4}-[0-9]{2}-[0-9]{2}|[0-9]{2}:[0-9]{2})(:00)?$`)
)

// refuse tells what the library could not take and blanks it out.
func (d *document) refuse(e *toml.DecodeError) {
	row, column := e.Position()
	message := strings.TrimPrefix(e.Error(), "toml: ")
	if open := d.openList(message, row, column); open > 0 {
		row, column = open, strings.IndexByte(d.lines[open-1], '[')+1
	}
	line := d.lines[row-1]
	before, rest := line[:column-1], line[column-1:]
	token := scalar.FindString(rest)
	key := strings.Join(e.Key(), ".")
	if f := d.schema.byPath[key]; f != nil && f.isClock() && strings.Contains(message, "TOML local ") && bareClock.MatchString(token) {
		// TOML has dates and times of its own, which the library gives to its
		// own types only.
		d.lines[row-1] = before + `"` + bareClock.ReplaceAllString(token, "$1") + `"` + rest[len(token):]
		return
	}
	at := place{row, 1 + utf8.RuneCountInString(before)}
	if twice.MatchString(message) {
		d.twice(row, at)
		return
	}
	if key == "" {
		key = d.keyOf(row)
	}
	problem, remedy, val := d.explain(message, key, line, token)
	d.fault(at, key, val, problem, remedy)
	if element := inList.FindString(rest); element != "" && e.Key() != nil && afterOpen.MatchString(before) && !headerLine.MatchString(line) {
		d.lines[row-1] = before + strings.Repeat(" ", len(element)) + rest[len(element):]
		return
	}
	d.blank(row)
}

// twice tells of a key or table that stands in the file already.
func (d *document) twice(row int, at place) {
	key := d.keyOf(row)
	if h := headerLine.FindStringSubmatch(d.lines[row-1]); h != nil {
		key = h[1]
	}
	d.walk(d.lines[:row-1])
	first := d.first(key)
	for first == 0 && key != "" { // a key below one that has a value
		key = key[:max(strings.LastIndexByte(key, '.'), 0)]
		first = d.first(key)
	}
	d.fault(at, key, "", fmt.Sprintf("stands in this file twice, first on line %d", first), "keep one of them")
	d.blank(row)
}

// first gives the first line on which a key or table stands, be it by a key
// below it; 0 for none.
func (d *document) first(path string) int {
	line := 0
	for p, s := range d.spots {
		if (p == path || strings.HasPrefix(p, path+".")) && (line == 0 || s.key.line < line) {
			line = s.key.line
		}
	}
	if at := d.tables[path].line; at > 0 && (line == 0 || at < line) {
		line = at
	}
	return line
}

// blank takes out what begins on a line, to the next line that looks like the
// beginning of something; after a header, to the next header, as its keys
// must not be taken for those of the table above.
func (d *document) blank(row int) {
	header := strings.HasPrefix(strings.TrimSpace(d.lines[row-1]), "[") && !keyLine.MatchString(d.lines[row-1])
	for i := row - 1; i < len(d.lines); i++ {
		if i >= row && (headerLine.MatchString(d.lines[i]) || !header && keyLine.MatchString(d.lines[i])) {
			return
		}
		d.lines[i] = ""
	}
}

// refuseBare tells of what stands without quotes where a text belongs, and
// says whether there was any: the library takes some of it for numbers and
// does not say where the rest stood.
func (d *document) refuseBare() bool {
	found := false
	for path, s := range d.spots {
		f := d.schema.byPath[plainPath(path)]
		if f == nil || !f.isText() {
			continue
		}
		for _, v := range append(s.items, s) {
			if v.kind == unstable.Integer || v.kind == unstable.Float || v.kind == unstable.Bool {
				token := scalar.FindString(string([]rune(d.lines[v.value.line-1])[v.value.column-1:]))
				d.fault(v.value, f.path, f.shown(token), "is "+tomlKinds[strings.ToLower(v.kind.String())], "write "+f.wanted())
				found = true
				d.blank(s.key.line)
				delete(d.spots, path)
				break
			}
		}
	}
	return found
}

// keyOf gives the path of the key at the beginning of a faulty line, or "".
func (d *document) keyOf(row int) string {
	m := bareKey.FindStringSubmatch(d.lines[row-1])
	if m == nil {
		return ""
	}
	for i := row - 2; i >= 0; i-- {
		if h := headerLine.FindStringSubmatch(d.lines[i]); h != nil {
			return h[1] + "." + m[1]
		}
	}
	return m[1]
}

// maxListLines bounds how far back the beginning of an open list is looked for.
const maxListLines = 500

// openList gives the line on which a list begins that was never closed, when
// the library has noticed it only at the beginning of a later line; 0 for none.
func (d *document) openList(message string, row, column int) int {
	line := d.lines[row-1]
	inList := strings.Contains(message, "after array value") ||
		strings.Contains(message, "at start of value") && keyLine.MatchString(line)
	if !inList || strings.TrimSpace(line[:column-1]) != "" {
		return 0
	}
	for n := row - 1; n >= max(1, row-maxListLines); n-- {
		if text := d.lines[n-1]; keyLine.MatchString(text) && strings.Contains(text, "[") {
			return n
		}
	}
	return 0
}

// unknown tells of the keys and tables that the schema does not have, and of
// tables with single brackets that must have two. (The library's strict mode
// tells the former too, but in a time that grows with the square of the file.)
func (d *document) unknown() {
	for path, at := range d.tables {
		if _, known := d.schema.tables[plainPath(path)]; !known {
			d.fault(at, plainPath(path), "", "is not known", d.schema.unknown(plainPath(path)))
		} else if d.schema.tables[path] {
			d.fault(at, path, "", "is not a list of tables", "write [["+path+"]] with two brackets before each one")
		}
	}
	for path, s := range d.spots {
		table, key := plainPath(s.table), plainPath(path)
		_, here := d.schema.tables[table]
		switch top, _, _ := strings.Cut(path, "."); {
		case table != "" && !here: // told with its table
		case table == "" && d.schema.tables[top]:
			d.fault(s.key, top, "", "is not a list of tables", "write [["+top+"]] with two brackets before each one")
		case d.schema.byPath[key] == nil && !has(d.tables, path):
			d.fault(s.key, key, "", "is not known", d.schema.unknown(key))
		}
	}
}

// walk notes where every key and table stands, as far as the lines can be
// read.
func (d *document) walk(lines []string) {
	d.spots, d.tables, d.starts = map[string]spot{}, map[string]place{}, nil
	w := walker{d: d, data: []byte(strings.Join(lines, "\n")), count: map[string]int{}}
	w.parser.Reset(w.data)
	table := ""
	for w.parser.NextExpression() {
		n := w.parser.Expression()
		if n.Kind == unstable.KeyValue {
			w.keyValue(table, table, n)
			continue
		}
		path, at := w.path("", n)
		if n.Kind == unstable.ArrayTable {
			w.count[path]++
			path = fmt.Sprintf("%s[%d]", path, w.count[path]-1)
		}
		table = path
		d.tables[path] = at
		d.starts = append(d.starts, at.line)
	}
}

// walker goes through a text for the places in it.
type walker struct {
	d      *document
	data   []byte
	parser unstable.Parser
	count  map[string]int // of the tables of an array so far
	offset int            // asked for last: the next stands behind it
	last   place
}

// place gives the place of an offset.
func (w *walker) place(offset int) place {
	if offset < w.offset || w.last.line == 0 {
		w.offset, w.last = 0, place{1, 1}
	}
	between := w.data[w.offset:offset]
	if n := bytes.Count(between, []byte("\n")); n > 0 {
		w.last = place{w.last.line + n, 1}
		between = between[bytes.LastIndexByte(between, '\n')+1:]
	}
	w.last.column += utf8.RuneCount(between)
	w.offset = offset
	return w.last
}

// path gives the dotted path of a node's key below a table, and the place of
// its last part.
func (w *walker) path(table string, n *unstable.Node) (string, place) {
	var parts []string
	var at int
	for it := n.Key(); it.Next(); {
		k := it.Node()
		at = int(k.Raw.Offset)
		parts = append(parts, string(k.Data))
	}
	return join(table, strings.Join(parts, ".")), w.place(at)
}

func (w *walker) keyValue(header, table string, n *unstable.Node) {
	path, at := w.path(table, n)
	v := n.Value()
	s := spot{table: header, key: at, value: at, kind: v.Kind}
	if v.Raw.Length > 0 {
		s.value = w.place(int(v.Raw.Offset))
	}
	switch v.Kind {
	case unstable.InlineTable:
		w.d.tables[path] = at
		for it := v.Children(); it.Next(); {
			w.keyValue(header, path, it.Node())
		}
	case unstable.Array:
		for it := v.Children(); it.Next(); {
			if c := it.Node(); c.Raw.Length > 0 {
				s.items = append(s.items, spot{value: w.place(int(c.Raw.Offset)), kind: c.Kind})
			}
		}
	}
	w.d.spots[path] = s
}

// limits checks the values that stand in the file against the tags of their
// fields. v is the struct that was decoded, table the path of it with its
// index, "" for a whole file.
func (d *document) limits(s *schema, v reflect.Value, table string) {
	for _, f := range s.fields {
		path := f.path
		if table != "" {
			path = join(table, strings.TrimPrefix(path, plainPath(table)+"."))
		}
		at, set := d.spots[path]
		if !set {
			continue
		}
		for i, value := range f.values(v.FieldByIndex(f.index)) {
			if problem, remedy := f.check(value); problem != "" {
				where := at.value
				if i < len(at.items) {
					where = at.items[i].value
				}
				d.fault(where, f.path, f.shown(show(value)), problem, remedy)
			}
		}
	}
}

// damaged gives the lines of the tables in which something has a fault, so
// that what seems to be missing may stand there.
func (d *document) damaged() map[int]bool {
	m := map[int]bool{}
	for _, f := range d.faults {
		if i, here := slices.BinarySearch(d.starts, f.Line); here {
			m[f.Line] = true
		} else if i > 0 {
			m[d.starts[i-1]] = true
		}
	}
	return m
}

// join gives the dotted path of a key of a table.
func join(table, key string) string {
	if table == "" {
		return key
	}
	return table + "." + key
}

var index = regexp.MustCompile(`\[[0-9]+\]`)

// plainPath takes the index of an array's table out of a path.
func plainPath(path string) string { return index.ReplaceAllString(path, "") }
