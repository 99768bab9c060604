package main

import (
	"fmt"
	"text/tabwriter"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/config"
	"example.org/roundsman/models"
)

type settingsCmd struct {
	Check settingsCheckCmd `cmd:"" help:"Tell every fault of the settings, or what is in force."`
}

type settingsCheckCmd struct {
	All  bool `help:"List every setting in force with where it comes from."`
	JSON bool `name:"json" help:"Print the settings in force as JSON."`
}

func (settingsCheckCmd) Help() string {
	return `Reads the settings file and the environment as every command does, then the files, folders, keys and templates that they name, and tells every fault in one go with its file, line, key and remedy. Without a fault it says so in a line; --all lists each setting with where it comes from. Secrets do not print.

Example:
  roundsman settings check
  roundsman --config shop.toml settings check`
}

func (cmd settingsCheckCmd) Run(c *call) error {
	l, err := c.settings()
	if err != nil {
		return err
	}
	for _, w := range l.Warnings {
		fmt.Fprintln(c.errs, "note:", w)
	}
	if err := app.Check(l).Err(); err != nil {
		return err
	}
	described := l.Describe()
	if cmd.JSON {
		return printJSON(c.out, described)
	}
	if !cmd.All {
		set := 0
		for _, d := range described {
			if l.Source(d.Key) != (config.Source{}) {
				set++
			}
		}
		_, err := fmt.Fprintf(c.out, "No fault found. %s, %d stand at the default; --all lists them.\n",
			plural(set, "setting is yours", "settings are yours"), len(described)-set)
		return err
	}
	w := tabwriter.NewWriter(c.out, 0, 4, 2, ' ', 0)
	for _, d := range described {
		fmt.Fprintf(w, "%s\t%s\t%s\n", d.Key, d.Value, d.Source)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(c.out, "\nNo fault found.")
	return nil
}

// ruleRow is a rule for a script.
type ruleRow struct {
	Kind        string          `json:"kind,omitempty"`
	Make        string          `json:"make,omitempty"`
	Model       string          `json:"model,omitempty"`
	Machine     string          `json:"machine,omitempty"`
	Item        string          `json:"item"`
	Miles       models.Number   `json:"miles"`
	Hours       models.Number   `json:"hours"`
	Months      int             `json:"months"`
	FirstMiles  models.Number   `json:"first_miles"`
	FirstHours  models.Number   `json:"first_hours"`
	FirstMonths int             `json:"first_months"`
	Severe      models.Number   `json:"severe_factor"`
	LeadDays    int             `json:"lead_days"`
	PartsDays   int             `json:"parts_days"`
	By          models.MonthDay `json:"by"`
	Teardown    string          `json:"teardown,omitempty"`
	WorkMin     int             `json:"work_min"`
	AccessMin   int             `json:"access_min"`
	Origin      models.Origin   `json:"origin"`
	Note        string          `json:"note,omitempty"`
	Retired     bool            `json:"retired,omitempty"`
}

func ruleJSON(rules []models.Rule) []ruleRow {
	rows := make([]ruleRow, 0, len(rules))
	for _, r := range rules {
		rows = append(rows, ruleRow{r.Kind, r.Make, r.Model, r.Machine, r.Item, r.Miles, r.Hours, r.Months,
			r.FirstMiles, r.FirstHours, r.FirstMonths, r.SevereFactor, r.Lead(), r.PartsDays, r.By,
			r.Teardown, r.WorkMin, r.AccessMin, r.Origin, r.Note, r.Retired})
	}
	return rows
}
