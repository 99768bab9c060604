package store

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"

	"gorm.io/gorm"

	"example.org/roundsman/models"
)

// inTransit is the condition of the index over messages that have not ended.
const inTransit = "state IN ('queued', 'sending')"

// Claim takes up to limit messages of a channel whose time has come, the
// urgent first and then the oldest, holds them under the lease, and gives
// them with all that is needed to judge and compose them.
func (s *Store) Claim(ctx context.Context, l models.Lease, ch models.Channel, limit int) (claimed []models.Claimed, err error) {
	err = s.tx(ctx, func(tx *gorm.DB) error {
		ids, err := dueMessages(tx, ch, l.Now, limit)
		if err != nil || len(ids) == 0 {
			return err
		}
		var ms []models.Message
		err = tx.Raw(`UPDATE messages SET state = 'sending', why = '', lease_by = ?, lease_ends = ?
			WHERE id IN (SELECT value FROM json_each(?)) RETURNING *`, l.By, l.Ends, jsonList(ids)).Scan(&ms).Error
		if err != nil {
			return err
		}
		slices.SortFunc(ms, func(a, b models.Message) int { // RETURNING keeps no order
			return cmp.Compare(slices.Index(ids, a.ID), slices.Index(ids, b.ID))
		})
		claimed, err = envelopes(tx, ms)
		return err
	})
	return claimed, saying(err, "claiming messages for %s", ch)
}

// Envelopes gives messages with all that is needed to judge them, those that
// there are, by id, and takes none of them up.
func (s *Store) Envelopes(ctx context.Context, ids []int64) (out []models.Claimed, err error) {
	err = s.view(ctx, func(tx *gorm.DB) error {
		var ms []models.Message
		if err := tx.Where("id IN (SELECT value FROM json_each(?))", jsonList(ids)).Order("id").Find(&ms).Error; err != nil || len(ms) == 0 {
			return err
		}
		out, err = envelopes(tx, ms)
		return err
	})
	return out, saying(err, "reading %d messages to judge them", len(ids))
}

// dueMessages lists the messages of a channel that may go.
func dueMessages(tx *gorm.DB, ch models.Channel, now models.Instant, limit int) (ids []int64, err error) {
	const where = "FROM messages WHERE channel = ? AND " + inTransit + " AND state = 'queued' AND not_before <= ?"
	err = tx.Raw("SELECT id "+where+" AND urgent = 1 ORDER BY not_before, id LIMIT ?", ch, now, limit).Scan(&ids).Error
	if err != nil || len(ids) == limit {
		return ids, err
	}
	var rest []int64
	err = tx.Raw("SELECT id "+where+" AND urgent = 0 ORDER BY not_before, id LIMIT ?", ch, now, limit-len(ids)).Scan(&rest).Error
	return append(ids, rest...), err
}

// Begin judges a claimed message and records what the ruling says: that a try
// begins with its words and address, that it is held until a later time, or
// that it is taken out. It is judged on the newest contacts within the
// transaction, so that a STOP recorded a moment ago counts. A message that
// the lease no longer holds gives models.VerdictLost.
func (s *Store) Begin(ctx context.Context, l models.Lease, m models.Claimed, judge func(models.Claimed) models.Ruling) (r models.Ruling, err error) {
	err = s.bareTx(ctx, func(tx *sql.Tx) error {
		r, err = s.beginTry(ctx, tx, l, m, judge)
		return err
	})
	return r, saying(err, "beginning a try of message %d", m.Message.ID)
}

// End records how a try ended and what becomes of its message.
func (s *Store) End(ctx context.Context, l models.Lease, e models.Ended) error {
	return saying(s.bareTx(ctx, func(tx *sql.Tx) error { return endTry(ctx, tx, l, e) }), "recording a try of message %d", e.Attempt.Message)
}

// bareTx runs fn in one write transaction without gorm, whose share would be
// the larger part of so small a thing that is done twice for each message.
func (s *Store) bareTx(ctx context.Context, fn func(tx *sql.Tx) error) error {
	tx, err := s.writeDB.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	if err := fn(tx); err != nil {
		return errors.Join(err, tx.Rollback())
	}
	return tx.Commit()
}

