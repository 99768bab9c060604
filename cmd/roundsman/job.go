package main

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
	"example.org/roundsman/scheduler/job"
)

type jobCmd struct {
	Open      jobOpenCmd      `cmd:"" help:"Open a job with its complaint."`
	Line      jobLineCmd      `cmd:"" help:"Write down a thing done: an item or a repair."`
	Part      jobPartCmd      `cmd:"" help:"Write down a part that was fitted."`
	Done      jobDoneCmd      `cmd:"" help:"Say that the work is done: records its services and sets its checks."`
	Handover  jobHandoverCmd  `cmd:"" help:"Hand the machine over to its owner."`
	Close     jobCloseCmd     `cmd:"" help:"Say that the work is done, and hand over when no check before hand-over is open."`
	Back      jobBackCmd      `cmd:"" help:"Reopen a job: its complaint came back."`
	Amend     jobAmendCmd     `cmd:"" help:"Correct the words of a job."`
	Withdraw  jobWithdrawCmd  `cmd:"" help:"Take out a job that was opened by mistake."`
	List      jobListCmd      `cmd:"" help:"List jobs."`
	Show      jobShowCmd      `cmd:"" help:"Show one job with all that hangs on it."`
	Comebacks jobComebacksCmd `cmd:"" help:"Count how often work came back, by item, part or technician."`
}

// whoFlags say who acts, and when.
type whoFlags struct {
	By   string `help:"Who does it (default: the user)." placeholder:"NAME"`
	On   string `help:"Day on which it is done (default: today)." placeholder:"DATE"`
	JSON bool   `name:"json" help:"Print the job as JSON."`
}

func (f whoFlags) by() string {
	if by := strings.TrimSpace(f.By); by != "" {
		return by
	}
	return userName()
}

// asJSON prints the job after an act where JSON is asked for. said is true when
// nothing is left to say, also after an error.
func (f whoFlags) asJSON(c *call, w models.WholeJob, failed error) (said bool, err error) {
	switch {
	case failed != nil:
		return true, failed
	case f.JSON:
		return true, printJSON(c.out, jobJSON(w))
	}
	return false, nil
}

// day gives the day of the flags; none may lie after today.
func (f whoFlags) day(c *call, a *app.App) (models.Date, error) {
	today := models.DateOf(c.clock.Now().In(a.Runner.Notify.Zone))
	if f.On == "" {
		return today, nil
	}
	on, err := models.ParseDate(f.On)
	if err != nil {
		return 0, models.Errorf(models.CodeInvalid, "", "--on %v", err)
	}
	if on > today {
		return 0, models.Errorf(models.CodeInvalid, "give today or an earlier day", "--on %s lies after today, %s", on, today)
	}
	return on, nil
}

func (f whoFlags) act(c *call) scheduler.Act {
	return scheduler.Act{At: c.clock.Now(), By: f.by(), Means: "job"}
}

// meterFlags say what the meters show.
type meterFlags struct {
	Miles *string `help:"What the odometer shows: miles, or kilometers where it shows those; \"about 6100\" for a guess." placeholder:"N"`
	Hours *string `help:"What the hour meter shows." placeholder:"N"`
	Sure  bool    `help:"The meter is right, however it looks."`
}

func (f meterFlags) typed() scheduler.TypedMeters { return typedMeters(f.Miles, f.Hours, f.Sure) }

// typedMeters gives what was typed for the meters.
func typedMeters(miles, hours *string, sure bool) scheduler.TypedMeters {
	t := scheduler.TypedMeters{Sure: sure}
	for _, v := range []struct {
		from *string
		into *string
	}{{miles, &t.Miles}, {hours, &t.Hours}} {
		if v.from != nil {
			*v.into = *v.from
		}
	}
	return t
}

func numberFlag(flag string, text *string) (models.Number, error) {
	if text == nil {
		return models.Number{}, nil
	}
	n, err := models.ParseNumber(*text)
	if err == nil && !n.Known {
		err = models.ErrNotANumber
	}
	if err != nil {
		return n, models.Errorf(models.CodeInvalid, "write a plain number, such as 6120.4", "%s %q %v", flag, *text, err)
	}
	return n, nil
}

