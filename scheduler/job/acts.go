package job

import (
	"strings"

	"example.org/roundsman/models"
)

// maxWords bounds a complaint, cause, correction or remark, in characters.
const maxWords = 500

// Opening is what is known when a job is opened.
type Opening struct {
	Machine   models.Machine
	On        models.Date
	By        string
	Complaint string // "" for planned service
	Codes     models.FaultCodes
	Readings  []models.Reading // what the meters show, as the door for readings gives it
	BackOf    *models.WholeJob // an earlier job whose complaint this is again; nil: none
}

// Open opens a job. What the meters show is recorded as a reading of the shop.
func Open(o Opening) (models.JobChange, error) {
	if err := words("complaint", &o.Complaint); err != nil {
		return models.JobChange{}, err
	}
	j := models.Job{
		Machine: o.Machine.ID, State: models.JobOpen, Turn: 1, OpenedOn: o.On, OpenedBy: o.By,
		Complaint: o.Complaint, Codes: o.Codes,
	}
	read(&j, o.Readings)
	if b := o.BackOf; b != nil {
		switch {
		case b.Job.Machine != o.Machine.ID:
			return models.JobChange{}, models.Errorf(models.CodeInvalid, "name a job of the same machine",
				"job %s is of another machine (%s)", b.Job.ID, b.Job.Machine)
		case b.Job.State != models.JobHanded:
			return models.JobChange{}, models.Errorf(models.CodeConflict, "go on with that job",
				"job %s is %s: nothing can have come back of it", b.Job.ID, b.Job.State)
		}
		j.BackOf = b.Job.ID
	}
	return models.JobChange{Job: j, Readings: o.Readings}, nil
}

// read writes onto a job what its meters were read to show exactly.
func read(j *models.Job, rs []models.Reading) {
	for _, r := range rs {
		if r.Width.Known {
			continue
		}
		if r.Miles.Known {
			j.Miles = r.Miles
		}
		if r.Hours.Known {
			j.Hours = r.Hours
		}
	}
}

// words brings a text onto one line and refuses one that is too long.
func words(what string, text *string) error {
	*text = strings.Join(strings.Fields(*text), " ")
	if n := len([]rune(*text)); n > maxWords {
		return models.Errorf(models.CodeInvalid, "say it shorter", "the %s has %d characters; at most %d fit", what, n, maxWords)
	}
	return nil
}

// Finish is what is known when the work of a job is done. What is left empty
// stays as it stands.
type Finish struct {
	On         models.Date
	By         string
	Cause      string
	Correction string
	Codes      models.FaultCodes
	Readings   []models.Reading // what the meters show, as the door for readings gives it
}

// Done has the work of a job's present turn done: its items become services,
// which begin their intervals anew, and the checks that follow from the work
// are set. Checks before hand-over are to be answered before the hand-over; the owner's
// begin to count with it.
func Done(w models.WholeJob, m models.Machine, defs []models.CheckDef, f Finish) (models.JobChange, error) {
	if err := may(w.Job, actDone); err != nil {
		return models.JobChange{}, err
	}
	j := w.Job
	if err := f.apply(&j); err != nil {
		return models.JobChange{}, err
	}
	lines := LinesOf(w, j.Turn)
	if len(lines) == 0 && j.Correction == "" {
		return models.JobChange{}, models.Errorf(models.CodeConflict, "add a line for each thing done, or say what the correction was",
			"nothing is written down as done in job %s", j.ID)
	}
	c := models.JobChange{Job: j, Services: services(j, lines), Checks: checksAfter(w, m, defs, lines)}
	for _, r := range f.Readings {
		// What a service says is a reading of the shop without being one more.
		if len(c.Services) == 0 || r.Width.Known || r.Standing != "" {
			c.Readings = append(c.Readings, r)
		}
	}
	return c, nil
}

// apply writes what is known at the end of the work onto the job.
func (f Finish) apply(j *models.Job) error {
	begun := max(j.OpenedOn, j.BackOn)
	if f.On < begun {
		return models.Errorf(models.CodeInvalid, "give the day on which the work was done",
			"%s is before job %s began, on %s", f.On, j.ID, begun)
	}
	for _, t := range []struct {
		what string
		from string
		to   *string
	}{{"cause", f.Cause, &j.Cause}, {"correction", f.Correction, &j.Correction}} {
		if err := words(t.what, &t.from); err != nil {
			return err
		}
		if t.from != "" {
			*t.to = t.from
		}
	}
	j.State, j.DoneOn, j.DoneBy = models.JobDone, f.On, f.By
	if f.Codes != "" {
		j.Codes = f.Codes
	}
	read(j, f.Readings)
	return nil
}

// services gives the services of a job's lines, each item once.
func services(j models.Job, lines []models.JobLine) []models.Service {
	seen := map[string]bool{"": true}
	var out []models.Service
	for _, l := range lines {
		if !seen[l.Item] {
			seen[l.Item] = true
			out = append(out, models.Service{Machine: j.Machine, Item: l.Item, At: j.DoneOn, Miles: j.Miles, Hours: j.Hours})
		}
	}
	return out
}

// Hand is how a machine goes back to its owner.
type Hand struct {
	On  models.Date
	By  string
	Why string // reason for handing over with a check before hand-over open; it needs a name
	Who string // whose decision that is

	Readings []models.Reading // what the meters show after the trial run, as the door for readings gives it
}

