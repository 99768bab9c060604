package visit

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"sort"
	"strings"

	"example.org/roundsman/models"
)

// Decode reads a problem in the exchange format and checks it whole. Its
// error is models.Faults with every fault found, each with the field, what
// stands there and what to write instead; name is the file's name for them.
// Labels of its own that a writer adds at the top (texts and numbers) are
// left alone; unknown keys that hold data, or stand inside the data, are
// refused, since a misspelled "latest" would silently change the plan.
func Decode(b []byte, name string) (Problem, error) {
	var top map[string]json.RawMessage
	if err := json.Unmarshal(b, &top); err != nil {
		return Problem{}, models.Faults{jsonFault(b, name, err)}
	}
	if faults := unknownTop(top, name); len(faults) > 0 {
		return Problem{}, faults
	}
	known := make(map[string]json.RawMessage, len(top))
	for k, v := range top {
		if topKeys[k] {
			known[k] = v
		}
	}
	var p Problem
	if err := decodeFields(known, &p); err != nil {
		// Decode once more as it stands: its error knows the place in the file.
		if again := json.Unmarshal(b, &Problem{}); again != nil {
			return Problem{}, models.Faults{jsonFault(b, name, again)}
		}
		return Problem{}, models.Faults{jsonFault(nil, name, err)}
	}
	if err := p.Validate(name); err != nil {
		return Problem{}, err
	}
	return p, nil
}

// topKeys are the keys of the format.
var topKeys = map[string]bool{
	"format": true, "name": true, "start": true, "days": true, "open_min": true, "closed": true, "tech_min": true,
	"tech_off": true, "bays": true, "sites": true, "classes": true, "machines": true, "items": true, "limits": true,
	"blackouts": true, "locked": true,
}

// unknownTop lists keys at the top that hold data nobody would read.
func unknownTop(top map[string]json.RawMessage, name string) models.Faults {
	var faults models.Faults
	for k, v := range top {
		v = bytes.TrimSpace(v)
		if topKeys[k] || len(v) == 0 || (v[0] != '[' && v[0] != '{') {
			continue
		}
		faults = append(faults, models.Fault{File: name, Field: k, Problem: "is not a key of " + Format,
			Remedy: "correct its spelling or take it out"})
	}
	sort.Slice(faults, func(i, j int) bool { return faults[i].Field < faults[j].Field })
	return faults
}

// decodeFields reads the known keys into p, refusing unknown keys inside.
func decodeFields(known map[string]json.RawMessage, p *Problem) error {
	b, err := json.Marshal(known)
	if err != nil {
		return fmt.Errorf("gathering the keys: %w", err)
	}
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	if err := d.Decode(p); err != nil {
		return fmt.Errorf("reading the fields: %w", err)
	}
	return nil
}

// jsonFault makes the fault of an error of encoding/json; b is nil where the
// error's offset does not point into the file.
func jsonFault(b []byte, name string, err error) models.Fault {
	f := models.Fault{File: name, Problem: "is not JSON that can be read: " + err.Error(),
		Remedy: "write one JSON document in the form " + Format}
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	switch {
	case errors.As(err, &syntax):
		f.Line, f.Column = place(b, syntax.Offset)
	case errors.As(err, &kind):
		f.Line, f.Column = place(b, kind.Offset)
		f.Field, f.Value = kind.Field, kind.Value
		f.Problem = "is not a " + kindName(kind)
		f.Remedy = "write a " + kindName(kind)
	default:
		if _, key, ok := strings.Cut(err.Error(), "unknown field "); ok {
			f.Field, f.Problem = strings.Trim(key, `"`), "is not a key that belongs there"
			f.Remedy = "correct its spelling or take it out"
		}
	}
	return f
}

// kindName says in words what type a field wants.
func kindName(e *json.UnmarshalTypeError) string {
	switch k := e.Type.Kind().String(); {
	case strings.HasPrefix(k, "int"):
		return "whole number"
	case k == "slice" || k == "array":
		return "list"
	case k == "string":
		return "text in quotes"
	default:
		return "table {...}"
	}
}

// place gives the line and column (from 1) of an offset into b.
func place(b []byte, offset int64) (line, column int) {
	if b == nil || offset < 0 {
		return 0, 0
	}
	head := b[:min(int(offset), len(b))]
	nl := bytes.LastIndexByte(head, '\n')
	return bytes.Count(head, []byte{'\n'}) + 1, max(1, len(head)-nl-1)
}
