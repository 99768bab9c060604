package web

import (
	"context"

	"example.org/roundsman/models"
	"example.org/roundsman/models/phone"
	"example.org/roundsman/scheduler/sheet"
)

// scope are the machines as one viewer may see them. Every page reads
// machines, and what hangs on them, through the scope of its viewer: this is
// the one place that keeps an owner's machines from everybody else's managers
// and links.
type scope struct {
	store   Store
	country string // whose telephone numbers are written without a code
	owner   string // only this owner's machines; "" is every owner's
}

// errNotThere is the same for what is not there and for what is not the
// viewer's to see, so that guessing tells nothing.
var errNotThere = models.Errorf(models.CodeNotFound, "", "no such machine")

// machine gives a machine by its id.
func (b scope) machine(ctx context.Context, id string) (models.Machine, error) {
	ms, err := b.store.MachinesOf(ctx, []string{id})
	if err != nil {
		return models.Machine{}, err
	}
	if len(ms) != 1 || !b.sees(ms[0]) {
		return models.Machine{}, errNotThere
	}
	return ms[0], nil
}

// sees says whether the viewer may see a machine.
func (b scope) sees(m models.Machine) bool { return b.owner == "" || m.Owner == b.owner }

// page gives one page of the machines that the viewer may see. Who looks for a
// telephone number finds it however it is written.
func (b scope) page(ctx context.Context, f models.FleetFilter) (models.FleetPage, error) {
	if b.owner != "" {
		f.Owner = b.owner
	}
	if number, err := phone.Parse(f.Find, b.country); err == nil {
		f.Mobile = number
	}
	return b.store.Fleet(ctx, f)
}

// sheet gives the sheet of a machine.
func (b scope) sheet(ctx context.Context, m models.Machine, language string) (sheet.Sheet, error) {
	if !b.sees(m) {
		return sheet.Sheet{}, errNotThere
	}
	return b.store.Sheet(ctx, m.ID, language)
}

// job gives a job with its machine.
func (b scope) job(ctx context.Context, id string) (models.WholeJob, models.Machine, error) {
	w, err := b.store.Job(ctx, id)
	if err != nil {
		return models.WholeJob{}, models.Machine{}, err
	}
	m, err := b.machine(ctx, w.Job.Machine)
	if err != nil {
		return models.WholeJob{}, models.Machine{}, err
	}
	return w, m, nil
}
