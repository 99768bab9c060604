package folder

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"example.org/roundsman/models"
	"example.org/roundsman/models/private"
)

// Write writes every file of the folder into dir, which is made if need be.
// Files of the same names are replaced, other files are left alone. Each file
// is written beside its place and synced first, and they are moved into place
// when all are whole: until then a failure changes nothing, and no file is
// ever half written. Rows that name an owner or machine which the set does
// not hold are written as they are.
func Write(ctx context.Context, dir string, set models.FactSet) (err error) {
	if err := private.Folder(dir); err != nil {
		return cannotWrite(dir, err)
	}
	var made []staged
	defer func() {
		for _, s := range made {
			if s.temp != "" && err != nil {
				err = errors.Join(err, removeIfThere(s.temp))
			}
		}
	}()
	for _, t := range tables() {
		if err := ctx.Err(); err != nil {
			return fmt.Errorf("writing the folder: %w", err)
		}
		s := staged{place: filepath.Join(dir, t.fileName())}
		s.temp, err = stage(dir, t, &set)
		if err != nil {
			return cannotWrite(s.place, err)
		}
		made = append(made, s)
	}
	for i, s := range made {
		if s.temp == "" {
			err = removeIfThere(s.place)
		} else if err = os.Rename(s.temp, s.place); err == nil {
			made[i].temp = ""
		}
		if err != nil {
			return cannotWrite(s.place, err)
		}
	}
	return syncDir(dir)
}

// staged is a file that is written and not yet in its place; without a temp
// there should be none.
type staged struct{ temp, place string }

// stage writes a file beside its place and gives the path; "" when the file
// should not be there. Only the user may read it: it holds people's addresses.
func stage(dir string, t table, f *models.FactSet) (path string, err error) {
	out, err := os.CreateTemp(dir, "."+t.fileName()+".*")
	if err != nil {
		return "", err
	}
	wanted := false
	defer func() {
		if err != nil || !wanted {
			err = errors.Join(err, removeIfThere(out.Name()))
		}
	}()
	if err := out.Chmod(private.FileMode); err != nil {
		return "", err
	}
	buffered := bufio.NewWriter(out)
	wanted, err = t.write(buffered, f)
	if err == nil {
		err = buffered.Flush()
	}
	if err == nil {
		err = out.Sync()
	}
	if err := errors.Join(err, out.Close()); err != nil || !wanted {
		return "", err
	}
	return out.Name(), nil
}

// removeIfThere removes a file that may be missing.
func removeIfThere(path string) error {
	err := os.Remove(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}

// syncDir makes the new names of a folder's files last.
func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return cannotWrite(dir, err)
	}
	if err := errors.Join(d.Sync(), d.Close()); err != nil {
		return cannotWrite(dir, err)
	}
	return nil
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
