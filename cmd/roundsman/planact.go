package main

import (
	"fmt"
	"time"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
)

// planActFlags name a machine's visit.
type planActFlags struct {
	planFlags
	Tag  string `arg:"" help:"Machine: its id, its tag, or owner/tag."`
	On   string `help:"First day of the visit meant, where the machine has several." placeholder:"DATE"`
	JSON bool   `name:"json" help:"Print the outcome as JSON."`
}

// on reads --on.
func (f planActFlags) on() (models.Date, error) {
	if f.On == "" {
		return 0, nil
	}
	d, err := models.ParseDate(f.On)
	if err != nil {
		return 0, models.Errorf(models.CodeInvalid, "", "--on %v", err)
	}
	return d, nil
}

// meant is the visit that a command means, with the planner to change it.
type meant struct {
	planner *scheduler.Planner
	at      time.Time
	span    scheduler.Span
	machine models.Machine
	on      models.Date
}

// act finds the visit that is meant, changes it and says what came of it.
func (f planActFlags) act(c *call, change func(meant) (scheduler.VisitResult, error)) error {
	on, err := f.on()
	if err != nil {
		return err
	}
	return c.withMachine(f.Tag, func(a *app.App, m models.Machine) error {
		p, at, span, err := f.planner(c, a, true)
		if err != nil {
			return err
		}
		told, err := change(meant{planner: p, at: at, span: span, machine: m, on: on})
		if err != nil {
			return err
		}
		return f.tell(c, told)
	})
}

type planKeepCmd struct{ planActFlags }

func (planKeepCmd) Help() string {
	return `Agrees the visit that is planned for a machine: its day is locked, and the owner's people get a message; mails carry an invitation for their calendars.

Example:
  roundsman plan keep R12
  roundsman plan keep lodge/U1 --on 2026-06-09`
}

func (cmd planKeepCmd) Run(c *call) error {
	return cmd.act(c, func(v meant) (scheduler.VisitResult, error) {
		return v.planner.Keep(c.ctx, v.at, v.machine, v.on, v.span, userName())
	})
}

type planMoveCmd struct {
	planActFlags
	To  string `required:"" help:"The new first day." placeholder:"DATE"`
	Bay string `help:"In this bay (default: the same, else any with room)." placeholder:"BAY"`
}

func (planMoveCmd) Help() string {
	return `Puts a machine's visit on another day and agrees it there. A day on which it cannot be (closed, full, or the machine cannot be spared) is refused with the reason. The owner's people get a message; mails carry the new version of the calendar entry.

Example:
  roundsman plan move R12 --to 2026-06-11`
}

func (cmd planMoveCmd) Run(c *call) error {
	to, err := models.ParseDate(cmd.To)
	if err != nil {
		return models.Errorf(models.CodeInvalid, "", "--to %v", err)
	}
	return cmd.act(c, func(v meant) (scheduler.VisitResult, error) {
		return v.planner.Move(c.ctx, v.at, v.machine, v.on, to, cmd.Bay, v.span, userName())
	})
}

type planDropCmd struct {
	planActFlags
	Why string `help:"Why, for the record." default:"dropped by hand" placeholder:"TEXT"`
}

func (planDropCmd) Help() string {
	return `Takes a recorded visit out of the plan. Where its owner was told of it, the message takes it out of the calendars too. What was to be done stays due, and the next plan finds another day for it.

Example:
  roundsman plan drop R12 --why "sold"`
}

func (cmd planDropCmd) Run(c *call) error {
	return cmd.act(c, func(v meant) (scheduler.VisitResult, error) {
		return v.planner.Drop(c.ctx, v.at, v.machine, v.on, cmd.Why, userName())
	})
}

// toldJSON is the outcome of an act for a script.
type toldJSON struct {
	Visit    string             `json:"visit"`
	UID      string             `json:"uid"`
	Sequence int                `json:"sequence"`
	Machine  string             `json:"machine"`
	Tag      string             `json:"tag"`
	State    models.VisitState  `json:"state"`
	Day      models.Date        `json:"day"`
	Until    models.Date        `json:"until"`
	WasOn    models.Date        `json:"was_on"`
	Bay      string             `json:"bay"`
	Items    []string           `json:"items"`
	Minutes  int                `json:"minutes"`
	Messages []toldMessageJSON  `json:"messages"`
	Untold   []untoldPersonJSON `json:"untold"`
}

type toldMessageJSON struct {
	ID      int64          `json:"id"`
	Contact string         `json:"contact"`
	Channel models.Channel `json:"channel"`
}

type untoldPersonJSON struct {
	Contact string        `json:"contact"`
	Why     models.Reason `json:"why"`
}

// tell says what an act left, and who hears of it.
func (f planActFlags) tell(c *call, t scheduler.VisitResult) error {
	v := t.Visit
	if f.JSON {
		out := toldJSON{v.ID, v.UID, v.Sequence, v.Machine, t.Machine.Tag, v.State, v.On, v.Until, v.WasOn, v.Bay, v.Items.List(), v.Minutes,
			[]toldMessageJSON{}, []untoldPersonJSON{}}
		for _, m := range t.Queued {
			out.Messages = append(out.Messages, toldMessageJSON{m.ID, m.Contact, m.Channel})
		}
		for _, n := range t.Untold {
			out.Untold = append(out.Untold, untoldPersonJSON{n.Contact, n.Why})
		}
		return printJSON(c.out, out)
	}
	day, work := v.On.Format("Monday, January 2, 2006"), models.ItemNames(v.Items, "en")
	if v.State == models.VisitDropped {
		fmt.Fprintf(c.out, "%s: visit %s on %s is dropped (%s).\n", t.Machine.Label(), v.ID, day, work)
	} else {
		fmt.Fprintf(c.out, "%s: visit %s is agreed for %s, bay %s (%s).\n", t.Machine.Label(), v.ID, day, v.Bay, work)
		if !v.WasOn.IsZero() && v.WasOn != v.On {
			fmt.Fprintf(c.out, "Its owner had been told %s.\n", v.WasOn.Format("January 2"))
		}
	}
	for _, m := range t.Queued {
		fmt.Fprintf(c.out, "A message to %s is in the outbox (%s).\n", m.Contact, m.Channel)
	}
	for _, n := range t.Untold {
		who := n.Contact
		if who == "" {
			who = "Nobody"
		}
		fmt.Fprintf(c.out, "%s is not told: %s.\n", who, n.Why)
	}
	return nil
}
