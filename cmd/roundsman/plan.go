package main

import (
	"fmt"
	"time"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/cmd/roundsman/picture"
	"example.org/roundsman/config"
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
	"example.org/roundsman/scheduler/visit"
)

// planCmd gathers what has to do with the downtime plan.
type planCmd struct {
	Show  planShowCmd  `cmd:"" default:"withargs" help:"Show the plan (what plan does without another word)."`
	Post  planPostCmd  `cmd:"" help:"Record the plan as what people are shown; moving its visits has a price from then on."`
	Keep  planKeepCmd  `cmd:"" help:"Agree a machine's planned visit: it stays, and its owner gets an invitation."`
	Move  planMoveCmd  `cmd:"" help:"Put a machine's visit on another day, agree it there and tell its owner."`
	Drop  planDropCmd  `cmd:"" help:"Take a recorded visit out and tell its owner, if that was told of it."`
	Solve planSolveCmd `cmd:"" help:"Solve a planning problem from a file in the exchange format."`
}

func (planCmd) Help() string {
	return `Which machine stops on which day in which bay, what is done at each stop, and why on that day.

The plan is worked out anew each time from the facts. Agreed visits stay; what people were shown ("plan post", or a calendar written with --ics) moves only where that is worth its price.

Example:
  roundsman plan --days 90
  roundsman plan keep R12
  roundsman plan move R12 --to 2026-06-11
  roundsman plan --ics visits.ics --owner mesa`
}

// planFlags say which plan is meant.
type planFlags struct {
	atFlag
	sureFlag
	From   string `help:"First day of the plan (default: today)." placeholder:"DATE"`
	Days   int    `help:"How many days it reaches (default: from the settings)." placeholder:"N"`
	Budget string `help:"Search for so long, such as 30s, instead of a fixed number of steps." placeholder:"TIME"`
}

// planSteps is how long a plan is searched for: the same steps give the same
// plan on every machine, so that a plan does not change by itself.
const planSteps = 400

// planner readies the planner, the time and the days that the flags say; writes
// says that something is recorded.
func (f planFlags) planner(c *call, a *app.App, writes bool) (*scheduler.Planner, time.Time, scheduler.Span, error) {
	at, err := f.time(c.clock, a.Runner.Notify.Zone)
	if err != nil {
		return nil, at, scheduler.Span{}, err
	}
	if writes {
		if err := f.aheadOf(c.clock, at); err != nil {
			return nil, at, scheduler.Span{}, err
		}
	}
	span := scheduler.Span{Days: f.Days}
	if f.Days == 0 {
		span.Days = a.Settings.Plan.Days
	}
	if f.From != "" {
		if span.From, err = models.ParseDate(f.From); err != nil {
			return nil, at, span, models.Errorf(models.CodeInvalid, "", "--from %v", err)
		}
	}
	search := visit.Options{Seed: 1, Steps: planSteps, Parallel: sideBySide}
	if f.Budget != "" {
		d, err := config.ParseDuration(f.Budget)
		if err != nil || d <= 0 {
			return nil, at, span, models.Errorf(models.CodeInvalid, "write a length of time, such as 10s", "--budget %q is no length of time", f.Budget)
		}
		w := newStopwatch(c, c.clock.Now(), d.Std())
		search.Steps, search.Spent, search.Used = 0, w.spent, w.used
	}
	p, err := a.Planner(search)
	return p, at, span, err
}

type planShowCmd struct {
	planFlags
	Owner string `help:"Only one owner's machines: its id." placeholder:"OWNER"`
	Site  string `help:"Only machines kept at a site." placeholder:"SITE"`
	JSON  bool   `name:"json" help:"Print the plan as JSON." xor:"form"`
	ICS   string `name:"ics" help:"Post the plan and write the calendar of its visits into a file." placeholder:"FILE" xor:"form"`
	SVG   string `name:"svg" help:"Write a picture of the plan into a file." placeholder:"FILE" xor:"form"`
}

