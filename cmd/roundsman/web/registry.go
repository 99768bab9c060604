package web

import (
	"cmp"
	"errors"
	"net/http"
	"slices"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/models/folder"
	"example.org/roundsman/scheduler"
)

// deskPage is the data of the pages on which owners, contacts and machines are
// written down and corrected.
type deskPage struct {
	frame
	Heading  string
	Lead     string
	Forms    []deskForm
	Owners   []models.Owner   // that may be picked by name
	Machines []models.Machine // of the owner
}

// mostOwners bounds how many known owners an intake offers.
const mostOwners = 1000

func (f frame) ownerSection(c folder.Cells) formSection {
	return formSection{Title: f.T("Owner"), Fields: []formField{
		{Name: "owner.name", Label: f.T("Name of the owner"), Value: c["name"], Needed: true, List: "owners"},
		{Name: "owner.type", Label: f.T("What it is"), Value: c["type"], Hint: f.T("ranch, resort, private …"), Rare: true},
		rarely(f.languages("owner.language", c["language"])),
		{Name: "owner.time_zone", Label: f.T("Time zone"), Value: c["time_zone"], Hint: "America/Denver", Rare: true},
	}}
}

func (f frame) contactSection(c folder.Cells) formSection {
	role := c["role"]
	if role == "" {
		role = string(models.RoleOwner)
	}
	return formSection{Title: f.T("Who is told"), Fields: []formField{
		{Name: "contact.name", Label: f.T("Name of the person"), Value: c["name"]},
		rarely(pick("contact.role", f.T("Role"), role, false, [][2]string{{"owner", f.T("owner")}, {"service", f.T("service, gets the notices")}, {"manager", f.T("manager")}, {"operator", f.T("operator, gets none")}})),
		{Name: "contact.mobile", Label: f.T("Telephone"), Kind: "tel", Value: c["mobile"]},
		{Name: "contact.mail", Label: f.T("Mail address"), Kind: "email", Value: c["mail"]},
		rarely(pick("contact.prefers", f.T("Prefers"), c["prefers"], true, [][2]string{{"mail", f.T("mail")}, {"sms", f.T("texts")}, {"phone", f.T("a call, no messages")}})),
		rarely(pick("contact.rhythm", f.T("Hears of what can wait"), c["rhythm"], true, f.rhythms())),
		rarely(f.languages("contact.language", c["language"])),
		{Name: "contact.agrees", Label: f.T("Agrees today to"), Kind: "ticks", Choices: []choice{
			{"mail", f.T("mail"), strings.Contains(c["agrees"], "mail")}, {"sms", f.T("texts"), strings.Contains(c["agrees"], "sms")}}},
		{Name: "contact.consent_how", Label: f.T("How that was said"), Value: c["consent_how"], Hint: f.T("in person, by phone, on a form …")},
	}}
}

// rhythms lists how often somebody can hear of what can wait.
func (f frame) rhythms() (out [][2]string) {
	for _, r := range models.Rhythms() {
		out = append(out, [2]string{string(r), r.In(f.Lang)})
	}
	return out
}

// consents says to what a person has agreed and what it has stopped.
func (f frame) consents(c models.Contact) string {
	var out []string
	for _, ch := range []models.Channel{models.ChannelMail, models.ChannelSMS} {
		name := map[models.Channel]string{models.ChannelMail: f.T("mail"), models.ChannelSMS: f.T("texts")}[ch]
		switch given, stopped := c.Consent(ch); {
		case stopped != 0:
			out = append(out, f.T("%s: stopped on %s", name, stopped))
		case given != 0:
			out = append(out, f.T("%s: agreed on %s", name, given))
		default:
			out = append(out, f.T("%s: not agreed", name))
		}
	}
	return strings.Join(out, " · ")
}

// stopForm is the form that records what a person says of messages; next is the
// page to go back to, "" the owner's.
func (f frame) stopForm(c models.Contact, next string) deskForm {
	return deskForm{Heading: f.T("Messages to %s", c.Name), Action: "/owners/" + escape(c.Owner) + "/stop", Hidden: c.ID, Next: next,
		Note: f.consents(c), Button: f.T("Record"), Sections: []formSection{f.stopSection(nil)}}
}

