package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"gorm.io/gorm"

	"example.org/roundsman/models"
)

// What becomes of messages after a peer has taken them. One that came back or
// was not delivered has failed, whoever took it before: it told nobody.

// lookAgain marks the machines of a message's owner, since what it told has
// reached nobody: the next round looks for another way.
func lookAgain(ctx context.Context, tx gorm.ConnPool, message int64, at models.Instant, note string) error {
	res, err := tx.ExecContext(ctx, `INSERT INTO entries (recorded_at, actor, means, note)
		SELECT ?, 'courier', 'bounce', ? WHERE EXISTS (SELECT 1 FROM notices WHERE message = ?)`, at, note, message)
	if err != nil {
		return fmt.Errorf("marking machines for the next round: %w", err)
	}
	if n, err := res.RowsAffected(); err != nil || n == 0 {
		return err
	}
	entry, err := res.LastInsertId()
	if err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, `UPDATE machine_states SET next_look = '', touched = ? WHERE machine IN
		(SELECT n.machine FROM machines_now n JOIN messages m ON m.owner = n.owner WHERE m.id = ?)`, entry, message)
	return saying(err, "marking machines for the next round")
}

// returned ends, as failed at a moment, a message that a peer took, or may have
// taken, and that did not arrive.
func returned(ctx context.Context, tx gorm.ConnPool, where string, arg any, why models.Reason, at models.Instant) error {
	var id int64 // ids and keys name one message at most
	err := tx.QueryRowContext(ctx, `UPDATE messages SET state = 'failed', why = ?, ended_at = ?
		WHERE (state = 'sent' OR state = 'queued' AND in_doubt = 1) AND `+where+` RETURNING id`, why, at, arg).Scan(&id)
	if errors.Is(err, sql.ErrNoRows) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("ending a message that came back: %w", err)
	}
	return lookAgain(ctx, tx, id, at, string(why))
}

// keptReceipts is how long a receipt is kept whose message is not known yet.
const keptReceipts = 3 * 24 * 60 * 60 // seconds

// RecordReceipt records what a peer reported of a message, found by the ids
// that the peer may have given it. One that was not delivered has failed. A
// receipt may be quicker than the answer to the try; it is kept until that
// comes, and known is false.
func (s *Store) RecordReceipt(ctx context.Context, r models.Receipt) (known bool, err error) {
	r.Said = models.Shorten(strings.ToValidUTF8(r.Said, "?"), 200)
	err = s.tx(ctx, func(tx *gorm.DB) error {
		var ids []int64
		err := tx.Raw(`SELECT id FROM messages WHERE peer_id <> '' AND peer_id IN (SELECT value FROM json_each(?))
			ORDER BY id DESC LIMIT 1`, jsonList(r.PeerIDs)).Scan(&ids).Error
		if err != nil {
			return err
		}
		if known = len(ids) > 0; known {
			return receive(ctx, tx.Statement.ConnPool, ids[0], r, r.At)
		}
		if err := tx.Exec("DELETE FROM early_receipts WHERE at < ?", r.At-keptReceipts).Error; err != nil {
			return err
		}
		return tx.Exec(`INSERT INTO early_receipts (at, peer_ids, said, fate) VALUES (?, ?, ?, ?)`,
			r.At, jsonList(r.PeerIDs), r.Said, r.Fate).Error
	})
	return known, saying(err, "recording a receipt")
}

// receive writes a receipt on its message; one that was not delivered has failed
// at a moment.
func receive(ctx context.Context, tx gorm.ConnPool, id int64, r models.Receipt, at models.Instant) error {
	_, err := tx.ExecContext(ctx, "UPDATE messages SET receipt = ?, receipt_at = ? WHERE id = ?", r.Said, r.At, id)
	if err != nil || r.Fate != models.ReceiptUndelivered {
		return saying(err, "writing a receipt")
	}
	return returned(ctx, tx, "id = ?", id, models.ReasonUndelivered+": "+models.Reason(r.Said), at)
}

// earlyReceipt takes up the receipt of a message that came before the answer
// to its try.
func earlyReceipt(ctx context.Context, tx *sql.Tx, a models.Attempt) error {
	var row int64
	r := models.Receipt{}
	err := tx.QueryRowContext(ctx, `SELECT id, at, said, fate FROM early_receipts
		WHERE EXISTS (SELECT 1 FROM json_each(peer_ids) WHERE value = ?) ORDER BY id DESC LIMIT 1`, a.PeerID).Scan(&row, &r.At, &r.Said, &r.Fate)
	if errors.Is(err, sql.ErrNoRows) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("looking for an early receipt: %w", err)
	}
	if _, err := tx.ExecContext(ctx, "DELETE FROM early_receipts WHERE id = ?", row); err != nil {
		return fmt.Errorf("taking up an early receipt: %w", err)
	}
	return receive(ctx, tx, a.Message, r, a.EndedAt)
}

// SentMails gives key, address and number of the mails of all contacts that were sent,
// or may have been, since a moment.
func (s *Store) SentMails(ctx context.Context, since models.Instant) ([]models.Message, error) {
	return list[models.Message](s.read.WithContext(ctx).Raw(`SELECT id, key, address FROM messages WHERE channel = 'mail' AND contact <> ''
		AND queued_at >= ? AND tries > 0`, since), "reading the mails that were sent")
}

// cameBack gives, by contact and channel, when the last message to its address
// failed, where none has arrived there since and the contact has not agreed
// anew.
func cameBack(tx *gorm.DB, cs []models.Contact) (map[string]map[models.Channel]models.Instant, error) {
	var addresses []string
	for _, c := range cs {
		for _, ch := range models.Channels() {
			if a := c.Address(ch); a != "" {
				addresses = append(addresses, strings.ToLower(a))
			}
		}
	}
	type failed struct {
		Channel models.Channel
		Address string // in small letters
		At      models.Instant
		On      models.Date
	}
	rows, err := list[failed](tx.Raw(`SELECT m.channel, j.value AS address, max(m.ended_at) AS at, max(date(m.ended_at, 'unixepoch')) AS "on"
		FROM json_each(?) j CROSS JOIN messages m ON m.address = j.value COLLATE NOCASE AND m.channel IN ('mail', 'sms') AND m.state = 'failed'
		WHERE NOT EXISTS (SELECT 1 FROM messages s WHERE s.address = m.address COLLATE NOCASE AND s.channel = m.channel
			AND s.state = 'sent' AND s.ended_at > m.ended_at)
		GROUP BY 1, 2`, jsonList(addresses)), "what came back")
	if err != nil {
		return nil, err
	}
	out := map[string]map[models.Channel]models.Instant{}
	for _, c := range cs {
		for _, r := range rows {
			if given, _ := c.Consent(r.Channel); strings.ToLower(c.Address(r.Channel)) != r.Address || r.On < given {
				continue
			}
			if out[c.ID] == nil {
				out[c.ID] = map[models.Channel]models.Instant{}
			}
			out[c.ID][r.Channel] = r.At
		}
	}
	return out, nil
}
