package main

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/models"
)

type forecastCmd struct {
	Cases   string `required:"" help:"CSV file with the columns machine, item, as_of." placeholder:"FILE"`
	Out     string `required:"" help:"CSV file to write: machine, item, as_of, due_on, early_on, late_on." placeholder:"FILE"`
	Doubted string `help:"CSV file to write: the readings doubted on the days asked." placeholder:"FILE"`
}

func (forecastCmd) Help() string {
	return `For each row gives the forecast that would have been given on that day from what was known then, of this machine and of all others: the likely date and the range in which it lies in 4 cases of 5, at most 400 days ahead. Ends with 3 when some machines or items are not known.

Example:
  roundsman forecast --cases cases.csv --out dates.csv --doubted doubted.csv`
}

func (cmd forecastCmd) Run(c *call) error {
	cases, err := readCases(cmd.Cases)
	if err != nil {
		return err
	}
	return c.with(func(a *app.App) error {
		answers, doubted, err := a.Cases(c.ctx, cases)
		if err != nil {
			return err
		}
		rows := [][]string{{"machine", "item", "as_of", "due_on", "early_on", "late_on"}}
		unknown := 0
		for _, an := range answers {
			if !an.OK {
				unknown++
				fmt.Fprintf(c.errs, "no forecast for item %q of machine %q as of %s: no such machine, or no rule for the item\n", an.Item, an.Machine, an.AsOf)
				continue
			}
			rows = append(rows, []string{an.Machine, an.Item, an.AsOf.String(), an.Due.String(), an.Early.String(), an.Late.String()})
		}
		if err := writeCSV(cmd.Out, rows); err != nil {
			return err
		}
		if cmd.Doubted != "" {
			out := [][]string{{"machine", "at", "miles", "hours"}}
			for _, d := range doubted {
				out = append(out, []string{d.Reading.Machine, d.Reading.At.String(), d.Reading.Miles.String(), d.Reading.Hours.String()})
			}
			if err := writeCSV(cmd.Doubted, out); err != nil {
				return err
			}
		}
		fmt.Fprintf(c.out, "%s answered.\n", plural(len(answers)-unknown, "case", "cases"))
		if unknown > 0 {
			return errPartial
		}
		return nil
	})
}

// readCases reads the cases file; all its faults come in one go.
func readCases(path string) ([]app.Case, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, &models.Error{Code: models.CodeInvalid, Message: "cannot read the cases", Err: err, Remedy: "check the path of --cases"}
	}
	defer f.Close()
	name := filepath.Base(path)
	r := csv.NewReader(f)
	r.FieldsPerRecord = -1
	head, err := r.Read()
	if err != nil {
		return nil, models.Faults{{File: name, Line: 1, Problem: "has no header row", Remedy: "the first line is machine,item,as_of"}}
	}
	at := map[string]int{}
	for i, h := range head {
		at[strings.TrimSpace(strings.TrimPrefix(h, "\ufeff"))] = i
	}
	for _, want := range []string{"machine", "item", "as_of"} {
		if _, ok := at[want]; !ok {
			return nil, models.Faults{{File: name, Line: 1, Field: want, Problem: "is missing", Remedy: "the columns are machine, item and as_of"}}
		}
	}
	return readCaseRows(name, r, at, len(head))
}

func readCaseRows(name string, r *csv.Reader, at map[string]int, width int) ([]app.Case, error) {
	var cases []app.Case
	var faults models.Faults
	for {
		row, err := r.Read()
		if err == io.EOF {
			break
		}
		line, _ := r.FieldPos(0)
		if err != nil {
			faults = append(faults, models.Fault{File: name, Line: line, Problem: err.Error(), Remedy: "write plain CSV"})
			break
		}
		if len(row) != width {
			faults = append(faults, models.Fault{File: name, Line: line, Problem: fmt.Sprintf("has %d fields and the header %d", len(row), width), Remedy: "give each row a field for every column"})
			continue
		}
		day, err := models.ParseDate(strings.TrimSpace(row[at["as_of"]]))
		if err != nil {
			_, col := r.FieldPos(at["as_of"])
			faults = append(faults, models.Fault{File: name, Line: line, Column: col, Field: "as_of", Value: row[at["as_of"]], Problem: "is not a date", Remedy: "write YYYY-MM-DD"})
			continue
		}
		cases = append(cases, app.Case{Machine: row[at["machine"]], Item: row[at["item"]], AsOf: day})
	}
	return cases, faults.Err()
}

// writeCSV writes a file whole or not at all.
func writeCSV(path string, rows [][]string) error {
	var b bytes.Buffer
	if err := csv.NewWriter(&b).WriteAll(rows); err != nil {
		return fmt.Errorf("writing %s: %w", path, err)
	}
	return writeFile(path, b.Bytes())
}
