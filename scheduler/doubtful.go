package scheduler

import (
	"cmp"
	"context"
	"slices"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/usage"
)

// DoubtfulRow is a doubtful value of a set with the place of its row among
// those of its sort there; -1: the row is on record and not in the set.
type DoubtfulRow struct {
	models.DoubtfulReading
	In int
}

// NewDoubts gives what does not fit since a set is recorded without being asked
// about, as an import's is: readings, services and baselines of the set, and
// what is on record and is pushed out by them. They are kept, and readings and
// services are left out of all that is worked out. What was in doubt before
// entry, which recorded the set, is not given again; 0: it is not recorded yet.
func (d *Readings) NewDoubts(ctx context.Context, set models.FactSet, entry int64) (found []DoubtfulRow, err error) {
	at := map[any]int{} // places by what rows say
	baselines := map[string][]int{}
	var ids []string
	bring := func(i int, machine string, says any) {
		if _, there := at[says]; !there {
			at[says] = i
		}
		ids = append(ids, machine)
	}
	for i, r := range set.Readings {
		bring(i, r.Machine, said(r))
	}
	for i, s := range set.Services {
		bring(i, s.Machine, saidService(s))
	}
	for _, s := range set.Swaps {
		ids = append(ids, s.Machine)
	}
	for _, m := range set.Machines {
		ids = append(ids, m.ID)
	}
	for i, b := range set.Baselines {
		bring(i, b.Machine, saidBaseline(b))
		baselines[b.Machine] = append(baselines[b.Machine], i)
	}
	err = d.eachHistory(ctx, ids, set, entry, func(before, after models.History) {
		doubts := doubtfulIn(after)
		for _, i := range baselines[after.Machine.ID] {
			doubts = append(doubts, doubtfulBaseline(after, set.Baselines[i])...)
		}
		if len(doubts) == 0 {
			return
		}
		old := doubtfulIn(before)
		for _, b := range before.Baselines {
			old = append(old, doubtfulBaseline(before, b)...)
		}
		for _, v := range doubts {
			if slices.ContainsFunc(old, func(o doubtfulRow) bool { return o.says == v.says && o.Meter == v.Meter }) {
				continue
			}
			i, brought := at[v.says]
			if !brought {
				i = -1
			}
			found = append(found, DoubtfulRow{v.DoubtfulReading, i})
		}
	})
	return found, err
}

// TakeOutSwaps takes the doubtful swaps out of a set that is not recorded yet,
// and gives them: a swap moves all that is read later, so none takes effect
// before somebody is sure of it. One that is on record already stays.
func (d *Readings) TakeOutSwaps(ctx context.Context, set *models.FactSet) (found []DoubtfulRow, err error) {
	var ids []string
	of := map[string][]int{}
	for i, s := range set.Swaps {
		if s.Why == "" {
			of[s.Machine], ids = append(of[s.Machine], i), append(ids, s.Machine)
		}
	}
	out := map[int]bool{}
	err = d.eachHistory(ctx, ids, *set, 0, func(before, h models.History) {
		slices.SortStableFunc(of[h.Machine.ID], func(a, b int) int { return cmp.Compare(set.Swaps[a].At, set.Swaps[b].At) })
		for _, i := range of[h.Machine.ID] {
			s := saidSwap(set.Swaps[i])
			doubt := doubtSwap(h, s)
			if doubt == nil || slices.ContainsFunc(before.Swaps, func(o models.Swap) bool { return saidSwap(o) == s }) {
				continue
			}
			out[i], found = true, append(found, DoubtfulRow{*doubt, i})
			h.Swaps = slices.DeleteFunc(h.Swaps, func(o models.Swap) bool { return saidSwap(o) == s })
		}
	})
	var keep []models.Swap
	for i, s := range set.Swaps {
		if !out[i] {
			keep = append(keep, s)
		}
	}
	set.Swaps = keep
	return found, err
}

// eachHistory gives the histories of machines to fn as they are without and
// with a set that an entry has recorded; 0: it is not recorded yet.
func (d *Readings) eachHistory(ctx context.Context, ids []string, set models.FactSet, entry int64, fn func(before, after models.History)) error {
	fresh := map[string]*models.FactSet{}
	if entry == 0 {
		fresh = byMachine(set)
	}
	ids = slices.Clone(ids)
	slices.Sort(ids)
	for batch := range slices.Chunk(slices.Compact(ids), batchMachines) {
		now, err := d.histories(ctx, batch, models.Window{})
		if err != nil {
			return err
		}
		then := now
		if entry > 0 {
			then = map[string]models.History{}
		}
		if entry > 1 { // before the first there was nothing
			if then, err = d.histories(ctx, batch, models.Window{LastEntry: entry - 1}); err != nil {
				return err
			}
		}
		for _, id := range batch {
			after := now[id]
			if f := fresh[id]; f != nil {
				after = with(after, f)
			}
			fn(then[id], after)
		}
	}
	return nil
}

// histories gives the histories of machines by id.
func (d *Readings) histories(ctx context.Context, ids []string, win models.Window) (map[string]models.History, error) {
	hs, err := d.Store.Histories(ctx, ids, win)
	return models.ByKey(hs, func(h models.History) string { return h.Machine.ID }), err
}

