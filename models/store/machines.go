package store

import (
	"context"
	"fmt"
	"strings"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"example.org/roundsman/models"
)

// Owners gives all owners by id.
func (s *Store) Owners(ctx context.Context) ([]models.Owner, error) {
	return list[models.Owner](s.read.WithContext(ctx).Table("owners_now").Order("owner"), "reading owners")
}

// FindOwner finds an owner by its id or whole name; letters' case does not
// matter for a name. Two of one name give models.CodeUnclear, none
// models.CodeNotFound.
func (s *Store) FindOwner(ctx context.Context, name string) (models.Owner, error) {
	found, err := list[models.Owner](s.read.WithContext(ctx).Table("owners_now").Where("owner = ? OR name = ? COLLATE NOCASE", name, name).
		Order(clause.Expr{SQL: "owner <> ?, owner", Vars: []any{name}}), "finding owner %q", name)
	switch {
	case err != nil:
		return models.Owner{}, err
	case len(found) == 0:
		return models.Owner{}, s.noOwner(ctx, name)
	case len(found) > 1 && found[0].ID != name:
		return models.Owner{}, models.Errorf(models.CodeUnclear, "say which by its id", "%d owners are called %q: %s and %s", len(found), name, found[0].ID, found[1].ID)
	}
	return found[0], nil
}

// noOwner says that nobody is called so, and who is nearly.
func (s *Store) noOwner(ctx context.Context, name string) error {
	owners, err := s.Owners(ctx)
	if err != nil {
		return err
	}
	known := namesOf(owners, func(o models.Owner) string { return o.ID })
	known = append(known, namesOf(owners, func(o models.Owner) string { return o.Name })...)
	return models.Errorf(models.CodeNotFound, models.Meant(name, known, "give an owner's id or whole name; `roundsman owner list` lists them"), "no owner is called %q", name)
}

// Contacts gives all contacts by id.
func (s *Store) Contacts(ctx context.Context) ([]models.Contact, error) {
	return list[models.Contact](s.read.WithContext(ctx).Table("contacts_now").Order("contact"), "reading contacts")
}

// Machines gives all machines by id.
func (s *Store) Machines(ctx context.Context) ([]models.Machine, error) {
	return list[models.Machine](s.read.WithContext(ctx).Table("machines_now").Order("machine"), "reading machines")
}

// FindMachine finds a machine by its id, by its tag where only one machine
// bears it, or by owner/tag; letters' case does not matter for a tag. A name
// that begins with "id:" is an id and nothing else. An unclear name gives
// models.CodeUnclear and lists the candidates; an unknown one
// models.CodeNotFound.
func (s *Store) FindMachine(ctx context.Context, name string) (models.Machine, error) {
	q := s.read.WithContext(ctx).Table("machines_now")
	if id, alone := strings.CutPrefix(name, "id:"); alone {
		q = q.Where("machine = ?", id)
	} else if q = q.Where("machine = ? OR tag = ? COLLATE NOCASE", name, name); strings.Contains(name, "/") {
		owner, tag, _ := strings.Cut(name, "/")
		q = q.Or("owner = ? COLLATE NOCASE AND (tag = ? COLLATE NOCASE OR machine = ?)", owner, tag, tag)
	}
	found, err := list[models.Machine](q.Order("owner, machine"), "finding machine %q", name)
	if err != nil {
		return models.Machine{}, err
	}
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		return models.Machine{}, models.Errorf(models.CodeNotFound,
			"give a machine's id, its tag, or owner/tag; `roundsman due --stage late,due,coming,unsure,clear` lists them",
			"no machine is called %q", name)
	}
	names := make([]string, 0, len(found))
	for _, m := range found {
		names = append(names, fmt.Sprintf("%s (%s/%s, %s)", m.ID, m.Owner, m.Tag, m.Kind))
	}
	return models.Machine{}, models.Errorf(models.CodeUnclear, "say which by owner/tag or by id:ID",
		"%d machines are called %q: %s", len(found), name, strings.Join(names, ", "))
}

// History gives one machine's facts within a window.
func (s *Store) History(ctx context.Context, machine string, win models.Window) (models.History, error) {
	hs, err := s.Histories(ctx, []string{machine}, win)
	if err != nil {
		return models.History{}, err
	}
	if len(hs) == 0 {
		return models.History{}, models.Errorf(models.CodeNotFound, "", "no machine has the id %q", machine)
	}
	return hs[0], nil
}

