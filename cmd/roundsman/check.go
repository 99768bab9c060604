package main

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
	"example.org/roundsman/scheduler/job"
)

type checkCmd struct {
	List   checkListCmd   `cmd:"" help:"List the open checks."`
	Answer checkAnswerCmd `cmd:"" help:"Answer a check."`
	Add    checkAddCmd    `cmd:"" help:"Set a check by hand."`
	Kinds  checkKindsCmd  `cmd:"" help:"List which checks follow which work."`
}

type checkListCmd struct {
	Tag  string `arg:"" optional:"" help:"Machine: its id, its tag, or owner/tag (default: every machine)."`
	Job  string `help:"Only those of one job." placeholder:"JOB"`
	Kind string `help:"Only bench or owner." enum:"bench,owner,all" default:"all"`
	JSON bool   `name:"json" help:"Print the checks as JSON."`
}

func (checkListCmd) Help() string {
	return `Lists open checks: those at the bench, which keep a machine at the shop until they are answered, and those that an owner is asked. Where an owner did not answer twice, somebody is to ring.

Example:
  roundsman check list R12
  roundsman check list --kind owner --json`
}

func (cmd checkListCmd) Run(c *call) error {
	return c.with(func(a *app.App) error {
		var of []string
		if cmd.Tag != "" {
			m, err := a.Store.FindMachine(c.ctx, cmd.Tag)
			if err != nil {
				return err
			}
			of = []string{m.ID}
		}
		kind := models.CheckKind(cmd.Kind)
		if cmd.Kind == "all" {
			kind = ""
		}
		owed, err := a.Store.OwedChecks(c.ctx, of, kind)
		if err != nil {
			return err
		}
		calls, _, err := scheduler.Calls(c.ctx, a.Store, a.Runner.Notify, c.clock.Now(), 0)
		if err != nil {
			return err
		}
		ring := map[string]ringing{}
		for _, k := range calls {
			for _, r := range k.Checks {
				ring[r.Check.Check.ID] = ringing{r.Since, k.Contacts}
			}
		}
		rows := []checkRow{}
		shown := owed[:0:0]
		for _, o := range owed {
			if cmd.Job == "" || o.Job.ID == cmd.Job {
				r := checkJSON(o.AskedCheck)
				r.Machine, r.RingSince = o.Machine.ID, ring[o.Check.ID].since
				rows, shown = append(rows, r), append(shown, o)
			}
		}
		if cmd.JSON {
			return printJSON(c.out, rows)
		}
		listChecks(c.out, shown, rows, ring)
		return nil
	})
}

// ringing is since when and whom somebody is to ring about a check.
type ringing struct {
	since    models.Date
	contacts []models.Contact
}

// listChecks prints open checks for people, with the cautions that belong to
// work on a cooling system.
func listChecks(out io.Writer, owed []models.OwedCheck, rows []checkRow, ring map[string]ringing) {
	if len(rows) == 0 {
		fmt.Fprintln(out, "No open check.")
	}
	cooling := false
	for i, r := range rows {
		when := "bench, before the hand-over"
		switch {
		case r.Kind == models.CheckOwner && r.AskOn == 0:
			when = "owner, after the hand-over"
		case r.RingSince != 0:
			when = "owner, no answer: RING " + numbers(ring[r.Check].contacts)
		case r.Kind == models.CheckOwner:
			when = "owner, by " + r.AskOn.String()
		}
		state := ""
		if r.Result == models.CheckBad {
			state = "  NOT OK " + r.Words
		}
		fmt.Fprintf(out, "%s  %s, job %s (%s)%s\n    %s\n", r.Check, owed[i].Machine.Label(), r.Job, when, state, r.Question)
		cooling = cooling || strings.HasPrefix(owed[i].Check.Def, "cooling_") || job.OpensCooling("", r.Question)
	}
	if cooling {
		for _, k := range models.CautionsOn(models.TopicCooling)[:2] {
			fmt.Fprintf(out, "!   %s\n", k.Short.EN)
		}
	}
}

// numbers says whom to ring.
func numbers(cs []models.Contact) string {
	var out []string
	for _, c := range cs {
		if c.Mobile != "" && len(out) < 2 {
			out = append(out, c.Name+" "+c.Mobile)
		}
	}
	if len(out) == 0 {
		return "the owner (no number is known)"
	}
	return strings.Join(out, ", ")
}

type checkAnswerCmd struct {
	Check     string `arg:"" help:"Number of the check."`
	OK        bool   `name:"ok" xor:"result" help:"It is as it should be."`
	Bad       bool   `xor:"result" help:"It is not. An owner's check then reopens the job."`
	NotFitted bool   `xor:"result" help:"The machine has no such thing."`
	Words     string `help:"What was seen or said." placeholder:"TEXT"`
	By        string `help:"Who says so (default: the user)." placeholder:"NAME"`
	JSON      bool   `name:"json" help:"Print the job as JSON."`
}

func (checkAnswerCmd) Help() string {
	return `Answers a check. A check before hand-over that is not ok stays open until it is. An owner's check that is not ok reopens the job as a comeback and tells the shop at once.

Example:
  roundsman check answer 31 --ok
  roundsman check answer 33 --bad --words "drips at the lower hose"
  roundsman check answer 34 --not-fitted`
}

