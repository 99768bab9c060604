package mailbox

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"sort"
	"strings"
)

// Source is where mail comes in.
type Source interface {
	// Each hands over every mail that was not handled yet, the oldest first,
	// and marks those as handled for which fn gave nil. The others are handed
	// over at the next call. It gives the number handled.
	Each(ctx context.Context, fn func(ctx context.Context, raw []byte) error) (int, error)
}

// maxMail is the most that is read of one mail, in octets; a longer one is
// read as far as that.
const maxMail = 10 << 20

// Maildir is a maildir folder: mail is delivered into new, and stands in cur
// with the flag S once it was handled.
type Maildir struct{ path string }

// OpenMaildir uses a maildir; the folders new and cur must be there.
func OpenMaildir(path string) (*Maildir, error) {
	for _, sub := range []string{"new", "cur"} {
		if st, err := os.Stat(filepath.Join(path, sub)); err != nil || !st.IsDir() {
			return nil, fmt.Errorf("%s is not a maildir: it has no folder %s", path, sub)
		}
	}
	return &Maildir{path: path}, nil
}

var _ Source = (*Maildir)(nil)

// Each takes the mails of new in the order of their names, which begin with
// the time of delivery.
func (m *Maildir) Each(ctx context.Context, fn func(context.Context, []byte) error) (int, error) {
	entries, err := os.ReadDir(filepath.Join(m.path, "new"))
	if err != nil {
		return 0, fmt.Errorf("reading the maildir: %w", err)
	}
	var names []string
	for _, e := range entries {
		if !e.IsDir() && !strings.HasPrefix(e.Name(), ".") {
			names = append(names, e.Name())
		}
	}
	sort.Strings(names)
	done := 0
	var errs []error
	for _, name := range names {
		if ctx.Err() != nil {
			return done, errors.Join(append(errs, ctx.Err())...)
		}
		if err := m.one(ctx, name, fn); err != nil {
			errs = append(errs, fmt.Errorf("%s: %w", name, err))
			continue
		}
		done++
	}
	return done, errors.Join(errs...)
}

func (m *Maildir) one(ctx context.Context, name string, fn func(context.Context, []byte) error) error {
	from := filepath.Join(m.path, "new", name)
	raw, err := readSome(from)
	if errors.Is(err, os.ErrNotExist) {
		return nil // another reader has moved it
	}
	if err != nil {
		return err
	}
	if err := fn(ctx, raw); err != nil {
		return err
	}
	base, _, _ := strings.Cut(name, ":")
	err = os.Rename(from, filepath.Join(m.path, "cur", base+":2,S"))
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	return err
}

func readSome(path string) (raw []byte, err error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	return io.ReadAll(io.LimitReader(f, maxMail))
}
