package store

import (
	"fmt"

	"example.org/roundsman/models"
)

// planFacts writes what visits are planned on, and visits as a folder names
// them.
func (w *factWriter) planFacts(set models.FactSet) (err error) {
	if w.done.Sites, err = putNamed(w, "sites_now", "site", set.Sites, func(v *models.Site) (*string, *models.Fact) { return &v.ID, &v.Fact }); err != nil {
		return err
	}
	if w.done.Bays, err = putNamed(w, "bays_now", "bay", set.Bays, func(v *models.Bay) (*string, *models.Fact) { return &v.ID, &v.Fact }); err != nil {
		return err
	}
	if w.done.Technicians, err = putNamed(w, "technicians_now", "technician", set.Technicians, func(v *models.Technician) (*string, *models.Fact) { return &v.ID, &v.Fact }); err != nil {
		return err
	}
	if err := w.numberClosures(set.Closures); err != nil {
		return err
	}
	if w.done.Closures, err = putNamed(w, "closures_now", "closure", set.Closures, func(v *models.Closure) (*string, *models.Fact) { return &v.ID, &v.Fact }); err != nil {
		return err
	}
	w.done.Visits, err = putNamed(w, "visits_now", "visit", set.Visits, func(v *models.Visit) (*string, *models.Fact) { return &v.ID, &v.Fact })
	return err
}

// putNamed writes versions of things that have one id.
func putNamed[T comparable](w *factWriter, view, column string, vs []T, parts func(*T) (*string, *models.Fact)) (models.Counts, error) {
	if len(vs) == 0 {
		return models.Counts{}, nil
	}
	key := func(v T) string { id, _ := parts(&v); return *id }
	now, err := versionsOf[T](w.tx, view, column, namesOf(vs, key))
	if err != nil {
		return models.Counts{}, err
	}
	head := func(v *T) *models.Fact { _, f := parts(v); return f }
	c, err := putVersions(w, vs, byKey(now, key), key, head,
		func(a, b T) bool { *head(&a) = *head(&b); return a == b },
		func(*T, T) {})
	return c, saying(err, "writing %s", view)
}

// numberClosures gives closures without a number that of the same closure that
// is recorded, else the next.
func (w *factWriter) numberClosures(vs []models.Closure) error {
	if len(vs) == 0 {
		return nil
	}
	now, err := list[models.Closure](w.tx.Table("closures_now"), "reading closures")
	if err != nil {
		return err
	}
	same := make(map[models.Closure]string, len(now))
	for _, c := range now {
		same[bare(c)] = c.ID
	}
	var next int
	err = w.tx.Raw("SELECT ifnull(max(CAST(closure AS INTEGER)), 0) FROM closures WHERE closure NOT GLOB '*[^0-9]*'").Scan(&next).Error
	if err != nil {
		return fmt.Errorf("numbering closures: %w", err)
	}
	for i, c := range vs {
		if c.ID != "" {
			continue
		}
		id, known := same[bare(c)]
		if !known {
			next++
			id = fmt.Sprint(next)
			same[bare(c)] = id
		}
		vs[i].ID = id
	}
	return nil
}

// bare gives a closure without its number and head.
func bare(c models.Closure) models.Closure {
	c.ID, c.Fact = "", models.Fact{}
	return c
}
