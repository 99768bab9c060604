package main

import (
	"fmt"
	"slices"
	"strings"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
)

// by says who does an act with a command.
func (c *call) by() scheduler.By {
	return scheduler.By{At: c.clock.Now(), Actor: userName(), Means: "command"}
}

// dayFlag reads the day of a flag; "" is none.
func dayFlag(flag, s string) (models.Date, error) {
	if s == "" {
		return 0, nil
	}
	d, err := models.ParseDate(s)
	if err != nil {
		return 0, models.Errorf(models.CodeInvalid, "write a date such as 2026-03-31", "%s: %v", flag, err)
	}
	return d, nil
}

type standingCmd struct {
	Tag   string `arg:"" help:"Machine: its id, its tag, or owner/tag."`
	State string `arg:"" optional:"" help:"in_use (also: back), laid_up, sold, gone or scrapped. Without it: says where the machine stands."`
	On    string `help:"From this day on (default: today)." placeholder:"DATE"`
	Until string `help:"Of laid_up: the day on which it is in use again." placeholder:"DATE"`
	To    string `help:"Of sold: the id of an owner you know." placeholder:"OWNER"`
	ToNew string `help:"Of sold: the name of an owner to take on." placeholder:"NAME"`
	Note  string `help:"Why, for people." placeholder:"TEXT"`
	JSON  bool   `name:"json" help:"Print as JSON."`
}

func (standingCmd) Help() string {
	return `Says where a machine stands from a day on. Nobody is told of one that is laid up until its day has come. One that was sold to an owner you know, or take on, belongs to that owner from then on, with its history; the seller is never written to about it again. One that was sold to somebody else, is gone or scrapped is on no list any more; "sheet" still shows it. What waits to be told of it and its visits stop at once.

Example:
  roundsman standing R12 laid_up --until 2027-04-01
  roundsman standing R12 sold --to elkbend
  roundsman standing R12 sold --to-new "Sage Hollow"
  roundsman standing R12 scrapped --note "rolled into the creek"
  roundsman standing R12 in_use`
}

type standingJSON struct {
	Machine  string      `json:"machine"`
	Owner    string      `json:"owner"`
	State    string      `json:"state"`
	On       models.Date `json:"on"`
	Until    models.Date `json:"until"`
	NewOwner string      `json:"new_owner"`
	By       string      `json:"by"`
	Note     string      `json:"note"`
}

func (cmd standingCmd) Run(c *call) error {
	return c.withMachine(cmd.Tag, func(a *app.App, m models.Machine) (err error) {
		if cmd.State != "" {
			s := scheduler.Standing{State: models.StandingState(strings.ToLower(cmd.State)), To: cmd.To, ToNew: strings.TrimSpace(cmd.ToNew), Note: cmd.Note}
			if !slices.Contains(models.StandingStates(), s.State) {
				return models.Errorf(models.CodeInvalid, "write in_use, laid_up, sold, gone or scrapped", "%q is no state of a machine", cmd.State)
			}
			if s.On, err = dayFlag("--on", cmd.On); err != nil {
				return err
			}
			if s.Until, err = dayFlag("--until", cmd.Until); err != nil {
				return err
			}
			if m, err = a.Care().Change(c.ctx, m, s, c.by()); err != nil {
				return err
			}
		}
		h, err := a.Store.History(c.ctx, m.ID, models.Window{})
		if err != nil {
			return err
		}
		return cmd.tell(c, m, h.Standing().AsOf(models.DateOf(c.clock.Now().In(a.Runner.Notify.Zone))))
	})
}

// tell says where a machine stands.
func (cmd standingCmd) tell(c *call, m models.Machine, s models.MachineStanding) error {
	if cmd.JSON {
		return printJSON(c.out, standingJSON{m.ID, m.Owner, s.Word(), s.On, s.Until, s.NewOwner, s.By, s.Note})
	}
	line := m.Label() + ": " + models.StandingWords(s, "en")
	if s.On != 0 {
		line += fmt.Sprintf(" (since %s", s.On)
		if s.By != "" {
			line += ", says " + s.By
		}
		line += ")"
	}
	if s.Note != "" {
		line += ": " + s.Note
	}
	_, err := fmt.Fprintln(c.out, line+".")
	return err
}

type swapCmd struct {
	Tag   string `arg:"" help:"Machine: its id, its tag, or owner/tag."`
	Meter string `arg:"" help:"miles (the odometer, also in kilometers) or hours." enum:"miles,hours"`
	Old   string `help:"What the old meter showed last." placeholder:"N"`
	New   string `help:"What the new one began with." placeholder:"N" default:"0"`
	On    string `help:"Day on which it was replaced (default: today)." placeholder:"DATE"`
	Sure  bool   `help:"It is right, however it looks; or nobody knows what the old meter showed."`
	JSON  bool   `name:"json" help:"Print as JSON."`
}

func (swapCmd) Help() string {
	return `Records that a meter was replaced at the end of a day, so that a smaller value after it is no slip. One that was typed wrong is taken back with "roundsman withdraw" and told again.

Example:
  roundsman swap R12 miles --old 5120.4 --on 2026-10-31
  roundsman swap G3 hours --old 871 --new 12`
}

