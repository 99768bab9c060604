package main

import (
	"bufio"
	"cmp"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strings"

	"github.com/mattn/go-runewidth"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
	"example.org/roundsman/scheduler/interval"
)

// board is what the due command shows to people.
type board struct {
	today  models.Date
	view   scheduler.BoardView
	lines  []scheduler.BoardLine
	hidden int  // lines of stages that are not shown
	far    int  // lines without a sure date that lie far ahead, left out
	brief  bool // one line for all first inspections
}

// farAhead is how many days ahead an unsure date is of no interest yet.
const farAhead = 365

// leaveOutFar takes out what is unsure and more than a year ahead.
func (b *board) leaveOutFar() {
	b.lines = slices.DeleteFunc(b.lines, func(l scheduler.BoardLine) bool {
		f := l.Forecast
		if f.Stage != models.StageUnsure || f.DueOn.IsZero() || b.today.DaysTo(f.DueOn) <= farAhead {
			return false
		}
		b.far++
		return true
	})
}

// stageWords says under each stage's heading what it means.
var stageWords = map[models.Stage]string{
	models.StageLate:   "the date, its range and a grace have passed",
	models.StageDue:    "the date has come",
	models.StageComing: "the date is near",
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
	whenWidth  = 24
	ownerWidth = 20
	minWidth   = 60
	ownerFrom  = 100 // width from which owners have a column
)

// boardGroup is what stands on one line of the drawn board: the items of one
// machine that share a stage, a date and its range. What is late or due shares
// a line whatever its date, which is then that of the first.
type boardGroup struct {
	line   scheduler.BoardLine // the first of them
	items  []string
	lefts  []string // of each item: what is left of the meter's limit, or how far it is passed; "": none
	tags   []string // of all its machines, where one line stands for several
	owners int      // of those machines
}

// groups joins neighboring lines of the same machine and date.
func (b board) groups() []boardGroup {
	type key struct {
		machine          string
		stage            models.Stage
		early, due, late models.Date
		reason           models.Reason
	}
	var out []boardGroup
	at := map[key]int{}
	for _, l := range b.lines {
		f := l.Forecast
		k := key{l.Machine.ID, f.Stage, f.EarlyOn, f.DueOn, f.LateOn, f.Reason}
		if f.Stage == models.StageLate || f.Stage == models.StageDue {
			k = key{machine: l.Machine.ID, stage: f.Stage}
		}
		i, known := at[k]
		if !known {
			i = len(out)
			at[k] = i
			out = append(out, boardGroup{line: l})
		}
		out[i].items = append(out[i].items, models.ItemName(f.Item, "en"))
		out[i].lefts = append(out[i].lefts, meterLeft(f))
	}
	if b.brief {
		out = joinInspections(out)
	}
	return joinAlike(out)
}

// what names the items with what is left of each, said once where it is the
// same of all.
func (g boardGroup) what(why string) string {
	items := slices.Clone(g.items)
	if left := g.lefts[0]; !slices.ContainsFunc(g.lefts, func(l string) bool { return l != left }) {
		why = strings.Trim(left+"; "+why, "; ")
	} else if interval.Tells(g.line.Forecast.Stage) {
		for i, left := range g.lefts {
			if left != "" {
				items[i] += " (" + left + ")"
			}
		}
	}
	s := strings.Join(items, ", ")
	if n := len(g.tags); n > mostTags {
		s += fmt.Sprintf(": %s and %d more", strings.Join(g.tags[:mostTags], ", "), n-mostTags)
	} else if n > 0 {
		s += ": " + strings.Join(g.tags, ", ")
	}
	if why != "" {
		s += " (" + why + ")"
	}
	return s
}

// mostTags is how many machines are named where one line stands for several.
const mostTags = 10

// joinInspections makes one line of the first inspections of all machines,
// which claim no date and go with the next visit of each.
func joinInspections(gs []boardGroup) []boardGroup {
	var all *boardGroup
	var out []boardGroup
	owners := map[string]bool{}
	for _, g := range gs {
		f := g.line.Forecast
		if f.Item != models.ItemFirstInspection || !f.DueOn.IsZero() {
			out = append(out, g)
			continue
		}
		if all == nil {
			all = &g
		}
		owners[g.line.Machine.Owner] = true
		all.tags, all.owners = append(all.tags, g.line.Machine.Label()), len(owners)
	}
	switch {
	case all == nil:
		return out
	case len(all.tags) == 1:
		all.tags = nil
	}
	at := len(out)
	for i, g := range out { // after what of its stage has a date
		if g.line.Forecast.Stage.Rank() > all.line.Forecast.Stage.Rank() {
			at = i
			break
		}
	}
	return slices.Insert(out, at, *all)
}

