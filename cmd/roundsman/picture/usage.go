// Package picture draws: a machine's use with its range, and what falls due
// when. It takes values and writes bytes; nothing else is touched. Pictures
// are told apart by shapes and words, not by colors alone, so that they read
// in grey.
package picture

import (
	"cmp"
	"fmt"
	"image/color"
	"io"
	"math"
	"slices"
	"time"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	_ "gonum.org/v1/plot/vg/vgimg" // PNG
	_ "gonum.org/v1/plot/vg/vgsvg" // SVG

	"example.org/roundsman/models"
)

// Usage is what the picture of one meter's use shows.
type Usage struct {
	Title  string
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

// Formats that Draw knows.
const (
	SVG = "svg"
	PNG = "png"
)

// Colors: two darknesses of one blue-grey, and a rust for what is doubted and
// for today.
var (
	ink   = color.NRGBA{R: 0x22, G: 0x30, B: 0x3a, A: 0xff}
	band  = color.NRGBA{R: 0x6b, G: 0x8a, B: 0x99, A: 0x50}
	rust  = color.NRGBA{R: 0xa8, G: 0x48, B: 0x1f, A: 0xff}
	faint = color.NRGBA{R: 0xd8, G: 0xdc, B: 0xdd, A: 0xff}
)

// Draw writes the picture as SVG or PNG. The same picture gives the same
// bytes.
func (u Usage) Draw(w io.Writer, format string) error {
	p := plot.New()
	p.Title.Text = u.Title
	p.Title.TextStyle.Font.Size = vg.Points(15)
	p.Title.Padding = vg.Points(10)
	p.BackgroundColor = color.White
	p.X.Tick.Marker = months{}
	p.Y.Label.Text = u.Unit
	grid := plotter.NewGrid()
	grid.Vertical.Color, grid.Horizontal.Color = faint, faint
	p.Add(grid)
	for _, add := range []func(*plot.Plot) error{u.addRange, u.addDue, u.addDots} {
		if err := add(p); err != nil {
			return fmt.Errorf("drawing the use: %w", err)
		}
	}
	p.Legend.Top, p.Legend.Left = true, true
	p.Legend.Padding = vg.Points(3)
	if math.IsInf(p.Y.Min, 0) || math.IsInf(p.Y.Max, 0) { // nothing is known
		p.Y.Min, p.Y.Max = 0, 1
	}
	room := math.Max((p.Y.Max-p.Y.Min)*0.05, 1)
	p.Y.Min, p.Y.Max = math.Max(0, p.Y.Min-room), p.Y.Max+8*room // the legend stands above
	if err := u.addToday(p); err != nil {
		return fmt.Errorf("drawing the use: %w", err)
	}
	c, err := p.WriterTo(26*vg.Centimeter, 15*vg.Centimeter, format)
	if err != nil {
		return fmt.Errorf("drawing the use: %w", err)
	}
	if _, err := c.WriteTo(w); err != nil {
		return fmt.Errorf("writing the picture: %w", err)
	}
	return nil
}

// x gives the place of a date: its day number.
func x(d models.Date) float64 { return float64(d) }

// addRange draws the likely path and the band around it.
func (u Usage) addRange(p *plot.Plot) error {
	if len(u.Path) < 2 {
		return nil
	}
	var edge, path plotter.XYs
	for _, r := range u.Path {
		edge = append(edge, plotter.XY{X: x(r.On), Y: r.High})
		path = append(path, plotter.XY{X: x(r.On), Y: r.Likely})
	}
	for i := len(u.Path) - 1; i >= 0; i-- {
		edge = append(edge, plotter.XY{X: x(u.Path[i].On), Y: u.Path[i].Low})
	}
	area, err := plotter.NewPolygon(edge)
	if err != nil {
		return err
	}
	area.Color, area.LineStyle.Width = band, 0
	line, err := plotter.NewLine(path)
	if err != nil {
		return err
	}
	line.Color, line.Width = ink, vg.Points(1.6)
	p.Add(area, line)
	p.Legend.Add("likely value", line)
	p.Legend.Add("4 cases of 5 lie within", area)
	return nil
}

// addDots draws readings: dots the accepted, crosses the doubted.
func (u Usage) addDots(p *plot.Plot) error {
	for _, set := range []struct {
		dots  []Dot
		name  string
		shape draw.GlyphDrawer
		color color.Color
	}{{u.Read, "reading", draw.CircleGlyph{}, ink}, {u.Doubts, "doubted", draw.CrossGlyph{}, rust}} {
		if len(set.dots) == 0 {
			continue
		}
		pts := make(plotter.XYs, len(set.dots))
		for i, d := range set.dots {
			pts[i] = plotter.XY{X: x(d.On), Y: d.Value}
		}
		s, err := plotter.NewScatter(pts)
		if err != nil {
			return err
		}
		s.GlyphStyle = draw.GlyphStyle{Color: set.color, Radius: vg.Points(3), Shape: set.shape}
		p.Add(s)
		p.Legend.Add(set.name, s)
	}
	return nil
}

// addDue draws each date as a bar from early to late with a mark at the likely
// day, numbered; the numbers are told in the legend, where they cannot run into
// each other.
func (u Usage) addDue(p *plot.Plot) error {
	var labels plotter.XYLabels
	for i, d := range u.merged() {
		span, err := plotter.NewLine(plotter.XYs{{X: x(d.Early), Y: d.Value}, {X: x(d.Later), Y: d.Value}})
		if err != nil {
			return err
		}
		span.Color, span.Width = ink, vg.Points(1)
		span.Dashes = []vg.Length{vg.Points(4), vg.Points(2)}
		mark, err := plotter.NewScatter(plotter.XYs{{X: x(d.On), Y: d.Value}})
		if err != nil {
			return err
		}
		mark.GlyphStyle = draw.GlyphStyle{Color: ink, Radius: vg.Points(4), Shape: draw.PyramidGlyph{}}
		p.Add(span, mark)
		labels.XYs = append(labels.XYs, plotter.XY{X: x(d.On), Y: d.Value})
		labels.Labels = append(labels.Labels, fmt.Sprint(i+1))
		p.Legend.Add(fmt.Sprintf("%d  %s: %s", i+1, d.On.Format("Jan 2 2006"), d.Name))
	}
	if len(labels.Labels) == 0 {
		return nil
	}
	l, err := plotter.NewLabels(labels)
	if err != nil {
		return err
	}
	for i := range l.TextStyle {
		l.TextStyle[i].Color = ink
		l.TextStyle[i].Font = font.From(plot.DefaultFont, vg.Points(11))
		l.TextStyle[i].XAlign = draw.XCenter
	}
	l.Offset = vg.Point{Y: vg.Points(7)}
	p.Add(l)
	return nil
}

// sameTime is how near to each other two dates are one mark, in days.
const sameTime = 10

// merged joins items that fall due at about the same time, by date, and puts
// each on the height of its value, or of the likely path where the calendar
// drives it.
func (u Usage) merged() []Due {
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
			out[n-1].Name = fmt.Sprintf("%s and %d more", first, names)
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

// addToday draws a line at today.
func (u Usage) addToday(p *plot.Plot) error {
	if u.Today == 0 {
		return nil
	}
	line, err := plotter.NewLine(plotter.XYs{{X: x(u.Today), Y: p.Y.Min}, {X: x(u.Today), Y: p.Y.Max}})
	if err != nil {
		return err
	}
	line.Color, line.Width, line.Dashes = rust, vg.Points(1), []vg.Length{vg.Points(1), vg.Points(3)}
	p.Add(line)
	p.Legend.Add("today, "+u.Today.Format("Jan 2 2006"), line)
	return nil
}

// months marks the axis of dates at the first of months.
type months struct{}

// Ticks gives a mark for each month, named as far as there is room.
func (months) Ticks(lo, hi float64) []plot.Tick {
	from, to := models.Date(math.Floor(lo)), models.Date(math.Ceil(hi))
	if from < 1 || to <= from {
		return nil
	}
	every := max(1, from.DaysTo(to)/30/9)
	var out []plot.Tick
	y, m, _ := from.Civil()
	for i := 0; ; i++ {
		d := models.NewDate(y, m+time.Month(i), 1)
		if d > to {
			return out
		}
		if d < from {
			continue
		}
		t := plot.Tick{Value: x(d)}
		if i%every == 0 {
			t.Label = d.Format("Jan 2006")
		}
		out = append(out, t)
	}
}
