package folder

import (
	"cmp"
	"encoding/csv"
	"fmt"
	"hash/maphash"
	"io"
	"slices"
	"strings"

	"example.org/roundsman/models"
)

// table is one file of the folder, whatever its rows are.
type table interface {
	fileName() string
	names() []string                                    // of its columns
	absent(in *pass)                                    // the file is not there
	read(in *pass, src *lines, size int64)              // reads it all
	write(w io.Writer, f *models.FactSet) (bool, error) // writes it; false: it should not be there
	changed(c models.Change) (RowChange, bool)          // false: it is no row of this file
}

// file declares one file of the folder whose rows are values of type T.
type file[T comparable] struct {
	name    string
	columns []column[T]
	rows    func(*models.FactSet) *[]T

	// same gives what makes a row the thing it is, the rest left empty. Equal
	// rows are one; rows that are the same thing and not equal are refused.
	// nil: all of the row.
	same  func(T) T
	clash duplicate
	// merge joins two rows that are the same thing into one, where that can
	// be done. nil: it cannot.
	merge func(a, b T) (T, bool)
	// check looks at what one cell alone cannot show, and may complete the
	// row. It runs for faulty rows too, so that all their faults are told.
	check func(in *pass, r *line, row *T)
	// stored gives what is on record of the thing that a row names; columns
	// that the file does not have keep what stands there. nil: nothing is.
	stored func(s Stored, row T) (T, bool)
	// after runs when the file has been read; given says whether it is there.
	after func(in *pass, given bool)
	// ordered is how many columns rows are sorted by, of equal ones the first
	// said first; 0: by all, for their order means nothing.
	ordered int
	// leave: a file without rows is not written.
	leave bool
	// required: a folder without the file is no folder.
	required bool
}

// maxFaultValue bounds how much of a cell a fault keeps, in characters.
const maxFaultValue = 200

// line is the row at hand, for what its check has to say about it.
type line struct {
	in    *pass
	file  string
	head  *header
	rec   record
	bad   []bool // by column: its cell has a fault
	wrong bool   // the row has a fault
}

// fault refuses the row for a field; "" is the row as a whole.
func (r *line) fault(field, what, remedy string) {
	r.wrong = true
	if i := slices.Index(r.head.names, field); i >= 0 {
		r.bad[i] = true
	}
	r.in.fault(r.describe(field, what, remedy))
}

// slip warns of a word that is probably misspelt.
func (r *line) slip(field, what, remedy string) {
	if r.warn(field, what, remedy) {
		r.in.report.Slips++
	}
}

// warn says that a field is probably not what is meant; false for a row that
// was taken back, of which nobody has to hear again.
func (r *line) warn(field, what, remedy string) bool {
	if r.cell("withdrawn") != "" {
		return false
	}
	r.in.warn(r.describe(field, what, remedy))
	return true
}

// ask warns of what may be right and is better asked about, where somebody is
// there to be asked.
func (r *line) ask(field, what, remedy string) {
	if r.cell("withdrawn") == "" {
		f := r.describe(field, what, remedy)
		f.Asks = true
		r.in.warn(f)
	}
}

// describe makes a fault of the row at hand.
func (r *line) describe(field, what, remedy string) models.Fault {
	f := models.Fault{File: r.file, Line: r.rec.line, Field: field, Problem: what, Remedy: remedy}
	if i := slices.Index(r.head.names, field); i >= 0 && r.head.at[i] >= 0 {
		f.Line, f.Column = r.rec.position(r.head.at[i])
		f.Value = strings.Clone(models.Shorten(r.rec.cells[r.head.at[i]], maxFaultValue))
	}
	return f
}

// cell gives the text of a field; "" where the file has no such column.
func (r *line) cell(field string) string {
	if i := slices.Index(r.head.names, field); i >= 0 && r.head.at[i] >= 0 && r.head.at[i] < len(r.rec.cells) {
		return r.rec.cells[r.head.at[i]]
	}
	return ""
}

// clean says whether the cells of some fields have no fault.
func (r *line) clean(fields ...string) bool {
	if !r.wrong {
		return true
	}
	for _, f := range fields {
		if i := slices.Index(r.head.names, f); i >= 0 && r.bad[i] {
			return false
		}
	}
	return true
}

func (t *file[T]) fileName() string { return t.name }

func (t *file[T]) absent(in *pass) {
	if t.required {
		in.broken[t.name] = true
		in.fault(models.Fault{
			File: t.name, Problem: "is missing", Remedy: "add it: it is the one file that a folder must have",
		})
	}
	if t.after != nil {
		t.after(in, false)
	}
}

// read takes the good rows of the file and tells the faults of the others.
func (t *file[T]) read(in *pass, src *lines, size int64) {
	begin := len(in.report.Faults)
	in.file = t.name
	if !t.readRows(in, src, size) || src.fatal {
		in.broken[t.name] = true
	}
	t.tell(in, src.fetch())
	sortFaults(in.report.Faults[begin:])
	if t.after != nil {
		t.after(in, true)
	}
	in.progress(t.name, size, size)
}

