package app

import (
	"context"
	"fmt"
	"time"

	"example.org/roundsman/cmd/roundsman/picture"
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
)

// chartAhead is how many days after today the picture of a machine's use goes
// on.
const chartAhead = 365

// Chart gives the picture of a machine's use at a time. meter "" is the one
// with the most readings; lang is that of the items' names.
func (a *App) Chart(ctx context.Context, machine string, meter models.Meter, at time.Time, lang string) (picture.Usage, error) {
	return a.chart(ctx, scheduler.ProfileAt, machine, meter, at, lang)
}

func (a *App) chart(ctx context.Context, profile profileOf, machine string, meter models.Meter, at time.Time, lang string) (picture.Usage, error) {
	p, err := a.evaluation(ctx, profile, machine, at)
	if err != nil {
		return picture.Usage{}, err
	}
	m := p.History.Machine
	if meter == "" {
		meter = models.Odometer
		if len(p.Screened.Of(models.HourMeter)) > len(p.Screened.Of(models.Odometer)) || !m.Meters.Has(models.Odometer) {
			meter = models.HourMeter
		}
	}
	if !m.Meters.Has(meter) {
		return picture.Usage{}, models.Errorf(models.CodeInvalid, "leave --meter out, or correct the machine's meters",
			"%s has no such meter (its meters: %s)", m.Label(), m.Meters)
	}
	return chartOf(p, meter, lang), nil
}

// chartOf draws up what the picture shows. Values are on the scale that runs
// on through swaps and turnovers of the meter.
func chartOf(p scheduler.Evaluation, meter models.Meter, lang string) picture.Usage {
	m := p.History.Machine
	unit, factor := "h", 1.0
	if meter == models.Odometer {
		if unit = "mi"; m.Meters.Metric() {
			unit, factor = "km", models.KilometersPerMile
		}
	}
	u := picture.Usage{Title: fmt.Sprintf("%s: %s, %s", m.Label(), m.Kind, unit), Unit: unit, Today: p.Today}
	first := p.Today
	for _, pt := range p.Screened.Of(meter) {
		u.Read = append(u.Read, picture.Dot{On: pt.On, Value: pt.Value * factor})
		first = min(first, pt.On)
	}
	rows := make(map[int64]models.Reading, len(p.History.Readings))
	for _, r := range p.History.Readings {
		rows[r.Row] = r
	}
	for _, d := range p.Screened.Doubts {
		r, known := rows[d.Reading]
		if !known || d.Meter != meter {
			continue
		}
		if v, ok := p.Screened.Cumulative(meter, r.At, r.Value(meter).F); ok {
			u.Doubts = append(u.Doubts, picture.Dot{On: r.At, Value: v * factor})
		}
	}
	for d := first; d <= p.Today.AddDays(chartAhead); d = d.AddDays(7) {
		if r, ok := p.Use.At(meter, d); ok {
			u.Path = append(u.Path, picture.Range{On: d, Low: r.Low * factor, Likely: r.Likely * factor, High: r.High * factor})
		}
	}
	for _, f := range p.Shown() {
		end := p.Today.AddDays(chartAhead)
		if f.DueOn.IsZero() || f.DueOn > end {
			continue
		}
		d := picture.Due{Name: models.ItemName(f.Item, lang), Early: f.EarlyOn, On: f.DueOn, Later: min(f.LateOn, end)}
		shown := f.AtMiles
		if meter == models.HourMeter {
			shown = f.AtHours
		}
		if shown.Known && drives(f.Driver, meter) { // else the path says where the meter stands then
			if v, ok := p.Screened.Cumulative(meter, p.Today, shown.F); ok {
				d.Value = v * factor
			}
		}
		u.Due = append(u.Due, d)
	}
	return u
}

// drives says whether a forecast's date comes from a meter.
func drives(d models.Driver, meter models.Meter) bool {
	if meter == models.HourMeter {
		return d == models.DriverHours
	}
	return d == models.DriverMiles || d == models.DriverKM
}
