package folder

import (
	"bytes"
	"context"
	"encoding/csv"
	"slices"
	"strings"

	"example.org/roundsman/models"
)

// Cells is one row of a file by the names of its columns, as somebody types it
// into a form or a command. A column that is missing is not known.
type Cells map[string]string

// ReadRows reads rows that come from a desk and not from files, by the columns
// and checks of the files: rows holds them by file name. What a file that is
// not in rows may hold counts as known; who needs to know asks for it.
func ReadRows(ctx context.Context, rows map[string][]Cells, opt Options) (models.FactSet, Report) {
	in := newPass(ctx, opt)
	in.hasOwners = true
	for _, t := range tables() {
		if len(rows[t.fileName()]) == 0 {
			in.broken[t.fileName()] = true
		}
	}
	for _, t := range tables() {
		typed := rows[t.fileName()]
		if len(typed) == 0 {
			continue
		}
		text := rowsText(t.names(), typed)
		in.buffer.Reset(bytes.NewReader(text))
		t.read(in, newLines(in.buffer), int64(len(text)))
	}
	warnOfKinds(in, false)
	in.refuseTwins()
	in.askShared()
	return in.set, in.finish()
}

// rowsText writes rows as the text of a file. Columns that the file does not
// have come last, to be refused by name.
func rowsText(columns []string, rows []Cells) []byte {
	for _, cells := range rows {
		for name := range cells {
			if !slices.Contains(columns, name) {
				columns = append(columns, name)
			}
		}
	}
	var b bytes.Buffer
	w := csv.NewWriter(&b) // into memory: it cannot fail
	_ = w.Write(columns)
	for _, cells := range rows {
		row := make([]string, len(columns))
		for i, name := range columns {
			row[i] = strings.ReplaceAll(cells[name], "\x00", " ")
		}
		_ = w.Write(row)
	}
	w.Flush()
	return b.Bytes()
}

// OwnerCells, ContactCells and MachineCells write what is known as the rows of
// their files.
func OwnerCells(v models.Owner) Cells     { return ownersFile().cells(v) }
func ContactCells(v models.Contact) Cells { return contactsFile().cells(v) }
func MachineCells(v models.Machine) Cells { return machinesFile().cells(v) }

func (t *file[T]) cells(v T) Cells {
	out := make(Cells, len(t.columns))
	for _, c := range t.columns {
		out[c.name] = c.format(&v)
	}
	return out
}
