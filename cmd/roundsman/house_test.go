package main

import (
	"encoding/json"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const module = "example.org/roundsman/"

// root is the module's folder, seen from this package.
const root = "../.."

// mayImport says which of the program's own packages each package may import,
// as DEVELOPERS.md draws them. A package that is missing here fails the test:
// a new room is drawn before it is built.
var mayImport = map[string][]string{
	"models":                  {},
	"models/folder":           {"models", "models/phone", "models/private"},
	"models/private":          {},
	"models/phone":            {"models"},
	"models/store":            {"models", "models/private"},
	"config":                  {"models", "models/phone"},
	"scheduler/calendar":      {"models"},
	"scheduler/usage":         {"models"},
	"scheduler/usage/trial":   {"models", "scheduler/usage", "scheduler/interval"},
	"scheduler/interval":      {"models", "scheduler/calendar", "scheduler/usage"},
	"scheduler/visit":         {"models", "scheduler/calendar", "scheduler/visit/simplex"},
	"scheduler/visit/simplex": {},
	"scheduler/visit/shop":    {"models", "scheduler/calendar", "scheduler/visit"},
	"scheduler/cooling":       {"models"},
	"scheduler/job":           {"models", "scheduler/calendar", "scheduler/usage"},
	"scheduler/sheet":         {"models", "scheduler/calendar", "scheduler/usage", "scheduler/interval", "scheduler/job", "scheduler/cooling"},
	"scheduler":               {"models", "models/folder", "notify/policy", "notify/inbox", "scheduler/*"},
	"notify/policy":           {"models", "scheduler/calendar"},
	"notify/message":          {"models", "scheduler/calendar", "notify/message/gsm"},
	"notify/message/gsm":      {},
	"notify":                  {"models", "notify/policy", "notify/message"},
	"notify/mail":             {"models", "notify", "notify/message"},
	"notify/spool":            {"models", "models/private", "notify", "notify/message"},
	"notify/sms":              {"models", "notify", "notify/message", "notify/message/gsm", "notify/sms/*"},
	"notify/sms/smpp":         {"models", "models/private", "notify/message/gsm"},
	"notify/sms/gateway":      {"models", "notify", "notify/sms"},
	"notify/ics":              {"models"},
	"notify/inbox":            {"models"},
	"notify/inbox/bounce":     {},
	"notify/inbox/mailbox":    {"models", "models/private", "notify", "notify/inbox/bounce"},
	"cmd/roundsman":           {"*"},
	"cmd/roundsman/app":       {"*"},
	"cmd/roundsman/web":       {"models", "models/folder", "models/phone", "notify/policy", "notify/message", "notify/inbox", "scheduler", "scheduler/*", "cmd/roundsman/picture"},
	"cmd/roundsman/picture":   {"models", "scheduler/visit/shop"},
	"cmd/roundsman/demo":      {"models", "scheduler/calendar", "scheduler/interval"},
}

// support lists packages that only tests use.
var support = []string{"notify/notifytest", "notify/mail/mailtest", "notify/sms/smpp/smsctest"}

// pure lists the packages that reach no database, network, file, clock or
// chance: values and a time in, values out.
var pure = []string{"models", "models/phone", "scheduler/calendar", "scheduler/usage", "scheduler/usage/trial", "scheduler/interval",
	"scheduler/visit", "scheduler/visit/simplex", "scheduler/visit/shop", "notify/ics", "cmd/roundsman/picture", "scheduler/cooling", "scheduler/job", "scheduler/sheet", "notify/policy", "notify/message",
	"notify/message/gsm", "notify/inbox", "notify/inbox/bounce", "cmd/roundsman/demo"}

// impure lists what a pure package must not import directly.
var impure = []string{"os", "net", "net/http", "database/sql", "gorm.io/gorm", "math/rand", "os/exec", "syscall"}

type listed struct {
	ImportPath string
	Imports    []string
}

// packages lists the program's packages with what they import themselves.
func packages(t *testing.T) []listed {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), "go", "list", "-json=ImportPath,Imports", "./...")
	cmd.Dir = root
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	require.NoError(t, err)
	var all []listed
	for d := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p listed
		err := d.Decode(&p)
		if err == io.EOF {
			return all
		}
		require.NoError(t, err)
		all = append(all, p)
	}
}

