package scheduler

import (
	"context"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/policy"
)

// pass is one round's pass over the machines that may have changed.
type pass struct {
	*Runner
	round   models.Round
	profile Profile
	basis   Basis
	based   int64 // the newest entry when the basis was made
	workers int
	teller  teller

	dry     bool                   // store nothing, keep the looks instead
	release []models.OwnerMachines // the machines to look at, as if they were released; nil: those that are owed a look
	looks   []models.Look          // of a dry run
}

// all looks at every machine that is owed a look, batch by batch.
func (l *pass) all(ctx context.Context) error {
	owed := l.release
	if owed == nil {
		var err error
		if owed, err = l.Store.ToLook(ctx, l.round.Today, l.round.Today.AddDays(policy.JoinDays), l.round.Profile); err != nil {
			return err
		}
	}
	total, done := 0, 0
	for _, o := range owed {
		total += len(o.Machines)
	}
	for len(owed) > 0 {
		n, size := 0, 0
		for n < len(owed) && (n == 0 || size+len(owed[n].Machines) <= batchMachines) {
			size += len(owed[n].Machines)
			n++
		}
		if err := l.batch(ctx, owed[:n]); err != nil {
			return err
		}
		owed = owed[n:]
		done += size
		if l.Progress != nil {
			l.Progress(done, total)
		}
	}
	return nil
}

// batch looks at the machines of some owners and stores what it found.
func (l *pass) batch(ctx context.Context, owners []models.OwnerMachines) error {
	var ids, names []string
	for _, o := range owners {
		names = append(names, o.Owner)
		ids = append(ids, o.Machines...)
	}
	last, err := l.Store.LastEntry(ctx) // before the facts: a later one looks again
	if err != nil {
		return err
	}
	if l.basis.Rules == nil || l.based != last { // machines are taken as looked at by all that the newest entry holds
		if l.basis, err = basisOn(ctx, l.Store, l.Notify, l.round.Today, l.profile); err != nil {
			return err
		}
		l.based = last
	}
	hs, err := l.Store.Histories(ctx, ids, models.Window{AsOf: l.round.Today})
	if err != nil {
		return err
	}
	facts, err := factsOf(ctx, l.Store, hs, l.round.Today)
	if err != nil {
		return err
	}
	for i := range facts {
		facts[i].Tellable.Released = facts[i].Tellable.Released || l.release != nil
	}
	before, err := l.stagesBefore(ctx, ids)
	if err != nil {
		return err
	}
	found := evaluateAll(ctx, facts, l.basis, l.workers)
	if err := ctx.Err(); err != nil {
		return err
	}
	look := models.Look{Round: l.round.ID, Today: l.round.Today, LastEntry: last, Looked: len(found)}
	byOwner := make(map[string][]*Evaluation, len(owners))
	for i := range found {
		e, m := &found[i], found[i].Machine()
		if e.Err != nil {
			look.Failed++
			l.Log.Error("machine not worked out", "machine", m.ID, "owner", m.Owner, "err", e.Err)
			continue
		}
		byOwner[m.Owner] = append(byOwner[m.Owner], e)
	}
	for _, name := range names {
		l.tell(&look, byOwner[name])
	}
	for _, f := range look.Forecasts {
		if before[[2]string{f.Machine, f.Item}] != f.Stage {
			look.Changed++
		}
	}
	if !l.dry {
		counted, err := l.Store.SaveLook(ctx, look)
		if err == nil {
			l.round = counted
		}
		return err
	}
	fresh := 0
	for _, letter := range look.Letters {
		if letter.Message.ID == 0 {
			fresh++
		}
	}
	l.round.Add(look, fresh)
	l.looks = append(l.looks, look)
	return nil
}

// tell adds to a look what was found on the machines of one owner and what is
// told of it.
func (l *pass) tell(look *models.Look, es []*Evaluation) {
	if len(es) == 0 {
		return
	}
	people := es[0].People
	told := l.teller.tell(people, es)
	look.Letters = append(look.Letters, told.letters...)
	look.Notices = append(look.Notices, told.withheld...)
	look.Stops = append(look.Stops, told.stops...)
	way := l.teller.nextWay(people, l.round.Today)
	for _, e := range es { // after the teller, which may raise a cycle
		id := e.Machine().ID
		look.Forecasts = append(look.Forecasts, e.Forecasts...)
		look.Doubts = append(look.Doubts, e.Screened.Doubts...)
		state := e.State()
		again, waits := told.waits[id]
		if again != 0 {
			state.NextLook = min(state.NextLook, again)
		}
		if state.Waits = waits; waits && way != 0 {
			state.NextLook = min(state.NextLook, way)
		}
		switch {
		case told.later[id] > 0:
			state.NextLook = min(state.NextLook, l.round.Today.AddDays(told.later[id]))
		case e.Ask != nil:
			state.NextLook = min(state.NextLook, l.round.Today.AddDays(askAgain))
		}
		look.States = append(look.States, state)
	}
}

// stagesBefore gives the stages stored before, by machine and item.
func (l *pass) stagesBefore(ctx context.Context, ids []string) (map[[2]string]models.Stage, error) {
	stored, err := l.Store.Forecasts(ctx, ids)
	if err != nil {
		return nil, err
	}
	before := make(map[[2]string]models.Stage, len(stored))
	for _, f := range stored {
		before[[2]string{f.Machine, f.Item}] = f.Stage
	}
	return before, nil
}
