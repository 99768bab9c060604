package main

import (
	"fmt"
	"io"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
	"example.org/roundsman/scheduler/job"
)

// finishFlags say what was found and done.
type finishFlags struct {
	Cause      string   `help:"What was found." placeholder:"TEXT"`
	Correction string   `help:"What was done about it." placeholder:"TEXT"`
	Code       []string `help:"Trouble codes found: P0128 (SAE J2012), or \"SPN 110 FMI 16\" (SAE J1939)." placeholder:"CODE,..."`
	meterFlags
}

// done has the work of a job done.
func (f finishFlags) done(c *call, a *app.App, who whoFlags, id string) (w models.WholeJob, err error) {
	v := job.Finish{By: who.by(), Cause: f.Cause, Correction: f.Correction}
	if v.On, err = who.day(c, a); err != nil {
		return w, err
	}
	if v.Codes, err = codesFlag(f.Code); err != nil {
		return w, err
	}
	w, err = a.Jobs().Done(c.ctx, who.act(c), id, v, f.typed())
	if err == nil && len(job.LinesOf(w, w.Job.Turn)) == 0 {
		fmt.Fprintf(c.errs, "note: no item was written down as done in job %s, so no interval begins anew. Was one serviced? Record it on a job of its own (`roundsman job open`, `job line`, `job done`).\n", id)
	}
	return w, err
}

type jobDoneCmd struct {
	Job string `arg:"" help:"Number of the job."`
	finishFlags
	whoFlags
}

func (jobDoneCmd) Help() string {
	return `Says that the work of a job is done. Its items are recorded as services, which begin their intervals anew, and the checks that follow from the work are set: those at the bench must be answered before the hand-over.

Example:
  roundsman job done 12 --cause "thermostat stuck shut" --correction "new thermostat, fresh coolant" --miles 6121`
}

func (cmd jobDoneCmd) Run(c *call) error {
	return c.with(func(a *app.App) error {
		w, err := cmd.done(c, a, cmd.whoFlags, cmd.Job)
		if said, err := cmd.asJSON(c, w, err); said {
			return err
		}
		fmt.Fprintf(c.out, "Job %s is done.\n", w.Job.ID)
		return tellBench(c.out, w)
	})
}

// tellBench lists the checks before hand-over that keep a machine at the shop.
func tellBench(out io.Writer, w models.WholeJob) error {
	open := job.OpenBench(w)
	if len(open) == 0 {
		fmt.Fprintf(out, "No check before hand-over is open: `roundsman job handover %s` hands the machine over.\n", w.Job.ID)
		return nil
	}
	fmt.Fprintf(out, "Before the hand-over, %s to be answered (`roundsman check answer NUMBER --ok`):\n", plural(len(open), "check is", "checks are"))
	for _, k := range open {
		fmt.Fprintf(out, "  %s  %s\n", k.Check.ID, k.Check.QuestionEN)
	}
	if cooled(w) {
		warnCold(out)
	}
	return nil
}

// warnCold says the two cautions that come first in any work on the cooling
// system; the sheet has all of them.
func warnCold(out io.Writer) {
	for _, caution := range models.CautionsOn(models.TopicCooling)[:2] {
		fmt.Fprintf(out, "  !  %s\n", caution.Short.EN)
	}
}

// cooled says whether a job's present turn opened the cooling system.
func cooled(w models.WholeJob) bool {
	for _, l := range job.LinesOf(w, w.Job.Turn) {
		if l.Cooling {
			return true
		}
	}
	return false
}

type jobHandoverCmd struct {
	Job      string `arg:"" help:"Number of the job."`
	Override string `help:"Reason for handing over with a check before hand-over open; needs --by. It is kept." placeholder:"REASON"`
	meterFlags
	whoFlags
}

func (jobHandoverCmd) Help() string {
	return `Hands a machine over to its owner. That is refused while a check before hand-over is open, unless a reason and a name are given, which are kept. The owner's checks count from then on.

Example:
  roundsman job handover 12
  roundsman job handover 12 --override "owner takes it to his own mechanic" --by "Pat Lee"`
}

func (cmd jobHandoverCmd) Run(c *call) error {
	return c.with(func(a *app.App) error {
		w, err := handOver(c, a, cmd.whoFlags, cmd.Job, cmd.Override, cmd.typed())
		if said, err := cmd.asJSON(c, w, err); said {
			return err
		}
		return tellHanded(c.out, w)
	})
}

func handOver(c *call, a *app.App, who whoFlags, id, override string, typed scheduler.TypedMeters) (w models.WholeJob, err error) {
	h := job.Hand{By: who.by(), Why: override, Who: who.By}
	if h.On, err = who.day(c, a); err != nil {
		return w, err
	}
	return a.Jobs().HandOver(c.ctx, who.act(c), id, h, typed)
}

func tellHanded(out io.Writer, w models.WholeJob) error {
	fmt.Fprintf(out, "Job %s: the machine is handed over.\n", w.Job.ID)
	if w.Job.OverrideWhy != "" {
		fmt.Fprintf(out, "Open checks were passed over by %s: %s.\n", w.Job.OverrideBy, w.Job.OverrideWhy)
	}
	for _, k := range w.Checks {
		if k.Check.Kind == models.CheckOwner && k.Check.Turn == w.Job.Turn && k.Open() {
			fmt.Fprintf(out, "The owner will be asked by %s at the latest: %s\n", job.AskOn(k.Check, nil, nil), k.Check.QuestionEN)
		}
	}
	return nil
}

