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
	jobs, err := rq.jobsInHand(rq.ctx())
	if err != nil {
		return err
	}
	p := shopPage{frame: rq.frame("In the shop"), Jobs: jobs}
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
	Open    int                 // checks before hand-over that are open
	Items   []string
	Cooling bool
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

// codes reads trouble codes from a form.
func (rq *request) codes() (models.FaultCodes, error) {
	c, err := models.ParseFaultCodes(clip(rq.value("codes"), 200))
	if err != nil {
		return "", models.Errorf(models.CodeInvalid, "leave it empty where there is none", "%v", err)
	}
	return c, nil
}

// openJob opens a job on a machine. What was refused is shown again as it was
// typed.
func openJob(rq *request) error {
	m, err := rq.scope.machine(rq.ctx(), rq.r.PathValue("id"))
	if err != nil {
		return err
	}
	o := job.Opening{Machine: m, On: rq.today(), By: rq.user.Name}
	var w models.WholeJob
	if o.Complaint, err = rq.text("complaint", 500); err == nil {
		if o.Codes, err = rq.codes(); err == nil {
			w, err = rq.site.jobs.Open(rq.ctx(), rq.act(), o, rq.typedMeters())
		}
	}
	if err != nil {
		return rq.openingRefused(m, err)
	}
	if err := rq.did("opened a job", m.ID, w.Job.ID); err != nil {
		return err
	}
	return rq.to("/jobs/"+escape(w.Job.ID), "opened")
}

// openingRefused shows a machine with the form of a job that was refused.
func (rq *request) openingRefused(m models.Machine, refusal error) error {
	p, err := rq.machinePage(rq.ctx(), m)
	if err != nil {
		return err
	}
	p.Job.Complaint, p.Job.Miles, p.Job.Hours, p.Job.Codes = rq.value("complaint"), rq.value("miles"), rq.value("hours"), rq.value("codes")
	if err := p.Job.refused(refusal, rq.lang); err != nil {
		return err
	}
	return rq.renderAs(http.StatusUnprocessableEntity, "machine", p)
}

// jobActs are what may be done on a job's page, by their names in its address.
var jobActs = map[string]struct {
	said string
	do   func(rq *request, id string) error
}{
	"line":     {"line", ruled(addLine)},
	"part":     {"line", ruled(addPart)},
	"droppart": {"line", ruled(dropNumber(job.DropPart))},
	"dropline": {"line", ruled(dropNumber(job.DropLine))},
	"done":     {"done", finish},
	"handover": {"handed", handOver},
	"back":     {"opened", ruled(cameBack)},
	"amend":    {"line", ruled(amend)},
}

// ruled makes an act of a rule that is read from the form.
func ruled(read func(*request) (rule, error)) func(*request, string) error {
	return func(rq *request, id string) error {
		r, err := read(rq)
		if err == nil {
			_, _, err = rq.site.jobs.Do(rq.ctx(), rq.act(), id, rq.r.PathValue("act"), r)
		}
		return err
	}
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
	if err := act.do(rq, id); err != nil {
		return rq.again(rq.r.PathValue("act"), err, jobPage)
	}
	if err := rq.did("changed a job: "+rq.r.PathValue("act"), id, ""); err != nil {
		return err
	}
	return rq.to("/jobs/"+escape(id), act.said)
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
	if p.Qty, err = models.ParseTyped(clip(rq.value("qty"), 20)); err != nil {
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

func finish(rq *request, id string) (err error) {
	f := job.Finish{On: rq.today(), By: rq.user.Name}
	for name, into := range map[string]*string{"cause": &f.Cause, "correction": &f.Correction} {
		if *into, err = rq.text(name, 500); err != nil {
			return err
		}
	}
	if f.Codes, err = rq.codes(); err != nil {
		return err
	}
	_, err = rq.site.jobs.Done(rq.ctx(), rq.act(), id, f, rq.typedMeters())
	return err
}

func handOver(rq *request, id string) error {
	why, err := rq.text("why", 500)
	if err != nil {
		return err
	}
	h := job.Hand{On: rq.today(), By: rq.user.Name, Why: why, Who: rq.user.Name}
	_, err = rq.site.jobs.HandOver(rq.ctx(), rq.act(), id, h, rq.typedMeters())
	return err
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
	words, err := rq.text("words", 500)
	if err == nil && !ok {
		err = models.Errorf(models.CodeInvalid, "press one of the buttons", "no answer was given")
	}
	if err == nil {
		_, _, err = rq.site.owners.Answer(rq.ctx(), rq.act(), check, result, words)
	}
	if err != nil {
		return rq.again("check "+check, err, jobPage)
	}
	if err := rq.did("answered a check", id, check+": "+string(result)); err != nil {
		return err
	}
	return rq.to("/jobs/"+escape(id)+"#checks", "answered")
}
