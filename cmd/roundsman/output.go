package main

import (
	"encoding/json"
	"fmt"
	"io"
	"os"

	"golang.org/x/term"
)

// printJSON writes one JSON document.
func printJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return fmt.Errorf("writing JSON: %w", err)
	}
	return nil
}

// terminalWidth gives the width of the terminal behind a writer in columns;
// ok is false when it is a file or a pipe.
func terminalWidth(w io.Writer) (columns int, ok bool) {
	f, isFile := w.(*os.File)
	if !isFile || !term.IsTerminal(int(f.Fd())) {
		return 0, false
	}
	columns, _, err := term.GetSize(int(f.Fd()))
	if err != nil || columns <= 0 {
		return 80, true
	}
	return columns, true
}

// plural gives "1 machine" or "3 machines".
func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return group(n) + " " + many
}

// group writes a whole number with a comma between thousands.
func group(n int) string {
	if n < 0 {
		return "-" + group(-n)
	}
	if n < 1000 {
		return fmt.Sprint(n)
	}
	return fmt.Sprintf("%s,%03d", group(n/1000), n%1000)
}
