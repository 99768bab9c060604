package trial

import (
	"encoding/csv"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// row is a CSV row by column name.
type row map[string]string

func (r row) date(k string) models.Date { return models.MustDate(r[k]) }
func (r row) num(k string) models.Number {
	n, err := models.ParseNumber(r[k])
	if err != nil {
		return models.Number{}
	}
	return n
}

// readRows reads a CSV file of a folder; a missing file has no rows.
func readRows(t testing.TB, dir, name string) []row {
	t.Helper()
	f, err := os.Open(filepath.Join(dir, name))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	require.NoError(t, err)
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	out := make([]row, 0, len(all))
	for _, rec := range all[1:] {
		r := row{}
		for i, name := range all[0] {
			r[name] = rec[i]
		}
		out = append(out, r)
	}
	return out
}

// folder is a fleet with its cases and, where they are there, the answers.
type folder struct {
	Fleet
	plain    map[[2]string]plain // intervals, by kind and item
	cases    []Case
	truth    map[Case]models.Date
	bound    map[Case]string
	informed map[Case]Answer
	habit    map[string]string // machine: how it is used
	dirt     map[string]string // reading: its kind of dirt
}

// readFolder loads a folder of cases; tests only, the program has its own
// reader.
func readFolder(t testing.TB, dir string) *folder {
	t.Helper()
	f := &folder{truth: map[Case]models.Date{}, bound: map[Case]string{}, informed: map[Case]Answer{},
		habit: map[string]string{}, dirt: map[string]string{}}
	owners := map[string]models.Owner{}
	for _, r := range readRows(t, dir, "owners.csv") {
		owners[r["owner"]] = models.Owner{ID: r["owner"], Type: r["type"]}
	}
	f.readMachines(t, dir, owners)
	var rules []models.Rule
	f.plain = map[[2]string]plain{}
	for _, r := range readRows(t, dir, "items.csv") {
		months, _ := strconv.Atoi(r["months"])
		v := plain{Miles: r.num("miles"), Hours: r.num("hours"), Months: months}
		f.plain[[2]string{r["kind"], r["item"]}] = v
		rules = append(rules, rulesOf(r["kind"], map[string]plain{r["item"]: v})...)
	}
	f.Rules = bookOf(rules)
	for _, r := range readRows(t, dir, "cases.csv") {
		f.cases = append(f.cases, Case{r["machine"], r["item"], r.date("as_of")})
	}
	f.readAnswers(t, filepath.Join(dir, "answers"))
	return f
}

func (f *folder) readMachines(t testing.TB, dir string, owners map[string]models.Owner) {
	t.Helper()
	index := map[string]int{}
	for _, r := range readRows(t, dir, "machines.csv") {
		index[r["machine"]] = len(f.Histories)
		f.Histories = append(f.Histories, models.History{Owner: owners[r["owner"]], Machine: models.Machine{
			ID: r["machine"], Tag: r["tag"], Kind: r["kind"], Owner: r["owner"], Meters: models.Meters(r["meters"]),
			InService: r.date("in_service"), MilesStart: r.num("miles_start"), HoursStart: r.num("hours_start"),
			MilesMax: r.num("miles_max")}})
	}
	for i, r := range readRows(t, dir, "readings.csv") {
		h := &f.Histories[index[r["machine"]]]
		x := models.Reading{Machine: r["machine"], At: r.date("at"), Miles: r.num("miles"), Hours: r.num("hours"), Source: r["source"]}
		x.Row = int64(i + 1)
		h.Readings = append(h.Readings, x)
	}
	for _, r := range readRows(t, dir, "services.csv") {
		h := &f.Histories[index[r["machine"]]]
		h.Services = append(h.Services, models.Service{Machine: r["machine"], Item: r["item"], At: r.date("at"),
			Miles: r.num("miles"), Hours: r.num("hours")})
	}
	for _, r := range readRows(t, dir, "swaps.csv") {
		h := &f.Histories[index[r["machine"]]]
		h.Swaps = append(h.Swaps, models.Swap{Machine: r["machine"], At: r.date("at"), Meter: models.Meter(r["meter"]),
			OldValue: r.num("old_value"), NewValue: r.num("new_value")})
	}
}

func (f *folder) readAnswers(t testing.TB, dir string) {
	t.Helper()
	key := func(r row) Case { return Case{r["machine"], r["item"], r.date("as_of")} }
	for _, r := range readRows(t, dir, "truth.csv") {
		f.truth[key(r)] = r.date("due_on")
	}
	for _, r := range readRows(t, dir, "bound.csv") {
		f.bound[key(r)] = r["bound"]
	}
	for _, r := range readRows(t, dir, "oracle.csv") {
		f.informed[key(r)] = Answer{Case: key(r), Due: r.date("due_on"), Early: r.date("early_on"), Late: r.date("late_on"), OK: true}
	}
	for _, r := range readRows(t, dir, "labels.csv") {
		f.habit[r["machine"]] = r["archetype"]
	}
	for _, r := range readRows(t, dir, "dirt.csv") {
		f.dirt[dirtKey(r["machine"], r.date("at"), r.num("miles"), r.num("hours"))] = r["dirt"]
	}
}

func dirtKey(machine string, at models.Date, miles, hours models.Number) string {
	return machine + "|" + at.String() + "|" + miles.String() + "|" + hours.String()
}
