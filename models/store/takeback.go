package store

import (
	"context"

	"gorm.io/gorm"

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
	_, err = s.record(ctx, by, func(tx *gorm.DB, entry int64) (bool, error) {
		done = models.TakenBack{}
		res := tx.Exec("INSERT INTO rounds_taken_back (round, entry) SELECT id, ? FROM rounds WHERE at > ? AND "+standingRounds, entry, after)
		if done.Rounds = res.RowsAffected; res.Error != nil || done.Rounds == 0 {
			return false, res.Error
		}
		const theirs = "round IN (SELECT round FROM rounds_taken_back WHERE entry = ?)"
		var waiting []struct{ ID, Message int64 }
		err := tx.Raw(`INSERT INTO stopped_notices (notice, entry, why) SELECT id, ?, ? FROM notices WHERE `+theirs+`
			ON CONFLICT DO NOTHING RETURNING notice AS id`, entry, models.ReasonTakenBack, entry).Scan(&waiting).Error
		if err != nil {
			return false, err
		}
		list := make([]int64, len(waiting))
		for i, n := range waiting {
			list[i] = n.ID
		}
		done.Notices = int64(len(list))
		if err := tx.Raw("SELECT count(*) FROM messages WHERE state = 'sent' AND "+theirs, entry).Scan(&done.Sent).Error; err != nil {
			return false, err
		}
		w := &factWriter{ctx: ctx, tx: tx, entry: entry, done: &models.Recorded{}, touched: map[string]bool{}}
		if err := w.dropStopped(list, by.RecordedAt); err != nil {
			return false, err
		}
		if err := tx.Raw("SELECT count(*) FROM messages WHERE state = 'dropped' AND why = ? AND ended_at = ?", models.ReasonTakenBack, by.RecordedAt).Scan(&done.Dropped).Error; err != nil {
			return false, err
		}
		return true, forgetDerived(tx)
	})
	return done, err
}
