package config

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"path/filepath"
	"reflect"
	"slices"
	"strings"

	"example.org/roundsman/models"
)

// DefaultFile is the settings file that is read when none is named and it is
// there.
const DefaultFile = "roundsman.toml"

const (
	envPrefix = "ROUNDSMAN_"
	// envTests begins the names that the program's own tests use.
	envTests = "ROUNDSMAN_TEST_"
	// envFile is what faults of environment variables name as their file.
	envFile = "environment"
)

// otherEnv lists the variables with the program's prefix that set nothing
// here: they say which peers the tests must find, and where.
var otherEnv = []string{"ROUNDSMAN_PEERS", "ROUNDSMAN_NODE_PEERS"}

// ReadFile reads a whole file; os.ReadFile is one.
type ReadFile func(name string) ([]byte, error)

// Source says where a setting comes from. The zero Source is the default.
type Source struct {
	File string // the settings file, or ""
	Line int    // in the file, from 1
	Env  string // the environment variable, or ""
}

// String gives "default", "FILE:LINE" or the variable's name.
func (s Source) String() string {
	switch {
	case s.Env != "":
		return s.Env
	case s.File != "":
		return fmt.Sprintf("%s:%d", s.File, s.Line)
	default:
		return "default"
	}
}

// Loaded is the settings in force, where each comes from, and what is worth a
// warning though nothing is wrong with it.
type Loaded struct {
	Settings
	File     string // the settings file read, or ""
	Warnings models.Faults
	sources  map[string]Source // by key; the default where there is none
	doc      *document         // the file, for the places in it
}

// Load reads the settings: the defaults, then a file, then the environment
// (os.Environ() or the like). path names the file; "" is DefaultFile where it
// is there and no file where it is not. readFile also reads the files that
// hold secrets.
//
// What is wrong with the settings comes back as models.Faults, all of it; a
// file that cannot be read is a models.Error.
func Load(path string, env []string, readFile ReadFile) (*Loaded, error) {
	name := path
	if name == "" {
		name = DefaultFile
	}
	data, err := readFile(name)
	switch {
	case err == nil:
	case path == "" && errors.Is(err, fs.ErrNotExist):
		name, data = "", nil
	case errors.Is(err, fs.ErrNotExist):
		return nil, models.Errorf(models.CodeInvalid, "check its path, or leave --config out for the defaults",
			"the settings file %s does not exist", path)
	default:
		return nil, &models.Error{Code: models.CodeUnavailable, Message: "cannot read the settings file", Err: err}
	}
	return Parse(name, data, env, readFile)
}

var settingsSchema = newSchema(reflect.TypeFor[Settings](), "")

// Parse is Load for a settings file that has been read; file is its name for
// faults and for the paths in it, "" when there is none.
func Parse(file string, data []byte, env []string, readFile ReadFile) (*Loaded, error) {
	l := &Loaded{File: file, sources: map[string]Source{}}
	d := decode(settingsSchema, file, data, func() any {
		l.Settings = Defaults()
		return &l.Settings
	})
	d.limits(settingsSchema, reflect.ValueOf(&l.Settings).Elem(), "")
	l.doc = d
	l.fromFile(d)
	e := environment{into: reflect.ValueOf(&l.Settings).Elem(), sources: map[string]Source{}}
	e.read(env)
	v := &validator{loaded: l, broken: map[string]bool{}}
	v.secrets(e.sources, readFile)
	maps.Copy(l.sources, e.sources)
	v.faults = slices.Concat(d.faults, e.faults, v.faults)
	v.markBroken()
	v.settings()
	slices.SortStableFunc(v.faults, byPlace)
	l.Warnings = v.warnings
	if err := v.faults.Err(); err != nil {
		return nil, err
	}
	return l, nil
}

// fromFile notes which settings come from the file, and makes the paths of it
// start at its folder.
func (l *Loaded) fromFile(d *document) {
	v := reflect.ValueOf(&l.Settings).Elem()
	for _, f := range settingsSchema.fields {
		at, set := d.spots[f.path]
		if !set {
			continue
		}
		l.sources[f.path] = Source{File: d.file, Line: at.key.line}
		if dst := v.FieldByIndex(f.index); f.tag.Get("path") == "file" && dst.String() != "" && !filepath.IsAbs(dst.String()) {
			dst.SetString(filepath.Join(filepath.Dir(d.file), dst.String()))
		}
	}
}

