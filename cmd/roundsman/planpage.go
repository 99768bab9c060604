package main

import (
	"bufio"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/mattn/go-runewidth"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
	"example.org/roundsman/scheduler/visit/shop"
)

// planPage is the plan for people on a screen.
type planPage struct {
	plan  scheduler.Plan
	width int // in columns, at least leastPlanWidth
}

// Widths of the page, in characters: a month of 31 days of two columns each
// and its labels fit 80.
const (
	placeWidth = 14
	dayWidth   = 2
	placesMost = 8 // rows of a strip; the rest is one row
	listIndent = 12

	leastPlanWidth = placeWidth + 1 + 7*dayWidth // a week
)

// draw writes the page.
func (p planPage) draw(w io.Writer) error {
	bw := bufio.NewWriter(w)
	p.warnings(bw)
	if len(p.plan.Stops) == 0 {
		fmt.Fprintf(bw, "Nothing to plan from %s to %s.\n", p.plan.From, p.plan.Until)
	} else {
		p.strips(bw)
		p.list(bw)
	}
	p.left(bw)
	p.summary(bw)
	return bw.Flush()
}

// warnings tells what needs a person.
func (p planPage) warnings(w io.Writer) {
	for _, c := range p.plan.Conflicts {
		p.wrapped(w, fmt.Sprintf("! Visit %s is agreed for %s and cannot be kept: %s. Move or drop it.", c.Visit.ID, c.Visit.On, c.Why))
	}
	for _, n := range p.plan.Notes {
		p.wrapped(w, "note: "+n.Message)
	}
	if len(p.plan.Conflicts)+len(p.plan.Notes) > 0 {
		fmt.Fprintln(w)
	}
}

// wrapped writes a text within the page's width.
func (p planPage) wrapped(w io.Writer, text string) {
	for _, line := range models.Wrap("", "", text, p.width) {
		fmt.Fprintln(w, line)
	}
}

// strips draws one strip for each month, or for the part of one that fits.
func (p planPage) strips(w io.Writer) {
	places := p.places()
	fits := (p.width - placeWidth - 1) / dayWidth
	for month := p.plan.From.FirstOfMonth(); month <= p.plan.Until; {
		first := month.FirstOfMonth()
		last := min(first.AddDays(31).FirstOfMonth().AddDays(-1), month.AddDays(fits-1))
		if last < p.plan.From {
			month = last.AddDays(1)
			continue
		}
		var dates, week strings.Builder
		for d := month; d <= last; d++ {
			initial := d.Format("Mon")[:1]
			mark := ""
			if initial == "M" && d.Weekday() == 1 || d == month {
				mark = fmt.Sprint(d.Format("2"))
			}
			dates.WriteString(runewidth.FillRight(mark, dayWidth))
			if wd := d.Weekday(); wd == 0 || wd == 6 {
				initial = strings.ToLower(initial)
			}
			week.WriteString(runewidth.FillRight(initial, dayWidth))
		}
		p.row(w, month.Format("January 2006"), dates.String())
		p.row(w, "", week.String())
		p.row(w, "shop", p.shopRow(month, last))
		for _, place := range places {
			if row := p.placeRow(place, month, last); strings.Trim(row, ". ") != "" {
				p.row(w, place.name, row)
			}
		}
		fmt.Fprintln(w)
		month = last.AddDays(1)
	}
	p.wrapped(w, "shop: how full it is, ▁ to █; numbers: machines out; x: cannot be spared; . free")
	fmt.Fprintln(w)
}

func (p planPage) row(w io.Writer, label, cells string) {
	fmt.Fprintln(w, strings.TrimRight(cell(label, placeWidth)+" "+cells, " "))
}

// fullness shows a share of 0..1 as a block.
var fullness = []rune("▁▂▃▄▅▆▇█")

// shopRow shows how full the shop is on each day.
func (p planPage) shopRow(month, last models.Date) string {
	var b strings.Builder
	for d := month; d <= last; d++ {
		c := " "
		if i := p.plan.From.DaysTo(d); i >= 0 && i < len(p.plan.Days) {
			switch day := p.plan.Days[i]; {
			case day.Open <= 0:
			case day.Used <= 0:
				c = "."
			default:
				c = string(fullness[min(len(fullness)-1, day.Used*len(fullness)/max(1, day.Open))])
			}
		}
		b.WriteString(runewidth.FillRight(c, dayWidth))
	}
	return b.String()
}

// place is a row of the strip: the machines of one site, or of the sites that
// have no row of their own.
type place struct {
	name  string
	sites []string
}

// places gives the rows, those with the most visits first.
func (p planPage) places() []place {
	count := map[string]int{}
	for _, s := range p.plan.Stops {
		count[s.Site]++
	}
	sites := make([]string, 0, len(count))
	for s := range count {
		sites = append(sites, s)
	}
	slices.SortFunc(sites, func(a, b string) int {
		if count[a] != count[b] {
			return count[b] - count[a]
		}
		return strings.Compare(a, b)
	})
	var out []place
	for i, s := range sites {
		if i >= placesMost-1 && len(sites) > placesMost {
			out = append(out, place{"others", sites[i:]})
			break
		}
		out = append(out, place{p.siteName(s), []string{s}})
	}
	return out
}

