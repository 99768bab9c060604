package scheduler

import (
	"context"
	"sync"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/interval"
	"example.org/roundsman/scheduler/job"
	"example.org/roundsman/scheduler/usage"
)

// looker is one round's pass over the machines that may have changed.
type looker struct {
	*Runner
	round   models.Round
	now     time.Time
	profile profile
	book    *interval.Book
	booked  int64 // the newest entry when the rules were read
	workers int
	teller  teller

	dry   bool          // store nothing, keep the looks instead
	looks []models.Look // of a dry run
}

// all looks at every machine that is owed a look, batch by batch.
func (l *looker) all(ctx context.Context) error {
	owed, err := l.Store.ToLook(ctx, l.round.Today, l.round.Profile)
	if err != nil {
		return err
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
func (l *looker) batch(ctx context.Context, owners []models.OwnerMachines) error {
	var ids, names []string
	for _, o := range owners {
		names = append(names, o.Owner)
		ids = append(ids, o.Machines...)
	}
	last, err := l.Store.LastEntry(ctx) // before the facts: a later one looks again
	if err != nil {
		return err
	}
	if err := l.readRules(ctx, last); err != nil {
		return err
	}
	in, err := l.load(ctx, ids, names)
	if err != nil {
		return err
	}
	found := lookAt(ctx, in.histories, l.workers, func(h models.History) sight {
		return l.sight(h, in)
	})
	if err := ctx.Err(); err != nil {
		return err
	}
	look := models.Look{Round: l.round.ID, LastEntry: last}
	outlooks := make(map[string][]outlook, len(owners))
	states := make(map[string]*models.MachineState, len(found))
	for i, s := range found {
		m := in.histories[i].Machine
		l.round.Looked++
		if s.err != nil {
			l.round.Failed++
			l.Log.Error("machine not worked out", "machine", m.ID, "owner", m.Owner, "err", s.err)
			continue
		}
		states[m.ID] = &found[i].state
		look.Doubts = append(look.Doubts, s.doubts...)
		outlooks[m.Owner] = append(outlooks[m.Owner], outlook{machine: m, forecasts: s.forecasts, checks: s.checks, ask: s.ask, told: in.told[m.ID]})
	}
	for _, name := range names {
		told := l.teller.tell(in.people[name], outlooks[name])
		look.Letters = append(look.Letters, told.letters...)
		look.Notices = append(look.Notices, told.withheld...)
		consent := nextConsent(in.people[name], l.round.Today)
		for _, o := range outlooks[name] { // after tell, which may raise a cycle
			look.Forecasts = append(look.Forecasts, o.forecasts...)
			state := states[o.machine.ID]
			if state.Waits = told.waits[o.machine.ID]; state.Waits && consent != 0 {
				state.NextLook = min(state.NextLook, consent)
			}
			switch {
			case told.later[o.machine.ID]:
				state.NextLook = min(state.NextLook, l.round.Today.AddDays(1))
			case o.ask != nil:
				state.NextLook = min(state.NextLook, l.round.Today.AddDays(askAgain))
			}
			look.States = append(look.States, *state)
		}
	}
	l.count(look, in.before)
	if l.dry {
		l.looks = append(l.looks, look)
		return nil
	}
	return l.Store.SaveLook(ctx, look)
}

// readRules reads the rules where something was recorded since they were read:
// machines are taken as looked at by all that the newest entry holds.
func (l *looker) readRules(ctx context.Context, last int64) error {
	if l.book != nil && l.booked == last {
		return nil
	}
	rules, err := l.Store.Rules(ctx)
	if err != nil {
		return err
	}
	l.book, l.booked = interval.NewBook(rules), last
	return nil
}

// count adds a look to the round's figures.
func (l *looker) count(look models.Look, before map[[2]string]models.Stage) {
	for _, f := range look.Forecasts {
		if before[[2]string{f.Machine, f.Item}] != f.Stage {
			l.round.Changed++
		}
	}
	l.round.Withheld += len(look.Notices)
	for _, letter := range look.Letters {
		l.round.Notices += len(letter.Notices)
		if letter.Message.ID == 0 {
			l.round.Messages++
		}
	}
}

// batchInput is what a batch reads from the store.
type batchInput struct {
	histories []models.History
	next      map[string]models.Date
	people    map[string]models.People
	told      map[string][]models.Notice
	owed      map[string][]models.OwedCheck
	before    map[[2]string]models.Stage // stages stored before, by machine and item
}

func (l *looker) load(ctx context.Context, ids, owners []string) (in batchInput, err error) {
	today := l.round.Today
	if in.histories, err = l.Store.Histories(ctx, ids, models.Window{AsOf: today}); err != nil {
		return in, err
	}
	if in.next, err = l.Store.NextFacts(ctx, ids, today); err != nil {
		return in, err
	}
	if in.people, err = l.Store.People(ctx, owners, today); err != nil {
		return in, err
	}
	if in.told, err = toldOf(ctx, l.Store, ids); err != nil {
		return in, err
	}
	owed, err := l.Store.OwedChecks(ctx, ids, models.CheckOwner)
	if err != nil {
		return in, err
	}
	in.owed = make(map[string][]models.OwedCheck)
	for _, o := range owed {
		in.owed[o.Machine.ID] = append(in.owed[o.Machine.ID], o)
	}
	stored, err := l.Store.Forecasts(ctx, ids)
	if err != nil {
		return in, err
	}
	in.before = make(map[[2]string]models.Stage, len(stored))
	for _, f := range stored {
		in.before[[2]string{f.Machine, f.Item}] = f.Stage
	}
	return in, nil
}

// sight is what a look at one machine found.
type sight struct {
	state     models.MachineState
	forecasts []models.Forecast
	checks    []models.Notice // owner checks to ask
	ask       *askedFor       // a reading to ask for; nil: none
	doubts    []models.Doubt
	err       error
}

// sight works out one machine. It is looked at again on the day of its first
// fact after today, which a round played at an earlier time will see then.
func (l *looker) sight(h models.History, in batchInput) sight {
	today := l.round.Today
	id := h.Machine.ID
	nextFact := in.next[id]
	s := sight{state: models.MachineState{Machine: h.Machine.ID, NextLook: models.MaxDate, Profile: l.round.Profile}}
	if nextFact != 0 {
		s.state.NextLook = nextFact
	}
	if h.Machine.InService > today { // not with this owner yet
		s.state.NextLook = min(s.state.NextLook, h.Machine.InService)
		return s
	}
	screened := usage.Screen(h)
	model := usage.Fit(&screened, l.profile.fit)
	s.doubts = screened.Doubts
	s.forecasts = forecasts(h, &screened, model, l.book, l.profile.number, corrections(in.told[id]), today)
	dateOf := func(i models.Instant) models.Date { return models.DateOf(i.Time().In(l.Notify.Zone)) }
	asking := job.OwnerAsks(job.AskInput{
		Owed: in.owed[id], Use: model, Scale: &screened, Recipients: recipientsOf(in.people[h.Machine.Owner]),
		Language: l.Notify.Language, Told: in.told[id], Today: today,
		DateOf: dateOf,
	})
	s.checks = asking.Notices
	var nextAsk models.Date
	s.ask, nextAsk = readingAsk(h.Machine, s.forecasts, &screened, in.told[id], dateOf, today)
	for _, next := range []models.Date{asking.Next, nextAsk} {
		if next != 0 {
			s.state.NextLook = min(s.state.NextLook, next)
		}
	}
	for i := range s.forecasts {
		if next := interval.NextLook(s.forecasts[i], today); next != 0 {
			s.state.NextLook = min(s.state.NextLook, next)
		}
	}
	return s
}

// forecasts works out a machine's items as of a day.
func forecasts(h models.History, s *usage.Screened, m *usage.Model, book *interval.Book, profile int,
	corrections map[string]int, today models.Date) []models.Forecast {
	return interval.Forecasts(interval.Input{
		History: h, Rules: book.For(h.Machine), Scale: s, Use: m,
		Profile: profile, Corrections: corrections, Today: today,
	})
}

// lookAt runs fn over the histories on some workers and gives the results in
// order. A machine on which fn breaks off fails alone.
func lookAt(ctx context.Context, hs []models.History, workers int, fn func(models.History) sight) []sight {
	out := make([]sight, len(hs))
	var wg sync.WaitGroup
	jobs := make(chan int)
	for range workers {
		wg.Go(func() {
			for i := range jobs {
				out[i] = guarded(hs[i], fn)
			}
		})
	}
	for i := range hs {
		if ctx.Err() != nil {
			break
		}
		jobs <- i
	}
	close(jobs)
	wg.Wait()
	return out
}

// guarded turns a fault of the program on one machine into that machine's
// error, so that a single odd history does not keep all others from their
// notices.
func guarded(h models.History, fn func(models.History) sight) (s sight) {
	defer func() {
		if p := recover(); p != nil {
			s = sight{err: models.Errorf(models.CodeInternal, "report it with the machine's facts", "working out %s broke off: %v", h.Machine.ID, p)}
		}
	}()
	return fn(h)
}
