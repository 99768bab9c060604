package main

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/models"
	"example.org/roundsman/models/folder"
	"example.org/roundsman/models/phone"
	"example.org/roundsman/scheduler"
)

type ownerListCmd struct {
	JSON bool `name:"json" help:"Print them as JSON."`
}

func (ownerListCmd) Help() string {
	return `Lists the owners by id.

Example:
  roundsman owner list`
}

func (cmd ownerListCmd) Run(c *call) error {
	return c.with(func(a *app.App) error {
		owners, err := a.Store.Owners(c.ctx)
		if err != nil {
			return err
		}
		rows := make([]folder.Cells, len(owners))
		for i, o := range owners {
			rows[i] = folder.OwnerCells(o)
		}
		return c.list(rows, cmd.JSON, "owner", "name", "type", "language")
	})
}

type contactListCmd struct {
	Owner string `help:"Only those of one owner: its id or name." placeholder:"OWNER"`
	JSON  bool   `name:"json" help:"Print them as JSON."`
}

func (contactListCmd) Help() string {
	return `Lists the people by id, and on standard error the owners of whom there is nobody to tell.

Example:
  roundsman contact list
  roundsman contact list --owner juniper-flat`
}

func (cmd contactListCmd) Run(c *call) error {
	return c.with(func(a *app.App) error {
		only, err := findOwner(c, a, cmd.Owner)
		if err != nil {
			return err
		}
		contacts, err := a.Store.Contacts(c.ctx)
		if err != nil {
			return err
		}
		rows := []folder.Cells{}
		for _, v := range contacts {
			if only != "" && v.Owner != only {
				continue
			}
			cells := folder.ContactCells(v)
			if !cmd.JSON {
				cells["mobile"] = phone.Show(v.Mobile, a.Settings.Shop.Country)
			}
			rows = append(rows, cells)
		}
		if err := tellNobody(c, a, only); err != nil {
			return err
		}
		return c.list(rows, cmd.JSON, "contact", "name", "role", "mobile", "mail", "prefers")
	})
}

// findOwner gives the id of the owner of a flag; "" for none.
func findOwner(c *call, a *app.App, name string) (string, error) {
	if name == "" {
		return "", nil
	}
	o, err := a.Store.FindOwner(c.ctx, name)
	return o.ID, err
}

// tellNobody names the owners of whose machines nobody can be told, with why;
// only is one of them, "" is all.
func tellNobody(c *call, a *app.App, only string) error {
	owners, err := scheduler.UntoldOwners(c.ctx, a.Store, a.Runner.Notify, c.clock.Now())
	if err != nil {
		return err
	}
	var names []string
	for _, o := range owners {
		if only == "" || o.Owner.ID == only {
			names = append(names, fmt.Sprintf("%s (%s): %s", o.Owner.Name, o.Owner.ID, o.Why.In("en")))
		}
	}
	if len(names) > 0 {
		fmt.Fprintf(c.errs, "note: nobody is told at %s; `roundsman contact add` writes down a person, `contact change --agrees` a consent\n", models.Shorten(strings.Join(names, ", "), 300))
	}
	return nil
}

type machineListCmd struct {
	Owner string `help:"Only those of one owner: its id or name." placeholder:"OWNER"`
	All   bool   `help:"Also those that are out of the shop's care: sold to nobody known, gone or scrapped."`
	JSON  bool   `name:"json" help:"Print them as JSON."`
}

func (machineListCmd) Help() string {
	return `Lists the machines in the shop's care by id, and says where each stands.

Example:
  roundsman machine list --owner juniper-flat`
}

func (cmd machineListCmd) Run(c *call) error {
	return c.with(func(a *app.App) error {
		only, err := findOwner(c, a, cmd.Owner)
		if err != nil {
			return err
		}
		machines, err := a.Store.Machines(c.ctx)
		if err != nil {
			return err
		}
		standings, err := a.Store.Standings(c.ctx)
		if err != nil {
			return err
		}
		today := models.DateOf(c.clock.Now().In(a.Runner.Notify.Zone))
		rows := []folder.Cells{}
		for _, m := range machines {
			s := standings[m.ID].AsOf(today)
			if only != "" && m.Owner != only || !cmd.All && !s.InCare() {
				continue
			}
			cells := folder.MachineCells(m)
			if cells["standing"] = s.Word(); !cmd.JSON {
				cells["standing"] = models.StandingWords(s, "en")
			} else if s.Until != 0 {
				cells["until"] = s.Until.String()
			}
			rows = append(rows, cells)
		}
		return c.list(rows, cmd.JSON, "machine", "tag", "standing", "kind", "owner", "meters", "make", "model", "year")
	})
}

// list prints rows as JSON, or some of their columns as a table.
func (c *call) list(rows []folder.Cells, asJSON bool, columns ...string) error {
	if asJSON {
		return printJSON(c.out, rows)
	}
	var table strings.Builder
	w := tabwriter.NewWriter(&table, 0, 4, 2, ' ', 0)
	fmt.Fprintln(w, strings.ToUpper(strings.Join(columns, "\t")))
	for _, r := range rows {
		cells := make([]string, len(columns))
		for i, name := range columns {
			cells[i] = r[name]
		}
		fmt.Fprintln(w, strings.Join(cells, "\t"))
	}
	if err := w.Flush(); err != nil {
		return err
	}
	for line := range strings.Lines(table.String()) {
		c.fit(strings.TrimRight(line, " \n"))
	}
	return nil
}
