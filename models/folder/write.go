package folder

import (
	"bufio"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/models/private"
)

// sumsFile lists the files that exports wrote into a folder, each with its
// SHA-256, in the form of sha256sum.
const sumsFile = "export.sha256"

// isDraft says whether a name is that of a file which is being written.
func isDraft(name string) bool {
	return strings.HasPrefix(name, ".") && strings.HasSuffix(name, ".draft")
}

// Write writes every file of the folder into dir, which is made if need be.
// Files of the same names are replaced where an earlier export wrote them; one
// that no export wrote, or that was changed since, is refused with
// models.CodeConflict and nothing is changed, as is a folder that holds anything
// else and no export. Beside an export other files are left alone. Each
// file is written beside its place and synced first, and they are moved into
// place when all are whole: no file is ever half written, and what a kill left
// behind the next export takes away. Rows that name an owner or machine which
// the set does not hold are written as they are.
func Write(ctx context.Context, dir string, set models.FactSet) (err error) {
	if err := private.Folder(dir); err != nil {
		return cannotWrite(dir, err)
	}
	sums, err := ownSums(dir)
	if err != nil {
		return err
	}
	var made []staged
	defer func() {
		for _, s := range made {
			err = errors.Join(err, removeIfThere(s.draft))
		}
	}()
	var fresh strings.Builder
	for _, t := range tables() {
		if err := ctx.Err(); err != nil {
			return fmt.Errorf("writing the folder: %w", err)
		}
		s := staged{draft: filepath.Join(dir, "."+t.fileName()+".draft"), place: filepath.Join(dir, t.fileName())}
		made = append(made, s)
		wanted, sum, err := s.write(func(w io.Writer) (bool, error) { return t.write(w, &set) })
		if err != nil {
			return cannotWrite(s.place, err)
		}
		if wanted {
			fmt.Fprintf(&fresh, "%s  %s\n", sum, t.fileName())
		}
	}
	// Until all files are in place both the old and the new ones are ours.
	if err := writeSums(dir, sums+fresh.String()); err != nil {
		return err
	}
	for _, s := range made {
		if err = os.Rename(s.draft, s.place); errors.Is(err, fs.ErrNotExist) {
			err = removeIfThere(s.place)
		}
		if err != nil {
			return cannotWrite(s.place, err)
		}
	}
	if err := writeSums(dir, fresh.String()); err != nil {
		return err
	}
	if err := private.SyncFolder(dir); err != nil {
		return cannotWrite(dir, err)
	}
	return nil
}

// ownSums gives what earlier exports say that they wrote, and refuses a folder
// with files of ours that they did not, or with anything where there was none;
// what is hidden is nothing.
func ownSums(dir string) (string, error) {
	data, err := os.ReadFile(filepath.Join(dir, sumsFile))
	if errors.Is(err, fs.ErrNotExist) {
		var there []os.DirEntry
		there, err = os.ReadDir(dir)
		if i := slices.IndexFunc(there, func(e os.DirEntry) bool { return !strings.HasPrefix(e.Name(), ".") }); i >= 0 {
			return "", models.Errorf(models.CodeConflict, "export into a new folder", "%s holds something else already: %s", dir, there[i].Name())
		}
	}
	if err != nil {
		return "", cannotWrite(filepath.Join(dir, sumsFile), err)
	}
	lines := strings.Split(string(data), "\n")
	for _, name := range Names() {
		path := filepath.Join(dir, name)
		data, err := os.ReadFile(path)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			continue
		case err != nil:
			return "", cannotWrite(path, err)
		case !slices.Contains(lines, sumLine(sha256.Sum256(data), name)):
			return "", models.Errorf(models.CodeConflict, "export into a new folder, or move that file away",
				"%s was not written by an export, or was changed since", path)
		}
	}
	return string(data), nil
}

// writeSums writes the list of what exports wrote.
func writeSums(dir, sums string) error {
	s := staged{draft: filepath.Join(dir, "."+sumsFile+".draft"), place: filepath.Join(dir, sumsFile)}
	_, _, err := s.write(func(w io.Writer) (bool, error) {
		_, err := io.WriteString(w, sums)
		return true, err
	})
	if err == nil {
		err = os.Rename(s.draft, s.place)
	}
	if err != nil {
		return errors.Join(cannotWrite(s.place, err), removeIfThere(s.draft))
	}
	return nil
}

// staged is a file that is written as a draft and not yet in its place; without
// a draft there should be none.
type staged struct{ draft, place string }

// write writes the draft and gives its SHA-256; false: there should be no such
// file. Only the user may read it: it holds people's addresses.
func (s staged) write(content func(io.Writer) (bool, error)) (wanted bool, sum string, err error) {
	out, err := os.OpenFile(s.draft, os.O_CREATE|os.O_TRUNC|os.O_WRONLY, 0o600)
	if err != nil {
		return false, "", err
	}
	defer func() {
		if err != nil || !wanted {
			err = errors.Join(err, removeIfThere(s.draft))
		}
	}()
	hash := sha256.New()
	buffered := bufio.NewWriter(io.MultiWriter(out, hash))
	wanted, err = content(buffered)
	if err == nil {
		err = buffered.Flush()
	}
	if err == nil {
		err = out.Sync()
	}
	if err = errors.Join(err, out.Close()); err != nil {
		return false, "", err
	}
	return wanted, hex.EncodeToString(hash.Sum(nil)), nil
}

// removeIfThere removes a file that may be missing.
func removeIfThere(path string) error {
	err := os.Remove(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}

// cannotWrite makes an error that a person can act on.
func cannotWrite(path string, err error) error {
	var known *models.Error
	if errors.As(err, &known) {
		return err
	}
	return &models.Error{
		Code: models.CodeUnavailable, Message: path + " cannot be written",
		Remedy: "name a folder that may be written and has room", Err: err,
	}
}
