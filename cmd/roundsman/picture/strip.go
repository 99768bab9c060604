package picture

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"example.org/roundsman/models"
)

// Strip is a downtime plan to be drawn: for each month a line of days from
// which the machines' tags hang, and below it what each visit is, in words. It
// needs no color: a tag that is agreed has a full edge and a planned one a
// dashed edge, a busy day has a thick line and a closed one none.
type Strip struct {
	Title       string
	From, Until models.Date
	Days        []Day
	Tags        []Tag // by day
	Off         []Off
}

// Day is one day of the plan.
type Day struct {
	On     models.Date
	Open   bool
	Full   float64 // share of the shop's minutes that is used, 0..1
	Closed string  // why it is closed; "" for an open day or the week's own rest
}

// Tag is one visit.
type Tag struct {
	From, Until models.Date
	Label       string // the machine's
	Place       string
	Work        string // what is done, in words
	Why         string
	Agreed      bool
}

// Off is a span on which machines cannot be spared.
type Off struct {
	From, Until models.Date
	Where       string // "" is everywhere
	Note        string
}

// Sizes, in pixels of the drawing.
const (
	margin    = 24
	dayStep   = 32
	tagHeight = 18
	tagGap    = 4
	lineHigh  = 18
	wide      = 2*margin + 31*dayStep
	labelMost = 5   // characters of a tag over one day
	lineMost  = 150 // characters of a line of text
)

// drawing gathers the elements of a picture from the top down.
type drawing struct {
	b strings.Builder
	y int
}

// Draw gives the picture as SVG 1.1.
func (s Strip) Draw() string {
	d := &drawing{y: margin}
	d.text(margin, 20, "bold", s.Title)
	d.y += 26
	d.text(margin, 13, "", s.From.Format("January 2, 2006")+" to "+s.Until.Format("January 2, 2006"))
	d.y += 18
	d.shaded(margin, 11, "#444", "Each tag is a machine at the shop: agreed with a full edge, planned with a dashed one. The thicker the line above, the fuller the day.")
	d.y += 30
	for month := s.From.FirstOfMonth(); month <= s.Until; month = nextMonth(month) {
		d.month(s, month)
	}
	var out strings.Builder
	fmt.Fprintf(&out, `<svg xmlns="http://www.w3.org/2000/svg" width="%d" height="%d" viewBox="0 0 %d %d" role="img" aria-labelledby="title desc" font-family="sans-serif" fill="#111">`+"\n",
		wide, d.y+margin, wide, d.y+margin)
	fmt.Fprintf(&out, "<title id=\"title\">%s</title>\n<desc id=\"desc\">%s</desc>\n", escape(s.Title), escape(inWords(s)))
	fmt.Fprintf(&out, `<rect width="%d" height="%d" fill="#fff"/>`+"\n", wide, d.y+margin)
	out.WriteString(d.b.String())
	out.WriteString("</svg>\n")
	return out.String()
}

func nextMonth(d models.Date) models.Date { return d.FirstOfMonth().AddDays(31).FirstOfMonth() }

// inWords says for those who do not see the picture what is in it.
func inWords(s Strip) string {
	if len(s.Tags) == 1 {
		return "1 visit, listed below its month."
	}
	return fmt.Sprintf("%d visits, listed below their months.", len(s.Tags))
}

// month draws the days of one month, the tags that hang from them, and the
// list in words.
func (d *drawing) month(s Strip, month models.Date) {
	last := nextMonth(month).AddDays(-1)
	d.text(margin, 16, "bold", month.Format("January 2006"))
	d.y += 22
	d.days(s, month, last)
	d.off(s, month, last)
	d.tags(s, month, last)
	d.list(s, month, last)
	d.y += 20
}

// column gives the left edge of a day of a month.
func column(month, day models.Date) int { return margin + month.DaysTo(day)*dayStep }

// days writes the dates and draws the line: its thickness is how full a day
// is; a closed day has none.
func (d *drawing) days(s Strip, month, last models.Date) {
	byDate := make(map[models.Date]Day, len(s.Days))
	for _, day := range s.Days {
		byDate[day.On] = day
	}
	for on := month; on <= last; on++ {
		x := column(month, on)
		day, known := byDate[on]
		shade := "#111"
		if !known || !day.Open {
			shade = "#888"
		}
		d.at(x+dayStep/2, d.y, 11, shade, on.Format("2"))
		d.at(x+dayStep/2, d.y+13, 11, shade, on.Format("Mon")[:2])
		if known && day.Open {
			thick := 2 + int(10*min(max(day.Full, 0), 1))
			fmt.Fprintf(&d.b, `<rect x="%d" y="%d" width="%d" height="%d" fill="#555"><title>%s: %.0f %% full</title></rect>`+"\n",
				x+1, d.y+20, dayStep-2, thick, on, 100*day.Full)
		}
		if day.Closed != "" {
			fmt.Fprintf(&d.b, `<text x="%d" y="%d" font-size="8" fill="#444" text-anchor="middle">closed<title>%s</title></text>`+"\n",
				x+dayStep/2, d.y+28, escape(day.Closed))
		}
	}
	d.y += 38
}

