package main

import (
	"fmt"
	"os/user"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/models"
)

type readingCmd struct {
	Tag    string  `arg:"" help:"Machine: its id, its tag, or owner/tag."`
	Miles  *string `help:"What the odometer shows: miles, or kilometers where it shows those." placeholder:"N"`
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
  roundsman reading ranch/R12 --hours 412.5 --on 2026-10-31 --source owner`
}

func (cmd readingCmd) Run(c *call) error {
	return c.with(func(a *app.App) error {
		m, err := a.Store.FindMachine(c.ctx, cmd.Tag)
		if err != nil {
			return err
		}
		r, err := cmd.reading(m, models.DateOf(c.clock.Now().In(a.Runner.Notify.Zone)))
		if err != nil {
			return err
		}
		doubts, err := a.DoubtOf(c.ctx, r)
		if err != nil {
			return err
		}
		if len(doubts) > 0 && !cmd.Sure {
			return cmd.doubtful(c, m, r, doubts)
		}
		if len(doubts) > 0 {
			r.Standing = models.StandingConfirmed
		}
		done, err := a.Store.Record(c.ctx, models.FactSet{Readings: []models.Reading{r}}, models.Entry{
			RecordedAt: models.InstantOf(c.clock.Now()), Actor: userName(), Means: "reading"})
		if err != nil {
			return err
		}
		if cmd.JSON {
			return printJSON(c.out, readingJSON{m.ID, r.At, r.Miles, r.Hours, r.Source, done.Changed(), ""})
		}
		if !done.Changed() {
			fmt.Fprintf(c.out, "%s: that reading is recorded already.\n", m.Label())
			return nil
		}
		fmt.Fprintf(c.out, "%s: recorded %s on %s.\n", m.Label(), shown(m, r), r.At)
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

// doubtful says why a reading does not fit and how to record it all the same.
func (cmd readingCmd) doubtful(c *call, m models.Machine, r models.Reading, doubts []models.Doubt) error {
	d := doubts[0]
	if cmd.JSON {
		if err := printJSON(c.out, readingJSON{m.ID, r.At, r.Miles, r.Hours, r.Source, false, d.Reason}); err != nil {
			return err
		}
	}
	hint := ""
	if d.Likely.Known {
		hint = fmt.Sprintf(" (it probably showed %s)", d.Likely)
	}
	return models.Errorf(models.CodeDoubtful, "look again, or add --sure if it is right; nothing was recorded",
		"%s of %s is doubtful: %s%s", shown(m, r), m.Label(), d.Reason, hint)
}

// reading makes the reading that the flags say.
func (cmd readingCmd) reading(m models.Machine, today models.Date) (r models.Reading, err error) {
	r = models.Reading{Machine: m.ID, At: today, Source: cmd.Source}
	if cmd.On != "" {
		if r.At, err = models.ParseDate(cmd.On); err != nil {
			return r, models.Errorf(models.CodeInvalid, "", "--on %v", err)
		}
	}
	if r.At > today {
		return r, models.Errorf(models.CodeInvalid, "a reading is of today or earlier", "--on %s lies after today, %s", r.At, today)
	}
	for _, v := range []struct {
		flag  string
		text  *string
		meter models.Meter
		into  *models.Number
	}{{"--miles", cmd.Miles, models.Odometer, &r.Miles}, {"--hours", cmd.Hours, models.HourMeter, &r.Hours}} {
		if v.text == nil {
			continue
		}
		n, err := models.ParseNumber(*v.text)
		if err != nil || !n.Known {
			if err == nil {
				err = models.ErrNotANumber
			}
			return r, models.Errorf(models.CodeInvalid, "write what the meter shows, such as 6120.4", "%s %q %v", v.flag, *v.text, err)
		}
		if !m.Meters.Has(v.meter) {
			return r, models.Errorf(models.CodeInvalid, "leave "+v.flag+" out, or correct the machine's meters",
				"%s has no such meter (its meters: %s)", m.Label(), m.Meters)
		}
		*v.into = n
	}
	if !r.Miles.Known && !r.Hours.Known {
		return r, models.Errorf(models.CodeInvalid, "add --miles N, --hours N or both", "no value is given")
	}
	return r, nil
}

// shown writes a reading's values with their units.
func shown(m models.Machine, r models.Reading) string {
	unit := "mi"
	if m.Meters.Metric() {
		unit = "km"
	}
	switch {
	case r.Miles.Known && r.Hours.Known:
		return fmt.Sprintf("%s %s and %s h", r.Miles, unit, r.Hours)
	case r.Miles.Known:
		return fmt.Sprintf("%s %s", r.Miles, unit)
	}
	return fmt.Sprintf("%s h", r.Hours)
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
