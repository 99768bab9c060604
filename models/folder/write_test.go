package folder

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// names lists a directory.
func namesIn(t *testing.T, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	var out []string
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return out
}

// TestCanonicalForm compares a written folder with files kept byte for byte.
func TestCanonicalForm(t *testing.T) {
	for name, file := range sampleFiles(t) {
		path := filepath.Join("testdata", "canonical", name)
		if *update {
			require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
			require.NoError(t, os.WriteFile(path, file.Data, 0o644))
		}
		want, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Equal(t, string(want), string(file.Data), name)
	}
	_, report := readAll(t, os.DirFS(filepath.Join("testdata", "canonical")), Options{})
	assert.Empty(t, texts(report.Faults))
	assert.Empty(t, texts(report.Warnings))
	assert.Empty(t, report.Unknown)
	assert.Len(t, report.Counts, len(Names()))
}

func TestWriteReplacesItsFilesAndNoOthers(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "deep", "export")
	full, report := readAll(t, sampleFiles(t), Options{})
	require.Empty(t, texts(report.Faults))
	require.NoError(t, Write(context.Background(), dir, full))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "notes.txt"), []byte("mine"), 0o600))

	full.Swaps = nil
	require.NoError(t, Write(context.Background(), dir, full))
	assert.ElementsMatch(t, append(Names(), "notes.txt", sumsFile), namesIn(t, dir))
	swaps, err := os.ReadFile(filepath.Join(dir, "swaps.csv"))
	require.NoError(t, err)
	assert.Equal(t, "machine,at,meter,old_value,new_value,withdrawn,withdrawn_by\n", string(swaps), "rows of an earlier export are gone")

	back, report := readAll(t, os.DirFS(dir), Options{})
	assert.Empty(t, texts(report.Faults))
	assert.Equal(t, []string{"notes.txt"}, report.Unknown)
	assertSameFacts(t, full, back)
}

// TestWriteWithoutOwners: a folder that has nothing to say of owners gets no
// owners.csv, for with an empty one its machines would belong to nobody.
func TestWriteWithoutOwners(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, Write(context.Background(), dir, models.FactSet{Owners: list(models.Owner{ID: "O1"})}))
	f := models.FactSet{Machines: list(models.Machine{ID: "M1", Kind: "utv", Owner: "O1", Meters: models.MetersHours})}
	require.NoError(t, Write(context.Background(), dir, f))
	assert.NotContains(t, namesIn(t, dir), "owners.csv")
	back, report := readAll(t, os.DirFS(dir), Options{})
	assert.Empty(t, texts(report.Faults))
	assert.Len(t, back.Owners, 1)
}

func TestWriteThatFailsLeavesNothingBehind(t *testing.T) {
	dir := t.TempDir()
	full, _ := readAll(t, sampleFiles(t), Options{})

	cancelled, cancel := context.WithCancel(context.Background())
	cancel()
	assert.ErrorIs(t, Write(cancelled, dir, full), context.Canceled)
	assert.Empty(t, namesIn(t, dir))

	require.NoError(t, Write(context.Background(), dir, full))
	require.NoError(t, os.Remove(filepath.Join(dir, "services.csv")))
	require.NoError(t, os.MkdirAll(filepath.Join(dir, "services.csv", "x"), 0o755))
	err := Write(context.Background(), dir, full)
	assert.Equal(t, models.CodeUnavailable, models.CodeOf(err))
	assert.ErrorContains(t, err, "services.csv cannot be written")
	assert.NotContains(t, fmt.Sprint(namesIn(t, dir)), ".services", "no draft stays")

	file := filepath.Join(dir, "file")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	err = Write(context.Background(), filepath.Join(file, "x"), full)
	assert.Equal(t, models.CodeUnavailable, models.CodeOf(err))
}

// TestWriteSparesAFolderOfSomethingElse, whether a name collides or not; what is
// hidden is nothing.
func TestWriteSparesAFolderOfSomethingElse(t *testing.T) {
	full, _ := readAll(t, sampleFiles(t), Options{})
	for _, name := range []string{"machines.csv", "notes.txt"} {
		dir := t.TempDir()
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte("mine"), 0o600))
		err := Write(context.Background(), dir, full)
		assert.Equal(t, models.CodeConflict, models.CodeOf(err))
		assert.ErrorContains(t, err, "holds something else already: "+name+"; export into a new folder")
		assert.Equal(t, []string{name}, namesIn(t, dir))
		require.NoError(t, os.Rename(filepath.Join(dir, name), filepath.Join(dir, "."+name)))
		require.NoError(t, Write(context.Background(), dir, full))
	}
}