// endTry writes an attempt and what becomes of its message. What was sent is
// sent, even where the lease was lost meanwhile or the message taken out;
// every other end only counts for who still holds the message.
func endTry(ctx context.Context, tx *sql.Tx, l models.Lease, e models.Ended) error {
	a := e.Attempt
	_, err := tx.ExecContext(ctx, `INSERT INTO attempts (message, number, started_at, ended_at, outcome, code, why, peer_id)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?)`,
		a.Message, a.Number, a.StartedAt, a.EndedAt, a.Outcome, a.Code, a.Why, a.PeerID)
	if err != nil {
		return err
	}
	var ended models.Instant
	if e.State.Ended() {
		ended = a.EndedAt
	}
	held, args := "state = 'sending' AND lease_by = ?", []any{l.By}
	if e.State == models.MessageSent {
		held, args = "state <> 'sent'", nil
	}
	doubt := a.Outcome == models.OutcomeDoubt
	_, err = tx.ExecContext(ctx, `UPDATE messages SET state = ?, why = ?, not_before = max(not_before, ?), in_doubt = max(in_doubt, ?),
		ended_at = ?, peer_id = CASE WHEN ? <> '' THEN ? ELSE peer_id END, lease_by = '', lease_ends = 0
		WHERE id = ? AND `+held,
		append([]any{e.State, e.Why, e.NotBefore, doubt, ended, a.PeerID, a.PeerID, a.Message}, args...)...)
	if err == nil && e.Dead {
		_, err = tx.ExecContext(ctx, `INSERT INTO bounces (key, at, channel, address, fate, code, words)
			SELECT ?, ?, channel, address, 'dead', ?, ? FROM messages WHERE id = ? AND contact <> '' ON CONFLICT DO NOTHING`,
			fmt.Sprintf("try/%d", a.Message), a.EndedAt, a.Code, a.Why, a.Message)
		err = saying(err, "retiring an address")
	}
	switch {
	case err != nil:
	case e.State == models.MessageFailed:
		err = lookAgain(ctx, tx, a.Message, a.EndedAt, a.Code)
	case e.State == models.MessageSent && a.PeerID != "":
		err = earlyReceipt(ctx, tx, a)
	}
	return err
}