func codesFlag(codes []string) (models.FaultCodes, error) {
	c, err := models.ParseFaultCodes(strings.Join(codes, ","))
	if err != nil {
		return "", models.Errorf(models.CodeInvalid, "", "--code %v", err)
	}
	return c, nil
}

type jobOpenCmd struct {
	Tag       string   `arg:"" help:"Machine: its id, its tag, or owner/tag."`
	Complaint string   `help:"What is wrong, in the owner's words (none: planned service)." placeholder:"TEXT"`
	Code      []string `help:"Trouble codes: P0128 (SAE J2012), or \"SPN 110 FMI 16\" (SAE J1939)." placeholder:"CODE,..."`
	BackOf    string   `help:"Earlier job whose complaint this is again." placeholder:"JOB"`
	meterFlags
	whoFlags
}

func (jobOpenCmd) Help() string {
	return `Opens a job. Earlier complaints of the machine that look like this one are named: it may be a comeback.

Example:
  roundsman job open R12 --complaint "runs hot on hills" --miles 6120.4 --code P0217`
}

func (cmd jobOpenCmd) Run(c *call) error {
	return c.withMachine(cmd.Tag, func(a *app.App, m models.Machine) (err error) {
		o := job.Opening{Machine: m, By: cmd.by(), Complaint: cmd.Complaint}
		if o.On, err = cmd.day(c, a); err != nil {
			return err
		}
		if o.Codes, err = codesFlag(cmd.Code); err != nil {
			return err
		}
		if cmd.BackOf != "" {
			b, err := a.Store.Job(c.ctx, cmd.BackOf)
			if err != nil {
				return err
			}
			o.BackOf = &b
		}
		w, err := a.Jobs().Open(c.ctx, cmd.act(c), o, cmd.typed())
		if err != nil {
			return err
		}
		s, err := a.Sheet(c.ctx, m.ID, c.clock.Now(), app.Planned{})
		if said, err := cmd.asJSON(c, w, err); said {
			return err
		}
		fmt.Fprintf(c.out, "Opened job %s on %s.\n", w.Job.ID, m.Label())
		for _, l := range s.Alike {
			if w.Job.BackOf == "" {
				fmt.Fprintf(c.out, "It looks like job %s, %d days ago (%s): a comeback? Then `roundsman job back %s` is better.\n",
					l.Job, l.Days, strings.Join(l.Why, "; "), l.Job)
			}
		}
		fmt.Fprintf(c.out, "`roundsman sheet %s` tells the machine's story.\n", m.Label())
		return nil
	})
}

type jobLineCmd struct {
	Job     string `arg:"" help:"Number of the job."`
	Item    string `help:"Item of service that was done." placeholder:"ITEM"`
	Repair  string `help:"Repair that was done, in words." placeholder:"TEXT"`
	Note    string `help:"A remark on the item." placeholder:"TEXT"`
	Minutes int    `help:"Minutes that it took." placeholder:"N"`
	Cooling *bool  `negatable:"" help:"The cooling system was (or was not) opened; by default the item or the words of the repair say so."`
	Drop    int    `help:"Take out a line that was entered by mistake." placeholder:"LINE"`
	whoFlags
}

func (jobLineCmd) Help() string {
	return `Writes down one thing done: an item of service, which begins its interval anew when the job is done, or a repair in words.

Example:
  roundsman job line 12 --item thermostat --minutes 40
  roundsman job line 12 --repair "cleaned the radiator fins"
  roundsman job line 12 --drop 2`
}

