package store

import (
	"context"
	"fmt"

	"gorm.io/gorm"

	"example.org/roundsman/models"
)

// CallList gives the owners who have something coming, due or late that they
// were not told of, because nobody there can be written to or because
// messages were not answered: the most urgent first, at most limit, with the
// number of all. An owner who was called since is left out, until the day
// agreed where one was.
func (s *Store) CallList(ctx context.Context, today models.Date, limit int) (list []models.ToCall, total int, err error) {
	err = s.view(ctx, func(tx *gorm.DB) error {
		var rows []struct {
			Owner, Least string
			Why          models.Reason
			Machines     int
		}
		// why is that of the newest notice, found without a search for each owner.
		err := tx.Raw(`WITH open AS (
				SELECT n.owner, n.machine, n.why, n.decided_at,
					(CASE f.stage WHEN 'late' THEN '0' WHEN 'due' THEN '1' ELSE '2' END) || f.due_on AS urgency
				FROM notices n CROSS JOIN forecasts f ON f.machine = n.machine AND f.item = n.item AND f.cycle = n.cycle
				WHERE n.message IS NULL AND n.subject = 'item' AND f.stage IN ('late', 'due', 'coming')
					AND n.why IN ?
					AND NOT EXISTS (SELECT 1 FROM notices t WHERE t.machine = n.machine AND t.subject = 'item' AND t.item = n.item
						AND t.cycle = n.cycle AND t.message IS NOT NULL AND t.id > n.id))
			SELECT o.owner, min(o.urgency) AS least, count(DISTINCT o.machine) AS machines,
				substr(max(printf('%015d', o.decided_at) || o.why), 16) AS why
			FROM open o
			WHERE NOT EXISTS (SELECT 1 FROM calls c WHERE c.owner = o.owner
				AND (c.again_on > ? OR c.again_on = '' AND c.reached = 1 AND c.at >= o.decided_at))
			GROUP BY o.owner ORDER BY least, o.owner`, toCall, today).Scan(&rows).Error
		if err != nil {
			return err
		}
		total = len(rows)
		rows = rows[:min(limit, total)]
		ids := make([]string, len(rows))
		for i, r := range rows {
			ids[i] = r.Owner
		}
		people, err := callees(tx, ids)
		if err != nil {
			return err
		}
		for _, r := range rows {
			c := people[r.Owner]
			c.Owner.ID, c.Why, c.Machines = r.Owner, r.Why, r.Machines
			c.Worst = stageOfRank(int(r.Least[0] - '0'))
			if c.DueOn, err = models.ParseDate(r.Least[1:]); err != nil {
				return err
			}
			list = append(list, c)
		}
		return nil
	})
	if err != nil {
		return nil, 0, fmt.Errorf("reading the call list: %w", asModelError(err))
	}
	return list, total, nil
}

// toCall are the reasons of what was withheld for which an owner is to be called.
var toCall = []models.Reason{models.ReasonNobody, models.ReasonNoConsent, models.ReasonNoAddress, models.ReasonStopped, models.ReasonCallList,
	models.ReasonWantsCall}

// callees reads owners with their contacts and their last calls.
func callees(tx *gorm.DB, ids []string) (map[string]models.ToCall, error) {
	out := make(map[string]models.ToCall, len(ids))
	os, err := versionsOf[models.Owner](tx, "owners_now", "owner", ids)
	if err != nil {
		return nil, err
	}
	for _, o := range os {
		out[o.ID] = models.ToCall{Owner: o}
	}
	var cs []models.Contact
	err = tx.Table("contacts_now").Where("owner IN (SELECT value FROM json_each(?))", jsonList(ids)).Order("contact").Find(&cs).Error
	if err != nil {
		return nil, err
	}
	for _, c := range cs {
		v := out[c.Owner]
		v.Contacts = append(v.Contacts, c)
		out[c.Owner] = v
	}
	var calls []models.Call
	err = tx.Where("id IN (SELECT max(id) FROM calls WHERE owner IN (SELECT value FROM json_each(?)) GROUP BY owner)", jsonList(ids)).Find(&calls).Error
	if err != nil {
		return nil, err
	}
	for i := range calls {
		v := out[calls[i].Owner]
		v.Last = &calls[i]
		out[calls[i].Owner] = v
	}
	return out, nil
}

// RecordCall writes a call and marks the owner's machines for the next round,
// since a call by which the owner was reached ends a silence.
func (s *Store) RecordCall(ctx context.Context, c models.Call, by models.Entry) error {
	_, err := s.record(ctx, by, func(tx *gorm.DB, entry int64) (bool, error) {
		if err := tx.Create(&c).Error; err != nil {
			return false, err
		}
		var done models.Recorded
		w := &factWriter{ctx: ctx, tx: tx, entry: entry, done: &done, touched: map[string]bool{}}
		if err := w.touchOwners([]string{c.Owner}); err != nil {
			return false, err
		}
		return true, w.touch()
	})
	return err
}

// CallsOf gives the calls to an owner, the newest first.
func (s *Store) CallsOf(ctx context.Context, owner string, limit int) ([]models.Call, error) {
	var cs []models.Call
	if err := s.read.WithContext(ctx).Where("owner = ?", owner).Order("id DESC").Limit(limit).Find(&cs).Error; err != nil {
		return nil, fmt.Errorf("reading calls: %w", asModelError(err))
	}
	return cs, nil
}

