// Package picture draws a machine's use with its range and what falls due
// when, and the downtime plan, as SVG. It takes values and gives texts;
// nothing else is touched. Pictures are told apart by shapes and words, not by
// colors alone, so that they read in grey.
package picture

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/roundsman/models"
)

// Usage is what the picture of one meter's use shows.
type Usage struct {
	Title  string // "" for none
	Unit   string // "mi", "km", "h"
	Today  models.Date
	Read   []Dot   // accepted readings
	Doubts []Dot   // doubted ones, as they were entered
	Path   []Range // the likely value with its 80 % range, by date
	Due    []Due
}

// Dot is a value on a day.
type Dot struct {
	On    models.Date
	Value float64
}

// Range is a likely value with its 80 % range.
type Range struct {
	On                models.Date
	Low, Likely, High float64
}

// Due is an item with the value and dates at which it falls due; Value 0 is
// an item that the calendar drives.
type Due struct {
	Name             string
	Value            float64
	Early, On, Later models.Date
}

// Words is how a picture of use speaks to its reader.
type Words struct {
	Language string // "en" or "es"
	Day      func(models.Date) string
	Whole    func(models.Number) string // a figure without decimals
}

// English speaks English.
func English() Words {
	return Words{Language: "en", Day: func(d models.Date) string { return d.Format("Jan 2, 2006") },
		Whole: func(n models.Number) string { return models.Grouped(math.Round(n.F)) }}
}

var (
	wordToday = models.Phrase{EN: "today", ES: "hoy"}
	wordMore  = models.Phrase{EN: "%s and %d more", ES: "%s y %d más"}
	wordsKey  = []models.Phrase{
		{EN: "Dots are readings, crosses doubted ones, the line is what is likely;", ES: "Los puntos son lecturas, las cruces las dudosas, la línea es lo"},
		{EN: "the band holds it in four cases of five.", ES: "probable; la banda lo contiene cuatro veces de cada cinco."},
	}
	wordsDue = models.Phrase{EN: "Triangles are what falls due:", ES: "Los triángulos son lo que vence:"}
)

// Measures of the picture of use in pixels. Its words stay legible when a
// phone shows it at two thirds of its size.
const (
	useWidth          = 520
	useLeft, useRight = 12, 508
	useHigh           = 232 // from the top value to the base line
	useText           = 15
	useLine           = 20
	fonts             = "Source Sans 3, Noto Sans, Segoe UI, Liberation Sans, Arial, sans-serif"
)

// Inks: two darknesses of one blue-grey, and a rust for what is doubted.
const (
	inkDark  = "#1b2a30"
	inkQuiet = "#53636a"
	inkRust  = "#8f3f12"
	inkBand  = "#c3d2d3"
)

// useDrawing is a picture of use on its way: where days and values stand.
type useDrawing struct {
	strings.Builder
	first, last models.Date
	top         float64 // the highest value
	head, base  int     // y of the top value and of the base line
}

// x gives the place of a day, those outside at the edges.
func (d *useDrawing) x(on models.Date) float64 {
	span := float64(max(1, d.first.DaysTo(d.last)))
	return useLeft + float64(d.first.DaysTo(min(max(on, d.first), d.last)))/span*(useRight-useLeft)
}

// y gives the place of a value, those outside at the edges.
func (d *useDrawing) y(v float64) float64 {
	return float64(d.base) - math.Max(0, math.Min(v, d.top))/d.top*useHigh
}

func (d *useDrawing) text(x float64, y int, more, s string) {
	fmt.Fprintf(d, `<text x="%.1f" y="%d"%s>%s</text>`, x, y, more, escape(s))
}

// Draw gives the picture as SVG 1.1. The same picture gives the same bytes.
func (u Usage) Draw(w Words) string {
	d := u.frame()
	due := u.merged(w)
	u.years(d)
	u.path(d)
	fmt.Fprintf(d, `<path d="M%.1f %dV%d" stroke="%s" stroke-dasharray="3 4"/>`, d.x(u.Today), d.head-8, d.base, inkDark)
	d.text(d.x(u.Today)-6, d.head-6, ` fill="`+inkQuiet+`" text-anchor="end"`, wordToday.In(w.Language)+", "+w.Day(u.Today))
	for i, it := range due {
		x, y := d.x(it.On), d.y(it.Value)
		fmt.Fprintf(d, `<path d="M%.1f %.1fH%.1f" stroke="%s" stroke-dasharray="4 2"/><path d="m%.1f %.1fl5 9h-10z" fill="%s"/>`,
			d.x(it.Early), y, d.x(it.Later), inkDark, x, y-5, inkDark)
		d.text(x, int(y)-8, ` text-anchor="middle" font-size="12"`, fmt.Sprint(i+1))
	}
	u.dots(d)
	d.text(useLeft, d.head+useText, ` fill="`+inkQuiet+`"`, w.Whole(models.Num(d.top))+" "+u.Unit)
	y := d.base + useText + 6
	line := func(s string) {
		y += useLine
		d.text(useLeft, y, "", s)
	}
	for _, words := range wordsKey {
		line(words.In(w.Language))
	}
	if len(due) > 0 {
		line(wordsDue.In(w.Language))
	}
	for i, it := range due {
		line(models.Shorten(fmt.Sprintf("%d  %s: %s", i+1, w.Day(it.On), it.Name), 72))
	}
	if u.Title != "" {
		d.text(useLeft, useLine, ` font-weight="bold"`, u.Title)
	}
	return fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" width="%d" height="%d" font-family="%s" font-size="%d" fill="%s"><rect width="%d" height="%d" fill="#fff"/>`,
		useWidth, y+10, useWidth, y+10, fonts, useText, inkDark, useWidth, y+10) + d.String() + "</svg>\n"
}