// byPlace sorts faults by line and column, those of the environment last.
func byPlace(a, b models.Fault) int {
	fromEnv := func(f models.Fault) int {
		if f.File == envFile {
			return 1
		}
		return 0
	}
	return cmp.Or(cmp.Compare(fromEnv(a), fromEnv(b)), cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
}

// environment sets the settings that variables with the program's prefix name.
type environment struct {
	into    reflect.Value
	sources map[string]Source // of what is set
	faults  models.Faults
}

func (e *environment) read(env []string) {
	byName := map[string]*field{}
	for _, f := range settingsSchema.fields {
		byName[f.env()] = f
	}
	for _, pair := range slices.Sorted(slices.Values(env)) {
		name, text, _ := strings.Cut(pair, "=")
		if !strings.HasPrefix(name, envPrefix) || strings.HasPrefix(name, envTests) || slices.Contains(otherEnv, name) {
			continue
		}
		f := byName[name]
		if f == nil {
			e.faults = append(e.faults, models.Fault{File: envFile, Field: name, Problem: "is not known", Remedy: nearestEnv(name, byName)})
			continue
		}
		e.sources[f.path] = Source{Env: name}
		if problem, remedy := e.set(f, text); problem != "" {
			e.faults = append(e.faults, models.Fault{File: envFile, Field: name, Value: f.shown(text), Problem: problem, Remedy: remedy})
		}
	}
}

// set sets a field from one text; a list has commas between its values.
func (e *environment) set(f *field, text string) (problem, remedy string) {
	dst := e.into.FieldByIndex(f.index)
	if !f.isList() {
		return f.parse(dst, text)
	}
	dst.SetZero()
	if strings.TrimSpace(text) == "" {
		return "", ""
	}
	parts := strings.Split(text, ",")
	dst.Set(reflect.MakeSlice(f.typ, len(parts), len(parts)))
	for i, p := range parts {
		if problem, remedy = f.parse(dst.Index(i), strings.TrimSpace(p)); problem != "" {
			return problem, remedy + ", with commas between several"
		}
	}
	return "", ""
}

// nearestEnv gives the remedy for a variable that nobody knows.
func nearestEnv(name string, byName map[string]*field) string {
	if best := models.Nearest(name, slices.Sorted(maps.Keys(byName)), 3); best != "" {
		return "did you mean " + best + "?"
	}
	return "unset it; the variables are the keys of the settings file in capitals, such as ROUNDSMAN_SHOP_NAME for shop.name"
}

// secrets reads the files of secrets. The environment wins over the file,
// whichever of a secret's two keys each of them uses; both keys in one place
// are a fault.
func (v *validator) secrets(env map[string]Source, readFile ReadFile) {
	into := reflect.ValueOf(&v.loaded.Settings).Elem()
	for _, f := range settingsSchema.fields {
		twin := settingsSchema.twin(f)
		if twin == nil {
			continue
		}
		for _, from := range []map[string]Source{v.loaded.sources, env} {
			if has(from, f.path) && has(from, twin.path) {
				f, t := v.in(from, f.path), v.in(from, twin.path)
				t.Problem, t.Remedy = "is set beside "+f.Field, "keep one of the two"
				v.faults = append(v.faults, t)
			}
		}
		if has(env, f.path) || !has(env, twin.path) && (has(v.loaded.sources, f.path) || !has(v.loaded.sources, twin.path)) {
			continue
		}
		from := v.loaded.sources
		if has(env, twin.path) {
			from = env
		}
		from[f.path] = from[twin.path]
		fault := v.in(from, twin.path)
		file := into.FieldByIndex(twin.index).String()
		secret, problem, remedy := readSecret(file, readFile)
		if problem != "" {
			fault.Value, fault.Problem, fault.Remedy = file, problem, remedy
			v.faults = append(v.faults, fault)
		}
		into.FieldByIndex(f.index).Set(reflect.ValueOf(secret))
	}
}

// in gives a fault without words of a key that a map of sources has.
func (v *validator) in(from map[string]Source, key string) models.Fault {
	if name := from[key].Env; name != "" {
		return models.Fault{File: envFile, Field: name}
	}
	at := v.loaded.doc.spots[key].key
	return models.Fault{File: v.loaded.doc.file, Line: at.line, Column: at.column, Field: key}
}

func has[T any](m map[string]T, key string) bool { _, ok := m[key]; return ok }

// markBroken notes the keys that have a fault; a fault of a secret's file is
// one of the secret.
func (v *validator) markBroken() {
	faulty := map[string]bool{}
	for _, f := range v.faults {
		faulty[f.Field] = true
	}
	for _, f := range settingsSchema.fields {
		if faulty[f.path] || faulty[f.env()] {
			v.broken[f.path] = true
			if settingsSchema.isTwin(f) {
				v.broken[strings.TrimSuffix(f.path, fileTwin)] = true
			}
		}
	}
}

// maxSecretBytes bounds a secret's file; a private key of 8192 bits is a
// tenth of it.
const maxSecretBytes = 64 << 10

// readSecret reads a secret from its file, less one line break at its end.
func readSecret(file string, readFile ReadFile) (s Secret, problem, remedy string) {
	if file == "" {
		return s, "names no file", "write the name of the file that holds the secret, or take the line out"
	}
	data, err := readFile(file)
	if err != nil {
		return s, "cannot be read: " + readProblem(err), "check the path and who may read it"
	}
	if line, ended := bytes.CutSuffix(data, []byte("\n")); ended {
		data = bytes.TrimSuffix(line, []byte("\r"))
	}
	switch {
	case len(data) == 0:
		return s, "is an empty file", "write the secret into it"
	case len(data) > maxSecretBytes || bytes.IndexByte(data, 0) >= 0:
		return s, "does not look like a file with one secret", "check that this is the right file"
	}
	return NewSecret(string(data)), "", ""
}

// readProblem says why a file cannot be read without repeating its name.
func readProblem(err error) string {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		err = pe.Err
	}
	return err.Error()
}

// Env gives the environment variable of every key, by the key.
func Env() map[string]string {
	m := make(map[string]string, len(settingsSchema.fields))
	for _, f := range settingsSchema.fields {
		m[f.path] = f.env()
	}
	return m
}
