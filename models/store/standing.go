package store

import (
	"context"
	"fmt"
	"maps"
	"slices"

	"gorm.io/gorm"

	"example.org/roundsman/models"
)

// standings writes changes of machines' standing; one that is recorded word
// for word is left alone.
func (w *factWriter) standings(vs []models.MachineStanding, byHand bool) error {
	if len(vs) == 0 {
		return nil
	}
	had, err := versionsOf[models.MachineStanding](w.tx, withTaken(models.SortStanding)+" v", "machine", namesOf(vs, func(v models.MachineStanding) string { return v.Machine }))
	if err != nil {
		return err
	}
	var sold []models.MachineStanding
	w.done.Standings, err = putTakable(w, vs, byHand, versioned[models.MachineStanding, models.MachineStanding]{
		sort: models.SortStanding, rows: had,
		key: func(v models.MachineStanding) models.MachineStanding {
			v.Fact, v.Withdrawn = models.Fact{}, models.Withdrawn{}
			return v
		},
		head: func(v *models.MachineStanding) (*models.Fact, *models.Withdrawn) { return &v.Fact, &v.Withdrawn },
		same: func(_, _ models.MachineStanding) bool { return true },
		wrote: func(v models.MachineStanding) {
			w.touched[v.Machine] = true
			w.quiet = append(w.quiet, v.Machine)
			if v.State == models.StandsSold && v.Entry == w.entry {
				sold = append(sold, v)
			}
		},
	})
	if err != nil {
		return fmt.Errorf("writing where machines stand: %w", err)
	}
	return w.holdSold(sold)
}

// noteSold marks a machine that was held back because it was sold.
const noteSold = "sold"

// holdSold holds back machines that were sold: the word that the seller may be
// told of one says nothing of the buyer.
func (w *factWriter) holdSold(sold []models.MachineStanding) error {
	released, err := versionsOf[models.Release](w.tx, "releases_now", "machine", namesOf(sold, func(v models.MachineStanding) string { return v.Machine }))
	if err != nil {
		return err
	}
	state := models.ByKey(released, func(r models.Release) string { return r.Machine })
	var held []models.Release
	for _, v := range sold {
		if state[v.Machine].State == models.Released {
			held = append(held, models.Release{Machine: v.Machine, State: models.HeldBack, By: v.By, Note: noteSold})
		}
	}
	return w.releases(held, true)
}

// keepSold gives a machine that was sold the owner to whom it was sold, where a
// folder names one who had it before: a shop's own file lags behind.
func (w *factWriter) keepSold(vs []models.Machine, latest map[string]models.Machine) error {
	sold, err := list[string](w.tx.Raw("SELECT DISTINCT machine FROM "+withTaken(models.SortStanding)+" v WHERE state = 'sold' AND new_owner <> '' AND withdrawn = ''"), "reading which machines were sold")
	if err != nil {
		return err
	}
	for i, v := range vs {
		if old, known := latest[v.ID]; !known || old.Owner == v.Owner || !slices.Contains(sold, v.ID) || slices.Contains(w.soldNow, v.ID) {
			continue
		}
		var before int64
		if err := w.tx.Table("machines").Where("machine = ? AND owner = ?", v.ID, v.Owner).Count(&before).Error; err != nil {
			return fmt.Errorf("reading who had %s: %w", v.ID, err)
		}
		if before > 0 {
			vs[i].Owner = latest[v.ID].Owner
		}
	}
	return nil
}

// baselines writes what is known of items before the books began.
func (w *factWriter) baselines(vs []models.Baseline, byHand bool) error {
	if len(vs) == 0 {
		return nil
	}
	had, err := versionsOf[models.Baseline](w.tx, withTaken(models.SortBaseline)+" v", "machine", namesOf(vs, func(b models.Baseline) string { return b.Machine }))
	if err != nil {
		return err
	}
	key := func(b models.Baseline) [2]string { return [2]string{b.Machine, b.Item} }
	counts := map[[2]string]models.Baseline{}
	for _, b := range had {
		if b.Why == "" {
			counts[key(b)] = b
		}
	}
	w.done.Baselines, err = putTakable(w, vs, byHand, versioned[models.Baseline, [2]string]{
		sort: models.SortBaseline, rows: had, chain: true,
		key:  key,
		head: func(b *models.Baseline) (*models.Fact, *models.Withdrawn) { return &b.Fact, &b.Withdrawn },
		same: func(a, b models.Baseline) bool { a.Fact, a.Withdrawn = b.Fact, b.Withdrawn; return a == b },
		wrote: func(v models.Baseline) {
			w.touched[v.Machine] = true
			if was, said := counts[key(v)]; said && v.Why == "" {
				w.undo(was)
			}
			if v.State != models.BaselineUnknown && v.Why == "" {
				w.over = append(w.over, work{v.Machine, v.Item, v.Since()})
			}
		},
	})
	return saying(err, "writing baselines")
}

