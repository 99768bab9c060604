package store

import (
	"context"

	"gorm.io/gorm"

	"example.org/roundsman/models"
)

// CheckDefs gives the shop's own definitions of checks, retired ones too.
func (s *Store) CheckDefs(ctx context.Context) ([]models.CheckDef, error) {
	return list[models.CheckDef](s.read.WithContext(ctx).Table("check_defs_now").Order("def"), "reading what checks follow which work")
}

// OwedChecks gives the open checks of machines with their jobs, by machine and
// number; nil is every machine, and kind "" is both kinds. Bench checks are
// those of jobs that are not handed over; a job handed over with a reason
// leaves none open. An owner's check lapses when the machine has been at the
// shop again since and was handed over once more: nobody is asked about a
// repair that a later visit has seen.
func (s *Store) OwedChecks(ctx context.Context, machines []string, kind models.CheckKind) (out []models.OwedCheck, err error) {
	// Written out without the views, with the order of the joins fixed, and with
	// +l.state so that the machine's index is taken and not that of the state: a
	// round asks this for every batch of machines.
	from, args := "jobs j", []any{}
	if machines != nil {
		from, args = "json_each(?) m CROSS JOIN jobs j ON j.machine = m.value", append(args, jsonList(machines))
	}
	query := `SELECT c.* FROM ` + from + ` CROSS JOIN checks c ON c.job = j.job AND c.turn = j.turn
		WHERE j.state <> 'withdrawn' AND (c.kind = 'owner' OR j.state <> 'handed over') AND (c.kind = ? OR ? = '')
			AND NOT EXISTS (SELECT 1 FROM jobs n WHERE n.replaces = j.id)
			AND NOT EXISTS (SELECT 1 FROM checks n WHERE n.replaces = c.id)
			AND ifnull((SELECT a.result FROM check_answers_now a WHERE a.check_no = c.check_no
				ORDER BY a.answered_at DESC, a.id DESC LIMIT 1), 'none') IN ('none', iif(c.kind = 'bench', 'not ok', 'none'))
			AND NOT (c.kind = 'owner' AND c.from_on <> '' AND EXISTS (SELECT 1 FROM jobs l
				WHERE l.machine = j.machine AND +l.state = 'handed over' AND l.handed_on > c.from_on
					AND NOT EXISTS (SELECT 1 FROM jobs n WHERE n.replaces = l.id)))
			AND NOT (c.kind = 'owner' AND EXISTS (SELECT 1 FROM ` + withTaken(models.SortStanding) + ` s WHERE s.machine = j.machine
				AND s.withdrawn = '' AND s.state IN ('sold', 'gone', 'scrapped') AND s.on_day >= c.from_on AND (c.from_on <> '' OR NOT EXISTS (
					SELECT 1 FROM ` + withTaken(models.SortStanding) + ` b WHERE b.machine = s.machine AND b.withdrawn = '' AND b.state = 'in_use' AND b.id > s.id))))
		ORDER BY j.machine, CAST(c.check_no AS INTEGER), c.check_no`
	err = s.view(ctx, func(tx *gorm.DB) error {
		var checks []models.Check
		if err := tx.Raw(query, append(args, kind, kind)...).Scan(&checks).Error; err != nil {
			return err
		}
		out, err = owed(tx, checks)
		return err
	})
	return out, saying(err, "reading open checks")
}

// owed joins checks with their answers, jobs and machines.
func owed(tx *gorm.DB, checks []models.Check) ([]models.OwedCheck, error) {
	jobs, err := versionsOf[models.Job](tx, "jobs_now", "job", namesOf(checks, func(c models.Check) string { return c.Job }))
	if err != nil {
		return nil, err
	}
	machines, err := versionsOf[models.Machine](tx, "machines_now", "machine", namesOf(jobs, func(j models.Job) string { return j.Machine }))
	if err != nil {
		return nil, err
	}
	answers, err := list[models.CheckAnswer](tx.Table("check_answers_now").Where("check_no IN (SELECT value FROM json_each(?))", jsonList(namesOf(checks, func(c models.Check) string { return c.ID }))).
		Order("answered_at, id"), "reading answers to checks")
	if err != nil {
		return nil, err
	}
	said := map[string][]models.CheckAnswer{}
	for _, a := range answers {
		said[a.Check] = append(said[a.Check], a)
	}
	job := models.ByKey(jobs, func(j models.Job) string { return j.ID })
	machine := models.ByKey(machines, func(m models.Machine) string { return m.ID })
	out := make([]models.OwedCheck, len(checks))
	for i, c := range checks {
		j := job[c.Job]
		out[i] = models.OwedCheck{AskedCheck: models.AskedCheck{Check: c, Answers: said[c.ID]}, Job: j, Machine: machine[j.Machine]}
	}
	return out, nil
}

// Check gives a check by its number, with its job and machine. An unknown one
// gives models.CodeNotFound.
func (s *Store) Check(ctx context.Context, id string) (c models.OwedCheck, err error) {
	err = s.view(ctx, func(tx *gorm.DB) error {
		checks, err := versionsOf[models.Check](tx, "checks_now", "check_no", []string{id})
		if err != nil {
			return err
		}
		if len(checks) == 0 {
			return models.Errorf(models.CodeNotFound, "`roundsman check list` lists the open ones", "there is no check %s", id)
		}
		found, err := owed(tx, checks)
		if err == nil {
			c = found[0]
		}
		return err
	})
	return c, saying(err, "reading a check")
}
