package main

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/job"
)

type jobListCmd struct {
	Tag   string   `arg:"" optional:"" help:"Machine: its id, its tag, or owner/tag (default: every machine)."`
	State []string `help:"Only these states: open, done, handed over, reopened, withdrawn (default: all of one machine; else those at the shop)." placeholder:"STATE,..."`
	JSON  bool     `name:"json" help:"Print the jobs as JSON."`
}

func (jobListCmd) Help() string {
	return `Lists jobs, the newest first: all of one machine, or those for which a machine is at the shop.

Example:
  roundsman job list R12
  roundsman job list --state done --json`
}

func (cmd jobListCmd) Run(c *call) error {
	states, err := cmd.states()
	if err != nil {
		return err
	}
	return c.with(func(a *app.App) error {
		machines, err := a.Store.Machines(c.ctx)
		if err != nil {
			return err
		}
		labels := make(map[string]string, len(machines))
		for _, m := range machines {
			labels[m.ID] = m.Label()
		}
		var of []string
		if cmd.Tag != "" {
			m, err := a.Store.FindMachine(c.ctx, cmd.Tag)
			if err != nil {
				return err
			}
			of = []string{m.ID}
		}
		all, err := a.Store.JobsOf(c.ctx, of)
		if err != nil {
			return err
		}
		jobs := slices.DeleteFunc(all, func(w models.WholeJob) bool { return !slices.Contains(states, w.Job.State) })
		if cmd.JSON {
			rows := make([]jobRow, 0, len(jobs))
			for _, w := range jobs {
				rows = append(rows, jobJSON(w))
			}
			return printJSON(c.out, rows)
		}
		if len(jobs) == 0 {
			fmt.Fprintln(c.out, "No job.")
			return nil
		}
		w := tabwriter.NewWriter(c.out, 0, 4, 2, ' ', 0)
		fmt.Fprintln(w, "JOB\tMACHINE\tSTATE\tOPENED\tCHECKS\tWHAT")
		for _, j := range jobs {
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\n", j.Job.ID, labels[j.Job.Machine], stateOf(j.Job), j.Job.OpenedOn, openChecks(j), models.Shorten(whatOf(j), 60))
		}
		return w.Flush()
	})
}

// states gives the states to list.
func (cmd jobListCmd) states() ([]models.JobState, error) {
	var out []models.JobState
	for _, s := range cmd.State {
		state := models.JobState(strings.ReplaceAll(strings.ToLower(strings.TrimSpace(s)), "_", " "))
		if !slices.Contains(models.JobStates(), state) {
			return nil, models.Errorf(models.CodeInvalid, "the states are open, done, \"handed over\", reopened and withdrawn", "--state %q is no state", s)
		}
		out = append(out, state)
	}
	if len(out) > 0 {
		return out, nil
	}
	for _, s := range models.JobStates() {
		if cmd.Tag != "" || s.InHand() {
			out = append(out, s)
		}
	}
	return out, nil
}

func stateOf(j models.Job) string {
	if j.Turn > 1 {
		return fmt.Sprintf("%s (attempt %d)", j.State, j.Turn)
	}
	return string(j.State)
}

// openChecks says how many checks of a job's present turn are open.
func openChecks(w models.WholeJob) string {
	bench, owner := len(job.OpenBench(w)), 0
	for _, k := range w.Checks {
		if k.Check.Kind == models.CheckOwner && k.Check.Turn == w.Job.Turn && k.Open() && w.Job.State == models.JobHanded {
			owner++
		}
	}
	var say []string
	if bench > 0 && w.Job.State != models.JobHanded {
		say = append(say, fmt.Sprintf("%d before hand-over", bench))
	}
	if owner > 0 {
		say = append(say, fmt.Sprintf("%d owner", owner))
	}
	return strings.Join(say, ", ")
}

// whatOf says in one line what a job is about.
func whatOf(w models.WholeJob) string {
	var did []string
	for _, l := range job.LinesOf(w, 0) {
		did = append(did, l.Title("en"))
	}
	text := strings.Join(did, ", ")
	switch {
	case w.Job.Complaint != "" && text != "":
		return fmt.Sprintf("%q: %s", w.Job.Complaint, text)
	case w.Job.Complaint != "":
		return fmt.Sprintf("%q", w.Job.Complaint)
	}
	return text
}