// undo notes that what was said of an item counts no more.
func (w *factWriter) undo(b models.Baseline) {
	if b.State != models.BaselineUnknown {
		w.undone = append(w.undone, work{b.Machine, b.Item, b.Since()})
	}
}

// releases writes who may be told of what.
func (w *factWriter) releases(vs []models.Release, byHand bool) error {
	if len(vs) == 0 {
		return nil
	}
	had, err := versionsOf[models.Release](w.tx, withTaken(models.SortRelease)+" v", "machine", namesOf(vs, func(r models.Release) string { return r.Machine }))
	if err != nil {
		return err
	}
	var changed []string
	w.done.Releases, err = putTakable(w, vs, byHand, versioned[models.Release, string]{
		sort: models.SortRelease, rows: had, chain: true,
		key:   func(r models.Release) string { return r.Machine },
		head:  func(r *models.Release) (*models.Fact, *models.Withdrawn) { return &r.Fact, &r.Withdrawn },
		same:  func(a, b models.Release) bool { a.Fact, a.Withdrawn = b.Fact, b.Withdrawn; return a == b },
		wrote: func(v models.Release) { changed = append(changed, v.Machine) },
	})
	if err != nil {
		return fmt.Errorf("writing releases: %w", err)
	}
	if slices.Contains(changed, "") {
		if err := w.tx.Table("machines_now").Order("machine").Pluck("machine", &changed).Error; err != nil {
			return fmt.Errorf("reading machines: %w", err)
		}
	}
	for _, id := range changed {
		w.touched[id] = true
	}
	w.quiet = append(w.quiet, changed...)
	return nil
}

// Tellable gives what bears on whether people may be told of machines, by id.
func (s *Store) Tellable(ctx context.Context, machines []string) (out map[string]models.Tellable, err error) {
	err = s.view(ctx, func(tx *gorm.DB) error {
		out, err = tellable(tx, machines)
		return err
	})
	return out, saying(err, "reading who may be told of %d machines", len(machines))
}

func tellable(tx *gorm.DB, machines []string) (map[string]models.Tellable, error) {
	ms, err := versionsOf[models.Machine](tx, "machines_now", "machine", machines)
	if err != nil {
		return nil, err
	}
	standings, err := versionsOf[models.MachineStanding](tx, "standings_now", "machine", machines)
	if err != nil {
		return nil, err
	}
	released, err := versionsOf[models.Release](tx, "releases_now", "machine", append([]string{""}, machines...))
	if err != nil {
		return nil, err
	}
	state := models.ByKey(standings, func(v models.MachineStanding) string { return v.Machine })
	release := models.ByKey(released, func(v models.Release) string { return v.Machine })
	out := make(map[string]models.Tellable, len(ms))
	for _, m := range ms {
		out[m.ID] = models.Tellable{Owner: m.Owner, Standing: state[m.ID],
			Released: release[m.ID].State == models.Released && release[""].State != models.HeldBack}
	}
	return out, nil
}

// Standings gives the standing that holds of every machine of which one was
// ever recorded, by machine.
func (s *Store) Standings(ctx context.Context) (map[string]models.MachineStanding, error) {
	rows, err := list[models.MachineStanding](s.read.WithContext(ctx).Table("standings_now"), "reading where machines stand")
	if err != nil {
		return nil, err
	}
	return models.ByKey(rows, func(v models.MachineStanding) string { return v.Machine }), nil
}

