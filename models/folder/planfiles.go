package folder

import (
	"errors"
	"fmt"
	"strings"

	"example.org/roundsman/models"
)

func sitesFile() *file[models.Site] {
	type T = models.Site
	return &file[T]{
		name: "sites.csv",
		columns: []column[T]{
			need("site", id("write the site as machines.csv names it, or an owner's id"), func(v *T) *string { return &v.ID }),
			col("name", text("write the site's name"), func(v *T) *string { return &v.Name }),
			opt("transport_cents", shownCents, func(v *T) *models.Number { return &v.TransportCents }),
			opt("retired", yes, func(v *T) *bool { return &v.Retired }),
		},
		rows:  func(f *models.FactSet) *[]T { return &f.Sites },
		same:  func(v T) T { return T{ID: v.ID} },
		clash: duplicate{"site", "is on line %d already, with other cells", remedyTwice},
	}
}

func baysFile() *file[models.Bay] {
	type T = models.Bay
	return &file[T]{
		name: "bays.csv",
		columns: []column[T]{
			need("bay", id("write the shop's own name of the bay"), func(v *T) *string { return &v.ID }),
			opt("name", text("write what people call it"), func(v *T) *string { return &v.Name }),
			opt("kinds", names("write the kinds of machine that it takes, parted by commas; nothing takes every kind"), func(v *T) *models.Names { return &v.Kinds }),
			opt("retired", yes, func(v *T) *bool { return &v.Retired }),
		},
		rows:  func(f *models.FactSet) *[]T { return &f.Bays },
		same:  func(v T) T { return T{ID: v.ID} },
		clash: duplicate{"bay", "is on line %d already, with other cells", remedyTwice},
	}
}

func techniciansFile() *file[models.Technician] {
	type T = models.Technician
	minutes := whole(0, 24*60)
	return &file[T]{
		name: "technicians.csv",
		columns: []column[T]{
			need("technician", id("write the shop's own short name of the person"), func(v *T) *string { return &v.ID }),
			opt("name", text("write the person's name"), func(v *T) *string { return &v.Name }),
			col("mon", minutes, func(v *T) *int { return &v.Mon }),
			col("tue", minutes, func(v *T) *int { return &v.Tue }),
			col("wed", minutes, func(v *T) *int { return &v.Wed }),
			col("thu", minutes, func(v *T) *int { return &v.Thu }),
			col("fri", minutes, func(v *T) *int { return &v.Fri }),
			opt("sat", minutes, func(v *T) *int { return &v.Sat }),
			opt("sun", minutes, func(v *T) *int { return &v.Sun }),
			opt("retired", yes, func(v *T) *bool { return &v.Retired }),
		},
		rows:  func(f *models.FactSet) *[]T { return &f.Technicians },
		same:  func(v T) T { return T{ID: v.ID} },
		clash: duplicate{"technician", "is on line %d already, with other cells", remedyTwice},
	}
}

func closuresFile() *file[models.Closure] {
	type T = models.Closure
	return &file[T]{
		name: "closures.csv",
		columns: []column[T]{
			opt("closure", id("write the closure's number, or nothing for a new one"), func(v *T) *string { return &v.ID }),
			need("sort", choice(models.ClosureSorts()...), func(v *T) *models.ClosureSort { return &v.Sort }),
			need("from", anyDay, func(v *T) *models.Date { return &v.From }),
			col("to", anyDay, func(v *T) *models.Date { return &v.To }),
			opt("site", id("write the site as machines.csv names it, or nothing for every site"), func(v *T) *string { return &v.Site }),
			opt("kind", id("write the kind as machines.csv names it, or nothing for every kind"), func(v *T) *string { return &v.Kind }),
			opt("max_out", whole(0, 100_000), func(v *T) *int { return &v.MaxOut }),
			opt("technician", id("write the person, as in technicians.csv"), func(v *T) *string { return &v.Technician }),
			opt("note", text("write why, for people"), func(v *T) *string { return &v.Note }),
			opt("retired", yes, func(v *T) *bool { return &v.Retired }),
		},
		rows: func(f *models.FactSet) *[]T { return &f.Closures },
		same: func(v T) T {
			if v.ID != "" {
				return T{ID: v.ID}
			}
			return v
		},
		clash: duplicate{"closure", "is on line %d already, with other cells", remedyTwice},
		check: checkClosure,
	}
}

