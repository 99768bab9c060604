package main

import (
	"os"
	"regexp"
	"testing"

	"github.com/alecthomas/kong"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
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

// The README's line on kinds names every kind that is understood.
func TestREADMEListsEveryKind(t *testing.T) {
	t.Parallel()
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	line := regexp.MustCompile("(?m)^`kind` is .*?Rules come with").FindString(string(readme))
	require.NotEmpty(t, line)
	for _, k := range models.Kinds() {
		assert.Regexp(t, `\b`+k.ID+`\b`, line)
	}
}
