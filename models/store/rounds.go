package store

import (
	"context"
	"errors"
	"fmt"
	"math"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"example.org/roundsman/models"
)

// BeginRound writes a round, or takes up the one with the same slot that was
// begun and not finished. A slot whose round is done gives models.CodeConflict
// with models.ErrSlotHeld; so does a time before that of the newest finished round, since what it would
// say has been said; only a round by the clock does not mind one that lies more
// than models.MayLieAhead after it.
func (s *Store) BeginRound(ctx context.Context, r models.Round) (models.Round, error) {
	err := s.tx(ctx, func(tx *gorm.DB) error {
		var had []models.Round
		if err := tx.Where("slot = ?", r.Slot).Find(&had).Error; err != nil {
			return err
		}
		if len(had) == 1 {
			if had[0].State == models.RoundDone {
				return &models.Error{Code: models.CodeConflict, Message: fmt.Sprintf("the round of %s has been held", r.Slot), Err: models.ErrSlotHeld}
			}
			r = had[0]
			r.State = models.RoundRunning
			r.Looked, r.Failed = r.Looked-r.Failed, 0 // those are looked at again
			return tx.Model(&r).Select("state", "looked", "failed").Updates(&r).Error
		}
		var newest []models.Round
		bound := models.Instant(math.MaxInt64)
		if r.ByClock {
			bound = r.At.Add(models.MayLieAhead)
		}
		if err := tx.Where("state = ? AND at <= ? AND "+standingRounds, models.RoundDone, bound).Order("at DESC").Limit(1).Find(&newest).Error; err != nil {
			return err
		}
		if len(newest) == 1 && newest[0].At > r.At {
			return models.Errorf(models.CodeConflict, "play it on a copy of the database; a round held ahead of the clock by mistake goes with `roundsman round --take-back`",
				"a round has been held at %s, after %s", newest[0].At, r.At)
		}
		if err := tx.Raw("SELECT coalesce(max(id), 0) FROM entries").Scan(&r.LastEntry).Error; err != nil {
			return err
		}
		r.State = models.RoundRunning
		return tx.Create(&r).Error
	})
	return r, saying(err, "beginning the round %s", r.Slot)
}

// FinishRound records how a round ended: its state, profile, finish and note;
// SaveLook has counted what it did.
func (s *Store) FinishRound(ctx context.Context, r models.Round) error {
	err := s.write.WithContext(ctx).Model(&r).
		Select("finished_at", "state", "profile", "note").
		Updates(&r).Error
	return saying(err, "finishing round %d", r.ID)
}

// SetRoundProfile records which profile a running round uses.
func (s *Store) SetRoundProfile(ctx context.Context, round int64, number int) error {
	return saying(s.write.WithContext(ctx).Exec("UPDATE rounds SET profile = ? WHERE id = ?", number, round).Error, "recording the profile of round %d", round)
}

// LastRound gives the newest finished round held for a time up to a moment; ok
// is false when there is none.
// What was loaded from a folder stands for no round (see loadedRound).
func (s *Store) LastRound(ctx context.Context, upTo models.Instant) (r models.Round, ok bool, err error) {
	err = s.read.WithContext(ctx).Where("state = ? AND at > 0 AND at <= ? AND "+standingRounds, models.RoundDone, upTo).Order("at DESC, id DESC").Take(&r).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return models.Round{}, false, nil
	}
	return r, true, saying(err, "reading the last round")
}

// UnfinishedRound gives a round that was begun and killed; ok is false when
// there is none.
func (s *Store) UnfinishedRound(ctx context.Context) (r models.Round, ok bool, err error) {
	err = s.read.WithContext(ctx).Where("state <> ?", models.RoundDone).Order("id DESC").Take(&r).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return models.Round{}, false, nil
	}
	return r, true, saying(err, "reading the unfinished round")
}

