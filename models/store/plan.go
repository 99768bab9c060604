package store

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"

	"gorm.io/gorm"

	"example.org/roundsman/models"
)

// Orders in which numbers come before other names, and 2 before 10.
const (
	closureOrder = "from_on, CAST(closure AS INTEGER), closure"
	visitOrder   = "on_day, CAST(visit AS INTEGER), visit"
)

// PlanningData gives what visits are planned on: what opens, closes and limits, and
// the visits whose last day is not before a day (none: all of them).
func (s *Store) PlanningData(ctx context.Context, since models.Date) (g models.PlanningData, err error) {
	err = s.view(ctx, func(tx *gorm.DB) error {
		if err := readTables(tx, openTables(&g.Sites, &g.Bays, &g.Technicians, &g.Closures)); err != nil {
			return err
		}
		return tx.Table("visits_now").Where("until_on >= ?", since).Order(visitOrder).Find(&g.Visits).Error
	})
	return g, saying(err, "reading what is planned on")
}

// tableRead says which rows of a table are read, in which order, into what.
type tableRead struct {
	table, where, order string
	into                any
}

// openTables are the reads of what opens, closes and limits, as far as it holds.
func openTables(sites *[]models.Site, bays *[]models.Bay, technicians *[]models.Technician, closures *[]models.Closure) []tableRead {
	return []tableRead{
		{"sites_now", "retired = 0", "site", sites},
		{"bays_now", "retired = 0", "bay", bays},
		{"technicians_now", "retired = 0", "technician", technicians},
		{"closures_now", "retired = 0", closureOrder, closures},
	}
}

// readTables reads tables one after the other.
func readTables(tx *gorm.DB, reads []tableRead) error {
	for _, q := range reads {
		db := tx.Table(q.table).Order(q.order)
		if q.where != "" {
			db = db.Where(q.where)
		}
		if err := db.Find(q.into).Error; err != nil {
			return saying(damaged(tx, q.into, err), "reading facts")
		}
	}
	return nil
}

// Visit gives a visit by its number. An unknown one gives models.CodeNotFound.
func (s *Store) Visit(ctx context.Context, id string) (models.Visit, error) {
	var v []models.Visit
	if err := s.read.WithContext(ctx).Table("visits_now").Where("visit = ?", id).Find(&v).Error; err != nil {
		return models.Visit{}, fmt.Errorf("reading visit %s: %w", id, asModelError(err))
	}
	if len(v) == 0 {
		return models.Visit{}, models.Errorf(models.CodeNotFound, "`roundsman plan` lists them", "there is no visit %s", id)
	}
	return v[0], nil
}

// VisitVersions gives every version of a visit with its entry, the oldest first.
func (s *Store) VisitVersions(ctx context.Context, id string) (out []models.VisitVersion, err error) {
	err = s.view(ctx, func(tx *gorm.DB) error {
		return eachVersion(tx, "visit = ?", id, func(v models.Visit, e models.Entry) { out = append(out, models.VisitVersion{Visit: v, Entry: e}) })
	})
	return out, saying(err, "reading the history of visit %s", id)
}

// ChangeVisits stores what one act changes in visits together with the
// messages that tell it, all of it or nothing, and gives the visits as they
// stand then, in the order of the changes. A visit without an ID gets the next
// number and an entry of its own in calendars. A visit that somebody else has
// changed since it was read gives models.CodeConflict. compose writes the
// calendar part of a letter once the visit's number is known; nil writes none.
func (s *Store) ChangeVisits(ctx context.Context, changes []models.VisitChange,
	compose func(models.Visit, *models.MessageWithNotices) error, by models.Entry) ([]models.Visit, error) {
	var after []models.Visit
	err := s.record(ctx, by, func(w *factWriter) (bool, error) {
		after = nil
		for _, c := range changes {
			v, err := w.changeVisit(c, by.RecordedAt)
			if err != nil {
				return false, err
			}
			if err := w.tellVisit(v, c, compose); err != nil {
				return false, err
			}
			after = append(after, v)
		}
		return len(after) > 0, nil
	})
	if err != nil {
		return nil, err
	}
	return after, nil
}

