package store

import (
	"context"
	"errors"
	"fmt"

	"gorm.io/gorm"

	"example.org/roundsman/models"
)

// AddUser adds somebody who may log in. A name that is taken gives
// models.CodeConflict; a manager's owner that is not recorded
// models.CodeNotFound.
func (s *Store) AddUser(ctx context.Context, u models.User) (models.User, error) {
	if err := models.CheckUser(u); err != nil {
		return models.User{}, err
	}
	u.ID, u.RemovedAt = 0, 0
	err := s.tx(ctx, func(tx *gorm.DB) error {
		if u.Owner != "" {
			var n int64
			if err := tx.Table("machines_now").Where("owner = ?", u.Owner).Limit(1).Count(&n).Error; err != nil {
				return err
			}
			if n == 0 {
				return models.Errorf(models.CodeNotFound, "give the id of an owner as in owners.csv", "no machine belongs to an owner %q", u.Owner)
			}
		}
		err := tx.Create(&u).Error
		if isDuplicate(err) {
			return models.Errorf(models.CodeConflict, "choose another name, or remove the other user first", "there is a user %q already", u.Name)
		}
		return err
	})
	return u, saying(err, "adding a user")
}

// Users gives all users that are not removed, by name.
func (s *Store) Users(ctx context.Context) ([]models.User, error) {
	return list[models.User](s.read.WithContext(ctx).Where("removed_at = 0").Order("name"), "reading users")
}

// UserNamed finds a user by name, in any case of its letters.
func (s *Store) UserNamed(ctx context.Context, name string) (u models.User, ok bool, err error) {
	err = s.read.WithContext(ctx).Where("name = ? AND removed_at = 0", name).Take(&u).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return models.User{}, false, nil
	}
	return u, true, saying(err, "finding a user")
}

// RemoveUser removes a user and ends all sessions. What that user did stays in
// the trail.
func (s *Store) RemoveUser(ctx context.Context, name string, at models.Instant) error {
	return s.changeUser(ctx, name, "removed_at = ?", at)
}

// SetPassword keeps the hash of a user's new password and ends all sessions,
// so that whoever knew the old one is out.
func (s *Store) SetPassword(ctx context.Context, name, hash string) error {
	return s.changeUser(ctx, name, "hash = ?", hash)
}

func (s *Store) changeUser(ctx context.Context, name, set string, arg any) error {
	err := s.tx(ctx, func(tx *gorm.DB) error {
		var ids []int64
		if err := tx.Table("users").Where("name = ? AND removed_at = 0", name).Pluck("id", &ids).Error; err != nil {
			return err
		}
		if len(ids) == 0 {
			return models.Errorf(models.CodeNotFound, "`roundsman user list` lists them", "there is no user %q", name)
		}
		if err := tx.Exec("UPDATE users SET "+set+" WHERE id = ?", arg, ids[0]).Error; err != nil {
			return err
		}
		for _, table := range []string{"sessions", "passes"} {
			if err := tx.Exec("DELETE FROM "+table+" WHERE user_id = ?", ids[0]).Error; err != nil {
				return err
			}
		}
		return nil
	})
	return saying(err, "changing a user")
}

// SetLanguage keeps the language in which a user sees the pages.
func (s *Store) SetLanguage(ctx context.Context, user int64, language string) error {
	return saying(s.write.WithContext(ctx).Exec("UPDATE users SET language = ? WHERE id = ?", language, user).Error, "keeping a language")
}

// BeginSession keeps a new session and forgets those that have ended.
func (s *Store) BeginSession(ctx context.Context, n models.Session) error {
	err := s.tx(ctx, func(tx *gorm.DB) error {
		if err := tx.Exec("DELETE FROM sessions WHERE ends_at <= ?", n.CreatedAt).Error; err != nil {
			return err
		}
		return tx.Create(&n).Error
	})
	return saying(err, "beginning a session")
}

// SessionUser gives a session that has not ended and its user; ok is false
// when there is none.
func (s *Store) SessionUser(ctx context.Context, token string, now models.Instant) (n models.Session, u models.User, ok bool, err error) {
	err = s.view(ctx, func(tx *gorm.DB) error {
		var ns []models.Session
		if err := tx.Where("token = ? AND ends_at > ?", token, now).Find(&ns).Error; err != nil || len(ns) == 0 {
			return err
		}
		var us []models.User
		if err := tx.Where("id = ? AND removed_at = 0", ns[0].User).Find(&us).Error; err != nil || len(us) == 0 {
			return err
		}
		n, u, ok = ns[0], us[0], true
		return nil
	})
	return n, u, ok, saying(err, "reading a session")
}

