package store

import (
	"cmp"
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

// tally counts a row that was written, or was there: 0 is no row.
func tally(c *models.Counts, row int64) bool {
	if row == 0 {
		c.Same++
		return false
	}
	c.New++
	return true
}

// counting counts rows as putEach writes them.
func counting[V any](c *models.Counts) func(V, int64) error {
	return func(_ V, row int64) error {
		tally(c, row)
		return nil
	}
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
	err := putEach(t.tx, "messages", ms, nil,
		func(m models.Message) (*models.Message, error) {
			m.Round = 0
			m.Composed.HTML, m.LeaseBy, m.LeaseEnds = "", "", 0
			if m.State == models.MessageSending {
				m.State = models.MessageQueued
			}
			var err error
			if m.Purpose.OfRound() {
				m.Round, err = t.loadedRound()
			}
			return &m, err
		},
		func(m models.Message, row int64) error {
			if row == 0 {
				known = append(known, m)
				return nil
			}
			t.done.Messages.New++
			if m.Purpose.OfRound() {
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
	for _, m := range ms {
		if !m.State.Ended() {
			t.done.Messages.Same++
			continue
		}
		res := t.tx.Exec(`UPDATE messages SET state = ?, why = ?, ended_at = ?, tries = max(tries, ?), in_doubt = ?, peer_id = ?,
				address = ?, subject_line = ?, text = ?, segments = ?, receipt_at = ?, receipt = ?, lease_by = '', lease_ends = 0
			WHERE key = ? AND state = 'queued'`, m.State, m.Why, m.EndedAt, m.Tries, m.InDoubt, m.PeerID,
			m.Address, m.Composed.Subject, m.Composed.Text, m.Composed.Segments, m.ReceiptAt, m.Receipt, m.Key)
		if res.Error != nil {
			return saying(res.Error, "ending the message %s", m.Key)
		}
		if res.RowsAffected > 0 {
			was := m
			was.State, was.EndedAt = models.MessageQueued, 0
			t.done.Changes = append(t.done.Changes, models.Change{Was: was, Is: m})
		}
		t.done.Messages.Corrected += int(res.RowsAffected)
		t.done.Messages.Same += 1 - int(res.RowsAffected)
	}
	return nil
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
	return putEach(t.tx, "notices", ns, nil,
		func(n models.KeyedNotice) (row *models.Notice, err error) {
			row = &n.Notice
			row.Message, row.Round = rowOf(t.messages, n.MessageKey), 0
			if n.Subject != models.SubjectVisit { // visits are told when a person agrees them
				row.Round, err = t.loadedRound()
			}
			return row, err
		}, t.noticeWritten)
}

// noticeWritten counts a notice, row 0 where it was there, and marks it as
// stopped where it was.
func (t *toldWriter) noticeWritten(n models.KeyedNotice, row int64) error {
	fresh := 0
	if n.Stopped != "" && row != 0 {
		if err := t.tx.Exec("INSERT INTO stopped_notices (notice, entry, why) VALUES (?, ?, ?)", row, t.entry, n.Stopped).Error; err != nil {
			return fmt.Errorf("%s of %s: %w", n.Item, n.Machine, err)
		}
	}
	if tally(&t.done.Notices, row) {
		fresh = 1
		t.touched[n.Machine] = true
		if n.Subject != models.SubjectVisit {
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
}

// rowOf gives the row of a key, nil for the empty one.
func rowOf(rows map[string]int64, key string) *int64 {
	if key == "" {
		return nil
	}
	row := rows[key]
	return &row
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
	return putEach(t.tx, "attempts", as, []string{"message", "number"},
		func(a models.KeyedAttempt) (*models.Attempt, error) {
			a.Message = t.messages[a.MessageKey]
			return &a.Attempt, nil
		}, counting[models.KeyedAttempt](&t.done.Attempts))
}
