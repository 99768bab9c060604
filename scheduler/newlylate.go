package scheduler

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/interval"
)

// firstNames is how many items are named of those that a change makes late.
const firstNames = 3

// NewlyLate asks about machines whose facts are said otherwise than known gives
// them, and on which that makes items late that were not: a question each, by
// machine, in the words of the file machines.csv.
func (d *Readings) NewlyLate(ctx context.Context, said []models.Machine, known map[string]models.Machine, rules []models.Rule, today models.Date) (map[string]models.Fault, error) {
	is := map[string]models.Machine{}
	for _, m := range said {
		was, there := known[m.ID]
		m.BooksSince = cmp.Or(m.BooksSince, was.BooksSince, today)
		now := m
		was.Fact, now.Fact = models.Fact{}, models.Fact{}
		if there && was != now && m.Mistake.Why == "" {
			is[m.ID] = m
		}
	}
	out := map[string]models.Fault{}
	book := interval.NewBook(rules)
	for batch := range slices.Chunk(slices.Sorted(maps.Keys(is)), batchMachines) {
		hs, err := d.histories(ctx, batch, models.Window{AsOf: today})
		if err != nil {
			return nil, err
		}
		for _, id := range batch {
			h, there := hs[id]
			if !there {
				continue
			}
			before := lateOn(h, book, today)
			h.Machine = is[id]
			var names []string
			for _, item := range lateOn(h, book, today) {
				if !slices.Contains(before, item) {
					names = append(names, models.ItemName(item, "en"))
				}
			}
			if len(names) == 0 {
				continue
			}
			f := models.Fault{File: "machines.csv", Field: "books_since", Value: is[id].BooksSince.String(), Asks: true,
				Remedy: "see whether the day, the meters and the kind are right"}
			if is[id].BooksSince == known[id].BooksSince {
				f.Field, f.Value = "machine", id
			}
			list := strings.Join(names[:min(len(names), firstNames)], ", ")
			if len(names) > firstNames {
				list += " ..."
			}
			f.Problem = fmt.Sprintf("makes items late that were not: %d (%s)", len(names), list)
			out[id] = f
		}
	}
	return out, nil
}

// lateOn gives the items of a machine that are late on a day, by the profile
// that ships with the program.
func lateOn(h models.History, book *interval.Book, today models.Date) (items []string) {
	e := Evaluate(MachineFacts{History: h}, Basis{Today: today, Rules: book})
	for _, f := range e.Forecasts {
		if f.Stage == models.StageLate {
			items = append(items, f.Item)
		}
	}
	return items
}
