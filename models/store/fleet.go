package store

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"gorm.io/gorm"

	"example.org/roundsman/models"
)

// Columns of fleet_lines where nothing is known.
const (
	rankNotLooked = 5
	noDay         = "9999-12-31"
)

// maxFindWords bounds the words of a search.
const maxFindWords = 6

// Fleet gives one page of machines, the most urgent first, by what was found
// when each was last worked out.
func (s *Store) Fleet(ctx context.Context, f models.FleetFilter) (page models.FleetPage, err error) {
	where, args := fleetWhere(f)
	err = s.view(ctx, func(tx *gorm.DB) error {
		var counts []struct{ Rank, N int }
		if err := tx.Raw("SELECT rank, count(*) AS n FROM fleet_lines"+where+" GROUP BY rank", args...).Scan(&counts).Error; err != nil {
			return err
		}
		page.Stages = make(map[models.Stage]int, len(counts))
		for _, c := range counts {
			stage := stageOfRank(c.Rank)
			page.Stages[stage] += c.N
			if f.Stage == "" || f.Stage == stage {
				page.Total += c.N
			}
		}
		if f.Stage != "" {
			where += joinWhere(where) + "rank = ?"
			args = append(args, f.Stage.Rank())
		}
		var lines []struct {
			Machine, DueOn string
			Rank           int
		}
		err := tx.Raw("SELECT machine, rank, due_on FROM fleet_lines"+where+" ORDER BY rank, due_on, machine LIMIT ? OFFSET ?",
			append(args, f.Limit, f.Offset)...).Scan(&lines).Error
		if err != nil {
			return err
		}
		page.Lines = make([]models.FleetLine, len(lines))
		ids := make([]string, len(lines))
		for i, l := range lines {
			ids[i] = l.Machine
			page.Lines[i].Stage = stageOfRank(l.Rank)
			if l.DueOn != noDay {
				if page.Lines[i].DueOn, err = models.ParseDate(l.DueOn); err != nil {
					return err
				}
			}
		}
		return fillFleet(tx, ids, page.Lines)
	})
	return page, saying(err, "reading a page of the fleet")
}

// fillFleet adds machines, owners and standings to lines, in their order.
func fillFleet(tx *gorm.DB, ids []string, lines []models.FleetLine) error {
	ms, err := versionsOf[models.Machine](tx, "machines_now", "machine", ids)
	if err != nil {
		return err
	}
	os, err := versionsOf[models.Owner](tx, "owners_now", "owner", namesOf(ms, func(m models.Machine) string { return m.Owner }))
	if err != nil {
		return err
	}
	stand, err := versionsOf[models.MachineStanding](tx, "standings_now", "machine", ids)
	if err != nil {
		return err
	}
	machines := models.ByKey(ms, func(m models.Machine) string { return m.ID })
	owners := models.ByKey(os, func(o models.Owner) string { return o.ID })
	standings := models.ByKey(stand, func(v models.MachineStanding) string { return v.Machine })
	for i, id := range ids {
		lines[i].Standing = standings[id]
		lines[i].Machine = machines[id]
		lines[i].Owner = owners[machines[id].Owner]
		lines[i].Owner.ID = machines[id].Owner
	}
	return nil
}

