package folder

import (
	"strings"

	"example.org/roundsman/models"
)

// RowChange is what changed in a row of a file.
type RowChange struct {
	File   string        `json:"file"`
	Row    string        `json:"row"` // the cells by which it is known
	Fields []FieldChange `json:"fields"`
}

// FieldChange is a cell as it was and as it is.
type FieldChange struct {
	Field string `json:"field"`
	Was   string `json:"was"`
	Is    string `json:"is"`
}

// Changes says of facts that were corrected which cells of their files changed;
// one in which none did is left out.
func Changes(cs []models.Change) []RowChange {
	out := []RowChange{}
	for _, c := range cs {
		for _, t := range tables() {
			if row, is := t.changed(c); is {
				out = append(out, row)
			}
		}
	}
	return out
}

func (t *file[T]) changed(c models.Change) (RowChange, bool) {
	was, ok := c.Was.(T)
	is, also := c.Is.(T)
	if !ok || !also || t.same == nil {
		return RowChange{}, false
	}
	out, key := RowChange{File: t.name}, t.same(is)
	var names []string
	for _, col := range t.columns {
		if name := col.format(&key); name != "" {
			names = append(names, name)
		}
		if a, b := col.format(&was), col.format(&is); a != b {
			out.Fields = append(out.Fields, FieldChange{col.name, a, b})
		}
	}
	out.Row = strings.Join(names, " ")
	return out, len(out.Fields) > 0
}
