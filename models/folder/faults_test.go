package folder

import (
	"context"
	"flag"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/tools/txtar"

	"example.org/roundsman/models"
)

var update = flag.Bool("update", false, "write the golden files anew")

// today is the day of the tests.
var today = models.MustDate("2026-11-02")

// baseMachines is the machines.csv of folders that bring none of their own.
const baseMachines = `machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max
M1,U-1,utv,O1,miles,2024-04-01,0,,9999.9
M2,G-1,generator,O1,hours,2024-04-01,,12.5,
M3,Q-1,atv,O2,both,2024-04-01,0,0,
`

// onDisk makes a file system of files, with the base machines where none are
// given.
func onDisk(files map[string]string) fstest.MapFS {
	all := map[string]string{"machines.csv": baseMachines}
	maps.Copy(all, files)
	fsys := fstest.MapFS{}
	for name, data := range all {
		fsys[name] = &fstest.MapFile{Data: []byte(data)}
	}
	return fsys
}

// readAll reads a folder as of today.
func readAll(t testing.TB, fsys fs.FS, opt Options) (models.FactSet, Report) {
	t.Helper()
	opt.Now = today
	f, report, err := Read(context.Background(), fsys, opt)
	require.NoError(t, err)
	return f, report
}

// tell writes a report as the golden files have it.
func tell(r Report) string {
	var b strings.Builder
	for _, f := range r.Faults {
		fmt.Fprintf(&b, "fault %s\n", f)
	}
	for _, f := range r.Warnings {
		fmt.Fprintf(&b, "warning %s\n", f)
	}
	for _, name := range r.Unknown {
		fmt.Fprintf(&b, "left alone %s\n", name)
	}
	for _, name := range Names() {
		if n, ok := r.Counts[name]; ok {
			fmt.Fprintf(&b, "%s: %s taken, %d said again\n", name, count(n, "row"), r.Repeats[name])
		}
	}
	return b.String()
}

// TestFaults reads one folder for each kind of mistake and compares the whole
// report, word for word.
func TestFaults(t *testing.T) {
	paths, err := filepath.Glob("testdata/faults/*.txtar")
	require.NoError(t, err)
	require.NotEmpty(t, paths)
	for _, path := range paths {
		t.Run(strings.TrimSuffix(filepath.Base(path), ".txtar"), func(t *testing.T) {
			archive, err := txtar.ParseFile(path)
			require.NoError(t, err)
			files, want := map[string]string{}, ""
			kept := archive.Files[:0]
			for _, f := range archive.Files {
				if f.Name == "want" {
					want = string(f.Data)
					continue
				}
				kept = append(kept, f)
				files[f.Name] = string(f.Data)
			}
			var oil []models.Rule
			for _, kind := range []string{"utv", "atv", "generator"} {
				oil = append(oil, models.Rule{Kind: kind, Item: models.ItemOil})
			}
			_, report := readAll(t, onDisk(files), Options{Stored: Stored{Rules: models.ByKey(oil, models.Rule.Key)}})
			got := tell(report)
			if *update {
				archive.Files = append(kept, txtar.File{Name: "want", Data: []byte(got)})
				require.NoError(t, os.WriteFile(path, txtar.Format(archive), 0o644))
				return
			}
			assert.Equal(t, want, got)
		})
	}
}