// Histories gives machines' facts within a window, by machine id. Machines
// that are not recorded within the window are left out.
func (s *Store) Histories(ctx context.Context, machines []string, win models.Window) (hs []models.History, err error) {
	err = s.view(ctx, func(tx *gorm.DB) error {
		hs, err = histories(ctx, tx, machines, win)
		return err
	})
	return hs, saying(err, "reading the facts of %d machines", len(machines))
}

// historyPage is how many machines EachHistory holds in memory at a time.
const historyPage = 500

// EachHistory gives every machine's facts within a window to fn, by machine
// id, a few hundred machines in memory at a time.
func (s *Store) EachHistory(ctx context.Context, win models.Window, fn func(models.History) error) error {
	for after := ""; ; {
		var ids []string
		err := s.read.WithContext(ctx).Table("machines").Distinct("machine").
			Where("machine > ? AND entry <= ?", after, win.Entry()).
			Order("machine").Limit(historyPage).Pluck("machine", &ids).Error
		if err != nil {
			return fmt.Errorf("listing machines: %w", asModelError(err))
		}
		if len(ids) == 0 {
			return nil
		}
		after = ids[len(ids)-1]
		hs, err := s.Histories(ctx, ids, win)
		if err != nil {
			return err
		}
		for _, h := range hs {
			if err := fn(h); err != nil {
				return err
			}
		}
	}
}

// histories reads machines' facts in passes ordered by machine.
func histories(ctx context.Context, tx *gorm.DB, machines []string, win models.Window) ([]models.History, error) {
	ids := jsonList(machines)
	ms, err := list[models.Machine](tx.Raw(`SELECT m.* FROM machines m JOIN json_each(?) j ON m.machine = j.value
		WHERE m.entry <= ? AND m.withdrawn = '' AND NOT EXISTS (SELECT 1 FROM machines n WHERE n.replaces = m.id AND n.entry <= ?)
		ORDER BY m.machine`, ids, win.Entry(), win.Entry()), "machines")
	if err != nil {
		return nil, err
	}
	hs := make([]models.History, len(ms))
	at := make(map[string]*models.History, len(ms))
	owners, err := ownersOf(tx, ms, win)
	if err != nil {
		return nil, err
	}
	for i, m := range ms {
		hs[i] = models.History{Machine: m, Owner: owners[m.Owner], AsOf: win.AsOf}
		at[m.ID] = &hs[i]
	}
	for _, read := range historyReads() {
		if err := read(tx, ids, win, at); err != nil {
			return nil, err
		}
	}
	return hs, nil
}

// historyRead is a pass over the facts of some machines, given as JSON.
type historyRead func(tx *gorm.DB, ids string, win models.Window, at map[string]*models.History) error

// historyReads are the passes of a history. In their queries ?1 are the
// machines, ?2 the last day and ?3 the last entry.
func historyReads() []historyRead {
	return []historyRead{
		readInto(func(r models.Reading) string { return r.Machine }, func(h *models.History) *[]models.Reading { return &h.Readings },
			`SELECT r.id, r.entry, r.machine, r.at, r.miles, r.hours, r.source, r.width, iif(`+notTaken(models.SortReading, "r", "?3")+`,
				ifnull((SELECT w.standing FROM reading_words w WHERE w.reading = r.id AND w.entry <= ?3 ORDER BY w.id DESC LIMIT 1), ''), 'withdrawn') AS standing
			FROM json_each(?1) j JOIN readings r ON r.machine = j.value
			WHERE r.at <= ?2 AND r.entry <= ?3 ORDER BY r.machine, r.at, r.id`),
		readInto(func(s models.Swap) string { return s.Machine }, func(h *models.History) *[]models.Swap { return &h.Swaps },
			`SELECT s.id, s.entry, s.machine, s.at, s.meter, s.old_value, s.new_value FROM json_each(?1) j JOIN swaps s ON s.machine = j.value
			WHERE s.at <= ?2 AND s.entry <= ?3 AND `+notTaken(models.SortSwap, "s", "?3")+` ORDER BY s.machine, s.at, s.id`),
		readInto(func(s models.Service) string { return s.Machine }, func(h *models.History) *[]models.Service { return &h.Services },
			`SELECT s.id, s.entry, s.machine, s.item, s.at, s.miles, s.hours FROM json_each(?1) j JOIN services s ON s.machine = j.value
			WHERE s.at <= ?2 AND s.entry <= ?3 AND `+notTaken(models.SortService, "s", "?3")+` ORDER BY s.machine, s.at, s.id`),
		readInto(func(s models.MachineStanding) string { return s.Machine }, func(h *models.History) *[]models.MachineStanding { return &h.Standings },
			`SELECT s.* FROM json_each(?1) j JOIN standings s ON s.machine = j.value
			WHERE s.on_day <= ?2 AND s.entry <= ?3 AND `+notTaken(models.SortStanding, "s", "?3")+` ORDER BY s.machine, s.on_day, s.id`),
		readInto(func(b models.Baseline) string { return b.Machine }, func(h *models.History) *[]models.Baseline { return &h.Baselines },
			`WITH said AS (SELECT b.* FROM json_each(?1) j JOIN baselines b ON b.machine = j.value
				WHERE b.on_day <= ?2 AND b.entry <= ?3 AND `+notTaken(models.SortBaseline, "b", "?3")+`)
			SELECT * FROM said b WHERE NOT EXISTS (SELECT 1 FROM said n WHERE n.machine = b.machine AND n.item = b.item AND n.id > b.id)
			ORDER BY machine, item`),
	}
}

