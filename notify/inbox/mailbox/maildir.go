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
	// Each hands over every mail that was not handed over yet, the oldest
	// first, whether somebody has opened it or not. Those for which fn gave
	// nil or errNotOurs are not handed over again. It gives the number of
	// those for which it gave nil.
	Each(ctx context.Context, fn func(ctx context.Context, raw []byte) error) (int, error)
}

// maxMail is the most that is read of one mail, in octets; a longer one is
// read as far as that.
const maxMail = 10 << 20

// Maildir is a maildir folder. It is only read: which mails were handed over
// stands in the record.
type Maildir struct {
	path   string
	record Record
}

// OpenMaildir uses a maildir; the folders new and cur must be there.
func OpenMaildir(path string, r Record) (*Maildir, error) {
	for _, sub := range []string{"new", "cur"} {
		if st, err := os.Stat(filepath.Join(path, sub)); err != nil || !st.IsDir() {
			return nil, fmt.Errorf("%s is not a maildir: it has no folder %s", path, sub)
		}
	}
	return &Maildir{path: path, record: r}, nil
}

var _ Source = (*Maildir)(nil)

// entry is a mail of a maildir.
type entry struct {
	name string // without its flags, which change
	path string
	seen bool // somebody has marked it as read
}

// Each takes the mails of new and cur in the order of their names, which begin
// with the time of delivery. What had been read before the first look is left
// alone.
func (m *Maildir) Each(ctx context.Context, fn func(context.Context, []byte) error) (int, error) {
	b, known, err := m.record.read("maildir " + m.path)
	if err != nil {
		return 0, err
	}
	all, err := m.entries()
	if err != nil {
		return 0, err
	}
	seen := make(map[string]bool, len(b.Seen))
	for _, name := range b.Seen {
		seen[name] = true
	}
	b.Seen = nil
	done := 0
	var errs []error
	for _, e := range all {
		switch {
		case seen[e.name] || !known && e.seen:
		case ctx.Err() != nil:
			continue
		default:
			err := m.one(ctx, e, fn)
			if err != nil && !errors.Is(err, errNotOurs) {
				errs = append(errs, fmt.Errorf("%s: %w", e.name, err))
				continue
			}
			if err == nil {
				done++
			}
		}
		b.Seen = append(b.Seen, e.name)
	}
	return done, errors.Join(append(errs, ctx.Err(), m.record.write(b))...)
}

// entries lists the mails that are there.
func (m *Maildir) entries() ([]entry, error) {
	var out []entry
	for _, sub := range []string{"new", "cur"} {
		list, err := os.ReadDir(filepath.Join(m.path, sub))
		if err != nil {
			return nil, fmt.Errorf("reading the maildir: %w", err)
		}
		for _, e := range list {
			if e.IsDir() || strings.HasPrefix(e.Name(), ".") {
				continue
			}
			name, flags, _ := strings.Cut(e.Name(), ":2,")
			out = append(out, entry{name: name, path: filepath.Join(m.path, sub, e.Name()), seen: strings.Contains(flags, "S")})
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i].name < out[j].name })
	return out, nil
}

func (m *Maildir) one(ctx context.Context, e entry, fn func(context.Context, []byte) error) error {
	raw, err := readSome(e.path)
	if err != nil {
		return err // opened by somebody meanwhile, perhaps: at the next look it has a new name
	}
	return fn(ctx, raw)
}

func readSome(path string) (raw []byte, err error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	return io.ReadAll(io.LimitReader(f, maxMail))
}