type jobCloseCmd struct {
	Job      string `arg:"" help:"Number of the job."`
	Override string `help:"Reason for handing over with a check before hand-over open; needs --by. It is kept." placeholder:"REASON"`
	finishFlags
	whoFlags
}

func (jobCloseCmd) Help() string {
	return `Takes a job as far as it goes: says that its work is done, and hands the machine over when no check before hand-over is open. When one is, the job is done and not handed over, and the command ends with 3; given again while one is open, with 2.

Example:
  roundsman job close 12 --correction "new belt" --miles 6121`
}

func (cmd jobCloseCmd) Run(c *call) error {
	return c.with(func(a *app.App) error {
		w, err := a.Store.Job(c.ctx, cmd.Job)
		if err != nil {
			return err
		}
		begun := w.Job.State.Begun()
		if begun {
			if w, err = cmd.done(c, a, cmd.whoFlags, cmd.Job); err != nil {
				return err
			}
		}
		if begun && cmd.Override == "" && len(job.OpenBench(w)) > 0 {
			if cmd.JSON {
				if err := printJSON(c.out, jobJSON(w)); err != nil {
					return err
				}
				return errPartial
			}
			fmt.Fprintf(c.out, "Job %s is done, and the machine is not handed over.\n", w.Job.ID)
			if err := tellBench(c.out, w); err != nil {
				return err
			}
			return errPartial
		}
		if w, err = handOver(c, a, cmd.whoFlags, cmd.Job, cmd.Override, scheduler.TypedMeters{}); err != nil {
			return err
		}
		if cmd.JSON {
			return printJSON(c.out, jobJSON(w))
		}
		return tellHanded(c.out, w)
	})
}

type jobBackCmd struct {
	Job   string `arg:"" help:"Number of the job."`
	Words string `help:"What is said." placeholder:"TEXT"`
	whoFlags
}

func (jobBackCmd) Help() string {
	return `Reopens a job whose complaint came back. The job goes on with its next turn, the shop is told at once, and the work counts as a comeback.

Example:
  roundsman job back 12 --words "same as before, after ten miles" --by "Ada Cole"`
}

func (cmd jobBackCmd) Run(c *call) error {
	return c.with(func(a *app.App) error {
		on, err := cmd.day(c, a)
		if err != nil {
			return err
		}
		_, w, err := a.Jobs().Do(c.ctx, cmd.act(c), cmd.Job, "back", func(k scheduler.Known) (models.JobChange, error) {
			return job.Reopen(k.Job, job.Back{On: on, By: cmd.by(), Words: cmd.Words})
		})
		if said, err := cmd.asJSON(c, w, err); said {
			return err
		}
		fmt.Fprintf(c.out, "Job %s is reopened (attempt %d).\n", w.Job.ID, w.Job.Turn)
		return nil
	})
}

type jobAmendCmd struct {
	Job        string   `arg:"" help:"Number of the job."`
	Complaint  string   `help:"What is wrong." placeholder:"TEXT"`
	Cause      string   `help:"What was found." placeholder:"TEXT"`
	Correction string   `help:"What was done about it." placeholder:"TEXT"`
	Code       []string `help:"Trouble codes; they take the place of those noted." placeholder:"CODE,..."`
	whoFlags
}

func (jobAmendCmd) Help() string {
	return `Corrects the words of a job. What is not given stays, and the old words are kept in the job's history.

Example:
  roundsman job amend 12 --cause "thermostat stuck half open"`
}

func (cmd jobAmendCmd) Run(c *call) error {
	codes, err := codesFlag(cmd.Code)
	if err != nil {
		return err
	}
	return c.with(func(a *app.App) error {
		before, w, err := a.Jobs().Do(c.ctx, cmd.act(c), cmd.Job, "amend", func(k scheduler.Known) (models.JobChange, error) {
			return job.Amend(k.Job, cmd.Complaint, cmd.Cause, cmd.Correction, codes)
		})
		if said, err := cmd.asJSON(c, w, err); said {
			return err
		}
		if w.Job.Row == before.Job.Row {
			fmt.Fprintln(c.out, "Nothing new.")
			return nil
		}
		fmt.Fprintf(c.out, "Job %s is corrected.\n", w.Job.ID)
		return nil
	})
}

type jobWithdrawCmd struct {
	Job string `arg:"" help:"Number of the job."`
	Why string `help:"Why." required:"" placeholder:"TEXT"`
	whoFlags
}

func (jobWithdrawCmd) Help() string {
	return `Takes out a job that was opened by mistake. It is kept, with the reason, and counts for nothing.

Example:
  roundsman job withdraw 12 --why "opened twice"`
}

func (cmd jobWithdrawCmd) Run(c *call) error {
	return c.with(func(a *app.App) error {
		_, w, err := a.Jobs().Do(c.ctx, cmd.act(c), cmd.Job, "withdraw", func(k scheduler.Known) (models.JobChange, error) {
			return job.Withdraw(k.Job, cmd.Why)
		})
		if said, err := cmd.asJSON(c, w, err); said {
			return err
		}
		fmt.Fprintf(c.out, "Job %s is withdrawn.\n", w.Job.ID)
		return nil
	})
}
