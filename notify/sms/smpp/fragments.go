package smpp

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"example.org/roundsman/models/private"
)

// FragmentKey names an incoming text of several parts.
type FragmentKey struct {
	From, To string
	Ref      uint16
	Wide     bool
	Total    int
}

// Fragment is one part of an incoming text.
type Fragment struct {
	FragmentKey
	Seq    int // 1..Total
	Coding byte
	Data   []byte // as it came, without its header
	At     time.Time
}

// Fragments keeps the parts of incoming texts until they are whole. The
// center forgets a part once Keep has returned nil.
type Fragments interface {
	// Keep stores a part in place of an equal one.
	Keep(context.Context, Fragment) error
	// All gives every part that is kept.
	All(context.Context) ([]Fragment, error)
	// Forget drops the parts of a text.
	Forget(context.Context, FragmentKey) error
}

// maxFragments bounds what strangers can make us keep.
const maxFragments = 5000

// errFragmentsFull is given while too many parts wait for the rest.
var errFragmentsFull = errors.New("too many parts of unfinished texts are waiting")

// MemoryFragments keeps parts until the program ends.
type MemoryFragments struct {
	mu   sync.Mutex
	kept map[FragmentKey]map[int]Fragment
	n    int
}

// NewMemoryFragments makes an empty one.
func NewMemoryFragments() *MemoryFragments {
	return &MemoryFragments{kept: map[FragmentKey]map[int]Fragment{}}
}

// Keep stores a part.
func (m *MemoryFragments) Keep(_ context.Context, f Fragment) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	set := m.kept[f.FragmentKey]
	if _, known := set[f.Seq]; !known {
		if m.n >= maxFragments {
			return errFragmentsFull
		}
		m.n++
	}
	if set == nil {
		set = map[int]Fragment{}
		m.kept[f.FragmentKey] = set
	}
	set[f.Seq] = f
	return nil
}

// All gives every part.
func (m *MemoryFragments) All(context.Context) ([]Fragment, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	out := make([]Fragment, 0, m.n)
	for _, set := range m.kept {
		for _, f := range set {
			out = append(out, f)
		}
	}
	return out, nil
}

// Forget drops a text's parts.
func (m *MemoryFragments) Forget(_ context.Context, k FragmentKey) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.n -= len(m.kept[k])
	delete(m.kept, k)
	return nil
}

// DirFragments keeps each part in a file of its own in a directory, so that
// none is lost when the program is killed.
type DirFragments struct {
	dir string
	mu  sync.Mutex
}

// NewDirFragments uses a directory, which it makes where it is missing.
func NewDirFragments(dir string) (*DirFragments, error) {
	if err := private.Folder(dir); err != nil {
		return nil, fmt.Errorf("folder for parts of incoming texts: %w", err)
	}
	return &DirFragments{dir: dir}, nil
}

const fragmentSuffix = ".part.json"

func (k FragmentKey) file() string {
	sum := sha256.Sum256(fmt.Appendf(nil, "%q %q %d %t %d", k.From, k.To, k.Ref, k.Wide, k.Total))
	return hex.EncodeToString(sum[:12])
}

// Keep writes a part's file, which is on the disk when Keep returns.
func (d *DirFragments) Keep(_ context.Context, f Fragment) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	entries, err := os.ReadDir(d.dir)
	if err != nil {
		return err
	}
	if len(entries) >= maxFragments {
		return errFragmentsFull
	}
	b, err := json.Marshal(f)
	if err != nil {
		return err
	}
	return private.Replace(filepath.Join(d.dir, fmt.Sprintf("%s-%03d%s", f.file(), f.Seq, fragmentSuffix)), b, private.FileMode)
}

// All reads every part. A file that holds none is put aside under another
// name for a person to look at, so that it does not stand in the way of the
// others.
func (d *DirFragments) All(context.Context) ([]Fragment, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	entries, err := os.ReadDir(d.dir)
	if err != nil {
		return nil, err
	}
	var out []Fragment
	for _, e := range entries {
		if !strings.HasSuffix(e.Name(), fragmentSuffix) || strings.HasPrefix(e.Name(), ".") { // half written
			continue
		}
		path := filepath.Join(d.dir, e.Name())
		b, err := os.ReadFile(path)
		if err != nil {
			return nil, err
		}
		var f Fragment
		if err := json.Unmarshal(b, &f); err != nil || f.Seq < 1 || f.Seq > f.Total {
			if err := os.Rename(path, path+".unreadable"); err != nil {
				return nil, err
			}
			continue
		}
		out = append(out, f)
	}
	return out, nil
}

// Forget removes the files of a text's parts.
func (d *DirFragments) Forget(_ context.Context, k FragmentKey) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	entries, err := os.ReadDir(d.dir)
	if err != nil {
		return err
	}
	var errs []error
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), k.file()+"-") {
			errs = append(errs, os.Remove(filepath.Join(d.dir, e.Name())))
		}
	}
	return errors.Join(errs...)
}
