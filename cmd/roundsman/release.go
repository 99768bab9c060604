package main

import (
	"fmt"
	"strings"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
)

type releaseCmd struct {
	Tags   []string `arg:"" optional:"" name:"tag" help:"Machines: by id, tag or owner/tag."`
	Owner  string   `help:"All machines of this owner: an id." placeholder:"OWNER"`
	All    bool     `help:"All machines in the shop's care."`
	Shop   bool     `help:"The shop as a whole, without touching what is said of its machines."`
	Hold   bool     `help:"Hold back instead of releasing."`
	Note   string   `help:"Why, for people." placeholder:"TEXT"`
	DryRun bool     `help:"Show word for word what the release would tell whom; record nothing."`
	JSON   bool     `name:"json" help:"Print as JSON."`
	atFlag
}

func (releaseCmd) Help() string {
	return `Nothing goes to an owner about a machine that nobody has released: importing and adding machines releases none. --dry-run shows in full what would be said to whom on release. --hold stops again, also what waits in the outbox. --shop --hold holds everything back until --shop. Answers to people who write to you go regardless.

Example:
  roundsman release --all --dry-run
  roundsman release --owner elkbend
  roundsman release R12 R14
  roundsman release --shop --hold --note "books are being checked"`
}

func (cmd releaseCmd) Run(c *call) error {
	return c.with(func(a *app.App) error {
		machines, err := cmd.machines(c, a)
		if err != nil {
			return err
		}
		if cmd.DryRun {
			return cmd.preview(c, a, machines)
		}
		if cmd.At != "" {
			return models.Errorf(models.CodeInvalid, "leave it out, or add --dry-run", "--at goes with --dry-run only")
		}
		state := models.Released
		if cmd.Hold {
			state = models.HeldBack
		}
		if _, err := a.Care().Release(c.ctx, machines, cmd.Shop || cmd.All, state, cmd.Note, c.by()); err != nil {
			return err
		}
		held, err := a.Care().Held(c.ctx)
		if err != nil {
			return err
		}
		if cmd.JSON {
			return printJSON(c.out, map[string]any{"machines": len(machines), "state": state, "shop_held": held.Shop, "machines_held": held.Machines, "machines_in_care": held.Of})
		}
		verb := map[models.ReleaseState]string{models.Released: "released", models.HeldBack: "held back"}[state]
		if len(machines) > 0 {
			fmt.Fprintf(c.out, "%s %s.\n", plural(len(machines), "machine", "machines"), verb)
		}
		if cmd.Shop {
			fmt.Fprintf(c.out, "The shop is %s.\n", verb)
		}
		if state == models.Released {
			fmt.Fprintln(c.out, "What there is to say goes out with the next round: `roundsman serve` holds one at its hours, `roundsman round` holds one now.")
		}
		if line := held.String(); line != "" {
			fmt.Fprintf(c.out, "Note: %s.\n", line)
		}
		return nil
	})
}

// machines gives the machines that the flags name, those in care only for a set.
func (cmd releaseCmd) machines(c *call, a *app.App) (out []models.Machine, err error) {
	if n := len(cmd.Tags); n == 0 && cmd.Owner == "" && !cmd.All && !cmd.Shop || n > 0 && (cmd.Owner != "" || cmd.All) || cmd.Owner != "" && cmd.All {
		return nil, models.Errorf(models.CodeInvalid, "name machines, or give one of --owner O, --all and --shop", "it is not said what is to be released")
	}
	for _, tag := range cmd.Tags {
		m, err := a.Store.FindMachine(c.ctx, tag)
		if err != nil {
			return nil, err
		}
		out = append(out, m)
	}
	if cmd.Owner == "" && !cmd.All {
		return out, nil
	}
	if out, err = a.Care().InCare(c.ctx, cmd.Owner); err == nil && len(out) == 0 {
		err = models.Errorf(models.CodeNotFound, "look at the board for machines and their owners", "no machine in the shop's care is meant")
	}
	return out, err
}

// preview prints what a release would tell.
func (cmd releaseCmd) preview(c *call, a *app.App, machines []models.Machine) error {
	at, err := cmd.time(c.clock, a.Runner.Notify.Zone)
	if err != nil {
		return err
	}
	p, err := a.PreviewRelease(c.ctx, machines, at)
	if err != nil {
		return err
	}
	if cmd.JSON {
		return printJSON(c.out, previewJSON(p))
	}
	fmt.Fprintf(c.out, "On release %s would go. Nothing was recorded.\n", plural(len(p.Letters), "message", "messages"))
	for _, l := range p.Letters {
		m := l.Message
		fmt.Fprintf(c.out, "\nTo %s (%s), by %s to %s, not before %s:\n", l.Contact.Name, m.Owner, channelWord(m.Channel), m.Address, localTime(m.NotBefore, a.Runner.Notify.Zone))
		if l.Words.Subject != "" {
			fmt.Fprintf(c.out, "  Subject: %s\n", l.Words.Subject)
		}
		for line := range strings.Lines(l.Words.Text) {
			fmt.Fprintln(c.out, strings.TrimRight("  "+line, " \n"))
		}
	}
	if len(p.Withheld) == 0 {
		return nil
	}
	fmt.Fprintf(c.out, "\n%s would not go even then:\n", plural(len(p.Withheld), "notice", "notices"))
	labels, err := machineLabels(c, a)
	if err != nil {
		return err
	}
	n := map[[2]string]int{}
	var keys [][2]string
	for _, w := range p.Withheld {
		k := [2]string{labels[w.Machine], w.Why.In("en")}
		if n[k]++; n[k] == 1 {
			keys = append(keys, k)
		}
	}
	for _, k := range keys {
		fmt.Fprintf(c.out, "  %s: %d, %s\n", k[0], n[k], k[1])
	}
	return nil
}

func previewJSON(p scheduler.ReleasePreview) any {
	type letter struct {
		Owner   string         `json:"owner"`
		Contact string         `json:"contact"`
		Channel models.Channel `json:"channel"`
		Address string         `json:"address"`
		Subject string         `json:"subject"`
		Text    string         `json:"text"`
	}
	type withheld struct {
		Machine string        `json:"machine"`
		Item    string        `json:"item"`
		Why     models.Reason `json:"why"`
	}
	letters, rest := []letter{}, []withheld{}
	for _, l := range p.Letters {
		letters = append(letters, letter{l.Message.Owner, l.Contact.ID, l.Message.Channel, l.Message.Address, l.Words.Subject, l.Words.Text})
	}
	for _, n := range p.Withheld {
		rest = append(rest, withheld{n.Machine, n.Item, n.Why})
	}
	return map[string]any{"messages": letters, "withheld": rest}
}
