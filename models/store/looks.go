package store

import (
	"context"
	"fmt"
	"maps"
	"slices"

	"gorm.io/gorm"

	"example.org/roundsman/models"
)

// SaveLook stores what a round found on some machines and decided to tell, in
// one transaction: derived rows anew, notices and messages added, all of it
// counted in the round, which it gives as it stands now. A machine
// that got a new fact since the round read it stays marked to be looked at.
func (s *Store) SaveLook(ctx context.Context, l models.Look) (round models.Round, err error) {
	err = s.tx(ctx, func(tx *gorm.DB) error {
		if err := saveDerived(ctx, tx, l); err != nil {
			return err
		}
		if err := leaveStale(tx, &l); err != nil {
			return err
		}
		stopped, err := takeOut(tx, &l)
		if err != nil {
			return err
		}
		fresh := 0
		for _, letter := range l.Letters {
			made, err := queue(tx, &letter.Message)
			if err != nil {
				return fmt.Errorf("queuing the message %s: %w", letter.Message.Key, err)
			}
			if made {
				fresh++
			}
			for i := range letter.Notices {
				letter.Notices[i].Message = &letter.Message.ID
			}
			if err := saveNotices(tx, letter.Notices); err != nil {
				return err
			}
		}
		if err := saveNotices(tx, l.Notices); err != nil {
			return err
		}
		if err := tx.Where("id = ?", l.Round).Find(&round).Error; err != nil {
			return err
		}
		if err := dropStopped(tx, stopped, round.At); err != nil {
			return err
		}
		round.Add(l, fresh)
		return tx.Model(&round).Select("looked", "changed", "notices", "withheld", "messages", "failed").Where("id = ?", l.Round).Updates(&round).Error
	})
	return round, saying(err, "storing what round %d found", l.Round)
}

// leaveStale takes out of a look what it decided to tell of machines whose
// standing or release was changed, or on which work or a baseline was recorded,
// after it had read them; the next round looks at them again.
func leaveStale(tx *gorm.DB, l *models.Look) error {
	var changed []string
	err := tx.Raw(`SELECT machine FROM standings f WHERE entry > ?1 OR id IN (SELECT fact FROM withdrawals WHERE sort = 'standing' AND entry > ?1)
		UNION SELECT machine FROM releases f WHERE entry > ?1 OR id IN (SELECT fact FROM withdrawals WHERE sort = 'release' AND entry > ?1)
		UNION SELECT machine FROM services WHERE machine IN (SELECT value FROM json_each(?2)) AND entry > ?1
		UNION SELECT machine FROM baselines WHERE machine IN (SELECT value FROM json_each(?2)) AND entry > ?1`, l.LastEntry, jsonList(machinesOf(*l))).Scan(&changed).Error
	if err != nil || len(changed) == 0 {
		return err
	}
	stale := func(n models.Notice) bool { return slices.Contains(changed, n.Machine) || slices.Contains(changed, "") }
	l.Notices = slices.DeleteFunc(l.Notices, stale)
	for i := range l.Letters {
		l.Letters[i].Notices = slices.DeleteFunc(l.Letters[i].Notices, stale)
	}
	l.Letters = slices.DeleteFunc(l.Letters, func(m models.MessageWithNotices) bool { return len(m.Notices) == 0 })
	l.Stops = slices.DeleteFunc(l.Stops, func(s models.Stop) bool { return stale(s.Notice) })
	return nil
}