// stopSection is the form by which the desk records what a person says of
// messages.
func (f frame) stopSection(c folder.Cells) formSection {
	return formSection{Title: f.T("The person says"), Fields: []formField{
		pick("stop.act", f.T("Messages"), cmp.Or(c["act"], "stop"), false, [][2]string{{"stop", f.T("no more of them")}, {"lift", f.T("they may go again")}}),
		pick("stop.way", f.T("Way"), cmp.Or(c["way"], "all"), false, [][2]string{{"all", f.T("all of them")}, {"mail", f.T("mail")}, {"sms", f.T("texts")}}),
		{Name: "stop.why", Label: f.T("In which words, or how you know"), Value: c["why"], Needed: true},
	}}
}

func (f frame) machineSection(c folder.Cells, meters bool) formSection {
	s := formSection{Title: f.T("Machine"), Fields: []formField{
		{Name: "machine.tag", Label: f.T("Tag"), Value: c["tag"], Hint: f.T("the number painted on it")},
		{Name: "machine.kind", Label: f.T("Kind"), Value: c["kind"], Needed: true, List: "kinds", Hint: "utv, atv, generator …"},
		{Name: "machine.make", Label: f.T("Make"), Value: c["make"]},
		{Name: "machine.model", Label: f.T("Model"), Value: c["model"]},
		{Name: "machine.year", Label: f.T("Year"), Value: c["year"], Rare: true},
		{Name: "machine.serial", Label: f.T("Serial number"), Value: c["serial"], Rare: true},
		rarely(pick("machine.cooling", f.T("Cooling"), c["cooling"], true, [][2]string{{"liquid", f.T("liquid")}, {"air", f.T("air")}})),
		rarely(pick("machine.fuel", f.T("Fuel"), c["fuel"], true, [][2]string{{"gas", f.T("gas")}, {"diesel", f.T("diesel")}})),
		rarely(pick("machine.duty", f.T("Duty"), c["duty"], true, [][2]string{{"normal", f.T("normal")}, {"severe", f.T("severe: dust, mud, towing, idling")}})),
		{Name: "machine.site", Label: f.T("Kept at"), Value: c["site"], Rare: true},
	}}
	if meters {
		s.Fields = append(s.Fields,
			pick("machine.meters", f.T("Meters"), c["meters"], false, [][2]string{{"miles", f.T("odometer in miles")}, {"km", f.T("odometer in kilometers")}, {"hours", f.T("hour meter")},
				{"both", f.T("miles and hours")}, {"both_km", f.T("kilometers and hours")}, {"none", f.T("no meter")}}),
			formField{Name: "machine.in_service", Label: f.T("First day with this owner"), Kind: "date", Value: c["in_service"]},
			formField{Name: "machine.miles_start", Label: f.T("Odometer on that day"), Value: c["miles_start"]},
			formField{Name: "machine.hours_start", Label: f.T("Hour meter on that day"), Value: c["hours_start"]},
			formField{Name: "machine.books_since", Label: f.T("Our record of it is whole since"), Kind: "date", Value: c["books_since"]},
			formField{Name: "machine.coolant_litres", Label: f.T("Coolant, liters in all"), Value: c["coolant_litres"]},
			formField{Name: "machine.lowest_c", Label: f.T("Coldest it must stand, °C"), Value: c["lowest_c"]})
	}
	return s
}

// readingSection asks for what the meters show; where that is not read today, or
// there is none, it asks which the machine has.
func (f frame) readingSection(c folder.Cells, meters string) formSection {
	return formSection{Title: f.T("What its meters show today"), Fields: []formField{
		{Name: "reading.miles", Label: f.T("Odometer"), Value: c["miles"]},
		{Name: "reading.hours", Label: f.T("Hour meter"), Value: c["hours"]},
		pick("machine.meters", f.T("Meters"), meters, false, [][2]string{{"", f.T("as read here")}, {"none", f.T("no meter")},
			{"hours", f.T("not read: hour meter")}, {"miles", f.T("not read: odometer in miles")}, {"km", f.T("not read: odometer in kilometers")},
			{"both", f.T("not read: miles and hours")}, {"both_km", f.T("not read: kilometers and hours")}}),
	}}
}

