package models

import (
	"go/ast"
	"go/parser"
	"go/token"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every reason has a constant of its own, a code of its own, and Spanish words.
func TestEveryReasonHasItsWords(t *testing.T) {
	file, err := parser.ParseFile(token.NewFileSet(), "reason.go", nil, 0)
	require.NoError(t, err)
	named := map[Reason]string{}
	ast.Inspect(file, func(n ast.Node) bool {
		spec, ok := n.(*ast.ValueSpec)
		if !ok || len(spec.Values) != 1 {
			return true
		}
		lit, ok := spec.Values[0].(*ast.BasicLit)
		if !ok {
			return true
		}
		code, err := strconv.Unquote(lit.Value)
		require.NoError(t, err)
		assert.Empty(t, named[Reason(code)], "two constants for %q", code)
		named[Reason(code)] = spec.Names[0].Name
		assert.NotEmpty(t, reasonsInSpanish[Reason(code)], "%s has no Spanish words", spec.Names[0].Name)
		return true
	})
	assert.Len(t, reasonsInSpanish, len(named))
	assert.Equal(t, "ReasonQuiet", named[ReasonQuiet], "the file is read as it is meant")
}

func TestReasonsInWords(t *testing.T) {
	for _, tt := range []struct {
		reason   Reason
		lang, as string
	}{
		{ReasonQuiet, "en", "quiet hours"},
		{ReasonQuiet, "es-MX", "horas de silencio"},
		{ReasonGivenUp + ": " + ReasonMailboxBusy, "es", "abandonado: el buzón está ocupado"},
		{ReasonGatewayRefused + ": no such number", "es", "rechazado por el servicio de textos: no such number"},
		{"what a peer said", "es", "what a peer said"},
		{"", "es", ""},
	} {
		assert.Equal(t, tt.as, tt.reason.In(tt.lang))
	}
}
