package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/cmd/roundsman/picture"
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/sheet"
)

type sheetCmd struct {
	Tag       string   `arg:"" help:"Machine: its id, its tag, or owner/tag."`
	Complaint string   `help:"What is wrong, where no job says so yet." placeholder:"TEXT"`
	Item      []string `help:"Items that are to be done, where no job says so yet." placeholder:"ITEM,..."`
	Chart     string   `help:"Draw its use, and what falls due, into an .svg file instead." placeholder:"FILE"`
	Meter     string   `help:"With --chart: miles or hours (default: the one with the most readings)." placeholder:"METER"`
	JSON      bool     `name:"json" help:"Print the sheet as JSON."`
	atFlag
}

func (sheetCmd) Help() string {
	return `Tells everything about one machine before a job, on one page: what was done last, what may be a comeback, what to do while it is apart, what to buy, open checks, history, parts with their age, and cautions.

Example:
  roundsman sheet R12
  roundsman sheet R12 --complaint "runs hot on hills"
  roundsman sheet R12 --item thermostat --json
  roundsman sheet R12 --chart r12.svg`
}

func (cmd sheetCmd) Run(c *call) error {
	return c.withMachine(cmd.Tag, func(a *app.App, m models.Machine) (err error) {
		for i := range cmd.Item {
			if cmd.Item[i], err = a.FindItem(c.ctx, cmd.Item[i]); err != nil {
				return err
			}
		}
		at, err := cmd.time(c.clock, a.Runner.Notify.Zone)
		if err != nil {
			return err
		}
		if cmd.Chart != "" {
			return cmd.draw(c, a, m, at)
		}
		s, err := a.Sheet(c.ctx, m.ID, at, app.Planned{Complaint: cmd.Complaint, Items: cmd.Item})
		if err != nil {
			return err
		}
		if cmd.JSON {
			return printJSON(c.out, s)
		}
		page := a.SheetLayout()
		page.Width, _ = c.width()
		_, err = io.WriteString(c.out, sheet.Text(s, page))
		return err
	})
}

// draw writes the picture of the machine's use, whole or not at all.
func (cmd sheetCmd) draw(c *call, a *app.App, m models.Machine, at time.Time) error {
	if !strings.EqualFold(filepath.Ext(cmd.Chart), ".svg") {
		return models.Errorf(models.CodeInvalid, "end the file's name in .svg", "--chart %q: the picture is an SVG", cmd.Chart)
	}
	switch models.Meter(cmd.Meter) {
	case "", models.Odometer, models.HourMeter:
	default:
		return models.Errorf(models.CodeInvalid, "write miles or hours", "--meter %q is no meter", cmd.Meter)
	}
	u, err := a.Chart(c.ctx, m.ID, models.Meter(cmd.Meter), at, "en")
	if err != nil {
		return err
	}
	if err := writeFile(cmd.Chart, []byte(u.Draw(picture.English()))); err != nil {
		return err
	}
	_, err = fmt.Fprintf(c.out, "Drew %s into %s.\n", m.Label(), cmd.Chart)
	return err
}
