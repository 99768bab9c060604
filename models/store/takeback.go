package store

import (
	"context"
	"strings"

	"example.org/roundsman/models"
)

// standingRounds bounds a query of rounds to those that were not taken back.
const standingRounds = "id NOT IN (SELECT round FROM rounds_taken_back)"

// RoundAhead gives the newest finished round that was held for a time after a
// moment; ok is false when there is none.
func (s *Store) RoundAhead(ctx context.Context, after models.Instant) (r models.Round, ok bool, err error) {
	q := s.read.WithContext(ctx).Where("state = ? AND at > ? AND "+standingRounds, models.RoundDone, after).Order("at DESC, id DESC")
	return first[models.Round](q, "looking for a round that lies ahead")
}

// TakeBackRounds takes back every round that was held for a time after a
// moment: its notices count as not told, its messages that wait are dropped,
// and everything derived is thrown away for the next round to work out anew.
// What was sent stays sent.
func (s *Store) TakeBackRounds(ctx context.Context, after models.Instant, by models.Entry) (done models.TakenBack, err error) {
	err = s.record(ctx, by, func(w *factWriter) (bool, error) {
		done = models.TakenBack{}
		res := w.tx.Exec("INSERT INTO rounds_taken_back (round, entry) SELECT id, ? FROM rounds WHERE at > ? AND "+standingRounds, w.entry, after)
		if done.Rounds = res.RowsAffected; res.Error != nil || done.Rounds == 0 {
			return false, res.Error
		}
		const theirs = "round IN (SELECT round FROM rounds_taken_back WHERE entry = ?)"
		var waiting []struct{ ID, Message int64 }
		err := w.tx.Raw(`INSERT INTO stopped_notices (notice, entry, why) SELECT id, ?, ? FROM notices WHERE `+theirs+`
			ON CONFLICT DO NOTHING RETURNING notice AS id`, w.entry, models.ReasonTakenBack, w.entry).Scan(&waiting).Error
		if err != nil {
			return false, err
		}
		list := make([]int64, len(waiting))
		for i, n := range waiting {
			list[i] = n.ID
		}
		done.Notices = int64(len(list))
		if err := w.tx.Raw("SELECT count(*) FROM messages WHERE state = 'sent' AND "+theirs, w.entry).Scan(&done.Sent).Error; err != nil {
			return false, err
		}
		if err := dropStopped(w.tx, list, by.RecordedAt); err != nil {
			return false, err
		}
		if err := w.tx.Raw("SELECT count(*) FROM messages WHERE state = 'dropped' AND why = ? AND ended_at = ?", models.ReasonTakenBack, by.RecordedAt).Scan(&done.Dropped).Error; err != nil {
			return false, err
		}
		return true, forgetDerived(w.tx)
	})
	return done, err
}

// TakeBackReply takes back what a reply brought of readings, services and
// answers to checks, as Withdraw does one by one. Where nothing of that stands
// any more it gives models.CodeConflict.
func (s *Store) TakeBackReply(ctx context.Context, reply int64, why string, by models.Entry) (taken []models.TakenFact, err error) {
	err = s.record(ctx, by, func(w *factWriter) (bool, error) {
		taken = nil
		var known int64
		if err := w.tx.Table("replies").Where("id = ?", reply).Count(&known).Error; err != nil {
			return false, err
		}
		if known == 0 {
			return false, noReply(reply)
		}
		lists := make([]string, 0, len(takable))
		for _, t := range takable {
			if t.sort == models.SortReading || t.sort == models.SortService || t.sort == models.SortAnswer {
				lists = append(lists, t.list)
			}
		}
		var found []struct {
			models.MachineFact
			Entry int64
		}
		if err := w.tx.Raw("SELECT f.* FROM ("+strings.Join(lists, " UNION ALL ")+`) f JOIN reply_entries r ON r.entry = f.entry AND r.reply = ?
			WHERE NOT EXISTS (SELECT 1 FROM withdrawals_now w WHERE w.sort = f.sort AND w.fact = f.id) ORDER BY f.sort, f.id`, reply).Scan(&found).Error; err != nil {
			return false, err
		}
		if len(found) == 0 {
			return false, models.Errorf(models.CodeConflict, "`roundsman withdraw TAG` lists what is recorded of a machine", "nothing that reply %d brought stands", reply)
		}
		for _, f := range found {
			one, err := w.take(f.Machine, f.MachineFact, f.Entry, models.Withdrawal{Sort: f.Sort, Taken: f.Row, Why: why, By: by.Actor})
			if err != nil {
				return false, err
			}
			taken = append(taken, one)
		}
		if err := w.hush(); err != nil {
			return false, err
		}
		return true, w.touch()
	})
	return taken, err
}
