package config

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"maps"
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
	l := &Loaded{Settings: Defaults(), File: file, sources: map[string]Source{}}
	root, faults := parseTOML(file, data)
	b := newBinder(settingsSchema, file, &l.Settings)
	b.table(root)
	b.resolve()
	e := newBinder(settingsSchema, envFile, &l.Settings)
	e.environment(env)

	l.settle(b, e, readFile)
	v := validator{loaded: l, places: b.where, tables: b.tables, broken: map[string]bool{}}
	b.markBroken(faults, v.broken)
	b.markBroken(b.faults, v.broken)
	e.markBroken(e.faults, v.broken)
	v.settings()
	faults = slices.Concat(faults, b.faults, e.faults, v.faults)
	if len(faults) == 0 {
		faults = crossCheck(file, data)
	}
	slices.SortStableFunc(faults, byPlace)
	l.Warnings = v.warnings
	if err := faults.Err(); err != nil {
		return nil, err
	}
	return l, nil
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

// environment takes the variables that begin with the program's prefix.
func (b *binder) environment(env []string) {
	byName := map[string]*field{}
	for _, f := range b.schema.fields {
		byName[f.env()] = f
	}
	sorted := slices.Sorted(slices.Values(env))
	for _, pair := range sorted {
		name, text, _ := strings.Cut(pair, "=")
		if !strings.HasPrefix(name, envPrefix) || strings.HasPrefix(name, envTests) || slices.Contains(otherEnv, name) {
			continue
		}
		f := byName[name]
		if f == nil {
			b.fault(place{}, name, "", "is not known", nearestEnv(name, byName))
			continue
		}
		b.where[f.path] = place{}
		if problem, remedy := b.fromText(f, text); problem != "" {
			v := text
			if f.secret() {
				v = ""
			}
			b.fault(place{}, name, v, problem, remedy)
		}
	}
}

// nearestEnv gives the remedy for a variable that nobody knows.
func nearestEnv(name string, byName map[string]*field) string {
	best, least := "", 4
	for _, k := range slices.Sorted(maps.Keys(byName)) {
		if d := distance(name, k); d < least {
			best, least = k, d
		}
	}
	if best != "" {
		return "did you mean " + best + "?"
	}
	return "unset it; the variables are the keys of the settings file in capitals, such as ROUNDSMAN_SHOP_NAME for shop.name"
}

// fromText sets a field from one text; a list has commas between its values.
func (b *binder) fromText(f *field, text string) (problem, remedy string) {
	if f.twin {
		b.twins[f.path] = text
		return "", ""
	}
	dst := b.into.FieldByIndex(f.index)
	if dst.Kind() != reflect.Slice || readsText(f.typ) {
		return f.set(dst, text)
	}
	if strings.TrimSpace(text) == "" {
		dst.SetZero()
		return "", ""
	}
	parts := strings.Split(text, ",")
	list := reflect.MakeSlice(f.typ, len(parts), len(parts))
	for i, p := range parts {
		if problem, remedy = f.set(list.Index(i), strings.TrimSpace(p)); problem != "" {
			return problem, remedy + ", with commas between several"
		}
	}
	dst.Set(list)
	return "", ""
}

// settle reads the files of secrets and notes where each setting comes from.
// The environment wins over the file, whichever of a secret's two keys each
// of them uses; both keys in one place are a fault.
func (l *Loaded) settle(file, env *binder, readFile ReadFile) {
	for _, f := range settingsSchema.fields {
		if f.twin {
			continue
		}
		twin := f.path + fileTwin
		for _, b := range []*binder{file, env} {
			at, set := b.where[f.path]
			twinAt, twinSet := b.where[twin]
			switch {
			case f.typ != secretType || !twinSet:
			case set:
				b.fault(twinAt, b.name(twin), "", "is set beside "+b.name(f.path), "keep one of the two")
			case b == file && (has(env.where, f.path) || has(env.where, twin)):
			default:
				b.readSecret(f, twin, twinAt, readFile)
				set, at = true, twinAt
			}
			if set && b == file {
				l.sources[f.path] = Source{File: b.file, Line: at.line}
			} else if set {
				key := f.path
				if twinSet {
					key = twin
				}
				l.sources[f.path] = Source{Env: settingsSchema.byPath[key].env()}
			}
		}
	}
}

func has(m map[string]place, key string) bool { _, ok := m[key]; return ok }

// markBroken adds the keys that have a fault; a fault of a secret's file is
// one of the secret.
func (b *binder) markBroken(faults models.Faults, broken map[string]bool) {
	for _, fault := range faults {
		for _, f := range b.schema.fields {
			if b.name(f.path) != fault.Field {
				continue
			}
			if f.twin {
				broken[strings.TrimSuffix(f.path, fileTwin)] = true
			} else {
				broken[f.path] = true
			}
		}
	}
}

// name gives a key as its place names it: the key itself, or the variable.
func (b *binder) name(path string) string {
	if b.file == envFile {
		return b.schema.byPath[path].env()
	}
	return path
}

// maxSecretBytes bounds a secret's file; a private key of 8192 bits is a
// tenth of it.
const maxSecretBytes = 64 << 10

// readSecret sets a secret from its file, less one line break at its end.
func (b *binder) readSecret(f *field, twin string, at place, readFile ReadFile) {
	file := b.twins[twin]
	if file == "" {
		b.fault(at, b.name(twin), "", "names no file", "write the name of the file that holds the secret, or take the line out")
		return
	}
	data, err := readFile(file)
	if err != nil {
		b.fault(at, b.name(twin), file, "cannot be read: "+readProblem(err), "check the path and who may read it")
		return
	}
	if line, ended := bytes.CutSuffix(data, []byte("\n")); ended {
		data = bytes.TrimSuffix(line, []byte("\r"))
	}
	switch {
	case len(data) == 0:
		b.fault(at, b.name(twin), file, "is an empty file", "write the secret into it")
	case len(data) > maxSecretBytes || bytes.IndexByte(data, 0) >= 0:
		b.fault(at, b.name(twin), file, "does not look like a file with one secret", "check that this is the right file")
	default:
		b.into.FieldByIndex(f.index).Set(reflect.ValueOf(NewSecret(string(data))))
	}
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