// HandOver hands a machine over to its owner. It is refused while a bench
// check is open, unless somebody gives a reason and a name, which are kept.
// The owner's checks count from that day.
func HandOver(w models.WholeJob, h Hand) (models.JobChange, error) {
	if err := may(w.Job, actHandOver); err != nil {
		return models.JobChange{}, err
	}
	if err := words("reason", &h.Why); err != nil {
		return models.JobChange{}, err
	}
	j := w.Job
	if h.On < j.DoneOn {
		return models.JobChange{}, models.Errorf(models.CodeInvalid, "give the day of the hand-over",
			"%s is before the work of job %s was done, on %s", h.On, j.ID, j.DoneOn)
	}
	if open := OpenBench(w); len(open) > 0 {
		if h.Why == "" {
			return models.JobChange{}, benchOpen(j, open)
		}
		if h.Who = strings.TrimSpace(h.Who); h.Who == "" {
			return models.JobChange{}, models.Errorf(models.CodeInvalid, "add the name of the one who decides it",
				"handing job %s over with %d checks before hand-over open needs a name", j.ID, len(open))
		}
		j.OverrideWhy, j.OverrideBy = h.Why, h.Who
	}
	j.State, j.HandedOn, j.HandedBy = models.JobHanded, h.On, h.By
	read(&j, h.Readings) // from where the owner's checks count
	c := models.JobChange{Job: j, Readings: h.Readings}
	for _, a := range w.Checks {
		if k := a.Check; k.Kind == models.CheckOwner && k.Turn == j.Turn && k.From == 0 {
			k.From, k.FromMiles, k.FromHours = h.On, j.Miles, j.Hours
			c.Checks = append(c.Checks, k)
		}
	}
	return c, nil
}

// OpenBench gives the open checks before hand-over of a job's present turn.
func OpenBench(w models.WholeJob) []models.AskedCheck {
	var out []models.AskedCheck
	for _, a := range w.Checks {
		if a.Check.Kind == models.CheckBench && a.Check.Turn == w.Job.Turn && a.Open() {
			out = append(out, a)
		}
	}
	return out
}

// benchOpen says which checks before hand-over keep a machine at the shop.
func benchOpen(j models.Job, open []models.AskedCheck) error {
	var say []string
	for _, a := range open {
		text := a.Check.ID + " (" + models.Shorten(a.Check.QuestionEN, 60) + ")"
		if last, ok := a.Last(); ok && last.Result == models.CheckBad {
			text += " is not ok"
		}
		say = append(say, text)
	}
	return models.Errorf(models.CodeConflict,
		"answer each with `roundsman check answer`, or give --override with the reason and --by with your name",
		"job %s cannot be handed over while a check before hand-over is open: %s", j.ID, strings.Join(say, "; "))
}

// Back is the news that a complaint has come back.
type Back struct {
	On    models.Date
	By    string // who says so
	Words string
}

// Reopen begins the next turn of a job whose complaint came back.
func Reopen(w models.WholeJob, b Back) (models.JobChange, error) {
	if err := may(w.Job, actReopen); err != nil {
		return models.JobChange{}, err
	}
	if err := words("news", &b.Words); err != nil {
		return models.JobChange{}, err
	}
	j := w.Job
	if b.On < j.HandedOn {
		return models.JobChange{}, models.Errorf(models.CodeInvalid, "give the day on which it came back",
			"%s is before job %s was handed over, on %s", b.On, j.ID, j.HandedOn)
	}
	j.State, j.Turn, j.BackOn = models.JobReopened, j.Turn+1, b.On
	j.DoneOn, j.DoneBy, j.HandedOn, j.HandedBy = 0, "", 0, ""
	j.OverrideWhy, j.OverrideBy = "", ""
	j.Note = strings.TrimSpace("back: " + b.Words)
	if b.By != "" {
		j.Note += " (" + b.By + ")"
	}
	return models.JobChange{Job: j}, nil
}

// Withdraw takes out a job that was opened by mistake.
func Withdraw(w models.WholeJob, why string) (models.JobChange, error) {
	if err := may(w.Job, actWithdraw); err != nil {
		return models.JobChange{}, err
	}
	if err := words("reason", &why); err != nil {
		return models.JobChange{}, err
	}
	if why == "" {
		return models.JobChange{}, models.Errorf(models.CodeInvalid, "say why", "withdrawing job %s needs a reason", w.Job.ID)
	}
	j := w.Job
	j.State, j.Note = models.JobWithdrawn, why
	return models.JobChange{Job: j}, nil
}

// Amend corrects the words of a job at any time; what is left empty stays.
func Amend(w models.WholeJob, complaint, cause, correction string, codes models.FaultCodes) (models.JobChange, error) {
	if err := may(w.Job, actAmend); err != nil {
		return models.JobChange{}, err
	}
	j := w.Job
	for _, t := range []struct {
		what string
		from string
		to   *string
	}{{"complaint", complaint, &j.Complaint}, {"cause", cause, &j.Cause}, {"correction", correction, &j.Correction}} {
		if err := words(t.what, &t.from); err != nil {
			return models.JobChange{}, err
		}
		if t.from != "" {
			*t.to = t.from
		}
	}
	if codes != "" {
		j.Codes = codes
	}
	return models.JobChange{Job: j}, nil
}
