package store

import (
	"fmt"
	"strings"

	"gorm.io/gorm"

	"example.org/roundsman/models"
)

// keepStops gives a new version of a contact the stops of its addresses, since
// loading a folder never clears one: that of the last version, or of the one
// that had the address before where it comes back.
func (w *factWriter) keepStops(v *models.Contact, old models.Contact) error {
	for _, a := range []struct {
		now, before string
		stop        *models.Date
		last        models.Date
		column      string
		where       string
	}{
		{v.Mobile, old.Mobile, &v.SMSStopOn, old.SMSStopOn, "sms_stop_on", "mobile = ?"},
		{v.Mail, old.Mail, &v.MailStopOn, old.MailStopOn, "mail_stop_on", "mail = ? COLLATE NOCASE"},
	} {
		if *a.stop != 0 && old.ID != "" && a.last.IsZero() && a.now != "" && strings.EqualFold(a.now, a.before) {
			var lifted int64 // known and lifted since: the folder is older than that
			err := w.tx.Table("contacts").Where("contact = ? AND "+a.where+" AND "+a.column+" <> '' AND "+a.column+" >= ?", v.ID, a.now, *a.stop).Count(&lifted).Error
			if err != nil {
				return fmt.Errorf("reading the stops of %s: %w", v.ID, err)
			}
			if lifted > 0 {
				*a.stop = 0
			}
			continue
		}
		switch {
		case *a.stop != 0 || old.ID == "" || a.now == "":
		case strings.EqualFold(a.now, a.before):
			*a.stop = a.last
		default:
			var stops []models.Date
			err := w.tx.Table("contacts").Where("contact = ? AND "+a.where, v.ID, a.now).Order("id DESC").Limit(1).Pluck(a.column, &stops).Error
			if err != nil {
				return fmt.Errorf("reading the stops of %s: %w", v.ID, err)
			}
			if len(stops) == 1 {
				*a.stop = stops[0]
			}
		}
		if a.stop.IsZero() && a.now != "" && !strings.EqualFold(a.now, a.before) {
			if err := w.strangersStop(a.now, a.stop); err != nil {
				return err
			}
		}
	}
	return nil
}

// strangersStop gives an address that is new to a contact the STOP that came
// from there while nobody was known to have it.
func (w *factWriter) strangersStop(address string, stop *models.Date) error {
	var last []struct {
		Act string
		On  models.Date
	}
	err := w.tx.Raw(`SELECT a.act, date(r.received_at, 'unixepoch') AS "on" FROM replies r JOIN reply_acts a ON a.reply = r.id
		WHERE r.sender = ? COLLATE NOCASE AND r.contact = '' AND a.act IN ('stop', 'start') ORDER BY r.id DESC LIMIT 1`, address).Scan(&last).Error
	if err != nil {
		return fmt.Errorf("reading the stops of %s: %w", address, err)
	}
	if len(last) == 1 && last[0].Act == "stop" {
		*stop = last[0].On
	}
	return nil
}

// stops gives the contacts with a stop that share a number or address with
// one of cs; those written down by mistake keep theirs. It is asked before every try, so it goes by the indexes.
func stops(tx *gorm.DB, cs []models.Contact) (out []models.Contact, err error) {
	var mobiles, mails []string
	for _, c := range cs {
		if c.Mobile != "" {
			mobiles = append(mobiles, c.Mobile)
		}
		if c.Mail != "" {
			mails = append(mails, c.Mail)
		}
	}
	err = tx.Raw(`SELECT * FROM contacts_last WHERE sms_stop_on <> '' AND mobile <> '' AND mobile IN (SELECT value FROM json_each(?))
		UNION SELECT * FROM contacts_last WHERE mail_stop_on <> '' AND mail <> '' AND mail COLLATE NOCASE IN (SELECT value FROM json_each(?))
		ORDER BY contact`, jsonList(mobiles), jsonList(mails)).Scan(&out).Error
	return out, err
}

// undecided gives those of contacts who said what may be a refusal, where
// nobody has decided yet and they did not ask for messages since.
func undecided(tx *gorm.DB, cs []models.Contact) (map[string]bool, error) {
	open, err := list[string](tx.Raw(`SELECT DISTINCT r.contact FROM json_each(?) j JOIN replies r ON r.contact = j.value
		WHERE r.contact <> '' AND r.person = ? AND NOT EXISTS (SELECT 1 FROM reply_marks k WHERE k.reply = r.id)
			AND NOT EXISTS (SELECT 1 FROM replies s JOIN reply_acts a ON a.reply = s.id
				WHERE s.contact = r.contact AND s.contact <> '' AND s.id > r.id AND a.act IN ('start', 'stop'))`,
		jsonList(namesOf(cs, func(c models.Contact) string { return c.ID })), models.ReasonNoMore), "refusals that are not decided")
	out := make(map[string]bool, len(open))
	for _, id := range open {
		out[id] = true
	}
	return out, err
}