func (planShowCmd) Help() string {
	return `Shows a strip for each month (how full the shop is, and how many machines of each place are out on each day) and the visits one by one: what is done, why on that day, and what the next-best day would cost.

A calendar goes to people, so --ics posts the plan first: planned visits are recorded and stand in the calendar as tentative, agreed ones as confirmed, dropped ones as cancelled.

Example:
  roundsman plan
  roundsman plan --from 2026-06-01 --days 30 --json
  roundsman plan --svg plan.svg`
}

func (cmd planShowCmd) Run(c *call) error {
	return c.with(func(a *app.App) error {
		owner, err := findOwner(c, a, cmd.Owner)
		if err != nil {
			return err
		}
		cmd.Owner = owner
		p, at, span, err := cmd.planner(c, a, cmd.ICS != "")
		if err != nil {
			return err
		}
		plan, err := p.Plan(c.ctx, at, span)
		if err != nil {
			return err
		}
		if cmd.ICS != "" {
			return cmd.calendar(c, a, p, plan, at)
		}
		cmd.filter(&plan)
		switch {
		case cmd.JSON:
			return printJSON(c.out, planJSON(plan))
		case cmd.SVG != "":
			if err := writeFile(cmd.SVG, []byte(picture.StripOf("Downtime plan of "+a.Settings.Shop.Name, plan.Outcome, planPage{plan: plan}.siteName, itemWords).Draw())); err != nil {
				return err
			}
			fmt.Fprintf(c.out, "Wrote a picture of %s into %s.\n", plural(len(plan.Stops), "visit", "visits"), cmd.SVG)
			return nil
		}
		width, ok := c.width()
		if !ok {
			width = 80
		}
		return planPage{plan: plan, width: max(width, leastPlanWidth)}.draw(c.out)
	})
}

// filter leaves only the visits asked for; how full the shop is stays that of
// all.
func (cmd planShowCmd) filter(plan *scheduler.Plan) {
	wanted := func(m models.Machine, site string) bool {
		return (cmd.Owner == "" || m.Owner == cmd.Owner) && (cmd.Site == "" || site == cmd.Site)
	}
	stops, left := plan.Stops[:0:0], plan.Left[:0:0]
	for _, s := range plan.Stops {
		if wanted(s.Machine, s.Site) {
			stops = append(stops, s)
		}
	}
	for _, l := range plan.Left {
		if wanted(l.Machine, l.Machine.Site) {
			left = append(left, l)
		}
	}
	plan.Stops, plan.Left = stops, left
}

// calendar posts the plan and writes the feed.
func (cmd planShowCmd) calendar(c *call, a *app.App, p *scheduler.Planner, plan scheduler.Plan, at time.Time) error {
	n, err := p.Post(c.ctx, at, plan, userName())
	if err != nil {
		return err
	}
	feed, err := a.Feed(c.ctx, app.FeedOf{Owner: cmd.Owner, Site: cmd.Site}, at)
	if err != nil {
		return err
	}
	if err := writeFile(cmd.ICS, []byte(feed)); err != nil {
		return err
	}
	fmt.Fprintf(c.out, "Posted the plan (%s written) and wrote the calendar into %s.\n", plural(n, "visit", "visits"), cmd.ICS)
	return nil
}

type planPostCmd struct{ planFlags }

func (planPostCmd) Help() string {
	return `Records the visits of the plan as planned: each gets a number and a calendar entry of its own. Nobody is written to. From then on a visit moves only where that is worth what moving costs.

Example:
  roundsman plan post`
}

func (cmd planPostCmd) Run(c *call) error {
	return c.with(func(a *app.App) error {
		p, at, span, err := cmd.planner(c, a, true)
		if err != nil {
			return err
		}
		plan, err := p.Plan(c.ctx, at, span)
		if err != nil {
			return err
		}
		n, err := p.Post(c.ctx, at, plan, userName())
		if err != nil {
			return err
		}
		fmt.Fprintf(c.out, "%s in the plan, %s written.\n", plural(len(plan.Stops), "visit", "visits"), plural(n, "visit", "visits"))
		return nil
	})
}
