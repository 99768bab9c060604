package store

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"

	"gorm.io/gorm"

	"example.org/roundsman/models"
)

// jsonList gives a list as the JSON that json_each reads: one variable, however
// long the list.
func jsonList[T any](list []T) string {
	b, err := json.Marshal(list)
	if err != nil { // strings and numbers always marshal
		return "[]"
	}
	return string(b)
}

// touchOwners marks all machines of owners, whose contacts or names changed.
func (w *factWriter) touchOwners(owners []string) error {
	return w.touchWhere("owner IN (SELECT value FROM json_each(?))", owners)
}

// touchKinds marks all machines of kinds, whose rules changed, by whatever
// word the shop calls them. "" is every kind.
func (w *factWriter) touchKinds(kinds []string) error {
	if len(kinds) == 0 {
		return nil
	}
	ids := map[string]bool{}
	for _, k := range kinds {
		ids[models.KindID(k)] = true
	}
	var words []string
	if err := w.tx.Table("machines_now").Distinct("kind").Pluck("kind", &words).Error; err != nil {
		return fmt.Errorf("finding the machines concerned: %w", err)
	}
	words = slices.DeleteFunc(words, func(word string) bool { return !ids[""] && !ids[models.KindID(word)] })
	return w.touchWhere("kind IN (SELECT value FROM json_each(?))", words)
}

func (w *factWriter) touchWhere(where string, list []string) error {
	if len(list) == 0 {
		return nil
	}
	var ids []string
	err := w.tx.Table("machines_now").Where(where, jsonList(list)).Pluck("machine", &ids).Error
	if err != nil {
		return fmt.Errorf("finding the machines concerned: %w", err)
	}
	for _, id := range ids {
		w.touched[id] = true
	}
	return nil
}

// touch marks the machines with new facts to be looked at by the next round.
func (w *factWriter) touch() error {
	ids := slices.Sorted(maps.Keys(w.touched))
	if len(ids) > 0 { // none that was taken back
		if err := w.tx.Table("machines_now").Where("machine IN (SELECT value FROM json_each(?))", jsonList(ids)).Order("machine").Pluck("machine", &ids).Error; err != nil {
			return fmt.Errorf("finding the machines concerned: %w", err)
		}
	}
	w.done.MachinesTouched = len(ids)
	return touchMachines(w.tx, ids, w.entry)
}

// touchMachines marks machines to be looked at by the next round.
func touchMachines(tx *gorm.DB, ids []string, entry int64) error {
	if len(ids) == 0 {
		return nil
	}
	err := tx.Exec(`INSERT INTO machine_states (machine, next_look, touched, profile, waits)
		SELECT value, '', ?, 0, 0 FROM json_each(?) WHERE true
		ON CONFLICT (machine) DO UPDATE SET next_look = '', touched = excluded.touched`,
		entry, jsonList(ids)).Error
	if err != nil {
		return fmt.Errorf("marking machines for the next round: %w", err)
	}
	return touchFleet(tx, jsonList(ids))
}
