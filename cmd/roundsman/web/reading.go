package web

import (
	"errors"
	"net/http"
	"net/url"

	"example.org/roundsman/models"
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

// takeReading reads the form and records the reading. said is "" where the
// form must be shown again; it then says why.
func (rq *request) takeReading(m models.Machine, form readingForm, source string, by models.Entry) (readingForm, string, error) {
	r, err := rq.readingOf(m, &form, source)
	var wrong *models.Error
	if errors.As(err, &wrong) && wrong.Code == models.CodeInvalid {
		form.Faulty, form.Remedy = wrong.Message, wrong.Remedy
		return form, "", nil
	}
	if err != nil {
		return form, "", err
	}
	doubts, err := rq.site.store.Doubts(rq.ctx(), r)
	if err != nil {
		return form, "", err
	}
	if len(doubts) > 0 {
		if rq.value("sure") != "yes" {
			form.Why = doubts[0].Reason
			if doubts[0].Likely.Known {
				form.Likely = doubts[0].Likely.String()
			}
			return form, "", nil
		}
		r.Standing = models.StandingConfirmed
	}
	done, err := rq.site.store.Record(rq.ctx(), models.FactSet{Readings: []models.Reading{r}}, by)
	if err != nil {
		return form, "", err
	}
	if !done.Changed() {
		return form, "same", nil
	}
	return form, "reading", nil
}

// readingOf reads a reading from the form and keeps what was typed in it.
func (rq *request) readingOf(m models.Machine, form *readingForm, source string) (models.Reading, error) {
	r := models.Reading{Machine: m.ID, Source: source}
	form.Shown = [2]string{clip(rq.value("miles"), 20), clip(rq.value("hours"), 20)}
	on, err := rq.dateOr("on", rq.today())
	if err != nil {
		return r, err
	}
	form.On, r.At = on, on
	if on > rq.today() {
		return r, models.Errorf(models.CodeInvalid, "a reading is of today or earlier", "%s lies after today", on)
	}
	for i, v := range []struct {
		meter models.Meter
		into  *models.Number
	}{{models.Odometer, &r.Miles}, {models.HourMeter, &r.Hours}} {
		if form.Shown[i] == "" || !m.Meters.Has(v.meter) {
			continue
		}
		n, err := models.ParseNumber(plainNumber(form.Shown[i]))
		if err != nil {
			return r, models.Errorf(models.CodeInvalid, "write what the meter shows, such as 6120.4", "%q %v", form.Shown[i], err)
		}
		*v.into = n
	}
	if !r.Miles.Known && !r.Hours.Known {
		return r, models.Errorf(models.CodeInvalid, "write what the meter shows", "no value is given")
	}
	return r, nil
}

// plainNumber takes out what people type into numbers: blanks, and commas that
// part thousands. A comma before one or two last digits is a decimal one.
func plainNumber(s string) string {
	out := make([]rune, 0, len(s))
	runes := []rune(s)
	for i, c := range runes {
		switch {
		case c == ' ' || c == '\u00a0' || c == '\u202f':
		case c == ',' && len(runes)-i-1 == 3 && i > 0:
		case c == ',' && len(runes)-i-1 > 3 && i > 0:
		case c == ',':
			out = append(out, '.')
		default:
			out = append(out, c)
		}
	}
	return string(out)
}
