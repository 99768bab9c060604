//go:build unix

package private_test

import (
	"bytes"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models/private"
)

func TestReplaceIsWholeOrNotAtAll(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "facts")
	old := syscall.Umask(0o277)
	defer syscall.Umask(old)
	// A kill left a half file.
	require.NoError(t, os.WriteFile(filepath.Join(dir, ".part-facts"), bytes.Repeat([]byte("x"), 100), 0o600))
	require.NoError(t, os.Chmod(filepath.Join(dir, ".part-facts"), 0o600))
	for _, body := range []string{"first and long", "second"} {
		require.NoError(t, private.Replace(path, []byte(body), private.FileMode))
		got, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Equal(t, body, string(got))
		assert.Equal(t, private.FileMode, mode(t, path))
	}
	// What cannot take its place leaves the old one and nothing beside it.
	require.NoError(t, os.Mkdir(filepath.Join(dir, "taken"), 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "taken", "x"), nil, 0o600))
	require.Error(t, private.Replace(filepath.Join(dir, "taken"), []byte("third"), private.FileMode))
	names, err := filepath.Glob(filepath.Join(dir, ".part-*"))
	require.NoError(t, err)
	assert.Empty(t, names)
	require.Error(t, private.Replace(filepath.Join(dir, "no", "such", "folder"), nil, private.FileMode))
}
