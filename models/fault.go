package models

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// Code sorts errors for the faces of the program: exit codes, HTTP statuses.
type Code string

// The codes. An error without one is CodeInternal.
const (
	CodeInvalid     Code = "invalid"     // the call or its input is wrong; nothing changed
	CodeNotFound    Code = "not_found"   // no such owner, machine, item or message
	CodeUnclear     Code = "unclear"     // more than one thing answers to that name
	CodeConflict    Code = "conflict"    // the stored facts forbid it
	CodeDoubtful    Code = "doubtful"    // it may be right; somebody must say so
	CodeUnavailable Code = "unavailable" // a file, database or server does not answer; try again
	CodeInternal    Code = "internal"    // a fault of the program
)

// Error is an error that a person can act on.
type Error struct {
	Code    Code
	Message string // what is wrong, one line, no trailing stop
	Remedy  string // what to do about it, one line; may be empty
	Err     error  // the cause, kept for the log; may be nil

	format string // of the message, by which In finds its words
	args   []any
}

// Error gives message, cause and remedy on one line.
func (e *Error) Error() string {
	s := e.Message
	if e.Err != nil {
		s += ": " + e.Err.Error()
	}
	if e.Remedy != "" {
		s += "; " + e.Remedy
	}
	return s
}

// Unwrap gives the cause.
func (e *Error) Unwrap() error { return e.Err }

// Errorf makes an Error with a code and remedy; the message takes a format,
// whose Spanish stands in refusalsInSpanish.
func Errorf(code Code, remedy, format string, args ...any) *Error {
	return &Error{Code: code, Message: fmt.Sprintf(format, spoken(args, "en")...), Remedy: remedy, format: format, args: args}
}

// CodeOf finds the code of an error: that of the first Error in its chain,
// CodeInvalid for Faults (CodeDoubtful where all of them ask), else CodeInternal; "" for nil.
func CodeOf(err error) Code {
	if err == nil {
		return ""
	}
	var e *Error
	if errors.As(err, &e) {
		return e.Code
	}
	var f Faults
	if errors.As(err, &f) {
		if !slices.ContainsFunc(f, func(f Fault) bool { return !f.Asks }) {
			return CodeDoubtful
		}
		return CodeInvalid
	}
	return CodeInternal
}

// Fault is one thing wrong in a file: where it stands, what is there, why it
// cannot be taken and what to write instead.
type Fault struct {
	File    string `json:"file"`
	Line    int    `json:"line,omitempty"`   // 1 is the first; 0 is the whole file
	Column  int    `json:"column,omitempty"` // 1 is the first character; 0 is not known
	Field   string `json:"field,omitempty"`  // the column's or key's name
	Value   string `json:"value,omitempty"`  // what stands there
	Problem string `json:"problem"`
	Remedy  string `json:"remedy,omitempty"`
	Asks    bool   `json:"asks,omitempty"` // it may be right: somebody must say so
}

// maxFaultValue bounds how much of a bad value a fault's text repeats, in
// characters.
const maxFaultValue = 60

// String gives the fault on one line: file:line:column: field "value":
// problem; remedy.
func (f Fault) String() string {
	var b strings.Builder
	b.WriteString(f.File)
	if f.Line > 0 {
		fmt.Fprintf(&b, ":%d", f.Line)
		if f.Column > 0 {
			fmt.Fprintf(&b, ":%d", f.Column)
		}
	}
	b.WriteString(": ")
	if f.Field != "" {
		b.WriteString(f.Field)
		if f.Value != "" {
			fmt.Fprintf(&b, " %q", Shorten(f.Value, maxFaultValue))
		}
		b.WriteByte(' ')
	}
	b.WriteString(f.Problem)
	if f.Remedy != "" {
		b.WriteString("; ")
		b.WriteString(f.Remedy)
	}
	return b.String()
}

// Faults are all the faults of an input, in the order of files and lines. As
// an error it has one line for each.
type Faults []Fault

// Error gives one line for each fault.
func (fs Faults) Error() string {
	lines := make([]string, len(fs))
	for i, f := range fs {
		lines[i] = f.String()
	}
	return strings.Join(lines, "\n")
}

// Err gives the faults as an error, or nil when there are none.
func (fs Faults) Err() error {
	if len(fs) == 0 {
		return nil
	}
	return fs
}

// Shorten cuts a text to at most n characters (n >= 1), the last of them an
// ellipsis when something was cut.
func Shorten(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	return string(r[:n-1]) + "…"
}
