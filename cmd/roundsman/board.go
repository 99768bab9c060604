package main

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"github.com/mattn/go-runewidth"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
)

// board is what the due command shows to people.
type board struct {
	today  models.Date
	lines  []scheduler.BoardLine
	hidden int // lines of stages that are not shown
}

// stageWords says under each stage's heading what it means.
var stageWords = map[models.Stage]string{
	models.StageLate:   "past its date and its grace",
	models.StageDue:    "its date has come",
	models.StageComing: "its date is near",
	models.StageUnsure: "too little is known to say",
	models.StageClear:  "nothing to do yet",
}

// plain writes one line a row with tabs between the fields, for other
// programs and for reading in a file.
func (b board) plain(w io.Writer) error {
	bw := bufio.NewWriter(w)
	fmt.Fprintln(bw, "stage\ttag\tmachine\towner\titem\tdue_on\tearly_on\tlate_on\tdriver\treason")
	for _, l := range b.lines {
		f := l.Forecast
		fmt.Fprintln(bw, strings.Join([]string{string(f.Stage), l.Machine.Tag, l.Machine.ID, l.Machine.Owner, f.Item,
			f.DueOn.String(), f.EarlyOn.String(), f.LateOn.String(), string(f.Driver), string(f.Reason)}, "\t"))
	}
	return bw.Flush()
}

// Widths of the board's columns on a terminal, in characters.
const (
	tagWidth   = 8
	ownerWidth = 20
	itemWidth  = 24
	whenWidth  = 22
	minWidth   = 60
)

// draw writes the board for people, in a terminal's width.
func (b board) draw(w io.Writer, width int) error {
	bw := bufio.NewWriter(w)
	width = max(width, minWidth)
	var stage models.Stage
	for i, l := range b.lines {
		if l.Forecast.Stage != stage {
			stage = l.Forecast.Stage
			if i > 0 {
				fmt.Fprintln(bw)
			}
			fmt.Fprintf(bw, "%s  %s, %s\n", strings.ToUpper(string(stage)),
				plural(b.count(stage), "item", "items"), stageWords[stage])
		}
		fmt.Fprintln(bw, strings.TrimRight(b.row(l, width), " "))
	}
	switch {
	case len(b.lines) == 0 && b.hidden == 0:
		fmt.Fprintln(bw, "Nothing on the board. Load machines with `roundsman import DIR`.")
	case len(b.lines) == 0:
		fmt.Fprintln(bw, "Nothing needs doing.")
	}
	if b.hidden > 0 {
		fmt.Fprintf(bw, "\n%s clear or of another stage not shown.\n", plural(b.hidden, "more item,", "more items,"))
	}
	return bw.Flush()
}

func (b board) count(s models.Stage) int {
	n := 0
	for _, l := range b.lines {
		if l.Forecast.Stage == s {
			n++
		}
	}
	return n
}

// row writes one line: tag, item, when, owner, why, the last two as far as
// there is room.
func (b board) row(l scheduler.BoardLine, width int) string {
	f := l.Forecast
	cells := []string{
		"  " + cell(l.Machine.Label(), tagWidth),
		cell(models.ItemName(f.Item, "en"), itemWidth),
		cell(b.when(f), whenWidth),
	}
	used := 2 + tagWidth + itemWidth + whenWidth + 4
	if width-used >= ownerWidth+2 {
		name := l.Owner.Name
		if name == "" {
			name = l.Machine.Owner
		}
		cells = append(cells, cell(name, ownerWidth))
		used += ownerWidth + 2
	}
	if room := width - used - 2; room >= 16 {
		cells = append(cells, runewidth.Truncate(b.why(f), room, "…"))
	}
	return strings.Join(cells, "  ")
}

// when says the date in words.
func (b board) when(f models.Forecast) string {
	if f.DueOn.IsZero() {
		return "no date"
	}
	days := b.today.DaysTo(f.DueOn)
	layout := "Jan 2"
	if days > 300 || days < -300 {
		layout = "Jan 2, 2006"
	}
	date := f.DueOn.Format(layout)
	switch {
	case days == 0:
		return date + ", today"
	case days < 0:
		return fmt.Sprintf("%s, %s ago", date, plural(-days, "day", "days"))
	case days > 300:
		return date
	}
	return fmt.Sprintf("%s, in %s", date, plural(days, "day", "days"))
}

// why says what drives the date and how sure it is.
func (b board) why(f models.Forecast) string {
	if f.DueOn.IsZero() {
		return string(f.Reason)
	}
	if f.EarlyOn == f.LateOn || f.Stage == models.StageLate || f.Stage == models.StageDue {
		return f.Detail
	}
	return fmt.Sprintf("%s to %s; %s", f.EarlyOn.Format("Jan 2"), f.LateOn.Format("Jan 2"), f.Detail)
}

// cell fits a text into a column.
func cell(s string, width int) string {
	return runewidth.FillRight(runewidth.Truncate(s, width, "…"), width)
}
