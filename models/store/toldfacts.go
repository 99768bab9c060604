package store

import (
	"cmp"
	"database/sql"
	"errors"
	"fmt"
	"slices"

	"example.org/roundsman/models"
)

// told writes what was told and answered. Rows that are recorded already are
// left as they are, with one exception: a message that waits here and has
// ended there ends here too. So loading can keep a message from going twice
// and can never make an ended one go again.
func (w *factWriter) told(set models.FactSet) error {
	t := &toldWriter{factWriter: w, named: map[string][]int{}, waiting: map[string]bool{}}
	for _, step := range []func() error{
		func() error { return t.putMessages(set.Messages) },
		func() error { return t.putNotices(set.Notices) },
		t.leaveTold,
		func() error { return t.putAttempts(set.Attempts) },
		func() error { return t.putReplies(set.Replies) },
		func() error { return t.putActs(set.ReplyActs) },
		func() error { return t.putMarks(set.ReplyMarks) },
		func() error { return t.putBounces(set.Bounces) },
		func() error { return t.putCalls(set.Calls) },
		t.closeRound,
	} {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

// toldWriter writes what was told and answered.
type toldWriter struct {
	*factWriter
	round    int64            // that stands for the rounds of the other store; 0: none yet
	ofRound  int              // rows that name it
	messages map[string]int64 // rows by key, of those that are named
	replies  map[string]int64

	waiting map[string]bool  // messages that this entry has put into the queue
	named   map[string][]int // notices known and new of those messages
}

// loadedRound gives the round that stands for those of another store in which
// the loaded notices were decided. It is done and its time is zero, so that it
// is never the last one held and bars none.
func (t *toldWriter) loadedRound() (int64, error) {
	if t.round != 0 {
		return t.round, nil
	}
	r := models.Round{Slot: fmt.Sprintf("loaded %d", t.entry), State: models.RoundDone, LastEntry: t.entry,
		Note: "stands for the rounds in which what was loaded was decided"}
	if err := t.tx.Create(&r).Error; err != nil {
		return 0, fmt.Errorf("writing the round of what is loaded: %w", err)
	}
	t.round = r.ID
	return r.ID, nil
}

// closeRound counts what the round stands for, or takes away one that stands
// for nothing.
func (t *toldWriter) closeRound() error {
	if t.round == 0 {
		return nil
	}
	query := "DELETE FROM rounds WHERE id = ?"
	if t.ofRound > 0 {
		query = `UPDATE rounds SET messages = (SELECT count(*) FROM messages m WHERE m.round = rounds.id),
			notices = (SELECT count(*) FROM notices n WHERE n.round = rounds.id AND n.message IS NOT NULL),
			withheld = (SELECT count(*) FROM notices n WHERE n.round = rounds.id AND n.message IS NULL) WHERE id = ?`
	}
	return saying(t.tx.Exec(query, t.round).Error, "counting what is loaded")
}

// each writes rows with one prepared statement.
func each[T any](t *toldWriter, what, query string, rows []T, write func(st *sql.Stmt, v T) error) (err error) {
	if len(rows) == 0 {
		return nil
	}
	st, err := t.prepare(query)
	if err != nil {
		return fmt.Errorf("writing %s: %w", what, err)
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	for _, v := range rows {
		if err := write(st, v); err != nil {
			return fmt.Errorf("writing %s: %w", what, err)
		}
	}
	return nil
}

// tally counts a row that was written, or was there: 0 is no row.
func tally(c *models.Counts, row int64) bool {
	if row == 0 {
		c.Same++
		return false
	}
	c.New++
	return true
}

// rowsOfKeys gives the rows of keys; one that is not recorded is refused.
func (t *toldWriter) rowsOfKeys(table string, keys []string) (map[string]int64, error) {
	var rows []struct {
		Key string
		ID  int64
	}
	err := t.tx.Raw("SELECT key, id FROM "+table+" WHERE key IN (SELECT value FROM json_each(?))", jsonList(keys)).Scan(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("finding %s: %w", table, err)
	}
	out := make(map[string]int64, len(rows))
	for _, r := range rows {
		out[r.Key] = r.ID
	}
	for _, k := range keys {
		if out[k] == 0 {
			return nil, models.Errorf(models.CodeConflict, "record it with what hangs on it", "something of the %s names %q, which is not recorded", table, k)
		}
	}
	return out, nil
}

// keysOf gives the keys that rows name, each once, without the empty one.
func keysOf[T any](rows []T, key func(T) string) []string {
	return slices.DeleteFunc(namesOf(rows, key), func(k string) bool { return k == "" })
}

// sorted gives rows in another order; queries take the order of writing for
// that of time.
func sorted[T any](rows []T, by func(a, b T) int) []T {
	rows = slices.Clone(rows)
	slices.SortStableFunc(rows, by)
	return rows
}

func (t *toldWriter) putMessages(ms []models.Message) error {
	ms = sorted(ms, func(a, b models.Message) int {
		return cmp.Or(cmp.Compare(a.QueuedAt, b.QueuedAt), cmp.Compare(a.Key, b.Key))
	})
	var known []models.Message
	err := each(t, "messages", `INSERT INTO messages (key, round, owner, contact, channel, address, purpose, language, urgent, body, in_reply_to,
			subject_line, text, html, calendar, segments, state, why, queued_at, not_before, tries, in_doubt, lease_by, lease_ends, ended_at, peer_id, receipt_at, receipt)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, '', ?, ?, ?, ?, ?, ?, ?, ?, '', 0, ?, ?, ?, ?) ON CONFLICT DO NOTHING`,
		ms, func(st *sql.Stmt, m models.Message) error {
			var round int64
			if m.Purpose.OfRound() {
				var err error
				if round, err = t.loadedRound(); err != nil {
					return err
				}
			}
			if m.State == models.MessageSending {
				m.State = models.MessageQueued
			}
			row, err := insert(t.ctx, st, m.Key, round, m.Owner, m.Contact, m.Channel, m.Address, m.Purpose, m.Language, m.Urgent, m.Body, m.InReplyTo,
				m.Composed.Subject, m.Composed.Text, m.Composed.Calendar, m.Composed.Segments, m.State, m.Why, m.QueuedAt, m.NotBefore, m.Tries, m.InDoubt,
				m.EndedAt, m.PeerID, m.ReceiptAt, m.Receipt)
			switch {
			case err != nil:
				return fmt.Errorf("%s: %w", m.Key, err)
			case row == 0:
				known = append(known, m)
				return nil
			}
			t.done.Messages.New++
			if round != 0 {
				t.ofRound++
			}
			t.waiting[m.Key] = !m.State.Ended()
			return nil
		})
	if err != nil {
		return err
	}
	return t.endMessages(known)
}

// endMessages ends the messages that wait here and have ended elsewhere.
func (t *toldWriter) endMessages(ms []models.Message) error {
	return each(t, "messages", `UPDATE messages SET state = ?, why = ?, ended_at = ?, tries = max(tries, ?), in_doubt = ?, peer_id = ?,
			address = ?, subject_line = ?, text = ?, segments = ?, receipt_at = ?, receipt = ?, lease_by = '', lease_ends = 0
		WHERE key = ? AND state = 'queued'`, ms, func(st *sql.Stmt, m models.Message) error {
		if !m.State.Ended() {
			t.done.Messages.Same++
			return nil
		}
		res, err := st.ExecContext(t.ctx, m.State, m.Why, m.EndedAt, m.Tries, m.InDoubt, m.PeerID,
			m.Address, m.Composed.Subject, m.Composed.Text, m.Composed.Segments, m.ReceiptAt, m.Receipt, m.Key)
		if err != nil {
			return fmt.Errorf("%s: %w", m.Key, err)
		}
		n, err := res.RowsAffected()
		t.done.Messages.Corrected += int(n)
		t.done.Messages.Same += 1 - int(n)
		return err
	})
}

func (t *toldWriter) putNotices(ns []models.KeyedNotice) (err error) {
	if t.messages, err = t.rowsOfKeys("messages", keysOf(ns, func(n models.KeyedNotice) string { return n.MessageKey })); err != nil {
		return err
	}
	ns = sorted(ns, func(a, b models.KeyedNotice) int {
		return cmp.Or(cmp.Compare(a.DecidedAt, b.DecidedAt), cmp.Compare(a.Machine, b.Machine), cmp.Compare(a.Subject, b.Subject),
			cmp.Compare(a.Item, b.Item), cmp.Compare(a.Cycle, b.Cycle), cmp.Compare(a.Ordinal, b.Ordinal),
			cmp.Compare(a.Contact, b.Contact), cmp.Compare(a.Stage, b.Stage))
	})
	return each(t, "notices", `INSERT INTO notices (round, message, owner, contact, machine, subject, item, cycle, stage, ordinal, early_on, due_on, late_on, was_on,
			driver, reason, detail, last_on, at_miles, at_hours, left_miles, left_km, left_hours, left_days, why, decided_at)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING`,
		ns, func(st *sql.Stmt, n models.KeyedNotice) error {
			var round int64
			if n.Subject != models.SubjectVisit { // visits are told when a person agrees them
				var err error
				if round, err = t.loadedRound(); err != nil {
					return err
				}
			}
			row, err := insert(t.ctx, st, round, t.maybe(n.MessageKey), n.Owner, n.Contact, n.Machine, n.Subject, n.Item, n.Cycle, n.Stage, n.Ordinal,
				n.EarlyOn, n.DueOn, n.LateOn, n.WasOn, n.Driver, n.Reason, n.Detail, n.LastOn, n.AtMiles, n.AtHours,
				n.Remaining.Miles, n.Remaining.KM, n.Remaining.Hours, n.Remaining.Days, n.Why, n.DecidedAt)
			if err != nil {
				return fmt.Errorf("%s of %s: %w", n.Item, n.Machine, err)
			}
			fresh := 0
			if n.Stopped != "" && row != 0 {
				if err := t.tx.Exec("INSERT INTO stopped_notices (notice, entry, why) VALUES (?, ?, ?)", row, t.entry, n.Stopped).Error; err != nil {
					return fmt.Errorf("%s of %s: %w", n.Item, n.Machine, err)
				}
			}
			if tally(&t.done.Notices, row) {
				fresh = 1
				t.touched[n.Machine] = true
				if round != 0 {
					t.ofRound++
				}
			}
			if t.waiting[n.MessageKey] {
				if t.named[n.MessageKey] == nil {
					t.named[n.MessageKey] = make([]int, 2)
				}
				t.named[n.MessageKey][fresh]++
			}
			return nil
		})
}

// maybe gives the row of a message, or NULL for none.
func (t *toldWriter) maybe(key string) any {
	if key == "" {
		return nil
	}
	return t.messages[key]
}

// leaveTold drops the loaded messages of which everything is recorded as told
// by others, and takes the words from those of which a part is, so that they
// are composed of the rest.
func (t *toldWriter) leaveTold() error {
	for key, n := range t.named {
		query, args := "UPDATE messages SET subject_line = '', text = '', segments = 0 WHERE key = ?", []any{key}
		switch {
		case n[0] == 0:
			continue
		case n[1] == 0:
			query = `UPDATE messages SET state = 'dropped', why = ?, ended_at = (SELECT recorded_at FROM entries WHERE id = ?) WHERE key = ?`
			args = []any{models.ReasonToldAlready, t.entry, key}
		}
		if err := t.tx.Exec(query, args...).Error; err != nil {
			return fmt.Errorf("leaving out what is told: %w", err)
		}
	}
	return nil
}

func (t *toldWriter) putAttempts(as []models.KeyedAttempt) (err error) {
	if t.messages, err = t.rowsOfKeys("messages", keysOf(as, func(a models.KeyedAttempt) string { return a.MessageKey })); err != nil {
		return err
	}
	as = sorted(as, func(a, b models.KeyedAttempt) int {
		return cmp.Or(cmp.Compare(a.StartedAt, b.StartedAt), cmp.Compare(a.MessageKey, b.MessageKey), cmp.Compare(a.Number, b.Number))
	})
	return each(t, "attempts", `INSERT INTO attempts (message, number, started_at, ended_at, outcome, code, why, peer_id)
		SELECT ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8 WHERE NOT EXISTS (SELECT 1 FROM attempts WHERE message = ?1 AND number = ?2)`,
		as, func(st *sql.Stmt, a models.KeyedAttempt) error {
			row, err := insert(t.ctx, st, t.messages[a.MessageKey], a.Number, a.StartedAt, a.EndedAt, a.Outcome, a.Code, a.Why, a.PeerID)
			tally(&t.done.Attempts, row)
			return err
		})
}
