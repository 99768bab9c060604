package store

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"example.org/roundsman/models"
)

// takable gives each sort of fact that can be taken back: its table, and the
// rows of it as models.MachineFact lists them, of a table f.
var takable = []struct {
	sort        models.FactSort
	table, list string
}{
	{models.SortReading, "readings", "SELECT 'reading' AS sort, f.id, f.entry, f.machine, f.at, '' AS item, '' AS what, f.source AS detail, f.miles, f.hours FROM readings f"},
	{models.SortService, "services", "SELECT 'service', f.id, f.entry, f.machine, f.at, f.item, '', '', f.miles, f.hours FROM services f"},
	{models.SortSwap, "swaps", `SELECT 'swap', f.id, f.entry, f.machine, f.at, '', f.meter, '',
		iif(f.meter = 'miles', f.old_value, NULL), iif(f.meter = 'hours', f.old_value, NULL) FROM swaps f`},
	{models.SortStanding, "standings", "SELECT 'standing', f.id, f.entry, f.machine, f.on_day, '', f.state, f.note, NULL, NULL FROM standings f"},
	{models.SortBaseline, "baselines", "SELECT 'baseline', f.id, f.entry, f.machine, f.on_day, f.item, f.state, f.done_on, f.miles, f.hours FROM baselines f"},
	{models.SortRelease, "releases", `SELECT 'release', f.id, f.entry, f.machine, date(e.recorded_at, 'unixepoch'), '', f.state, f.note, NULL, NULL
		FROM releases f JOIN entries e ON e.id = f.entry`},
	{models.SortLine, "job_lines", `SELECT 'line', f.id, f.entry, j.machine, j.opened_on, f.item, '', trim('job ' || f.job || ' ' || f.what), NULL, NULL
		FROM job_lines f JOIN jobs j ON j.job = f.job AND j.replaces IS NULL
		WHERE f.withdrawn = 0 AND NOT EXISTS (SELECT 1 FROM job_lines n WHERE n.replaces = f.id)`},
	{models.SortPart, "job_parts", `SELECT 'part', f.id, f.entry, j.machine, j.opened_on, '', '', trim('job ' || f.job || ' ' || f.name || ' ' || f.number), NULL, NULL
		FROM job_parts f JOIN jobs j ON j.job = f.job AND j.replaces IS NULL
		WHERE f.withdrawn = 0 AND NOT EXISTS (SELECT 1 FROM job_parts n WHERE n.replaces = f.id)`},
	{models.SortAnswer, "check_answers", `SELECT 'answer', f.id, f.entry, j.machine, date(f.answered_at, 'unixepoch'), '', f.result, c.question_en, NULL, NULL
		FROM check_answers f JOIN checks c ON c.check_no = f.check_no AND c.replaces IS NULL JOIN jobs j ON j.job = c.job AND j.replaces IS NULL`},
}

// factsOfMachine lists the facts of one machine that can be taken back.
func factsOfMachine() string {
	lists := make([]string, len(takable))
	for i, t := range takable {
		lists[i] = t.list
	}
	return `SELECT f.*, ifnull(w.why, '') AS withdrawn, ifnull(w.by_whom, '') AS withdrawn_by FROM (` + strings.Join(lists, " UNION ALL ") +
		`) f LEFT JOIN withdrawals_now w ON w.sort = f.sort AND w.fact = f.id WHERE f.machine = ?`
}

// withTaken gives the rows of a sort of fact with what was taken back of them,
// as a table to read from.
func withTaken(sort models.FactSort) string {
	for _, t := range takable {
		if t.sort == sort {
			return fmt.Sprintf(`(SELECT f.*, ifnull(w.why, '') AS withdrawn, ifnull(w.by_whom, '') AS withdrawn_by
				FROM %s f LEFT JOIN withdrawals_now w ON w.sort = '%s' AND w.fact = f.id)`, t.table, sort)
		}
	}
	panic("no table of " + string(sort))
}

