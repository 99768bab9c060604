package config

import (
	"fmt"
	"math"
	"path/filepath"
	"reflect"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"

	"example.org/roundsman/models"
)

// binder copies a file's values into a struct and collects what does not fit.
type binder struct {
	schema *schema
	file   string
	into   reflect.Value // the struct
	faults models.Faults
	where  map[string]place  // of every key taken
	tables map[string]place  // of every table but the whole file
	twins  map[string]string // names of secrets' files, by the key of the twin
}

func newBinder(s *schema, file string, into any) *binder {
	return &binder{schema: s, file: file, into: reflect.ValueOf(into).Elem(),
		where: map[string]place{}, tables: map[string]place{}, twins: map[string]string{}}
}

func (b *binder) fault(at place, key, val, problem, remedy string) {
	b.faults = append(b.faults, models.Fault{File: b.file, Line: at.line, Column: at.column,
		Field: key, Value: val, Problem: problem, Remedy: remedy})
}

// table takes the keys of a table and of those below it.
func (b *binder) table(t *table) {
	for _, key := range t.keys {
		e := t.entries[key]
		f := b.schema.byPath[e.path]
		switch {
		case f != nil:
			b.entry(f, e)
		case !b.schema.tables[e.path]:
			b.fault(e.at, e.path, "", "is not known", b.schema.unknown(e.path))
		case e.value.kind == unstable.ArrayTable:
			b.fault(e.at, e.path, "", "has two brackets on each side", "write ["+e.path+"]")
		case e.value.kind != unstable.Table:
			b.fault(e.at, e.path, "", "is a table and not a single value", "write ["+e.path+"] and its keys below")
		default:
			b.tables[e.path] = e.value.tables[0].at
			b.table(e.value.tables[0])
		}
	}
}

// entry takes one key.
func (b *binder) entry(f *field, e *entry) {
	if f.twin {
		if e.value.kind != unstable.String {
			b.fault(e.at, f.path, "", "is "+describeKind(e.value.kind), "write the name of a file in double quotes")
			return
		}
		b.twins[f.path] = e.value.text
		b.where[f.path] = e.at
		return
	}
	b.where[f.path] = e.at
	dst := b.into.FieldByIndex(f.index)
	if f.typ.Kind() != reflect.Slice || readsText(f.typ) {
		b.scalar(f, dst, e.value)
		return
	}
	if e.value.kind != unstable.Array {
		b.fault(e.at, f.path, shown(f, e.value), "is "+describeKind(e.value.kind), "write a list: ["+example(f.typ.Elem())+"]")
		return
	}
	if len(e.value.list) == 0 {
		dst.SetZero()
		return
	}
	list := reflect.MakeSlice(f.typ, len(e.value.list), len(e.value.list))
	for i, v := range e.value.list {
		b.scalar(f, list.Index(i), v)
	}
	dst.Set(list)
}

// scalar takes one value that is no list.
func (b *binder) scalar(f *field, dst reflect.Value, v value) {
	text, ok := acceptable(dst.Type(), v)
	if !ok {
		b.fault(v.at, f.path, shown(f, v), "is "+describeKind(v.kind), "write "+wanted(dst.Type()))
		return
	}
	if problem, remedy := f.set(dst, text); problem != "" {
		b.fault(v.at, f.path, shown(f, v), problem, remedy)
	}
}

// shown is how much of a value a fault may repeat.
func shown(f *field, v value) string {
	if f.secret() {
		return ""
	}
	return v.text
}

var (
	numberType    = reflect.TypeFor[models.Number]()
	dateType      = reflect.TypeFor[models.Date]()
	timeOfDayType = reflect.TypeFor[models.TimeOfDay]()
)

// acceptable gives a value's text when it is of the TOML type that a Go type
// is written as.
func acceptable(t reflect.Type, v value) (string, bool) {
	switch {
	case t == numberType:
		return v.text, v.kind == unstable.Integer || v.kind == unstable.Float
	case t == dateType && v.kind == unstable.LocalDate:
		return v.text, true
	case t == timeOfDayType && v.kind == unstable.LocalTime:
		hhmm, seconds := v.text[:min(5, len(v.text))], v.text[min(5, len(v.text)):]
		return hhmm, seconds == "" || seconds == ":00"
	case readsText(t) || t.Kind() == reflect.String:
		return v.text, v.kind == unstable.String
	case t.Kind() == reflect.Bool:
		return v.text, v.kind == unstable.Bool
	default:
		return v.text, v.kind == unstable.Integer
	}
}

