package web

import (
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
)

// sourceOwner marks readings that an owner's people took.
const sourceOwner = "owner"

// escape writes an id as one part of a path.
func escape(id string) string { return url.PathEscape(id) }

// enterReading records what a machine's meters show. One that does not fit is
// shown again with the reason and recorded when the viewer says it is right.
func enterReading(rq *request) error {
	m, err := rq.scope.machine(rq.ctx(), rq.r.PathValue("id"))
	if err != nil {
		return err
	}
	source := models.SourceShop
	if rq.user.Role == models.UserManager {
		source = sourceOwner
	}
	form, said, err := rq.takeReading(m, formFor(m, "/machines/"+escape(m.ID)+"/reading", rq.today()), source, rq.entry("reading"))
	if err != nil {
		return err
	}
	if said == "" {
		p, err := rq.machinePage(rq.ctx(), m)
		if err != nil {
			return err
		}
		p.Form = form
		return rq.renderAs(http.StatusUnprocessableEntity, "machine", p)
	}
	if err := rq.did("entered a reading", m.ID, form.Shown[0]+" "+form.Shown[1]); err != nil {
		return err
	}
	return rq.to("/machines/"+escape(m.ID), said)
}

// takeReading takes the reading of a form in. said is "" where the form must be
// shown again; it then says why.
func (rq *request) takeReading(m models.Machine, form readingForm, source string, by models.Entry) (readingForm, string, error) {
	form.Shown = [2]string{clip(rq.value("miles"), 40), clip(rq.value("hours"), 40)}
	on, err := rq.dateOr("on", rq.today())
	if err == nil {
		form.On = on
		e := scheduler.MeterEntry{Machine: m, On: on, Today: rq.today(), Source: source, TypedMeters: rq.typedMeters()}
		var changed bool
		if _, changed, err = rq.site.readings.Enter(rq.ctx(), e, by); err == nil && !changed {
			return form, "same", nil
		}
	}
	if err == nil {
		return form, "reading", nil
	}
	return form, "", form.refused(err, rq.lang)
}

// typedMeters gives what a form says that the meters show.
func (rq *request) typedMeters() scheduler.TypedMeters {
	t := scheduler.TypedMeters{Miles: clip(rq.value("miles"), 40), Hours: clip(rq.value("hours"), 40), Sure: rq.value("sure") == "yes"}
	if rq.value("about") == "yes" {
		for _, v := range []*string{&t.Miles, &t.Hours} {
			if *v != "" {
				*v = "about " + *v
			}
		}
	}
	return t
}

// refusal is why a form is shown again.
type refusal struct {
	Why    models.Reason // why a reading is doubtful; "" for nothing
	Likely string        // what the meter probably showed
	Faulty string        // what cannot be taken
	Remedy string
	Asks   bool // it may be right: somebody must say so
}

// Refused says whether the form is shown again.
func (f refusal) Refused() bool { return f.Why != "" || f.Faulty != "" }

// refused notes why a form was refused; what is no refusal comes back.
func (f *refusal) refused(err error, lang string) error {
	var doubt *models.DoubtfulReading
	if errors.As(err, &doubt) {
		f.Why, f.Likely = doubt.Reason, doubt.Likely.String()
		return nil
	}
	status, words, remedy := statusOf(err, lang)
	if status != http.StatusUnprocessableEntity && status != http.StatusConflict {
		return err
	}
	f.Faulty, f.Remedy, f.Asks = words, remedy, models.CodeOf(err) == models.CodeDoubtful
	return nil
}

// tried is the form of a page that was refused, with why, and with what was
// typed.
type tried struct {
	Tried string // its name on the page; "": none
	refusal
	typed url.Values
	shown *bool // the form has been shown
}

// Here says whether a form is the one that was refused, which then shows why.
func (t tried) Here(act string) bool {
	if t.Tried != act {
		return false
	}
	if t.shown != nil {
		*t.shown = true
	}
	return true
}

// Astray says whether the form that was refused was nowhere on the page, as
// where the facts have gone on meanwhile.
func (t tried) Astray() bool { return t.shown != nil && !*t.shown }

// again shows the page on which a form stands once more, with why it was refused
// and what was typed. act names the form on that page. What is no refusal comes
// back.
func (rq *request) again(act string, err error, page func(*request) error) error {
	rq.tried = tried{Tried: act, typed: rq.r.PostForm, shown: new(bool)}
	if err := rq.tried.refused(err, rq.lang); err != nil {
		return err
	}
	rq.status, _, _ = statusOf(err, rq.lang)
	return page(rq)
}

// Was gives what was typed into a field of an act that was refused, else what
// stands there.
func (t tried) Was(act, field string, stands any) string {
	if t.Tried == act {
		return t.typed.Get(field)
	}
	return fmt.Sprint(stands)
}

// Picked marks a choice that was picked in an act that was refused.
func (t tried) Picked(act, field, choice string) template.HTMLAttr {
	return t.mark("selected", act, field, choice)
}

// Ticked marks a box that was ticked in an act that was refused.
func (t tried) Ticked(act, field, choice string) template.HTMLAttr {
	return t.mark("checked", act, field, choice)
}

func (t tried) mark(mark template.HTMLAttr, act, field, choice string) template.HTMLAttr {
	if t.Tried == act && slices.Contains(t.typed[field], choice) {
		return mark
	}
	return ""
}
