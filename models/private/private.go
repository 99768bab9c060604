// Package private makes files and folders that only their owner may read,
// whatever the umask, and closes those that others may.
package private

import (
	"errors"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
)

// Modes of what the program keeps for itself.
const (
	FileMode   fs.FileMode = 0o600
	FolderMode fs.FileMode = 0o700
)

const others fs.FileMode = 0o077

// Folder makes a folder and those above it that are missing. Folders that are
// there are left as they are.
func Folder(path string) error {
	var missing []string
	for p := filepath.Clean(path); ; p = filepath.Dir(p) {
		if _, err := os.Stat(p); !errors.Is(err, fs.ErrNotExist) || p == filepath.Dir(p) {
			break
		}
		missing = append(missing, p)
	}
	if err := os.MkdirAll(path, FolderMode); err != nil {
		return err
	}
	for _, p := range missing { // a strict umask takes away even the owner's rights
		if err := os.Chmod(p, FolderMode); err != nil {
			return err
		}
	}
	return nil
}

// File makes an empty file where there is none.
func File(path string) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, FileMode)
	if errors.Is(err, fs.ErrExist) {
		return nil
	}
	if err != nil {
		return err
	}
	return errors.Join(f.Chmod(FileMode), f.Close())
}

// TightenFolder closes a folder of the program's own with the files in it.
func TightenFolder(log *slog.Logger, dir string) {
	files, err := filepath.Glob(filepath.Join(dir, "*"))
	if err != nil { // a bracket in the folder's name: the folder alone is closed, which is enough
		files = nil
	}
	Tighten(log, append(files, dir)...)
}

// Tighten takes from others the right to read or write files or folders that
// are the program's own, and logs each. What is not there is passed over; what
// belongs to somebody else cannot be closed and is logged too.
func Tighten(log *slog.Logger, paths ...string) {
	for _, p := range paths {
		info, err := os.Stat(p)
		if err != nil || info.Mode().Perm()&others == 0 {
			continue
		}
		if err := os.Chmod(p, info.Mode().Perm()&^others); err != nil {
			log.Warn("others can read a file of the shop and it cannot be closed to them", "file", p, "err", err)
			continue
		}
		log.Warn("others could read a file of the shop; it is closed to them now", "file", p, "mode", info.Mode().Perm().String())
	}
}