// HoldMessage keeps a waiting message back until a moment. One that is being
// sent, or has ended, gives models.CodeConflict.
func (s *Store) HoldMessage(ctx context.Context, id int64, until models.Instant) error {
	return s.moveMessage(ctx, id, `UPDATE messages SET why = ?, not_before = ? WHERE id = ? AND state = 'queued'`, models.ReasonHeldByHand, until)
}

// Letters gives the messages that wait or are being sent, the oldest first, or
// those that failed since a moment, the newest first: at most limit, with what
// they tell, and the number of all.
func (s *Store) Letters(ctx context.Context, failedSince models.Instant, limit int) (letters []models.MessageWithNotices, total int, err error) {
	where, args, order := inTransit, []any{}, "id"
	if failedSince > 0 {
		where, args, order = "state = 'failed' AND ended_at >= ?", []any{failedSince}, "ended_at DESC, id DESC"
	}
	err = s.view(ctx, func(tx *gorm.DB) error {
		var n int64
		if err := tx.Table("messages").Where(where, args...).Count(&n).Error; err != nil {
			return err
		}
		total = int(n)
		var ms []models.Message
		if err := tx.Where(where, args...).Order(order).Limit(limit).Find(&ms).Error; err != nil {
			return err
		}
		letters, err = lettersOf(tx, ms)
		return err
	})
	if err != nil {
		return nil, 0, fmt.Errorf("reading messages: %w", asModelError(err))
	}
	return letters, total, nil
}

// LettersOf gives the newest messages that tell of a machine, with what they
// tell of it.
func (s *Store) LettersOf(ctx context.Context, machine string, limit int) (letters []models.MessageWithNotices, err error) {
	err = s.view(ctx, func(tx *gorm.DB) error {
		var ms []models.Message
		err := tx.Where("id IN (SELECT message FROM notices WHERE machine = ? AND message IS NOT NULL)", machine).
			Order("id DESC").Limit(limit).Find(&ms).Error
		if err != nil {
			return err
		}
		letters, err = lettersOf(tx, ms)
		for i := range letters {
			own := letters[i].Notices[:0]
			for _, n := range letters[i].Notices {
				if n.Machine == machine {
					own = append(own, n)
				}
			}
			letters[i].Notices = own
		}
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("reading the messages about a machine: %w", asModelError(err))
	}
	return letters, nil
}

func lettersOf(tx *gorm.DB, ms []models.Message) ([]models.MessageWithNotices, error) {
	ids := make([]int64, len(ms))
	letters := make([]models.MessageWithNotices, len(ms))
	at := make(map[int64]*models.MessageWithNotices, len(ms))
	for i, m := range ms {
		ids[i], letters[i].Message = m.ID, m
		at[m.ID] = &letters[i]
	}
	var ns []models.Notice
	if err := tx.Where("message IN (SELECT value FROM json_each(?))", jsonList(ids)).Find(&ns).Error; err != nil {
		return nil, err
	}
	sortToTell(ns)
	for _, n := range ns {
		at[*n.Message].Notices = append(at[*n.Message].Notices, n)
	}
	return letters, nil
}

// SentByDay counts the messages of each day since a day (UTC) by their state.
func (s *Store) SentByDay(ctx context.Context, since models.Date) (map[models.Date]map[models.MessageState]int, error) {
	var rows []struct {
		Day   models.Date
		State models.MessageState
		N     int
	}
	err := s.read.WithContext(ctx).Raw(`SELECT date(queued_at, 'unixepoch') AS day, state, count(*) AS n FROM messages
		WHERE queued_at >= unixepoch(?) GROUP BY 1, 2`, since).Scan(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("counting messages: %w", asModelError(err))
	}
	out := map[models.Date]map[models.MessageState]int{}
	for _, r := range rows {
		if out[r.Day] == nil {
			out[r.Day] = map[models.MessageState]int{}
		}
		out[r.Day][r.State] = r.N
	}
	return out, nil
}

// Entries gives entries by their numbers: who brought facts, when and how.
func (s *Store) Entries(ctx context.Context, ids []int64) (map[int64]models.Entry, error) {
	var rows []models.Entry
	if err := s.read.WithContext(ctx).Where("id IN (SELECT value FROM json_each(?))", jsonList(ids)).Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("reading entries: %w", asModelError(err))
	}
	return byKey(rows, func(e models.Entry) int64 { return e.ID }), nil
}

// JobsInHand gives the jobs for which machines are at the shop, at most so many
// (below 0: all), those that came back first; nil is every machine.
func (s *Store) JobsInHand(ctx context.Context, machines []string, limit int) (out []models.WholeJob, err error) {
	err = s.view(ctx, func(tx *gorm.DB) error {
		var jobs []models.Job
		db := tx.Table("jobs_now").Where("state IN ('open', 'done', 'reopened')")
		if machines != nil {
			db = db.Where("machine IN (SELECT value FROM json_each(?))", jsonList(machines))
		}
		err := db.Order("state <> 'reopened', opened_on, CAST(job AS INTEGER), job").Limit(limit).Find(&jobs).Error
		if err != nil || len(jobs) == 0 {
			return err
		}
		out, err = wholeJobs(tx, jobs)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("reading the jobs in hand: %w", asModelError(err))
	}
	return out, nil
}
