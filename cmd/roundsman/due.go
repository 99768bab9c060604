package main

import (
	"fmt"
	"strconv"
	"strings"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
	"example.org/roundsman/scheduler/calendar"
)

type dueCmd struct {
	atFlag
	Within string   `help:"Only what is due within a time from today: days, weeks or months (60d, 8w, 2m); what is due already is always shown." placeholder:"TIME"`
	Owner  string   `help:"Only one owner's machines: its id or name."`
	Stage  []string `help:"Only these stages: late, due, coming, unsure, clear (default: all but clear; with --json all)." placeholder:"STAGE,..."`
	JSON   bool     `name:"json" help:"Print the board as JSON."`
}

func (dueCmd) Help() string {
	return `Works out the board from the facts, the most urgent first. Each date is the likely one, with the range in which it lies in 4 cases of 5. "unsure" means that too little is known: a reading or a look helps.

Example:
  roundsman due --within 60d
  roundsman due --stage late,due --owner lodge --json`
}

func (cmd dueCmd) Run(c *call) error {
	stages, err := cmd.stages()
	if err != nil {
		return err
	}
	return c.with(func(a *app.App) error {
		at, err := cmd.time(c.clock, a.Runner.Notify.Zone)
		if err != nil {
			return err
		}
		owner, err := findOwner(c, a, cmd.Owner)
		if err != nil {
			return err
		}
		all, err := scheduler.Board(c.ctx, a.Store, a.Runner.Notify, at)
		if err != nil {
			return err
		}
		if owner != "" {
			all = all.Of(owner)
		}
		today := models.DateOf(at.In(a.Runner.Notify.Zone))
		until, err := cmd.until(today)
		if err != nil {
			return err
		}
		b := board{today: today, view: all}
		for _, l := range all.Lines {
			f := l.Forecast
			if !until.IsZero() && (f.DueOn.IsZero() || f.DueOn > until) {
				continue
			}
			if stages[f.Stage] {
				b.lines = append(b.lines, l)
			} else {
				b.hidden++
			}
		}
		width, ok := c.width()
		if cmd.JSON || !ok {
			b.notes(c.errs)
		}
		if cmd.JSON {
			return printJSON(c.out, boardJSON(b.lines))
		}
		if !ok {
			return b.plain(c.out)
		}
		if len(cmd.Stage) == 0 {
			b.brief = true
			b.leaveOutFar()
		}
		if err := b.draw(c.out, width); err != nil {
			return err
		}
		return tellNobody(c, a, owner)
	})
}

// stages gives the stages to show.
func (cmd dueCmd) stages() (map[models.Stage]bool, error) {
	show := map[models.Stage]bool{}
	for _, s := range cmd.Stage {
		stage := models.Stage(strings.ToLower(strings.TrimSpace(s)))
		if stage.Rank() == len(models.Stages()) {
			return nil, models.Errorf(models.CodeInvalid, "the stages are late, due, coming, unsure and clear", "--stage %q is no stage", s)
		}
		show[stage] = true
	}
	if len(show) == 0 {
		for _, s := range models.Stages() {
			show[s] = cmd.JSON || s != models.StageClear
		}
	}
	return show, nil
}

// until gives the last day of --within; none without it.
func (cmd dueCmd) until(today models.Date) (models.Date, error) {
	if cmd.Within == "" {
		return 0, nil
	}
	unit := cmd.Within[len(cmd.Within)-1]
	n, err := strconv.ParseUint(cmd.Within[:len(cmd.Within)-1], 10, 16)
	switch {
	case err != nil:
	case unit == 'd':
		return today.AddDays(int(n)), nil
	case unit == 'w':
		return today.AddDays(7 * int(n)), nil
	case unit == 'm':
		return calendar.AddMonths(today, int(n)), nil
	}
	return 0, models.Errorf(models.CodeInvalid, "write days, weeks or months, such as 60d, 8w or 2m", "--within %q is no length of time", cmd.Within)
}

// boardRow is one line of the board for a script.
type boardRow struct {
	Owner     string           `json:"owner"`
	Machine   string           `json:"machine"`
	Tag       string           `json:"tag"`
	Item      string           `json:"item"`
	Stage     models.Stage     `json:"stage"`
	Reason    models.Reason    `json:"reason"`
	Detail    string           `json:"detail"`
	Driver    models.Driver    `json:"driver"`
	EarlyOn   models.Date      `json:"early_on"`
	DueOn     models.Date      `json:"due_on"`
	LateOn    models.Date      `json:"late_on"`
	LateOpen  bool             `json:"late_open"`     // it lies after late_on, nobody knows how far
	Job       string           `json:"job,omitempty"` // in which it is being done
	LastOn    models.Date      `json:"last_on"`
	Standing  string           `json:"standing"`        // in_use, laid_up or sold (to the owner)
	Until     models.Date      `json:"until,omitempty"` // of laid_up
	Cycle     int              `json:"cycle"`
	Remaining models.Remaining `json:"remaining"`
	Ask       *boardAsk        `json:"ask"`
}

// boardAsk says what an answer would be worth.
type boardAsk struct {
	Why       string        `json:"why"`
	WorthDays models.Number `json:"worth_days"`
}

func boardJSON(lines []scheduler.BoardLine) []boardRow {
	rows := make([]boardRow, 0, len(lines))
	for _, l := range lines {
		f := l.Forecast
		r := boardRow{
			Owner: l.Machine.Owner, Machine: l.Machine.ID, Tag: l.Machine.Tag, Item: f.Item, Stage: f.Stage,
			Reason: f.Reason, Detail: f.Detail, Driver: f.Driver, EarlyOn: f.EarlyOn, DueOn: f.DueOn, LateOn: f.LateOn, LateOpen: f.LateOpen, Job: l.Job,
			LastOn: f.LastOn, Cycle: f.Cycle, Remaining: f.Remaining,
			Standing: l.Standing.Word(), Until: l.Standing.Until,
		}
		if f.Ask != "" {
			r.Ask = &boardAsk{Why: fmt.Sprintf("ask %s", f.Ask), WorthDays: f.Worth}
		}
		rows = append(rows, r)
	}
	return rows
}