func allowed(rules []string, path string) bool {
	return slices.ContainsFunc(rules, func(r string) bool {
		prefix, wild := strings.CutSuffix(r, "*")
		return r == path || wild && strings.HasPrefix(path, prefix)
	})
}

func TestArrowsPointOneWay(t *testing.T) {
	for _, p := range packages(t) {
		name := strings.TrimPrefix(p.ImportPath, module)
		if slices.Contains(support, name) {
			continue
		}
		rules, known := mayImport[name]
		if !assert.True(t, known, "%s is not on the map of the house", name) {
			continue
		}
		for _, i := range p.Imports {
			if own, ok := strings.CutPrefix(i, module); ok {
				assert.True(t, allowed(rules, own), "%s must not import %s", name, own)
			}
			if name == "models" {
				assert.NotContains(t, i, ".", "models imports the standard library only")
			}
			if slices.Contains(pure, name) {
				assert.NotContains(t, impure, i, "%s is pure and must not import %s", name, i)
			}
		}
	}
}

// eachGoFile calls fn for every Go file of the program that is no test.
func eachGoFile(t *testing.T, fn func(path string, data []byte)) {
	t.Helper()
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == ".git" || d.Name() == "testdata") {
			return fs.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(root, path)
		if err != nil {
			return err
		}
		fn(filepath.ToSlash(rel), data)
		return nil
	})
	require.NoError(t, err)
}

// clockFiles may ask the wall clock: where the clock is made, and where only
// a length of time on a connection is measured.
var clockFiles = []string{
	"cmd/roundsman/main.go",
	"notify/mail/smtp.go",
	"notify/mail/login.go",
}

func isClockFile(path string) bool {
	return slices.Contains(clockFiles, path) || strings.HasPrefix(path, "notify/sms/") || strings.HasPrefix(path, "notify/inbox/")
}

func TestTheWallClockIsAskedInOnePlace(t *testing.T) {
	eachGoFile(t, func(path string, data []byte) {
		file, err := parser.ParseFile(token.NewFileSet(), path, data, 0)
		require.NoError(t, err)
		dir := filepath.ToSlash(filepath.Dir(path))
		if slices.Contains(support, dir) {
			return
		}
		isPure := slices.Contains(pure, dir)
		ast.Inspect(file, func(n ast.Node) bool {
			if _, ok := n.(*ast.GoStmt); ok {
				assert.False(t, isPure, "%s is pure and must not start goroutines", path)
			}
			sel, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			x, ok := sel.X.(*ast.Ident)
			if ok && x.Name == "time" && slices.Contains([]string{"Now", "Since", "Until"}, sel.Sel.Name) {
				assert.True(t, isClockFile(path), "%s asks the wall clock: take a models.Clock", path)
			}
			return true
		})
	})
}

func TestFilesStayShort(t *testing.T) {
	eachGoFile(t, func(path string, data []byte) {
		assert.LessOrEqual(t, strings.Count(string(data), "\n"), 450, "%s has outgrown its room", path)
	})
}

// Reasons have their constants and words in models/reason.go and nowhere else;
// the store takes them as parameters. Refusals of coolant sums are no decisions
// and stay with the sums.
func TestReasonsAreNamedInOnePlace(t *testing.T) {
	named := map[string]bool{}
	eachGoFile(t, func(path string, data []byte) {
		if path != "models/reason.go" {
			return
		}
		for _, m := range regexp.MustCompile(`Reason = "([^"]+)"`).FindAllStringSubmatch(string(data), -1) {
			named[m[1]] = true
		}
	})
	require.NotEmpty(t, named)
	eachGoFile(t, func(path string, data []byte) {
		if path == "models/reason.go" {
			return
		}
		if !strings.HasPrefix(path, "scheduler/cooling/") {
			assert.NotRegexp(t, `Reason\s+= "`, string(data), "%s names a reason of its own", path)
		}
		if strings.HasPrefix(path, "models/store/") {
			for _, m := range regexp.MustCompile(`'([^'\n]+)'`).FindAllStringSubmatch(string(data), -1) {
				assert.False(t, named[m[1]], "%s holds the reason %q in SQL", path, m[1])
			}
		}
	})
}
