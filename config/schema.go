package config

import (
	"reflect"
	"slices"
	"strings"

	"example.org/roundsman/models"
)

// field is one key that a file may have, as the struct tags describe it:
//
//	toml   the key; "-" is no key
//	oneof  the words it may be, parted by |
//	min    the least number, or the shortest duration
//	max    the greatest number, the longest duration, or the most characters
//	check  a named check of its text
//	path   "file": a path that starts at the folder of the settings file
type field struct {
	path  string
	index []int
	typ   reflect.Type
	tag   reflect.StructTag
	twin  bool // the _file twin of a secret: its text is the name of a file
}

// schema is all the keys that a file may have, by their dotted paths.
type schema struct {
	fields []*field
	byPath map[string]*field
	tables map[string]bool
}

var secretType = reflect.TypeFor[Secret]()

// newSchema reads the tags of a struct type.
func newSchema(t reflect.Type, prefix string) *schema {
	s := &schema{byPath: map[string]*field{}, tables: map[string]bool{}}
	s.read(t, prefix, nil)
	return s
}

func (s *schema) read(t reflect.Type, prefix string, index []int) {
	for i := range t.NumField() {
		sf := t.Field(i)
		key := sf.Tag.Get("toml")
		if key == "" || key == "-" {
			continue
		}
		path := key
		if prefix != "" {
			path = prefix + "." + key
		}
		at := append(slices.Clone(index), i)
		if sf.Type.Kind() == reflect.Struct && !readsText(sf.Type) {
			s.tables[path] = true
			s.read(sf.Type, path, at)
			continue
		}
		s.add(&field{path: path, index: at, typ: sf.Type, tag: sf.Tag})
		if sf.Type == secretType {
			s.add(&field{path: path + fileTwin, index: at, typ: sf.Type, twin: true})
		}
	}
}

// fileTwin ends the key that names a file which holds a secret.
const fileTwin = "_file"

func (s *schema) add(f *field) {
	s.fields = append(s.fields, f)
	s.byPath[f.path] = f
}

// readsText says whether values of a type are read from one text.
func readsText(t reflect.Type) bool {
	if t == secretType || t == reflect.TypeFor[models.Number]() {
		return true
	}
	_, ok := reflect.New(t).Interface().(textReader)
	return ok
}

// textReader is encoding.TextUnmarshaler.
type textReader interface{ UnmarshalText([]byte) error }

// env gives the environment variable that sets the key.
func (f *field) env() string {
	return envPrefix + strings.ToUpper(strings.ReplaceAll(f.path, ".", "_"))
}

// secret says whether what stands behind the key must never be shown. The
// name of a secret's file may be.
func (f *field) secret() bool { return f.typ == secretType && !f.twin }

// unknown gives the remedy for a key that nobody knows: the nearest key of
// its table, the table where it belongs, or the keys there are.
func (s *schema) unknown(path string) string {
	parent, name := "", path
	if i := strings.LastIndexByte(path, '.'); i >= 0 {
		parent, name = path[:i], path[i+1:]
	}
	here := s.keysIn(parent)
	best, least := "", 3
	for _, k := range here {
		if d := distance(name, k); d < least && 2*d <= len(name) {
			best, least = k, d
		}
	}
	if best != "" {
		return "did you mean " + best + "?"
	}
	var elsewhere []string
	for _, f := range s.fields {
		if table, ok := strings.CutSuffix(f.path, "."+name); ok {
			elsewhere = append(elsewhere, "["+table+"]")
		}
	}
	if len(elsewhere) > 0 {
		return "it belongs under " + strings.Join(elsewhere, " or ")
	}
	if len(here) == 0 {
		return "take it out"
	}
	return "the keys here are " + strings.Join(here, ", ")
}

// keysIn lists the keys and tables of a table.
func (s *schema) keysIn(table string) []string {
	var keys []string
	for _, f := range s.fields {
		name := f.path
		if table != "" {
			var ok bool
			if name, ok = strings.CutPrefix(f.path, table+"."); !ok {
				continue
			}
		}
		name, _, _ = strings.Cut(name, ".")
		if !slices.Contains(keys, name) {
			keys = append(keys, name)
		}
	}
	return keys
}

// distance is the number of characters to insert, drop or change to turn one
// key into another (Levenshtein, two rows).
func distance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			cost := diagonal
			if a[i] != b[j] {
				cost = 1 + min(diagonal, row[j], row[j+1])
			}
			diagonal, row[j+1] = row[j+1], cost
		}
	}
	return row[len(b)]
}
