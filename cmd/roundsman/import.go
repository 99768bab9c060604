package main

import (
	"fmt"
	"os"
	"strings"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/models"
	"example.org/roundsman/models/folder"
)

type importCmd struct {
	atFlag
	sureFlag
	Dir    string `arg:"" help:"Folder with machines.csv and what else there is."`
	DryRun bool   `help:"Read and check only; record nothing."`
	JSON   bool   `name:"json" help:"Print what was read and recorded as JSON."`
}

func (importCmd) Help() string {
	return `Reads machines.csv, owners.csv, contacts.csv, items.csv, readings.csv, services.csv and the other files that an export writes; only machines.csv is required. The README lists their columns. With one row that cannot be taken nothing is recorded, and every such row is told with its file, line, column and remedy. A meter value that does not fit what is known is recorded, left out of all that is worked out, and told the same way, with exit code 3; a doubtful change of meter is not taken. The same folder twice changes nothing. Which cells of which rows changed what is on record is told, of the first twenty rows and with --json of all. A word that is probably misspelt is taken as it stands, with a note and exit code 3.

Example:
  roundsman import books/
  roundsman import books/ --dry-run`
}

func (cmd importCmd) Run(c *call) error {
	info, err := os.Stat(cmd.Dir)
	if err != nil || !info.IsDir() {
		return models.Errorf(models.CodeInvalid, "name a folder that holds machines.csv", "%s is not a folder", cmd.Dir)
	}
	open := c.first
	if cmd.DryRun {
		open = c.rehearse
	}
	return open(func(a *app.App) error {
		at, err := cmd.time(c.clock, a.Runner.Notify.Zone)
		if err != nil {
			return err
		}
		if err := cmd.aheadOf(c.clock, at); err != nil {
			return err
		}
		bar := c.progress()
		report, done, doubts, err := a.Import(c.ctx, os.DirFS(cmd.Dir), app.ImportOptions{
			Today: models.DateOf(at.In(a.Runner.Notify.Zone)), DryRun: cmd.DryRun,
			Progress: func(file string, n, total int64) { bar.step("reading "+file, n, total) },
		})
		bar.end()
		if err != nil {
			return err
		}
		for _, w := range report.Warnings {
			fmt.Fprintln(c.errs, "note:", w)
		}
		for _, d := range doubts {
			fmt.Fprintln(c.errs, "doubtful:", d)
		}
		if n := len(report.Faults); n > 0 {
			for _, f := range report.Faults {
				fmt.Fprintln(c.errs, f)
			}
			return models.Errorf(models.CodeInvalid, "correct them and import again; nothing was recorded",
				"%s cannot be taken", plural(n, "row or file", "rows or files"))
		}
		if err := cmd.tell(c, report, done, doubts); err != nil {
			return err
		}
		if report.Slips > 0 || len(doubts) > 0 {
			return errPartial
		}
		return nil
	})
}

