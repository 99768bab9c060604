package app

import (
	"cmp"
	"context"
	"fmt"
	"io/fs"
	"maps"
	"slices"

	"example.org/roundsman/models"
	"example.org/roundsman/models/folder"
	"example.org/roundsman/scheduler"
)

// ImportOptions are what Import may be told.
type ImportOptions struct {
	Today    models.Date // no fact may be dated later
	DryRun   bool        // read and check, record nothing
	Actor    string      // who imports; "" is the program
	Progress func(file string, done, total int64)
}

// Import loads an import folder, whole or nothing: with a fault in the report
// nothing is recorded.
func (a *App) Import(ctx context.Context, fsys fs.FS, opt ImportOptions) (report folder.Report, done models.Recorded, doubts models.Faults, err error) {
	read, err := a.readOptions(ctx, opt)
	if err != nil {
		return report, done, nil, err
	}
	set, report, err := folder.Read(ctx, fsys, read)
	if err != nil || len(report.Faults) > 0 {
		return report, done, nil, err
	}
	swaps, err := a.Readings().TakeOutSwaps(ctx, &set)
	if err != nil {
		return report, done, nil, err
	}
	doubts = doubtFaults(swaps, report.Lines)
	late, err := a.Readings().NewlyLate(ctx, set.Machines, read.Stored.Machines, slices.Collect(maps.Values(read.Stored.Rules)), opt.Today)
	if err != nil {
		return report, done, nil, err
	}
	for i, m := range set.Machines {
		if f, is := late[m.ID]; is {
			f.Line = report.Lines[f.File][i]
			report.Warnings = append(report.Warnings, f)
		}
	}
	if opt.DryRun {
		doubts, err := a.newDoubts(ctx, set, 0, doubts, &report)
		return report, done, doubts, err
	}
	e := a.entry("import", "")
	if opt.Actor != "" {
		e.Actor = opt.Actor
	}
	done, err = a.Store.Record(ctx, set, e)
	if err == nil && done.MachinesTouched > 0 {
		doubts, err = a.newDoubts(ctx, set, done.Entry, doubts, &report)
	}
	if err == nil && done.Services.New > 0 {
		err = a.warnOfTwice(ctx, set, done.Entry, &report)
	}
	return report, done, doubts, err
}

// mostTwice is how many services an import names that are on record twice.
const mostTwice = 40

// warnOfTwice adds to the warnings of an import the services that are on
// record twice now: a row with another meter value is another service, for
// what was written is never changed.
func (a *App) warnOfTwice(ctx context.Context, set models.FactSet, entry int64, report *folder.Report) error {
	twice, err := a.Store.ServedTwice(ctx, entry, mostTwice)
	const file = "services.csv"
	lines := report.Lines[file]
	for _, t := range twice {
		f := models.Fault{File: file, Field: "item", Value: t.Item,
			Problem: fmt.Sprintf("is also on record for %s on that day, %s", t.Machine, t.At),
			Remedy:  fmt.Sprintf("if this row corrects it, take that one back: `roundsman withdraw %s service-%d --why TEXT`", t.Machine, t.Earlier)}
		for i, s := range set.Services {
			if s.Machine == t.Machine && s.Item == t.Item && s.At == t.At && (s.Miles != t.Miles || s.Hours != t.Hours) && i < len(lines) {
				f.Line = lines[i]
			}
		}
		report.Warnings = append(report.Warnings, f)
	}
	return err
}

// newDoubts adds what an import brought and does not fit to its doubts, and what
// it pushes out of the record to its warnings.
func (a *App) newDoubts(ctx context.Context, set models.FactSet, entry int64, doubts models.Faults, report *folder.Report) (models.Faults, error) {
	found, err := a.Readings().NewDoubts(ctx, set, entry)
	for _, d := range found {
		if f := doubtFaults([]scheduler.DoubtfulRow{d}, report.Lines); d.In < 0 {
			report.Warnings = append(report.Warnings, f...)
		} else {
			doubts = append(doubts, f...)
		}
	}
	return doubts, err
}