// readRows is false when rows could not be looked at.
func (t *file[T]) readRows(in *pass, src *lines, size int64) bool {
	head := t.header(in, src)
	if head == nil {
		return false
	}
	r := line{in: in, file: t.name, head: head, bad: make([]bool, len(t.columns))}
	known := &index[T]{same: t.same, seed: maphash.MakeSeed(), at: map[uint64]int{}}
	whole := true
	for n := 1; ; n++ {
		rec, bad, more := src.record()
		if !more {
			return whole
		}
		if n%1024 == 0 {
			in.progress(t.name, src.taken, size)
			if in.ctx.Err() != nil {
				return false
			}
		}
		if bad != nil {
			whole = false
			t.tell(in, []parseError{*bad})
			continue
		}
		if rec.blank() {
			continue
		}
		r.rec, r.wrong = rec, false
		clear(r.bad)
		if row, ok := t.parse(&r); ok {
			t.keep(&r, row, known)
		}
	}
}

// parse makes a value of the row at hand; false when it has a fault.
func (t *file[T]) parse(r *line) (row T, ok bool) {
	if !r.fits() {
		r.in.broken[t.name] = true // nobody knows which cell is which
		return row, false
	}
	for i := range t.columns {
		c, at := &t.columns[i], r.head.at[i]
		if at < 0 {
			continue
		}
		cell := r.rec.cells[at]
		if cell == "" {
			if c.needed {
				r.fault(c.name, "is empty", c.hint)
			}
			continue
		}
		switch bad := c.parse(r.in, &row, cell); {
		case bad == nil:
		case bad.taken:
			r.warn(c.name, bad.what, bad.remedy)
		default:
			r.fault(c.name, bad.what, bad.remedy)
		}
	}
	if t.stored != nil {
		t.fill(r, &row)
	}
	if t.check != nil {
		t.check(r.in, r, &row)
	}
	return row, !r.wrong
}

// fill takes for the columns that the file does not have what is on record.
func (t *file[T]) fill(r *line, row *T) {
	old, known := t.stored(r.in.opt.Stored, *row)
	if !known {
		return
	}
	for i := range t.columns {
		if r.head.at[i] < 0 {
			t.columns[i].copy(row, &old)
		}
	}
}

// duplicate is what to say of a row that is the same thing as an earlier one and
// not equal to it.
type duplicate struct {
	field  string
	what   string // with a %d for the line of the earlier one
	remedy string
}

// index finds among the rows taken so far the one that is the same thing. It
// keeps a hash of each and no copy, for a file may have millions.
type index[T comparable] struct {
	same func(T) T
	seed maphash.Seed
	at   map[uint64]int // by hash; where two share one, the later is under the next that is free
}

// find gives the place of the row that is the same thing; false: there was
// none, and the place is that of the next row.
func (x *index[T]) find(rows []T, row T) (int, bool) {
	key := x.key(row)
	for h := maphash.Comparable(x.seed, key); ; h++ {
		i, taken := x.at[h]
		if !taken {
			x.at[h] = len(rows)
			return len(rows), false
		}
		if x.key(rows[i]) == key {
			return i, true
		}
	}
}

func (x *index[T]) key(row T) T {
	if x.same == nil {
		return row
	}
	return x.same(row)
}

// keep takes a good row, unless it says again what another has said.
func (t *file[T]) keep(r *line, row T, known *index[T]) {
	rows, lines := t.rows(&r.in.set), r.in.report.Lines
	i, again := known.find(*rows, row)
	if !again {
		*rows = append(*rows, row)
		lines[t.name] = append(lines[t.name], r.rec.line)
		r.in.report.Counts[t.name]++
		return
	}
	if first := (*rows)[i]; first != row {
		both, ok := row, false
		if t.merge != nil {
			both, ok = t.merge(first, row)
		}
		if !ok {
			r.fault(t.clash.field, fmt.Sprintf(t.clash.what, lines[t.name][i]), t.clash.remedy)
			return
		}
		(*rows)[i] = both
	}
	r.in.report.Repeats[t.name]++
}

// tell notes mishaps as faults of the file.
func (t *file[T]) tell(in *pass, ms []parseError) {
	for _, m := range ms {
		in.fault(models.Fault{File: t.name, Line: m.line, Column: m.column, Problem: m.what, Remedy: m.remedy})
	}
}

func (in *pass) progress(name string, done, total int64) {
	if in.opt.Progress != nil {
		in.opt.Progress(name, min(done, total), total)
	}
}

// write writes the file in its canonical form.
func (t *file[T]) write(w io.Writer, f *models.FactSet) (bool, error) {
	if t.leave && len(*t.rows(f)) == 0 {
		return false, nil
	}
	rows, width := *t.rows(f), len(t.columns)
	flat := make([]string, len(rows)*width)
	cells := make([][]string, len(rows))
	for i := range rows {
		cells[i], flat = flat[:width:width], flat[width:]
		for j := range t.columns {
			cells[i][j] = t.columns[j].format(&rows[i])
		}
	}
	by := cmp.Or(t.ordered, width)
	slices.SortStableFunc(cells, func(a, b []string) int { return slices.Compare(a[:by], b[:by]) })
	cells = slices.CompactFunc(cells, slices.Equal)
	out := csv.NewWriter(w)
	if err := out.Write(t.names()); err != nil {
		return false, fmt.Errorf("writing %s: %w", t.name, err)
	}
	if err := out.WriteAll(cells); err != nil {
		return false, fmt.Errorf("writing %s: %w", t.name, err)
	}
	return true, nil
}

// names gives the names of the columns, in their canonical order.
func (t *file[T]) names() []string {
	names := make([]string, len(t.columns))
	for i, c := range t.columns {
		names[i] = c.name
	}
	return names
}
