package main

import (
	"fmt"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
)

// mistakeFlags are those of the commands that take back what was written down by
// mistake.
type mistakeFlags struct {
	Why  string `help:"Why, in a few words." placeholder:"TEXT"`
	By   string `help:"Who says so (default: the name of the log-in here)." placeholder:"NAME"`
	JSON bool   `name:"json" help:"Print what was taken back as JSON."`
}

// takeBack takes back what stands under an id, called name, and tells it.
func (f mistakeFlags) takeBack(c *call, a *app.App, sort models.FactSort, id, name string) error {
	also, err := a.Registry().TakeBack(c.ctx, scheduler.Act{At: c.clock.Now(), By: whoFlags{By: f.By}.by(), Means: "desk"}, sort, id, f.Why)
	if err != nil {
		return err
	}
	with := []string{}
	for _, p := range also {
		with = append(with, p.ID)
	}
	if f.JSON {
		return printJSON(c.out, struct {
			Sort string   `json:"sort"`
			ID   string   `json:"id"`
			Also []string `json:"also_contacts"`
		}{string(sort), id, with})
	}
	fmt.Fprintf(c.out, "Took back %s %s (%s). It counts nowhere any more.\n", sort, name, id)
	for _, p := range also {
		fmt.Fprintf(c.out, "With it went contact %s (%s).\n", p.Name, p.ID)
	}
	return nil
}

type ownerWithdrawCmd struct {
	Owner string `arg:"" help:"Id or name of the owner."`
	mistakeFlags
}

func (ownerWithdrawCmd) Help() string {
	return `Takes back an owner that was written down by mistake, with its people, while it has no machine. What they refused stays in force for their numbers and addresses.

Example:
  roundsman owner withdraw juniper-flat --why "is Juniper Flat Ranch, typed twice"`
}

func (cmd ownerWithdrawCmd) Run(c *call) error {
	return c.with(func(a *app.App) error {
		o, err := a.Store.FindOwner(c.ctx, cmd.Owner)
		if err != nil {
			return err
		}
		return cmd.takeBack(c, a, models.SortOwner, o.ID, o.Name)
	})
}

type contactWithdrawCmd struct {
	ID string `arg:"" help:"Id of the person (contact list shows it)."`
	mistakeFlags
}

func (contactWithdrawCmd) Help() string {
	return `Takes back a person who was written down by mistake. What waits for that person is dropped; a refusal stays in force for the number and address.

Example:
  roundsman contact withdraw juniper-flat-ranch/ada-reyes --why "is not there any more"`
}

func (cmd contactWithdrawCmd) Run(c *call) error {
	return c.with(func(a *app.App) error { return cmd.takeBack(c, a, models.SortContact, cmd.ID, cmd.ID) })
}

type machineWithdrawCmd struct {
	Machine string `arg:"" help:"Machine: its id, its tag, or owner/tag."`
	mistakeFlags
}

func (machineWithdrawCmd) Help() string {
	return `Takes back a machine that was written down by mistake, with its first reading, first words and releases. One on which more hangs was there: say that it was sold, is gone or was scrapped ("roundsman standing").

Example:
  roundsman machine withdraw R12 --why "is R21, typed twice"`
}

func (cmd machineWithdrawCmd) Run(c *call) error {
	return c.withMachine(cmd.Machine, func(a *app.App, m models.Machine) error {
		return cmd.takeBack(c, a, models.SortMachine, m.ID, m.Label())
	})
}