// readInto makes the pass that reads one kind of fact into its place.
func readInto[T any](machine func(T) string, place func(*models.History) *[]T, query string) historyRead {
	return func(tx *gorm.DB, ids string, win models.Window, at map[string]*models.History) error {
		err := scanEach(tx, func(v T) {
			if h := at[machine(v)]; h != nil {
				*place(h) = append(*place(h), v)
			}
		}, query, ids, win.Day(), win.Entry())
		return saying(err, "reading facts")
	}
}

// ownersOf gives the owners of machines as they were known within a window.
func ownersOf(tx *gorm.DB, ms []models.Machine, win models.Window) (map[string]models.Owner, error) {
	os, err := list[models.Owner](tx.Raw(`SELECT o.* FROM owners o JOIN json_each(?) j ON o.owner = j.value
		WHERE o.entry <= ? AND NOT EXISTS (SELECT 1 FROM owners n WHERE n.replaces = o.id AND n.entry <= ?)`,
		jsonList(namesOf(ms, func(m models.Machine) string { return m.Owner })), win.Entry(), win.Entry()), "owners")
	if err != nil {
		return nil, err
	}
	return models.ByKey(os, func(o models.Owner) string { return o.ID }), nil
}

// AllFacts gives every fact of the latest versions, for an export: owners,
// contacts, machines, rules, teardowns, readings with their standing, swaps,
// services, jobs and checks, what visits are planned on, and what was told and
// answered, each in a fixed order.
func (s *Store) AllFacts(ctx context.Context) (set models.FactSet, err error) {
	err = s.view(ctx, func(tx *gorm.DB) error {
		reads := append(openTables(&set.Sites, &set.Bays, &set.Technicians, &set.Closures), []tableRead{
			{"owners_last", "", "owner", &set.Owners},
			{"contacts_last", "", "contact", &set.Contacts},
			{"machines_last", "", "machine", &set.Machines},
			{"rules_now", "", "kind, make, model, machine, item", &set.Rules},
			{"teardowns_now", "", "kind, teardown", &set.Teardowns},
			{withTaken(models.SortSwap) + " v", "", "machine, at, meter, id", &set.Swaps},
			{withTaken(models.SortService) + " v", "", "machine, at, item, id", &set.Services},
			{withTaken(models.SortStanding) + " v", "", "machine, on_day, id", &set.Standings},
			{withTaken(models.SortBaseline) + " v", "withdrawn <> '' OR id IN (SELECT id FROM baselines_now)", "machine, item, id", &set.Baselines},
			{withTaken(models.SortRelease) + " v", "withdrawn <> '' OR id IN (SELECT id FROM releases_now)", "machine, id", &set.Releases},
			{"jobs_now", "", jobOrder, &set.Jobs},
			{takenOut("job_lines_now", models.SortLine), "", jobOrder + ", line", &set.JobLines},
			{takenOut("job_parts_now", models.SortPart), "", jobOrder + ", part", &set.Parts},
			{"check_defs_now", "", "def", &set.CheckDefs},
			{"checks_now", "", checkOrder, &set.Checks},
			{withTaken(models.SortAnswer) + " v", "", checkOrder + ", answered_at, id", &set.CheckAnswers},
			{"visits_now", "", visitOrder, &set.Visits},
		}...)
		if err := readTables(tx, reads); err != nil {
			return err
		}
		set.Readings, err = list[models.Reading](tx.Raw(`SELECT f.*, ifnull((SELECT w.standing FROM reading_words w WHERE w.reading = f.id ORDER BY w.id DESC LIMIT 1), '') AS standing
			FROM `+withTaken(models.SortReading)+` f ORDER BY machine, at, f.id`), "readings")
		if err != nil {
			return err
		}
		return allTold(tx, &set)
	})
	return set, saying(err, "reading all facts")
}
