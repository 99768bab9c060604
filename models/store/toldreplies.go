package store

import (
	"cmp"
	"database/sql"
	"fmt"

	"example.org/roundsman/models"
)

// putReplies writes replies. They end the silence of their owners, whose
// machines are looked at again.
func (t *toldWriter) putReplies(rs []models.Reply) error {
	rs = sorted(rs, func(a, b models.Reply) int {
		return cmp.Or(cmp.Compare(a.ReceivedAt, b.ReceivedAt), cmp.Compare(a.Key, b.Key))
	})
	var owners []string
	err := each(t, "replies", `INSERT INTO replies (key, received_at, channel, sender, recipient, subject, text, automatic, answers_to, owner, contact, question, person)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING`,
		rs, func(st *sql.Stmt, r models.Reply) error {
			row, err := insert(t.ctx, st, r.Key, r.ReceivedAt, r.Channel, r.From, r.To, r.Subject, r.Text, r.Automatic, r.AnswersTo,
				r.Owner, r.Contact, r.Question, r.Person)
			if err != nil {
				return fmt.Errorf("%s: %w", r.Key, err)
			}
			if tally(&t.done.Replies, row) && r.Owner != "" {
				owners = append(owners, r.Owner)
			}
			return nil
		})
	if err != nil {
		return err
	}
	return t.touchOwners(owners)
}

// putActs writes what was done on replies. A reply is recorded with all of
// it, so that the rows of one are counted from the first.
func (t *toldWriter) putActs(as []models.KeyedAct) (err error) {
	if t.replies, err = t.rowsOfKeys("replies", keysOf(as, func(a models.KeyedAct) string { return a.ReplyKey })); err != nil {
		return err
	}
	if t.messages, err = t.rowsOfKeys("messages", keysOf(as, func(a models.KeyedAct) string { return a.MessageKey })); err != nil {
		return err
	}
	as = sorted(as, func(a, b models.KeyedAct) int {
		return cmp.Or(cmp.Compare(t.replies[a.ReplyKey], t.replies[b.ReplyKey]), cmp.Compare(a.Number, b.Number))
	})
	return each(t, "what was done on replies", `INSERT INTO reply_acts (reply, act, machine, detail, message, at)
		SELECT ?1, ?2, ?3, ?4, ?5, ?6 WHERE (SELECT count(*) FROM reply_acts WHERE reply = ?1) < ?7`,
		as, func(st *sql.Stmt, a models.KeyedAct) error {
			row, err := insert(t.ctx, st, t.replies[a.ReplyKey], a.Act, a.Machine, a.Detail, t.maybe(a.MessageKey), a.At, a.Number)
			tally(&t.done.ReplyActs, row)
			return err
		})
}

func (t *toldWriter) putMarks(ks []models.KeyedMark) (err error) {
	if t.replies, err = t.rowsOfKeys("replies", keysOf(ks, func(k models.KeyedMark) string { return k.ReplyKey })); err != nil {
		return err
	}
	ks = sorted(ks, func(a, b models.KeyedMark) int {
		return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(t.replies[a.ReplyKey], t.replies[b.ReplyKey]),
			cmp.Compare(a.By, b.By), cmp.Compare(a.Note, b.Note))
	})
	return each(t, "marks on replies", `INSERT INTO reply_marks (reply, at, by_whom, note) SELECT ?1, ?2, ?3, ?4
		WHERE NOT EXISTS (SELECT 1 FROM reply_marks WHERE reply = ?1 AND at = ?2 AND by_whom = ?3 AND note = ?4)`,
		ks, func(st *sql.Stmt, k models.KeyedMark) error {
			row, err := insert(t.ctx, st, t.replies[k.ReplyKey], k.At, k.By, k.Note)
			tally(&t.done.ReplyMarks, row)
			return err
		})
}

// putBounces writes reports that messages did not arrive. Where an address is
// dead, another way is looked for.
func (t *toldWriter) putBounces(bs []models.Bounce) error {
	bs = sorted(bs, func(a, b models.Bounce) int { return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.Key, b.Key)) })
	return each(t, "bounces", `INSERT INTO bounces (key, at, channel, address, fate, code, words)
		VALUES (?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING`,
		bs, func(st *sql.Stmt, b models.Bounce) error {
			row, err := insert(t.ctx, st, b.Key, b.At, b.Channel, b.Address, b.Fate, b.Code, b.Words)
			if err != nil {
				return fmt.Errorf("%s: %w", b.Key, err)
			}
			if !tally(&t.done.Bounces, row) || b.Fate != models.FateDead {
				return nil
			}
			ids, err := machinesAt(t.tx, b.Channel, b.Address)
			for _, id := range ids {
				t.touched[id] = true
			}
			return err
		})
}

func (t *toldWriter) putCalls(cs []models.Call) error {
	cs = sorted(cs, func(a, b models.Call) int {
		return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.Owner, b.Owner), cmp.Compare(a.By, b.By), cmp.Compare(a.Note, b.Note))
	})
	var owners []string
	err := each(t, "calls", `INSERT INTO calls (at, owner, by_whom, reached, note, again_on) SELECT ?1, ?2, ?3, ?4, ?5, ?6
		WHERE NOT EXISTS (SELECT 1 FROM calls WHERE owner = ?2 AND at = ?1 AND by_whom = ?3 AND reached = ?4 AND note = ?5 AND again_on = ?6)`,
		cs, func(st *sql.Stmt, c models.Call) error {
			row, err := insert(t.ctx, st, c.At, c.Owner, c.By, c.Reached, c.Note, c.AgainOn)
			if err == nil && tally(&t.done.Calls, row) {
				owners = append(owners, c.Owner)
			}
			return err
		})
	if err != nil {
		return err
	}
	return t.touchOwners(owners)
}
