package scheduler

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"example.org/roundsman/models"
	"example.org/roundsman/models/folder"
	"example.org/roundsman/scheduler/job"
)

// RegistryStore is what making and changing owners, contacts and machines needs
// of a store.
type RegistryStore interface {
	ReadingStore
	Owners(ctx context.Context) ([]models.Owner, error)
	Contacts(ctx context.Context) ([]models.Contact, error)
	Machines(ctx context.Context) ([]models.Machine, error)
	Rules(ctx context.Context) ([]models.Rule, error)
	Standings(ctx context.Context) (map[string]models.MachineStanding, error)
	// RecordWithJob writes facts and opens a job on one of their machines, all
	// of it or nothing; nil: no job.
	RecordWithJob(ctx context.Context, set models.FactSet, job *models.JobChange, by models.Entry) (models.Recorded, string, error)
	TakeBack(ctx context.Context, sort models.FactSort, id string, why models.Retracted, by models.Entry) ([]models.Contact, error)
}

// Registry makes and changes owners, contacts and machines, whatever face it is
// asked by. Values come as the cells of the import folder's files and are
// judged as an import judges them, so that a form takes what a file takes.
type Registry struct {
	Store   RegistryStore
	Zone    *time.Location // the shop's
	Country string         // whose telephone numbers need no country code
	Metric  bool           // an odometer of which nothing is said shows kilometers
}

// The sections of an Intake, as its faults name them (models.Fault.File).
const (
	SectionOwner   = "owner"
	SectionContact = "contact"
	SectionMachine = "machine"
	SectionReading = "reading"
)

// cellAgrees is a cell of the contact besides those of contacts.csv: the
// channels ("mail", "sms" or both) that the person agrees to today.
const cellAgrees = "agrees"

// maxNewID bounds the ids that are made of names, in characters.
const maxNewID = 40

// Intake is what a desk writes down at once: any of an owner, a contact, a
// machine and what its meters show today ("miles", "hours", as typed; "about
// 1500" is a guess); nil is none. Ids that are left out are made; contact and
// machine without an owner get that of the intake. What may be right and is
// probably not comes back as models.CodeDoubtful, unless somebody is sure.
// A machine that is taken in with a complaint, in its owner's own words, has a
// job opened for it.
type Intake struct {
	Owner, Contact, Machine, Reading folder.Cells
	Complaint                        string
	Sure                             bool // it is right, however it looks
}

// TakenIn is what an intake made or changed.
type TakenIn struct {
	Owner      models.Owner
	Contact    models.Contact
	Machine    models.Machine
	KnownOwner bool          // the owner was there already
	Notes      models.Faults // what was taken and is perhaps not meant
	Changed    bool          // anything was written
	Job        string        // that was opened for the complaint; "": none
}

// Add takes in what is new, whole or not at all. An owner whose id or name is
// that of a known one is that one. What cannot be taken comes as models.Faults,
// each with its section and column.
func (r *Registry) Add(ctx context.Context, a Act, in Intake) (TakenIn, error) {
	k, err := r.known(ctx)
	if err != nil {
		return TakenIn{}, err
	}
	if o, there := k.owner(in.Owner); there {
		in.Owner = folder.OwnerCells(o)
		k.kept = true
	}
	k.makeIDs(&in)
	k.refuseTaken(in)
	k.adding = true
	return r.record(ctx, a, k, in)
}

// Change writes the given cells over those of a known owner, contact and
// machine, each named by the id in its cells; an empty cell clears.
func (r *Registry) Change(ctx context.Context, a Act, in Intake) (TakenIn, error) {
	k, err := r.known(ctx)
	if err != nil {
		return TakenIn{}, err
	}
	for _, s := range []struct {
		cells *folder.Cells
		id    string
		now   func(id string) (folder.Cells, bool)
	}{
		{&in.Owner, "owner", func(id string) (folder.Cells, bool) { v, ok := k.owners[id]; return folder.OwnerCells(v), ok }},
		{&in.Contact, "contact", func(id string) (folder.Cells, bool) { v, ok := k.contacts[id]; return folder.ContactCells(v), ok }},
		{&in.Machine, "machine", func(id string) (folder.Cells, bool) { v, ok := k.machines[id]; return folder.MachineCells(v), ok }},
	} {
		if *s.cells == nil {
			continue
		}
		id := (*s.cells)[s.id]
		now, there := s.now(id)
		if !there {
			return TakenIn{}, models.Errorf(models.CodeNotFound, models.Meant(id, k.ids(s.id), fmt.Sprintf("`roundsman %s list` lists them", s.id)), "there is no %s %q", s.id, id)
		}
		for name, cell := range *s.cells {
			if name == "books_since" && cell == "" && now[name] != "" { // there is no machine without one
				k.refuse(SectionMachine, name, "", "is empty", "write the first day from which your record of the machine is whole; today begins it anew")
			}
			now[name] = cell
		}
		*s.cells = now
	}
	return r.record(ctx, a, k, in)
}

