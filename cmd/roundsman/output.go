package main

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/mattn/go-runewidth"
	"golang.org/x/term"

	"example.org/roundsman/models"
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

// width gives the width of the terminal in columns; ok is false when a file or
// a pipe is written to.
func (c *call) width() (columns int, ok bool) {
	if c.columns > 0 {
		return c.columns, true
	}
	return terminalWidth(c.out)
}

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

// fit prints one line; what a terminal has no room for goes on below, set in.
func (c *call) fit(line string) {
	width, ok := c.width()
	for ok && runewidth.StringWidth(line) > width {
		runes := []rune(line)
		at := min(width, len(runes)-1)
		for at > width/2 && runes[at] != ' ' {
			at--
		}
		fmt.Fprintln(c.out, strings.TrimRight(string(runes[:at]), " "))
		line = "    " + strings.TrimLeft(string(runes[at:]), " ")
	}
	fmt.Fprintln(c.out, line)
}

// plural gives "1 machine" or "3 machines".
func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return models.Grouped(n) + " " + many
}
