package web

import (
	"fmt"
	"html/template"
	"math"
	"strconv"
	"strings"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/models/phone"
)

// zone is the shop's time zone; the zero value is UTC.
type zone struct{ loc *time.Location }

func (z zone) in(i models.Instant) time.Time {
	if z.loc == nil {
		return i.Time()
	}
	return i.Time().In(z.loc)
}

// T gives a text of the pages in the frame's language. The English text is its
// own key; the Spanish ones stand in spanish.go, and a test holds that none is
// missing.
func (f frame) T(english string, args ...any) string {
	text := english
	if models.Spanish(f.Lang) {
		if es, ok := spanish[english]; ok {
			text = es
		}
	}
	if len(args) == 0 {
		return text
	}
	return fmt.Sprintf(text, args...)
}

// Number shows a telephone number as people here write it.
func (f frame) Number(e164 string) string { return phone.Show(e164, f.Country) }

// N gives "1 machine" or "12 machines": both texts are keys.
func (f frame) N(n int, one, many string) string {
	if n == 1 {
		return f.T(one, f.Int(n))
	}
	return f.T(many, f.Int(n))
}

// Int writes a whole number with its thousands parted.
func (f frame) Int(n int) string {
	return strings.ReplaceAll(models.Grouped(n), ",", f.comma())
}

// comma parts thousands: a comma in English; in Spanish a narrow no-break space
// (SI Brochure, 9th edition, 5.4.4), since a point would read as a decimal one.
func (f frame) comma() string {
	if models.Spanish(f.Lang) {
		return "\u202f"
	}
	return ","
}

// Num writes a figure with at most one decimal, "" when it is not known.
func (f frame) Num(n models.Number) string {
	if !n.Known {
		return ""
	}
	tenths := math.Round(n.F * 10)
	whole := math.Trunc(tenths / 10)
	s := f.Int(int(whole))
	if whole == 0 && tenths < 0 {
		s = "-0"
	}
	if d := math.Abs(tenths - whole*10); d >= 1 {
		s += "." + strconv.Itoa(int(d))
	}
	return s
}

// Whole writes a figure without decimals.
func (f frame) Whole(n models.Number) string {
	if !n.Known {
		return ""
	}
	return f.Int(int(math.Round(n.F)))
}

// Month gives a month's short name.
func (f frame) Month(m time.Month) string { return models.ShortMonth(m, f.Lang) }

// Day writes a date short: without its year where that is the present one, or
// within the half year ahead.
func (f frame) Day(d models.Date) string {
	if d == 0 {
		return ""
	}
	ahead := f.Today.DaysTo(d)
	return models.ShortDay(d, f.Lang, d.Year() != f.Today.Year() && (ahead < 0 || ahead > 182))
}

// Weekday writes a date with its weekday.
func (f frame) Weekday(d models.Date) string {
	return models.Weekday(d, f.Lang) + models.Phrase{EN: ", ", ES: " "}.In(f.Lang) + f.Day(d)
}

// When writes a moment in the shop's time: the hour alone where it is today.
func (f frame) When(i models.Instant) string {
	if i == 0 {
		return ""
	}
	t := f.Zone.in(i)
	hour := t.Format("15:04")
	if d := models.DateOf(t); d != f.Today {
		return f.Day(d) + " " + hour
	}
	return hour
}

// Range writes two dates.
// open says that it ends some day after the last.
func (f frame) Range(from, to models.Date, open bool) string {
	if open {
		return f.Day(from) + " – " + f.T("after %s", f.Day(to))
	}
	if from == 0 || from == to {
		return f.Day(to)
	}
	return f.Day(from) + " – " + f.Day(to)
}

// Stage gives the word of a stage.
func (f frame) Stage(s models.Stage) string {
	if s == "" {
		return f.T("not looked at yet")
	}
	return f.T(string(s))
}

// LaidUp says until when a machine is laid up, "" where it is not.
func (f frame) LaidUp(s models.MachineStanding) string {
	if s.LaidUpUntil(f.Today) == 0 {
		return ""
	}
	return models.StandingWords(s, f.Lang)
}