// TakeBack takes back an owner, a contact or a machine (models.SortOwner ...)
// that was written down by mistake, and gives the contacts that went with an
// owner. One on which more hangs is models.CodeConflict.
func (r *Registry) TakeBack(ctx context.Context, a Act, sort models.FactSort, id, why string) ([]models.Contact, error) {
	if why = strings.TrimSpace(why); why == "" {
		return nil, models.Errorf(models.CodeInvalid, "write why in a few words", "nothing says why it is taken back")
	}
	return r.Store.TakeBack(ctx, sort, id, models.Retracted{Why: why, By: a.By}, a.entry(why))
}

// record reads the cells and stores what they say in one transaction.
func (r *Registry) record(ctx context.Context, a Act, k *registered, in Intake) (TakenIn, error) {
	today := models.DateOf(a.At.In(r.Zone))
	rules, err := r.Store.Rules(ctx) // without one for its kind nothing falls due on a machine
	if err != nil {
		return TakenIn{}, err
	}
	rows := r.rows(k, in, today)
	stored := folder.Stored{Owners: k.owners, Contacts: k.contacts, Machines: k.machines, Rules: models.ByKey(rules, models.Rule.Key)}
	if stored.Standings, err = r.Store.Standings(ctx); err != nil {
		return TakenIn{}, err
	}
	set, report := folder.ReadRows(ctx, rows, folder.Options{Now: today, Country: r.Country, Stored: stored})
	for i := range report.Faults {
		report.Faults[i] = asTyped(report.Faults[i])
	}
	if known, is := k.samePerson(set.Contacts, in); is {
		in.Contact = known
		return r.record(ctx, a, k, in)
	}
	var notes models.Faults
	for _, w := range report.Warnings {
		switch w = asTyped(w); {
		case !w.Asks:
			notes = append(notes, w)
		case !in.Sure:
			k.faults = append(k.faults, w)
		}
	}
	k.faults = append(k.faults, report.Faults...)
	for _, c := range set.Contacts {
		k.needOwner(SectionContact, c.Owner, set.Owners)
		k.needConsent(c)
		k.refuseTwin(c)
	}
	for _, m := range set.Machines {
		k.needOwner(SectionMachine, m.Owner, set.Owners)
		if err := r.mayHaveStarted(ctx, k, m); err != nil {
			return TakenIn{}, err
		}
	}
	if !in.Sure && len(k.faults) == 0 {
		late, err := (&Readings{Store: r.Store}).NewlyLate(ctx, set.Machines, k.machines, rules, today)
		if err != nil {
			return TakenIn{}, err
		}
		for _, m := range set.Machines {
			if f, is := late[m.ID]; is {
				k.faults = append(k.faults, asTyped(f))
			}
		}
	}
	if len(k.faults) == 0 { // cells of nothing but blanks are no row
		if in.Machine != nil && len(set.Machines) == 0 {
			k.refuse(SectionMachine, "kind", in.Machine["kind"], "is empty", "choose what kind of machine it is")
		}
		if in.Owner != nil && len(set.Owners) == 0 {
			k.refuse(SectionOwner, "name", in.Owner["name"], "is empty", "write the owner's name")
		}
	}
	k.needMeters(in.Reading, models.Meters(in.Machine["meters"]).Metric())
	if err := k.faults.Err(); err != nil {
		return TakenIn{}, err
	}
	for _, m := range set.Machines {
		rs, err := (&Readings{Store: r.Store}).Check(ctx, MeterEntry{TypedMeters: TypedMeters{Miles: in.Reading["miles"], Hours: in.Reading["hours"], Sure: in.Sure},
			Machine: m, On: today, Today: today, Source: models.SourceShop})
		if err != nil {
			return TakenIn{}, err
		}
		set.Readings = append(set.Readings, rs...)
	}
	set.ByHand = true
	var opens *models.JobChange
	if len(set.Machines) > 0 && in.Complaint != "" {
		c, err := job.Open(job.Opening{Machine: set.Machines[0], On: today, By: a.By, Complaint: in.Complaint})
		if err != nil {
			return TakenIn{}, err
		}
		opens = &c
	}
	out := TakenIn{KnownOwner: k.kept, Notes: notes}
	done, opened, err := r.Store.RecordWithJob(ctx, set, opens, a.entry(""))
	if err != nil {
		return TakenIn{}, err
	}
	out.Changed, out.Job = done.Changed(), opened
	for _, v := range set.Owners {
		out.Owner = v
	}
	for _, v := range set.Contacts {
		out.Contact = v
	}
	for _, v := range set.Machines {
		out.Machine = v
	}
	return out, nil
}

