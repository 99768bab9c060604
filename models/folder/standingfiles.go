package folder

import "example.org/roundsman/models"

func standingsFile() *file[models.MachineStanding] {
	type T = models.MachineStanding
	return &file[T]{
		name: "standings.csv",
		columns: append([]column[T]{
			need("machine", id("write the machine's id, as in machines.csv"), func(v *T) *string { return &v.Machine }),
			need("on", day, func(v *T) *models.Date { return &v.On }),
			need("state", choice(models.StandingStates()...), func(v *T) *models.StandingState { return &v.State }),
			opt("until", anyDay, func(v *T) *models.Date { return &v.Until }),
			opt("new_owner", id("write the id of the owner to whom it was sold, or nothing"), func(v *T) *string { return &v.NewOwner }),
			opt("by", text("write who said so"), func(v *T) *string { return &v.By }),
			opt("note", text("write why, for people"), func(v *T) *string { return &v.Note }),
		}, takenBack(func(v *T) *models.Withdrawn { return &v.Withdrawn })...),
		rows:    func(f *models.FactSet) *[]T { return &f.Standings },
		check:   checkStanding,
		ordered: 2, // of several on a day the last one holds
	}
}

// checkStanding refuses what does not go with the state.
func checkStanding(in *pass, r *line, v *models.MachineStanding) {
	in.needMachine(r, v.Machine)
	if !r.clean("state", "until", "new_owner", "on") {
		return
	}
	laidUp := v.State == models.StandsLaidUp
	switch {
	case laidUp && v.Until <= v.On:
		r.fault("until", "is not after on", "write the day on which the machine is in use again")
	case !laidUp && v.Until != 0:
		r.fault("until", "does not go with "+string(v.State), "empty the cell, or write the state laid_up")
	case v.State != models.StandsSold && v.NewOwner != "":
		r.fault("new_owner", "does not go with "+string(v.State), "empty the cell, or write the state sold")
	case v.NewOwner != "":
		in.needOwner(r, "new_owner", v.NewOwner)
	}
}

func baselinesFile() *file[models.Baseline] {
	type T = models.Baseline
	return &file[T]{
		name: "baselines.csv",
		columns: append([]column[T]{
			need("machine", id("write the machine's id, as in machines.csv"), func(v *T) *string { return &v.Machine }),
			need("item", itemID("write the item, as in items.csv"), func(v *T) *string { return &v.Item }),
			need("on", day, func(v *T) *models.Date { return &v.On }),
			need("state", choice(models.BaselineDone, models.BaselineFine, models.BaselineUnknown), func(v *T) *models.BaselineState { return &v.State }),
			opt("done_on", day, func(v *T) *models.Date { return &v.DoneOn }),
			opt("done_within", whole(0, 36500), func(v *T) *int { return &v.DoneWithin }),
			opt("miles", meterCell, func(v *T) *models.Number { return &v.Miles }),
			opt("hours", meterCell, func(v *T) *models.Number { return &v.Hours }),
			opt("by", text("write who said so"), func(v *T) *string { return &v.By }),
		}, takenBack(func(v *T) *models.Withdrawn { return &v.Withdrawn })...),
		rows: func(f *models.FactSet) *[]T { return &f.Baselines },
		same: func(v T) T {
			if v.Withdrawn.Why != "" {
				return v
			}
			return T{Machine: v.Machine, Item: v.Item}
		},
		clash: duplicate{"item", "is on line %d already for the same machine, with other cells", remedyTwice},
		check: checkBaseline,
	}
}

// checkBaseline refuses a baseline that says nothing or too much.
func checkBaseline(in *pass, r *line, v *models.Baseline) {
	in.meterValues(r, v.Machine, &v.Miles, &v.Hours) // how far they may be off is not kept: all of it is a guess
	if !r.clean("state", "done_on", "miles", "hours", "done_within") {
		return
	}
	says := v.DoneOn != 0 || v.Miles.Known || v.Hours.Known
	switch done := v.State == models.BaselineDone; {
	case done && !says:
		r.fault("done_on", "is empty, and there is no meter value either", "write about when it was done, or about what the meter showed")
	case !done && says:
		r.fault("state", "does not go with a day or a meter value", "write done, or empty those cells")
	}
}

func releasesFile() *file[models.Release] {
	type T = models.Release
	return &file[T]{
		name: "releases.csv",
		columns: append([]column[T]{
			col("machine", id("write the machine's id, as in machines.csv, or nothing for the shop as a whole"), func(v *T) *string { return &v.Machine }),
			need("state", choice(models.Released, models.HeldBack), func(v *T) *models.ReleaseState { return &v.State }),
			opt("by", text("write who said so"), func(v *T) *string { return &v.By }),
			opt("note", text("write why, for people"), func(v *T) *string { return &v.Note }),
		}, takenBack(func(v *T) *models.Withdrawn { return &v.Withdrawn })...),
		rows: func(f *models.FactSet) *[]T { return &f.Releases },
		same: func(v T) T {
			if v.Withdrawn.Why != "" {
				return v
			}
			return T{Machine: v.Machine}
		},
		clash: duplicate{"machine", "is on line %d already, with another state", remedyTwice},
		check: func(in *pass, r *line, v *models.Release) { in.needMachine(r, v.Machine) },
	}
}
