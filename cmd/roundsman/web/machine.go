package web

import (
	"context"
	"io"
	"slices"

	"example.org/roundsman/cmd/roundsman/picture"
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/interval"
	"example.org/roundsman/scheduler/sheet"
)

// machinePage is the data of a machine's sheet.
type machinePage struct {
	frame
	M            models.Machine
	Sheet        sheet.Sheet
	Worst        models.Stage
	Strip, Small strip
	Letters      []messageRow // the last messages about it
	Form         readingForm
	Job          jobForm
	Crew         bool // the viewer works in the shop
	Facts        []models.MachineFact
	FirstWords   []models.MachineFact // on items, below the others
	Newer, Older string               // where more of them stand; "": there are none
	Taking       *takeForm            // a fact that was not taken back; nil: none
	Desk         bool                 // may say where it stands
}

// readingForm is the form for a reading, with what was entered before where it
// is doubtful.
type readingForm struct {
	Machine      string // named in the form where its address does not; "": it does
	Action       string
	Miles, Hours bool   // meters that the machine has
	Unit         string // of the odometer
	Shown        [2]string
	On           models.Date
	refusal
}

// jobForm is the form that opens a job, with what was typed before where it was
// refused.
type jobForm struct {
	Action, Complaint, Miles, Hours, Codes string
	refusal
}

// machine shows a machine's sheet.
func machine(rq *request) error {
	m, err := rq.scope.machine(rq.ctx(), rq.r.PathValue("id"))
	if err != nil {
		return err
	}
	p, err := rq.machinePage(rq.ctx(), m)
	if err != nil {
		return err
	}
	return rq.render("machine", p)
}

func (rq *request) machinePage(ctx context.Context, m models.Machine) (machinePage, error) {
	p := machinePage{frame: rq.frame("Machines"), M: m, Crew: rq.user.Role != models.UserManager, Desk: rq.user.Role == models.UserDesk,
		Form: formFor(m, "/machines/"+escape(m.ID)+"/reading", rq.today()), Job: jobForm{Action: "/machines/" + escape(m.ID) + "/jobs"}}
	p.Title = m.Label()
	p.Path = "/machines/" + escape(m.ID)
	var err error
	if p.Sheet, err = rq.scope.sheet(ctx, m, rq.lang); err != nil {
		return p, err
	}
	fs := p.Sheet.Forecasts // and not those of the last look: picture, stage and table are of one day
	visits, err := rq.site.store.VisitsOf(ctx, []string{m.ID}, rq.today())
	if err != nil {
		return p, err
	}
	closures, err := rq.site.store.ClosuresFrom(ctx, rq.today())
	if err != nil {
		return p, err
	}
	in := stripOf{Forecasts: fs, Visits: visits, Closures: touching(closures, m), Width: wideStrip}
	p.Strip = p.strip(in)
	in.Width = smallStrip
	p.Small = p.strip(in)
	for _, f := range fs {
		if s := interval.StageOn(f, rq.today()); p.Worst == "" || s.Rank() < p.Worst.Rank() {
			p.Worst = s
		}
	}
	letters, err := rq.site.store.LettersOf(ctx, m.ID, 6)
	if err != nil {
		return p, err
	}
	names, err := rq.namesFor(ctx, letters, nil)
	if err != nil {
		return p, err
	}
	p.Letters = names.slips(letters)
	if p.Crew {
		err = rq.writtenDown(ctx, &p)
	}
	return p, err
}

// formFor gives an empty form for a reading of a machine.
func formFor(m models.Machine, action string, today models.Date) readingForm {
	f := readingForm{Action: action, Miles: m.Meters.Has(models.Odometer), Hours: m.Meters.Has(models.HourMeter), On: today}
	if f.Unit = "mi"; m.Meters.Metric() {
		f.Unit = "km"
	}
	return f
}

// Pace says how much the machine was used.
func (p machinePage) Pace(u *sheet.Pace) string {
	amount := func(n models.Number) string { return p.Whole(n) + " " + u.Unit }
	switch {
	case u.Since != 0:
		return p.T("Not used since %s.", p.Day(u.Since))
	case u.Before.Known:
		return p.T("Used about %s a month lately, %s before.", amount(u.Lately), amount(u.Before))
	}
	return p.T("Used about %s a month.", amount(u.Lately))
}

// Cautions gives the sheet's cautions in the page's language, short for the
// page and at length for who wants to read on.
func (p machinePage) Cautions() []cautionWords { return p.cautions(p.Sheet.Cautions) }

// cautionWords is one caution in a language.
type cautionWords struct{ Short, Long string }

func (f frame) cautions(cs []models.Caution) []cautionWords {
	out := make([]cautionWords, len(cs))
	for i, c := range cs {
		out[i] = cautionWords{c.Short.In(f.Lang), c.Long.In(f.Lang)}
	}
	return out
}

// Unruled says why nothing can fall due on a machine for which no rule is.
func (p machinePage) Unruled() string {
	words := p.T("Nothing can fall due: there is no rule for its kind, %s.", p.M.Kind)
	if near := models.NearKind(models.KindID(p.M.Kind)); near != "" {
		return words + " " + p.T("Is %s meant? Then correct the kind; else add rules for it.", near)
	}
	return words + " " + p.T("Add rules for it, or correct the kind.")
}

// chart serves the picture of a machine's use.
func chart(rq *request) error {
	m, err := rq.scope.machine(rq.ctx(), rq.r.PathValue("id"))
	if err != nil {
		return err
	}
	meter := models.Meter(rq.r.URL.Query().Get("meter"))
	if !slices.Contains([]models.Meter{"", models.Odometer, models.HourMeter}, meter) {
		return errNoPage
	}
	u, err := rq.site.store.Chart(rq.ctx(), m.ID, meter, rq.lang)
	if err != nil {
		return err
	}
	rq.w.Header().Set("Content-Type", "image/svg+xml")
	u.Title = "" // the page has one
	f := rq.frame("")
	_, err = io.WriteString(rq.w, u.Draw(picture.Words{Language: f.Lang, Day: f.Day, Whole: f.Whole}))
	return err
}