// tell says what was read and what is new.
func (cmd importCmd) tell(c *call, report folder.Report, done models.Recorded, doubts models.Faults) error {
	if cmd.JSON {
		return printJSON(c.out, struct {
			Read     map[string]int     `json:"read"`
			Recorded models.Recorded    `json:"recorded"`
			Changed  []folder.RowChange `json:"changed"`
			Retired  []ruleRow          `json:"retired_rules"`
			Warnings []models.Fault     `json:"warnings"`
			Doubtful []models.Fault     `json:"doubtful"`
			Unknown  []string           `json:"left_alone"`
			DryRun   bool               `json:"dry_run"`
		}{report.Counts, done, folder.Changes(done.Changes), ruleJSON(done.Retired), append([]models.Fault{}, report.Warnings...), append([]models.Fault{}, doubts...), append([]string{}, report.Unknown...), cmd.DryRun})
	}
	for _, name := range folder.Names() {
		n, there := report.Counts[name]
		if !there {
			continue
		}
		line := fmt.Sprintf("%-17s %8s", name, plural(n, "row", "rows"))
		if r := report.Repeats[name]; r > 0 {
			line += fmt.Sprintf(", %s left out", plural(r, "repeat", "repeats"))
		}
		if !cmd.DryRun {
			line += ": " + newness(done, name)
		}
		fmt.Fprintln(c.out, line)
	}
	tellChanges(c, folder.Changes(done.Changes))
	for _, r := range done.Retired {
		fmt.Fprintf(c.out, "rule retired: %s, %s\n", ruleFor(r), models.ItemName(r.Item, "en"))
	}
	if len(report.Unknown) > 0 {
		fmt.Fprintln(c.out, "left alone:", strings.Join(report.Unknown, ", "))
	}
	switch {
	case cmd.DryRun:
		all := "Everything can be taken."
		if len(doubts) > 0 {
			all = "Everything but what is doubtful can be taken as it is."
		}
		fmt.Fprintln(c.out, all, "Nothing was recorded (--dry-run).")
	case !done.Changed():
		fmt.Fprintln(c.out, "Nothing new.")
	default:
		fmt.Fprintf(c.out, "Recorded; %s to be looked at by the next round.\n", plural(done.MachinesTouched, "machine", "machines"))
	}
	swaps := 0
	for _, d := range doubts {
		if d.File == "swaps.csv" {
			swaps++
		}
	}
	if swaps > 0 {
		fmt.Fprintf(c.out, "%s not taken.\n", plural(swaps, "doubtful change of meter is", "doubtful changes of meters are"))
	}
	if n := len(doubts) - swaps; n > 0 {
		fmt.Fprintf(c.out, "%s kept and left out until somebody says that they are right.\n", plural(n, "doubtful value is", "doubtful values are"))
	}
	return nil
}

// mostChanges is how many changed rows an import names, and mostFields how many
// cells of each.
const mostChanges, mostFields = 20, 4

// tellChanges says what changed in which rows, and counts the rest.
func tellChanges(c *call, rows []folder.RowChange) {
	for _, r := range rows[:min(len(rows), mostChanges)] {
		var fields []string
		for _, f := range r.Fields[:min(len(r.Fields), mostFields)] {
			fields = append(fields, fmt.Sprintf("%s %q is %q now", f.Field, models.Shorten(f.Was, 40), models.Shorten(f.Is, 40)))
		}
		if more := len(r.Fields) - mostFields; more > 0 {
			fields = append(fields, plural(more, "more field", "more fields"))
		}
		fmt.Fprintf(c.out, "changed: %s %s: %s\n", r.File, r.Row, strings.Join(fields, ", "))
	}
	if len(rows) <= mostChanges {
		return
	}
	rest := map[string]int{}
	for _, r := range rows[mostChanges:] {
		rest[r.File]++
	}
	var files []string
	for _, name := range folder.Names() {
		if rest[name] > 0 {
			files = append(files, fmt.Sprintf("%s of %s", models.Grouped(rest[name]), name))
		}
	}
	fmt.Fprintf(c.out, "changed: %s more (%s); --json lists them all\n", plural(len(rows)-mostChanges, "row", "rows"), strings.Join(files, ", "))
}

// newness says how many rows of a file were new.
func newness(done models.Recorded, file string) string {
	c := done.ByName()[strings.TrimSuffix(file, ".csv")]
	out := fmt.Sprintf("%s new", models.Grouped(c.New))
	if c.Corrected > 0 {
		out += fmt.Sprintf(", %s corrected", models.Grouped(c.Corrected))
	}
	if c.Same > 0 {
		out += fmt.Sprintf(", %s known", models.Grouped(c.Same))
	}
	return out
}

type exportCmd struct {
	Dir string `arg:"" help:"Folder to write; it is made if need be."`
}

func (exportCmd) Help() string {
	return `Writes everything that is recorded in the format that import reads. Importing it into an empty database and exporting that gives the same bytes, and nobody is told anything twice. Messages that wait go along and are sent from there: stop the service here before it starts there.

Example:
  roundsman export books/`
}

func (cmd exportCmd) Run(c *call) error {
	return c.with(func(a *app.App) error {
		set, err := a.Export(c.ctx, cmd.Dir)
		if err != nil {
			return err
		}
		fmt.Fprintf(c.out, "Wrote %s, %s, %s and %s into %s.\n", plural(len(set.Machines), "machine", "machines"),
			plural(len(set.Readings), "reading", "readings"), plural(len(set.Services), "service", "services"),
			plural(len(set.Messages), "message", "messages"), cmd.Dir)
		return nil
	})
}
