package main

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"time"

	"golang.org/x/sync/errgroup"

	"example.org/roundsman/config"
	"example.org/roundsman/models"
	"example.org/roundsman/models/private"
	"example.org/roundsman/scheduler/visit"
)

type planSolveCmd struct {
	Instance string `arg:"" help:"The problem: a JSON file in the format downtime-plan-1, as it is or packed with gzip."`
	Out      string `required:"" help:"File to write the plan into." placeholder:"FILE"`
	Budget   string `help:"How long to search, such as 10s or 2m (default: 10s, or none with --steps)." placeholder:"TIME"`
	Seed     uint64 `help:"Another seed searches in another order." default:"1"`
	Steps    int64  `help:"How many steps to search: the same steps and seed give the same plan." placeholder:"N"`
	Prices   string `help:"File to write the prices into from which the lower bound can be recomputed." placeholder:"FILE"`
	JSON     bool   `name:"json" help:"Print what came out as JSON."`
}

func (planSolveCmd) Help() string {
	return `Plans downtime: which machine stops on which day in which bay, and what is done at each stop, at the least cost. A first plan is there at once and is improved until the budget is spent; the plan never breaks a hard rule. Beside its cost stands a proven lower bound: no plan whatever costs less, and anyone can work it out again from the prices. A small shop's plan is often proven optimal besides, by listing and trying all that a cheaper one could be made of; the search then ends at once. Stopping the search (Ctrl-C) writes the best plan so far.

Ends with 2 when the problem is faulty or cannot be kept, with a line for each fault.

Example:
  roundsman plan solve problem.json --out plan.json --budget 30s
  roundsman plan solve problem.json.gz --out plan.json --steps 20000 --seed 7 --json`
}

// defaultBudget is how long a search takes where nothing else is said.
const defaultBudget = 10 * time.Second

func (cmd planSolveCmd) Run(c *call) error {
	began := c.clock.Now()
	budget, err := cmd.budget()
	if err != nil {
		return err
	}
	p, err := readProblem(cmd.Instance)
	if err != nil {
		return err
	}
	w := newStopwatch(c, began, budget)
	plan, err := visit.Solve(c.ctx, p, visit.Options{
		Seed: cmd.Seed, Steps: cmd.Steps, Spent: w.spent, Used: w.used, Parallel: sideBySide,
	})
	w.bar.end()
	if err != nil {
		return err
	}
	plan.Gap = gapOf(plan)
	if err := writeJSONFile(cmd.Out, plan); err != nil {
		return err
	}
	if cmd.Prices != "" {
		if err := writeJSONFile(cmd.Prices, plan.Prices); err != nil {
			return err
		}
	}
	return cmd.tell(c, p, plan, w)
}

// budget gives the time to search, 0 for none.
func (cmd planSolveCmd) budget() (time.Duration, error) {
	switch {
	case cmd.Steps < 0:
		return 0, models.Errorf(models.CodeInvalid, "write a number above 0", "--steps %d is no number of steps", cmd.Steps)
	case cmd.Budget == "" && cmd.Steps > 0:
		return 0, nil
	case cmd.Budget == "":
		return defaultBudget, nil
	}
	d, err := config.ParseDuration(cmd.Budget)
	if err != nil || d <= 0 {
		return 0, models.Errorf(models.CodeInvalid, "write a length of time, such as 10s", "--budget %q is no length of time", cmd.Budget)
	}
	return d.Std(), nil
}

// tell says what came out.
func (cmd planSolveCmd) tell(c *call, p visit.Problem, plan visit.Plan, w *stopwatch) error {
	done := 0
	for _, v := range plan.Visits {
		done += len(v.Items)
	}
	took := c.clock.Now().Sub(w.began)
	if cmd.JSON {
		return printJSON(c.out, struct {
			Visits    int        `json:"visits"`
			Items     int        `json:"items"`
			Skipped   int        `json:"skipped"`
			Cost      int64      `json:"cost"`
			Parts     visit.Cost `json:"parts"`
			Bound     int64      `json:"bound"`
			Gap       float64    `json:"gap"`
			Optimal   bool       `json:"optimal"`
			FirstPlan int64      `json:"first_plan_ms"`
			Steps     int64      `json:"steps"`
			Millis    int64      `json:"ms"`
		}{len(plan.Visits), done, len(p.Items) - done, plan.Cost, plan.Parts, plan.Bound, plan.Gap, plan.Optimal,
			w.first.Milliseconds(), plan.Steps, took.Milliseconds()})
	}
	fmt.Fprintf(c.out, "%s with %s, %s left out; cost %s.\n", plural(len(plan.Visits), "visit", "visits"),
		plural(done, "item", "items"), models.Grouped(len(p.Items)-done), money(plan.Cost))
	if plan.Optimal {
		fmt.Fprintln(c.out, "Optimal, by enumeration: all that a cheaper plan could be made of was listed and tried.")
	}
	if plan.Bound > 0 || plan.Cost == 0 {
		fmt.Fprintf(c.out, "No plan costs less than %s: within %.1f %% of the best possible.\n", money(plan.Bound), 100*plan.Gap)
	} else {
		fmt.Fprintln(c.out, "How good that is was not proved.")
	}
	fmt.Fprintf(c.out, "First plan after %.2f s, %s steps, %.1f s in all. Written to %s.\n",
		w.first.Seconds(), models.Grouped(plan.Steps), took.Seconds(), cmd.Out)
	return nil
}