func (cmd swapCmd) Run(c *call) error {
	return c.withMachine(cmd.Tag, func(a *app.App, m models.Machine) error {
		on, err := dayFlag("--on", cmd.On)
		if err != nil {
			return err
		}
		s, err := a.Care().Swap(c.ctx, m, scheduler.MeterSwap{Meter: models.Meter(cmd.Meter), On: on, Old: cmd.Old, New: cmd.New, Sure: cmd.Sure}, c.by())
		if err != nil {
			return err
		}
		if cmd.JSON {
			return printJSON(c.out, map[string]any{"machine": m.ID, "meter": s.Meter, "at": s.At, "old_value": s.OldValue, "new_value": s.NewValue})
		}
		_, err = fmt.Fprintf(c.out, "%s: a new meter for %s since %s.\n", m.Label(), s.Meter, s.At)
		return err
	})
}

type baselineCmd struct {
	Tag  string   `arg:"" help:"Machine: its id, its tag, or owner/tag."`
	Said []string `arg:"" optional:"" name:"item=what" help:"For each item what is known: fine, unknown, done:2025-05, done:1500mi, done:400h or done:2025-05@1500mi. rest=... is said of every other item."`
	On   string   `help:"Day on which it was said or looked at (default: today)." placeholder:"DATE"`
	Sure bool     `help:"The meter values are right, however they look."`
	JSON bool     `name:"json" help:"Print as JSON."`
}

func (baselineCmd) Help() string {
	return `Says how the items of a machine stood when you took it on, the whole machine at once. "done" counts from about that day or meter value. "fine" means looked at that day: an inspection or test is done with it, and what is changed by age has half its interval left (common practice, no source). What nobody knows stands in one line, the first inspection. Without items it shows what is known.

Example:
  roundsman baseline R12 coolant=done:2025-05 oil=done:1500mi belt=fine rest=unknown
  roundsman baseline R12`
}

func (cmd baselineCmd) Run(c *call) error {
	return c.withMachine(cmd.Tag, func(a *app.App, m models.Machine) error {
		lines, err := a.Care().BaselineOf(c.ctx, m, a.Settings.Shop.Language)
		if err != nil {
			return err
		}
		if len(cmd.Said) > 0 {
			on, err := dayFlag("--on", cmd.On)
			if err != nil {
				return err
			}
			said, err := parseBaseline(m, lines, cmd.Said)
			if err != nil {
				return err
			}
			for i := range said {
				said[i].On = on
			}
			if _, err := a.Care().Baseline(c.ctx, m, said, cmd.Sure, c.by()); err != nil {
				return err
			}
			if lines, err = a.Care().BaselineOf(c.ctx, m, a.Settings.Shop.Language); err != nil {
				return err
			}
		}
		if cmd.JSON {
			return printJSON(c.out, lines)
		}
		return tellBaseline(c, m, lines)
	})
}

// tellBaseline says what is known of a machine's items: those of which the same
// is known on one line, what nobody knows last.
func tellBaseline(c *call, m models.Machine, lines []scheduler.BaselineLine) error {
	names := map[string][]string{}
	var said []string
	unknown := scheduler.BaselineLine{}.Words("en")
	for _, l := range lines {
		words := l.Words("en")
		if names[words] == nil && words != unknown {
			said = append(said, words)
		}
		names[words] = append(names[words], l.Name)
	}
	if names[unknown] != nil {
		said = append(said, unknown)
	}
	for _, words := range said {
		fmt.Fprintf(c.out, "%s: %s\n", words, strings.Join(names[words], ", "))
	}
	if len(lines) == 0 {
		fmt.Fprintf(c.out, "No rule is for %s: there is nothing to say of its past.\n", m.Label())
	}
	return nil
}

// parseBaseline reads item=what pairs.
func parseBaseline(m models.Machine, lines []scheduler.BaselineLine, said []string) (out []models.Baseline, err error) {
	named := map[string]bool{}
	rest := ""
	for _, s := range said {
		item, what, ok := strings.Cut(s, "=")
		if !ok {
			return nil, models.Errorf(models.CodeInvalid, "write it as ITEM=WHAT, for example coolant=done:2025-05", "%q says nothing of an item", s)
		}
		if item == "rest" {
			rest = what
			continue
		}
		id, err := models.FindItem(item, itemsOf(lines)...)
		if err != nil {
			return nil, err
		}
		if !slices.Contains(itemsOf(lines), id) {
			return nil, models.Errorf(models.CodeNotFound, "`roundsman baseline "+m.Label()+"` lists its items", "%s has no rule for an item %q", m.Label(), item)
		}
		if named[id] {
			return nil, models.Errorf(models.CodeConflict, "say one thing of each item", "%s is named twice", item)
		}
		b, err := models.ParseBaseline(id, what, m)
		if err != nil {
			return nil, err
		}
		named[id] = true
		out = append(out, b)
	}
	if rest == "" {
		return out, nil
	}
	for _, l := range lines {
		if named[l.Item] || l.Said != "" || l.LastOn != 0 {
			continue
		}
		b, err := models.ParseBaseline(l.Item, rest, m)
		if err != nil {
			return nil, err
		}
		out = append(out, b)
	}
	return out, nil
}

func itemsOf(lines []scheduler.BaselineLine) (out []string) {
	for _, l := range lines {
		out = append(out, l.Item)
	}
	return out
}