// mayHaveStarted refuses a new start of a meter that is more than the meter
// showed later: it would leave out what was read since.
func (r *Registry) mayHaveStarted(ctx context.Context, k *registered, m models.Machine) error {
	now, there := k.machines[m.ID]
	if !there || m.MilesStart == now.MilesStart && m.HoursStart == now.HoursStart {
		return nil
	}
	hs, err := r.Store.Histories(ctx, []string{m.ID}, models.Window{})
	if err != nil || len(hs) == 0 {
		return err
	}
	h := hs[0]
	for _, meter := range []models.Meter{models.Odometer, models.HourMeter} {
		start := m.Start(meter)
		if !start.Known || start == now.Start(meter) {
			continue
		}
		i := slices.IndexFunc(h.Readings, func(v models.Reading) bool {
			swapped := slices.ContainsFunc(h.Swaps, func(s models.Swap) bool { return s.Meter == meter && s.At <= v.At })
			return !swapped && v.Value(meter).Known && v.Value(meter).F < start.F
		})
		if i >= 0 {
			v := h.Readings[i]
			k.refuse(SectionMachine, string(meter)+"_start", start.String(), fmt.Sprintf("is more than the %s read on %s", v.Value(meter), v.At),
				"write what the meter showed when the machine came; a reading that is wrong is taken back first")
		}
	}
	return nil
}

// needMeters refuses what cannot be read as what a meter shows.
func (k *registered) needMeters(cells folder.Cells, metric bool) {
	for _, meter := range []models.Meter{models.Odometer, models.HourMeter} {
		if _, err := models.ParseMeterValue(cells[string(meter)], meter, metric); err != nil {
			k.refuse(SectionReading, string(meter), cells[string(meter)], err.Error(), `write what the meter shows, such as 6120.4, or "about 6100" for a guess`)
		}
	}
}

// rows gives the sections as rows of the folder's files.
func (r *Registry) rows(k *registered, in Intake, today models.Date) map[string][]folder.Cells {
	rows := map[string][]folder.Cells{}
	put := func(file string, cells folder.Cells) {
		if cells != nil {
			rows[file] = []folder.Cells{cells}
		}
	}
	put("owners.csv", in.Owner)
	put("contacts.csv", agreed(in.Contact, today))
	if in.Machine != nil && in.Machine["meters"] == "" {
		in.Machine["meters"] = string(r.metersOf(in.Reading))
	}
	put("machines.csv", in.Machine)
	return rows
}

// metersOf gives the meters of a machine of which only readings are told.
func (r *Registry) metersOf(reading folder.Cells) models.Meters {
	both, odometer := models.MetersBoth, models.MetersMiles
	if r.Metric {
		both, odometer = models.MetersBothKM, models.MetersKM
	}
	switch miles, hours := reading["miles"] != "", reading["hours"] != ""; {
	case miles && hours:
		return both
	case miles:
		return odometer
	case hours:
		return models.MetersHours
	}
	return ""
}

// agreed gives a contact's cells with today as the day of the consents that
// are given now.
func agreed(cells folder.Cells, today models.Date) folder.Cells {
	for _, ch := range strings.FieldsFunc(cells[cellAgrees], func(c rune) bool { return c == ',' || c == ' ' }) {
		if column := ch + "_consent_on"; cells[column] == "" {
			cells[column] = today.String()
		}
	}
	delete(cells, cellAgrees)
	return cells
}

// asTyped gives a fault of a file as one of the section that stands for it.
func asTyped(f models.Fault) models.Fault {
	section, _ := strings.CutSuffix(f.File, "s.csv")
	f.File, f.Line, f.Column = section, 0, 0
	return f
}