// fewAlike is how many machines of one owner must share all that a line says
// before they share the line.
const fewAlike = 3

// joinAlike joins the lines of one owner's machines that differ in nothing but
// the machine, as where something is due on all of them before winter.
func joinAlike(gs []boardGroup) []boardGroup {
	type key struct {
		owner, what      string
		stage            models.Stage
		early, due, late models.Date
	}
	keyOf := func(g boardGroup) key {
		f := g.line.Forecast
		return key{g.line.Machine.Owner, g.what(""), f.Stage, f.EarlyOn, f.DueOn, f.LateOn}
	}
	alike := map[key][]string{}
	for _, g := range gs {
		alike[keyOf(g)] = append(alike[keyOf(g)], g.line.Machine.Label())
	}
	var out []boardGroup
	drawn := map[key]bool{}
	for _, g := range gs {
		k := keyOf(g)
		if len(alike[k]) >= fewAlike && !g.line.Forecast.DueOn.IsZero() {
			if drawn[k] {
				continue
			}
			drawn[k] = true
			g.tags, g.owners = alike[k], 1
		}
		out = append(out, g)
	}
	return out
}

// meterLeft says how far the limit of the meter that drives a date is away, or
// passed by: "about 4 h over", "about 240 mi to go".
func meterLeft(f models.Forecast) string {
	var rest models.Number
	switch f.Driver {
	case models.DriverMiles:
		rest = f.Remaining.Miles
	case models.DriverKM:
		rest = f.Remaining.KM
	case models.DriverHours:
		rest = f.Remaining.Hours
	}
	if !rest.Known || f.Stage == models.StageUnsure {
		return ""
	}
	unit := map[models.Driver]string{models.DriverMiles: "mi", models.DriverKM: "km", models.DriverHours: "h"}[f.Driver]
	way := "to go"
	if rest.F < 0 {
		way = "over"
	}
	return fmt.Sprintf("about %s %s %s", models.Grouped(math.Round(math.Abs(rest.F))), unit, way)
}

// draw writes the board for people, in a terminal's width.
func (b board) draw(w io.Writer, width int) error {
	bw := bufio.NewWriter(w)
	width = max(width, minWidth)
	var stage models.Stage
	twins := b.twins()
	for i, g := range b.groups() {
		if g.line.Forecast.Stage != stage {
			stage = g.line.Forecast.Stage
			if i > 0 {
				fmt.Fprintln(bw)
			}
			fmt.Fprintf(bw, "%s  %s, %s\n", strings.ToUpper(string(stage)),
				plural(b.count(stage), "item", "items"), stageWords[stage])
		}
		b.drawGroup(bw, g, twins[g.line.Machine.Label()], width)
	}
	switch {
	case len(b.lines) == 0 && b.hidden == 0:
		fmt.Fprintln(bw, "Nothing on the board. Load machines with `roundsman import DIR`.")
	case len(b.lines) == 0:
		fmt.Fprintln(bw, "Nothing needs doing.")
	}
	fmt.Fprintln(bw)
	b.notes(bw)
	var more []string
	if b.far > 0 {
		more = append(more, fmt.Sprintf("%d unsure and more than a year ahead (--stage unsure)", b.far))
	}
	if b.hidden > 0 {
		more = append(more, fmt.Sprintf("%d clear or not asked for", b.hidden))
	}
	if len(more) > 0 {
		fmt.Fprintf(bw, "%s: %s.\n", plural(b.far+b.hidden, "more item", "more items"), strings.Join(more, ", "))
	}
	return bw.Flush()
}

