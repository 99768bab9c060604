package main

import (
	"go/ast"
	"go/token"
	"go/types"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	load "golang.org/x/tools/go/packages"
)

// kept are exported names that only their own package uses, each with its
// reason.
var kept = map[string]string{
	"models.ItemFirstInspection":         "one of the items",
	"cmd/roundsman/web.Digest":           "a field of its file has the short name",
	"models.DefaultLeadDays":             "part of what a rule says",
	"models/folder.MaxFaults":            "a bound that a caller must know",
	"models/folder.MaxFile":              "a bound that a caller must know",
	"notify/inbox/bounce.ErrCode":        "what a caller may ask an error for",
	"scheduler.ErrRoundHeld":             "what a caller may ask an error for",
	"cmd/roundsman/app.ErrCourierBusy":   "what a caller may ask an error for",
	"notify/inbox/mailbox.TLS":           "a value of Config.Security",
	"notify/inbox/mailbox.StartTLS":      "a value of Config.Security",
	"notify/inbox/mailbox.NoTLS":         "a value of Config.Security",
	"notify/inbox/mailbox.Read":          "the package's reading of one mail, without a mailbox",
	"notify/inbox/mailbox.Own":           "the package's reading of one mail, without a mailbox",
	"notify/message.BuiltIn":             "the templates that come with the program",
	"notify/sms/gateway.Sign":            "the provider's side of the protocol",
	"notify/sms/gateway.SignatureHeader": "the provider's side of the protocol",
	"notify/sms/gateway.TimeHeader":      "the provider's side of the protocol",
	"notify/sms/smpp.DecodeQueryResult":  "the protocol's codec, whole",
	"scheduler.Evaluate":                 "what every look at a machine is made by",
}

// forTests are functions that only tests and their servers reach.
var forTests = []string{
	"config: Env", "models: RefusalInSpanish",
	"notify/message: Compose",
	"notify/sms/smpp: DecodeBind", "notify/sms/smpp: DecodeQuery", "notify/sms/smpp: QueryResult.Encode",
	"notify/sms/smpp: Uint8TLV", "notify/sms/smpp: TextTLV",
}

// A function that the program cannot come to is taken out, with its tests.
func TestNothingIsUnreachable(t *testing.T) {
	if testing.Short() {
		t.Skip("looks through the whole program")
	}
	cmd := exec.CommandContext(t.Context(), "go", "tool", "deadcode", "-f",
		`{{range .Funcs}}{{println $.Path .Name}}{{end}}`, "./...")
	cmd.Dir = root
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	require.NoError(t, err)
	for _, line := range strings.Fields(strings.ReplaceAll(strings.ReplaceAll(strings.TrimSpace(string(out)), " ", ":"), "\n", " ")) {
		room, name, _ := strings.Cut(strings.TrimPrefix(line, module), ":")
		if !slices.Contains(support, room) {
			assert.Contains(t, forTests, room+": "+name, "nothing reaches it")
		}
	}
}

// A name that only its own package uses is not exported: what is exported is
// what another room may lean on. Left out are methods, which interfaces may
// want, the values of an exported set of words, which belong together, and
// types that an exported name is made of.
func TestExportsAreUsedElsewhere(t *testing.T) {
	if testing.Short() {
		t.Skip("type-checks the whole program")
	}
	all, err := load.Load(&load.Config{Dir: root, Tests: true,
		Mode: load.NeedName | load.NeedTypes | load.NeedTypesInfo | load.NeedSyntax | load.NeedImports | load.NeedDeps}, "./...")
	require.NoError(t, err)
	used := map[string]bool{}
	for _, p := range all {
		for _, obj := range p.TypesInfo.Uses {
			if obj.Pkg() != nil && obj.Pkg().Path() != p.PkgPath {
				used[nameOf(obj)] = true
			}
		}
	}
	var alone []string
	for _, p := range all {
		room := strings.TrimPrefix(p.PkgPath, module)
		if p.ID != p.PkgPath || p.Name == "main" || slices.Contains(support, room) {
			continue // a test's variant of a package, or one that nobody imports
		}
		made := madeOf(p, used)
		scope := p.Types.Scope()
		for _, name := range scope.Names() {
			obj := scope.Lookup(name)
			if obj.Exported() && !used[nameOf(obj)] && !made[obj] && !ofSet(obj) && kept[nameOf(obj)] == "" {
				alone = append(alone, nameOf(obj))
			}
		}
	}
	slices.Sort(alone)
	assert.Empty(t, strings.Join(alone, "\n"), "used by their own package only")
}

func nameOf(obj types.Object) string {
	return strings.TrimPrefix(obj.Pkg().Path(), module) + "." + obj.Name()
}

// ofSet says whether a constant is one of an exported type's values, as stages,
// kinds and reasons are.
func ofSet(obj types.Object) bool {
	named, ok := obj.Type().(*types.Named)
	_, constant := obj.(*types.Const)
	return constant && ok && named.Obj().Exported()
}

// madeOf gives what the signatures and fields of a package's exported names
// are made of, and constants declared together with one that is used.
func madeOf(p *load.Package, used map[string]bool) map[types.Object]bool {
	out := map[types.Object]bool{}
	note := func(n ast.Node) {
		ast.Inspect(n, func(n ast.Node) bool {
			if id, ok := n.(*ast.Ident); ok {
				if obj := p.TypesInfo.Uses[id]; obj != nil {
					out[obj] = true
				}
			}
			return true
		})
	}
	for _, f := range p.Syntax {
		for _, d := range f.Decls {
			switch d := d.(type) {
			case *ast.FuncDecl:
				if d.Name.IsExported() {
					note(d.Type)
				}
			case *ast.GenDecl:
				for _, obj := range together(p, d, used) {
					out[obj] = true
				}
				for _, s := range d.Specs {
					switch s := s.(type) {
					case *ast.TypeSpec:
						if s.Name.IsExported() {
							note(s.Type)
						}
					case *ast.ValueSpec:
						if s.Type != nil && s.Names[0].IsExported() {
							note(s.Type)
						}
					}
				}
			}
		}
	}
	return out
}

// together gives the constants of a declaration of which one is used elsewhere.
func together(p *load.Package, d *ast.GenDecl, used map[string]bool) []types.Object {
	var all []types.Object
	any := false
	for _, s := range d.Specs {
		if v, ok := s.(*ast.ValueSpec); ok && d.Tok == token.CONST {
			for _, id := range v.Names {
				all = append(all, p.TypesInfo.Defs[id])
				any = any || used[nameOf(p.TypesInfo.Defs[id])]
			}
		}
	}
	if !any {
		return nil
	}
	return all
}
