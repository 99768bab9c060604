package main

import (
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var quotedWord = regexp.MustCompile("`([^`]+)`")

// rows gives the rows of the table under a heading of DEVELOPERS.md, by cell.
func rows(t *testing.T, heading string) [][]string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(root, "DEVELOPERS.md"))
	require.NoError(t, err)
	_, part, found := strings.Cut(string(text), "\n## "+heading+"\n")
	require.True(t, found, heading)
	part, _, _ = strings.Cut(part, "\n## ")
	var out [][]string
	for line := range strings.Lines(part) {
		if cells := strings.Split(strings.Trim(line, "|\n "), "|"); strings.HasPrefix(line, "| ") && len(cells) > 1 && !strings.HasPrefix(line, "| ---") {
			out = append(out, cells)
		}
	}
	require.NotEmpty(t, out)
	return out[1:]
}

func words(cell string) []string {
	var out []string
	for _, m := range quotedWord.FindAllStringSubmatch(cell, -1) {
		out = append(out, m[1])
	}
	return out
}

// The map of the house in DEVELOPERS.md shows each package, be it in its
// parent's row, says which are pure, and shows no other.
func TestTheMapShowsTheHouse(t *testing.T) {
	t.Parallel()
	shown := map[string]bool{}
	for _, row := range rows(t, "The house") {
		for _, name := range words(row[0]) {
			assert.Contains(t, mayImport, name, "the map shows a package that is not there")
			assert.Equal(t, slices.Contains(pure, name), strings.Contains(row[0], "[pure]"), "%s: pure or not", name)
			shown[name] = true
			for _, below := range words(row[1]) {
				shown[path.Join(name, below)] = true
				shown[path.Join(path.Dir(name), below)] = true
			}
		}
	}
	for name := range mayImport {
		assert.True(t, shown[name], "the map does not show %s", name)
	}
}

// What DEVELOPERS.md tells one to touch, and the tests that watch over it, are
// there.
func TestWhatToTouchIsThere(t *testing.T) {
	t.Parallel()
	tests := map[string]bool{}
	err := filepath.WalkDir(root, func(file string, _ os.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(file, "_test.go") {
			return err
		}
		data, err := os.ReadFile(file)
		for _, m := range regexp.MustCompile(`(?m)^func (Test\w+)\(`).FindAllStringSubmatch(string(data), -1) {
			tests[m[1]] = true
		}
		return err
	})
	require.NoError(t, err)
	for _, row := range rows(t, "To add a ...") {
		require.Len(t, row, 3, "%v", row)
		require.NotEmpty(t, words(row[1]), "%v", row)
		for _, file := range words(row[1]) {
			assert.FileExists(t, existing(file), "%s of %s", file, row[0])
		}
		require.NotEmpty(t, words(row[2]), "%v", row)
		for _, name := range words(row[2]) {
			assert.True(t, tests[name], "there is no %s", name)
		}
	}
}

// existing gives a file of the project; for a folder, one that stands in it.
func existing(file string) string {
	if !strings.HasSuffix(file, "/") {
		return filepath.Join(root, file)
	}
	found, _ := filepath.Glob(filepath.Join(root, file, "*.*"))
	if len(found) == 0 {
		found, _ = filepath.Glob(filepath.Join(root, file, "*", "*.*"))
	}
	if len(found) == 0 {
		return filepath.Join(root, file)
	}
	return found[0]
}
