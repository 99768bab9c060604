package trial

import (
	"encoding/csv"
	"flag"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

var update = flag.Bool("update", false, "write testdata/fleet-small anew")

const smallDir = "testdata/fleet-small"

// TestSmallFleet measures on the folder of cases that the project keeps, read
// from its files. With -update the folder is written anew from the generator.
func TestSmallFleet(t *testing.T) {
	if *update {
		writeFolder(t, smallDir, invent(3, 84))
	}
	f := readFolder(t, smallDir)
	require.NotEmpty(t, f.cases)
	r := measure(f)
	t.Logf("%s\n%s", smallDir, r)
	require.Less(t, r.ratio(), 0.66)
	require.InDelta(t, 0.8, r.all.inside/r.all.n, 0.08)
	require.GreaterOrEqual(t, r.caught/r.slips, 0.85)
	require.LessOrEqual(t, r.doubted/r.good, 0.01)
}

// writeFolder writes a fleet with its cases and answers as CSV.
func writeFolder(t *testing.T, dir string, f *folder) {
	t.Helper()
	require.NoError(t, os.MkdirAll(filepath.Join(dir, "answers"), 0o755))
	owners := [][]string{{"owner", "name", "type"}}
	machines := [][]string{{"machine", "tag", "kind", "owner", "meters", "in_service", "miles_start", "hours_start", "miles_max"}}
	items := [][]string{{"kind", "item", "miles", "hours", "months"}}
	readings := [][]string{{"machine", "at", "miles", "hours", "source"}}
	services := [][]string{{"machine", "item", "at", "miles", "hours"}}
	labels := [][]string{{"machine", "archetype", "underlying", "dirty"}}
	dirt := [][]string{{"machine", "at", "miles", "hours", "dirt", "err_days"}}
	seen, kinds := map[string]bool{}, map[string]bool{}
	for _, h := range f.Histories {
		m := h.Machine
		if !seen[m.Owner] {
			seen[m.Owner] = true
			owners = append(owners, []string{m.Owner, h.Owner.Name, h.Owner.Type})
		}
		if !kinds[m.Kind] {
			kinds[m.Kind] = true
			for _, item := range []string{"belt", "oil", "plugs"} {
				v := inventedRules[item]
				items = append(items, []string{m.Kind, item, v.Miles.String(), v.Hours.String(), months(v.Months)})
			}
		}
		machines = append(machines, []string{m.ID, m.Tag, m.Kind, m.Owner, string(m.Meters), m.InService.String(),
			m.MilesStart.String(), m.HoursStart.String(), m.MilesMax.String()})
		labels = append(labels, []string{m.ID, f.habit[m.ID], f.habit[m.ID], ""})
		for _, r := range h.Readings {
			readings = append(readings, []string{m.ID, r.At.String(), r.Miles.String(), r.Hours.String(), r.Source})
			if k := f.dirt[dirtKey(m.ID, r.At, r.Miles, r.Hours)]; k != "" {
				dirt = append(dirt, []string{m.ID, r.At.String(), r.Miles.String(), r.Hours.String(), k, ""})
			}
		}
		for _, s := range h.Services {
			services = append(services, []string{m.ID, s.Item, s.At.String(), s.Miles.String(), s.Hours.String()})
		}
	}
	cases := [][]string{{"machine", "item", "as_of"}}
	truth := [][]string{{"machine", "item", "as_of", "due_on"}}
	bound := [][]string{{"machine", "item", "as_of", "bound", "state"}}
	informed := [][]string{{"machine", "item", "as_of", "due_on", "early_on", "late_on"}}
	for _, c := range f.cases {
		key := []string{c.Machine, c.Item, c.AsOf.String()}
		row := func(more ...models.Date) []string {
			out := append([]string(nil), key...)
			for _, d := range more {
				out = append(out, d.String())
			}
			return out
		}
		state := "ahead"
		if f.truth[c] < c.AsOf {
			state = "overdue"
		}
		o := f.informed[c]
		cases, truth = append(cases, key), append(truth, row(f.truth[c]))
		bound = append(bound, append(row(), f.bound[c], state))
		informed = append(informed, row(o.Due, o.Early, o.Late))
	}
	for name, rows := range map[string][][]string{"owners.csv": owners, "machines.csv": machines, "items.csv": items,
		"readings.csv": readings, "services.csv": services, "cases.csv": cases, "answers/truth.csv": truth,
		"answers/bound.csv": bound, "answers/oracle.csv": informed, "answers/labels.csv": labels, "answers/dirt.csv": dirt} {
		w, err := os.Create(filepath.Join(dir, name))
		require.NoError(t, err)
		require.NoError(t, csv.NewWriter(w).WriteAll(rows))
		require.NoError(t, w.Close())
	}
}

func months(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}