// ProfileInForce gives the number and last entry of the newest profile that
// rounds held no later than a time have used; ok is false when there is none.
func (s *Store) ProfileInForce(ctx context.Context, at models.Instant) (p models.Profile, ok bool, err error) {
	err = s.read.WithContext(ctx).Raw(`SELECT profile AS number, last_entry FROM rounds
		WHERE profile > 0 AND at <= ? AND `+standingRounds+` ORDER BY profile DESC, id LIMIT 1`, at).Take(&p).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return models.Profile{}, false, nil
	}
	return p, true, saying(err, "reading the profile in force")
}

// LoadProfile gives a stored profile; ok is false when it has been thrown
// away or was never made.
func (s *Store) LoadProfile(ctx context.Context, number int) (p models.Profile, ok bool, err error) {
	err = s.read.WithContext(ctx).Where("number = ?", number).Take(&p).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return models.Profile{}, false, nil
	}
	return p, true, saying(err, "reading profile %d", number)
}

// SaveProfile stores a fitted profile.
func (s *Store) SaveProfile(ctx context.Context, p models.Profile) error {
	return saying(s.write.WithContext(ctx).Clauses(clause.OnConflict{UpdateAll: true}).Create(&p).Error, "saving profile %d", p.Number)
}

// ReadingsBefore counts the readings and services dated before a day and
// entered no later than an entry (0: any): the stuff that profiles are made of.
func (s *Store) ReadingsBefore(ctx context.Context, day models.Date, lastEntry int64) (int64, error) {
	win := models.Window{LastEntry: lastEntry}
	var n int64
	err := s.read.WithContext(ctx).Raw(`SELECT (SELECT count(*) FROM readings WHERE at < ? AND entry <= ?)
		+ (SELECT count(*) FROM services WHERE at < ? AND entry <= ?)`,
		day, win.Entry(), day, win.Entry()).Scan(&n).Error
	return n, saying(err, "counting readings")
}

// ToLook gives the owners with machines that a round must look at on a day,
// in order: those with a new fact, those whose next date has come, those
// whose forecasts were made with another profile, those of which a message
// waits since an earlier day, and those of the same owners
// with something withheld, since what is found now may end that, or with a date
// that may be reached up to soon, which may be told along.
func (s *Store) ToLook(ctx context.Context, today, soon models.Date, profile int) ([]models.OwnerMachines, error) {
	rows, err := list[struct{ Owner, Machine string }](s.read.WithContext(ctx).Raw(`WITH owed AS (
		SELECT m.owner, m.machine FROM machine_states s JOIN machines_now m ON m.machine = s.machine WHERE s.next_look <= ?
		UNION SELECT m.owner, m.machine FROM machine_states s JOIN machines_now m ON m.machine = s.machine
			WHERE s.profile < ? OR s.profile > ?
		UNION SELECT m.owner, m.machine FROM machines_now m
			WHERE NOT EXISTS (SELECT 1 FROM machine_states s WHERE s.machine = m.machine)
		UNION SELECT w.owner, w.machine FROM messages m CROSS JOIN notices n ON n.message = m.id CROSS JOIN rounds r ON r.id = n.round
			CROSS JOIN machines_now w ON w.machine = n.machine
			WHERE `+stillOpen+` AND r.today < ? AND n.id NOT IN (SELECT notice FROM stopped_notices))
		SELECT owner, machine FROM owed
		UNION SELECT m.owner, m.machine FROM machine_states s JOIN machines_now m ON m.machine = s.machine
			WHERE s.waits = 1 AND m.owner IN (SELECT owner FROM owed)
		UNION SELECT m.owner, m.machine FROM owed o CROSS JOIN machines_now m ON m.owner = o.owner CROSS JOIN forecasts f ON f.machine = m.machine
			WHERE f.stage = ? AND f.due_on > ? AND f.early_on <= ?
		ORDER BY 1, 2`, today, profile, profile, today, models.StageClear, today, soon), "finding the machines to look at")
	if err != nil {
		return nil, err
	}
	var out []models.OwnerMachines
	for _, r := range rows {
		if len(out) == 0 || out[len(out)-1].Owner != r.Owner {
			out = append(out, models.OwnerMachines{Owner: r.Owner})
		}
		o := &out[len(out)-1]
		o.Machines = append(o.Machines, r.Machine)
	}
	return out, nil
}