// TouchSession notes that a session is in use and moves its end.
func (s *Store) TouchSession(ctx context.Context, token string, seen, ends models.Instant) error {
	return saying(s.write.WithContext(ctx).Exec("UPDATE sessions SET seen_at = ?, ends_at = ? WHERE token = ?", seen, ends, token).Error, "noting a session")
}

// EndSession ends a session.
func (s *Store) EndSession(ctx context.Context, token string) error {
	return saying(s.write.WithContext(ctx).Exec("DELETE FROM sessions WHERE token = ?", token).Error, "ending a session")
}

// AddPass keeps a way in that works once.
func (s *Store) AddPass(ctx context.Context, p models.LoginToken) error {
	return saying(s.write.WithContext(ctx).Create(&p).Error, "keeping a one-time log-in")
}

// PassUser gives the user whom a pass would let in, without using it.
func (s *Store) PassUser(ctx context.Context, token string, now models.Instant) (u models.User, ok bool, err error) {
	err = s.read.WithContext(ctx).Raw(`SELECT u.* FROM passes p JOIN users u ON u.id = p.user_id
		WHERE p.token = ? AND p.used_at = 0 AND p.ends_at > ? AND u.removed_at = 0`, token, now).Take(&u).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return models.User{}, false, nil
	}
	return u, true, saying(err, "reading a one-time log-in")
}

// UsePass uses a pass up; ok is false where it was used or has ended.
func (s *Store) UsePass(ctx context.Context, token string, now models.Instant) (ok bool, err error) {
	db := s.write.WithContext(ctx).Exec("UPDATE passes SET used_at = ? WHERE token = ? AND used_at = 0 AND ends_at > ?", now, token, now)
	if db.Error != nil {
		return false, fmt.Errorf("using a one-time log-in: %w", asModelError(db.Error))
	}
	return db.RowsAffected == 1, nil
}

// AddTrace writes a line of the audit trail.
func (s *Store) AddTrace(ctx context.Context, t models.AuditEntry) error {
	return saying(s.write.WithContext(ctx).Create(&t).Error, "writing the trail")
}

// Traces gives the newest lines of the audit trail, before a line (0: all).
func (s *Store) Traces(ctx context.Context, before int64, limit int) ([]models.AuditEntry, error) {
	db := s.read.WithContext(ctx).Order("id DESC").Limit(limit)
	if before > 0 {
		db = db.Where("id < ?", before)
	}
	return list[models.AuditEntry](db, "reading the trail")
}

// WebKey gives a secret of the pages by name, and keeps the fresh one given
// where there is none yet.
func (s *Store) WebKey(ctx context.Context, name string, fresh []byte) (key []byte, err error) {
	err = s.tx(ctx, func(tx *gorm.DB) error {
		if err := tx.Exec("INSERT INTO web_keys (name, body) VALUES (?, ?) ON CONFLICT DO NOTHING", name, fresh).Error; err != nil {
			return err
		}
		return tx.Raw("SELECT body FROM web_keys WHERE name = ?", name).Row().Scan(&key)
	})
	return key, saying(err, "reading a key")
}

// WithdrawLinks makes all links that a contact was given so far count no more.
func (s *Store) WithdrawLinks(ctx context.Context, contact string, at models.Instant, by string) error {
	return saying(s.write.WithContext(ctx).Exec("INSERT INTO link_withdrawals (contact, at, by_whom) VALUES (?, ?, ?)", contact, at, by).Error, "withdrawing links")
}

// LinksWithdrawn gives the moment up to which a contact's links were
// withdrawn, zero for never.
func (s *Store) LinksWithdrawn(ctx context.Context, contact string) (at models.Instant, err error) {
	err = s.read.WithContext(ctx).Raw("SELECT ifnull(max(at), 0) FROM link_withdrawals WHERE contact = ?", contact).Scan(&at).Error
	return at, saying(err, "reading withdrawn links")
}