// beginTry judges a message and records what the ruling says.
func (s *Store) beginTry(ctx context.Context, tx *sql.Tx, l models.Lease, m models.Claimed,
	judge func(models.Claimed) models.Ruling) (models.Ruling, error) {
	var held bool
	var entry int64
	err := tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM messages WHERE id = ? AND state = 'sending' AND lease_by = ?),
		(SELECT ifnull(max(id), 0) FROM entries)`, m.Message.ID, l.By).Scan(&held, &entry)
	if err != nil {
		return models.Ruling{}, err
	}
	if !held {
		return models.Ruling{Verdict: models.VerdictLost}, nil
	}
	if entry != m.Entry && m.Message.Contact != "" {
		over := s.write.WithContext(ctx)
		over.Statement.ConnPool = tx // gorm reads within the transaction
		if err := renew(over.Session(&gorm.Session{}), &m); err != nil {
			return models.Ruling{}, fmt.Errorf("reading the contact anew: %w", err)
		}
	}
	r := judge(m)
	set := func(what string, args ...any) (models.Ruling, error) {
		_, err := tx.ExecContext(ctx, "UPDATE messages SET "+what+" WHERE id = ?", append(args, m.Message.ID)...)
		return r, err
	}
	switch c := m.Message.Composed; r.Verdict {
	case models.VerdictGo:
		return set("tries = tries + 1, address = ?, lease_ends = max(lease_ends, ?), subject_line = ?, text = ?, html = ?, calendar = ?, segments = ?",
			r.Address, r.LeaseEnds, c.Subject, c.Text, c.HTML, c.Calendar, c.Segments)
	case models.VerdictHold:
		return set("state = 'queued', why = ?, not_before = ?, lease_by = '', lease_ends = 0", r.Why, r.NotBefore)
	case models.VerdictDrop:
		return set("state = 'dropped', why = ?, ended_at = ?, lease_by = '', lease_ends = 0", r.Why, l.Now)
	}
	return r, fmt.Errorf("%q is no verdict", r.Verdict)
}

// renew reads the contact of a message and the stops of those who share its
// address as they are now.
func renew(tx *gorm.DB, m *models.Claimed) error {
	var c []models.Contact
	if err := tx.Table("contacts_now").Where("contact = ?", m.Message.Contact).Find(&c).Error; err != nil {
		return err
	}
	if len(c) == 0 {
		return nil
	}
	m.Contact = c[0]
	var err error
	if m.Sharing, err = stops(tx, c); err != nil {
		return err
	}
	retired, err := retiredOf(tx, c)
	if err != nil {
		return err
	}
	open, err := undecided(tx, c)
	m.Retired, m.Undecided = retired[m.Contact.ID], open[m.Contact.ID]
	return err
}

// Renew holds claimed messages until the lease's end. What another courier
// holds by now stays its own.
func (s *Store) Renew(ctx context.Context, l models.Lease, ids []int64) error {
	err := s.write.WithContext(ctx).Exec(`UPDATE messages SET lease_ends = max(lease_ends, ?)
		WHERE state = 'sending' AND lease_by = ? AND id IN (SELECT value FROM json_each(?))`, l.Ends, l.By, jsonList(ids)).Error
	return saying(err, "renewing the hold on %d messages", len(ids))
}

// Release puts claimed messages that were not begun back into the queue, not
// before a time (zero: when they might have gone anyway).
func (s *Store) Release(ctx context.Context, l models.Lease, ids []int64, notBefore models.Instant, why models.Reason) error {
	err := s.write.WithContext(ctx).Exec(`UPDATE messages SET state = 'queued', why = ?, not_before = max(not_before, ?),
		lease_by = '', lease_ends = 0 WHERE state = 'sending' AND lease_by = ? AND id IN (SELECT value FROM json_each(?))`,
		why, notBefore, l.By, jsonList(ids)).Error
	return saying(err, "putting %d messages back", len(ids))
}

// Explain gives the messages of a channel whose time has come the reason why
// they still wait; "" takes it away.
func (s *Store) Explain(ctx context.Context, ch models.Channel, now models.Instant, why models.Reason) error {
	err := s.write.WithContext(ctx).Exec("UPDATE messages SET why = ? WHERE channel = ? AND "+inTransit+
		" AND state = 'queued' AND not_before <= ? AND why <> ?", why, ch, now, why).Error
	return saying(err, "explaining why %s waits", ch)
}

// Expire takes back what leases that have ended still hold, or, where sole
// says that no other courier can be alive, whatever anybody but l.By holds. A
// try that had begun and not ended is recorded as in doubt and comes again
// from doubtUntil on.
func (s *Store) Expire(ctx context.Context, l models.Lease, sole bool, doubtUntil models.Instant, why models.Reason) (back, doubts int, err error) {
	gone, arg := "lease_ends <= ?", any(l.Now)
	if sole {
		gone, arg = "lease_by <> ?", l.By
	}
	gone = inTransit + " AND state = 'sending' AND " + gone
	const begun = "tries > (SELECT count(*) FROM attempts a WHERE a.message = messages.id)"
	err = s.tx(ctx, func(tx *gorm.DB) error {
		var unsure []int64
		err := tx.Raw(`INSERT INTO attempts (message, number, started_at, ended_at, outcome, code, why, peer_id)
			SELECT id, tries, ?, ?, 'doubt', '', ?, '' FROM messages WHERE `+gone+" AND "+begun+" RETURNING message",
			l.Now, l.Now, why, arg).Scan(&unsure).Error
		if err != nil {
			return err
		}
		if doubts = len(unsure); doubts > 0 {
			err := tx.Exec(`UPDATE messages SET state = 'queued', why = ?, in_doubt = 1, not_before = ?, lease_by = '', lease_ends = 0
				WHERE id IN (SELECT value FROM json_each(?))`, why, doubtUntil, jsonList(unsure)).Error
			if err != nil {
				return err
			}
		}
		res := tx.Exec("UPDATE messages SET state = 'queued', why = '', lease_by = '', lease_ends = 0 WHERE "+gone, arg)
		back = int(res.RowsAffected)
		return res.Error
	})
	return back, doubts, saying(err, "taking back expired leases")
}

// envelopes gives messages with their contacts, owners, notices and machines.
func envelopes(tx *gorm.DB, ms []models.Message) ([]models.Claimed, error) {
	r := &envelopeReader{tx: tx}
	if err := r.read(ms); err != nil {
		return nil, err
	}
	out := make([]models.Claimed, len(ms))
	for i, m := range ms {
		c := r.contacts[m.Contact]
		out[i] = models.Claimed{
			Envelope: models.Envelope{Message: m, Contact: c, Owner: r.owners[m.Owner],
				Notices: r.notices[m.ID], Machines: map[string]models.Machine{}, First: !r.known[m.ID]},
			Retired: r.retired[c.ID], Undecided: r.open[c.ID], Entry: r.entry, FirstTry: r.tried[m.ID].FirstTry, Failures: r.tried[m.ID].Failures,
		}
		for _, n := range r.notices[m.ID] {
			if machine, ok := r.machines[n.Machine]; ok {
				out[i].Machines[n.Machine] = machine
			}
		}
		for _, o := range r.stopped {
			if c.Shares(o) {
				out[i].Sharing = append(out[i].Sharing, o)
			}
		}
	}
	return out, nil
}