// takenOut gives the rows of a view of jobs' lines or parts with the reasons for
// which they were withdrawn, as a table to read from.
func takenOut(view string, sort models.FactSort) string {
	return fmt.Sprintf(`(SELECT f.*, ifnull(w.why, '') AS withdrawn_why, ifnull(w.by_whom, '') AS withdrawn_by
		FROM %s f LEFT JOIN withdrawals_now w ON w.sort = '%s' AND w.fact = f.id) v`, view, sort)
}

// notTaken is the condition that a row of a table was not taken back up to an
// entry, the argument of the query so named.
func notTaken(sort models.FactSort, alias, entry string) string {
	return fmt.Sprintf(`NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.sort = '%[1]s' AND w.fact = %[2]s.id AND w.entry <= %[3]s
		AND NOT EXISTS (SELECT 1 FROM said_again a WHERE a.withdrawal = w.id AND a.entry <= %[3]s))`, sort, alias, entry)
}

// FactsOf gives the facts of a machine that can be taken back, with what was
// taken back of them, at most limit (-1: all) after the first skip. The newest
// come first; first words on items, of which one form writes a page, come last.
func (s *Store) FactsOf(ctx context.Context, machine string, skip, limit int) ([]models.MachineFact, error) {
	return list[models.MachineFact](s.read.WithContext(ctx).Raw(factsOfMachine()+" ORDER BY f.sort = 'baseline', f.at DESC, f.sort, f.id DESC LIMIT ? OFFSET ?",
		machine, limit, skip), "reading the facts of %s", machine)
}

// ServedTwice lists services that an entry wrote beside others of the same
// machine, item and day, at most limit.
func (s *Store) ServedTwice(ctx context.Context, entry int64, limit int) (out []models.ServedTwice, err error) {
	err = s.read.WithContext(ctx).Raw(`SELECT s.machine, s.item, s.at, max(o.id) AS earlier, o.miles, o.hours
		FROM services_now s JOIN services_now o ON o.machine = s.machine AND o.item = s.item AND o.at = s.at AND o.id < s.id
		WHERE s.entry = ? GROUP BY s.id ORDER BY s.id LIMIT ?`, entry, limit).Scan(&out).Error
	return out, saying(err, "looking for services told twice")
}

// Withdraw takes back a fact of a machine and marks the machine for the next
// round; what waits to be told and may not be any more stops in the same
// transaction. One that is taken back already gives models.CodeConflict, one
// that the machine does not have models.CodeNotFound.
func (s *Store) Withdraw(ctx context.Context, machine string, taken models.Withdrawal, by models.Entry) (fact models.TakenFact, err error) {
	err = s.record(ctx, by, func(w *factWriter) (bool, error) {
		var found []struct {
			models.MachineFact
			Entry int64
		}
		if err := w.tx.Raw(factsOfMachine()+" AND f.sort = ? AND f.id = ?", machine, taken.Sort, taken.Taken).Scan(&found).Error; err != nil {
			return false, err
		}
		switch {
		case len(found) == 0:
			return false, models.Errorf(models.CodeNotFound, "`roundsman withdraw TAG` lists them with their numbers",
				"machine %s has no %s with the number %d", machine, taken.Sort, taken.Taken)
		case found[0].Why != "":
			return false, models.Errorf(models.CodeConflict, "", "it is withdrawn already: %s", found[0].Why)
		}
		var err error
		if fact, err = w.take(machine, found[0].MachineFact, found[0].Entry, taken); err != nil {
			return false, err
		}
		if err := w.hush(); err != nil {
			return false, err
		}
		return true, w.touch()
	})
	return fact, err
}

// take takes back one fact and what came of it.
func (w *factWriter) take(machine string, f models.MachineFact, entry int64, taken models.Withdrawal) (models.TakenFact, error) {
	fact := models.TakenFact{MachineFact: f}
	fact.Withdrawn = models.Withdrawn{Why: taken.Why, By: taken.By}
	w.touched[machine] = true
	if err := w.withdraw(taken); err != nil {
		return fact, err
	}
	return fact, saying(w.follow(&fact, machine, entry, taken), "undoing what came of a %s", taken.Sort)
}

