package folder

import (
	"fmt"
	"slices"
	"strings"

	"example.org/roundsman/models"
)

// header says in which cell of a row each column stands.
type header struct {
	names []string // the columns that the file may have, as declared
	at    []int    // by column: the cell, or -1 where the column is missing
	bare  []int    // cells under no name
	width int      // cells of the header
}

// header reads the header row. It tells what is wrong with it; nil means that
// the rows cannot be read by it.
func (t *file[T]) header(in *pass, src *lines) *header {
	rec, ok := t.firstRow(in, src)
	if !ok {
		return nil
	}
	h := &header{names: t.names(), at: make([]int, len(t.columns)), width: len(rec.cells)}
	for i := range h.at {
		h.at[i] = -1
	}
	fault := func(cell int, what, remedy string) {
		f := models.Fault{File: t.name, Field: "column", Problem: what, Remedy: remedy}
		f.Line, f.Column = rec.position(cell)
		f.Value = models.Shorten(rec.cells[cell], maxFaultValue)
		in.fault(f)
	}
	usable := true
	for cell, name := range rec.cells {
		if name == "" {
			h.bare = append(h.bare, cell)
			continue
		}
		i := slices.Index(h.names, strings.ToLower(name))
		switch {
		case i < 0:
			fault(cell, "is not one of this file", t.suggest(name))
		case h.at[i] >= 0:
			fault(cell, "stands in the header twice", "take one of the two out")
			usable = false
		default:
			h.at[i] = cell
		}
	}
	for i, c := range t.columns {
		if h.at[i] < 0 && !c.optional {
			remedy := "add it; its cells may be empty where nothing is known"
			if c.needed {
				remedy = "add it and fill its cells"
			}
			in.fault(models.Fault{
				File: t.name, Line: rec.line, Field: "column", Value: c.name, Problem: "is missing", Remedy: remedy,
			})
			usable = false
		}
	}
	if !usable {
		return nil
	}
	return h
}

// firstRow gives the row that should be the header; false when there is none
// or it is nothing like one.
func (t *file[T]) firstRow(in *pass, src *lines) (record, bool) {
	remedy := "begin it with a header row: " + strings.Join(t.names(), ",")
	give := func(line int, what, remedy string) (record, bool) {
		in.fault(models.Fault{File: t.name, Line: line, Problem: what, Remedy: remedy})
		return record{}, false
	}
	rec, bad, more := src.record()
	for more && bad == nil && rec.blank() {
		rec, bad, more = src.record()
	}
	switch {
	case bad != nil:
		t.tell(in, []parseError{*bad})
		return record{}, false
	case !more && src.fatal: // told already
		return record{}, false
	case !more:
		return give(0, "is empty", remedy)
	case strings.Contains(rec.text, "\r"):
		return give(rec.line, "has line ends that are a carriage return alone", "save it again with the usual line ends")
	}
	for _, name := range rec.cells {
		if slices.Contains(t.names(), strings.ToLower(name)) {
			return rec, true
		}
	}
	for _, sep := range []struct{ char, name string }{{";", "semicolons"}, {"\t", "tabs"}} {
		if strings.Contains(rec.text, sep.char) {
			return give(rec.line, "has its cells separated by "+sep.name, "save it again with commas")
		}
	}
	return give(rec.line, "does not name a single column of this file", remedy)
}

// suggest says what to do about a column that the file does not have.
func (t *file[T]) suggest(name string) string {
	name = strings.ToLower(models.Shorten(name, maxID))
	best, least := "", 4 // at most three slips, fewer in a short name, and none in the first letter
	for _, known := range t.names() {
		if d := slips(name, known); name[0] == known[0] && d < least && 2*d <= len(known)+1 {
			best, least = known, d
		}
	}
	if best != "" {
		return "rename it to " + best + ", or take it out"
	}
	return "take it out"
}

// slips counts the characters to add, drop or change that make a into b
// (Levenshtein's distance).
func slips(a, b string) int {
	from, to := []rune(a), []rune(b)
	row := make([]int, len(to)+1)
	for j := range row {
		row[j] = j
	}
	for i, x := range from {
		diagonal := row[0]
		row[0] = i + 1
		for j, y := range to {
			change := diagonal
			if x != y {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j]+1, diagonal+1)
		}
	}
	return row[len(to)]
}

// fits says whether the row at hand has a cell for each column and none too
// many.
func (r *line) fits() bool {
	have, want := len(r.rec.cells), r.head.width
	if have < want {
		r.fault("", fmt.Sprintf("has %s where the header has %d", count(have, "cell"), want),
			"write a comma for each empty cell too")
		return false
	}
	for i := want; i < have; i++ {
		if r.rec.cells[i] != "" {
			r.fault("", fmt.Sprintf("has %s where the header has %d", count(have, "cell"), want),
				"put a cell that holds a comma in quotes")
			return false
		}
	}
	for _, i := range r.head.bare {
		if r.rec.cells[i] != "" {
			r.fault("", "has a cell under no column name", "name the column in the header or empty its cells")
			return false
		}
	}
	return true
}

// count gives a number with its noun.
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
