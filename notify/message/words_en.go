package message

import (
	"fmt"
	"strconv"
	"strings"

	"example.org/roundsman/models"
)

// english is English as written in the United States.
type english struct{}

func (english) date(d models.Date) string { return d.Format("January 2, 2006") }

func (english) day(d models.Date, year int) string {
	if d.Year() != year {
		return d.Format("Jan 2 2006")
	}
	return d.Format("Jan 2")
}

func (english) greeting(name string) string {
	if name == "" {
		return "Hello,"
	}
	return "Hello " + name + ","
}

func (english) stage(s models.Stage) string {
	switch s {
	case models.StageLate:
		return "overdue"
	case models.StageDue:
		return "due now"
	case models.StageComing:
		return "coming up"
	case models.StageMoved:
		return "can wait"
	}
	return string(s)
}

// between words a range; the year stands once where both ends share it.
func (e english) between(from, to models.Date) string {
	if from.Year() == to.Year() {
		return fmt.Sprintf("between %s and %s", from.Format("January 2"), e.date(to))
	}
	return fmt.Sprintf("between %s and %s", e.date(from), e.date(to))
}

func (e english) when(n models.Notice) string {
	exact := !ranged(n)
	about := "around " + e.date(n.DueOn)
	if exact {
		about = "on " + e.date(n.DueOn)
	}
	var s string
	switch {
	case n.DueOn.IsZero():
		return ""
	case n.Stage == models.StageLate:
		return "It fell due " + about + "."
	case n.Stage == models.StageMoved && !n.WasOn.IsZero():
		s = fmt.Sprintf("We told you %s; by your latest readings it now falls due %s", e.date(n.WasOn), about)
	case n.Stage == models.StageDue:
		s = "It came due " + about
	default:
		s = "It falls due " + about
	}
	if !exact {
		s += ", most likely " + e.between(n.EarlyOn, n.LateOn)
	}
	return s + "."
}

func (e english) shortWhen(n models.Notice, year int) string {
	switch {
	case n.Stage == models.StageLate:
		return "overdue"
	case n.Stage == models.StageDue || n.DueOn.IsZero():
		return "due now"
	case n.Stage == models.StageMoved:
		return "can wait until " + e.day(n.DueOn, year)
	}
	return "by " + e.day(n.DueOn, year)
}

func (english) why(left, mark string, over bool) string {
	switch {
	case over && mark != "":
		return fmt.Sprintf("About %s over the mark of %s.", left, mark)
	case over:
		return fmt.Sprintf("About %s over the limit.", left)
	case mark != "":
		return fmt.Sprintf("About %s to go until %s.", left, mark)
	}
	return fmt.Sprintf("About %s to go.", left)
}

func (e english) byCalendar(n models.Notice) string {
	switch {
	case n.Reason == models.ReasonSeason:
		return "It belongs before the season begins."
	case n.Remaining.Days.Known && n.Remaining.Days.F < 0:
		return fmt.Sprintf("By the calendar, whatever the meter says: its time ran out %s ago.", e.days(-n.Remaining.Days.F))
	case n.Remaining.Days.Known && n.Remaining.Days.F > 0:
		return fmt.Sprintf("By the calendar, whatever the meter says: %s left.", e.days(n.Remaining.Days.F))
	}
	return "By the calendar, whatever the meter says."
}

func (english) days(f float64) string {
	if s := whole(f); s != "1" {
		return s + " days"
	}
	return "1 day"
}

func (english) weekday(d models.Date) string { return d.Format("Monday, January 2, 2006") }

func (english) unrecorded(items int) (state, line string) {
	return models.Unrecorded(items, "en"), "We look at them when it comes in. If you know when one was last done, tell us."
}

func (e english) asked(n models.Notice) (name, state, line string) {
	switch n.Subject {
	case models.SubjectReading:
		return "meter reading", "asked for", "Tell us what the meter reads now, and the dates get sharper."
	case models.SubjectCheck:
		name = "follow-up"
		if n.Detail != "" {
			name = "follow-up: " + n.Detail
		}
		return name, "asked for", `Has the repair held? Reply "ok", or tell us what you notice.`
	case models.SubjectVisit:
		name = "shop visit"
		if n.Detail != "" {
			name += ": " + n.Detail
		}
		switch {
		case n.DueOn.IsZero():
			return name, "canceled", "The visit is canceled. Reply or call to pick another day."
		case !n.WasOn.IsZero():
			return name, "moved", fmt.Sprintf("It moves from %s to %s.", e.weekday(n.WasOn), e.weekday(n.DueOn))
		}
		return name, "agreed", fmt.Sprintf("We expect it on %s.", e.weekday(n.DueOn))
	}
	return "", "", ""
}

func (e english) last(n models.Notice, since bool) string {
	switch {
	case n.LastOn.IsZero():
		return "We have no record of it being done."
	case since:
		return fmt.Sprintf("In service since %s; we have no record of it since.", e.date(n.LastOn))
	}
	switch n.LastBy {
	case models.GroundsLooked:
		return fmt.Sprintf("Looked over %s.", e.date(n.LastOn))
	case models.GroundsMonth:
		return n.LastOn.Format("Last done about January 2006.")
	case models.GroundsYear:
		return n.LastOn.Format("Last done about 2006.")
	}
	return fmt.Sprintf("Last done %s.", e.date(n.LastOn))
}

func (e english) fitted(on models.Date) string {
	if on.IsZero() {
		return ""
	}
	return fmt.Sprintf("In the machine since %s.", e.date(on))
}

func (english) unit(d models.Driver) string {
	switch d {
	case models.DriverKM:
		return "km"
	case models.DriverHours:
		return "h"
	}
	return "mi"
}

func (english) list(items []string, more int) string {
	if more > 0 {
		items = append(items[:len(items):len(items)], strconv.Itoa(more)+" more")
	}
	if len(items) < 2 {
		return strings.Join(items, "")
	}
	return strings.Join(items[:len(items)-1], ", ") + " and " + items[len(items)-1]
}

func (e english) subject(p Page) string {
	if len(p.Machines) == 1 {
		m := p.Machines[0]
		if len(m.Items) == 1 {
			return fmt.Sprintf("%s: %s %s", m.Label, m.Items[0].Name, m.Items[0].State)
		}
		return fmt.Sprintf("%s: %d service items, %s", m.Label, len(m.Items), e.stage(p.Worst))
	}
	return fmt.Sprintf("Service for %s: %s", e.list(p.labels(3)), e.stage(p.Worst))
}

func (english) stopHint() string { return stopWords }

func (english) pageHint() string {
	return "Your machines, a reading or a day, on a page of your own (do not pass it on):"
}

func (english) coldHint() string { return "Cooling: open only cold." }

func (english) label(m models.Machine) string { return labelled(m, "Unit") }

func (english) about(m models.Machine) string {
	s := machineName(m)
	switch {
	case s == "":
		s = kindWord(m.Kind)
	case m.Kind != "":
		s += " (" + kindWord(m.Kind) + ")"
	}
	if m.Site != "" {
		s += ", at " + m.Site
	}
	return strings.TrimPrefix(s, ", ")
}