// takeOut stops what a look takes out of messages that wait. Where a try was
// begun meanwhile what it tells has gone as it stood; then nothing else is told
// of that machine, and the next round looks at it again.
func takeOut(tx *gorm.DB, l *models.Look) (stopped []int64, err error) {
	if len(l.Stops) == 0 {
		return nil, nil
	}
	of := make([]int64, len(l.Stops))
	for i, s := range l.Stops {
		of[i] = *s.Notice.Message
	}
	open, err := list[int64](tx.Raw("SELECT id FROM messages m WHERE id IN (SELECT value FROM json_each(?)) AND "+stillOpen, jsonList(of)), "reading what still waits")
	if err != nil {
		return nil, err
	}
	type about struct{ contact, machine string }
	gone := map[about]bool{}
	byWhy := map[models.Reason][]int64{}
	for _, s := range l.Stops {
		if slices.Contains(open, *s.Notice.Message) {
			byWhy[s.Why] = append(byWhy[s.Why], s.Notice.ID)
			stopped = append(stopped, s.Notice.ID)
		} else {
			gone[about{s.Notice.Contact, s.Notice.Machine}] = true
		}
	}
	went := func(n models.Notice) bool { return gone[about{n.Contact, n.Machine}] }
	l.Notices = slices.DeleteFunc(l.Notices, went)
	for i := range l.Letters {
		l.Letters[i].Notices = slices.DeleteFunc(l.Letters[i].Notices, went)
	}
	l.Letters = slices.DeleteFunc(l.Letters, func(m models.MessageWithNotices) bool { return len(m.Notices) == 0 })
	for a := range gone {
		if err := tx.Exec("UPDATE machine_states SET next_look = '' WHERE machine = ?", a.machine).Error; err != nil {
			return nil, fmt.Errorf("marking %s for the next round: %w", a.machine, err)
		}
	}
	return stopped, stopEach(tx, l.Round, byWhy)
}

// stopEach stops waiting notices for a round's reasons.
func stopEach(tx *gorm.DB, round int64, byWhy map[models.Reason][]int64) error {
	if len(byWhy) == 0 {
		return nil
	}
	e := models.Entry{Actor: "round", Means: "round"}
	if err := tx.Raw("SELECT at FROM rounds WHERE id = ?", round).Scan(&e.RecordedAt).Error; err != nil {
		return fmt.Errorf("reading the time of round %d: %w", round, err)
	}
	if err := tx.Create(&e).Error; err != nil {
		return fmt.Errorf("writing what a round takes out: %w", err)
	}
	for _, why := range slices.Sorted(maps.Keys(byWhy)) {
		if err := stopNotices(tx, e.ID, byWhy[why], why); err != nil {
			return err
		}
	}
	return nil
}

// queue writes a message, and says so, unless it is one that still waits and
// that more joins: that is written anew, whoever has taken it up.
// One that a try was begun for since becomes a new message after it.
func queue(tx *gorm.DB, m *models.Message) (made bool, err error) {
	if m.ID != 0 {
		res := tx.Exec("UPDATE messages AS m SET purpose = ?, "+unwritten+" WHERE m.id = ? AND "+stillOpen, m.Purpose, m.ID)
		if res.Error != nil || res.RowsAffected == 1 {
			return false, res.Error
		}
		m.ID = 0
	}
	// A round that was killed and taken up may write to a contact again after
	// its first message has gone.
	for {
		var taken int64
		if err := tx.Table("messages").Where("key = ?", m.Key).Count(&taken).Error; err != nil {
			return false, err
		}
		if taken == 0 {
			return true, tx.Create(m).Error
		}
		m.Key += "+"
	}
}

func saveNotices(tx *gorm.DB, ns []models.Notice) error {
	if len(ns) == 0 {
		return nil
	}
	return saying(tx.CreateInBatches(&ns, 200).Error, "writing %d notices", len(ns))
}

// saveDerived replaces the derived rows of the look's machines.
func saveDerived(ctx context.Context, tx *gorm.DB, l models.Look) error {
	if len(l.States) == 0 {
		return nil
	}
	if err := saveForecasts(tx, l); err != nil {
		return err
	}
	if err := tx.Exec("DELETE FROM doubts WHERE machine IN (SELECT value FROM json_each(?))", jsonList(machinesOf(l))).Error; err != nil {
		return fmt.Errorf("clearing doubts: %w", err)
	}
	if err := rankFleet(ctx, tx, l); err != nil {
		return err
	}
	if len(l.Doubts) > 0 {
		if err := tx.CreateInBatches(&l.Doubts, 500).Error; err != nil {
			return fmt.Errorf("writing doubts: %w", err)
		}
	}
	st, err := tx.Statement.ConnPool.PrepareContext(ctx, `INSERT INTO machine_states (machine, next_look, touched, profile, waits)
		VALUES (?, ?, ?, ?, ?) ON CONFLICT (machine) DO UPDATE SET profile = excluded.profile, waits = excluded.waits,
			next_look = CASE WHEN touched > ? THEN '' ELSE excluded.next_look END`)
	if err != nil {
		return fmt.Errorf("writing machine states: %w", err)
	}
	defer st.Close()
	for _, v := range l.States {
		if _, err := st.ExecContext(ctx, v.Machine, v.NextLook, v.Touched, v.Profile, v.Waits, l.LastEntry); err != nil {
			return fmt.Errorf("writing the state of %s: %w", v.Machine, err)
		}
	}
	return nil
}

