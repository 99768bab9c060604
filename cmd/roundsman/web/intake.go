package web

import (
	"example.org/roundsman/models/folder"
	"example.org/roundsman/scheduler"
)

// intakePage is the page on which a walk-in customer is taken in.
func (rq *request) intakePage(in scheduler.Intake) (deskPage, error) {
	f := rq.frame("Take in a machine")
	p := deskPage{frame: f, Heading: f.Title, Lead: f.T("A new customer or a known one: owner, person, machine and meters at once. Only the owner, the kind and the meters are needed.")}
	p.Path = "/intake"
	owners, err := rq.site.store.Owners(rq.ctx())
	if err != nil {
		return p, err
	}
	p.Owners = owners[:min(len(owners), mostOwners)]
	p.Forms = []deskForm{{Action: "/intake", Button: f.T("Take it in"), Sections: []formSection{
		f.ownerSection(in.Owner), f.contactSection(in.Contact), f.machineSection(in.Machine, false), f.readingSection(in.Reading, in.Machine["meters"]), f.complaintSection(in.Complaint)}, Brief: true}}
	return p, nil
}

func intake(rq *request) error {
	in := scheduler.Intake{}
	if id := rq.r.URL.Query().Get("owner"); id != "" {
		os, err := rq.site.store.OwnersOf(rq.ctx(), []string{id})
		if err != nil {
			return err
		}
		for _, o := range os {
			in.Owner = folder.OwnerCells(o)
		}
	}
	p, err := rq.intakePage(in)
	if err != nil {
		return err
	}
	return rq.render("desk", p)
}

func takeIn(rq *request) error {
	in := scheduler.Intake{Owner: rq.cells(scheduler.SectionOwner), Contact: rq.cells(scheduler.SectionContact),
		Machine: rq.cells(scheduler.SectionMachine), Reading: rq.cells(scheduler.SectionReading), Complaint: rq.value("complaint"), Sure: rq.value("sure") == "yes"}
	typed := in
	typed.Contact, typed.Machine = clone(in.Contact), clone(in.Machine)
	if in.Owner == nil {
		in.Owner = folder.Cells{}
	}
	if in.Machine == nil {
		in.Machine = folder.Cells{}
	}
	got, err := rq.site.registry.Add(rq.ctx(), rq.act(), in)
	if err != nil {
		p, perr := rq.intakePage(typed)
		if perr != nil {
			return perr
		}
		return rq.refused(err, p, 0)
	}
	if err := rq.did("took in a machine", got.Machine.ID, got.Owner.Name); err != nil {
		return err
	}
	if got.Job != "" {
		return rq.to("/jobs/"+escape(got.Job), "opened")
	}
	return rq.toMachine(got, "takenin")
}
