//go:build unix

package private_test

import (
	"bytes"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models/private"
)

func mode(t *testing.T, path string) fs.FileMode {
	t.Helper()
	info, err := os.Stat(path)
	require.NoError(t, err)
	return info.Mode().Perm()
}

func TestModesDoNotHangOnTheUmask(t *testing.T) {
	for _, mask := range []int{0, 0o022, 0o277} {
		dir := t.TempDir()
		old := syscall.Umask(mask)
		err1 := private.Folder(filepath.Join(dir, "a", "b"))
		err2 := private.File(filepath.Join(dir, "facts"))
		syscall.Umask(old)
		require.NoError(t, err1)
		require.NoError(t, err2)
		assert.Equal(t, private.FolderMode, mode(t, filepath.Join(dir, "a", "b")), "umask %o", mask)
		assert.Equal(t, private.FileMode, mode(t, filepath.Join(dir, "facts")), "umask %o", mask)
	}
}

func TestFoldersThatAreThereAreLeftAlone(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.Chmod(dir, 0o755))
	require.NoError(t, private.Folder(filepath.Join(dir, "spool")))
	assert.Equal(t, fs.FileMode(0o755), mode(t, dir))
}

func TestTightenSaysWhatItClosed(t *testing.T) {
	dir := t.TempDir()
	open, shut := filepath.Join(dir, "open"), filepath.Join(dir, "shut")
	require.NoError(t, os.WriteFile(open, []byte("x"), 0o600))
	require.NoError(t, os.Chmod(open, 0o664))
	require.NoError(t, os.WriteFile(shut, []byte("x"), 0o600))
	var log bytes.Buffer
	private.Tighten(slog.New(slog.NewTextHandler(&log, nil)), open, shut, filepath.Join(dir, "missing"))
	assert.Equal(t, private.FileMode, mode(t, open))
	assert.Contains(t, log.String(), open)
	assert.NotContains(t, log.String(), shut)
}
