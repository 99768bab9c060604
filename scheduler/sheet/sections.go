package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/cooling"
)

// within lists what is worth doing while a teardown is open.
func (p printer) within(most int) []string {
	var out []string
	for _, w := range p.s.Within {
		name := strings.ReplaceAll(w.Teardown, "_", " ")
		head := fmt.Sprintf("while the %s is done", name)
		switch {
		case w.Guessed:
			head = fmt.Sprintf("if the %s must be done", name)
		case len(w.InHand) == 0:
			head = fmt.Sprintf("together, one %s", name)
		}
		if w.SavesMin > 0 {
			head += fmt.Sprintf(" (saves %s)", models.HoursOf(w.SavesMin))
		}
		out = append(out, p.section("WITH IT", head+":")...)
		for _, i := range w.Items {
			out = append(out, p.item(i))
		}
	}
	return cut(out, most, "more; see roundsman due")
}

// due lists what else asks for work.
func (p printer) due(most int) []string {
	if len(p.s.Due) == 0 {
		return nil
	}
	head := "DUE      or not known:"
	if len(p.s.Within) > 0 {
		head = "DUE      apart from that:"
	}
	out := []string{head}
	for _, i := range p.s.Due {
		out = append(out, p.item(i))
	}
	return cut(out, most+1, "more; see roundsman due")
}

// item is one line on an item.
func (p printer) item(i Item) string {
	var say []string
	switch {
	case i.Stage == "":
		say = append(say, string(i.Reason))
	case i.DueOn == 0:
		say = append(say, string(i.Stage), string(i.Reason))
	case i.DaysEarly > 0 && i.Stage == models.StageClear:
		say = append(say, i.DueOn.String(), span(i.DaysEarly)+" early")
	case i.DaysEarly >= 0:
		say = append(say, string(i.Stage), i.DueOn.String())
	case i.Stage == models.StageDue:
		say = append(say, "due since "+i.DueOn.String())
	default:
		say = append(say, string(i.Stage), "was due "+i.DueOn.String())
	}
	if i.SavesMin > 0 {
		say = append(say, "saves "+models.HoursOf(i.SavesMin))
	}
	if i.PartsDays > 0 {
		say = append(say, fmt.Sprintf("parts %d d", i.PartsDays))
	}
	const names = 28
	return models.Shorten(fmt.Sprintf("  %-*s %s", names, models.Shorten(i.Name, names), strings.Join(say, ", ")), p.l.Width)
}

// buy lists what to have at hand.
func (p printer) buy(most int) []string {
	if len(p.s.Buy) == 0 {
		return nil
	}
	var out []string
	for _, b := range p.s.Buy {
		text := ""
		if c := b.Coolant; c != nil {
			text = p.coolant(*c)
		} else {
			text = strings.Join(strings.Fields(fmt.Sprintf("%s %s %s", b.What, b.Maker, b.Number)), " ")
			if b.Qty.Known && b.Qty.F != 1 {
				text = b.Qty.String() + " x " + text
			}
			if b.Equivalents != "" {
				text += " (same as " + b.Equivalents + ")"
			}
			if b.CostCents.Known {
				text += fmt.Sprintf(", $%.2f last time", b.CostCents.F/100)
			}
		}
		if b.PartsDays > 0 && b.Coolant == nil {
			text += fmt.Sprintf("; %d days to come", b.PartsDays)
		}
		out = append(out, clip(models.Wrap("         ", "           ", text, p.l.Width), 3)...)
	}
	out[0] = "BUY      " + strings.TrimLeft(out[0], " ")
	return cut(out, most, "more lines; all with --json")
}

// coolant says what to buy to fill the system again.
func (p printer) coolant(c Coolant) string {
	const kind = "the coolant that the manual names"
	if c.Refused != "" {
		return kind + ": " + c.Refused
	}
	volume := func(l float64) string {
		if p.l.Liters {
			return fmt.Sprintf("%.1f L", l)
		}
		return fmt.Sprintf("%.1f qt", l*4/gallon)
	}
	amount := fmt.Sprintf("%d gallons", c.Containers)
	switch {
	case p.l.Liters:
		amount = fmt.Sprintf("%d x %.2f L", c.Containers, c.EachL)
	case c.Containers == 1:
		amount = "1 gallon"
	}
	text := fmt.Sprintf("%s of %s, %s; a drain lets out about %s", amount, kind, c.Strength, volume(c.FillL))
	if c.WaterL > 0.05 {
		text += fmt.Sprintf(": %s of it and %s distilled water", volume(c.ProductL), volume(c.WaterL))
	}
	if c.GoodToC.Known {
		text += fmt.Sprintf(". %.0f %% ethylene glycol starts to freeze at %s", c.Percent, p.degrees(c.GoodToC.F))
		if low := p.s.Machine.LowestC; low.Known {
			text += fmt.Sprintf("; it must stand %s", p.degrees(low.F))
		}
	}
	return text
}