// describeKind names a TOML type in plain words.
func describeKind(k unstable.Kind) string {
	switch k {
	case unstable.String:
		return "a text"
	case unstable.Bool:
		return "true or false"
	case unstable.Integer:
		return "a number"
	case unstable.Float:
		return "a number with a decimal point"
	case unstable.Array:
		return "a list"
	case unstable.Table, unstable.ArrayTable:
		return "a table"
	default:
		return "a date or time"
	}
}

// wanted says in plain words how values of a type are written.
func wanted(t reflect.Type) string {
	switch {
	case t == numberType:
		return "a number without quotes"
	case t == timeOfDayType:
		return `a time of day in double quotes, for example "07:00"`
	case t == dateType:
		return `a date in double quotes, for example "2026-12-24"`
	case t == reflect.TypeFor[Duration]():
		return `a length of time in double quotes, for example "90s"`
	case readsText(t) || t.Kind() == reflect.String:
		return "a text in double quotes"
	case t.Kind() == reflect.Bool:
		return "true or false without quotes"
	default:
		return "a whole number without quotes"
	}
}

// example gives two list elements of a type.
func example(t reflect.Type) string {
	switch {
	case t == timeOfDayType:
		return `"07:00", "13:00"`
	case t == dateType:
		return `"2026-12-24", "2026-12-31"`
	case t.Kind() == reflect.Int:
		return "3, 7"
	default:
		return `"one", "two"`
	}
}

// set reads a text into a value of the field (or of its list) and checks it.
// The problem is "" when all is well.
func (f *field) set(dst reflect.Value, text string) (problem, remedy string) {
	switch {
	case dst.Type() == secretType:
		dst.Set(reflect.ValueOf(NewSecret(text)))
		return "", ""
	case dst.Type() == numberType:
		return f.setNumber(dst, text)
	case readsText(dst.Type()):
		return f.setText(dst, text)
	}
	switch dst.Kind() {
	case reflect.String:
		if problem, remedy = f.checkText(text); problem == "" {
			dst.SetString(text)
		}
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
		if problem, remedy = f.checkRange(float64(v)); problem == "" {
			dst.SetInt(v)
		}
	}
	return problem, remedy
}

func (f *field) setNumber(dst reflect.Value, text string) (problem, remedy string) {
	v, err := strconv.ParseFloat(strings.ReplaceAll(text, "_", ""), 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return "is not a number", "write digits with a decimal point"
	}
	if problem, remedy = f.checkRange(v); problem == "" {
		dst.Set(reflect.ValueOf(models.Num(v)))
	}
	return problem, remedy
}

func (f *field) setText(dst reflect.Value, text string) (problem, remedy string) {
	v := reflect.New(dst.Type())
	if text == "" && dst.Type() != reflect.TypeFor[models.MonthDay]() {
		return "is empty", "write " + strings.Replace(wanted(dst.Type()), " in double quotes", "", 1) + ", or leave it out"
	}
	if err := v.Interface().(textReader).UnmarshalText([]byte(text)); err != nil {
		// The types' own messages repeat the value before they say what is wrong.
		problem = strings.TrimPrefix(err.Error(), strconv.Quote(text)+" ")
		problem, remedy, _ = strings.Cut(problem, ": ")
		return problem, remedy
	}
	if d, ok := v.Interface().(*Duration); ok {
		if problem, remedy = f.checkDuration(*d); problem != "" {
			return problem, remedy
		}
	}
	dst.Set(v.Elem())
	return "", ""
}

// resolve makes the paths of a file start at its folder.
func (b *binder) resolve() {
	dir := filepath.Dir(b.file)
	for path := range b.where {
		f := b.schema.byPath[path]
		if name, ok := b.twins[path]; ok {
			b.twins[path] = under(dir, name)
		} else if f.tag.Get("path") == "file" && !f.twin {
			dst := b.into.FieldByIndex(f.index)
			dst.SetString(under(dir, dst.String()))
		}
	}
}

// under puts a relative path under a folder; "" stays.
func under(dir, path string) string {
	if path == "" || filepath.IsAbs(path) {
		return path
	}
	return filepath.Join(dir, path)
}

// rangeText says which numbers a field takes.
func (f *field) rangeText() string {
	lo, hi := f.tag.Get("min"), f.tag.Get("max")
	if hi == "" {
		return fmt.Sprintf("%s or more", lo)
	}
	return fmt.Sprintf("%s to %s", lo, hi)
}
