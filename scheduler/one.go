package scheduler

import (
	"context"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/interval"
	"example.org/roundsman/scheduler/usage"
)

// Prospect is all that is worked out about one machine on a day.
type Prospect struct {
	Today     models.Date
	History   models.History // the facts dated up to that day
	People    models.People
	Rules     []models.Rule // those that hold for the machine
	Screened  usage.Screened
	Use       *usage.Model
	Forecasts []models.Forecast // as on the board
}

// ProspectOf works out one machine at a time, as the board would show it. It
// stores nothing.
func ProspectOf(ctx context.Context, st Store, m NotifySettings, machine string, at time.Time) (Prospect, error) {
	p := Prospect{Today: models.DateOf(at.In(m.Zone))}
	pr, err := profileAt(ctx, st, models.InstantOf(at), p.Today)
	if err != nil {
		return p, err
	}
	hs, err := st.Histories(ctx, []string{machine}, models.Window{AsOf: p.Today})
	if err != nil {
		return p, err
	}
	if len(hs) == 0 {
		return p, models.Errorf(models.CodeNotFound, "", "no machine has the id %q", machine)
	}
	p.History = hs[0]
	rules, err := st.Rules(ctx)
	if err != nil {
		return p, err
	}
	told, err := toldOf(ctx, st, []string{machine})
	if err != nil {
		return p, err
	}
	people, err := st.People(ctx, []string{p.History.Machine.Owner}, p.Today)
	if err != nil {
		return p, err
	}
	p.People = people[p.History.Machine.Owner]
	book := interval.NewBook(rules)
	p.Rules = book.For(p.History.Machine)
	p.Screened = usage.Screen(p.History)
	p.Use = usage.Fit(&p.Screened, pr.fit)
	p.Forecasts = forecasts(p.History, &p.Screened, p.Use, book, pr.number, corrections(told[machine]), p.Today)
	for i := range p.Forecasts {
		f := &p.Forecasts[i]
		f.Reason = interval.ReasonOn(*f, p.Today)
		*f = interval.Capped(*f, p.Today, interval.LateHorizon)
	}
	return p, nil
}