// follow undoes what came of a fact that is taken back, and notes what cannot
// be undone.
func (w *factWriter) follow(fact *models.TakenFact, machine string, entry int64, taken models.Withdrawal) error {
	err := w.tx.Raw(`SELECT count(DISTINCT m.id) FROM messages m JOIN notices n ON n.message = m.id
		WHERE n.machine = ? AND m.state IN ('sending', 'sent') AND m.queued_at >= (SELECT recorded_at FROM entries WHERE id = ?)`, machine, entry).Scan(&fact.Sent).Error
	if err != nil {
		return err
	}
	switch taken.Sort {
	case models.SortRelease:
		w.quiet = append(w.quiet, machine)
	case models.SortStanding:
		w.quiet = append(w.quiet, machine)
		if err := w.tx.Raw("SELECT count(*) FROM visits WHERE entry = ? AND machine = ? AND state = 'dropped'", entry, machine).Scan(&fact.Visits).Error; err != nil {
			return err
		}
		if err := w.releaseAgain(machine, entry, taken); err != nil {
			return err
		}
		if err := w.giveBack(machine, entry); err != nil {
			return err
		}
		return w.refuseTwin(machine)
	case models.SortService:
		return w.saidByJob(fact, "s.id = ? AND NOT l.withdrawn", taken.Taken)
	case models.SortLine:
		if err := w.withdrawServiceOf(taken); err != nil {
			return err
		}
		if err := w.saidByJob(fact, "l.id = ?", taken.Taken); err != nil {
			return err
		}
		fact.Job = "" // its line is the one
		return nil
	case models.SortAnswer:
		return w.tx.Raw("SELECT EXISTS (SELECT 1 FROM jobs WHERE entry = ? AND state = 'reopened')", entry).Scan(&fact.Reopened).Error
	}
	return nil
}

// refuseTwin refuses to take back that a machine has left where its tag is that
// of another by now.
func (w *factWriter) refuseTwin(machine string) error {
	standings, err := list[models.MachineStanding](w.tx.Table("standings_now"), "reading where machines stand")
	if err != nil {
		return err
	}
	here := models.ByKey(standings, func(v models.MachineStanding) string { return v.Machine })
	machines, err := list[models.Machine](w.tx.Table("machines_now"), "reading machines")
	if err != nil || !here[machine].InCare() {
		return err
	}
	m := models.ByKey(machines, func(m models.Machine) string { return m.ID })[machine]
	return models.RefuseTwin(m, m.Owner, machines, here)
}

// releaseAgain takes back with a sale that its machine was held back for it.
func (w *factWriter) releaseAgain(machine string, entry int64, sale models.Withdrawal) error {
	var held []int64
	if err := w.tx.Raw("SELECT id FROM releases WHERE machine = ? AND entry = ? AND state = ? AND note = ?", machine, entry, models.HeldBack, noteSold).Scan(&held).Error; err != nil {
		return err
	}
	for _, row := range held {
		if err := w.withdraw(models.Withdrawal{Sort: models.SortRelease, Taken: row, Why: sale.Why, By: sale.By}); err != nil {
			return err
		}
	}
	return nil
}

// giveBack gives a machine back to whom it belonged before an entry that sold
// it, where it is still the buyer's.
func (w *factWriter) giveBack(machine string, entry int64) error {
	var now []models.Machine
	err := w.tx.Raw(`SELECT m.* FROM machines_now m JOIN machines sold ON sold.machine = m.machine AND sold.entry = ?2 AND sold.owner = m.owner
		WHERE m.machine = ?1 AND sold.replaces IS NOT NULL`, machine, entry).Scan(&now).Error
	if err != nil || len(now) == 0 {
		return err
	}
	m := now[0]
	err = w.tx.Raw("SELECT o.owner FROM machines sold JOIN machines o ON o.id = sold.replaces WHERE sold.machine = ? AND sold.entry = ?", machine, entry).Scan(&m.Owner).Error
	if err != nil || m.Owner == now[0].Owner {
		return err
	}
	m.Fact = models.Fact{Entry: w.entry, Replaces: &now[0].Row}
	return w.tx.Create(&m).Error
}

