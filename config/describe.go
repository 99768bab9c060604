package config

import (
	"encoding"
	"fmt"
	"reflect"
	"strings"

	"example.org/roundsman/models"
)

// Described is one setting in force.
type Described struct {
	Key    string `json:"key"`
	Value  string `json:"value"` // as one would write it without quotes; "(hidden)" for a secret
	Source string `json:"source"`
	Env    string `json:"env"` // the environment variable that would set it
}

// Describe lists every setting in force in the order of the settings file,
// with where it comes from. Secrets are hidden.
func (l *Loaded) Describe() []Described {
	var list []Described
	v := reflect.ValueOf(&l.Settings).Elem()
	for _, f := range settingsSchema.fields {
		if settingsSchema.isTwin(f) {
			continue
		}
		list = append(list, Described{Key: f.path, Value: show(v.FieldByIndex(f.index)),
			Source: l.Source(f.path).String(), Env: f.env()})
	}
	return list
}

// Source says where a setting comes from, by its key such as "mail.host".
func (l *Loaded) Source(key string) Source { return l.sources[key] }

// Fault makes a fault of a key such as "mail.host", at the place from which the setting comes.
func (l *Loaded) Fault(key, val, problem, remedy string) models.Fault {
	f := models.Fault{File: l.File, Field: key, Value: val, Problem: problem, Remedy: remedy}
	switch src := l.sources[key]; {
	case src.Env != "":
		f.File, f.Field = envFile, src.Env
	case src.File != "":
		p := l.doc.spots[key].key
		f.Line, f.Column = p.line, p.column
	case f.File == "":
		f.File = "settings"
	default: // not set: what asks for it stands in the same table
		table, p := key, place{}
		for dot := strings.LastIndexByte(table, '.'); p == (place{}) && dot > 0; dot = strings.LastIndexByte(table, '.') {
			table = table[:dot]
			p = l.doc.tables[table]
		}
		f.Line, f.Column = p.line, p.column
	}
	return f
}

// show gives a value as text.
func show(v reflect.Value) string {
	if v.Kind() == reflect.Slice {
		parts := make([]string, v.Len())
		for i := range parts {
			parts[i] = show(v.Index(i))
		}
		return strings.Join(parts, ", ")
	}
	if m, ok := v.Interface().(encoding.TextMarshaler); ok {
		if text, err := m.MarshalText(); err == nil {
			return string(text)
		}
	}
	return fmt.Sprint(v.Interface())
}
