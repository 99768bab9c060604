package visit

import (
	"context"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestOptimumEqualsMIP compares the plans of small problems with the optimum
// that GLPK, a general-purpose solver, proves for a model with one variable
// for each possible visit (every machine, day, bay and set of items).
func TestOptimumEqualsMIP(t *testing.T) {
	glpsol, err := exec.LookPath("glpsol")
	if err != nil {
		if os.Getenv("ROUNDSMAN_PEERS") == "all" {
			t.Fatal("glpsol is not installed (package glpk-utils), and ROUNDSMAN_PEERS=all asks for every peer")
		}
		t.Skip("glpsol is not installed (package glpk-utils)")
	}
	for _, name := range []string{"two-bays", "one-bay"} {
		t.Run(name, func(t *testing.T) {
			p := readInstance(t, filepath.Join("testdata/plan", name+".json"))
			dir := t.TempDir()
			model := filepath.Join(dir, "model.lp")
			require.NoError(t, os.WriteFile(model, []byte(mipModel(&p)), 0o644))
			out, err := exec.Command(glpsol, "--lp", model, "--mipgap", "0", "--tmlim", "60", "-o", filepath.Join(dir, "out")).CombinedOutput()
			require.NoError(t, err, string(out))
			sol, err := os.ReadFile(filepath.Join(dir, "out"))
			require.NoError(t, err)
			require.Contains(t, string(sol), "INTEGER OPTIMAL")
			m := regexp.MustCompile(`Objective:\s+\S+ = (\S+)`).FindStringSubmatch(string(sol))
			require.Len(t, m, 2)
			optimum, err := strconv.ParseFloat(m[1], 64)
			require.NoError(t, err)

			plan, err := Solve(context.Background(), p, Options{Seed: 3, Steps: 4000})
			require.NoError(t, err)
			require.Empty(t, Check(&p, plan.Visits).Broken)
			require.Equal(t, int64(math.Round(optimum)), plan.Cost)
			require.LessOrEqual(t, plan.Bound, plan.Cost)
		})
	}
}

// mipModel writes the model in the LP format. It takes costs, minutes and
// days of each visit from the checker, not from the planner.
func mipModel(p *Problem) string {
	rows := map[string][]string{}
	var order, objective, names []string
	add := func(row string, coef int, x string) {
		if _, ok := rows[row]; !ok {
			order = append(order, row)
		}
		rows[row] = append(rows[row], fmt.Sprintf("+ %d %s", coef, x))
	}
	for _, v := range everyVisit(p) {
		x := fmt.Sprintf("x%d", len(names))
		c := newChecker(p)
		c.findLocked([]Visit{v})
		c.report = Report{}
		c.visit(0, &v)
		if len(c.report.Broken) > 0 {
			continue
		}
		names = append(names, x)
		objective = append(objective, fmt.Sprintf("+ %d %s", c.report.Cost.Total(), x))
		for _, id := range v.Items {
			add("item_"+id, 1, x)
		}
		for d := range p.Days {
			if m := c.bayUse[v.Bay][d]; m > 0 {
				add(fmt.Sprintf("bay_%s_%d", v.Bay, d), m, x)
				add(fmt.Sprintf("tech_%d", d), m, x)
			}
			if c.out[v.Machine][d] {
				add(fmt.Sprintf("out_%s_%d", v.Machine, d), 1, x)
			}
			for k := range p.Limits {
				if c.limitUse[k][d] > 0 {
					add(fmt.Sprintf("limit_%d_%d", k, d), 1, x)
				}
			}
		}
		for i, l := range p.Locked {
			if l.Machine == v.Machine && l.Day == v.Day && l.Bay == v.Bay && strings.Contains(strings.Join(v.Items, ","), l.Items[0]) {
				add(fmt.Sprintf("locked_%d", i), 1, x)
			}
		}
	}
	for _, it := range p.Items {
		names = append(names, "s_"+it.ID)
		objective = append(objective, fmt.Sprintf("+ %d s_%s", it.Skip, it.ID))
		add("item_"+it.ID, 1, "s_"+it.ID)
	}
	open, tech := p.openMinutes(), p.techMinutes()
	var b strings.Builder
	fmt.Fprintf(&b, "Minimize\n obj: %s\nSubject To\n", strings.Join(objective, "\n "))
	for _, row := range order {
		part := strings.Split(row, "_")
		last, _ := strconv.Atoi(part[len(part)-1])
		op, rhs := "<=", 1
		switch part[0] {
		case "item", "locked":
			op = "="
		case "bay":
			rhs = open[last]
		case "tech":
			rhs = tech[last]
		case "limit":
			k, _ := strconv.Atoi(part[1])
			rhs = p.Limits[k].MaxOut
		}
		fmt.Fprintf(&b, " %s: %s %s %d\n", row, strings.Join(rows[row], "\n "), op, rhs)
	}
	fmt.Fprintf(&b, "Binary\n %s\nEnd\n", strings.Join(names, "\n "))
	return b.String()
}

// everyVisit lists every machine, day, bay and set of its items.
func everyVisit(p *Problem) []Visit {
	var out []Visit
	for _, m := range p.Machines {
		var ids []string
		for _, it := range p.Items {
			if it.Machine == m.ID {
				ids = append(ids, it.ID)
			}
		}
		for set := 1; set < 1<<len(ids); set++ {
			var items []string
			for i, id := range ids {
				if set&(1<<i) != 0 {
					items = append(items, id)
				}
			}
			for d := range p.Days {
				for _, bay := range p.Bays {
					out = append(out, Visit{m.ID, d, bay.ID, items})
				}
			}
		}
	}
	return out
}
