package config

import (
	"encoding"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"example.org/roundsman/models"
)

// field is one key that a file may have, as the struct tags describe it:
//
//	toml   the key
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
}

// schema is all the keys that a file may have, by their dotted paths.
type schema struct {
	fields []*field
	byPath map[string]*field
	tables map[string]bool // true for [[...]]
	hint   string          // the remedy for a table that nobody knows; "" lists those there are
}

// newSchema reads the tags of a struct type, "" or the path of its table.
func newSchema(t reflect.Type, prefix string) *schema {
	s := &schema{byPath: map[string]*field{}, tables: map[string]bool{}}
	s.read(t, prefix, nil)
	return s
}

func (s *schema) read(t reflect.Type, prefix string, index []int) {
	for i := range t.NumField() {
		sf := t.Field(i)
		path, at := join(prefix, tomlKey(sf)), append(slices.Clone(index), i)
		switch {
		case sf.Type.Kind() == reflect.Struct && !readsText(sf.Type):
			s.tables[path] = false
			s.read(sf.Type, path, at)
		case sf.Type.Kind() == reflect.Slice && sf.Type.Elem().Kind() == reflect.Struct && !readsText(sf.Type.Elem()):
			s.tables[path] = true
			s.read(sf.Type.Elem(), path, nil)
		default:
			f := &field{path: path, index: at, typ: sf.Type, tag: sf.Tag}
			s.fields = append(s.fields, f)
			s.byPath[path] = f
		}
	}
}

// tomlKey gives a field's key, less the options of the library.
func tomlKey(sf reflect.StructField) string {
	key, _, _ := strings.Cut(sf.Tag.Get("toml"), ",")
	return key
}

// fileTwin ends the key that names a file which holds a secret.
const fileTwin = "_file"

// twin gives the field that names the file of a secret, nil for no secret.
func (s *schema) twin(f *field) *field {
	if f.typ != secretType {
		return nil
	}
	return s.byPath[f.path+fileTwin]
}

// isTwin says whether a field names the file of a secret.
func (s *schema) isTwin(f *field) bool {
	of, ok := strings.CutSuffix(f.path, fileTwin)
	return ok && s.byPath[of] != nil
}

var (
	secretType    = reflect.TypeFor[Secret]()
	dateType      = reflect.TypeFor[models.Date]()
	timeOfDayType = reflect.TypeFor[models.TimeOfDay]()
	durationType  = reflect.TypeFor[Duration]()
)

// readsText says whether values of a type are read from one text.
func readsText(t reflect.Type) bool {
	return reflect.PointerTo(t).Implements(reflect.TypeFor[encoding.TextUnmarshaler]())
}

// single gives the type of the field's values: of the elements of a list.
func (f *field) single() reflect.Type {
	if f.isList() || f.typ.Kind() == reflect.Pointer {
		return f.typ.Elem()
	}
	return f.typ
}

func (f *field) isList() bool { return f.typ.Kind() == reflect.Slice && !readsText(f.typ) }
func (f *field) isText() bool { return readsText(f.single()) }
func (f *field) isClock() bool {
	return f.single() == dateType || f.single() == timeOfDayType
}

// values gives the values of the field, those of a list each by itself.
func (f *field) values(v reflect.Value) []reflect.Value {
	if v.Kind() == reflect.Pointer {
		v = v.Elem()
	}
	if !f.isList() {
		return []reflect.Value{v}
	}
	list := make([]reflect.Value, v.Len())
	for i := range list {
		list[i] = v.Index(i)
	}
	return list
}

// env gives the environment variable that sets the key.
func (f *field) env() string {
	return envPrefix + strings.ToUpper(strings.ReplaceAll(f.path, ".", "_"))
}

// shown is how much of a value a fault may repeat.
func (f *field) shown(text string) string {
	if f.typ == secretType {
		return ""
	}
	return strings.Trim(text, `"'`)
}

// wanted says in plain words how the values are written.
func (f *field) wanted() string {
	switch t := f.single(); {
	case t == timeOfDayType:
		return `a time of day in double quotes, for example "07:00"`
	case t == dateType:
		return `a date in double quotes, for example "2026-12-24"`
	case t == durationType:
		return `a length of time in double quotes, for example "90s"`
	case readsText(t) || t.Kind() == reflect.String:
		return "a text in double quotes"
	case t.Kind() == reflect.Bool:
		return "true or false without quotes"
	case t.Kind() == reflect.Float64:
		return "a number without quotes"
	default:
		return "a whole number without quotes"
	}
}

// example gives two values of a list.
func (f *field) example() string {
	switch {
	case f.single() == timeOfDayType:
		return `"07:00", "13:00"`
	case f.single() == dateType:
		return `"2026-12-24", "2026-12-31"`
	case f.single().Kind() == reflect.Int:
		return "3, 7"
	default:
		return `"one", "two"`
	}
}

// parse reads the text of an environment variable into a value of the field;
// the problem is "" when all is well.
func (f *field) parse(dst reflect.Value, text string) (problem, remedy string) {
	if t, ok := dst.Addr().Interface().(encoding.TextUnmarshaler); ok {
		if err := t.UnmarshalText([]byte(text)); err != nil {
			return ofText(err.Error())
		}
		return f.check(dst)
	}
	switch dst.Kind() {
	case reflect.String:
		dst.SetString(text)
	case reflect.Bool:
		v, err := strconv.ParseBool(text)
		if err != nil {
			return "is neither true nor false", "write true or false"
		}
		dst.SetBool(v)
	default:
		v, err := strconv.ParseInt(text, 0, 64)
		if err != nil {
			return "is not a whole number", "write digits only"
		}
		dst.SetInt(v)
	}
	return f.check(dst)
}

// unknown gives the remedy for a key that nobody knows: the nearest key of
// its table, the table where it belongs, or the keys there are.
func (s *schema) unknown(path string) string {
	if s.hint != "" && !strings.Contains(path, ".") {
		return s.hint
	}
	parent, name := "", path
	if i := strings.LastIndexByte(path, '.'); i >= 0 {
		parent, name = path[:i], path[i+1:]
	}
	here := s.keysIn(parent)
	if best := models.Nearest(name, here, 2); best != "" {
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
