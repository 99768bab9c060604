package store

import (
	"fmt"

	"example.org/roundsman/models"
)

// planFacts writes what visits are planned on, and visits as a folder names
// them.
func (w *factWriter) planFacts(set models.FactSet) error {
	for _, step := range []func() error{
		func() error {
			return put(w, &w.done.Sites, set.Sites, "site", func(v models.Site) (string, any) { return v.ID, nil },
				alike[models.Site], nil)
		},
		func() error {
			return put(w, &w.done.Bays, set.Bays, "bay", func(v models.Bay) (string, any) { return v.ID, nil },
				alike[models.Bay], nil)
		},
		func() error {
			return put(w, &w.done.Technicians, set.Technicians, "technician", func(v models.Technician) (string, any) { return v.ID, nil },
				alike[models.Technician], nil)
		},
		func() error { return w.numberClosures(set.Closures) },
		func() error {
			return put(w, &w.done.Closures, set.Closures, "closure", func(v models.Closure) (string, any) { return v.ID, nil },
				alike[models.Closure], nil)
		},
		func() error {
			return put(w, &w.done.Visits, set.Visits, "visit", func(v models.Visit) (string, any) { return v.ID, nil },
				alike[models.Visit], nil)
		},
	} {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
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