// byMachine sorts what a set says of meters by machine.
func byMachine(set models.FactSet) map[string]*models.FactSet {
	out := map[string]*models.FactSet{}
	of := func(id string) *models.FactSet {
		if out[id] == nil {
			out[id] = &models.FactSet{}
		}
		return out[id]
	}
	for _, m := range set.Machines {
		of(m.ID).Machines = append(of(m.ID).Machines, m)
	}
	for _, r := range set.Readings {
		of(r.Machine).Readings = append(of(r.Machine).Readings, r)
	}
	for _, s := range set.Services {
		of(s.Machine).Services = append(of(s.Machine).Services, s)
	}
	for _, s := range set.Swaps {
		of(s.Machine).Swaps = append(of(s.Machine).Swaps, s)
	}
	return out
}

// notRecorded is above the rows of all facts on record.
const notRecorded = int64(1) << 50

// with gives a history as it will be once a set is recorded.
func with(h models.History, set *models.FactSet) models.History {
	for _, m := range set.Machines {
		h.Machine = m
	}
	readings, services, swaps := map[any]int{}, map[any]bool{}, map[models.Swap]bool{}
	for i, r := range h.Readings {
		readings[said(r)] = i
	}
	for _, s := range h.Services {
		services[saidService(s)] = true
	}
	for _, s := range h.Swaps {
		swaps[saidSwap(s)] = true
	}
	for i, r := range set.Readings {
		at, there := readings[said(r)]
		switch {
		case !there:
			r.Row = notRecorded + int64(i)
			readings[said(r)], h.Readings = len(h.Readings), append(h.Readings, r)
		case r.Standing != "":
			h.Readings[at].Standing = r.Standing
		}
	}
	for i, s := range set.Services {
		if says := saidService(s); !services[says] && s.Why == "" {
			s.Row, services[says] = notRecorded+int64(i), true
			h.Services = append(h.Services, s)
		}
	}
	for _, s := range set.Swaps {
		if says := saidSwap(s); !swaps[says] && s.Why == "" {
			swaps[says], h.Swaps = true, append(h.Swaps, s)
		}
	}
	return h
}

// said, saidService, saidBaseline and saidSwap give what a row says, whatever became of it since.
func said(r models.Reading) any {
	return models.Reading{Machine: r.Machine, At: r.At, Miles: r.Miles, Hours: r.Hours, Source: r.Source, Width: r.Width}
}

func saidService(s models.Service) any {
	return models.Service{Machine: s.Machine, Item: s.Item, At: s.At, Miles: s.Miles, Hours: s.Hours}
}

func saidBaseline(b models.Baseline) any {
	b.Fact, b.Withdrawn = models.Fact{}, models.Withdrawn{}
	return b
}

func saidSwap(s models.Swap) models.Swap {
	return models.Swap{Machine: s.Machine, At: s.At, Meter: s.Meter, OldValue: s.OldValue, NewValue: s.NewValue}
}

// OfMachine gives the doubtful readings, services and swaps that are recorded
// of a machine.
func (d *Readings) OfMachine(ctx context.Context, machine string) (out []models.DoubtfulReading, err error) {
	hs, err := d.Store.Histories(ctx, []string{machine}, models.Window{})
	for _, h := range hs {
		for _, v := range doubtfulIn(h) {
			out = append(out, v.DoubtfulReading)
		}
		for _, s := range h.Swaps {
			if doubt := doubtSwap(h, s); doubt != nil {
				out = append(out, *doubt)
			}
		}
	}
	return out, err
}

// doubtfulRow is a doubtful value with what its row says.
type doubtfulRow struct {
	models.DoubtfulReading
	says any
}

// doubtfulIn gives the doubtful values of a machine.
func doubtfulIn(h models.History) (out []doubtfulRow) {
	screened := usage.Screen(h)
	for _, d := range screened.Doubts {
		for _, r := range h.Readings {
			if r.Row == d.Reading {
				out = append(out, doubtfulRow{models.DoubtfulReading{Machine: h.Machine, Meter: d.Meter, On: r.At, Shown: r.Value(d.Meter),
					Reason: d.Reason, Likely: d.Likely, File: "readings.csv", Row: r.Row}, said(r)})
			}
		}
	}
	for _, d := range screened.Doubted {
		for _, s := range h.Services {
			if s.Row == d.Service {
				out = append(out, doubtfulRow{models.DoubtfulReading{Machine: h.Machine, Meter: d.Meter, On: s.At, Shown: s.Value(d.Meter),
					Reason: d.Reason, Likely: d.Likely, File: "services.csv", Row: s.Row}, saidService(s)})
			}
		}
	}
	return out
}

// doubtfulBaseline gives the doubt of a baseline, if there is any.
func doubtfulBaseline(h models.History, b models.Baseline) []doubtfulRow {
	if doubt := doubtBaseline(h, b); doubt != nil {
		return []doubtfulRow{{*doubt, saidBaseline(b)}}
	}
	return nil
}
