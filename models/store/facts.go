package store

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"gorm.io/gorm"

	"example.org/roundsman/models"
)

// Record writes a set of facts, whole or not at all. Facts that are known
// word for word are left alone; a changed owner, contact, machine, rule or
// teardown becomes a new row that names the old. A stop once recorded is not
// cleared. The machines concerned are marked for the next round.
func (s *Store) Record(ctx context.Context, set models.FactSet, by models.Entry) (models.Recorded, error) {
	done, _, err := s.RecordWithJob(ctx, set, nil, by)
	return done, err
}

// RecordWithJob writes a set of facts and what an act changes in a job, of which
// the set may bring the machine, all of it or nothing. It gives the job's id; a
// nil change is none.
func (s *Store) RecordWithJob(ctx context.Context, set models.FactSet, job *models.JobChange, by models.Entry) (done models.Recorded, id string, err error) {
	err = s.record(ctx, by, func(w *factWriter) (bool, error) {
		if err := w.all(set); err != nil {
			return false, err
		}
		if job != nil {
			c := *job
			if err := w.change(&c); err != nil {
				return false, err
			}
			id = c.Job.ID
		}
		if w.done.Changed() {
			w.done.Entry = w.entry
		}
		done = w.done
		return done.Changed(), nil
	})
	if err != nil {
		return models.Recorded{}, "", err
	}
	return done, id, nil
}

// factWriter writes facts within one entry.
type factWriter struct {
	tx      *gorm.DB
	entry   int64
	done    models.Recorded
	touched map[string]bool // machines with a new fact
	quiet   []string        // machines whose standing or release changed
	over    []work          // what was done, or found fine
	undone  []work          // what was taken back, or said otherwise, as it was
	soldNow []string        // machines that this entry sells
	byHand  bool            // see models.FactSet
	at      models.Instant  // of the entry
	today   models.Date     // the shop's day of it
}

// newFactWriter begins an entry.
func (s *Store) newFactWriter(tx *gorm.DB, e models.Entry) (*factWriter, error) {
	if err := tx.Create(&e).Error; err != nil {
		return nil, fmt.Errorf("beginning an entry: %w", err)
	}
	return &factWriter{tx: tx, entry: e.ID, touched: map[string]bool{}, at: e.RecordedAt, today: models.DateOf(e.RecordedAt.Time().In(s.zone))}, nil
}

