package sheet

import (
	"fmt"
	"math"
	"strings"

	"example.org/roundsman/models"
)

// Layout is how a sheet is laid out as text. The zero value is a page of 80
// columns and 60 lines (US Letter at six lines an inch, half an inch of
// margin above and below) in quarts, gallons and degrees Fahrenheit.
type Layout struct {
	Width   int  // columns, 60 at least; 0: 80
	Height  int  // lines; 0: 60
	Liters  bool // liters instead of quarts and gallons
	Celsius bool
}

const (
	defaultWidth  = 80
	leastWidth    = 60
	defaultHeight = 60
)

// limits are how many lines a section may take.
type limits struct{ within, due, buy, checks, alike, history, parts int }

// levels of thrift: the first that fits the page is taken. Safety is never
// cut.
var levels = []limits{
	{10, 8, 8, 10, 3, 8, 5},
	{8, 5, 6, 8, 2, 6, 3},
	{6, 3, 4, 7, 1, 4, 2},
	{4, 2, 3, 5, 1, 3, 1},
	{3, 1, 2, 3, 1, 2, 0},
}

// Text lays a sheet out on one page. What does not fit is counted, with the
// command that shows it.
func Text(s Sheet, l Layout) string {
	if l.Width == 0 {
		l.Width = defaultWidth
	}
	l.Width = max(l.Width, leastWidth)
	if l.Height == 0 {
		l.Height = defaultHeight
	}
	p := printer{s: s, l: l}
	var top, bottom []string
	var lim limits
	for _, lim = range levels {
		top, bottom = p.top(lim), p.bottom()
		if len(top)+len(bottom)+lim.history+lim.parts <= l.Height {
			break
		}
	}
	room := max(l.Height-len(top)-len(bottom), 0)
	parts := p.parts(max(lim.parts, room/3))
	history := p.history(max(room-len(parts), min(lim.history, room)))
	lines := append(append(append(top, history...), parts...), bottom...)
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " ")
	}
	return strings.Join(lines, "\n") + "\n"
}

// printer writes the sections of one sheet.
type printer struct {
	s Sheet
	l Layout
}

// top is what must be seen first: what it is, what was done last, what is
// wrong, what to do while it is apart, and what to buy.
func (p printer) top(lim limits) []string {
	out := p.head()
	out = append(out, p.doubted()...)
	out = append(out, p.last()...)
	out = append(out, p.job(lim.alike)...)
	out = append(out, p.within(lim.within)...)
	out = append(out, p.due(lim.due)...)
	out = append(out, p.buy(lim.buy)...)
	return append(out, p.checks(lim.checks)...)
}

func (p printer) bottom() []string {
	var out []string
	if len(p.s.Asks) > 0 {
		out = p.section("ASK", strings.Join(p.s.Asks, "; ")+".")
		out = clip(out, 3)
	}
	out = append(out, "SAFETY")
	for _, c := range p.s.Cautions {
		out = append(out, models.Wrap("- ", "  ", c.Short.EN, p.l.Width)...)
	}
	return out
}

// head says what the machine is, whose, and what its meters show.
func (p printer) head() []string {
	m := p.s.Machine
	about := []string{m.Label, m.Kind, m.Make, m.Model}
	if m.Year > 0 {
		about = append(about, fmt.Sprint(m.Year))
	}
	if m.Duty == models.DutySevere {
		about = append(about, "(severe duty)")
	}
	title := strings.Join(strings.Fields(strings.Join(about, " ")), " ")
	date := p.s.AsOf.String()
	title = models.Shorten(title, p.l.Width-len(date)-1)
	out := []string{title + strings.Repeat(" ", max(1, p.l.Width-len([]rune(title))-len(date))) + date}
	owner := p.s.Owner.Name
	if owner == "" {
		owner = p.s.Owner.ID
	}
	if m.Site != "" {
		owner += ", " + m.Site
	}
	if m.Serial != "" {
		owner += ", serial " + m.Serial
	}
	if m.Standing != "" {
		owner += ", " + m.Standing
	}
	out = append(out, clip(models.Wrap("", "  ", owner, p.l.Width), 2)...)
	for i, c := range p.s.Owner.Contacts {
		if i == 2 {
			break
		}
		out = append(out, clip(models.Wrap("  ", "    ", contact(c), p.l.Width), 2)...)
	}
	return append(out, p.meters()...)
}

// contact says how to reach a person.
func contact(c Contact) string {
	ways := []string{}
	for _, w := range []string{c.Mobile, c.Mail} {
		if w != "" {
			ways = append(ways, w)
		}
	}
	text := fmt.Sprintf("%s (%s): %s", c.Name, c.Role, strings.Join(ways, ", "))
	switch {
	case len(ways) == 0:
		text = fmt.Sprintf("%s (%s): no number, no address", c.Name, c.Role)
	case c.Stopped:
		text += "; wants no messages, call"
	case c.Prefers == models.ChannelPhone:
		text += "; wants to be called"
	case c.Prefers == models.ChannelSMS && c.Mobile != "":
		text += "; prefers texts"
	}
	return text
}

func (p printer) meters() []string {
	var now, read []string
	on, source := models.Date(0), ""
	for _, m := range p.s.Meters {
		if !m.Likely.Known {
			continue
		}
		text := fmt.Sprintf("%s %s", whole(m.Likely), m.Unit)
		if m.Low != m.High {
			text += fmt.Sprintf(" (%s to %s)", whole(m.Low), whole(m.High))
		}
		now = append(now, text)
		if m.Last.Known {
			shown := m.Last.String() + " " + m.Unit
			if m.Guess {
				shown = "about " + shown
			}
			read = append(read, shown)
			if m.LastOn > on {
				on, source = m.LastOn, m.Source
			}
		}
	}
	if len(now) == 0 {
		return []string{"No meter of it has been read yet."}
	}
	text := "Likely now " + strings.Join(now, ", ") + "."
	if len(read) > 0 {
		text += fmt.Sprintf(" Last read %s, %s", strings.Join(read, ", "), on)
		if source != "" {
			text += " by " + source
		}
		text += "."
	}
	return clip(models.Wrap("", "  ", text+p.pace(), p.l.Width), 4)
}