// Item gives what an item is called.
func (f frame) Item(id string) string { return models.ItemName(id, f.Lang) }

// Items gives what several items are called.
func (f frame) Items(n models.Names) string {
	var out []string
	for _, id := range n.List() {
		out = append(out, f.Short(id))
	}
	return strings.Join(out, ", ")
}

// Reason gives a named reason in words.
func (f frame) Reason(r models.Reason) string { return r.In(f.Lang) }

// Unit gives the unit of a machine's odometer.
func (f frame) Unit(m models.Machine) string {
	if m.Meters.Metric() {
		return "km"
	}
	return "mi"
}

// Volume writes an amount of coolant.
func (f frame) Volume(liters models.Number) string {
	if !liters.Known {
		return ""
	}
	if f.Litre {
		return f.Num(liters) + " l"
	}
	return f.Num(models.Num(liters.F/0.946352946)) + " qt" // US liquid quart: NIST SP 811, appendix B.8
}

// Degrees writes a temperature.
func (f frame) Degrees(c models.Number) string {
	if !c.Known {
		return ""
	}
	if f.Deg {
		return f.Num(c) + " °C"
	}
	return f.Whole(models.Num(c.F*1.8+32)) + " °F"
}

// Money writes cents.
func (f frame) Money(cents int64) string {
	sign := ""
	if cents < 0 {
		sign, cents = "-", -cents
	}
	return fmt.Sprintf("%s$%s.%02d", sign, f.Int(int(cents/100)), cents%100)
}

// Hours writes minutes as hours and minutes.
func (f frame) Hours(minutes int) string {
	switch h, m := minutes/60, minutes%60; {
	case h == 0:
		return fmt.Sprintf("%d min", m)
	case m == 0:
		return fmt.Sprintf("%d h", h)
	default:
		return fmt.Sprintf("%d h %d min", h, m)
	}
}

// Phone writes a number as a link's address (RFC 3966): its digits, after the
// plus of a country code. Only these reach the page, so that the template may
// take it for safe; by itself it lets no tel: address through.
func (f frame) Phone(number string) template.URL {
	digits := strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' || r == '+' {
			return r
		}
		return -1
	}, number)
	return template.URL("tel:" + digits)
}

// Short gives an item in one or two words, for pictures.
func (f frame) Short(item string) string { return models.ItemOf(item).Short.In(f.Lang) }

// Percent writes a share.
func (f frame) Percent(share float64) string { return f.Num(models.Num(share*100)) + " %" }

// hatchStep is the distance of hatching lines in pixels.
const hatchStep = 6

// Hatch gives slanting lines that fill a rectangle, as path data.
func (f frame) Hatch(x, y, width, height int) string {
	var b strings.Builder
	for at := hatchStep; at < width+height; at += hatchStep {
		x1, y1 := min(at, width), max(0, at-width)
		x2, y2 := max(0, at-height), min(at, height)
		fmt.Fprintf(&b, "M%d %dL%d %d", x+x1, y+y1, x+x2, y+y2)
	}
	return b.String()
}

// Told gives what a message tells of one machine, what belongs together said
// together: "late Oct 17: brakes, oil; coming Nov 12: coolant".
func (f frame) Told(ns []models.Notice) string {
	var heads []string
	said := map[string][]string{}
	for _, n := range ns {
		head, what := f.T(string(n.Subject)), ""
		if n.Subject == models.SubjectItem {
			head, what = f.Stage(n.Stage), f.Short(n.Item)
		}
		if n.DueOn != 0 {
			head += " " + f.Day(n.DueOn)
		}
		if said[head] == nil {
			heads = append(heads, head)
			said[head] = []string{}
		}
		if what != "" {
			said[head] = append(said[head], what)
		}
	}
	for i, h := range heads {
		if what := said[h]; len(what) > 0 {
			heads[i] = h + ": " + strings.Join(what, ", ")
		}
	}
	return strings.Join(heads, "; ")
}

// Plain writes an id of the shop's own in words.
func (f frame) Plain(id string) string { return strings.ReplaceAll(id, "_", " ") }