// Releases gives the word that holds on each machine and, under "", on the
// shop.
func (s *Store) Releases(ctx context.Context) (map[string]models.Release, error) {
	rows, err := list[models.Release](s.read.WithContext(ctx).Table("releases_now"), "reading what is released")
	if err != nil {
		return nil, err
	}
	return models.ByKey(rows, func(v models.Release) string { return v.Machine }), nil
}

// CareByOwner counts the machines in the shop's care, by owner, by the fleet's
// lines, of which each such machine has one.
func (s *Store) CareByOwner(ctx context.Context) ([]models.OwnerCare, error) {
	return list[models.OwnerCare](s.read.WithContext(ctx).Raw(`SELECT l.owner, count(*) AS machines, sum(ifnull(r.state, '') <> ?) AS held
		FROM fleet_lines l LEFT JOIN releases_now r ON r.machine = l.machine GROUP BY l.owner ORDER BY l.owner`, models.Released), "counting machines in care")
}

// outOfCare is the condition under which a machine's standing takes it off
// every list.
const outOfCare = "(s.state IN ('gone', 'scrapped') OR s.state = 'sold' AND s.new_owner = '')"

// hush stops what waits to be told of machines whose standing or release has
// changed, where it must not be told any more: their notices, the messages that
// hold nothing else, and the visits of machines that have left. A message that
// tells of other machines too is composed anew without them.
//
// So stop the notices of items that were done, or found fine, since they were
// told of, and of those that count from what was corrected.
func (w *factWriter) hush() error {
	if len(w.quiet) == 0 && len(w.over) == 0 && len(w.undone) == 0 {
		return nil
	}
	slices.Sort(w.quiet)
	ids := slices.Compact(w.quiet)
	can, err := tellable(w.tx, ids)
	if err != nil {
		return err
	}
	if err := w.stopItems(w.over, models.ReasonDone, func(v work, n models.Notice) bool { return v.on <= w.today && v.on > n.LastOn }); err != nil {
		return err
	}
	if err := w.stopItems(w.undone, models.ReasonCorrected, func(v work, n models.Notice) bool { return v.on >= n.LastOn }); err != nil {
		return err
	}
	for _, id := range ids {
		t := can[id]
		why := models.BarredWhy(t, t.Owner, w.today)
		if err := w.stopMachine(id, t.Owner, why, w.at); err != nil {
			return err
		}
		if t.Standing.State == models.StandsSold || !t.Standing.InCare() {
			if err := w.dropVisits(id, t.Standing.On, models.BarredWhy(t, "", w.today)); err != nil {
				return err
			}
		}
	}
	return nil
}

// waits is the condition under which a message m waits to go, and no try to
// send it has begun.
const waits = "m.state IN ('queued', 'sending') AND m.tries = (SELECT count(*) FROM attempts a WHERE a.message = m.id)"

// work is an item of a machine that was done, or found fine, on a day.
type work struct {
	machine, item string
	on            models.Date
}

// stopItems stops for a reason the waiting notices of items on which some work
// bears, and of the first inspection where nothing else is left in its message:
// it is never a message's only word.
func (w *factWriter) stopItems(works []work, why models.Reason, bears func(work, models.Notice) bool) error {
	over := map[string][]work{}
	for _, v := range works {
		over[v.machine] = append(over[v.machine], v)
	}
	waiting, err := list[models.Notice](w.tx.Raw(`SELECT n.* FROM messages m JOIN notices n ON n.message = m.id
		WHERE `+waits+` AND n.subject = ? AND n.machine IN (SELECT value FROM json_each(?)) AND n.id NOT IN (SELECT notice FROM stopped_notices)`,
		models.SubjectItem, jsonList(slices.Collect(maps.Keys(over)))), "reading what waits to be told")
	if err != nil {
		return err
	}
	var stopped []int64
	for _, n := range waiting {
		if !slices.ContainsFunc(over[n.Machine], func(v work) bool { return models.CountsFor(v.item, n.Item) && bears(v, n) }) {
			continue
		}
		stopped = append(stopped, n.ID)
	}
	if len(stopped) == 0 {
		return nil
	}
	if err = stopNotices(w.tx, w.entry, stopped, why); err == nil {
		err = w.tx.Exec(`INSERT INTO stopped_notices (notice, entry, why) SELECT n.id, ?, ? FROM notices n
			WHERE n.item = ? AND n.message IN (SELECT message FROM notices WHERE id IN (SELECT value FROM json_each(?)))
				AND NOT EXISTS (SELECT 1 FROM notices o WHERE o.message = n.message AND o.machine = n.machine AND o.item <> n.item
					AND o.id NOT IN (SELECT notice FROM stopped_notices))
			ON CONFLICT DO NOTHING`, w.entry, why, models.ItemFirstInspection, jsonList(stopped)).Error
	}
	if err != nil {
		return fmt.Errorf("stopping what waits to be told of items: %w", err)
	}
	return dropStopped(w.tx, stopped, w.at)
}

