package store

import (
	"context"
	"fmt"
	"strings"

	"example.org/roundsman/models"
)

// TakeBack takes back an owner, a contact or a machine that was written down by
// mistake, whole or not at all: an owner with its contacts while it has no
// machine, a machine with what was typed with it while nothing else hangs on it,
// a contact always. What waits for it is stopped; a refusal stays in force for
// its number and address. also names the contacts that went with an owner. An
// unknown one gives models.CodeNotFound, one on which more hangs
// models.CodeConflict.
func (s *Store) TakeBack(ctx context.Context, sort models.FactSort, id string, why models.Retracted, by models.Entry) (also []models.Contact, err error) {
	err = s.record(ctx, by, func(w *factWriter) (bool, error) {
		if err := w.takeBack(sort, id, why, &also); err != nil {
			return false, err
		}
		if err := w.hush(); err != nil {
			return false, err
		}
		return true, w.touch()
	})
	return also, err
}

func (w *factWriter) takeBack(sort models.FactSort, id string, why models.Retracted, also *[]models.Contact) error {
	switch sort {
	case models.SortMachine:
		return w.takeBackMachine(id, why)
	case models.SortOwner:
		return w.takeBackOwner(id, why, also)
	case models.SortContact:
		return w.takeBackContact(id, why)
	}
	return fmt.Errorf("%q cannot be taken back so", sort)
}

// retract writes the version of a fact that takes it back; fact is a pointer to
// it, and head to what it has in common with all.
func (w *factWriter) retract(fact any, head *models.Fact, into *models.Retracted, why models.Retracted) error {
	row := head.Row
	*head, *into = models.Fact{Entry: w.entry, Replaces: &row}, why
	return saying(w.tx.Create(fact).Error, "taking back what was written down by mistake")
}

// theOne reads the one that stands under an id.
func theOne[T any](w *factWriter, sort models.FactSort, id string) (v T, err error) {
	found, err := list[T](w.tx.Table(string(sort)+"s_now").Where(string(sort)+" = ?", id), "reading %s %s", sort, id)
	if err == nil && len(found) == 0 {
		err = models.Errorf(models.CodeNotFound, fmt.Sprintf("`roundsman %s list` lists them", sort), "there is no %s %q", sort, id)
	}
	if err != nil {
		return v, err
	}
	return found[0], nil
}

func (w *factWriter) takeBackOwner(id string, why models.Retracted, also *[]models.Contact) error {
	o, err := theOne[models.Owner](w, models.SortOwner, id)
	if err != nil {
		return err
	}
	ms, err := list[models.Machine](w.tx.Table("machines_now").Where("owner = ?", id).Order("machine"), "reading the machines of %s", id)
	if err != nil {
		return err
	}
	if len(ms) > 0 {
		return models.Errorf(models.CodeConflict, "take those back first, or say whose they are now", "%s has machines: %s", o.Name,
			models.Shorten(strings.Join(namesOf(ms, models.Machine.Label), ", "), 80))
	}
	cs, err := list[models.Contact](w.tx.Table("contacts_now").Where("owner = ?", id).Order("contact"), "reading the contacts of %s", id)
	if err != nil {
		return err
	}
	for _, c := range cs {
		if err := w.takeBackContact(c.ID, why); err != nil {
			return err
		}
	}
	*also = cs
	return w.retract(&o, &o.Fact, &o.Mistake, why)
}

// takeBackContact keeps the contact's stops with its last version, where they
// hold for whoever has that number or address.
func (w *factWriter) takeBackContact(id string, why models.Retracted) error {
	c, err := theOne[models.Contact](w, models.SortContact, id)
	if err != nil {
		return err
	}
	open, err := undecided(w.tx, []models.Contact{c})
	if err != nil {
		return err
	}
	if open[c.ID] {
		return models.Errorf(models.CodeConflict, "record it first, or mark the reply as done", "%s seems to have asked for no more messages", c.Name)
	}
	var stopped []int64
	err = w.tx.Raw(`INSERT INTO stopped_notices (notice, entry, why) SELECT n.id, ?, ? FROM notices n JOIN messages m ON m.id = n.message
		WHERE m.contact = ? AND `+waits+` ON CONFLICT DO NOTHING RETURNING notice`, w.entry, models.ReasonMistake, c.ID).Scan(&stopped).Error
	if err == nil {
		err = dropStopped(w.tx, stopped, w.at)
	}
	if err == nil {
		err = w.tx.Exec(`UPDATE messages AS m SET state = 'dropped', ended_at = ?, why = ?, lease_by = '', lease_ends = 0
			WHERE m.contact = ? AND `+waits, w.at, models.ReasonMistake, c.ID).Error
	}
	if err != nil {
		return fmt.Errorf("stopping what waits for %s: %w", c.ID, err)
	}
	if err := w.retract(&c, &c.Fact, &c.Mistake, why); err != nil {
		return err
	}
	return w.touchOwners([]string{c.Owner})
}

