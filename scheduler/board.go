package scheduler

import (
	"cmp"
	"context"
	"slices"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/policy"
)

// BoardLine is one machine and item on the board.
type BoardLine struct {
	Machine  models.Machine
	Owner    models.Owner
	Forecast models.Forecast        // its stage and what is left are those of the board's day
	Job      string                 // the job in which it is being done; "": none
	Standing models.MachineStanding // as of the board's day
	Quiet    bool                   // the shop has it in hand: nothing is told or planned
}

// BoardView is the board: what falls due, and what keeps it from being whole.
type BoardView struct {
	Lines   []BoardLine      // the most urgent first
	Doubted []models.Machine // once for each value that is left out because it does not fit
	Unruled []models.Machine // no rule is for them: nothing ever falls due
	LaidUp  []LaidUp         // of them nothing is due until their day
}

// Of gives the part of the board that is about one owner's machines.
func (v BoardView) Of(owner string) BoardView {
	others := func(m models.Machine) bool { return m.Owner != owner }
	return BoardView{
		Lines:   slices.DeleteFunc(slices.Clone(v.Lines), func(l BoardLine) bool { return others(l.Machine) }),
		Doubted: slices.DeleteFunc(slices.Clone(v.Doubted), others),
		Unruled: slices.DeleteFunc(slices.Clone(v.Unruled), others),
		LaidUp:  slices.DeleteFunc(slices.Clone(v.LaidUp), func(l LaidUp) bool { return others(l.Machine) }),
	}
}

// LaidUp is a machine that is laid up, with the day from which it is in use.
type LaidUp struct {
	Machine models.Machine
	Until   models.Date
}

// Board works out every machine's items at a time from the facts dated up to
// that day. It stores nothing. A machine that has not come into service yet is
// left out.
func Board(ctx context.Context, st Store, m policy.Settings, at time.Time) (v BoardView, err error) {
	p, err := ProfileAt(ctx, st, m, at)
	if err != nil {
		return v, err
	}
	today := models.DateOf(at.In(m.Zone))
	basis, err := basisOn(ctx, st, m, today, p)
	if err != nil {
		return v, err
	}
	var batch []models.History
	flush := func() error {
		facts, err := factsOf(ctx, st, batch, today)
		if err != nil {
			return err
		}
		batch = batch[:0]
		es := evaluateAll(ctx, facts, basis, defaultWorkers)
		for i := range es {
			e := &es[i]
			for range doubtfulIn(e.History) {
				v.Doubted = append(v.Doubted, e.Machine())
			}
			if len(e.Rules) == 0 && e.Err == nil {
				v.Unruled = append(v.Unruled, e.Machine())
			}
			if e.LaidUpUntil != 0 {
				v.LaidUp = append(v.LaidUp, LaidUp{e.Machine(), e.LaidUpUntil})
			}
			for _, f := range e.Shown() {
				v.Lines = append(v.Lines, BoardLine{Machine: e.Machine(), Owner: e.People.Owner, Forecast: f, Job: e.Stay.Doing[f.Item], Standing: e.History.Standing().AsOf(today), Quiet: e.Quiet(f.Item)})
			}
		}
		return cmp.Or(firstError(es), ctx.Err())
	}
	err = st.EachHistory(ctx, models.Window{AsOf: today}, func(h models.History) error {
		if batch = append(batch, h); len(batch) < batchMachines {
			return nil
		}
		return flush()
	})
	if err == nil {
		err = flush()
	}
	if err != nil {
		return BoardView{}, err
	}
	slices.SortStableFunc(v.Lines, byUrgency)
	return v, nil
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