// frame finds what the picture reaches over.
func (u Usage) frame() *useDrawing {
	d := &useDrawing{first: u.Today, last: u.Today, top: 1, head: 30}
	if u.Title != "" {
		d.head += useLine
	}
	d.base = d.head + useHigh
	for _, p := range u.Path {
		d.first, d.last, d.top = min(d.first, p.On), max(d.last, p.On), max(d.top, p.High)
	}
	for _, r := range u.Read {
		d.first, d.top = min(d.first, r.On), max(d.top, r.Value)
	}
	return d
}

// years draws the base line with the beginning of each year.
func (u Usage) years(d *useDrawing) {
	fmt.Fprintf(d, `<path d="M%d %dH%d" stroke="%s"/>`, useLeft, d.base, useRight, inkQuiet)
	for year := d.first.Year(); year <= d.last.Year(); year++ {
		at := max(models.NewDate(year, 1, 1), d.first)
		fmt.Fprintf(d, `<path d="M%.1f %dv7" stroke="%s"/>`, d.x(at), d.base, inkQuiet)
		if end := min(models.NewDate(year+1, 1, 1), d.last); d.x(end)-d.x(at) > 44 {
			d.text(d.x(at)+4, d.base+useText+4, ` fill="`+inkQuiet+`"`, fmt.Sprint(year))
		}
	}
}

// path draws what is likely and the band around it.
func (u Usage) path(d *useDrawing) {
	if len(u.Path) < 2 {
		return
	}
	var likely, band strings.Builder
	to := "M"
	for _, p := range u.Path {
		fmt.Fprintf(&likely, "%s%.1f %.1f", to, d.x(p.On), d.y(p.Likely))
		fmt.Fprintf(&band, "%s%.1f %.1f", to, d.x(p.On), d.y(p.High))
		to = "L"
	}
	for _, p := range slices.Backward(u.Path) {
		fmt.Fprintf(&band, "L%.1f %.1f", d.x(p.On), d.y(p.Low))
	}
	fmt.Fprintf(d, `<path d="%sZ" fill="%s"/><path d="%s" fill="none" stroke="%s" stroke-width="2"/>`, band.String(), inkBand, likely.String(), inkDark)
}

// dots draws readings: dots the accepted, crosses the doubted.
func (u Usage) dots(d *useDrawing) {
	for _, r := range u.Read {
		fmt.Fprintf(d, `<circle cx="%.1f" cy="%.1f" r="3"/>`, d.x(r.On), d.y(r.Value))
	}
	for _, r := range u.Doubts {
		if r.On >= d.first && r.On <= d.last {
			fmt.Fprintf(d, `<path d="m%.1f %.1fl8 8m0-8l-8 8" stroke="%s" stroke-width="2"/>`, d.x(r.On)-4, d.y(r.Value)-4, inkRust)
		}
	}
}

// sameTime is how near to each other two dates are one mark, in days.
const sameTime = 10

// merged joins items that fall due at about the same time, by date, and puts
// each on the height of its value, or of the likely path where the calendar
// drives it.
func (u Usage) merged(w Words) []Due {
	due := slices.Clone(u.Due)
	slices.SortStableFunc(due, func(a, b Due) int { return cmp.Compare(a.On, b.On) })
	var out []Due
	names, first := 0, ""
	for _, d := range due {
		if d.On == 0 {
			continue
		}
		if d.Value <= 0 {
			d.Value = u.likely(d.On)
		}
		if n := len(out); n > 0 && out[n-1].On.DaysTo(d.On) <= sameTime {
			names++
			out[n-1].Early, out[n-1].Later = min(out[n-1].Early, d.Early), max(out[n-1].Later, d.Later)
			out[n-1].Name = fmt.Sprintf(wordMore.In(w.Language), first, names)
			continue
		}
		names, first = 0, d.Name
		out = append(out, d)
	}
	return out
}

// likely gives the likely value on a day, 0 where the path is not known.
func (u Usage) likely(on models.Date) float64 {
	best, far := 0.0, math.MaxInt
	for _, r := range u.Path {
		if d := max(r.On.DaysTo(on), on.DaysTo(r.On)); d < far {
			best, far = r.Likely, d
		}
	}
	return best
}
