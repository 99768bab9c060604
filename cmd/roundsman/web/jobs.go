package web

import (
	"net/http"
	"strconv"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
	"example.org/roundsman/scheduler/job"
)

// LastOf gives the answer to a check that counts; nil while there is none.
func (p jobPageData) LastOf(a models.AskedCheck) *models.CheckAnswer {
	if last, ok := a.Last(); ok {
		return &last
	}
	return nil
}

// Step gives the number of a step from its index.
func (p jobPageData) Step(i int) int { return i + 1 }

// HasMiles and HasHours say which meters the machine has.
func (p jobPageData) HasMiles() bool { return p.M.Meters.Has(models.Odometer) }
func (p jobPageData) HasHours() bool { return p.M.Meters.Has(models.HourMeter) }

// shopPage is the data of what stands in the shop.
type shopPage struct {
	frame
	Jobs []jobSlip
}

// shopFloor shows the jobs in hand.
func shopFloor(rq *request) error {
	jobs, err := rq.site.store.JobsInHand(rq.ctx(), nil, 200)
	if err != nil {
		return err
	}
	p := shopPage{frame: rq.frame("In the shop")}
	if p.Jobs, err = rq.jobSlips(rq.ctx(), jobs); err != nil {
		return err
	}
	return rq.render("shop", p)
}

// jobPageData is the data of a job's page.
type jobPageData struct {
	frame
	Job     models.WholeJob
	M       models.Machine
	Lines   []models.JobLine // of the present turn
	Parts   []models.Part
	Bench   []models.AskedCheck
	Asked   []models.AskedCheck // the owner's checks
	Open    int                 // bench checks that are open
	Items   []string
	Cooling bool
	Faulty  string
	Remedy  string
}

// Begun says whether work of the present turn is going on.
func (p jobPageData) Begun() bool { return p.Job.Job.State.Begun() }

// AtBench says whether the work is done and the machine not handed over.
func (p jobPageData) AtBench() bool { return p.Job.Job.State == models.JobDone }

// Cautions gives the cautions that belong beside the job's work.
func (p jobPageData) Cautions() []cautionWords {
	var items []string
	for _, l := range p.Lines {
		items = append(items, l.Item)
		if l.Cooling {
			items = append(items, models.ItemCoolant)
		}
	}
	return p.cautions(models.CautionsForAll(items, p.M))
}

func jobPage(rq *request) error {
	p, err := rq.jobData(rq.r.PathValue("id"))
	if err != nil {
		return err
	}
	return rq.render("job", p)
}

func (rq *request) jobData(id string) (jobPageData, error) {
	w, m, err := rq.scope.job(rq.ctx(), id)
	if err != nil {
		return jobPageData{}, err
	}
	p := jobPageData{frame: rq.frame("In the shop"), Job: w, M: m, Lines: job.LinesOf(w, w.Job.Turn), Parts: job.PartsOf(w, w.Job.Turn),
		Items: models.KnownItems(), Open: len(job.OpenBench(w))}
	p.Title = p.T("Job %s, %s", w.Job.ID, m.Label())
	p.Path = "/jobs/" + escape(id)
	for _, a := range w.Checks {
		if a.Check.Turn != w.Job.Turn {
			continue
		}
		if a.Check.Kind == models.CheckBench {
			p.Bench = append(p.Bench, a)
		} else {
			p.Asked = append(p.Asked, a)
		}
	}
	for _, l := range p.Lines {
		p.Cooling = p.Cooling || l.Cooling
	}
	return p, nil
}

// act says who does something now.
func (rq *request) act() scheduler.Act {
	return scheduler.Act{At: rq.now, By: rq.user.Name, Means: "page"}
}

// meterValues reads what the meters show from a form.
func (rq *request) meterValues() (miles, hours models.Number, err error) {
	for name, into := range map[string]*models.Number{"miles": &miles, "hours": &hours} {
		if *into, err = models.ParseNumber(plainNumber(clip(rq.value(name), 20))); err != nil {
			return miles, hours, models.Errorf(models.CodeInvalid, "write what the meter shows, such as 6120.4", "%q %v", clip(rq.value(name), 20), err)
		}
	}
	return miles, hours, nil
}