func visitsFile() *file[models.Visit] {
	type T = models.Visit
	return &file[T]{
		name: "visits.csv",
		columns: []column[T]{
			need("visit", id("write the visit's number"), func(v *T) *string { return &v.ID }),
			need("uid", text("write the name under which calendars know it, as an export gives it"), func(v *T) *string { return &v.UID }),
			opt("sequence", whole(0, 1_000_000), func(v *T) *int { return &v.Sequence }),
			need("machine", id("write the machine's id, as in machines.csv"), func(v *T) *string { return &v.Machine }),
			need("state", choice(models.VisitStates()...), func(v *T) *models.VisitState { return &v.State }),
			need("on", anyDay, func(v *T) *models.Date { return &v.On }),
			col("until", anyDay, func(v *T) *models.Date { return &v.Until }),
			col("bay", id("write the bay"), func(v *T) *string { return &v.Bay }),
			need("items", names("write what is to be done, parted by commas"), func(v *T) *models.Names { return &v.Items }),
			opt("minutes", whole(0, 1_000_000), func(v *T) *int { return &v.Minutes }),
			opt("was_on", anyDay, func(v *T) *models.Date { return &v.WasOn }),
			opt("why", text("write why this day"), func(v *T) *string { return &v.Why }),
			opt("by_hand", yes, func(v *T) *bool { return &v.ByHand }),
		},
		rows:  func(f *models.FactSet) *[]T { return &f.Visits },
		same:  func(v T) T { return T{ID: v.ID} },
		clash: duplicate{"visit", "is on line %d already, with other cells", remedyTwice},
		check: checkVisit,
	}
}

// anyDay is a date that may be still to come.
var anyDay = codec[models.Date]{
	hint: day.hint,
	parse: func(in *pass, cell string) (models.Date, *problem) {
		d, err := models.ParseDate(cell)
		if err != nil {
			return 0, refuse("is not a date")
		}
		if now := in.opt.Now; !now.IsZero() {
			var far *models.Error
			if errors.As(d.CheckAhead(now), &far) {
				return 0, &problem{what: "lies too far ahead", remedy: far.Remedy}
			}
		}
		return d, nil
	},
	format: models.Date.String,
}

// names is a list of ids, parted by commas.
func names(hint string) codec[models.Names] {
	one := id(hint)
	return codec[models.Names]{
		hint: hint,
		parse: func(in *pass, cell string) (models.Names, *problem) {
			parts := strings.Split(cell, ",")
			for _, p := range parts {
				if _, bad := one.parse(in, strings.TrimSpace(p)); bad != nil {
					return "", bad
				}
			}
			list := models.JoinNames(parts)
			if list == "" {
				return "", refuse("names nothing")
			}
			return list, nil
		},
		format: func(n models.Names) string { return oneLine(string(n)) },
	}
}

// checkClosure completes the last day and refuses what does not go with the
// sort.
func checkClosure(_ *pass, r *line, v *models.Closure) {
	if v.To == 0 && r.clean("to", "from") {
		v.To = v.From
	}
	if v.To < v.From && r.clean("to", "from") {
		r.fault("to", "is before from", "write the last day of the closure")
	}
	if !r.clean("sort", "technician", "max_out") {
		return
	}
	away, limit := v.Sort == models.ClosureAway, v.Sort == models.ClosureLimit
	spared := limit || v.Sort == models.ClosureBlack
	switch {
	case away && v.Technician == "":
		r.fault("technician", "is empty, and somebody is away", "write who")
	case !away && v.Technician != "":
		r.fault("technician", "does not go with "+string(v.Sort), "empty the cell, or write the sort away")
	case !limit && v.MaxOut != 0:
		r.fault("max_out", "does not go with "+string(v.Sort), "empty the cell, or write the sort limit")
	case !spared && v.Site != "":
		r.fault("site", "does not go with "+string(v.Sort), "empty the cell, or write the sort blackout or limit")
	case !spared && v.Kind != "":
		r.fault("kind", "does not go with "+string(v.Sort), "empty the cell, or write the sort blackout or limit")
	}
}

// checkVisit completes the last day and refuses a machine that nobody knows.
func checkVisit(in *pass, r *line, v *models.Visit) {
	in.needMachine(r, v.Machine)
	if v.Until == 0 && r.clean("until", "on") {
		v.Until = v.On
	}
	if v.Until < v.On && r.clean("until", "on") {
		r.fault("until", "is before on", fmt.Sprintf("write %s or later", v.On))
	}
}
