package private

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
)

// Replace writes a file beside its place, under its name with ".part-" before
// it, and renames it into it: whoever reads the file finds the old one whole or
// the new one whole, also after a loss of power. What a kill leaves beside it is
// written over the next time; two writers of one file must take turns.
func Replace(path string, body []byte, mode fs.FileMode) error {
	part := filepath.Join(filepath.Dir(path), ".part-"+filepath.Base(path))
	f, err := os.OpenFile(part, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, mode)
	if err != nil {
		return err
	}
	if err = f.Chmod(mode); err == nil { // whatever the umask
		_, err = f.Write(body)
	}
	if err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err == nil {
		err = os.Rename(part, path)
	}
	if err != nil {
		return errors.Join(err, os.Remove(part))
	}
	return SyncFolder(filepath.Dir(path))
}

// SyncFolder makes the names in a folder last: on most file systems a rename is
// safe from a loss of power only then.
func SyncFolder(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