// doubtFaults tells of what an import brought and does not fit, by the lines of
// its files.
func doubtFaults(found []scheduler.DoubtfulRow, lines map[string][]int) (out models.Faults) {
	for _, d := range found {
		f := models.Fault{File: d.File, Field: string(d.Meter), Value: d.Shown.String(),
			Problem: fmt.Sprintf("of %s on %s is kept and left out: %s", d.Machine.Label(), d.On, d.Reason.In("en")),
			Remedy: fmt.Sprintf("if it is right, say so: `roundsman reading %s --%s %s --on %s --sure`; if not, `roundsman withdraw %s` takes it back",
				d.Machine.ID, d.Meter, d.Shown, d.On, d.Machine.ID)}
		if d.In >= 0 {
			f.Line = lines[d.File][d.In]
		} else {
			f.File = "on record"
			f.Problem = fmt.Sprintf("of %s on %s is left out now, for what this import brought: %s", d.Machine.Label(), d.On, d.Reason.In("en"))
		}
		switch d.File {
		case "swaps.csv":
			f.Problem = fmt.Sprintf("of %s on %s is doubtful, and the change of meter is not taken: %s", d.Machine.Label(), d.On, d.Reason.In("en"))
			f.Remedy = fmt.Sprintf("correct it and import again; if it is right, `roundsman swap %s %s --old %s --new N --on %s --sure` records it", d.Machine.ID, d.Meter, d.Shown, d.On)
		case "baselines.csv":
			f.Problem = fmt.Sprintf("of %s is kept and is doubtful: %s", d.Machine.Label(), d.Reason.In("en"))
			f.Remedy = fmt.Sprintf("if it is not right, say it again: `roundsman baseline %s ITEM=done:...`", d.Machine.ID)
		}
		if d.Likely.Known {
			f.Problem += fmt.Sprintf(" (it probably showed %s)", d.Likely)
		}
		out = append(out, f)
	}
	return out
}

// readOptions tells the folder what is recorded already.
func (a *App) readOptions(ctx context.Context, opt ImportOptions) (folder.Options, error) {
	standings, err := a.Store.Standings(ctx)
	if err != nil {
		return folder.Options{}, err
	}
	known, err := a.Store.Names(ctx)
	if err != nil {
		return folder.Options{}, err
	}
	stored := folder.Stored{Standings: standings}
	for _, err := range []error{
		readByKey(ctx, &stored.Owners, a.Store.Owners, func(o models.Owner) string { return o.ID }),
		readByKey(ctx, &stored.Contacts, a.Store.Contacts, func(c models.Contact) string { return c.ID }),
		readByKey(ctx, &stored.Machines, a.Store.Machines, func(m models.Machine) string { return m.ID }),
		readByKey(ctx, &stored.Rules, a.Store.Rules, models.Rule.Key),
	} {
		if err != nil {
			return folder.Options{}, err
		}
	}
	return folder.Options{
		Now: opt.Today, Country: a.Settings.Shop.Country, Stored: stored,
		Known:    func(file, name string) bool { return known[file][name] },
		NearZero: true, // a new meter read from memory can come out a little below 0
		Progress: opt.Progress,
	}, nil
}

// readByKey reads rows into a map.
func readByKey[T any, K comparable](ctx context.Context, into *map[K]T, read func(context.Context) ([]T, error), key func(T) K) error {
	rows, err := read(ctx)
	*into = models.ByKey(rows, key)
	return err
}

// Withdraw takes back a fact of a machine.
func (a *App) Withdraw(ctx context.Context, machine string, w models.Withdrawal) (models.TakenFact, error) {
	e := a.entry("withdraw", w.Why)
	e.Actor = cmp.Or(w.By, e.Actor)
	return a.Store.Withdraw(ctx, machine, w, e)
}

// Export writes every fact into an import folder.
func (a *App) Export(ctx context.Context, dir string) (models.FactSet, error) {
	set, err := a.Store.AllFacts(ctx)
	if err != nil {
		return models.FactSet{}, err
	}
	return set, folder.Write(ctx, dir, set)
}

// Readings is the door by which what meters show comes in.
func (a *App) Readings() *scheduler.Readings { return &scheduler.Readings{Store: a.Store} }
