package picture

import (
	"fmt"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/visit/shop"
)

// Strip is a downtime plan to be drawn: for each month a line of days from
// which the machines' tags hang, and below it what each visit is, in words. It
// needs no color: a tag that is agreed has a full edge and a planned one a
// dashed edge, a busy day has a thick line and a closed one none.
type Strip struct {
	Title       string
	Language    string // of the months' pictures: "en" or "es"; the list is English
	From, Until models.Date
	Days        []shop.DayLoad
	Tags        []Tag // by day
	Off         []shop.Off
	Name        func(site string) string // what people call a site
}

// Tag is one visit.
type Tag struct {
	From, Until models.Date
	Label       string // the machine's
	Place       string
	Work        string // what is done, in words
	Why         string
	Agreed      bool
	Link        string // where a page tells of it; "" for none
}

// StripOf draws up a plan; name gives what people call a site,
// and work says what is done at a stop.
func StripOf(title string, p shop.Outcome, name func(site string) string, work func(shop.Stop) string) Strip {
	s := Strip{Title: title, From: p.From, Until: p.Until, Days: p.Days, Off: p.Off, Name: name}
	for _, stop := range p.Stops {
		s.Tags = append(s.Tags, Tag{From: stop.On, Until: stop.Until, Label: stop.Machine.Label(), Place: name(stop.Site),
			Work: work(stop), Why: stop.Why, Agreed: stop.Standing == shop.StandingAgreed})
	}
	return s
}

var (
	wordClosed = models.Phrase{EN: "closed", ES: "cerrado"}
	wordAll    = models.Phrase{EN: "all", ES: "todas"}
	wordOff    = models.Phrase{EN: "cannot be spared", ES: "no disponibles"}
	daysShort  = [...]models.Phrase{{EN: "Su", ES: "do"}, {EN: "Mo", ES: "lu"}, {EN: "Tu", ES: "ma"}, {EN: "We", ES: "mi"},
		{EN: "Th", ES: "ju"}, {EN: "Fr", ES: "vi"}, {EN: "Sa", ES: "sá"}}
)

// Sizes, in pixels of the drawing.
const (
	margin    = 24
	dayStep   = 30
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
	return d.svg(`role="img" aria-labelledby="title desc"`, fmt.Sprintf("<title id=\"title\">%s</title>\n<desc id=\"desc\">%s</desc>\n<rect width=\"100%%\" height=\"100%%\" fill=\"#fff\"/>\n",
		escape(s.Title), escape(inWords(s))))
}

// Month gives the picture of one month, without the list in words, to stand in
// a page; name says what it is.
func (s Strip) Month(month models.Date, name string) string {
	last := nextMonth(month).AddDays(-1)
	d := &drawing{y: margin / 2}
	d.days(s, month, last)
	d.off(s, month, last)
	d.tags(s, month, last)
	return d.svg(fmt.Sprintf(`class="calendar" role="group" aria-label="%s"`, escape(name)), "")
}

// svg puts what was drawn into its frame, behind head.
func (d *drawing) svg(attributes, head string) string {
	return fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" width="%d" height="%d" viewBox="0 0 %d %d" font-family="%s" fill="#111" %s>`+"\n",
		wide, d.y+margin, wide, d.y+margin, fonts, attributes) + head + d.b.String() + "</svg>\n"
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
	byDate := make(map[models.Date]shop.DayLoad, len(s.Days))
	for _, day := range s.Days {
		byDate[day.On] = day
	}
	for on := month; on <= last; on++ {
		x := column(month, on)
		day, known := byDate[on]
		shade := "#111"
		if !known || day.Open <= 0 {
			shade = "#888"
		}
		d.at(x+dayStep/2, d.y, 11, shade, on.Format("2"))
		d.at(x+dayStep/2, d.y+13, 11, shade, daysShort[on.Weekday()].In(s.Language))
		if known && day.Open > 0 {
			full := float64(day.Used) / float64(day.Open)
			thick := 2 + int(10*min(full, 1))
			fmt.Fprintf(&d.b, `<rect x="%d" y="%d" width="%d" height="%d" fill="#555"><title>%s: %.0f %%</title></rect>`+"\n",
				x+1, d.y+20, dayStep-2, thick, on, 100*full)
		}
		if day.Closed != "" {
			fmt.Fprintf(&d.b, `<text x="%d" y="%d" font-size="8" fill="#444" text-anchor="middle">%s<title>%s</title></text>`+"\n",
				x+dayStep/2, d.y+28, wordClosed.In(s.Language), escape(day.Closed))
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
		where, note := wordAll.In(s.Language), o.Note
		if o.Site != "" {
			where = s.Name(o.Site)
		}
		if note == "" {
			note = wordOff.In(s.Language)
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
		if t.Link != "" {
			fmt.Fprintf(&d.b, `<a href="%s">`, escape(t.Link))
		}
		fmt.Fprintf(&d.b, `<g><title>%s</title><rect x="%d" y="%d" width="%d" height="%d" rx="3" fill="#fff" stroke="#111"%s/>`,
			escape(t.Label+": "+t.Work), x+1, y, days*dayStep-2, tagHeight, edge)
		fmt.Fprintf(&d.b, `<text x="%d" y="%d" font-size="11" text-anchor="middle">%s</text></g>`+"\n",
			x+days*dayStep/2, y+13, escape(models.Shorten(t.Label, labelMost*days)))
		if t.Link != "" {
			d.b.WriteString("</a>\n")
		}
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
		for i, line := range models.Wrap("", "", fmt.Sprintf("%s: %s, %s (%s). %s", day, t.Label, t.Place, state, t.Work), lineMost) {
			if i > 0 {
				d.y += lineHigh - 3
			}
			d.text(margin+16*min(i, 1), 12, "", line)
		}
		for _, line := range models.Wrap("", "", t.Why, lineMost) {
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