type jobShowCmd struct {
	Job  string `arg:"" help:"Number of the job."`
	JSON bool   `name:"json" help:"Print the job as JSON."`
}

func (jobShowCmd) Help() string {
	return `Shows one job: complaint, cause and correction, what was done, parts, checks with their answers, and every change with who made it.

Example:
  roundsman job show 12`
}

func (cmd jobShowCmd) Run(c *call) error {
	return c.with(func(a *app.App) error {
		k, err := a.Jobs().Know(c.ctx, cmd.Job)
		if err != nil {
			return err
		}
		if cmd.JSON {
			return printJSON(c.out, jobJSON(k.Job))
		}
		versions, err := a.Store.JobVersions(c.ctx, cmd.Job)
		if err != nil {
			return err
		}
		showJob(c.out, k.Job, k.Machine)
		fmt.Fprintln(c.out, "\nChanges:")
		for _, v := range versions {
			at := v.Entry.RecordedAt.Time().In(a.Runner.Notify.Zone)
			fmt.Fprintf(c.out, "  %s  %-12s  by %s (%s)\n", at.Format("2006-01-02 15:04"), stateOf(v.Job), v.Entry.Actor, v.Entry.Note)
		}
		return nil
	})
}

func showJob(out io.Writer, w models.WholeJob, m models.Machine) {
	j := w.Job
	fmt.Fprintf(out, "Job %s on %s: %s, opened %s\n", j.ID, m.Label(), stateOf(j), j.OpenedOn)
	for _, f := range []struct{ name, text string }{
		{"Complaint", j.Complaint}, {"Codes", string(j.Codes)}, {"Cause", j.Cause}, {"Correction", j.Correction},
		{"Meter", meterText(m, j)},
		{"Done", strings.TrimSpace(j.DoneOn.String() + " " + j.DoneBy)}, {"Handed over", strings.TrimSpace(j.HandedOn.String() + " " + j.HandedBy)},
		{"Passed over", strings.TrimSpace(j.OverrideWhy + " " + j.OverrideBy)}, {"Comeback of", j.BackOf}, {"Note", j.Note},
	} {
		if f.text != "" {
			fmt.Fprintf(out, "  %-12s %s\n", f.name, f.text)
		}
	}
	for _, l := range w.Lines {
		fmt.Fprintf(out, "  line %-7d %s%s%s\n", l.Line, l.Title("en"), minutesText(l.Minutes), remarks(l.Turn, l.Withdrawn, l.By))
	}
	for _, p := range w.Parts {
		text := p.Label()
		if p.Qty.Known && p.Qty.F != 1 {
			text = p.Qty.String() + " x " + text
		}
		if p.Equivalents != "" {
			text += " (same as " + p.Equivalents + ")"
		}
		if p.CostCents.Known {
			text += fmt.Sprintf(", $%.2f", p.CostCents.F/100)
		}
		if p.Place != "" {
			text += ", " + p.Place
		}
		fmt.Fprintf(out, "  part %-7d %s%s\n", p.Part, text, remarks(p.Turn, p.Withdrawn, ""))
	}
	for _, k := range w.Checks {
		fmt.Fprintf(out, "  check %-6s %s: %s%s\n", k.Check.ID, k.Check.Kind, k.Check.QuestionEN, remarks(k.Check.Turn, false, ""))
		for _, s := range k.Answers {
			said := string(s.Result)
			if s.Words != "" {
				said += ": " + s.Words
			}
			fmt.Fprintf(out, "  %-12s %s (%s)\n", "", said, s.By)
		}
	}
}

// minutesText writes how long a line took, "" where that is not known.
func minutesText(minutes int) string {
	if minutes == 0 {
		return ""
	}
	return fmt.Sprintf(", %d min", minutes)
}

