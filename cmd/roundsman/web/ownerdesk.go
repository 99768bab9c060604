package web

import (
	"errors"
	"slices"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/models/folder"
	"example.org/roundsman/scheduler"
)

// ownerDeskPage shows an owner with its people and machines, each to be
// corrected. The forms are the owner's, one for each contact, and that of a new
// one; contact gives what was typed into the form of one.
func (rq *request) ownerDeskPage(id string) (deskPage, []models.Contact, error) {
	os, err := rq.site.store.OwnersOf(rq.ctx(), []string{id})
	if err != nil || len(os) != 1 {
		return deskPage{}, nil, errors.Join(err, errNoPage)
	}
	cs, err := rq.site.store.ContactsOf(rq.ctx(), []string{id})
	if err != nil {
		return deskPage{}, nil, err
	}
	ms, err := rq.site.store.Machines(rq.ctx())
	if err != nil {
		return deskPage{}, nil, err
	}
	f := rq.frame("Owner")
	p := deskPage{frame: f, Heading: os[0].Name}
	p.Title, p.Path = os[0].Name, "/owners/"+escape(id)
	for _, m := range ms {
		if m.Owner == id {
			p.Machines = append(p.Machines, m)
		}
	}
	if len(cs) == 0 {
		p.Lead = f.T("Nobody is told about these machines: there is no person here.")
	}
	p.Forms = append(p.Forms, deskForm{Action: p.Path, Button: f.T("Correct the owner"), Sections: []formSection{f.ownerSection(folder.OwnerCells(os[0]))}})
	for _, c := range cs {
		cells := folder.ContactCells(c)
		cells["mobile"] = f.Number(c.Mobile)
		p.Forms = append(p.Forms, deskForm{Heading: c.Name, Action: p.Path + "/contacts", Hidden: c.ID, Note: f.consents(c), Button: f.T("Correct the person"), Sections: []formSection{f.contactSection(cells)}})
	}
	p.Forms = append(p.Forms, deskForm{Heading: f.T("A new person"), Action: p.Path + "/contacts", Button: f.T("Write down the person"), Sections: []formSection{f.contactSection(nil)}})
	for _, c := range cs {
		p.Forms = append(p.Forms, f.stopForm(c, ""))
	}
	for _, c := range cs {
		p.Forms = append(p.Forms, f.mistakeForm(c.Name, p.Path, c.ID))
	}
	if len(p.Machines) == 0 {
		p.Forms = append(p.Forms, f.mistakeForm(os[0].Name, p.Path, ""))
	}
	return p, cs, nil
}

func ownerDesk(rq *request) error {
	p, _, err := rq.ownerDeskPage(rq.r.PathValue("owner"))
	if err != nil {
		return err
	}
	return rq.render("desk", p)
}

func changeOwner(rq *request) error {
	id := rq.r.PathValue("owner")
	p, _, err := rq.ownerDeskPage(id)
	if err != nil {
		return err
	}
	cells := rq.allCells(scheduler.SectionOwner)
	p.Forms[0].Sections[0] = p.ownerSection(cells)
	cells["owner"] = id
	if _, err = rq.site.registry.Change(rq.ctx(), rq.act(), scheduler.Intake{Owner: cells}); err != nil {
		return rq.refused(err, p, 0)
	}
	if err := rq.did("corrected an owner", id, ""); err != nil {
		return err
	}
	return rq.to(p.Path, "line")
}

// allCells reads a section of the form, also where all of it is empty.
func (rq *request) allCells(section string) folder.Cells {
	cells := folder.Cells{}
	for name, values := range rq.r.PostForm {
		if column, ok := strings.CutPrefix(name, section+"."); ok {
			cells[column] = strings.Join(values, ",")
		}
	}
	return cells
}

func changeContact(rq *request) error {
	owner, id := rq.r.PathValue("owner"), rq.value("contact")
	p, cs, err := rq.ownerDeskPage(owner)
	if err != nil {
		return err
	}
	form, do := len(cs)+1, rq.site.registry.Add
	cells := rq.allCells(scheduler.SectionContact)
	for i, c := range cs {
		if c.ID == id {
			form, do, cells["contact"] = i+1, rq.site.registry.Change, id
		}
	}
	if id != "" && cells["contact"] == "" {
		return errNoPage
	}
	p.Forms[form].Sections[0] = p.contactSection(clone(cells))
	cells["owner"] = owner
	if _, err = do(rq.ctx(), rq.act(), scheduler.Intake{Contact: cells, Sure: rq.value("sure") == "yes"}); err != nil {
		return rq.refused(err, p, form)
	}
	if err := rq.did("wrote down a person", owner, cells["name"]); err != nil {
		return err
	}
	return rq.to(p.Path, "line")
}

// stopContact records that a person wants no more messages, or lifts that.
func stopContact(rq *request) error {
	p, cs, err := rq.ownerDeskPage(rq.r.PathValue("owner"))
	if err != nil {
		return err
	}
	i := slices.IndexFunc(cs, func(c models.Contact) bool { return c.ID == rq.value("contact") })
	if i < 0 {
		return errNoPage
	}
	cells := rq.allCells("stop")
	form := len(cs) + 2 + i // after the owner, the people and the new person
	p.Forms[form].Sections[0] = p.stopSection(cells)
	r := scheduler.Refusal{Contact: cs[i].ID, Lift: cells["act"] == "lift", Why: clip(cells["why"], 200)}
	if way := models.Channel(cells["way"]); slices.Contains(models.Channels(), way) {
		r.Ways = []models.Channel{way}
	}
	if _, err := rq.site.owners.Refuse(rq.ctx(), rq.act(), r); err != nil {
		return rq.refused(err, p, form)
	}
	rq.site.store.Wake()
	if err := rq.did("recorded a refusal: "+cells["act"]+" "+cells["way"], cs[i].ID, r.Why); err != nil {
		return err
	}
	if next := rq.value("next"); next != "" {
		return rq.to(ownPath(next), "line")
	}
	return rq.to(p.Path, "line")
}
