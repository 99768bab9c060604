package models_test

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/roundsman/models"
)

func TestError(t *testing.T) {
	e := models.Errorf(models.CodeNotFound, "look at `roundsman due`", "no machine %q", "17")
	assert.EqualError(t, e, "no machine \"17\"; look at `roundsman due`")
	withCause := &models.Error{Code: models.CodeUnavailable, Message: "cannot read the file", Err: io.ErrUnexpectedEOF}
	assert.EqualError(t, withCause, "cannot read the file: unexpected EOF")
	assert.ErrorIs(t, withCause, io.ErrUnexpectedEOF)
}

func TestCodeOf(t *testing.T) {
	e := models.Errorf(models.CodeUnclear, "", "two machines bear the tag 17")
	for _, tt := range []struct {
		err  error
		want models.Code
	}{
		{nil, ""},
		{e, models.CodeUnclear},
		{fmt.Errorf("sheet: %w", e), models.CodeUnclear},
		{errors.Join(io.EOF, e), models.CodeUnclear},
		{&models.Error{Code: models.CodeConflict, Message: "x", Err: e}, models.CodeConflict},
		{models.Faults{{File: "a.csv", Problem: "is empty"}}, models.CodeInvalid},
		{fmt.Errorf("import: %w", models.Faults{{File: "a.csv"}}), models.CodeInvalid},
		{io.EOF, models.CodeInternal},
	} {
		assert.Equal(t, tt.want, models.CodeOf(tt.err), "%v", tt.err)
	}
}

func TestFaultString(t *testing.T) {
	whole := models.Fault{File: "readings.csv", Line: 12, Column: 3, Field: "miles", Value: "-5", Problem: "is negative", Remedy: "write 0 or more"}
	for _, tt := range []struct {
		change func(*models.Fault)
		want   string
	}{
		{func(*models.Fault) {}, `readings.csv:12:3: miles "-5" is negative; write 0 or more`},
		{func(f *models.Fault) { f.Column = 0 }, `readings.csv:12: miles "-5" is negative; write 0 or more`},
		{func(f *models.Fault) { f.Line = 0 }, `readings.csv: miles "-5" is negative; write 0 or more`},
		{func(f *models.Fault) { f.Value = "" }, `readings.csv:12:3: miles is negative; write 0 or more`},
		{func(f *models.Fault) { f.Field = "" }, `readings.csv:12:3: is negative; write 0 or more`},
		{func(f *models.Fault) { f.Remedy = "" }, `readings.csv:12:3: miles "-5" is negative`},
		{func(f *models.Fault) { f.Value = "a\nb\x1b[31m" }, `readings.csv:12:3: miles "a\nb\x1b[31m" is negative; write 0 or more`},
		{func(f *models.Fault) { f.Value = strings.Repeat("é", 100) }, `readings.csv:12:3: miles "` + strings.Repeat("é", 59) + `…" is negative; write 0 or more`},
	} {
		f := whole
		tt.change(&f)
		assert.Equal(t, tt.want, f.String())
	}
}

func TestFaults(t *testing.T) {
	assert.NoError(t, models.Faults(nil).Err())
	assert.NoError(t, models.Faults{}.Err())
	fs := models.Faults{{File: "a", Problem: "is one"}, {File: "b", Problem: "is two"}}
	assert.EqualError(t, fs.Err(), "a: is one\nb: is two")
	var got models.Faults
	assert.ErrorAs(t, fmt.Errorf("x: %w", fs.Err()), &got)
	assert.Len(t, got, 2)
}

func TestShorten(t *testing.T) {
	for _, tt := range []struct {
		text string
		n    int
		want string
	}{
		{"", 1, ""}, {"a", 1, "a"}, {"ab", 1, "…"}, {"abc", 3, "abc"}, {"abcd", 3, "ab…"}, {"ñandú", 5, "ñandú"}, {"ñandúes", 5, "ñand…"},
	} {
		assert.Equal(t, tt.want, models.Shorten(tt.text, tt.n), tt.text)
	}
}
