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
	assert.ElementsMatch(t, append(Names(), "notes.txt"), namesIn(t, dir))
	swaps, err := os.ReadFile(filepath.Join(dir, "swaps.csv"))
	require.NoError(t, err)
	assert.Equal(t, "machine,at,meter,old_value,new_value\n", string(swaps), "rows of an earlier export are gone")

	back, report := readAll(t, os.DirFS(dir), Options{})
	assert.Empty(t, texts(report.Faults))
	assert.Equal(t, []string{"notes.txt"}, report.Unknown)
	assertSameFacts(t, full, back)
}

// TestWriteWithoutOwners: a folder that has nothing to say of owners gets no
// owners.csv, for with an empty one its machines would belong to nobody.
func TestWriteWithoutOwners(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "owners.csv"), []byte("owner,name,type\n"), 0o600))
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

	require.NoError(t, os.MkdirAll(filepath.Join(dir, "services.csv", "x"), 0o755)) // the last to be moved
	err := Write(context.Background(), dir, full)
	assert.Equal(t, models.CodeUnavailable, models.CodeOf(err))
	assert.ErrorContains(t, err, "services.csv cannot be written")
	assert.NotContains(t, fmt.Sprint(namesIn(t, dir)), ".services", "no draft stays")

	file := filepath.Join(dir, "file")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	err = Write(context.Background(), filepath.Join(file, "x"), full)
	assert.Equal(t, models.CodeUnavailable, models.CodeOf(err))
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
