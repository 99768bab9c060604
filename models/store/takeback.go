package store

import (
	"context"

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