// changeVisit writes one new version of a visit.
func (w *factWriter) changeVisit(c models.VisitChange, at models.Instant) (models.Visit, error) {
	v := c.Visit
	based := v.Row
	v.Fact = models.Fact{Entry: w.entry}
	if v.ID == "" {
		var n int
		err := w.tx.Raw("SELECT ifnull(max(CAST(visit AS INTEGER)), 0) FROM visits WHERE visit NOT GLOB '*[^0-9]*'").Scan(&n).Error
		if err != nil {
			return v, fmt.Errorf("numbering a visit: %w", err)
		}
		v.ID = fmt.Sprint(n + 1)
		v.UID = visitUID(v, at)
	} else {
		now, err := versionsOf[models.Visit](w.tx, "visits_now", "visit", []string{v.ID})
		if err != nil {
			return v, err
		}
		if len(now) != 1 || now[0].Row != based {
			return v, models.Errorf(models.CodeConflict, "look at the plan again and repeat what is still to be done",
				"visit %s was changed by somebody else a moment ago", v.ID)
		}
		v.Replaces, v.UID = &based, now[0].UID
	}
	if err := w.tx.Create(&v).Error; err != nil {
		return v, fmt.Errorf("writing visit %s: %w", v.ID, err)
	}
	return v, nil
}

// visitUID makes the name under which calendars know a visit: made once, from
// what makes it unlike any other shop's (RFC 5545, 3.8.4.7).
func visitUID(v models.Visit, at models.Instant) string {
	sum := sha256.Sum256(fmt.Appendf(nil, "%s\x00%s\x00%d\x00%s\x00%s", v.ID, v.Machine, at, v.On, v.Items))
	return "visit-" + v.ID + "-" + hex.EncodeToString(sum[:12]) + "@roundsman"
}

// tellVisit puts the messages on a visit into the outbox.
func (w *factWriter) tellVisit(v models.Visit, c models.VisitChange, compose func(models.Visit, *models.MessageWithNotices) error) error {
	fill := func(ns []models.Notice) {
		for i := range ns {
			ns[i].Item, ns[i].Cycle = v.ID, v.Sequence
		}
	}
	waiting, err := list[int64](w.tx.Raw("SELECT n.id FROM messages m CROSS JOIN notices n ON n.message = m.id WHERE "+waits+
		" AND m.in_doubt = 0 AND n.subject = ? AND n.item = ?", models.SubjectVisit, v.ID), "reading what waits to be told of visit %s", v.ID)
	if err != nil {
		return err
	}
	if len(waiting) > 0 { // only the newest word goes
		if err := errors.Join(stopNotices(w.tx, w.entry, waiting, models.ReasonAnew), dropStopped(w.tx, waiting, w.at)); err != nil {
			return err
		}
	}
	for i := range c.Letters {
		l := &c.Letters[i]
		fill(l.Notices)
		l.Message.Key = fmt.Sprintf("%s/%d/%s", v.UID, v.Sequence, l.Message.Contact)
		if compose != nil {
			if err := compose(v, l); err != nil {
				return err
			}
		}
		if _, err := queue(w.tx, &l.Message); err != nil {
			return fmt.Errorf("queuing a message on visit %s: %w", v.ID, err)
		}
		for j := range l.Notices {
			l.Notices[j].Message = &l.Message.ID
		}
		if err := w.tx.Create(&l.Notices).Error; err != nil {
			return fmt.Errorf("writing the notices on visit %s: %w", v.ID, err)
		}
	}
	if len(c.Untold) == 0 {
		return nil
	}
	fill(c.Untold)
	return saying(w.tx.Create(&c.Untold).Error, "writing the notices on visit %s", v.ID)
}

// EntryTimes gives when entries were recorded, by their number.
func (s *Store) EntryTimes(ctx context.Context, ids []int64) (map[int64]models.Instant, error) {
	rows, err := list[models.Entry](s.read.WithContext(ctx).Where("id IN (SELECT value FROM json_each(?))", jsonList(ids)), "reading entries")
	if err != nil {
		return nil, err
	}
	out := make(map[int64]models.Instant, len(rows))
	for _, e := range rows {
		out[e.ID] = e.RecordedAt
	}
	return out, nil
}