// withdrawServiceOf takes back the service that came of a job's line, where no
// other line of the job stands for it.
func (w *factWriter) withdrawServiceOf(line models.Withdrawal) error {
	var services []int64
	err := w.tx.Raw(`SELECT DISTINCT s.id FROM job_lines l JOIN jobs_now j ON j.job = l.job AND j.done_on <> '' AND j.turn = l.turn
			JOIN services s ON s.machine = j.machine AND s.item = l.item AND s.at = j.done_on
		WHERE l.id = ? AND l.item <> '' AND NOT EXISTS (SELECT 1 FROM job_lines_now o WHERE o.job = l.job AND o.turn = l.turn AND o.item = l.item AND NOT o.withdrawn)
			AND s.id NOT IN (SELECT fact FROM withdrawals_now WHERE sort = 'service')`, line.Taken).Scan(&services).Error
	if err != nil {
		return err
	}
	for _, row := range services {
		if err := w.withdraw(models.Withdrawal{Sort: models.SortService, Taken: row, Why: line.Why, By: line.By}); err != nil {
			return err
		}
	}
	return nil
}

// saidByJob notes the job of whose line a service came, and its open checks.
func (w *factWriter) saidByJob(fact *models.TakenFact, where string, row int64) error {
	var by []struct {
		Job    string
		Line   int64
		Checks int
	}
	err := w.tx.Raw(`SELECT j.job, l.id AS line, (SELECT count(*) FROM checks_now c WHERE c.job = j.job AND c.turn = j.turn AND c.open) AS checks
		FROM services s JOIN jobs_now j ON j.machine = s.machine AND j.done_on = s.at JOIN job_lines_now l ON l.job = j.job AND l.turn = j.turn AND l.item = s.item
		WHERE `+where+" LIMIT 1", row).Scan(&by).Error
	if err == nil && len(by) == 1 {
		fact.Job, fact.Line, fact.Checks = by[0].Job, by[0].Line, by[0].Checks
	}
	return saying(err, "reading which job tells of a service")
}

// withdraw writes that a fact is taken back, unless that is known.
func (w *factWriter) withdraw(v models.Withdrawal) error {
	err := w.tx.Exec(`INSERT INTO withdrawals (entry, sort, fact, why, by_whom) SELECT ?1, ?2, ?3, ?4, ?5
		WHERE NOT EXISTS (SELECT 1 FROM withdrawals_now WHERE sort = ?2 AND fact = ?3)`,
		w.entry, v.Sort, v.Taken, v.Why, v.By).Error
	if err == nil {
		err = w.uncount(v)
	}
	return saying(err, "taking back a %s", v.Sort)
}

// uncount notes what a service or a first word that is taken back stood for.
func (w *factWriter) uncount(v models.Withdrawal) error {
	switch v.Sort {
	case models.SortService:
		var s models.Service
		if err := w.tx.Where("id = ?", v.Taken).Take(&s).Error; err != nil {
			return err
		}
		w.undone = append(w.undone, work{s.Machine, s.Item, s.At})
	case models.SortBaseline:
		var b models.Baseline
		if err := w.tx.Where("id = ?", v.Taken).Take(&b).Error; err != nil {
			return err
		}
		w.undo(b)
	}
	return nil
}