func (w *factWriter) all(set models.FactSet) error {
	w.byHand = set.ByHand
	for _, s := range set.Standings {
		if s.State == models.StandsSold {
			w.soldNow = append(w.soldNow, s.Machine)
		}
	}
	steps := []func() error{
		func() error { return w.owners(set.Owners) },
		func() error { return w.machines(set.Machines) },
		func() error { return w.contacts(set.Contacts) },
		func() error { return w.rules(set.Rules) },
		func() error {
			return put(w, &w.done.Teardowns, set.Teardowns, "kind", func(t models.Teardown) (string, any) { return t.Kind, t.ID },
				alike[models.Teardown], nil)
		},
		func() error { return w.readings(set.Readings) },
		func() error { return w.swaps(set.Swaps) },
		func() error { return w.services(set.Services) },
		func() error { return w.standings(set.Standings, set.ByHand) },
		func() error { return w.baselines(set.Baselines, set.ByHand) },
		func() error { return w.releases(set.Releases, set.ByHand) },
		func() error { return w.jobFacts(set) },
		func() error { return w.planFacts(set) },
		func() error { return w.told(set) },
		func() error { return w.loadMistakes(set) },
		w.hush,
		w.touch,
	}
	for _, step := range steps {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

// head is a pointer to a fact of some kind.
type head[T any] interface {
	*T
	Head() *models.Fact
}

// putVersions writes the facts of vs that differ from their latest version by
// same. latest gives the latest versions by key.
func putVersions[T any, P head[T], K comparable](w *factWriter, vs []T, latest map[K]T, key func(T) K,
	same func(a, b T) bool, written func(old *T, v T)) (models.Counts, error) {
	var c models.Counts
	var fresh []T
	var olds []*T
	at := map[K]int{} // where a key stands in fresh, as a set may name it twice
	for _, v := range vs {
		old, known := latest[key(v)]
		i, twice := at[key(v)]
		if known && !twice && same(old, v) {
			c.Same++
			continue
		}
		h := P(&v).Head()
		*h = models.Fact{Entry: w.entry}
		if twice { // the last word of one entry counts
			h.Replaces = P(&fresh[i]).Head().Replaces
			fresh[i] = v
			continue
		}
		var o *T
		if known {
			row := P(&old).Head().Row
			h.Replaces = &row
			o = &old
			c.Corrected++
		} else {
			c.New++
		}
		at[key(v)] = len(fresh)
		fresh = append(fresh, v)
		olds = append(olds, o)
	}
	if len(fresh) == 0 {
		return c, nil
	}
	if err := w.tx.CreateInBatches(&fresh, 300).Error; err != nil {
		return c, err
	}
	for i := range fresh {
		if olds[i] != nil {
			w.done.Changes = append(w.done.Changes, models.Change{Was: *olds[i], Is: fresh[i]})
		}
		written(olds[i], fresh[i])
	}
	return c, nil
}

// alike says whether two facts say the same, whatever entry brought them.
func alike[T comparable, P head[T]](a, b T) bool {
	*P(&a).Head() = *P(&b).Head()
	return a == b
}

// put writes the facts of vs that differ from their latest version by same. They are
// found by the column of their id; key gives the id, and what tells apart
// facts of one id.
func put[T comparable, P head[T]](w *factWriter, c *models.Counts, vs []T, column string, key func(T) (id string, part any),
	same func(a, b T) bool, written func(T)) error {
	if len(vs) == 0 {
		return nil
	}
	type place struct {
		id   string
		part any
	}
	at := func(v T) place { id, part := key(v); return place{id, part} }
	table, err := fieldsOf[T](w.tx)
	if err != nil {
		return saying(err, "writing facts")
	}
	now, err := versionsOf[T](w.tx, table.Table+"_now", column, namesOf(vs, func(v T) string { return at(v).id }))
	if err != nil {
		return err
	}
	*c, err = putVersions[T, P](w, vs, models.ByKey(now, at), at, same, func(_ *T, v T) {
		if written != nil {
			written(v)
		}
	})
	return saying(err, "writing %s", table.Table)
}

// idsOf gives the numbers of rows.
func idsOf[T any](rows []T, id func(T) int64) []int64 {
	out := make([]int64, len(rows))
	for i, r := range rows {
		out[i] = id(r)
	}
	return out
}

// childrenOf reads the rows that belong to others by a column, in the order of
// writing.
func childrenOf[T any](tx *gorm.DB, column string, parents []int64, parent func(T) int64) (map[int64][]T, error) {
	var rows []T
	if err := tx.Where(column+" IN (SELECT value FROM json_each(?))", jsonList(parents)).Order("id").Find(&rows).Error; err != nil {
		return nil, err
	}
	out := make(map[int64][]T, len(parents))
	for _, r := range rows {
		out[parent(r)] = append(out[parent(r)], r)
	}
	return out, nil
}

func (w *factWriter) owners(vs []models.Owner) error {
	var changed []string
	if len(vs) == 0 {
		return nil
	}
	last, err := list[models.Owner](w.tx.Table("owners_last"), "reading owners")
	if err != nil {
		return err
	}
	key := func(o models.Owner) string { return o.ID }
	latest := models.ByKey(last, key)
	vs, same := saidAgain(w, vs, latest, key, func(o *models.Owner) models.Retracted { return o.Mistake })
	w.done.Owners, err = putVersions(w, vs, latest, key, alike[models.Owner], func(_ *models.Owner, v models.Owner) { changed = append(changed, v.ID) })
	w.done.Owners.Same += same
	if err != nil {
		return fmt.Errorf("writing owners: %w", err)
	}
	return w.touchOwners(changed)
}

func (w *factWriter) contacts(vs []models.Contact) (err error) {
	if len(vs) == 0 {
		return nil
	}
	last, err := list[models.Contact](w.tx.Table("contacts_last"), "reading contacts")
	if err != nil {
		return err
	}
	key := func(c models.Contact) string { return c.ID }
	latest := models.ByKey(last, key)
	knownAgain(vs, slices.DeleteFunc(last, func(c models.Contact) bool { return c.Mistake.Why != "" }))
	vs, same := saidAgain(w, vs, latest, key, func(c *models.Contact) models.Retracted { return c.Mistake })
	for i := range vs {
		if err := w.keepStops(&vs[i], latest[vs[i].ID]); err != nil {
			return err
		}
	}
	var owners []string
	w.done.Contacts, err = putVersions(w, vs, latest, key,
		alike[models.Contact],
		func(old *models.Contact, v models.Contact) {
			owners = append(owners, v.Owner)
			if old != nil { // somebody else may have to be told there now
				owners = append(owners, old.Owner)
			}
		})
	w.done.Contacts.Same += same
	if err != nil {
		return fmt.Errorf("writing contacts: %w", err)
	}
	return w.touchOwners(owners)
}

// knownAgain finds contacts whose ids are made of their names and whose names
// are written otherwise now: one of the same owner and role that has the same
// number or mail address and is not in the set keeps its id, since two would
// be told everything twice.
func knownAgain(vs, now []models.Contact) {
	type place struct {
		owner   string
		role    models.Role
		address string
	}
	named := make(map[string]bool, len(vs)) // ids that the set names
	for _, v := range vs {
		named[v.ID] = true
	}
	made := func(c models.Contact) bool { return strings.HasPrefix(c.ID, c.Owner+"/") }
	known := make(map[string]bool, len(now))
	at := map[place]string{}
	for _, c := range now {
		known[c.ID] = true
		if made(c) && !named[c.ID] {
			at[place{c.Owner, c.Role, c.Mobile}] = c.ID
			at[place{c.Owner, c.Role, strings.ToLower(c.Mail)}] = c.ID
		}
	}
	for i, v := range vs {
		if known[v.ID] || !made(v) {
			continue
		}
		for _, a := range []string{v.Mobile, strings.ToLower(v.Mail)} {
			if id := at[place{v.Owner, v.Role, a}]; a != "" && id != "" && !named[id] {
				vs[i].ID, named[id] = id, true
				break
			}
		}
	}
}

func (w *factWriter) machines(vs []models.Machine) (err error) {
	if len(vs) == 0 {
		return nil
	}
	last, err := list[models.Machine](w.tx.Table("machines_last"), "reading machines")
	if err != nil {
		return err
	}
	key := func(m models.Machine) string { return m.ID }
	latest := models.ByKey(last, key)
	vs, same := saidAgain(w, slices.Clone(vs), latest, key, func(m *models.Machine) models.Retracted { return m.Mistake })
	if err := w.keepSold(vs, latest); err != nil {
		return err
	}
	for i := range vs {
		vs[i].BooksSince = cmp.Or(vs[i].BooksSince, latest[vs[i].ID].BooksSince, w.today)
	}
	w.done.Machines, err = putVersions(w, vs, latest, key,
		alike[models.Machine],
		func(_ *models.Machine, v models.Machine) { w.touched[v.ID] = true })
	w.done.Machines.Same += same
	return saying(err, "writing machines")
}

func (w *factWriter) readings(vs []models.Reading) error {
	return putEach(w.tx, "readings", vs, nil, inEntry[models.Reading](w),
		func(v models.Reading, row int64) error {
			if v.Standing != "" {
				if err := w.word(v); err != nil {
					return err
				}
			}
			return w.count(&w.done.Readings, row, models.SortReading, v.Machine, v.Withdrawn, "machine = ? AND at = ? AND ifnull(miles, -1) = ? AND ifnull(hours, -1) = ? AND source = ? AND ifnull(width, 0) = ?",
				v.Machine, v.At, v.Miles.Or(-1), v.Hours.Or(-1), v.Source, v.Width.Or(0))
		})
}

// word writes a person's word on a reading where it differs from the last.
func (w *factWriter) word(v models.Reading) error {
	var now struct {
		ID       int64
		Standing models.Standing
	}
	err := w.tx.Raw(`SELECT r.id, ifnull((SELECT standing FROM reading_words w WHERE w.reading = r.id ORDER BY w.id DESC LIMIT 1), '') AS standing
		FROM readings r WHERE machine = ? AND at = ? AND ifnull(miles, -1) = ? AND ifnull(hours, -1) = ? AND source = ? AND ifnull(width, 0) = ?`,
		v.Machine, v.At, v.Miles.Or(-1), v.Hours.Or(-1), v.Source, v.Width.F).Scan(&now).Error
	if err != nil {
		return fmt.Errorf("reading what was said of a reading: %w", err)
	}
	if now.Standing == v.Standing {
		w.done.ReadingWords.Same++
		return nil
	}
	rw := models.ReadingReview{Fact: models.Fact{Entry: w.entry}, Reading: now.ID, Standing: v.Standing}
	if err := w.tx.Create(&rw).Error; err != nil {
		return fmt.Errorf("writing a word on a reading: %w", err)
	}
	w.done.ReadingWords.New++
	w.touched[v.Machine] = true
	return nil
}

func (w *factWriter) swaps(vs []models.Swap) error {
	return putEach(w.tx, "swaps", vs, nil, inEntry[models.Swap](w),
		func(v models.Swap, row int64) error {
			return w.count(&w.done.Swaps, row, models.SortSwap, v.Machine, v.Withdrawn, "machine = ? AND at = ? AND meter = ? AND ifnull(old_value, -1) = ? AND ifnull(new_value, -1) = ?",
				v.Machine, v.At, v.Meter, v.OldValue.Or(-1), v.NewValue.Or(-1))
		})
}

func (w *factWriter) services(vs []models.Service) error {
	return putEach(w.tx, "services", vs, nil, inEntry[models.Service](w),
		func(v models.Service, row int64) error {
			if v.Why == "" && (row != 0 || w.byHand) {
				w.over = append(w.over, work{v.Machine, v.Item, v.At})
			}
			return w.count(&w.done.Services, row, models.SortService, v.Machine, v.Withdrawn, "machine = ? AND item = ? AND at = ? AND ifnull(miles, -1) = ? AND ifnull(hours, -1) = ?",
				v.Machine, v.Item, v.At, v.Miles.Or(-1), v.Hours.Or(-1))
		})
}

// count counts a row that was written, or was there: 0 is no row. What a folder
// says was taken back is taken back; what was, and a person says again, counts
// from now on. find is the condition by which the row is found.
func (w *factWriter) count(c *models.Counts, row int64, sort models.FactSort, machine string, v models.Withdrawn, find string, args ...any) error {
	if row == 0 && w.byHand {
		again := w.tx.Exec(`INSERT INTO said_again (entry, withdrawal) SELECT ?, w.id FROM withdrawals_now w
			WHERE w.sort = ? AND w.fact IN (SELECT id FROM `+withTaken(sort)+` WHERE withdrawn <> '' AND `+find+")", append([]any{w.entry, sort}, args...)...)
		if again.Error != nil {
			return fmt.Errorf("saying a %s again: %w", sort, again.Error)
		}
		row = again.RowsAffected
	}
	if tally(c, row) {
		w.touched[machine] = true
	}
	return w.loadWithdrawn(sort, machine, v, find, args...)
}