// fleetWhere gives the condition of a filter without its stage.
func fleetWhere(f models.FleetFilter) (where string, args []any) {
	if f.Owner != "" {
		where, args = " WHERE owner = ?", append(args, f.Owner)
	}
	holds := func(part string) {
		args = append(args, "%"+strings.NewReplacer(`\`, `\\`, "%", `\%`, "_", `\_`).Replace(part)+"%")
	}
	const like = `words LIKE ? ESCAPE '\'`
	var all []string
	words := strings.Fields(strings.ToLower(f.Find))
	for _, w := range words[:min(len(words), maxFindWords)] {
		holds(w)
		one := like
		if digits := digitsOf(w); digits != "" && digits != w {
			holds(digits)
			one = "(" + like + " OR " + like + ")"
		}
		all = append(all, one)
	}
	if len(all) == 0 {
		return where, args
	}
	found := strings.Join(all, " AND ")
	if f.Mobile != "" {
		holds(strings.TrimPrefix(f.Mobile, "+"))
		found += " OR " + like
	}
	return where + joinWhere(where) + "(" + found + ")", args
}

// digitsOf gives the digits of a piece of a telephone number, however it is
// written, "" of any other word.
func digitsOf(word string) string {
	if strings.Trim(word, "+0123456789().-/") != "" {
		return ""
	}
	return strings.Map(func(r rune) rune {
		if r < '0' || r > '9' {
			return -1
		}
		return r
	}, word)
}

func joinWhere(where string) string {
	if where == "" {
		return " WHERE "
	}
	return " AND "
}

// stageOfRank is the other way round of Stage.Rank; "" where no round has
// looked.
func stageOfRank(rank int) models.Stage {
	stages := models.Stages()
	if rank < 0 || rank >= len(stages) {
		return ""
	}
	return stages[rank]
}

// touchFleet keeps the fleet's lines of machines by their present owner and
// words; a new machine's urgency is known when it is first worked out.
func touchFleet(tx *gorm.DB, list string) error {
	err := tx.Exec(`INSERT INTO fleet_lines (machine, owner, rank, due_on, words)
		SELECT m.machine, m.owner, ?, ?, lower(m.tag || ' ' || m.machine || ' ' || ifnull(o.name, '') || ' ' || m.owner || ' ' ||
			m.kind || ' ' || m.make || ' ' || m.model || ' ' || m.serial || ' ' || m.site || ' ' ||
			ifnull((SELECT group_concat(substr(c.mobile, 2), ' ') FROM contacts_now c WHERE c.owner = m.owner AND c.mobile <> ''), ''))
		FROM json_each(?) j JOIN machines_now m ON m.machine = j.value LEFT JOIN owners_now o ON o.owner = m.owner WHERE true
		ON CONFLICT (machine) DO UPDATE SET owner = excluded.owner, words = excluded.words
			WHERE owner <> excluded.owner OR words <> excluded.words`, rankNotLooked, noDay, list).Error
	if err == nil {
		err = tx.Exec(`DELETE FROM fleet_lines WHERE machine IN (SELECT s.machine FROM json_each(?) j
			JOIN standings_now s ON s.machine = j.value WHERE `+outOfCare+")", list).Error
	}
	return saying(err, "writing lines of the fleet")
}

// rankFleet keeps the urgency of the look's machines, with the day and the facts
// by which it was found.
func rankFleet(ctx context.Context, tx *gorm.DB, l models.Look) error {
	type urgency struct {
		rank  int
		dueOn string
	}
	most := make(map[string]urgency, len(l.States))
	for _, f := range l.Forecasts {
		u := urgency{f.Stage.Rank(), f.DueOn.String()}
		if f.DueOn == 0 {
			u.dueOn = noDay
		}
		if old, ok := most[f.Machine]; !ok || u.rank < old.rank || u.rank == old.rank && u.dueOn < old.dueOn {
			most[f.Machine] = u
		}
	}
	st, err := tx.Statement.ConnPool.PrepareContext(ctx, "UPDATE fleet_lines SET rank = ?, due_on = ?, day = ?, entry = ? WHERE machine = ?")
	if err != nil {
		return fmt.Errorf("ranking the fleet: %w", err)
	}
	defer st.Close()
	for _, v := range l.States {
		u, ok := most[v.Machine]
		if !ok {
			u = urgency{models.StageClear.Rank(), noDay}
		}
		if _, err := st.ExecContext(ctx, u.rank, u.dueOn, l.Today, l.LastEntry, v.Machine); err != nil {
			return fmt.Errorf("ranking %s: %w", v.Machine, err)
		}
	}
	return nil
}

// FleetBehind gives the machines whose lines are not of a day: their next date
// has come, or a fact has, since they were worked out, or that was for a day
// to come. It stops at limit, since it is asked for each page.
func (s *Store) FleetBehind(ctx context.Context, today models.Date, limit int) ([]string, error) {
	ids, err := list[string](s.read.WithContext(ctx).Raw(`SELECT f.machine FROM machine_states s JOIN fleet_lines f ON f.machine = s.machine
			WHERE s.next_look <= ?1 AND (f.day <> ?1 OR f.entry < s.touched)
		UNION ALL SELECT machine FROM fleet_lines WHERE rank = ?2 AND day <> ?1
		UNION ALL SELECT machine FROM fleet_lines WHERE day > ?1
		LIMIT ?3`, today, rankNotLooked, limit), "finding the machines whose lines are of an earlier day")
	slices.Sort(ids)
	return slices.Compact(ids), err
}

// SaveFleet stores what a page found on some machines: their dates and their
// lines. Rounds look at them all the same.
func (s *Store) SaveFleet(ctx context.Context, l models.Look) error {
	return saying(s.tx(ctx, func(tx *gorm.DB) error {
		if err := saveForecasts(tx, l); err != nil {
			return err
		}
		return rankFleet(ctx, tx, l)
	}), "storing lines of the fleet")
}

// MachinesOf gives machines by their ids, in no order.
func (s *Store) MachinesOf(ctx context.Context, ids []string) (ms []models.Machine, err error) {
	if ms, err = versionsOf[models.Machine](s.read.WithContext(ctx), "machines_now", "machine", ids); err != nil {
		return nil, asModelError(err)
	}
	return ms, nil
}

// OwnersOf gives owners by their ids, in no order.
func (s *Store) OwnersOf(ctx context.Context, ids []string) (os []models.Owner, err error) {
	if os, err = versionsOf[models.Owner](s.read.WithContext(ctx), "owners_now", "owner", ids); err != nil {
		return nil, asModelError(err)
	}
	return os, nil
}

// ContactsOf gives the contacts of owners, by owner and id.
func (s *Store) ContactsOf(ctx context.Context, owners []string) ([]models.Contact, error) {
	return list[models.Contact](s.read.WithContext(ctx).Table("contacts_now").Where("owner IN (SELECT value FROM json_each(?))", jsonList(owners)).
		Order("owner, contact"), "reading contacts")
}

// Contact gives a contact by id; ok is false when there is none.
func (s *Store) Contact(ctx context.Context, id string) (c models.Contact, ok bool, err error) {
	cs, err := versionsOf[models.Contact](s.read.WithContext(ctx), "contacts_now", "contact", []string{id})
	if err != nil || len(cs) == 0 {
		return models.Contact{}, false, asModelError(err)
	}
	return cs[0], true, nil
}

// VisitsOf gives the visits of machines whose last day is not before a day,
// dropped ones too, by day.
func (s *Store) VisitsOf(ctx context.Context, machines []string, since models.Date) ([]models.Visit, error) {
	return list[models.Visit](s.read.WithContext(ctx).Table("visits_now").Where("machine IN (SELECT value FROM json_each(?)) AND until_on >= ?",
		jsonList(machines), since).Order(visitOrder), "reading visits")
}

// VisitsOn gives the visits that stand and of whose days a day is one.
func (s *Store) VisitsOn(ctx context.Context, day models.Date) ([]models.Visit, error) {
	return list[models.Visit](s.read.WithContext(ctx).Table("visits_now").Where("on_day <= ?1 AND until_on >= ?1 AND state <> ?2",
		day, models.VisitDropped).Order(visitOrder), "reading the visits of a day")
}

// ClosuresFrom gives the closures that hold and whose last day is not before a
// day.
func (s *Store) ClosuresFrom(ctx context.Context, since models.Date) ([]models.Closure, error) {
	return list[models.Closure](s.read.WithContext(ctx).Table("closures_now").Where("retired = 0 AND to_on >= ?", since).Order(closureOrder), "reading closures")
}
