package store

import (
	"context"
	"errors"
	"fmt"

	"gorm.io/gorm"

	"example.org/roundsman/models"
)

// hasAddress is the condition that a contact has an address on a channel, in
// the words of the indexes.
func hasAddress(ch models.Channel) string {
	if ch == models.ChannelSMS {
		return "mobile <> '' AND mobile = ?"
	}
	return "mail <> '' AND mail = ? COLLATE NOCASE"
}

// Sender gives what is known of the sender of a reply: contacts with that
// number or address, their owners and machines, the last message that went
// there, and a question that was asked back and not answered yet. contact, where
// it is known who it is, counts even without that number or address.
func (s *Store) Sender(ctx context.Context, ch models.Channel, from, contact string) (models.Sender, error) {
	var out models.Sender
	err := s.view(ctx, func(tx *gorm.DB) error {
		err := tx.Table("contacts_now").Where(hasAddress(ch)+" OR contact = ?", from, contact).Order("contact").Find(&out.Contacts).Error
		if err != nil {
			return fmt.Errorf("contacts: %w", err)
		}
		owners := make([]string, len(out.Contacts))
		for i, c := range out.Contacts {
			owners[i] = c.Owner
		}
		list := jsonList(owners)
		if err := tx.Table("owners_now").Where("owner IN (SELECT value FROM json_each(?))", list).Order("owner").Find(&out.Owners).Error; err != nil {
			return fmt.Errorf("owners: %w", err)
		}
		if err := tx.Table("machines_now").Where("owner IN (SELECT value FROM json_each(?))", list).Order("machine").Find(&out.Machines).Error; err != nil {
			return fmt.Errorf("machines: %w", err)
		}
		return lastTalk(tx, ch, from, &out)
	})
	return out, saying(err, "finding the sender %s", from)
}

// lastTalk reads the last message to an address with its notices, and the
// question of the last reply from it.
func lastTalk(tx *gorm.DB, ch models.Channel, from string, out *models.Sender) error {
	ms, err := list[models.Message](tx.Where(`channel = ? AND address = ? COLLATE NOCASE AND state IN ('sent', 'sending')
		AND purpose IN ('notices', 'reading', 'check', 'visit')`, ch, from).Order("id DESC").Limit(1), "the last message")
	if err != nil {
		return err
	}
	if len(ms) == 1 {
		out.Last = &ms[0]
		if err := tx.Where("message = ?", ms[0].ID).Order("id").Find(&out.Notices).Error; err != nil {
			return fmt.Errorf("what it told: %w", err)
		}
	}
	rs, err := list[models.Reply](tx.Where("channel = ? AND sender = ? COLLATE NOCASE AND automatic = 0", ch, from).
		Order("id DESC").Limit(models.MostAnswers), "the last replies")
	if err != nil {
		return err
	}
	if out.Replies = rs; len(rs) > 0 {
		out.Question, out.AskedAt = rs[0].Question, rs[0].ReceivedAt
	}
	err = tx.Table("messages").Where("channel = ? AND address = ? COLLATE NOCASE AND purpose = 'answer'", ch, from).
		Order("id DESC").Limit(models.MostAnswers).Pluck("queued_at", &out.Answered).Error
	return saying(err, "the last answers")
}

// HasReply says whether a reply with a key has been recorded.
func (s *Store) HasReply(ctx context.Context, key string) (bool, error) {
	var n int64
	if err := s.read.WithContext(ctx).Table("replies").Where("key = ?", key).Count(&n).Error; err != nil {
		return false, fmt.Errorf("looking for the reply %s: %w", key, asModelError(err))
	}
	return n > 0, nil
}

// SaveReply records a reply with all that was done on it, in one transaction:
// facts, stops, acts, and the messages that answer it. Waiting messages over
// a channel that was stopped are dropped. A reply that is recorded already
// gives models.ErrReplyKnown and changes nothing.
func (s *Store) SaveReply(ctx context.Context, a models.AppliedReply, e models.Entry) (reply int64, err error) {
	err = s.tx(ctx, func(tx *gorm.DB) error {
		if err := tx.Create(&a.Reply).Error; err != nil {
			if isDuplicate(err) {
				return models.ErrReplyKnown
			}
			return fmt.Errorf("writing it: %w", err)
		}
		if err := s.saveReplyFacts(tx, a, e); err != nil {
			return err
		}
		for i := range a.Messages {
			if err := tx.Create(&a.Messages[i]).Error; err != nil {
				return fmt.Errorf("queuing the answer: %w", err)
			}
		}
		for i := range a.Acts {
			a.Acts[i].Reply = a.Reply.ID
			if err := tx.Create(&a.Acts[i]).Error; err != nil {
				return fmt.Errorf("writing what was done: %w", err)
			}
		}
		return nil
	})
	if errors.Is(err, models.ErrReplyKnown) {
		return 0, err
	}
	return a.Reply.ID, saying(err, "recording the reply of %s", a.Reply.From)
}