// last says what was done last.
func (p printer) last() []string {
	e := p.s.Last
	if e == nil {
		return p.section("LAST", "nothing is known to have been done.")
	}
	return clip(p.section("LAST", fmt.Sprintf("%s, %s: %s.", e.On, p.ago(*e), p.did(*e))), 4)
}

// ago says how long ago and how far back a thing is.
func (p printer) ago(e Event) string {
	if e.SinceDays == 0 {
		return "today"
	}
	parts := []string{span(e.SinceDays)}
	if e.Since.Known {
		parts = append(parts, whole(e.Since)+" "+p.s.Machine.Unit)
	}
	if e.SinceHours.Known {
		parts = append(parts, whole(e.SinceHours)+" h")
	}
	if e.About {
		parts[1] = "about " + parts[1]
	}
	return listed(parts) + " ago"
}

// listed joins parts as "a, b and c".
func listed(parts []string) string {
	n := len(parts) - 1
	if n < 1 {
		return strings.Join(parts, "")
	}
	return strings.Join(parts[:n], ", ") + " and " + parts[n]
}

// pace says how much the machine was used.
func (p printer) pace() string {
	u := p.s.Pace
	switch {
	case u == nil:
		return ""
	case u.Since != 0:
		return " Not used since " + u.Since.String() + "."
	case u.Before.Known:
		return fmt.Sprintf(" Used about %s %s a month lately, %s before.", roundly(u.Lately), u.Unit, roundly(u.Before))
	}
	return fmt.Sprintf(" Used about %s %s a month.", roundly(u.Lately), u.Unit)
}

// roundly writes a figure that is only roughly known to two places.
func roundly(n models.Number) string {
	if n.F >= 1 {
		place := math.Pow(10, math.Floor(math.Log10(n.F))-1)
		n.F = math.Round(n.F/place) * place
	}
	if n.F < 10 {
		return models.Num(tenth(n.F)).String()
	}
	return whole(n)
}

// doubted names the values that are left out.
func (p printer) doubted() []string {
	var out []string
	for i, d := range p.s.Doubted {
		if i == 2 {
			out = append(out, fmt.Sprintf("and %d more", len(p.s.Doubted)-i))
			break
		}
		text := fmt.Sprintf("%s %s on %s (%s", d.Shown, d.Unit, d.On, d.Reason.In("en"))
		if d.Likely.Known {
			text += ", probably " + d.Likely.String()
		}
		out = append(out, text+")")
	}
	if len(out) == 0 {
		return nil
	}
	return clip(p.section("DOUBT", "left out: "+strings.Join(out, "; ")+"."), 3)
}

// did says what was done at an event, in which job and by whom.
func (p printer) did(e Event) string {
	text := work(e)
	if e.Doubtful {
		text += ", at a meter value that is left out as doubtful"
	}
	if e.Job == "" {
		return text
	}
	ref := "job " + e.Job
	if e.By != "" {
		ref += ", " + e.By
	}
	return text + " (" + ref + ")"
}

// work says what was done at an event, and how that ended.
func work(e Event) string {
	text := strings.Join(e.What, ", ")
	if text == "" {
		text = "nothing written down"
	}
	switch {
	case e.Back == 1:
		text = "CAME BACK; " + text
	case e.Back > 1:
		text = fmt.Sprintf("CAME BACK %d times; %s", e.Back, text)
	}
	if e.Complaint != "" {
		text = "\"" + e.Complaint + "\": " + text
	}
	if e.Override != "" {
		text += "; handed over with checks open: " + e.Override
	}
	return text
}

// job tells the job in hand and what it looks like.
func (p printer) job(alike int) []string {
	var out []string
	if j := p.s.Job; j != nil {
		text := fmt.Sprintf("%s, %s since %s", j.ID, j.State, max(j.OpenedOn, j.BackOn))
		if j.Complaint != "" {
			text += ": \"" + j.Complaint + "\""
		}
		for _, c := range j.Codes {
			text += "; " + strings.TrimSpace(c.Code+" "+c.Name)
		}
		if len(j.Lines) > 0 {
			text += "; so far: " + strings.Join(j.Lines, ", ")
		}
		out = clip(p.section("JOB", text+"."), 4)
		if j.Turn > 1 || j.BackOf != "" {
			text := "this job came back"
			if j.BackOf != "" {
				text = "comeback of job " + j.BackOf
			}
			if j.Note != "" {
				text += ": " + strings.TrimPrefix(j.Note, "back: ")
			}
			out = append(out, clip(p.section("  BACK", text+"."), 2)...)
		}
	}
	for i, a := range p.s.Alike {
		if i == alike {
			break
		}
		since := span(a.Days) + " ago"
		switch {
		case a.Days == 0:
			since = "of today"
		case a.Since.Known:
			since = whole(a.Since) + " " + p.s.Machine.Unit + ", " + since
		}
		text := fmt.Sprintf("job %s, %s, looks alike (%s)", a.Job, since, strings.Join(a.Why, "; "))
		if a.Correction != "" {
			text += ". Done then: " + a.Correction
		}
		out = append(out, clip(p.section("  BACK?", text+"."), 2)...)
	}
	return out
}