// siteName gives a site in words: an owner's own place has its name.
func (p planPage) siteName(site string) string {
	if o, ok := p.plan.Owners[site]; ok && o.Name != "" {
		return o.Name
	}
	return site
}

// placeRow shows how many machines of a place are out on each day.
func (p planPage) placeRow(pl place, month, last models.Date) string {
	out := map[models.Date]int{}
	for _, s := range p.plan.Stops {
		if slices.Contains(pl.sites, s.Site) {
			for d := max(s.On, month); d <= min(s.Until, last); d++ {
				out[d]++
			}
		}
	}
	off := map[models.Date]bool{}
	for _, o := range p.plan.Off {
		if o.Kind == "" && (o.Site == "" || len(pl.sites) == 1 && pl.sites[0] == o.Site) {
			for d := max(o.From, month); d <= min(o.Until, last); d++ {
				off[d] = true
			}
		}
	}
	var b strings.Builder
	for d := month; d <= last; d++ {
		c := "."
		switch i := p.plan.From.DaysTo(d); {
		case i < 0 || i >= len(p.plan.Days):
			c = " "
		case out[d] > 0:
			c = fmt.Sprint(min(out[d], 99))
		case off[d]:
			c = "x"
		case p.plan.Days[i].Open <= 0:
			c = " "
		}
		b.WriteString(runewidth.FillRight(c, dayWidth))
	}
	return b.String()
}

// standingWords says how a visit stands to what people know.
func standingWords(s shop.Stop) string {
	switch s.Standing {
	case shop.StandingAgreed:
		return "agreed, visit " + s.Visit.ID
	case shop.StandingShown:
		return "planned, visit " + s.Visit.ID
	case shop.StandingMoved:
		return fmt.Sprintf("moves from %s, visit %s", s.Visit.On.Format("Jan 2"), s.Visit.ID)
	}
	return "new"
}

// list writes the visits one by one.
func (p planPage) list(w io.Writer) {
	for _, s := range p.plan.Stops {
		day := s.On.Format("Mon Jan 2")
		if s.On.Year() != p.plan.From.Year() {
			day = s.On.Format("Jan 2 2006")
		}
		head := fmt.Sprintf("%s, %s; bay %s, %s", s.Machine.Label(), p.siteName(s.Site), s.Bay, models.HoursOf(s.Minutes))
		if s.Until > s.On {
			head += ", until " + s.Until.Format("Mon Jan 2")
		}
		p.entry(w, day, head+" ("+standingWords(s)+")", itemWords(s), s.Why+nextBest(s))
	}
	fmt.Fprintln(w)
}

// entry writes one entry: its day, and lines below each other.
func (p planPage) entry(w io.Writer, day string, texts ...string) {
	head := cell(day, listIndent)
	for _, t := range texts {
		if t == "" {
			continue
		}
		for _, line := range models.Wrap("", "", t, p.width-listIndent) {
			fmt.Fprintln(w, strings.TrimRight(head+line, " "))
			head = strings.Repeat(" ", listIndent)
		}
	}
}

// itemWords lists what is done at a stop.
func itemWords(s shop.Stop) string {
	return models.ItemNames(models.JoinNames(s.ItemIDs()), "en")
}

// nextBest says what the next-best day would cost.
func nextBest(s shop.Stop) string {
	if s.Standing == shop.StandingAgreed {
		return ""
	}
	if len(s.Alternatives) == 0 {
		return "; no other day has room"
	}
	a := s.Alternatives[0]
	return fmt.Sprintf("; next best %s, %s more", a.On.Format("Mon Jan 2"), money(a.Extra))
}

// left lists what is due within the plan and not in it.
func (p planPage) left(w io.Writer) {
	if len(p.plan.Left) == 0 {
		return
	}
	fmt.Fprintf(w, "NOT PLANNED  %s\n", plural(len(p.plan.Left), "item due by then", "items due by then"))
	for _, l := range p.plan.Left {
		p.entry(w, "  "+l.Forecast.DueOn.Format("Jan 2"), fmt.Sprintf("%s, %s: %s", l.Machine.Label(), models.ItemName(l.Item, "en"), l.Why))
	}
	fmt.Fprintln(w)
}

// summary says how good the plan is.
func (p planPage) summary(w io.Writer) {
	agreed := 0
	for _, s := range p.plan.Stops {
		if s.Standing == shop.StandingAgreed {
			agreed++
		}
	}
	say := fmt.Sprintf("%s from %s to %s, %d agreed", plural(len(p.plan.Stops), "visit", "visits"), p.plan.From, p.plan.Until, agreed)
	switch {
	case p.plan.Bound <= 0:
	case p.plan.Gap < 0.0005:
		say += "; proven to be the best possible"
	case p.plan.Optimal:
		say += fmt.Sprintf("; the best possible, by enumeration (within %.1f %% by the bound alone)", 100*p.plan.Gap)
	default:
		say += fmt.Sprintf("; proven within %.1f %% of the best possible", 100*p.plan.Gap)
	}
	p.wrapped(w, say+".")
}