func (p printer) degrees(c float64) string {
	if p.l.Celsius {
		return fmt.Sprintf("%.0f C", math.Round(c)+0)
	}
	return fmt.Sprintf("%.0f F", math.Round(cooling.ToFahrenheit(c))+0)
}

// checks lists open checks.
func (p printer) checks(most int) []string {
	if len(p.s.Checks) == 0 {
		return nil
	}
	out := []string{"CHECKS   open:"}
	for _, c := range p.s.Checks {
		head := fmt.Sprintf("         %s bench: ", c.ID)
		if c.Kind == models.CheckOwner {
			head = fmt.Sprintf("         %s owner: ", c.ID)
			if c.AskOn != 0 {
				head = fmt.Sprintf("         %s owner, ask %s: ", c.ID, c.AskOn)
			}
		}
		text := c.Question
		if c.Bad {
			text = strings.TrimRight("NOT OK "+c.Words, " ") + ": " + text
		}
		out = append(out, models.Shorten(head+text, p.l.Width))
	}
	return cut(out, most+1, "more; see roundsman check list")
}

// history lists what was done, a line each.
func (p printer) history(most int) []string {
	if most < 2 || len(p.s.History) < 2 {
		return nil
	}
	head := "BEFORE   day, job, meter, run since, what was done:"
	if slices.ContainsFunc(p.s.History[1:], func(e Event) bool { return e.About }) {
		head = "BEFORE   day, job, meter, run since (~ worked out), what was done:"
	}
	out := []string{head}
	for _, e := range p.s.History[1:] {
		at := ""
		if e.Miles.Known {
			at = whole(e.Miles) + " " + p.s.Machine.Unit
		} else if e.Hours.Known {
			at = whole(e.Hours) + " h"
		}
		since := span(e.SinceDays)
		if e.Since.Known {
			since = whole(e.Since) + " " + p.s.Machine.Unit
		} else if e.SinceHours.Known {
			since = whole(e.SinceHours) + " h"
		}
		if e.About {
			since = "~" + since
		}
		ref := ""
		if e.Job != "" {
			ref = "job " + e.Job
		}
		out = append(out, models.Shorten(fmt.Sprintf("%-10s %-7s %9s %10s  %s", e.On, models.Shorten(ref, 12), at, since, work(e)), p.l.Width))
	}
	return cut(out, most, "earlier; all of them with --json")
}

// parts lists the parts fitted with their age.
func (p printer) parts(most int) []string {
	if most < 2 || len(p.s.Parts) == 0 {
		return nil
	}
	out := []string{"PARTS    fitted, with their age:"}
	for _, f := range p.s.Parts {
		age := []string{span(f.AgeDays)}
		if f.Age.Known {
			age = append([]string{whole(f.Age) + " " + p.s.Machine.Unit}, age...)
		} else if f.AgeHours.Known {
			age = append([]string{whole(f.AgeHours) + " h"}, age...)
		}
		what := strings.Join(strings.Fields(fmt.Sprintf("%s %s %s", f.Name, f.Maker, f.Number)), " ")
		if f.Place != "" {
			what += ", " + f.Place
		}
		const room = 42
		out = append(out, models.Shorten(fmt.Sprintf("%-*s %s", room, models.Shorten(what, room), strings.Join(age, ", ")), p.l.Width))
	}
	return cut(out, most, "more; all of them with --json")
}

// section writes a text under a heading in the margin.
func (p printer) section(head, text string) []string {
	return models.Wrap(fmt.Sprintf("%-9s", head), "         ", text, p.l.Width)
}

// clip keeps the first lines and marks that more was said.
func clip(lines []string, most int) []string {
	if len(lines) <= most {
		return lines
	}
	lines = lines[:most:most]
	last := []rune(lines[most-1])
	lines[most-1] = string(last[:max(0, len(last)-1)]) + "…"
	return lines
}

// cut keeps a list to so many lines, the last of which counts the rest.
func cut(lines []string, most int, rest string) []string {
	if len(lines) <= most {
		return lines
	}
	if most < 2 {
		return nil
	}
	kept := lines[: most-1 : most-1]
	return append(kept, fmt.Sprintf("         ... %d %s", len(lines)-most+1, rest))
}

// whole writes a figure rounded to a whole number, with commas between the
// thousands.
func whole(n models.Number) string {
	if !n.Known {
		return "?"
	}
	return models.Grouped(math.Round(n.F))
}

// daysPerMonth is the mean length of a month of the Gregorian calendar
// (365.2425 / 12).
const daysPerMonth = 365.2425 / 12

// span says a number of days in the unit that suits it.
func span(days int) string {
	count := func(n float64, one string) string {
		if n == 1 {
			return "1 " + one
		}
		return fmt.Sprintf("%.0f %ss", n, one)
	}
	days = max(days, -days)
	switch months := math.Round(float64(days) / daysPerMonth); {
	case days < 60:
		return count(float64(days), "day")
	case months < 24:
		return count(months, "month")
	default:
		return fmt.Sprintf("%.1f years", float64(days)/365.2425)
	}
}
