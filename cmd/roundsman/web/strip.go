package web

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/interval"
)

// strip is the picture of a machine's next twelve months: one thread, frayed
// where a date is unsure, with a notch where an item is likely due, a knot
// where a visit ties items together, and hatching where nothing can be done.
// Lines and words carry it; colors add nothing that is not there without them.
type strip struct {
	Width, Height int
	Thread        int // y of the thread
	Left, Right   int // where it begins and ends
	Base          int // y of the months
	Months        []label
	Strands       []string // path data
	Notches       []notch
	Knots         []notch
	Closed        []span
	Words         string // all of it, for who does not see it
	Loose         string // items without a date
}

type label struct {
	X    int
	Text string
}

// notch is a mark on the thread with its words.
type notch struct {
	X     int
	Row   int // y of the words; 0: none fit
	TextX int
	End   bool // the words end at TextX
	Text  string
	Heavy bool // late or due
}

type span struct {
	X, Width int
	Text     string
}

// stripDays is how far the thread reaches, today included.
const stripDays = 366

// Measures of the picture in pixels; charWide and boldWide are the width of an
// average character of the labels.
const (
	stripHeight = 92
	threadY     = 50
	monthsY     = 88
	rowOne      = 11
	rowTwo      = 26
	rowKnots    = 72
	charWide    = 6.3
	boldWide    = 7.2 // of a heavy label
	mostFray    = 12.0
)

// stripOf is what a strip shows.
type stripOf struct {
	Forecasts []models.Forecast
	Visits    []models.Visit
	Closures  []models.Closure // those that touch the machine
	Width     int
}

// strip draws the next twelve months of a machine.
func (f frame) strip(in stripOf) strip {
	s := strip{Width: in.Width, Height: stripHeight, Thread: threadY, Left: 6, Right: in.Width - 6, Base: monthsY}
	s.months(f)
	for _, c := range in.Closures {
		if c.To >= f.Today && c.From < f.Today.AddDays(stripDays) {
			x := s.at(f, c.From)
			s.Closed = append(s.Closed, span{X: x, Width: max(2, s.at(f, c.To.AddDays(1))-x), Text: f.closure(c)})
		}
	}
	var said []string
	groups, loose := f.stripGroups(in.Forecasts)
	for _, g := range groups {
		s.fray(f, g)
	}
	s.notches(f, groups)
	for _, g := range groups {
		said = append(said, g.words(f))
	}
	for _, v := range in.Visits {
		if v.Stands() && v.On >= f.Today && v.On < f.Today.AddDays(stripDays) {
			s.Knots = append(s.Knots, notch{X: s.at(f, v.On), Text: f.T("visit %s: %s", f.Day(v.On), f.Items(v.Items)), Heavy: v.State == models.VisitAgreed})
			said = append(said, f.T("visit %s: %s", f.Day(v.On), f.Items(v.Items)))
		}
	}
	s.place(s.Knots, rowKnots)
	if len(loose) > 0 {
		s.Loose = f.T("no date: %s", strings.Join(loose, ", "))
		said = append(said, s.Loose)
	}
	for _, c := range s.Closed {
		said = append(said, c.Text)
	}
	if len(said) == 0 {
		said = []string{f.T("nothing due within a year")}
	}
	s.Words = strings.Join(said, "; ")
	return s
}

// at gives the place of a day, those outside at the ends.
func (s *strip) at(f frame, d models.Date) int {
	n := min(max(f.Today.DaysTo(d), 0), stripDays)
	return s.Left + n*(s.Right-s.Left)/stripDays
}

func (s *strip) months(f frame) {
	first := f.Today.FirstOfMonth().AddDays(32).FirstOfMonth()
	for d := first; f.Today.DaysTo(d) < stripDays-8; d = d.AddDays(32).FirstOfMonth() {
		name := f.Month(d.Month())
		if s.Width < 500 {
			name = strings.ToUpper(string([]rune(name)[:1]))
		}
		s.Months = append(s.Months, label{s.at(f, d), name})
	}
}

// stripGroup is items due within the same few days.
type stripGroup struct {
	items            []string
	stage            models.Stage
	early, due, late models.Date
}

// groupDays is how near to each other items are shown as one notch.
const groupDays = 6