// saveReplyFacts writes the facts that a reply brought. An answer ends the
// silence of its owner, so that all its machines are looked at again.
func (s *Store) saveReplyFacts(tx *gorm.DB, a models.AppliedReply, e models.Entry) error {
	w, err := s.newFactWriter(tx, e)
	if err != nil {
		return err
	}
	a.Facts.ByHand = true
	if err := w.all(a.Facts); err != nil {
		return err
	}
	if err := tx.Exec("INSERT INTO reply_entries (reply, entry) VALUES (?, ?)", a.Reply.ID, w.entry).Error; err != nil {
		return fmt.Errorf("noting with what entry: %w", err)
	}
	if err := w.restate(a.Contacts); err != nil {
		return err
	}
	for _, c := range a.Changes {
		if err := w.change(&c); err != nil {
			return fmt.Errorf("changing job %s: %w", c.Job.ID, err)
		}
	}
	if a.Reply.Owner != "" {
		if err := w.touchOwners([]string{a.Reply.Owner}); err != nil {
			return err
		}
	}
	if err := w.touch(); err != nil {
		return err
	}
	for _, c := range a.Contacts {
		for _, ch := range models.Channels() {
			if _, stopped := c.Consent(ch); stopped.IsZero() {
				continue
			}
			err := tx.Exec(`UPDATE messages SET state = 'dropped', why = ?, ended_at = ?
				WHERE state = 'queued' AND urgent = 0 AND channel = ? AND address = ? COLLATE NOCASE`,
				models.ReasonStopped, e.RecordedAt, ch, c.Address(ch)).Error
			if err != nil {
				return fmt.Errorf("dropping what waits: %w", err)
			}
		}
	}
	return nil
}

// restate writes new versions of contacts as they are given, stops set or
// cleared: a reply may do what an import may not. What was recorded of a
// contact since it was read stays, such as its STOP on the other channel.
func (w *factWriter) restate(cs []models.Contact) error {
	for _, c := range cs {
		var now, read []models.Contact
		if err := w.tx.Table("contacts_now").Where("contact = ?", c.ID).Find(&now).Error; err != nil {
			return fmt.Errorf("reading contact %s: %w", c.ID, err)
		}
		fact := models.Fact{Entry: w.entry}
		if len(now) == 1 {
			fact.Replaces = &now[0].Row
			if now[0].Row != c.Row {
				if err := w.tx.Table("contacts").Where("id = ?", c.Row).Find(&read).Error; err != nil {
					return fmt.Errorf("reading contact %s: %w", c.ID, err)
				}
			}
		}
		if len(read) == 1 {
			c = reworded(now[0], read[0], c)
		}
		c.Fact = fact
		if err := w.tx.Create(&c).Error; err != nil {
			return fmt.Errorf("writing contact %s: %w", c.ID, err)
		}
		if err := w.touchOwners([]string{c.Owner}); err != nil {
			return err
		}
	}
	return nil
}

// reworded gives a contact as it is now with those stops and consents that
// differ in said from what was read before.
func reworded(now, read, said models.Contact) models.Contact {
	for _, v := range []struct{ now, read, said *models.Date }{
		{&now.SMSStopOn, &read.SMSStopOn, &said.SMSStopOn}, {&now.MailStopOn, &read.MailStopOn, &said.MailStopOn},
		{&now.SMSConsentOn, &read.SMSConsentOn, &said.SMSConsentOn}, {&now.MailConsentOn, &read.MailConsentOn, &said.MailConsentOn},
	} {
		if *v.said != *v.read {
			*v.now = *v.said
		}
	}
	if said.ConsentHow != read.ConsentHow {
		now.ConsentHow = said.ConsentHow
	}
	return now
}

// Replies gives replies, the newest first: all of them, or those only that
// wait for a person; limit 0 is no limit.
func (s *Store) Replies(ctx context.Context, waiting bool, limit int) (logs []models.ReplyLog, err error) {
	err = s.view(ctx, func(tx *gorm.DB) error {
		q := tx.Order("id DESC")
		if waiting {
			q = q.Where("person <> '' AND NOT EXISTS (SELECT 1 FROM reply_marks k WHERE k.reply = replies.id)")
		}
		if limit > 0 {
			q = q.Limit(limit)
		}
		var rs []models.Reply
		if err := q.Find(&rs).Error; err != nil {
			return err
		}
		ids := idsOf(rs, func(r models.Reply) int64 { return r.ID })
		acts, err := childrenOf(tx, "reply", ids, func(a models.ReplyAct) int64 { return a.Reply })
		if err != nil {
			return err
		}
		marks, err := childrenOf(tx, "reply", ids, func(m models.ReplyMark) int64 { return m.Reply })
		if err != nil {
			return err
		}
		logs = make([]models.ReplyLog, len(rs))
		for i, r := range rs {
			logs[i] = models.ReplyLog{Reply: r, Acts: acts[r.ID]}
			if k := marks[r.ID]; len(k) > 0 {
				logs[i].Mark = &k[len(k)-1]
			}
		}
		return nil
	})
	return logs, saying(err, "reading replies")
}

// noReply says that there is no such reply.
func noReply(id int64) error {
	return models.Errorf(models.CodeNotFound, "`roundsman reply --list --all` lists them", "there is no reply %d", id)
}

// MarkReply records that a person has dealt with a reply.
func (s *Store) MarkReply(ctx context.Context, m models.ReplyMark) error {
	err := s.tx(ctx, func(tx *gorm.DB) error {
		var n int64
		if err := tx.Table("replies").Where("id = ?", m.Reply).Count(&n).Error; err != nil {
			return err
		}
		if n == 0 {
			return noReply(m.Reply)
		}
		return tx.Create(&m).Error
	})
	return saying(err, "marking reply %d", m.Reply)
}