// codes reads trouble codes from a form.
func (rq *request) codes() (models.FaultCodes, error) {
	c, err := models.ParseFaultCodes(clip(rq.value("codes"), 200))
	if err != nil {
		return "", models.Errorf(models.CodeInvalid, "leave it empty where there is none", "%v", err)
	}
	return c, nil
}

// openJob opens a job on a machine.
func openJob(rq *request) error {
	m, err := rq.scope.machine(rq.ctx(), rq.r.PathValue("id"))
	if err != nil {
		return err
	}
	o := job.Opening{Machine: m, On: rq.today(), By: rq.user.Name}
	if o.Complaint, err = rq.text("complaint", 500); err != nil {
		return err
	}
	if o.Codes, err = rq.codes(); err != nil {
		return err
	}
	if o.Miles, o.Hours, err = rq.meterValues(); err != nil {
		return err
	}
	w, err := rq.site.jobs.Open(rq.ctx(), rq.act(), o)
	if err != nil {
		return err
	}
	if err := rq.did("opened a job", m.ID, w.Job.ID); err != nil {
		return err
	}
	return rq.to("/jobs/"+escape(w.Job.ID), "opened")
}

// jobActs are what may be done on a job's page, by their names in its address.
var jobActs = map[string]struct {
	said string
	rule func(*request) (func(scheduler.Known) (models.JobChange, error), error)
}{
	"line":     {"line", addLine},
	"part":     {"line", addPart},
	"droppart": {"line", dropNumber(job.DropPart)},
	"dropline": {"line", dropNumber(job.DropLine)},
	"done":     {"done", finish},
	"handover": {"handed", handOver},
	"back":     {"opened", cameBack},
	"amend":    {"line", amend},
}

// changeJob does one act on a job. A refusal is shown on the job's page.
func changeJob(rq *request) error {
	id := rq.r.PathValue("id")
	act, ok := jobActs[rq.r.PathValue("act")]
	if !ok {
		return errNoPage
	}
	if _, _, err := rq.scope.job(rq.ctx(), id); err != nil {
		return err
	}
	rule, err := act.rule(rq)
	if err == nil {
		_, _, err = rq.site.jobs.Do(rq.ctx(), rq.act(), id, rq.r.PathValue("act"), rule)
	}
	if err != nil {
		return rq.jobRefused(id, err)
	}
	if err := rq.did("changed a job: "+rq.r.PathValue("act"), id, ""); err != nil {
		return err
	}
	return rq.to("/jobs/"+escape(id), act.said)
}

// jobRefused shows a job again with what was wrong.
func (rq *request) jobRefused(id string, refusal error) error {
	status, words, remedy := statusOf(refusal)
	if status != http.StatusUnprocessableEntity && status != http.StatusConflict {
		return refusal
	}
	p, err := rq.jobData(id)
	if err != nil {
		return err
	}
	p.Faulty, p.Remedy = words, remedy
	return rq.renderAs(status, "job", p)
}

type rule = func(scheduler.Known) (models.JobChange, error)

func addLine(rq *request) (rule, error) {
	what, err := rq.text("what", 500)
	if err != nil {
		return nil, err
	}
	item, err := rq.site.store.FindItem(rq.ctx(), rq.value("item"))
	if err != nil {
		return nil, err
	}
	k := job.Work{Item: item, What: what, By: rq.user.Name}
	if rq.value("cooling") == "yes" {
		opened := true
		k.Cooling = &opened
	}
	if n := rq.value("minutes"); n != "" {
		if k.Minutes, err = strconv.Atoi(n); err != nil || k.Minutes < 0 || k.Minutes > 100_000 {
			return nil, models.Errorf(models.CodeInvalid, "write whole minutes", "%q are no minutes", clip(n, 20))
		}
	}
	return func(w scheduler.Known) (models.JobChange, error) { return job.AddLine(w.Job, w.Machine, w.Defs, k) }, nil
}

