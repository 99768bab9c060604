package app

import (
	"context"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/interval"
	"example.org/roundsman/scheduler/usage/trial"
)

// Case asks when an item of a machine falls due, as known on a day.
type Case = trial.Case

// Cases answers each case from what was known on its day, and lists the
// readings doubted on the days asked.
func (a *App) Cases(ctx context.Context, cases []Case) ([]trial.Answer, []trial.Doubted, error) {
	rules, err := a.Store.Rules(ctx)
	if err != nil {
		return nil, nil, err
	}
	book := interval.NewBook(rules)
	fleet := trial.Fleet{Interval: func(m models.Machine, item string, first bool) (trial.Interval, bool) {
		for _, r := range book.For(m) {
			if r.Item == item {
				return intervalOf(r, first), true
			}
		}
		return trial.Interval{}, false
	}}
	err = a.Store.EachHistory(ctx, models.Window{}, func(h models.History) error {
		fleet.Histories = append(fleet.Histories, h)
		return nil
	})
	if err != nil {
		return nil, nil, err
	}
	answers, doubted := trial.Forecast(fleet, cases)
	return answers, doubted, ctx.Err()
}

// intervalOf gives the limits of a rule, those of the first interval where it
// is one.
func intervalOf(r models.Rule, first bool) trial.Interval {
	v := trial.Interval{Miles: r.Miles, Hours: r.Hours, Months: r.Months}
	if first {
		if r.FirstMiles.Known {
			v.Miles = r.FirstMiles
		}
		if r.FirstHours.Known {
			v.Hours = r.FirstHours
		}
		if r.FirstMonths > 0 {
			v.Months = r.FirstMonths
		}
	}
	return v
}