// TestWriteSparesWhatNoExportWrote: neither a folder filled by hand nor an
// export that was edited is written over.
func TestWriteSparesWhatNoExportWrote(t *testing.T) {
	full, _ := readAll(t, sampleFiles(t), Options{})
	for name, fill := range map[string]func(t *testing.T, dir string){
		"edited": func(t *testing.T, dir string) {
			require.NoError(t, Write(context.Background(), dir, full))
		},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			fill(t, dir)
			path := filepath.Join(dir, "machines.csv")
			require.NoError(t, os.WriteFile(path, []byte(baseMachines), 0o600))
			before := namesIn(t, dir)
			err := Write(context.Background(), dir, full)
			assert.Equal(t, models.CodeConflict, models.CodeOf(err))
			assert.ErrorContains(t, err, "machines.csv was not written by an export, or was changed since; export into a new folder")
			kept, err := os.ReadFile(path)
			require.NoError(t, err)
			assert.Equal(t, baseMachines, string(kept))
			assert.Equal(t, before, namesIn(t, dir))
		})
	}
}

// TestAKilledExportIsMadeGood: drafts and half the new files stand there, and
// the next export takes all of it for its own.
func TestAKilledExportIsMadeGood(t *testing.T) {
	dir := t.TempDir()
	full, _ := readAll(t, sampleFiles(t), Options{})
	require.NoError(t, Write(context.Background(), dir, models.FactSet{}))
	require.NoError(t, os.WriteFile(filepath.Join(dir, ".owners.csv.draft"), []byte("own"), 0o600))
	old, err := os.ReadFile(filepath.Join(dir, sumsFile))
	require.NoError(t, err)
	done := t.TempDir()
	require.NoError(t, Write(context.Background(), done, full))
	fresh, err := os.ReadFile(filepath.Join(done, sumsFile))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, sumsFile), append(old, fresh...), 0o600))
	require.NoError(t, os.Rename(filepath.Join(done, "swaps.csv"), filepath.Join(dir, "swaps.csv")))
	_, report := readAll(t, os.DirFS(dir), Options{})
	assert.Empty(t, report.Unknown)

	require.NoError(t, Write(context.Background(), dir, full))
	assert.ElementsMatch(t, append(Names(), sumsFile), namesIn(t, dir))
}

// TestWrittenFilesArePrivate: they hold people's addresses.
func TestWrittenFilesArePrivate(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, Write(context.Background(), dir, models.FactSet{}))
	info, err := os.Stat(filepath.Join(dir, "contacts.csv"))
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
}

// shopOf makes a folder of many readings and services.
func shopOf(readings, services int) models.FactSet {
	rng := rand.New(rand.NewPCG(1, 2))
	f := models.FactSet{}
	const machines = 1500
	for i := range machines {
		owner := fmt.Sprintf("O%04d", i/3)
		if i%3 == 0 {
			f.Owners = append(f.Owners, models.Owner{ID: owner, Name: "Ranch " + owner})
		}
		f.Machines = append(f.Machines, models.Machine{
			ID: fmt.Sprintf("M%05d", i), Tag: fmt.Sprintf("U-%d", i), Kind: "utv", Owner: owner, Meters: models.MetersBoth,
		})
	}
	value := func() models.Number { return models.Num(float64(rng.IntN(99999)) / 10) }
	for i := range readings {
		f.Readings = append(f.Readings, models.Reading{
			Machine: fmt.Sprintf("M%05d", i%machines), At: today - models.Date(i/machines), Miles: value(), Hours: value(), Source: "owner",
		})
	}
	for i := range services {
		f.Services = append(f.Services, models.Service{
			Machine: fmt.Sprintf("M%05d", i%machines), Item: "oil", At: today - models.Date(i/machines), Miles: value(), Hours: value(),
		})
	}
	return f
}

func BenchmarkRead(b *testing.B) {
	fsys := encode(b, shopOf(25_000, 20_000))
	var size int64
	for _, file := range fsys {
		size += int64(len(file.Data))
	}
	b.SetBytes(size)
	b.ReportAllocs()
	for b.Loop() {
		_, report := readAll(b, fsys, Options{})
		require.Empty(b, report.Faults)
	}
}

func BenchmarkWrite(b *testing.B) {
	f := shopOf(25_000, 20_000)
	b.ReportAllocs()
	for b.Loop() {
		require.Len(b, encode(b, f), len(Names()))
	}
}