// saveForecasts replaces the forecasts of the look's machines.
func saveForecasts(tx *gorm.DB, l models.Look) error {
	if err := tx.Exec("DELETE FROM forecasts WHERE machine IN (SELECT value FROM json_each(?))", jsonList(machinesOf(l))).Error; err != nil {
		return fmt.Errorf("clearing forecasts: %w", err)
	}
	return putEach(tx, "forecasts", l.Forecasts, nil, itself[models.Forecast], counting[models.Forecast](&models.Counts{}))
}

// machinesOf lists the machines of a look.
func machinesOf(l models.Look) []string {
	return namesOf(l.States, func(v models.MachineState) string { return v.Machine })
}

// Forecasts gives the stored forecasts of machines, by machine and item; nil
// is every machine.
func (s *Store) Forecasts(ctx context.Context, machines []string) ([]models.Forecast, error) {
	db := s.read.WithContext(ctx).Order("machine, item")
	if machines != nil {
		db = db.Where("machine IN (SELECT value FROM json_each(?))", jsonList(machines))
	}
	return list[models.Forecast](db, "reading forecasts")
}

// Doubts gives the stored doubts of a machine.
func (s *Store) Doubts(ctx context.Context, machine string) ([]models.Doubt, error) {
	return list[models.Doubt](s.read.WithContext(ctx).Where("machine = ?", machine).Order("reading, meter"), "reading doubts")
}

// NoticesOf gives all notices on machines, in the order of writing. Those that
// went to an address which was then reported dead, or whose message failed or
// was taken out for want of a way, are lost: they told nobody.
func (s *Store) NoticesOf(ctx context.Context, machines []string) ([]models.Notice, error) {
	return list[models.Notice](s.read.WithContext(ctx).Raw(`SELECT n.*, x.why AS lost_why,
			x.notice IS NOT NULL OR ifnull(m.state = 'failed' OR m.state = 'dropped' AND m.why IN ?, 0)
				OR EXISTS (SELECT 1 FROM bounces b WHERE b.channel = m.channel
					AND b.address = m.address COLLATE NOCASE AND b.at >= m.queued_at AND b.fate = 'dead') AS lost,
			ifnull(`+stillOpen+`, 0) AS waits, iif(m.state = 'sent', m.ended_at, 0) AS gone_at
		FROM notices n LEFT JOIN messages m ON m.id = n.message LEFT JOIN stopped_notices x ON x.notice = n.id
		WHERE n.machine IN (SELECT value FROM json_each(?)) ORDER BY n.id`, models.CallReasons(), jsonList(machines)), "reading notices")
}

// ForgetDerived throws away every derived row. The next round works them out
// anew and tells nobody anything twice.
func (s *Store) ForgetDerived(ctx context.Context) error {
	return saying(s.tx(ctx, forgetDerived), "forgetting derived rows")
}

func forgetDerived(tx *gorm.DB) error {
	for _, table := range []string{"profiles", "machine_states", "forecasts", "doubts"} {
		if err := tx.Exec("DELETE FROM " + table).Error; err != nil {
			return fmt.Errorf("clearing %s: %w", table, err)
		}
	}
	return tx.Exec("UPDATE fleet_lines SET rank = ?, due_on = ?, day = '', entry = 0", rankNotLooked, noDay).Error
}
