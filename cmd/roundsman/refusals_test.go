package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// TestRefusalsAreInSpanish: whatever a page can be refused with, and what to do
// about it, has its Spanish words. Remedies that name commands are not shown on
// pages, nor are the words of what is not found or broke.
func TestRefusalsAreInSpanish(t *testing.T) {
	seen := 0
	for _, dir := range []string{"../../models", "../../scheduler", "../../scheduler/job", "../../scheduler/visit/shop", "web"} {
		files, err := filepath.Glob(filepath.Join(dir, "*.go"))
		require.NoError(t, err)
		for _, name := range files {
			if strings.HasSuffix(name, "_test.go") {
				continue
			}
			file, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
			require.NoError(t, err)
			ast.Inspect(file, func(n ast.Node) bool {
				call, ok := n.(*ast.CallExpr)
				if !ok || len(call.Args) < 3 || named(call.Fun) != "Errorf" {
					return true
				}
				switch named(call.Args[0]) {
				case "CodeInvalid", "CodeUnclear", "CodeConflict", "CodeDoubtful":
				default:
					return true
				}
				seen++
				for i, arg := range call.Args[1:3] {
					lit, ok := arg.(*ast.BasicLit)
					if !ok {
						continue
					}
					words, err := strconv.Unquote(lit.Value)
					require.NoError(t, err)
					if i == 0 && (words == "" || strings.Contains(words, "`") || strings.Contains(words, "--")) || !strings.ContainsFunc(strings.ReplaceAll(words, "%", ""), isLetter) || len(words) < 6 {
						continue
					}
					assert.True(t, models.RefusalInSpanish(words), "%s: %q", name, words)
				}
				return true
			})
		}
	}
	assert.Greater(t, seen, 60, "refusals looked at")
}

func isLetter(r rune) bool { return r >= 'a' && r <= 'z' }

// named gives the last part of a name.
func named(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.Ident:
		return e.Name
	case *ast.SelectorExpr:
		return e.Sel.Name
	}
	return ""
}
