package web

import (
	"slices"

	"example.org/roundsman/models"
	"example.org/roundsman/models/folder"
)

// mistakeForm takes back what was written down by mistake: a contact of an
// owner, or what stands at a path itself.
func (f frame) mistakeForm(name, path, contact string) deskForm {
	return deskForm{Heading: f.T("%s was written down by mistake", name), Action: path + "/mistake", Hidden: contact, Button: f.T("Take it back"),
		Sections: []formSection{{Title: f.T("By mistake"), Fields: []formField{{Name: "why", Label: f.T("Why"), Needed: true}}}}}
}

// mistaken takes back what the form of a page says; it is the one that sends to
// the path of the request, for the same contact.
func (rq *request) mistaken(p deskPage, sort models.FactSort, id, to string) error {
	why, err := rq.text("why", 200)
	if err == nil {
		_, err = rq.site.registry.TakeBack(rq.ctx(), rq.act(), sort, id, why)
	}
	if err != nil {
		i := slices.IndexFunc(p.Forms, func(d deskForm) bool {
			return d.Action == rq.r.URL.EscapedPath() && d.Hidden == rq.value("contact")
		})
		if i < 0 {
			return err
		}
		p.Forms[i].Sections[0].Fields[0].Value = clip(rq.value("why"), 200)
		return rq.refused(err, p, i)
	}
	rq.site.store.Wake()
	if err := rq.did("took back a "+string(sort), id, why); err != nil {
		return err
	}
	return rq.to(to, "withdrawn")
}

func ownerMistake(rq *request) error {
	owner, contact := rq.r.PathValue("owner"), rq.value("contact")
	p, cs, err := rq.ownerDeskPage(owner)
	if err != nil {
		return err
	}
	if contact == "" {
		return rq.mistaken(p, models.SortOwner, owner, "/fleet")
	}
	if !slices.ContainsFunc(cs, func(c models.Contact) bool { return c.ID == contact }) {
		return errNoPage
	}
	return rq.mistaken(p, models.SortContact, contact, p.Path)
}

func machineMistake(rq *request) error {
	m, err := rq.scope.machine(rq.ctx(), rq.r.PathValue("id"))
	if err != nil {
		return err
	}
	return rq.mistaken(rq.machineDeskPage(m, folder.MachineCells(m)), models.SortMachine, m.ID, "/owners/"+escape(m.Owner))
}

// sampleDesk is the sample of the desk's forms.
func sampleDesk(lang string) any {
	f := sampleFrame(lang)
	form := deskForm{Heading: "Ada", Note: "mail: agreed", Action: "/x", Hidden: "c1", Button: "Do", Faulty: []string{"all of it"}, Sections: []formSection{
		f.ownerSection(nil), f.contactSection(nil), f.machineSection(nil, true), f.readingSection(nil, "")}, Brief: true}
	form.mark(f, models.Faults{{File: "contact", Field: "mobile", Problem: "has no area code", Remedy: models.MobileRemedy}})
	return deskPage{frame: f, Heading: "Sample", Lead: "x", Forms: []deskForm{form}, Owners: []models.Owner{sampleOwned}, Machines: []models.Machine{sampleUnit}}
}
