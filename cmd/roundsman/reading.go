package main

import (
	"errors"
	"fmt"
	"os/user"
	"strings"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
)

type readingCmd struct {
	Tag    string  `arg:"" help:"Machine: its id, its tag, or owner/tag."`
	Miles  *string `help:"What the odometer shows: miles, or kilometers where it shows those; \"about 6100\" for a guess." placeholder:"N"`
	Hours  *string `help:"What the hour meter shows." placeholder:"N"`
	On     string  `help:"Day of the reading (default: today)." placeholder:"DATE"`
	Source string  `help:"Who read it: shop, owner, rental ..." default:"shop"`
	Sure   bool    `help:"It is right, however it looks."`
	JSON   bool    `name:"json" help:"Print the outcome as JSON."`
}

func (readingCmd) Help() string {
	return `Records what a machine's meters show. A reading that does not fit what is known is not recorded: the command says why, and what the meter probably showed; --sure records it all the same.

Example:
  roundsman reading R12 --miles 6120.4
  roundsman reading R12 --miles "about 6100"
  roundsman reading ranch/R12 --hours 412.5 --on 2026-10-31 --source owner`
}

func (cmd readingCmd) Run(c *call) error {
	return c.withMachine(cmd.Tag, func(a *app.App, m models.Machine) error {
		e, err := cmd.entry(m, models.DateOf(c.clock.Now().In(a.Runner.Notify.Zone)))
		if err != nil {
			return err
		}
		rs, changed, err := a.Readings().Enter(c.ctx, e, models.Entry{
			RecordedAt: models.InstantOf(c.clock.Now()), Actor: userName(), Means: "reading"})
		if cmd.JSON {
			return errors.Join(cmd.printJSON(c, e, rs, changed, err), err)
		}
		switch {
		case err != nil:
			return err
		case !changed:
			fmt.Fprintf(c.out, "%s: that reading is recorded already.\n", m.Label())
		default:
			fmt.Fprintf(c.out, "%s: recorded %s on %s.\n", m.Label(), shown(m, rs), e.On)
		}
		return nil
	})
}

type readingJSON struct {
	Machine  string        `json:"machine"`
	At       models.Date   `json:"at"`
	Miles    models.Number `json:"miles"`
	Hours    models.Number `json:"hours"`
	Source   string        `json:"source"`
	Recorded bool          `json:"recorded"`
	Doubt    models.Reason `json:"doubt,omitempty"`
}

// printJSON prints the outcome where the reading was recorded, known or
// doubtful.
func (cmd readingCmd) printJSON(c *call, e scheduler.MeterEntry, rs []models.Reading, changed bool, err error) error {
	out := readingJSON{Machine: e.Machine.ID, At: e.On, Source: e.Source, Recorded: changed}
	for _, r := range rs {
		out.Miles.F, out.Miles.Known = out.Miles.F+r.Miles.F, out.Miles.Known || r.Miles.Known
		out.Hours.F, out.Hours.Known = out.Hours.F+r.Hours.F, out.Hours.Known || r.Hours.Known
	}
	var doubt *models.DoubtfulReading
	switch {
	case errors.As(err, &doubt):
		out.Doubt = doubt.Reason
		if out.Miles = doubt.Shown; doubt.Meter == models.HourMeter {
			out.Miles, out.Hours = models.Number{}, doubt.Shown
		}
	case err != nil:
		return nil
	}
	return printJSON(c.out, out)
}

// entry makes of the flags what the door for readings takes.
func (cmd readingCmd) entry(m models.Machine, today models.Date) (scheduler.MeterEntry, error) {
	e := scheduler.MeterEntry{Machine: m, On: today, Today: today, Source: cmd.Source, TypedMeters: typedMeters(cmd.Miles, cmd.Hours, cmd.Sure)}
	if cmd.On == "" {
		return e, nil
	}
	on, err := models.ParseDate(cmd.On)
	if err != nil {
		return e, models.Errorf(models.CodeInvalid, "", "--on %v", err)
	}
	e.On = on
	return e, nil
}

// shown writes the values of readings with their units.
func shown(m models.Machine, rs []models.Reading) string {
	var parts []string
	for _, r := range rs {
		for _, meter := range []models.Meter{models.Odometer, models.HourMeter} {
			if v := r.Value(meter); v.Known {
				text := v.String() + " " + m.Meters.Unit(meter)
				if r.Width.Known {
					text = "about " + text
				}
				parts = append(parts, text)
			}
		}
	}
	return strings.Join(parts, " and ")
}

// userName gives the name of the person at the keyboard, for the record of
// who entered what.
func userName() string {
	u, err := user.Current()
	if err != nil || u.Username == "" {
		return "somebody"
	}
	return u.Username
}
