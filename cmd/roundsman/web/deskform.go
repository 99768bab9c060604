package web

import (
	"slices"

	"example.org/roundsman/models"
)

// deskForm is one form of sections.
type deskForm struct {
	Heading  string // "": that of the page
	Action   string
	Note     string // what the form does not change
	Hidden   string // the id of the contact that is corrected; "": none
	Next     string // the page to go back to; "": that of the form
	Sections []formSection
	Button   string
	Faulty   []string // what no field stands for
	Open     bool     // shown unfolded
	Asks     bool     // whether what was typed is right
	Brief    bool     // what is rarely filled in is folded away
}

// Shown and Folded part a section's fields by whether the form folds them away;
// Unfold says that what is folded away has something to see.
func (d deskForm) Shown(s formSection) []formField {
	return s.fields(func(f formField) bool { return !d.Brief || !f.Rare })
}
func (d deskForm) Folded(s formSection) []formField {
	return s.fields(func(f formField) bool { return d.Brief && f.Rare })
}
func (d deskForm) Unfold(folded []formField) bool {
	return slices.ContainsFunc(folded, func(f formField) bool { return f.Faulty != "" || f.filled() })
}

// formSection is a part of a form: its fields are named key.column.
type formSection struct {
	Title  string
	Fields []formField
}

func (s formSection) fields(keep func(formField) bool) (out []formField) {
	for _, f := range s.Fields {
		if keep(f) {
			out = append(out, f)
		}
	}
	return out
}

// filled says whether something was typed or picked that is not there by
// itself.
func (f formField) filled() bool {
	i := slices.IndexFunc(f.Choices, func(c choice) bool { return c.Picked })
	return f.Value != "" || i > 0
}

// rarely marks a field as one that is rarely filled in.
func rarely(f formField) formField { f.Rare = true; return f }

// formField is one field with what was typed into it.
type formField struct {
	Name, Label, Value string
	Kind               string // text, tel, email, date, time, select or ticks
	List               string // the id of a list of values to pick from; "": none
	Choices            []choice
	Hint               string
	Needed             bool
	Rare               bool // folded away where the form is brief
	Faulty, Remedy     string
}

// choice is one value of a field that has only some.
type choice struct {
	Value, Label string
	Picked       bool
}

// pick makes a field of a few values; a value that is none of them is kept. An
// empty first one says what no choice means.
func pick(name, label, value string, mayBeEmpty bool, values [][2]string) formField {
	field := formField{Name: name, Label: label, Kind: "select"}
	if (mayBeEmpty || value == "") && values[0][0] != "" {
		field.Choices = append(field.Choices, choice{Label: "–", Picked: value == ""})
	}
	found := value == ""
	for _, v := range values {
		field.Choices = append(field.Choices, choice{v[0], v[1], v[0] == value})
		found = found || v[0] == value
	}
	if !found {
		field.Choices = append(field.Choices, choice{value, value, true})
	}
	return field
}

// mark puts the faults beside their fields, and what has none on top.
func (d *deskForm) mark(f frame, faults models.Faults) {
	for _, fault := range faults {
		found := false
		problem, remedy := fault.In(f.Lang)
		for i := range d.Sections {
			for j := range d.Sections[i].Fields {
				if field := &d.Sections[i].Fields[j]; field.Name == fault.File+"."+fault.Field {
					field.Faulty, field.Remedy, found = problem, onPage(remedy), true
				}
			}
		}
		if !found {
			d.Faulty = append(d.Faulty, fault.Field+" "+problem)
		}
	}
}
