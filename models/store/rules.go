package store

import (
	"context"
	"fmt"
	"strings"

	"example.org/roundsman/models"
)

// Rules gives the rules that hold now, retired ones left out, in the order of
// kind, make, model, machine and item.
func (s *Store) Rules(ctx context.Context) ([]models.Rule, error) {
	var rules []models.Rule
	err := s.read.WithContext(ctx).Table("rules_now").Where("retired = 0").
		Order("kind, make, model, machine, item").Find(&rules).Error
	if err != nil {
		return nil, fmt.Errorf("reading rules: %w", asModelError(err))
	}
	return rules, nil
}

// Teardowns gives the teardowns that hold now.
func (s *Store) Teardowns(ctx context.Context) ([]models.Teardown, error) {
	var ts []models.Teardown
	err := s.read.WithContext(ctx).Table("teardowns_now").Order("kind, teardown").Find(&ts).Error
	if err != nil {
		return nil, fmt.Errorf("reading teardowns: %w", asModelError(err))
	}
	return ts, nil
}

// HasRules says whether any rule was ever recorded.
func (s *Store) HasRules(ctx context.Context) (bool, error) {
	var n int64
	if err := s.read.WithContext(ctx).Raw("SELECT count(*) FROM (SELECT 1 FROM rules LIMIT 1)").Scan(&n).Error; err != nil {
		return false, fmt.Errorf("reading rules: %w", asModelError(err))
	}
	return n > 0, nil
}

// sameRule compares what two rules say. Where a rule came from is not part of
// it, except that a person's rule takes over the same shipped one.
func sameRule(a, b models.Rule) bool {
	if a.Origin == models.OriginShipped && b.Origin != models.OriginShipped {
		return false
	}
	a.Fact, a.Origin = b.Fact, b.Origin
	return a == b
}

func (w *factWriter) rules(vs []models.Rule) (err error) {
	if len(vs) == 0 {
		return nil
	}
	var now []models.Rule
	if err := w.tx.Table("rules_now").Find(&now).Error; err != nil {
		return fmt.Errorf("reading rules: %w", err)
	}
	latest := byKey(now, models.Rule.Key)
	retire := retireShipped(vs, now)
	w.done.RetiredRules = len(retire)
	all := append(append([]models.Rule(nil), vs...), retire...)
	var kinds []string
	c, err := putVersions(w, all, latest, models.Rule.Key,
		func(r *models.Rule) *models.Fact { return &r.Fact }, sameRule,
		func(_ *models.Rule, v models.Rule) {
			if v.Machine != "" {
				w.touched[v.Machine] = true
				return
			}
			kinds = append(kinds, v.Kind)
		})
	if err != nil {
		return fmt.Errorf("writing rules: %w", err)
	}
	c.Corrected -= len(retire)
	w.done.Rules = c
	return w.touchKinds(kinds)
}

// retireShipped gives retired versions of the shipped rules of the kinds that
// an items.csv names, but for those that it replaces by its own.
func retireShipped(vs, now []models.Rule) []models.Rule {
	kinds := map[string]bool{}
	keys := map[models.RuleKey]bool{}
	for _, v := range vs {
		keys[v.Key()] = true
		if v.Origin == models.OriginFolder && v.Kind != "" {
			kinds[strings.ToLower(v.Kind)] = true // as a machine finds its rules
		}
	}
	var out []models.Rule
	for _, r := range now {
		if r.Origin == models.OriginShipped && kinds[strings.ToLower(r.Kind)] && !r.Retired && !keys[r.Key()] {
			r.Retired = true
			r.Origin = models.OriginFolder
			out = append(out, r)
		}
	}
	return out
}

func (w *factWriter) teardowns(vs []models.Teardown) (err error) {
	if len(vs) == 0 {
		return nil
	}
	var now []models.Teardown
	if err := w.tx.Table("teardowns_now").Find(&now).Error; err != nil {
		return fmt.Errorf("reading teardowns: %w", err)
	}
	key := func(t models.Teardown) [2]string { return [2]string{t.Kind, t.ID} }
	w.done.Teardowns, err = putVersions(w, vs, byKey(now, key), key,
		func(t *models.Teardown) *models.Fact { return &t.Fact },
		func(a, b models.Teardown) bool { a.Fact = b.Fact; return a == b },
		func(*models.Teardown, models.Teardown) {})
	if err != nil {
		return fmt.Errorf("writing teardowns: %w", err)
	}
	return nil
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