// off writes when machines cannot be spared.
func (d *drawing) off(s Strip, month, last models.Date) {
	for _, o := range s.Off {
		if o.From > last || o.Until < month {
			continue
		}
		from, until := max(o.From, month), min(o.Until, last)
		x, width := column(month, from), (from.DaysTo(until)+1)*dayStep
		fmt.Fprintf(&d.b, `<rect x="%d" y="%d" width="%d" height="%d" fill="#e4e4e4"/>`+"\n", x, d.y, width, tagHeight-2)
		where, note := o.Where, o.Note
		if where == "" {
			where = "all"
		}
		if note == "" {
			note = "cannot be spared"
		}
		fmt.Fprintf(&d.b, `<text x="%d" y="%d" font-size="11">%s</text>`+"\n", x+4, d.y+12, escape(models.Shorten(where+": "+note, max(4, width/6))))
		d.y += tagHeight
	}
}

// tags hangs the tags below their days, each in the first row with room.
func (d *drawing) tags(s Strip, month, last models.Date) {
	var ends []models.Date // of the last tag in each row
	for _, t := range s.Tags {
		if t.From > last || t.Until < month {
			continue
		}
		from, until := max(t.From, month), min(t.Until, last)
		row := 0
		for row < len(ends) && ends[row] >= from {
			row++
		}
		if row == len(ends) {
			ends = append(ends, 0)
		}
		ends[row] = until
		x, y := column(month, from), d.y+row*(tagHeight+tagGap)
		days := from.DaysTo(until) + 1
		edge := ""
		if !t.Agreed {
			edge = ` stroke-dasharray="3 2"`
		}
		fmt.Fprintf(&d.b, `<g><title>%s</title><rect x="%d" y="%d" width="%d" height="%d" rx="3" fill="#fff" stroke="#111"%s/>`,
			escape(t.Label+": "+t.Work), x+1, y, days*dayStep-2, tagHeight, edge)
		fmt.Fprintf(&d.b, `<text x="%d" y="%d" font-size="11" text-anchor="middle">%s</text></g>`+"\n",
			x+days*dayStep/2, y+13, escape(models.Shorten(t.Label, labelMost*days)))
	}
	d.y += len(ends)*(tagHeight+tagGap) + 6
}

// list says each visit of a month in words.
func (d *drawing) list(s Strip, month, last models.Date) {
	none := true
	for _, t := range s.Tags {
		if t.From < month || t.From > last {
			continue
		}
		none = false
		d.y += lineHigh
		state := "planned"
		if t.Agreed {
			state = "agreed"
		}
		day := t.From.Format("Mon Jan 2")
		if t.Until > t.From {
			day += " to " + t.Until.Format("Jan 2")
		}
		for i, line := range wrapped(fmt.Sprintf("%s: %s, %s (%s). %s", day, t.Label, t.Place, state, t.Work), lineMost) {
			if i > 0 {
				d.y += lineHigh - 3
			}
			d.text(margin+16*min(i, 1), 12, "", line)
		}
		for _, line := range wrapped(t.Why, lineMost) {
			d.y += lineHigh - 3
			d.shaded(margin+16, 11, "#444", line)
		}
	}
	if none {
		d.y += lineHigh
		d.shaded(margin, 12, "#444", "No visit begins in this month.")
	}
	d.y += 10
}

// wrapped breaks a text at spaces into lines of at most so many characters; a
// longer word has a line of its own.
func wrapped(s string, most int) []string {
	var out []string
	for _, word := range strings.Fields(s) {
		if n := len(out); n > 0 && utf8.RuneCountInString(out[n-1])+1+utf8.RuneCountInString(word) <= most {
			out[n-1] += " " + word
		} else {
			out = append(out, word)
		}
	}
	return out
}

// text writes a line at the drawing's height.
func (d *drawing) text(x, size int, weight, s string) {
	if weight != "" {
		weight = ` font-weight="` + weight + `"`
	}
	fmt.Fprintf(&d.b, `<text x="%d" y="%d" font-size="%d"%s>%s</text>`+"\n", x, d.y, size, weight, escape(s))
}

func (d *drawing) shaded(x, size int, shade, s string) {
	fmt.Fprintf(&d.b, `<text x="%d" y="%d" font-size="%d" fill="%s">%s</text>`+"\n", x, d.y, size, shade, escape(s))
}

// at writes a short text around a point.
func (d *drawing) at(x, y, size int, shade, s string) {
	fmt.Fprintf(&d.b, `<text x="%d" y="%d" font-size="%d" fill="%s" text-anchor="middle">%s</text>`+"\n", x, y, size, shade, escape(s))
}

var escaper = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;", "'", "&#39;")

// escape makes a text safe inside XML, without the characters that XML 1.0
// does not allow (2.2).
func escape(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case r == '\t' || r == '\n' || r == '\r':
			return ' '
		case r < 0x20, r == 0xFFFE, r == 0xFFFF:
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "?"))
	return escaper.Replace(s)
}
