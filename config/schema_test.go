package config

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The tags of every field can be read: bounds are numbers or durations, named
// checks exist, and every default passes its own checks.
func TestTags(t *testing.T) {
	defaults := Defaults()
	for name, s := range map[string]*schema{"settings": settingsSchema, "rule": ruleSchema, "teardown": teardownSchema} {
		for _, f := range s.fields {
			if check := f.tag.Get("check"); check != "" {
				assert.NotNil(t, checks[check], "%s %s: check %q", name, f.path, check)
			}
			for _, tag := range []string{"min", "max"} {
				bound := f.tag.Get(tag)
				if bound == "" {
					continue
				}
				if f.typ == durationType {
					_, err := ParseDuration(bound)
					assert.NoError(t, err, f.path)
				} else {
					assert.Regexp(t, `^[0-9.]+$`, bound, f.path)
				}
			}
			assert.NotContains(t, f.tag.Get("oneof"), " ", f.path)
		}
	}
	v := reflect.ValueOf(&defaults).Elem()
	for _, f := range settingsSchema.fields {
		if f.typ == secretType {
			continue
		}
		for _, value := range f.values(v.FieldByIndex(f.index)) {
			dst := reflect.New(value.Type()).Elem()
			problem, _ := f.parse(dst, show(value))
			assert.Empty(t, problem, "the default of %s", f.path)
			assert.Equal(t, value.Interface(), dst.Interface(), f.path)
		}
	}
}

// Columns count characters, not bytes, and every line that can be read is
// read after one that cannot.
func TestPlaces(t *testing.T) {
	d := decode(settingsSchema, "f.toml", []byte("é = \"ñ\" x\n\"ü ü\" = 1 y\n[a]\nb = c\n[d\ne = 1\n[f]\ng = [1,\nh = \"\n"),
		func() any { return &Settings{} })
	slices.SortStableFunc(d.faults, byPlace)
	var got []string
	for _, f := range d.faults {
		got = append(got, f.String())
	}
	require.Len(t, got, 8, strings.Join(got, "\n"))
	for i, prefix := range []string{"f.toml:1:1: ", "f.toml:2:11: ", "f.toml:3:2: a ", "f.toml:4:5: a.b ", "f.toml:5:3: ", "f.toml:7:2: f ", "f.toml:8:5: f.g ", "f.toml:9:6: f.h "} {
		assert.True(t, strings.HasPrefix(got[i], prefix), "%s is not at %s", got[i], prefix)
	}
}
