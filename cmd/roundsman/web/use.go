package web

import (
	"bytes"
	"fmt"
	"math"
	"strings"

	"example.org/roundsman/cmd/roundsman/picture"
	"example.org/roundsman/models"
)

// Measures of the picture of a machine's use in pixels. Its words stay legible
// when a phone shows it at two thirds of its size.
const (
	useWidth, useHeight = 520, 300
	useLeft, useRight   = 12, 508
	useTop, useBase     = 30, 262
	useText             = 15
)

// Inks of pictures that stand alone: those of site.css.
const (
	inkDark  = "#1b2a30"
	inkQuiet = "#53636a"
	inkRust  = "#8f3f12"
	inkBand  = "#c3d2d3"
)

// drawUse draws a machine's readings and how its use goes on: full dots are
// readings, crosses doubted ones, the line what is likely, the band where it is
// in four cases of five.
func (f frame) drawUse(u picture.Usage) *bytes.Buffer {
	var b bytes.Buffer
	first, last := u.Today, u.Today
	top := 1.0
	for _, p := range u.Path {
		first, last, top = min(first, p.On), max(last, p.On), max(top, p.High)
	}
	for _, d := range u.Read {
		first, top = min(first, d.On), max(top, d.Value)
	}
	span := float64(max(1, first.DaysTo(last)))
	x := func(d models.Date) float64 { return useLeft + float64(first.DaysTo(d))/span*(useRight-useLeft) }
	y := func(v float64) float64 { return useBase - math.Max(0, math.Min(v, top))/top*(useBase-useTop) }

	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" width="%d" height="%d" font-family="Source Sans 3, Noto Sans, Segoe UI, Liberation Sans, Arial, sans-serif" font-size="%d">`,
		useWidth, useHeight, useWidth, useHeight, useText)
	f.useYears(&b, first, last, x)
	if len(u.Path) > 1 {
		var likely, band strings.Builder
		for i, p := range u.Path {
			cmd := "L"
			if i == 0 {
				cmd = "M"
			}
			fmt.Fprintf(&likely, "%s%.1f %.1f", cmd, x(p.On), y(p.Likely))
			fmt.Fprintf(&band, "%s%.1f %.1f", cmd, x(p.On), y(p.High))
		}
		for i := len(u.Path) - 1; i >= 0; i-- {
			fmt.Fprintf(&band, "L%.1f %.1f", x(u.Path[i].On), y(u.Path[i].Low))
		}
		fmt.Fprintf(&b, `<path d="%sZ" fill="%s"/><path d="%s" fill="none" stroke="%s" stroke-width="2"/>`, band.String(), inkBand, likely.String(), inkDark)
	}
	fmt.Fprintf(&b, `<path d="M%.1f %dV%d" stroke="%s" stroke-dasharray="3 4"/><text x="%.1f" y="%d" fill="%s" text-anchor="end">%s</text>`,
		x(u.Today), useTop-8, useBase, inkDark, x(u.Today)-6, useTop-6, inkQuiet, f.T("today"))
	for _, d := range u.Read {
		fmt.Fprintf(&b, `<circle cx="%.1f" cy="%.1f" r="3" fill="%s"/>`, x(d.On), y(d.Value), inkDark)
	}
	for _, d := range u.Doubts {
		if d.On >= first && d.On <= last {
			fmt.Fprintf(&b, `<path d="m%.1f %.1fl8 8m0-8l-8 8" stroke="%s" stroke-width="2"/>`, x(d.On)-4, y(d.Value)-4, inkRust)
		}
	}
	fmt.Fprintf(&b, `<text x="%d" y="%d" fill="%s">%s %s</text></svg>`, useLeft, useTop+useText, inkQuiet, f.Whole(models.Num(top)), f.useUnit(u.Unit))
	return &b
}

// useYears draws the base line with the beginning of each year.
func (f frame) useYears(b *bytes.Buffer, first, last models.Date, x func(models.Date) float64) {
	fmt.Fprintf(b, `<path d="M%d %dH%d" stroke="%s"/>`, useLeft, useBase, useRight, inkQuiet)
	for year := first.Year(); year <= last.Year(); year++ {
		at := max(models.NewDate(year, 1, 1), first)
		fmt.Fprintf(b, `<path d="M%.1f %dv7" stroke="%s"/>`, x(at), useBase, inkQuiet)
		if end := min(models.NewDate(year+1, 1, 1), last); x(end)-x(at) > 44 {
			fmt.Fprintf(b, `<text x="%.1f" y="%d" fill="%s">%d</text>`, x(at)+4, useBase+useText+4, inkQuiet, year)
		}
	}
}

// useUnit gives a unit's word.
func (f frame) useUnit(unit string) string {
	switch unit {
	case "hours":
		return "h"
	case "kilometers":
		return "km"
	case "miles":
		return "mi"
	}
	return ""
}
