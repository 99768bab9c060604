package mailbox

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"

	"example.org/roundsman/models/private"
)

// errNotOurs is given by a handler for a mail that is none of the program's:
// it is left as it is and not handed over again.
var errNotOurs = errors.New("not a mail for this program")

// Record keeps, in a file of the program's own, which mails of a mailbox were
// handed over, so that people can share the mailbox: whether a mail is marked
// as read says nothing to the program, and it marks none.
type Record struct{ Path string }

// book is what the file holds.
type book struct {
	Box  string   `json:"box"`            // the mailbox, as its source names it
	From uint32   `json:"from,omitempty"` // IMAP: mails from this UID on are handed over
	Open []uint32 `json:"open,omitempty"` // and these before it
	Done []uint32 `json:"done,omitempty"` // but not these
	Seen []string `json:"seen,omitempty"` // maildir: the names of those that were handed over
}

// read gives what is recorded of a mailbox; known is false for one of which
// nothing is.
func (r Record) read(box string) (b book, known bool, err error) {
	data, err := os.ReadFile(r.Path)
	if errors.Is(err, fs.ErrNotExist) {
		return book{Box: box}, false, nil
	}
	if err == nil {
		err = json.Unmarshal(data, &b)
	}
	if err != nil {
		return book{}, false, fmt.Errorf("reading which mails were handled: %w", err)
	}
	if b.Box != box {
		return book{Box: box}, false, nil
	}
	return b, true, nil
}

// write keeps a book, whole or not at all.
func (r Record) write(b book) error {
	data, err := json.Marshal(b)
	if err != nil {
		return err
	}
	if err := private.Replace(r.Path, data, private.FileMode); err != nil {
		return fmt.Errorf("recording which mails were handled: %w", err)
	}
	return nil
}

// handled notes a mail of an IMAP mailbox.
func (b *book) handled(uid uint32) {
	if i := slices.Index(b.Open, uid); i >= 0 {
		b.Open = slices.Delete(b.Open, i, i+1)
		return
	}
	b.Done = append(b.Done, uid)
}

// wants says whether a mail is still to be handed over.
func (b *book) wants(uid uint32) bool {
	return slices.Contains(b.Open, uid) || uid >= b.From && !slices.Contains(b.Done, uid)
}

// close moves the beginning up to the first of the mails that are there and
// not handled, so that the list of the others stays short.
func (b *book) close(there []uint32, next uint32) {
	first := next
	for _, uid := range there {
		if uid >= b.From && !slices.Contains(b.Done, uid) {
			first = min(first, uid)
		}
	}
	b.From = max(b.From, first)
	b.Done = slices.DeleteFunc(b.Done, func(uid uint32) bool { return uid < b.From })
}
