package store

import (
	"fmt"

	"gorm.io/gorm"

	"example.org/roundsman/models"
)

// carried bounds messages and notices to those that stand in an export: what a
// round that was taken back wrote bears times that have not come.
const carried = "round NOT IN (SELECT round FROM rounds_taken_back)"

// allTold reads what was told and answered, in the order of writing, with the
// keys by which rows name each other.
func allTold(tx *gorm.DB, set *models.FactSet) error {
	for _, q := range []struct {
		what, query string
		into        any
	}{
		{"messages", "SELECT * FROM messages WHERE " + carried + " ORDER BY id", &set.Messages},
		{"notices", `SELECT n.*, ifnull(m.key, '') AS message_key, ifnull(x.why, '') AS stopped FROM notices n
			LEFT JOIN messages m ON m.id = n.message LEFT JOIN stopped_notices x ON x.notice = n.id
			WHERE n.` + carried + `
			ORDER BY n.id`, &set.Notices},
		{"attempts", `SELECT a.*, m.key AS message_key FROM attempts a JOIN messages m ON m.id = a.message
			WHERE m.` + carried + ` ORDER BY a.id`, &set.Attempts},
		{"replies", "SELECT * FROM replies ORDER BY id", &set.Replies},
		{"what was done on replies", `SELECT a.*, r.key AS reply_key, iif(m.` + carried + `, m.key, '') AS message_key,
			row_number() OVER (PARTITION BY a.reply ORDER BY a.id) AS number
			FROM reply_acts a JOIN replies r ON r.id = a.reply LEFT JOIN messages m ON m.id = a.message ORDER BY a.id`, &set.ReplyActs},
		{"marks on replies", `SELECT k.*, r.key AS reply_key FROM reply_marks k JOIN replies r ON r.id = k.reply
			ORDER BY k.id`, &set.ReplyMarks},
		{"bounces", "SELECT * FROM bounces ORDER BY id", &set.Bounces},
		{"calls", "SELECT * FROM calls ORDER BY id", &set.Calls},
	} {
		if err := tx.Raw(q.query).Scan(q.into).Error; err != nil {
			return fmt.Errorf("%s: %w", q.what, err)
		}
	}
	tries := make(map[int64]int, len(set.Messages)) // that have ended, by message
	for _, a := range set.Attempts {
		tries[a.Message]++
	}
	for i := range set.Messages {
		set.Messages[i] = ashore(set.Messages[i], tries[set.Messages[i].ID])
	}
	return nil
}

// ashore gives a message as it is kept outside of this store: without the
// courier that holds it. A try that has begun and not ended is in doubt, and
// its time is that at which another courier might have taken the message. Of
// an ended message the words alone are kept.
func ashore(m models.Message, ended int) models.Message {
	if m.State == models.MessageSending {
		m.State = models.MessageQueued
		if m.Tries > ended {
			m.InDoubt, m.NotBefore = true, max(m.NotBefore, m.LeaseEnds)
		}
	}
	m.LeaseBy, m.LeaseEnds, m.Composed.HTML = "", 0, ""
	if m.State.Ended() {
		m.Composed.Calendar = ""
	}
	return m
}
