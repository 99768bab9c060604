package store

import (
	"context"
	"fmt"
	"slices"

	"example.org/roundsman/models"
)

// Rules gives the rules that hold now, in the order of kind, make, model,
// machine and item.
func (s *Store) Rules(ctx context.Context) ([]models.Rule, error) {
	rules, err := s.EveryRule(ctx)
	return slices.DeleteFunc(rules, func(r models.Rule) bool { return r.Retired }), err
}

// EveryRule gives the rules that hold now and those that were retired, in the
// order of kind, make, model, machine and item.
func (s *Store) EveryRule(ctx context.Context) ([]models.Rule, error) {
	return list[models.Rule](s.read.WithContext(ctx).Table("rules_now").Order("kind, make, model, machine, item"), "reading rules")
}

// Teardowns gives the teardowns that hold now.
func (s *Store) Teardowns(ctx context.Context) ([]models.Teardown, error) {
	return list[models.Teardown](s.read.WithContext(ctx).Table("teardowns_now").Order("kind, teardown"), "reading teardowns")
}

// sameRule compares what two rules say. Where a rule came from is not part of
// it, nor is a note that the newer one, b, leaves out; a retired one says no
// more than that.
func sameRule(a, b models.Rule) bool {
	a.Fact, a.Origin = b.Fact, b.Origin
	if b.Note == "" {
		a.Note = ""
	}
	return a == b || a.Retired && b.Retired
}

// rules writes rules. One that is retired keeps the figures it had, so that
// people see what was taken away.
func (w *factWriter) rules(vs []models.Rule) (err error) {
	if len(vs) == 0 {
		return nil
	}
	now, err := list[models.Rule](w.tx.Table("rules_now"), "reading rules")
	if err != nil {
		return err
	}
	latest := models.ByKey(now, models.Rule.Key)
	vs = slices.Clone(vs)
	for i, v := range vs {
		old, known := latest[v.Key()]
		figures := v
		figures.Since = old.Since
		same := sameRule(old, figures)
		switch {
		case v.Since != 0 && v.Since != old.Since: // as it stood in another shop's book
		case same:
			vs[i].Since = old.Since
		default:
			vs[i].Since = w.today
		}
		switch {
		case !known:
		case v.Retired:
			vs[i], vs[i].Retired = old, true
		case same:
			vs[i].Origin = old.Origin
		case old.Origin == models.OriginShipped && old.Note == v.Note:
			vs[i].Note = "" // it spoke of other figures
		}
	}
	var kinds []string
	w.done.Rules, err = putVersions(w, vs, latest, models.Rule.Key,
		sameRule,
		func(old *models.Rule, v models.Rule) {
			if v.Retired && old != nil {
				w.done.Retired = append(w.done.Retired, v)
			}
			if v.Machine != "" {
				w.touched[v.Machine] = true
				return
			}
			kinds = append(kinds, v.Kind)
		})
	if err != nil {
		return fmt.Errorf("writing rules: %w", err)
	}
	return w.touchKinds(kinds)
}

// LastNote gives the note of the newest entry made by a way, "" for none.
func (s *Store) LastNote(ctx context.Context, means string) (string, error) {
	var notes []string
	err := s.read.WithContext(ctx).Table("entries").Where("means = ?", means).
		Order("id DESC").Limit(1).Pluck("note", &notes).Error
	if err != nil {
		return "", fmt.Errorf("reading the last entry by %s: %w", means, asModelError(err))
	}
	if len(notes) == 0 {
		return "", nil
	}
	return notes[0], nil
}
