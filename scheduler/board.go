package scheduler

import (
	"cmp"
	"context"
	"slices"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/interval"
	"example.org/roundsman/scheduler/usage"
)

// BoardLine is one machine and item on the board.
type BoardLine struct {
	Machine  models.Machine
	Owner    models.Owner
	Forecast models.Forecast // its stage and what is left are those of the board's day
}

// Board works out every machine's items at a time from the facts dated up to
// that day, the most urgent first. It stores nothing. A machine that has not
// come into service yet is left out.
func Board(ctx context.Context, st Store, m NotifySettings, at time.Time) ([]BoardLine, error) {
	today := models.DateOf(at.In(m.Zone))
	p, err := profileAt(ctx, st, models.InstantOf(at), today)
	if err != nil {
		return nil, err
	}
	rules, err := st.Rules(ctx)
	if err != nil {
		return nil, err
	}
	book := interval.NewBook(rules)
	var lines []BoardLine
	var batch []models.History
	flush := func() error {
		more, err := boardOf(ctx, st, batch, func(h models.History, told []models.Notice) []models.Forecast {
			s := usage.Screen(h)
			return forecasts(h, &s, usage.Fit(&s, p.fit), book, p.number, corrections(told), today)
		}, today)
		batch = batch[:0]
		lines = append(lines, more...)
		return err
	}
	err = st.EachHistory(ctx, models.Window{AsOf: today}, func(h models.History) error {
		if h.Machine.InService > today {
			return nil
		}
		if batch = append(batch, h); len(batch) < batchMachines {
			return nil
		}
		return flush()
	})
	if err == nil {
		err = flush()
	}
	if err != nil {
		return nil, err
	}
	for i := range lines {
		f := &lines[i].Forecast
		f.Reason = interval.ReasonOn(*f, today)
		*f = interval.Capped(*f, today, interval.LateHorizon)
	}
	slices.SortStableFunc(lines, byUrgency)
	return lines, nil
}

// boardOf makes the lines of some machines.
func boardOf(ctx context.Context, st Store, hs []models.History,
	work func(models.History, []models.Notice) []models.Forecast, today models.Date) ([]BoardLine, error) {
	if len(hs) == 0 {
		return nil, nil
	}
	ids := make([]string, len(hs))
	owners := make([]string, len(hs))
	for i, h := range hs {
		ids[i], owners[i] = h.Machine.ID, h.Machine.Owner
	}
	slices.Sort(owners)
	people, err := st.People(ctx, slices.Compact(owners), today)
	if err != nil {
		return nil, err
	}
	told, err := toldOf(ctx, st, ids)
	if err != nil {
		return nil, err
	}
	sights := lookAt(ctx, hs, 2, func(h models.History) sight {
		return sight{forecasts: work(h, told[h.Machine.ID])}
	})
	var lines []BoardLine
	for i, s := range sights {
		if s.err != nil {
			return nil, s.err
		}
		for _, f := range s.forecasts {
			lines = append(lines, BoardLine{Machine: hs[i].Machine, Owner: people[hs[i].Machine.Owner].Owner, Forecast: f})
		}
	}
	return lines, ctx.Err()
}

// byUrgency orders the board: stage, date, then names. Lines without a date
// come last within their stage.
func byUrgency(a, b BoardLine) int {
	day := func(d models.Date) models.Date {
		if d == 0 {
			return models.MaxDate
		}
		return d
	}
	return cmp.Or(
		cmp.Compare(a.Forecast.Stage.Rank(), b.Forecast.Stage.Rank()),
		cmp.Compare(day(a.Forecast.DueOn), day(b.Forecast.DueOn)),
		cmp.Compare(a.Machine.Owner, b.Machine.Owner),
		cmp.Compare(a.Machine.Label(), b.Machine.Label()),
		cmp.Compare(a.Machine.ID, b.Machine.ID),
		cmp.Compare(a.Forecast.Item, b.Forecast.Item),
	)
}
