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
	fleet := trial.Fleet{Rules: interval.NewBook(rules).For}
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