func (f frame) complaintSection(words string) formSection {
	return formSection{Title: f.T("What is wrong"), Fields: []formField{
		{Name: "complaint", Label: f.T("In the owner's own words; opens a job"), Value: words, Hint: f.T("leave empty for planned service")}}}
}

func (f frame) languages(name, value string) formField {
	return pick(name, f.T("Language"), value, true, [][2]string{{"en", "English"}, {"es", "Español"}})
}

// cells reads a section of the form; nil where all of it is empty.
func (rq *request) cells(section string) folder.Cells {
	var cells folder.Cells
	for name, values := range rq.r.PostForm {
		column, ok := strings.CutPrefix(name, section+".")
		if !ok || len(values) == 0 {
			continue
		}
		if cells == nil {
			cells = folder.Cells{}
		}
		cells[column] = strings.Join(values, ",")
	}
	for column, text := range cells {
		if strings.TrimSpace(text) != "" && column != "role" { // the role is picked already
			return cells
		}
	}
	return nil
}

// refused shows a page of forms again with what is wrong; other errors pass.
func (rq *request) refused(err error, p deskPage, form int) error {
	var faults models.Faults
	status, words, remedy := statusOf(err, rq.lang)
	switch {
	case errors.As(err, &faults):
		p.Forms[form].mark(p.frame, faults)
	case status == http.StatusUnprocessableEntity || status == http.StatusConflict:
		p.Forms[form].Faulty = append(p.Forms[form].Faulty, strings.TrimSuffix(words+"; "+remedy, "; "))
	default:
		return err
	}
	p.Forms[form].Open = true
	p.Forms[form].Asks = models.CodeOf(err) == models.CodeDoubtful || slices.ContainsFunc(faults, func(f models.Fault) bool { return f.Asks })
	return rq.renderAs(status, "desk", p)
}

func clone(c folder.Cells) folder.Cells {
	out := make(folder.Cells, len(c))
	for k, v := range c {
		out[k] = v
	}
	return out
}

func (rq *request) machineDeskPage(m models.Machine, cells folder.Cells) deskPage {
	f := rq.frame("Correct the machine")
	p := deskPage{frame: f, Heading: m.Label()}
	p.Path = "/machines/" + escape(m.ID) + "/edit"
	p.Forms = []deskForm{{Action: p.Path, Button: f.T("Correct the machine"), Sections: []formSection{f.machineSection(cells, true)}},
		f.mistakeForm(m.Label(), "/machines/"+escape(m.ID), "")}
	return p
}

func machineDesk(rq *request) error {
	m, err := rq.scope.machine(rq.ctx(), rq.r.PathValue("id"))
	if err != nil {
		return err
	}
	return rq.render("desk", rq.machineDeskPage(m, folder.MachineCells(m)))
}

func changeMachine(rq *request) error {
	m, err := rq.scope.machine(rq.ctx(), rq.r.PathValue("id"))
	if err != nil {
		return err
	}
	cells := rq.allCells(scheduler.SectionMachine)
	p := rq.machineDeskPage(m, clone(cells))
	cells["machine"] = m.ID
	got, err := rq.site.registry.Change(rq.ctx(), rq.act(), scheduler.Intake{Machine: cells, Sure: rq.value("sure") == "yes"})
	if err != nil {
		return rq.refused(err, p, 0)
	}
	if err := rq.did("corrected a machine", m.ID, ""); err != nil {
		return err
	}
	return rq.toMachine(got, "line")
}

// toMachine leads to the page of a machine that was written down, with a word
// where nothing can fall due on it.
func (rq *request) toMachine(got scheduler.TakenIn, said string) error {
	if slices.ContainsFunc(got.Notes, func(f models.Fault) bool { return f.File == scheduler.SectionMachine && f.Field == "kind" }) {
		said = "unruled"
	}
	return rq.to("/machines/"+escape(got.Machine.ID), said)
}