// gapOf says what part of a plan's cost is not proven to be needed: 0 for the
// best possible plan, 1 where nothing is proven.
func gapOf(p visit.Plan) float64 {
	if p.Cost == 0 {
		return 0
	}
	return float64(p.Cost-p.Bound) / float64(p.Cost)
}

// money writes cents as a sum: "1,234.50".
func money(cents int64) string {
	sign := ""
	if cents < 0 {
		sign, cents = "-", -cents
	}
	return fmt.Sprintf("%s%s.%02d", sign, models.Grouped(cents/100), cents%100)
}

// stopwatch tells a search when its time is up, and shows on a terminal how
// far it is.
type stopwatch struct {
	clock  models.Clock
	began  time.Time
	budget time.Duration // 0: none
	bar    *progress
	asked  bool
	first  time.Duration // when the search first asked: there was a plan then
}

func newStopwatch(c *call, began time.Time, budget time.Duration) *stopwatch {
	return &stopwatch{clock: c.clock, began: began, budget: budget, bar: c.progress()}
}

func (w *stopwatch) spent() bool {
	gone := w.clock.Now().Sub(w.began)
	if !w.asked {
		w.asked, w.first = true, gone
	}
	w.bar.step("planning", int64(min(gone, w.budget)), int64(w.budget))
	return w.budget > 0 && gone >= w.budget
}

func (w *stopwatch) used() float64 {
	if w.budget <= 0 {
		return 0
	}
	return min(1, float64(w.clock.Now().Sub(w.began))/float64(w.budget))
}

// sideBySide runs fn(0) to fn(n-1) on all the cores there are.
func sideBySide(n int, fn func(int)) {
	var g errgroup.Group
	g.SetLimit(runtime.GOMAXPROCS(0))
	for i := range n {
		g.Go(func() error { fn(i); return nil })
	}
	_ = g.Wait() // none of them fails
}

// maxProblem bounds how large an unpacked problem may be, in bytes: a small
// packed file must not fill the memory.
const maxProblem = 256 << 20

// gzipMagic begins every gzip file (RFC 1952, 2.3.1).
var gzipMagic = []byte{0x1f, 0x8b}

// readProblem reads a problem's file, packed or not, whatever its name.
func readProblem(path string) (visit.Problem, error) {
	b, err := os.ReadFile(path)
	if err != nil {
		return visit.Problem{}, &models.Error{Code: models.CodeInvalid, Message: "cannot read the problem", Err: err, Remedy: "check its path"}
	}
	if bytes.HasPrefix(b, gzipMagic) {
		if b, err = unpack(b); err != nil {
			return visit.Problem{}, &models.Error{Code: models.CodeInvalid, Message: path + " cannot be unpacked", Err: err, Remedy: "pack it with gzip anew, or give it as it is"}
		}
	}
	return visit.Decode(b, filepath.Base(path))
}

func unpack(b []byte) ([]byte, error) {
	z, err := gzip.NewReader(bytes.NewReader(b))
	if err != nil {
		return nil, err
	}
	out, err := io.ReadAll(io.LimitReader(z, maxProblem+1))
	if err != nil {
		return nil, err
	}
	if len(out) > maxProblem {
		return nil, fmt.Errorf("it holds more than %d MB", maxProblem>>20)
	}
	return out, nil
}

// writeJSONFile writes a value as one JSON document, whole or not at all.
func writeJSONFile(path string, v any) error {
	b, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("writing %s: %w", path, err)
	}
	return writeFile(path, append(b, '\n'))
}

// writeFile writes a file for others to read, whole or not at all.
func writeFile(path string, data []byte) error {
	if err := private.Replace(path, data, 0o644); err != nil {
		return &models.Error{Code: models.CodeUnavailable, Message: path + " cannot be written", Err: err,
			Remedy: "name a file in a folder that may be written"}
	}
	return nil
}
