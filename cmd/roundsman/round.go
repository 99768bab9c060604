package main

import (
	"fmt"
	"slices"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/models"
)

type roundCmd struct {
	atFlag
	DryRun   bool `help:"Work out what would be told; store and send nothing."`
	TakeBack bool `help:"Take back the rounds that were held for a time that has not come, as by a slip in --at or a wrong clock."`
	sureFlag
	JSON bool `name:"json" help:"Print the round as JSON."`
}

func (roundCmd) Help() string {
	return `Looks at every machine with a new fact or whose next date has come, works out what falls due, and puts the notices into the outbox. The service sends them; see "roundsman outbox".

A round does not go back: --at must not lie before the last round. One that was held for a time that has not come is taken back with --take-back: what it decided counts as not told, its messages that wait are dropped, and the next round works everything out anew.

Example:
  roundsman round
  roundsman round --at 2026-11-02 --dry-run`
}

func (cmd roundCmd) Run(c *call) error {
	return c.with(func(a *app.App) error {
		if cmd.TakeBack {
			return cmd.takeBack(c, a)
		}
		at, err := cmd.time(c.clock, a.Runner.Notify.Zone)
		if err != nil {
			return err
		}
		if !cmd.DryRun {
			if err := cmd.aheadOf(c.clock, at); err != nil {
				return err
			}
		}
		bar := c.progress()
		a.Runner.Log = c.quiet()
		a.Runner.Progress = func(done, total int) { bar.step("looking at machines", int64(done), int64(total)) }
		var r models.Round
		var looks []models.Look
		if cmd.DryRun {
			r, looks, err = a.Runner.DryRun(c.ctx, at, nil)
		} else {
			r, err = a.Runner.RunByHand(c.ctx, at, cmd.At == "")
		}
		bar.end()
		if err != nil {
			return err
		}
		if err := cmd.tell(c, r, looks); err != nil {
			return err
		}
		if held, err := a.Care().Held(c.ctx); err != nil {
			return err
		} else if line := held.String(); line != "" && !cmd.JSON {
			fmt.Fprintf(c.out, "Note: %s.\n", line)
		}
		if r.Failed > 0 {
			return errPartial
		}
		return nil
	})
}

// takeBack takes back what lies ahead of the clock.
func (cmd roundCmd) takeBack(c *call, a *app.App) error {
	now := models.InstantOf(c.clock.Now())
	done, err := a.Store.TakeBackRounds(c.ctx, now.Add(models.MayLieAhead), models.Entry{RecordedAt: now, Actor: userName(), Means: "round taken back"})
	switch {
	case err != nil:
		return err
	case cmd.JSON:
		return printJSON(c.out, done)
	case done.Rounds == 0:
		fmt.Fprintln(c.out, "No round lies ahead of the clock.")
		return nil
	}
	fmt.Fprintf(c.out, "Took back %s: %s not told now, %s dropped; %s had been sent. The next round works everything out anew.\n", plural(int(done.Rounds), "round", "rounds"),
		plural(int(done.Notices), "notice counts as", "notices count as"), plural(int(done.Dropped), "waiting message", "waiting messages"), plural(int(done.Sent), "message", "messages"))
	return nil
}

// tell says what the round found.
func (cmd roundCmd) tell(c *call, r models.Round, looks []models.Look) error {
	if cmd.JSON {
		return printJSON(c.out, roundJSON(r, looks))
	}
	fmt.Fprintf(c.out, "Round for %s: looked at %s, %s changed stage.\n", r.Today,
		plural(r.Looked, "machine", "machines"), plural(r.Changed, "item", "items"))
	verb := "in the outbox"
	if cmd.DryRun {
		verb = "would go into the outbox"
	}
	fmt.Fprintf(c.out, "%s in %s %s; %s withheld.\n", plural(r.Notices, "notice", "notices"),
		plural(r.Messages, "message", "messages"), verb, plural(r.Withheld, "notice", "notices"))
	for why, n := range counted(looks) {
		fmt.Fprintf(c.out, "  %s: %s\n", why, models.Grouped(n))
	}
	if r.Failed > 0 {
		fmt.Fprintf(c.out, "%s could not be worked out and stay to be looked at.\n", plural(r.Failed, "machine", "machines"))
	}
	return nil
}

// counted counts withheld notices by reason, in the order of the reasons.
func counted(looks []models.Look) func(yield func(models.Reason, int) bool) {
	n := map[models.Reason]int{}
	for _, l := range looks {
		for _, w := range l.Notices {
			n[w.Why]++
		}
	}
	return func(yield func(models.Reason, int) bool) {
		keys := make([]models.Reason, 0, len(n))
		for k := range n {
			keys = append(keys, k)
		}
		slices.Sort(keys)
		for _, k := range keys {
			if !yield(k, n[k]) {
				return
			}
		}
	}
}

// roundJSON is a round for a script.
func roundJSON(r models.Round, looks []models.Look) any {
	type told struct {
		Contact string        `json:"contact"`
		Machine string        `json:"machine"`
		Item    string        `json:"item"`
		Stage   models.Stage  `json:"stage"`
		DueOn   models.Date   `json:"due_on"`
		Sent    bool          `json:"sent"`
		Why     models.Reason `json:"why"`
	}
	var notices []told
	add := func(n models.Notice, sent bool) {
		notices = append(notices, told{n.Contact, n.Machine, n.Item, n.Stage, n.DueOn, sent, n.Why})
	}
	for _, l := range looks {
		for _, letter := range l.Letters {
			for _, n := range letter.Notices {
				add(n, true)
			}
		}
		for _, n := range l.Notices {
			add(n, false)
		}
	}
	return struct {
		Slot     string         `json:"slot"`
		At       models.Instant `json:"at"`
		Today    models.Date    `json:"today"`
		Profile  int            `json:"profile"`
		Looked   int            `json:"looked"`
		Changed  int            `json:"changed"`
		Notices  int            `json:"notices"`
		Withheld int            `json:"withheld"`
		Messages int            `json:"messages"`
		Failed   int            `json:"failed"`
		Would    []told         `json:"would_tell,omitempty"`
	}{r.Slot, r.At, r.Today, r.Profile, r.Looked, r.Changed, r.Notices, r.Withheld, r.Messages, r.Failed, notices}
}
