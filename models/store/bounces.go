package store

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"gorm.io/gorm"

	"example.org/roundsman/models"
)

// SaveBounce records a report that a message did not arrive. The message whose
// key is of ("": it is not known) counts as told to nobody, and a dead address
// marks the machines of all owners concerned, so that the next round looks for
// another way; alert, when it is not nil, is put into the outbox. fresh is
// false when the report is recorded already; then nothing changes.
func (s *Store) SaveBounce(ctx context.Context, b models.Bounce, of string, alert *models.Message, e models.Entry) (fresh bool, err error) {
	err = s.tx(ctx, func(tx *gorm.DB) error {
		if err := tx.Create(&b).Error; err != nil {
			if isDuplicate(err) {
				return errNothingNew
			}
			return err
		}
		why := models.ReasonReturned + ": " + models.Reason(strings.TrimSpace(b.Code+" "+b.Words))
		if err := returned(ctx, tx.Statement.ConnPool, "key = ? AND key <> ''", of, why, b.At); err != nil {
			return err
		}
		if alert != nil {
			if err := tx.Create(alert).Error; err != nil {
				return fmt.Errorf("queuing the alert: %w", err)
			}
		}
		if b.Fate != models.FateDead {
			return nil
		}
		if err := tx.Create(&e).Error; err != nil {
			return fmt.Errorf("beginning an entry: %w", err)
		}
		ids, err := machinesAt(tx, b.Channel, b.Address)
		if err != nil {
			return err
		}
		return touchMachines(tx, ids, e.ID)
	})
	switch {
	case errors.Is(err, errNothingNew):
		return false, nil
	case err != nil:
		return false, fmt.Errorf("recording a bounce of %s: %w", b.Address, asModelError(err))
	}
	return true, nil
}

// machinesAt gives the machines of the owners that a contact's address belongs to.
func machinesAt(tx *gorm.DB, ch models.Channel, address string) (ids []string, err error) {
	err = tx.Raw(`SELECT DISTINCT m.machine FROM contacts_now c JOIN machines_now m ON m.owner = c.owner
		WHERE `+hasAddress(ch)+` ORDER BY 1`, address).Scan(&ids).Error
	return ids, saying(err, "finding the machines concerned")
}

// retiredOf gives, by contact, the channels over which its address was reported
// dead since it agreed last.
func retiredOf(tx *gorm.DB, cs []models.Contact) (map[string][]models.Channel, error) {
	var addresses []string
	for _, c := range cs {
		for _, ch := range models.Channels() {
			if a := c.Address(ch); a != "" {
				addresses = append(addresses, strings.ToLower(a))
			}
		}
	}
	var rows []struct {
		Channel models.Channel
		Address string // in small letters
		On      models.Date
	}
	err := tx.Raw(`SELECT channel, lower(address) AS address, max(date(at, 'unixepoch')) AS "on" FROM bounces
		WHERE fate = 'dead' AND lower(address) IN (SELECT value FROM json_each(?)) GROUP BY 1, 2`,
		jsonList(addresses)).Scan(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("dead addresses: %w", err)
	}
	out := map[string][]models.Channel{}
	for _, c := range cs {
		for _, r := range rows {
			given, _ := c.Consent(r.Channel)
			if strings.ToLower(c.Address(r.Channel)) == r.Address && r.On >= given {
				out[c.ID] = append(out[c.ID], r.Channel)
			}
		}
	}
	return out, nil
}