// stopNotices stops notices for a reason.
func stopNotices(tx *gorm.DB, entry int64, notices []int64, why models.Reason) error {
	return saying(tx.Exec(`INSERT INTO stopped_notices (notice, entry, why) SELECT value, ?, ? FROM json_each(?) WHERE true ON CONFLICT DO NOTHING`,
		entry, why, jsonList(notices)).Error, "stopping what waits to be told")
}

// stopMachine stops the waiting notices of a machine that its present owner
// must not get for a reason, and those of anybody else.
func (w *factWriter) stopMachine(machine, owner string, why models.Reason, at models.Instant) error {
	var stopped []struct{ ID, Message int64 }
	other := models.BarredWhy(models.Tellable{Owner: owner, Released: true}, "", 0)
	err := w.tx.Raw(`INSERT INTO stopped_notices (notice, entry, why)
		SELECT n.id, ?, iif(n.owner <> ?, ?, ?) FROM notices n JOIN messages m ON m.id = n.message
		WHERE n.machine = ? AND `+waits+`
			AND (n.owner <> ? OR ? <> '')
		ON CONFLICT DO NOTHING RETURNING notice AS id, 0 AS message`, w.entry, owner, other, why, machine, owner, why).Scan(&stopped).Error
	if err != nil {
		return fmt.Errorf("stopping what waits to be told of %s: %w", machine, err)
	}
	if len(stopped) == 0 {
		return nil
	}
	list := make([]int64, len(stopped))
	for i, s := range stopped {
		list[i] = s.ID
	}
	return dropStopped(w.tx, list, at)
}

// dropStopped drops the waiting messages of which every notice is stopped, and
// has the others composed anew without the stopped ones.
func dropStopped(tx *gorm.DB, list []int64, at models.Instant) error {
	const left = "EXISTS (SELECT 1 FROM notices n WHERE n.message = messages.id AND n.id NOT IN (SELECT notice FROM stopped_notices))"
	const mine = "id IN (SELECT message FROM notices WHERE id IN (SELECT value FROM json_each(?))) AND state IN ('queued', 'sending')"
	err := tx.Exec(`UPDATE messages SET state = 'dropped', ended_at = ?, lease_by = '', lease_ends = 0,
		why = (SELECT x.why FROM stopped_notices x JOIN notices n ON n.id = x.notice WHERE n.message = messages.id ORDER BY x.entry DESC LIMIT 1)
		WHERE `+mine+" AND NOT "+left, at, jsonList(list)).Error
	if err == nil {
		err = tx.Exec(`UPDATE messages SET `+unwritten+" WHERE "+mine+" AND "+left, jsonList(list)).Error
	}
	return saying(err, "stopping what waits to be told")
}

// dropVisits takes out a machine's visits that are not over on a day. Nobody
// is written to: the machine is theirs no more.
func (w *factWriter) dropVisits(machine string, from models.Date, why models.Reason) error {
	vs, err := list[models.Visit](w.tx.Table("visits_now").Where("machine = ? AND state <> 'dropped' AND until_on >= ? AND entry < ?", machine, from, w.entry), "reading the visits of %s", machine)
	if err != nil {
		return err
	}
	for _, v := range vs {
		row := v.Row
		v.Fact = models.Fact{Entry: w.entry, Replaces: &row}
		v.State, v.Sequence, v.Why = models.VisitDropped, v.Sequence+1, string(why)
		if err := w.tx.Create(&v).Error; err != nil {
			return fmt.Errorf("taking out visit %s: %w", v.ID, err)
		}
	}
	return nil
}
