package store

import (
	"context"
	"fmt"

	"gorm.io/gorm"

	"example.org/roundsman/models"
)

// MessageFilter picks messages. The zero filter is all of them.
type MessageFilter struct {
	ID     int64                 // only this one; 0: any
	States []models.MessageState // nil: any
	Limit  int                   // the newest so many; 0: all
}

// MessageLog is a message with what it tells and how its tries ended.
type MessageLog struct {
	models.MessageWithNotices
	Attempts []models.Attempt
}

// Messages gives messages with their notices and attempts, the oldest first.
func (s *Store) Messages(ctx context.Context, f MessageFilter) (logs []MessageLog, err error) {
	err = s.view(ctx, func(tx *gorm.DB) error {
		q := tx.Order("id DESC")
		if f.ID != 0 {
			q = q.Where("id = ?", f.ID)
		}
		if f.States != nil {
			q = q.Where("state IN ?", f.States)
		}
		if f.Limit > 0 {
			q = q.Limit(f.Limit)
		}
		var ms []models.Message
		if err := q.Find(&ms).Error; err != nil {
			return err
		}
		letters, err := lettersOf(tx, ms)
		if err != nil {
			return err
		}
		attempts, err := childrenOf(tx, "message", idsOf(ms, func(m models.Message) int64 { return m.ID }),
			func(a models.Attempt) int64 { return a.Message })
		if err != nil {
			return err
		}
		logs = make([]MessageLog, len(ms))
		for i, l := range letters {
			logs[len(ms)-1-i] = MessageLog{MessageWithNotices: l, Attempts: attempts[l.Message.ID]}
		}
		return nil
	})
	return logs, saying(err, "reading messages")
}

// WithheldNotices gives the newest notices that were decided but not sent, at
// most limit.
func (s *Store) WithheldNotices(ctx context.Context, limit int) ([]models.Notice, error) {
	return list[models.Notice](s.read.WithContext(ctx).Where("message IS NULL").Order("id DESC").Limit(limit), "reading withheld notices")
}

// SettleDoubt records what a peer said of a try that had ended in doubt: a
// message that it had taken after all is sent and will not go again; one that
// it had not taken stays queued without the doubt. A message that is no
// longer in doubt is left alone.
func (s *Store) SettleDoubt(ctx context.Context, key string, taken bool, peerID string, at models.Instant) error {
	query, args := `UPDATE messages SET in_doubt = 0 WHERE key = ? AND in_doubt = 1 AND state = 'queued'`, []any{key}
	if taken {
		query = `UPDATE messages SET state = 'sent', in_doubt = 0, peer_id = ?, ended_at = ?, why = ?
			WHERE key = ? AND in_doubt = 1 AND state = 'queued'`
		args = []any{peerID, at, models.ReasonSettledLate, key}
	}
	return saying(s.write.WithContext(ctx).Exec(query, args...).Error, "settling the doubt about %s", key)
}

// RetryMessage puts a failed, dropped or waiting message at the head of the
// queue again. One that is sent, or being sent, gives models.CodeConflict.
func (s *Store) RetryMessage(ctx context.Context, id int64, at models.Instant) error {
	return s.moveMessage(ctx, id, `UPDATE messages SET state = 'queued', why = ?, not_before = ?, ended_at = 0
		WHERE id = ? AND state IN ('queued', 'failed', 'dropped')`, models.ReasonRetriedByHand, at)
}

// DropMessage takes a waiting message out of the queue. One that has ended, or
// is being sent, gives models.CodeConflict.
func (s *Store) DropMessage(ctx context.Context, id int64, at models.Instant) error {
	return s.moveMessage(ctx, id, `UPDATE messages SET state = 'dropped', why = ?, ended_at = ?
		WHERE id = ? AND state = 'queued'`, models.ReasonDroppedByHand, at)
}

func (s *Store) moveMessage(ctx context.Context, id int64, update string, why models.Reason, at models.Instant) error {
	err := s.tx(ctx, func(tx *gorm.DB) error {
		var state []models.MessageState
		if err := tx.Table("messages").Where("id = ?", id).Pluck("state", &state).Error; err != nil {
			return err
		}
		if len(state) == 0 {
			return models.Errorf(models.CodeNotFound, "`roundsman outbox` lists them", "there is no message %d", id)
		}
		res := tx.Exec(update, why, at, id)
		if res.Error == nil && res.RowsAffected == 0 {
			return models.Errorf(models.CodeConflict, "", "message %d is %s", id, state[0])
		}
		return res.Error
	})
	return saying(err, "changing message %d", id)
}

// QueueMessage writes a message by itself, such as a test.
func (s *Store) QueueMessage(ctx context.Context, m models.Message) (int64, error) {
	if err := s.write.WithContext(ctx).Create(&m).Error; err != nil {
		return 0, fmt.Errorf("queuing the message %s: %w", m.Key, asModelError(err))
	}
	return m.ID, nil
}