// loadWithdrawn takes back a row of a folder that says it was taken back, unless
// a person said it again since; find is the condition by which the row is found.
func (w *factWriter) loadWithdrawn(sort models.FactSort, machine string, v models.Withdrawn, find string, args ...any) error {
	if v.Why == "" {
		return nil
	}
	var rows []int64
	err := w.tx.Raw(`SELECT id FROM `+withTaken(sort)+` f WHERE withdrawn = '' AND `+find+`
		AND NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.sort = ? AND w.fact = f.id AND w.why = ?)`, append(args, sort, v.Why)...).Scan(&rows).Error
	if err != nil || len(rows) == 0 {
		return err
	}
	w.touched[machine] = true
	w.done.Withdrawals.New++
	return w.withdraw(models.Withdrawal{Sort: sort, Taken: rows[0], Why: v.Why, By: v.By})
}

// versioned says how the versions of a sort of fact are told apart, for
// putTakable.
type versioned[T any, K comparable] struct {
	sort  models.FactSort
	rows  []T       // those recorded of the same things, the oldest first
	key   func(T) K // what a row is about
	chain bool      // a new version names the one it replaces
	head  func(*T) (*models.Fact, *models.Withdrawn)
	same  func(a, b T) bool // besides head
	wrote func(T)
}

// putTakable writes facts of which any version can be taken back: the newest
// that was not counts. What a folder says again of what was taken back stays
// taken back, unless the folder itself says so of every withdrawal: then it was
// said again before the export. A person who says it again is heard (see
// models.FactSet).
func putTakable[T any, K comparable](w *factWriter, vs []T, byHand bool, o versioned[T, K]) (c models.Counts, err error) {
	had := map[K][]T{}
	for _, r := range o.rows {
		had[o.key(r)] = append(had[o.key(r)], r)
	}
	vs = slices.Clone(vs)
	why := func(v *T) string { _, said := o.head(v); return said.Why }
	slices.SortStableFunc(vs, func(a, b T) int { // what was taken back was so before what stands was said
		return cmp.Compare(min(len(why(&b)), 1), min(len(why(&a)), 1))
	})
	taken := map[K][]T{} // what the set says was taken back
	for _, v := range vs {
		k := o.key(v)
		h, said := o.head(&v)
		gone := *said
		var counts, twin *T // the version that counts; one that says the same
		var unsaid []string // why twins were taken back, so far as only this store knows
		for i := range had[k] {
			r := &had[k][i]
			if why(r) == "" {
				counts = r
			}
			if !o.same(*r, v) {
				continue
			}
			if twin == nil || why(r) == gone.Why {
				twin = r
			}
			if why(r) != "" {
				unsaid = append(unsaid, why(r))
			}
		}
		for _, t := range taken[k] {
			if i := slices.Index(unsaid, why(&t)); i >= 0 && o.same(t, v) {
				unsaid = slices.Delete(unsaid, i, i+1)
			}
		}
		if gone.Why != "" {
			taken[k] = append(taken[k], v)
		}
		switch {
		case gone.Why == "" && counts != nil && o.same(*counts, v), gone.Why == "" && twin != nil && len(unsaid) > 0 && !byHand:
			c.Same++
			continue
		case gone.Why != "" && twin != nil:
			c.Same++
			if why(twin) != "" {
				continue
			}
			v, h = *twin, nil
		}
		if h != nil {
			*h = models.Fact{Entry: w.entry}
			if n := len(had[k]); n > 0 && o.chain {
				last, _ := o.head(&had[k][n-1])
				row := last.Row
				h.Replaces = &row
				c.Corrected++
				w.done.Changes = append(w.done.Changes, models.Change{Was: had[k][n-1], Is: v})
			} else {
				c.New++
			}
			*said = models.Withdrawn{}
			if err := w.tx.Create(&v).Error; err != nil {
				return c, err
			}
			had[k] = append(had[k], v)
		}
		if gone.Why != "" {
			row, _ := o.head(&v)
			w.done.Withdrawals.New++
			if err := w.withdraw(models.Withdrawal{Sort: o.sort, Taken: row.Row, Why: gone.Why, By: gone.By}); err != nil {
				return c, err
			}
			for i := range had[k] {
				if f, said := o.head(&had[k][i]); f.Row == row.Row {
					*said = gone
				}
			}
		}
		o.wrote(v)
	}
	return c, nil
}
