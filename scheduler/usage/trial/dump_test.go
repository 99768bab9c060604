package trial

import (
	"encoding/csv"
	"flag"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
)

var (
	fleetDir = flag.String("fleet", "", "folder of cases with known answers to measure on")
	outFile  = flag.String("out", "", "with -fleet: write the forecasts here, and the doubted readings beside it")
)

// TestDump writes the forecasts of a folder of cases for an outside judge.
func TestDump(t *testing.T) {
	if *fleetDir == "" || *outFile == "" {
		t.Skip("no -fleet and -out given")
	}
	f := readFolder(t, *fleetDir)
	answers, doubted := Forecast(f.Fleet, f.cases)
	rows := [][]string{{"machine", "item", "as_of", "due_on", "early_on", "late_on"}}
	for _, a := range answers {
		if a.OK {
			rows = append(rows, []string{a.Machine, a.Item, a.AsOf.String(), a.Due.String(), a.Early.String(), a.Late.String()})
		}
	}
	writeRows(t, *outFile, rows)
	rows = [][]string{{"machine", "at", "miles", "hours"}}
	for _, d := range doubted {
		r := d.Reading
		rows = append(rows, []string{r.Machine, r.At.String(), r.Miles.String(), r.Hours.String()})
	}
	writeRows(t, *outFile+".doubted", rows)
}

func writeRows(t *testing.T, name string, rows [][]string) {
	t.Helper()
	w, err := os.Create(name)
	require.NoError(t, err)
	require.NoError(t, csv.NewWriter(w).WriteAll(rows))
	require.NoError(t, w.Close())
}
