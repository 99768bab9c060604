package store

import (
	"context"
	"fmt"

	"gorm.io/gorm"

	"example.org/roundsman/models"
)

// factsOfMachine lists the facts of one machine that can be taken back.
const factsOfMachine = `SELECT f.*, ifnull(w.why, '') AS withdrawn, ifnull(w.by_whom, '') AS withdrawn_by FROM (
		SELECT 'reading' AS sort, id, machine, at, source AS what, miles, hours FROM readings
		UNION ALL SELECT 'service', id, machine, at, item, miles, hours FROM services
		UNION ALL SELECT 'swap', id, machine, at, meter,
			iif(meter = 'miles', old_value, NULL), iif(meter = 'hours', old_value, NULL) FROM swaps
	) f LEFT JOIN withdrawals w ON w.sort = f.sort AND w.fact = f.id
	WHERE f.machine = ?`

// FactsOf gives the readings, services and swaps of a machine with what was
// taken back of them, the newest first, at most limit.
func (s *Store) FactsOf(ctx context.Context, machine string, limit int) (out []models.MachineFact, err error) {
	err = s.read.WithContext(ctx).Raw(factsOfMachine+" ORDER BY f.at DESC, f.sort, f.id DESC LIMIT ?", machine, limit).Scan(&out).Error
	return out, saying(err, "reading the facts of %s", machine)
}

// ServedTwice lists services that an entry wrote beside others of the same
// machine, item and day, at most limit.
func (s *Store) ServedTwice(ctx context.Context, entry int64, limit int) (out []models.ServedTwice, err error) {
	err = s.read.WithContext(ctx).Raw(`SELECT s.machine, s.item, s.at, max(o.id) AS earlier, o.miles, o.hours
		FROM services_now s JOIN services_now o ON o.machine = s.machine AND o.item = s.item AND o.at = s.at AND o.id < s.id
		WHERE s.entry = ? GROUP BY s.id ORDER BY s.id LIMIT ?`, entry, limit).Scan(&out).Error
	if err != nil {
		return nil, fmt.Errorf("looking for services told twice: %w", asModelError(err))
	}
	return out, nil
}

// Withdraw takes back a fact of a machine and marks the machine for the next
// round. One that is taken back already gives models.CodeConflict, one that
// the machine does not have models.CodeNotFound.
func (s *Store) Withdraw(ctx context.Context, machine string, taken models.Withdrawal, by models.Entry) (fact models.MachineFact, err error) {
	_, err = s.record(ctx, by, func(tx *gorm.DB, entry int64) (bool, error) {
		var found []models.MachineFact
		if err := tx.Raw(factsOfMachine+" AND f.sort = ? AND f.id = ?", machine, taken.Sort, taken.Taken).Scan(&found).Error; err != nil {
			return false, err
		}
		switch {
		case len(found) == 0:
			return false, models.Errorf(models.CodeNotFound, "`roundsman withdraw TAG` lists them with their numbers",
				"machine %s has no %s with the number %d", machine, taken.Sort, taken.Taken)
		case found[0].Why != "":
			return false, models.Errorf(models.CodeConflict, "", "it is withdrawn already: %s", found[0].Why)
		}
		fact = found[0]
		fact.Withdrawn = models.Withdrawn{Why: taken.Why, By: taken.By}
		w := &factWriter{ctx: ctx, tx: tx, entry: entry, done: &models.Recorded{}, touched: map[string]bool{machine: true}}
		if err := w.withdraw(taken); err != nil {
			return false, err
		}
		return true, w.touch()
	})
	return fact, err
}

// withdraw writes that a fact is taken back, unless that is known.
func (w *factWriter) withdraw(v models.Withdrawal) error {
	err := w.tx.Exec(`INSERT INTO withdrawals (entry, sort, fact, why, by_whom) VALUES (?, ?, ?, ?, ?) ON CONFLICT DO NOTHING`,
		w.entry, v.Sort, v.Taken, v.Why, v.By).Error
	return saying(err, "taking back a %s", v.Sort)
}

// loadWithdrawn takes back a row of a folder that says it was taken back; find
// is the condition by which the row is found.
func (w *factWriter) loadWithdrawn(sort models.FactSort, machine string, v models.Withdrawn, find string, args ...any) error {
	if v.Why == "" {
		return nil
	}
	var rows []int64
	err := w.tx.Raw(fmt.Sprintf(`SELECT id FROM %ss f WHERE %s AND NOT EXISTS
		(SELECT 1 FROM withdrawals w WHERE w.sort = '%s' AND w.fact = f.id)`, sort, find, sort), args...).Scan(&rows).Error
	if err != nil || len(rows) == 0 {
		return err
	}
	w.touched[machine] = true
	w.done.Withdrawals.New++
	return w.withdraw(models.Withdrawal{Sort: sort, Taken: rows[0], Why: v.Why, By: v.By})
}