// stripGroups gathers items by date, the soonest first; loose are those without
// a date, or with a date too far to be drawn and too unsure to be told.
func (f frame) stripGroups(fs []models.Forecast) (groups []stripGroup, loose []string) {
	fs = slices.Clone(fs)
	slices.SortStableFunc(fs, func(a, b models.Forecast) int { return cmp.Compare(a.DueOn, b.DueOn) })
	for _, v := range fs {
		v = interval.Capped(v, f.Today, interval.LateHorizon)
		stage := interval.StageOn(v, f.Today)
		if v.DueOn == 0 {
			loose = append(loose, f.Short(v.Item))
			continue
		}
		if f.Today.DaysTo(v.DueOn) >= stripDays {
			continue
		}
		if n := len(groups) - 1; n >= 0 && groups[n].stage == stage && groups[n].due.DaysTo(v.DueOn) <= groupDays {
			g := &groups[n]
			g.items = append(g.items, f.Short(v.Item))
			g.early, g.late = min(g.early, v.EarlyOn), max(g.late, v.LateOn)
			continue
		}
		groups = append(groups, stripGroup{items: []string{f.Short(v.Item)}, stage: stage, early: v.EarlyOn, due: v.DueOn, late: v.LateOn})
	}
	return groups, loose
}

// label gives a group in few words: at most two items by name.
func (g stripGroup) label(f frame) string {
	text := strings.Join(g.items[:min(2, len(g.items))], ", ")
	if more := len(g.items) - 2; more > 0 {
		text += fmt.Sprintf(" +%d", more)
	}
	text += " · " + f.Day(g.due)
	if g.stage == models.StageLate || g.stage == models.StageDue {
		text = f.Stage(g.stage) + ": " + text
	}
	return text
}

// words gives a group in a sentence.
func (g stripGroup) words(f frame) string {
	out := f.Stage(g.stage) + ": " + strings.Join(g.items, ", ") + ", " + f.Day(g.due)
	if g.late > g.early && g.due >= f.Today {
		out += " (" + f.T("%s to %s", f.Day(g.early), f.Day(g.late)) + ")"
	}
	return out
}

// fray opens the thread over a group's range, the wider the unsurer.
func (s *strip) fray(f frame, g stripGroup) {
	days := g.early.DaysTo(g.late)
	if days < 4 || g.late <= f.Today {
		return
	}
	x1, x2, x3 := s.at(f, g.early), s.at(f, g.due), s.at(f, g.late)
	if x2 <= x1 {
		x1 = x2 - 1
	}
	high := min(mostFray, 2+float64(days)/14)
	for _, k := range []float64{-1, -0.45, 0.45, 1} {
		y := float64(threadY) + k*high
		s.Strands = append(s.Strands, fmt.Sprintf("M%d %dC%d %d %d %.0f %d %.0fS%d %d %d %d",
			x1, threadY, (x1+x2)/2, threadY, (x1+x2)/2, y, x2, y, (x2+x3)/2, threadY, x3, threadY))
	}
}

func (s *strip) notches(f frame, groups []stripGroup) {
	for _, g := range groups {
		s.Notches = append(s.Notches, notch{X: s.at(f, g.due), Text: g.label(f),
			Heavy: g.stage == models.StageLate || g.stage == models.StageDue})
	}
	s.place(s.Notches, rowTwo, rowOne)
}

// place gives words a row in which they do not meet others; words that fit
// nowhere are left out and stand in the list beside the picture.
func (s *strip) place(ns []notch, rows ...int) {
	free := make([]int, len(rows)) // first free x of each row
	for i := range ns {
		letter := charWide
		if ns[i].Heavy {
			letter = boldWide
		}
		wide := int(letter*float64(len([]rune(ns[i].Text)))) + 8
		for r, y := range rows {
			start, end := ns[i].X, false
			if start+wide > s.Width {
				start, end = s.Width-wide, true
			}
			if start < 0 || start < free[r] {
				continue
			}
			ns[i].Row, ns[i].TextX, ns[i].End = y, start, end
			if end {
				ns[i].TextX = s.Width - 2
			}
			free[r] = start + wide
			break
		}
	}
}

// closure says what is closed and why.
func (f frame) closure(c models.Closure) string {
	what := f.T("no machine out")
	switch c.Sort {
	case models.ClosureShop:
		what = f.T("shop closed")
	case models.ClosureLimit:
		what = f.T("at most %d out at once", c.MaxOut)
	case models.ClosureAway:
		what = f.T("%s away", c.Technician)
	}
	if c.Note != "" {
		what += ": " + c.Note
	}
	return what + ", " + f.Range(c.From, c.To, false)
}

// touching picks the closures that bear on a machine.
func touching(cs []models.Closure, m models.Machine) []models.Closure {
	site := m.Site
	if site == "" {
		site = m.Owner
	}
	var out []models.Closure
	for _, c := range cs {
		if c.Sort == models.ClosureBlack && (c.Site == "" || c.Site == site) && (c.Kind == "" || strings.EqualFold(c.Kind, m.Kind)) || c.Sort == models.ClosureShop {
			out = append(out, c)
		}
	}
	return out
}