// meterText writes what the meters showed at a job, "" where nothing is known.
func meterText(m models.Machine, j models.Job) string {
	if !j.Miles.Known && !j.Hours.Known {
		return ""
	}
	return shown(m, []models.Reading{{Miles: j.Miles, Hours: j.Hours}})
}

func remarks(turn int, withdrawn bool, by string) string {
	text := ""
	if by != "" {
		text = " (" + by + ")"
	}
	if turn > 1 {
		text += fmt.Sprintf(" [attempt %d]", turn)
	}
	if withdrawn {
		text += " [taken out]"
	}
	return text
}

type jobComebacksCmd struct {
	By   string `help:"Count by item, part or technician." enum:"item,part,technician" default:"item"`
	JSON bool   `name:"json" help:"Print the rates as JSON."`
}

func (jobComebacksCmd) Help() string {
	return `Counts how often work came back, with the range in which the true rate lies in 19 cases of 20. Work counts once its outcome is known: it came back, its owner said that it held, or 30 days have gone by.

Example:
  roundsman job comebacks --by technician`
}

func (cmd jobComebacksCmd) Run(c *call) error {
	return c.with(func(a *app.App) error {
		jobs, err := a.Store.JobsOf(c.ctx, nil)
		if err != nil {
			return err
		}
		rates := job.Rates(jobs, job.By(cmd.By), models.DateOf(c.clock.Now().In(a.Runner.Notify.Zone)))
		if cmd.JSON {
			return printJSON(c.out, rates)
		}
		if len(rates) == 0 {
			fmt.Fprintln(c.out, "No job whose outcome is known yet.")
			return nil
		}
		w := tabwriter.NewWriter(c.out, 0, 4, 2, ' ', 0)
		fmt.Fprintf(w, "%s\tJOBS\tCAME BACK\tRATE\tRANGE (19 OF 20)\n", strings.ToUpper(cmd.By))
		for _, r := range rates {
			name := r.Name
			if cmd.By == string(job.ByItem) {
				name = models.ItemName(r.Name, "en")
			}
			fmt.Fprintf(w, "%s\t%d\t%d\t%.0f %%\t%.0f to %.0f %%\n", name, r.Jobs, r.Back, 100*r.Rate, 100*r.Low, 100*r.High)
		}
		return w.Flush()
	})
}

// jobRow is a job for a script.
type jobRow struct {
	models.Job
	Codes  []string         `json:"codes"`
	Lines  []models.JobLine `json:"lines"`
	Parts  []models.Part    `json:"parts"`
	Checks []checkRow       `json:"checks"`
}

type checkRow struct {
	Check    string             `json:"check"`
	Job      string             `json:"job"`
	Machine  string             `json:"machine,omitempty"`
	Turn     int                `json:"turn"`
	Kind     models.CheckKind   `json:"kind"`
	Question string             `json:"question"`
	Open     bool               `json:"open"`
	Result   models.CheckResult `json:"result"`
	Words    string             `json:"words"`
	By       string             `json:"by"`
	At       models.Instant     `json:"answered_at"`
	AskOn    models.Date        `json:"ask_on"`

	RingSince models.Date `json:"ring_since"` // nobody answered: somebody is to ring
}

func jobJSON(w models.WholeJob) jobRow {
	r := jobRow{Job: w.Job, Codes: append([]string{}, w.Job.Codes.List()...), Lines: append([]models.JobLine{}, job.LinesOf(w, 0)...),
		Parts: append([]models.Part{}, job.PartsOf(w, 0)...), Checks: []checkRow{}}
	for _, k := range w.Checks {
		r.Checks = append(r.Checks, checkJSON(k))
	}
	return r
}

func checkJSON(k models.AskedCheck) checkRow {
	r := checkRow{Check: k.Check.ID, Job: k.Check.Job, Turn: k.Check.Turn, Kind: k.Check.Kind, Question: k.Check.QuestionEN, Open: k.Open(),
		AskOn: job.AskOn(k.Check, nil, nil)}
	if last, ok := k.Last(); ok {
		r.Result, r.Words, r.By, r.At = last.Result, last.Words, last.By, last.At
	}
	return r
}
