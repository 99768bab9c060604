package main

import (
	"os"
	"testing"

	"github.com/alecthomas/kong"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The README's table of commands lists every command that exists.
func TestREADMEListsEveryCommand(t *testing.T) {
	t.Parallel()
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	parser, err := kong.New(&commands{}, kong.Name("roundsman"))
	require.NoError(t, err)
	leaves := parser.Model.Leaves(true)
	require.Greater(t, len(leaves), 30)
	for _, leaf := range leaves {
		name := leaf.Name
		if leaf.Parent != nil && leaf.Parent.Parent != nil {
			name = leaf.Parent.Name + " " + name
		}
		assert.Regexp(t, "\\| `[^|]*\\b"+name+"\\b", string(readme))
	}
}