func (cmd jobLineCmd) Run(c *call) error {
	return c.with(func(a *app.App) error {
		if cmd.Item != "" && cmd.Repair != "" {
			return models.Errorf(models.CodeInvalid, "write two lines", "--item and --repair are two things done")
		}
		item, err := a.FindItem(c.ctx, cmd.Item)
		if err != nil {
			var none *models.Error
			if errors.As(err, &none) {
				none.Remedy += "; what is none of them is a repair (--repair)"
			}
			return err
		}
		what := cmd.Repair
		if cmd.Item != "" {
			what = cmd.Note
		}
		_, w, err := a.Jobs().Do(c.ctx, cmd.act(c), cmd.Job, "line", func(k scheduler.Known) (models.JobChange, error) {
			if cmd.Drop != 0 {
				return job.DropLine(k.Job, cmd.Drop)
			}
			return job.AddLine(k.Job, k.Machine, k.Defs, job.Work{Item: item, What: what, By: cmd.by(), Minutes: cmd.Minutes, Cooling: cmd.Cooling})
		})
		if said, err := cmd.asJSON(c, w, err); said {
			return err
		}
		if cmd.Drop != 0 {
			fmt.Fprintf(c.out, "Job %s: line %d is taken out.\n", w.Job.ID, cmd.Drop)
			return nil
		}
		l := w.Lines[len(w.Lines)-1]
		fmt.Fprintf(c.out, "Job %s, line %d: %s.", w.Job.ID, l.Line, l.Title("en"))
		if l.Cooling {
			fmt.Fprint(c.out, " It opens the cooling system: checks before hand-over come with it.")
			if l.Item == "" {
				fmt.Fprintf(c.out, "\nIf not, take it out with --drop %d and write it again with --no-cooling.", l.Line)
			}
		}
		fmt.Fprintln(c.out)
		if l.Cooling {
			warnCold(c.out)
		}
		return nil
	})
}

type jobPartCmd struct {
	Job        string   `arg:"" help:"Number of the job."`
	Name       string   `help:"What it is." placeholder:"TEXT"`
	Number     string   `help:"The maker's number." placeholder:"TEXT"`
	Maker      string   `help:"Who makes it." placeholder:"TEXT"`
	Equivalent []string `help:"Other makers' numbers of the same part." placeholder:"NUMBER,..."`
	Qty        *string  `help:"How many (default: 1)." placeholder:"N"`
	Cost       *string  `help:"Price of one, in dollars." placeholder:"N.NN"`
	Place      string   `help:"Where it was fitted." placeholder:"TEXT"`
	Line       int      `help:"Line of the job that it was needed for." placeholder:"LINE"`
	Drop       int      `help:"Take out a part that was entered by mistake." placeholder:"PART"`
	whoFlags
}

func (jobPartCmd) Help() string {
	return `Writes down one part that was fitted. The sheet shows its age and, the next time its line's item is due, what to buy.

Example:
  roundsman job part 12 --name thermostat --number TH-82 --maker Alder --equivalent A1,A2 --cost 24.50 --place "head outlet" --line 1`
}

func (cmd jobPartCmd) Run(c *call) error {
	p := models.Part{Name: cmd.Name, Number: cmd.Number, Maker: cmd.Maker, Equivalents: strings.Join(cmd.Equivalent, ", "),
		Place: cmd.Place, Line: cmd.Line}
	var err error
	if p.Qty, err = numberFlag("--qty", cmd.Qty); err != nil {
		return err
	}
	if p.CostCents, err = numberFlag("--cost", cmd.Cost); err != nil {
		return err
	}
	p.CostCents.F = math.Round(p.CostCents.F * 100)
	return c.with(func(a *app.App) error {
		_, w, err := a.Jobs().Do(c.ctx, cmd.act(c), cmd.Job, "part", func(k scheduler.Known) (models.JobChange, error) {
			if cmd.Drop != 0 {
				return job.DropPart(k.Job, cmd.Drop)
			}
			return job.AddPart(k.Job, p)
		})
		if said, err := cmd.asJSON(c, w, err); said {
			return err
		}
		if cmd.Drop != 0 {
			fmt.Fprintf(c.out, "Job %s: part %d is taken out.\n", w.Job.ID, cmd.Drop)
			return nil
		}
		last := w.Parts[len(w.Parts)-1]
		fmt.Fprintf(c.out, "Job %s, part %d: %s.\n", w.Job.ID, last.Part, last.Label())
		return nil
	})
}