func (cmd checkAnswerCmd) Run(c *call) error {
	var result models.CheckResult
	switch {
	case cmd.OK:
		result = models.CheckOK
	case cmd.Bad:
		result = models.CheckBad
	case cmd.NotFitted:
		result = models.CheckNotFitted
	default:
		return models.Errorf(models.CodeInvalid, "add --ok, --bad or --not-fitted", "no answer is given")
	}
	who := whoFlags{By: cmd.By, JSON: cmd.JSON}
	return c.with(func(a *app.App) error {
		act := who.act(c)
		act.Means = "check"
		w, back, err := a.Replier.Answer(c.ctx, act, cmd.Check, result, cmd.Words)
		if said, err := who.asJSON(c, w, err); said {
			return err
		}
		switch {
		case back:
			fmt.Fprintf(c.out, "Check %s: not ok. Job %s is reopened (attempt %d), and the shop is told.\n", cmd.Check, w.Job.ID, w.Job.Turn)
		case w.Job.State == models.JobHanded:
			fmt.Fprintf(c.out, "Check %s: %s.\n", cmd.Check, result)
		default:
			fmt.Fprintf(c.out, "Check %s: %s. %s\n", cmd.Check, result, benchLeft(w))
		}
		return nil
	})
}

// benchLeft says in one line what still keeps a machine at the shop.
func benchLeft(w models.WholeJob) string {
	var left []string
	for _, k := range job.OpenBench(w) {
		left = append(left, k.Check.ID)
	}
	switch {
	case len(left) > 0:
		return "Still open at the bench: " + strings.Join(left, ", ") + "."
	case w.Job.State == models.JobDone:
		return "No check before hand-over is open: `roundsman job handover " + w.Job.ID + "` hands the machine over."
	}
	return "No check before hand-over is open."
}

type checkAddCmd struct {
	Job        string  `arg:"" help:"Number of the job."`
	Ask        string  `help:"What is to be checked." required:"" placeholder:"TEXT"`
	AskES      string  `name:"ask-es" help:"The same in Spanish, for owners who are written to in it." placeholder:"TEXT"`
	Owner      bool    `help:"Ask the owner after the hand-over (default: answered at the bench before it)."`
	AfterDays  int     `help:"Ask the owner after so many days ..." placeholder:"N"`
	AfterMiles *string `help:"... or miles ..." placeholder:"N"`
	AfterHours *string `help:"... or hours, whichever comes first." placeholder:"N"`
	whoFlags
}

func (checkAddCmd) Help() string {
	return `Sets a check on a job by hand.

Example:
  roundsman check add 12 --ask "Torque of the axle nut checked once more?"
  roundsman check add 12 --owner --ask "Does it still pull left?" --after-days 14 --after-miles 100`
}

func (cmd checkAddCmd) Run(c *call) error {
	k := models.Check{Kind: models.CheckBench, QuestionEN: cmd.Ask, QuestionES: cmd.AskES}
	var err error
	if cmd.Owner {
		k.Kind, k.AfterDays = models.CheckOwner, cmd.AfterDays
		if k.AfterMiles, err = numberFlag("--after-miles", cmd.AfterMiles); err != nil {
			return err
		}
		if k.AfterHours, err = numberFlag("--after-hours", cmd.AfterHours); err != nil {
			return err
		}
	} else if cmd.AfterDays != 0 || cmd.AfterMiles != nil || cmd.AfterHours != nil {
		return models.Errorf(models.CodeInvalid, "add --owner", "a check at the bench is answered before the hand-over, not after days or miles")
	}
	return c.with(func(a *app.App) error {
		_, w, err := a.Jobs().Do(c.ctx, cmd.act(c), cmd.Job, "check add", func(n scheduler.Known) (models.JobChange, error) {
			return job.AddCheck(n.Job, k)
		})
		if said, err := cmd.asJSON(c, w, err); said {
			return err
		}
		fmt.Fprintf(c.out, "Job %s: check %s is set.\n", w.Job.ID, w.Checks[len(w.Checks)-1].Check.ID)
		return nil
	})
}

type checkKindsCmd struct {
	JSON bool `name:"json" help:"Print the definitions as JSON."`
}

func (checkKindsCmd) Help() string {
	return `Lists which checks follow which work: those that come with the program, which are common practice, and the shop's own.

Example:
  roundsman check kinds`
}

func (cmd checkKindsCmd) Run(c *call) error {
	return c.with(func(a *app.App) error {
		own, err := a.Store.CheckDefs(c.ctx)
		if err != nil {
			return err
		}
		defs := job.Defs(own)
		if cmd.JSON {
			rows := []defRow{}
			for _, d := range defs {
				rows = append(rows, defRow{d.ID, d.Kind, d.Items, d.QuestionEN, d.QuestionES, d.IfFitted, d.AfterDays, d.AfterMiles, d.AfterHours})
			}
			return printJSON(c.out, rows)
		}
		w := tabwriter.NewWriter(c.out, 0, 4, 2, ' ', 0)
		fmt.Fprintln(w, "CHECK\tKIND\tAFTER WORK ON\tQUESTION")
		for _, d := range defs {
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", d.ID, d.Kind, d.Items, d.QuestionEN)
		}
		return w.Flush()
	})
}

type defRow struct {
	ID         string           `json:"id"`
	Kind       models.CheckKind `json:"kind"`
	Items      string           `json:"items"`
	QuestionEN string           `json:"question_en"`
	QuestionES string           `json:"question_es"`
	IfFitted   bool             `json:"if_fitted"`
	AfterDays  int              `json:"after_days"`
	AfterMiles models.Number    `json:"after_miles"`
	AfterHours models.Number    `json:"after_hours"`
}
