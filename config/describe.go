package config

import (
	"encoding"
	"fmt"
	"reflect"
	"strings"
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