// typedWith gives the facts that are typed with a machine and go with it, as
// sorts and the views of what counts of them.
var typedWith = []struct {
	sort models.FactSort
	view string
}{{models.SortReading, "readings_now"}, {models.SortBaseline, "baselines_now"}, {models.SortRelease, "releases_now"}}

func (w *factWriter) takeBackMachine(id string, why models.Retracted) error {
	m, err := theOne[models.Machine](w, models.SortMachine, id)
	if err != nil {
		return err
	}
	var hangs models.SortCounts
	err = w.tx.Raw(`SELECT * FROM (
		SELECT 'reading' AS sort, count(*) AS n FROM readings_now r WHERE machine = ?1 AND (entry > (SELECT min(entry) FROM machines WHERE machine = ?1)
			OR EXISTS (SELECT 1 FROM readings_now o WHERE o.machine = r.machine AND o.entry = r.entry AND o.at < r.at))
		UNION ALL SELECT 'service', count(*) FROM services_now WHERE machine = ?1
		UNION ALL SELECT 'swap', count(*) FROM `+withTaken(models.SortSwap)+` WHERE machine = ?1 AND withdrawn = ''
		UNION ALL SELECT 'standing', count(*) FROM `+withTaken(models.SortStanding)+` WHERE machine = ?1 AND withdrawn = ''
		UNION ALL SELECT 'job', count(*) FROM jobs_now WHERE machine = ?1 AND state <> 'withdrawn'
		UNION ALL SELECT 'visit', count(*) FROM visits_now WHERE machine = ?1 AND state <> 'dropped'
		UNION ALL SELECT 'message', count(DISTINCT m.id) FROM messages m JOIN notices n ON n.message = m.id WHERE n.machine = ?1 AND m.state IN ('sending', 'sent')
		UNION ALL SELECT 'rule', count(*) FROM rules_now WHERE machine = ?1 AND retired = 0) WHERE n > 0`, id).Scan(&hangs).Error
	if err != nil {
		return fmt.Errorf("reading what hangs on %s: %w", id, err)
	}
	if len(hangs) > 0 {
		return models.Errorf(models.CodeConflict, "take that back first, or say that it was sold, is gone or was scrapped", "more is recorded of %s than was typed with it: %s", m.Label(), hangs)
	}
	for _, t := range typedWith {
		rows, err := list[int64](w.tx.Raw("SELECT id FROM "+t.view+" WHERE machine = ?", id), "reading what was typed with %s", id)
		if err != nil {
			return err
		}
		for _, row := range rows {
			if err := w.withdraw(models.Withdrawal{Sort: t.sort, Taken: row, Why: why.Why, By: why.By}); err != nil {
				return err
			}
		}
	}
	for _, table := range []string{"machine_states", "forecasts", "doubts", "fleet_lines"} {
		if err := w.tx.Exec("DELETE FROM "+table+" WHERE machine = ?", id).Error; err != nil {
			return fmt.Errorf("clearing %s: %w", table, err)
		}
	}
	w.quiet = append(w.quiet, id)
	return w.retract(&m, &m.Fact, &m.Mistake, why)
}

// saidAgain leaves out of vs what was taken back as a mistake and is not said
// again by a person, and what a folder takes back that stands: see loadMistakes.
func saidAgain[T any](w *factWriter, vs []T, latest map[string]T, id func(T) string, mistake func(*T) models.Retracted) (out []T, same int) {
	for _, v := range vs {
		old, known := latest[id(v)]
		was, is := mistake(&old).Why != "", mistake(&v).Why != ""
		switch {
		case known && was && !is && !w.byHand:
			same++
		case known && !was && is:
		case known && was && is:
			same++
		default:
			out = append(out, v)
		}
	}
	return out, same
}

// loadMistakes takes back what a folder says was a mistake and stands here.
func (w *factWriter) loadMistakes(set models.FactSet) error {
	load := func(sort models.FactSort, id string, why models.Retracted) error {
		if why.Why == "" {
			return nil
		}
		var stands int64
		if err := w.tx.Table(string(sort)+"s_now").Where(string(sort)+" = ?", id).Count(&stands).Error; err != nil || stands == 0 {
			return err
		}
		w.done.Withdrawals.New++
		var also []models.Contact
		return w.takeBack(sort, id, why, &also)
	}
	for _, m := range set.Machines {
		if err := load(models.SortMachine, m.ID, m.Mistake); err != nil {
			return err
		}
	}
	for _, c := range set.Contacts {
		if err := load(models.SortContact, c.ID, c.Mistake); err != nil {
			return err
		}
	}
	for _, o := range set.Owners {
		if err := load(models.SortOwner, o.ID, o.Mistake); err != nil {
			return err
		}
	}
	return nil
}
