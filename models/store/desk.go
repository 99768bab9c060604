package store

import (
	"context"
	"fmt"
	"slices"

	"gorm.io/gorm"

	"example.org/roundsman/models"
)

// Untold gives what owners were not told, one row a machine: items that are
// coming, due or late and visits from a day on that were withheld for one of
// some reasons, or whose message failed, was dropped for such a reason or came
// back, and that nobody was told of since.
func (s *Store) Untold(ctx context.Context, today models.Date, why []models.Reason) ([]models.Untold, error) {
	return list[models.Untold](s.read.WithContext(ctx).Raw(`WITH withheld AS (
			SELECT id, owner, machine, subject, item, cycle, due_on, was_on, decided_at, why FROM notices WHERE message IS NULL AND why IN ?
			UNION ALL SELECT n.id, n.owner, n.machine, n.subject, n.item, n.cycle, n.due_on, n.was_on, n.decided_at, m.why
				FROM messages m CROSS JOIN notices n ON n.message = m.id WHERE m.state = 'failed' OR m.state = 'dropped' AND m.why IN ?
			UNION ALL SELECT n.id, n.owner, n.machine, n.subject, n.item, n.cycle, n.due_on, n.was_on, n.decided_at, ?
				FROM bounces b CROSS JOIN messages m ON m.address = b.address COLLATE NOCASE AND m.channel = b.channel AND m.state = 'sent'
				CROSS JOIN notices n ON n.message = m.id WHERE b.fate = 'dead' AND m.queued_at <= b.at),
		open AS (
			SELECT w.*, f.stage AS at_stage, f.due_on AS on_day
				FROM withheld w CROSS JOIN forecasts f ON f.machine = w.machine AND f.item = w.item AND f.cycle = w.cycle
				WHERE w.subject = 'item' AND f.stage IN ('late', 'due', 'coming')
			UNION ALL SELECT w.*, 'due', max(w.due_on, w.was_on) FROM withheld w WHERE w.subject = 'visit' AND max(w.due_on, w.was_on) >= ?)
		SELECT owner, machine, substr(least, 2, length(least) - 11) AS stage, substr(least, -10) AS due_on,
			decided_at, substr(newest, 16) AS why FROM (
			SELECT o.owner, o.machine, max(o.decided_at) AS decided_at, max(printf('%015d', o.decided_at) || o.why) AS newest,
				min((CASE o.at_stage WHEN 'late' THEN '0' WHEN 'due' THEN '1' ELSE '2' END) || o.at_stage || o.on_day) AS least
			FROM open o
			WHERE NOT EXISTS (SELECT 1 FROM notices t JOIN messages m ON m.id = t.message AND m.state IN ('queued', 'sending', 'sent')
				WHERE t.id NOT IN (SELECT notice FROM stopped_notices) AND t.machine = o.machine AND t.subject = o.subject AND t.item = o.item AND t.cycle = o.cycle AND t.id > o.id)
			GROUP BY o.owner, o.machine)
		ORDER BY owner, machine`, why, why, models.ReasonNoMailbox, today), "reading what owners were not told")
}

// LastCalls gives the last call to each owner who was called.
func (s *Store) LastCalls(ctx context.Context) (map[string]models.Call, error) {
	calls, err := list[models.Call](s.read.WithContext(ctx).Where("id IN (SELECT max(id) FROM calls GROUP BY owner)"), "reading the last calls")
	if err != nil {
		return nil, err
	}
	return models.ByKey(calls, func(c models.Call) string { return c.Owner }), nil
}

// RecordCall writes a call and marks the owner's machines for the next round,
// since a call by which the owner was reached ends a silence.
func (s *Store) RecordCall(ctx context.Context, c models.Call, by models.Entry) error {
	err := s.record(ctx, by, func(w *factWriter) (bool, error) {
		if err := w.tx.Create(&c).Error; err != nil {
			return false, err
		}
		if err := w.touchOwners([]string{c.Owner}); err != nil {
			return false, err
		}
		return true, w.touch()
	})
	return err
}

// CallsOf gives the calls to an owner, the newest first.
func (s *Store) CallsOf(ctx context.Context, owner string, limit int) ([]models.Call, error) {
	return list[models.Call](s.read.WithContext(ctx).Where("owner = ?", owner).Order("id DESC").Limit(limit), "reading calls")
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
	return letters, total, saying(err, "reading messages")
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
	return letters, saying(err, "reading the messages about a machine")
}

// lettersOf adds to messages what they tell, in the order to tell it. What was
// stopped is told by none; one that was dropped for it still shows it.
func lettersOf(tx *gorm.DB, ms []models.Message) ([]models.MessageWithNotices, error) {
	notices, err := childrenOf(tx, "message", idsOf(ms, func(m models.Message) int64 { return m.ID }),
		func(n models.Notice) int64 { return *n.Message })
	if err != nil {
		return nil, err
	}
	stopped, err := list[int64](tx.Raw(`SELECT n.id FROM notices n JOIN stopped_notices x ON x.notice = n.id
		WHERE n.message IN (SELECT value FROM json_each(?))`, jsonList(idsOf(ms, func(m models.Message) int64 { return m.ID }))), "reading what was stopped")
	if err != nil {
		return nil, err
	}
	letters := make([]models.MessageWithNotices, len(ms))
	for i, m := range ms {
		letters[i] = models.MessageWithNotices{Message: m, Notices: slices.DeleteFunc(notices[m.ID], func(n models.Notice) bool {
			return m.State != models.MessageDropped && slices.Contains(stopped, n.ID)
		})}
		models.SortToTell(letters[i].Notices)
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
	rows, err := list[models.Entry](s.read.WithContext(ctx).Where("id IN (SELECT value FROM json_each(?))", jsonList(ids)), "reading entries")
	if err != nil {
		return nil, err
	}
	return models.ByKey(rows, func(e models.Entry) int64 { return e.ID }), nil
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
	return out, saying(err, "reading the jobs in hand")
}