func addPart(rq *request) (rule, error) {
	var p models.Part
	for name, into := range map[string]*string{"name": &p.Name, "number": &p.Number, "maker": &p.Maker, "place": &p.Place} {
		var err error
		if *into, err = rq.text(name, 120); err != nil {
			return nil, err
		}
	}
	var err error
	if p.Qty, err = models.ParseNumber(plainNumber(clip(rq.value("qty"), 20))); err != nil {
		return nil, models.Errorf(models.CodeInvalid, "write how many", "%q %v", clip(rq.value("qty"), 20), err)
	}
	return func(w scheduler.Known) (models.JobChange, error) { return job.AddPart(w.Job, p) }, nil
}

func dropNumber(drop func(models.WholeJob, int) (models.JobChange, error)) func(*request) (rule, error) {
	return func(rq *request) (rule, error) {
		n, err := strconv.Atoi(rq.value("number"))
		if err != nil {
			return nil, errNoPage
		}
		return func(w scheduler.Known) (models.JobChange, error) { return drop(w.Job, n) }, nil
	}
}

func finish(rq *request) (rule, error) {
	f := job.Finish{On: rq.today(), By: rq.user.Name}
	var err error
	for name, into := range map[string]*string{"cause": &f.Cause, "correction": &f.Correction} {
		if *into, err = rq.text(name, 500); err != nil {
			return nil, err
		}
	}
	if f.Codes, err = rq.codes(); err != nil {
		return nil, err
	}
	if f.Miles, f.Hours, err = rq.meterValues(); err != nil {
		return nil, err
	}
	return func(w scheduler.Known) (models.JobChange, error) { return job.Done(w.Job, w.Machine, w.Defs, f) }, nil
}

func handOver(rq *request) (rule, error) {
	why, err := rq.text("why", 500)
	if err != nil {
		return nil, err
	}
	h := job.Hand{On: rq.today(), By: rq.user.Name, Why: why, Who: rq.user.Name}
	return func(w scheduler.Known) (models.JobChange, error) { return job.HandOver(w.Job, h) }, nil
}

func cameBack(rq *request) (rule, error) {
	words, err := rq.text("words", 500)
	if err != nil {
		return nil, err
	}
	b := job.Back{On: rq.today(), By: rq.user.Name, Words: words}
	return func(w scheduler.Known) (models.JobChange, error) { return job.Reopen(w.Job, b) }, nil
}

func amend(rq *request) (rule, error) {
	var t [3]string
	for i, name := range []string{"complaint", "cause", "correction"} {
		var err error
		if t[i], err = rq.text(name, 500); err != nil {
			return nil, err
		}
	}
	codes, err := rq.codes()
	if err != nil {
		return nil, err
	}
	return func(w scheduler.Known) (models.JobChange, error) { return job.Amend(w.Job, t[0], t[1], t[2], codes) }, nil
}

// answerCheck takes the answer to a check of a job.
func answerCheck(rq *request) error {
	id, check := rq.r.PathValue("id"), rq.r.PathValue("check")
	w, _, err := rq.scope.job(rq.ctx(), id)
	if err != nil {
		return err
	}
	of := false
	for _, a := range w.Checks {
		of = of || a.Check.ID == check
	}
	if !of {
		return errNotThere
	}
	result, ok := map[string]models.CheckResult{"ok": models.CheckOK, "bad": models.CheckBad, "none": models.CheckNotFitted}[rq.value("result")]
	if !ok {
		return models.Errorf(models.CodeInvalid, "press one of the buttons", "no answer was given")
	}
	words, err := rq.text("words", 500)
	if err != nil {
		return err
	}
	if _, _, err := rq.site.jobs.Answer(rq.ctx(), rq.act(), check, result, words); err != nil {
		return rq.jobRefused(id, err)
	}
	if err := rq.did("answered a check", id, check+": "+string(result)); err != nil {
		return err
	}
	return rq.to("/jobs/"+escape(id)+"#checks", "answered")
}
