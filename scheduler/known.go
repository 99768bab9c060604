package scheduler

import (
	"context"
	"slices"
	"sync"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/notify/policy"
	"example.org/roundsman/scheduler/interval"
)

// basisOn readies what machines are worked out with on a day.
func basisOn(ctx context.Context, st Facts, n policy.Settings, today models.Date, p Profile) (Basis, error) {
	rules, err := st.Rules(ctx)
	if err != nil {
		return Basis{}, err
	}
	return Basis{Today: today, Rules: interval.NewBook(rules), Profile: p, Zone: n.Zone, Language: n.Language}, nil
}

// factsOf reads what is known of machines on a day besides their histories.
func factsOf(ctx context.Context, st Facts, hs []models.History, today models.Date) ([]MachineFacts, error) {
	if len(hs) == 0 {
		return nil, nil
	}
	ids, owners := make([]string, len(hs)), make([]string, len(hs))
	for i, h := range hs {
		ids[i], owners[i] = h.Machine.ID, h.Machine.Owner
	}
	slices.Sort(owners)
	people, err := st.People(ctx, slices.Compact(owners), today)
	if err != nil {
		return nil, err
	}
	notices, err := st.NoticesOf(ctx, ids)
	if err != nil {
		return nil, err
	}
	owed, err := st.OwedChecks(ctx, ids, models.CheckOwner)
	if err != nil {
		return nil, err
	}
	jobs, err := st.JobsInHand(ctx, ids, -1)
	if err != nil {
		return nil, err
	}
	next, err := st.NextFacts(ctx, ids, today)
	if err != nil {
		return nil, err
	}
	tellable, err := st.Tellable(ctx, ids)
	if err != nil {
		return nil, err
	}
	out := make([]MachineFacts, len(hs))
	at := make(map[string]*MachineFacts, len(hs))
	for i, h := range hs {
		out[i] = MachineFacts{History: h, People: people[h.Machine.Owner], NextFact: next[h.Machine.ID], Tellable: tellable[h.Machine.ID]}
		at[h.Machine.ID] = &out[i]
	}
	for _, n := range notices {
		at[n.Machine].Notices = append(at[n.Machine].Notices, n)
	}
	for _, o := range owed {
		at[o.Machine.ID].Owed = append(at[o.Machine.ID].Owed, o)
	}
	for _, w := range jobs {
		at[w.Job.Machine].InHand = append(at[w.Job.Machine].InHand, w)
	}
	return out, nil
}

// EvaluationOf works out one machine at a time. It stores nothing.
func EvaluationOf(ctx context.Context, st Facts, n policy.Settings, p Profile, machine string, at time.Time) (Evaluation, error) {
	es, err := evaluationsOf(ctx, st, n, p, []string{machine}, at)
	if err != nil {
		return Evaluation{}, err
	}
	if len(es) == 0 {
		return Evaluation{}, models.Errorf(models.CodeNotFound, "", "no machine has the id %q", machine)
	}
	return es[0], nil
}

// evaluationsOf works out some machines at a time, by machine.
func evaluationsOf(ctx context.Context, st Facts, n policy.Settings, p Profile, machines []string, at time.Time) ([]Evaluation, error) {
	today := models.DateOf(at.In(n.Zone))
	b, err := basisOn(ctx, st, n, today, p)
	if err != nil {
		return nil, err
	}
	hs, err := st.Histories(ctx, machines, models.Window{AsOf: today})
	if err != nil {
		return nil, err
	}
	facts, err := factsOf(ctx, st, hs, today)
	if err != nil {
		return nil, err
	}
	es := evaluateAll(ctx, facts, b, defaultWorkers)
	return es, firstError(es)
}

// defaultWorkers is how many machines are worked out at once where nobody says
// otherwise.
const defaultWorkers = 2

// evaluateAll works out machines on some workers, in order. A machine on which
// that breaks off fails alone: its Err says so. When the context ends the rest
// is left out.
func evaluateAll(ctx context.Context, facts []MachineFacts, b Basis, workers int) []Evaluation {
	out := make([]Evaluation, len(facts))
	var wg sync.WaitGroup
	jobs := make(chan int)
	for range workers {
		wg.Go(func() {
			for i := range jobs {
				out[i] = guarded(facts[i], b)
			}
		})
	}
	for i := range facts {
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
func guarded(f MachineFacts, b Basis) (e Evaluation) {
	defer func() {
		if p := recover(); p != nil {
			e = Evaluation{MachineFacts: f, Today: b.Today, Err: models.Errorf(models.CodeInternal,
				"report it with the machine's facts", "working out %s broke off: %v", f.History.Machine.ID, p)}
		}
	}()
	return Evaluate(f, b)
}

// firstError gives the first error of some evaluations.
func firstError(es []Evaluation) error {
	for i := range es {
		if es[i].Err != nil {
			return es[i].Err
		}
	}
	return nil
}
