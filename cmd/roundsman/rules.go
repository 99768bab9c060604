package main

import (
	"bytes"
	"fmt"
	"os"
	"strings"
	"text/tabwriter"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/config"
	"example.org/roundsman/models"
)

type rulesCmd struct {
	Check rulesCheckCmd `cmd:"" help:"Tell every fault of a rules file."`
	Load  rulesLoadCmd  `cmd:"" help:"Record the rules of a file."`
	List  rulesListCmd  `cmd:"" help:"List the rules in force and where they come from."`
}

type rulesCheckCmd struct {
	File string `arg:"" optional:"" help:"Rules file (default: that of the settings)."`
}

func (rulesCheckCmd) Help() string {
	return `Tells every fault of a rules file in one go, with its line, key and remedy. Nothing is recorded.

Example:
  roundsman rules check rules.toml`
}

func (cmd rulesCheckCmd) Run(c *call) error {
	file, err := c.rulesFile(cmd.File)
	if err != nil {
		return err
	}
	rules, err := config.LoadRules(file, os.ReadFile)
	if err != nil {
		return err
	}
	for _, w := range rules.Warnings {
		fmt.Fprintln(c.errs, "note:", w)
	}
	fmt.Fprintf(c.out, "%s: %s and %s, no fault found.\n", file,
		plural(len(rules.Rules), "rule", "rules"), plural(len(rules.Teardowns), "teardown", "teardowns"))
	return nil
}

// rulesFile gives the file of the call, else that of the settings.
func (c *call) rulesFile(file string) (string, error) {
	if file != "" {
		return file, nil
	}
	l, err := c.settings()
	if err != nil {
		return "", err
	}
	if l.Settings.Rules == "" {
		return "", models.Errorf(models.CodeInvalid, "name a file, or set rules in the settings; `roundsman rules list` shows the rules in force",
			"no rules file is set")
	}
	return l.Settings.Rules, nil
}

type rulesLoadCmd struct {
	File string `arg:"" help:"Rules file."`
	newFlag
}

func (rulesLoadCmd) Help() string {
	return `Records the rules of a file. A rule for the same kind, make and model, or machine, and the same item takes the place of the one in force; the history is kept. Rules that the file does not name stay.

Example:
  roundsman rules load rules.toml`
}

func (cmd rulesLoadCmd) Run(c *call) error {
	file, err := config.LoadRules(cmd.File, os.ReadFile)
	if err != nil {
		return err
	}
	for _, w := range file.Warnings {
		fmt.Fprintln(c.errs, "note:", w)
	}
	return cmd.open(c, func(a *app.App) error {
		done, err := a.RecordRules(c.ctx, file, "")
		if err != nil {
			return err
		}
		if !done.Changed() {
			fmt.Fprintln(c.out, "Nothing new.")
			return nil
		}
		machines, err := a.Store.Machines(c.ctx)
		if err != nil {
			return err
		}
		for _, r := range file.Rules {
			if what, remedy := r.ForNobody(machines); what != "" {
				fmt.Fprintf(c.errs, "note: %s %s %s; %s\n", ruleFor(r), r.Item, what, remedy)
			}
		}
		fmt.Fprintf(c.out, "Recorded %s and %s; %s to be looked at by the next round.\n",
			plural(done.Rules.New+done.Rules.Corrected, "rule", "rules"),
			plural(done.Teardowns.New+done.Teardowns.Corrected, "teardown", "teardowns"),
			plural(done.MachinesTouched, "machine", "machines"))
		return nil
	})
}

type rulesListCmd struct {
	All  bool `help:"Also those that were taken away."`
	JSON bool `name:"json" help:"Print the rules as JSON."`
	TOML bool `name:"toml" help:"Print the rules as a rules file to start from."`
}

func (rulesListCmd) Help() string {
	return `Lists the rules in force: every so many miles, hours or months, whichever comes first. Figures that come with the program are common practice to start from: set the maker's.

Example:
  roundsman rules list
  roundsman rules list --all
  roundsman rules list --toml > rules.toml`
}

func (cmd rulesListCmd) Run(c *call) error {
	return c.rehearse(func(a *app.App) error {
		list := a.Store.Rules
		if cmd.All {
			list = a.Store.EveryRule
		}
		rules, err := list(c.ctx)
		if err != nil {
			return err
		}
		if c.rehearsed {
			fmt.Fprintln(c.errs, "note: there is no shop here yet; these rules come with the program, and `import DIR` or `rules load FILE --new` begins one")
		}
		switch {
		case cmd.JSON:
			return printJSON(c.out, ruleJSON(rules))
		case cmd.TOML:
			teardowns, err := a.Store.Teardowns(c.ctx)
			if err != nil {
				return err
			}
			_, err = c.out.Write(config.WriteRules(rules, teardowns))
			return err
		}
		var table bytes.Buffer
		w := tabwriter.NewWriter(&table, 0, 4, 2, ' ', 0)
		fmt.Fprintln(w, "FOR\tITEM\tMILES\tHOURS\tMONTHS\tALSO\tFROM\tSINCE")
		for _, r := range rules {
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", ruleFor(r), models.ItemName(r.Item, "en"), r.Miles, r.Hours, countOf(r.Months), ruleRest(r), r.Origin, r.Since)
		}
		if err := w.Flush(); err != nil {
			return err
		}
		for line := range strings.Lines(table.String()) {
			c.fit(strings.TrimRight(line, " \n"))
		}
		return nil
	})
}

// countOf writes a count, "" for none.
func countOf(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprint(n)
}

// ruleRest says in words what of a rule is not a plain interval.
func ruleRest(r models.Rule) string {
	var first, parts []string
	if r.FirstMiles.Known {
		first = append(first, r.FirstMiles.String()+" mi")
	}
	if r.FirstHours.Known {
		first = append(first, r.FirstHours.String()+" h")
	}
	if r.FirstMonths > 0 {
		first = append(first, plural(r.FirstMonths, "month", "months"))
	}
	if len(first) > 0 {
		parts = append(parts, "first at "+strings.Join(first, " or "))
	}
	if r.SevereFactor.Known && r.SevereFactor.F != 1 {
		parts = append(parts, "severe duty x "+r.SevereFactor.String())
	}
	if r.Retired {
		parts = append(parts, "retired")
	}
	if by := r.By.String(); by != "" {
		parts = append(parts, "before "+by+" each year")
	}
	return strings.Join(parts, "; ")
}

// ruleFor says which machines a rule is for.
func ruleFor(r models.Rule) string {
	if r.Machine != "" {
		return "machine " + r.Machine
	}
	return strings.TrimSpace(strings.Join([]string{r.Kind, r.Make, r.Model}, " "))
}
