package main

import (
	"fmt"
	"os/user"
	"strconv"
	"strings"
	"text/tabwriter"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/models"
)

type withdrawCmd struct {
	Tag  string `arg:"" help:"Machine: its id, its tag, or owner/tag."`
	No   string `arg:"" optional:"" help:"Number of the fact, as the list shows it; without one the list."`
	Why  string `help:"Why it is taken back; it is shown beside the fact."`
	By   string `help:"Who says so (default: the name of the log-in here)."`
	All  bool   `help:"List every fact and not only the first 30: the newest, and first words on items last."`
	JSON bool   `name:"json" help:"Print the facts as JSON."`
}

func (withdrawCmd) Help() string {
	return `Takes back what was recorded of a machine and never was: a reading, a service, a change of meter, where it stood (sold, laid up ...), a first word on an item, a release, a line or part of a job, an answer to a check. It counts nowhere any more, and stays in the list with the reason and name; loading the same folder again does not bring it back. What was true before counts again: a sale that is taken back gives the machine back to the seller. Messages that went out cannot be taken back; their number is told. Without a number it lists the machine's facts with their numbers. Rules are taken back with items.csv (retired), jobs with ` + "`roundsman job withdraw`" + `, visits with ` + "`roundsman plan drop`" + `, refusals of messages with ` + "`roundsman contact stop --lift`" + `.

Example:
  roundsman withdraw R12
  roundsman withdraw R12 service-118 --why "was done on R21" --by Kim`
}

// listedFacts bounds the facts that the list shows unasked.
const listedFacts = 30

// factJSON is a fact for a script.
type factJSON struct {
	No          string        `json:"no"`
	Sort        string        `json:"sort"`
	At          models.Date   `json:"at"`
	Item        string        `json:"item"`
	What        string        `json:"what"`
	Detail      string        `json:"detail"`
	Miles       models.Number `json:"miles"`
	Hours       models.Number `json:"hours"`
	Doubtful    models.Reason `json:"doubtful"` // why its meter value is left out
	Withdrawn   string        `json:"withdrawn"`
	WithdrawnBy string        `json:"withdrawn_by"`
}

func factNo(f models.MachineFact) string { return fmt.Sprintf("%s-%d", f.Sort, f.Row) }

func factsJSON(doubts map[string]models.Reason, facts ...models.MachineFact) []factJSON {
	out := make([]factJSON, len(facts))
	for i, f := range facts {
		out[i] = factJSON{factNo(f), string(f.Sort), f.At, f.Item, f.What, f.Detail, f.Miles, f.Hours, doubts[factNo(f)], f.Withdrawn.Why, f.Withdrawn.By}
	}
	return out
}

func (cmd withdrawCmd) Run(c *call) error {
	return c.withMachine(cmd.Tag, func(a *app.App, m models.Machine) error {
		if cmd.No == "" {
			return cmd.list(c, a, m)
		}
		sort, digits, _ := strings.Cut(cmd.No, "-")
		row, err := strconv.ParseInt(digits, 10, 64)
		if err != nil {
			return models.Errorf(models.CodeInvalid, "give a number of the list, such as service-118; `roundsman withdraw TAG` shows it", "%q is no number of a fact", cmd.No)
		}
		if strings.TrimSpace(cmd.Why) == "" {
			return models.Errorf(models.CodeInvalid, "add --why with a few words", "nothing says why %s is taken back", cmd.No)
		}
		if cmd.By == "" {
			if u, err := user.Current(); err == nil {
				cmd.By = u.Username
			}
		}
		f, err := a.Withdraw(c.ctx, m.ID, models.Withdrawal{Sort: models.FactSort(sort), Taken: row, Why: strings.TrimSpace(cmd.Why), By: cmd.By})
		if err != nil {
			return err
		}
		if cmd.JSON {
			return printJSON(c.out, factsJSON(nil, f.MachineFact)[0])
		}
		fmt.Fprintf(c.out, "%s: took back the %s of %s (%s). It counts nowhere any more.\n", m.Label(), f.Sort.In("en"), f.At, f.Words(m))
		for _, kept := range f.Kept("en") {
			fmt.Fprintln(c.out, kept)
		}
		return nil
	})
}

// list shows the machine's facts with their numbers.
func (cmd withdrawCmd) list(c *call, a *app.App, m models.Machine) error {
	facts, err := a.Store.FactsOf(c.ctx, m.ID, 0, -1)
	if err != nil {
		return err
	}
	more := 0
	if !cmd.All {
		more = max(0, len(facts)-listedFacts)
		facts = facts[:len(facts)-more]
	}
	found, err := a.Readings().OfMachine(c.ctx, m.ID)
	if err != nil {
		return err
	}
	doubts := map[string]models.Reason{}
	for _, d := range found {
		sort := models.SortReading
		switch d.File {
		case "services.csv":
			sort = models.SortService
		case "swaps.csv":
			sort = models.SortSwap
		}
		doubts[factNo(models.MachineFact{Sort: sort, Row: d.Row})] = d.Reason
	}
	if cmd.JSON {
		return printJSON(c.out, factsJSON(doubts, facts...))
	}
	w := tabwriter.NewWriter(c.out, 0, 4, 2, ' ', 0)
	for _, f := range facts {
		gone := ""
		if why := doubts[factNo(f)]; why != "" {
			gone = "doubtful: " + why.In("en")
		}
		if f.Withdrawn.Why != "" {
			gone = "withdrawn: " + f.Withdrawn.Why
			if f.Withdrawn.By != "" {
				gone += " (" + f.Withdrawn.By + ")"
			}
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", factNo(f), f.At, f.Words(m), gone)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	if more > 0 {
		fmt.Fprintf(c.errs, "note: %d more are written down; --all lists all\n", more)
	}
	return nil
}