// notes says in a line each which machines have no rules and how many readings
// are left out.
func (b board) notes(w io.Writer) {
	kinds := map[string]int{}
	for _, m := range b.view.Unruled {
		kinds[m.Kind]++
	}
	var unruled []string
	for _, kind := range slices.Sorted(maps.Keys(kinds)) {
		unruled = append(unruled, fmt.Sprintf("%s (%s)", kind, plural(kinds[kind], "machine", "machines")))
	}
	if len(unruled) > 0 {
		fmt.Fprintf(w, "No rules for kind %s: nothing falls due; see items.csv.\n", strings.Join(unruled, ", "))
	}
	twins := b.twins()
	label := func(m models.Machine) string {
		if twins[m.Label()] {
			return m.Owner + "/" + m.Label()
		}
		return m.Label()
	}
	for _, l := range b.view.LaidUp {
		fmt.Fprintf(w, "%s is laid up until %s.\n", label(l.Machine), l.Until.Format("January 2, 2006"))
	}
	var labels []string
	for _, m := range b.view.Doubted {
		if l := label(m); !slices.Contains(labels, l) {
			labels = append(labels, l)
		}
	}
	if n := len(b.view.Doubted); n > 0 {
		more := ""
		if len(labels) > 5 {
			labels, more = labels[:5], " and more"
		}
		fmt.Fprintf(w, "%s in doubt and left out (%s%s); `roundsman sheet TAG` says why.\n", plural(n, "value is", "values are"), strings.Join(labels, ", "), more)
	}
}

// twins gives the labels that more than one machine of the board bears.
func (b board) twins() map[string]bool {
	of, out := map[string]string{}, map[string]bool{}
	see := func(m models.Machine) {
		if id, known := of[m.Label()]; known && id != m.ID {
			out[m.Label()] = true
		}
		of[m.Label()] = m.ID
	}
	for _, l := range b.view.Lines { // all of them: what is not shown may be meant too
		see(l.Machine)
	}
	for _, l := range b.lines {
		see(l.Machine)
	}
	return out
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

// drawGroup writes one entry: tag, date and, where there is room, owner; then
// the items, which go on below their own beginning, and how sure the date is. The
// owner of a twin, whose tag another machine bears too, is always named.
func (b board) drawGroup(w io.Writer, g boardGroup, twin bool, width int) {
	f := g.line.Forecast
	label := g.line.Machine.Label()
	if len(g.tags) > 0 {
		label = fmt.Sprintf("%d units", len(g.tags))
	}
	named := ""
	if width < ownerFrom && twin && len(g.tags) == 0 {
		named = cmp.Or(g.line.Owner.Name, g.line.Machine.Owner) + ": "
	}
	head := "  " + cell(label, tagWidth) + "  " + cell(b.when(f), whenWidth) + "  "
	if width >= ownerFrom {
		name := g.line.Owner.Name
		if name == "" {
			name = g.line.Machine.Owner
		}
		if g.owners > 1 {
			name = fmt.Sprintf("%d owners", g.owners)
		}
		head += cell(name, ownerWidth) + "  "
	}
	why := b.why(f)
	if len(g.tags) > 0 && f.DueOn.IsZero() {
		why = "--stage unsure lists each"
	}
	indent := runewidth.StringWidth(head)
	for i, line := range models.Wrap("", "", named+g.what(why), width-indent) {
		if i > 0 {
			head = strings.Repeat(" ", indent)
		}
		fmt.Fprintln(w, head+line)
	}
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
	case days < -300:
		return date
	case days < 0:
		return fmt.Sprintf("%s, %s ago", date, plural(-days, "day", "days"))
	case days > 300:
		return date
	}
	return fmt.Sprintf("%s, in %s", date, plural(days, "day", "days"))
}

// why says how sure a date is, or why there is none.
func (b board) why(f models.Forecast) string {
	switch {
	case f.DueOn.IsZero():
		return string(f.Reason)
	case f.Stage == models.StageLate || f.Stage == models.StageDue || f.EarlyOn == f.LateOn && !f.LateOpen:
		return ""
	}
	layout := "Jan 2"
	if b.today.DaysTo(f.LateOn) > 300 {
		layout = "Jan 2006"
	}
	if f.LateOpen {
		return fmt.Sprintf("%s to after %s", f.EarlyOn.Format(layout), f.LateOn.Format(layout))
	}
	return fmt.Sprintf("%s to %s", f.EarlyOn.Format(layout), f.LateOn.Format(layout))
}

// cell fits a text into a column.
func cell(s string, width int) string {
	return runewidth.FillRight(runewidth.Truncate(s, width, "…"), width)
}
