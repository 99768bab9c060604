package main

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// In the evening of a shop west of Greenwich, and in the morning of one east
// of it, the day is another than at Greenwich. What the program dates itself
// has the shop's day, so that it can be corrected and loaded again.
func TestWhatIsDatedHasTheShopsDay(t *testing.T) {
	t.Parallel()
	for zone, now := range map[string]time.Time{
		"America/Los_Angeles": time.Date(2026, 11, 28, 5, 13, 0, 0, time.UTC),
		"Pacific/Auckland":    time.Date(2026, 11, 28, 18, 13, 0, 0, time.UTC),
	} {
		dir := write(t, map[string]string{"roundsman.toml": "[shop]\ntime_zone = \"" + zone + "\"\n[database]\npath = \"facts.db\"\n"})
		settings := filepath.Join(dir, "roundsman.toml")
		ok := func(args ...string) string {
			t.Helper()
			o := at(t, now, "", append([]string{"--config", settings}, args...)...)
			require.Equal(t, exitDone, o.code, "%s %v: %s%s", zone, args, o.out, o.errs)
			return o.out
		}
		ok("owner", "add", "Ada Reyes", "--id", "O1", "--new")
		ok("machine", "add", "--owner", "O1", "--tag", "R1", "--id", "M1", "--kind", "utv", "--hours", "120")
		ok("machine", "change", "M1", "--cooling", "liquid")
		ok("baseline", "M1", "rest=fine")
		ok("release", "M1")
		books := filepath.Join(t.TempDir(), "books")
		ok("export", books)
		place, err := time.LoadLocation(zone)
		require.NoError(t, err)
		today := now.In(place).Format(time.DateOnly)
		machines, err := os.ReadFile(filepath.Join(books, "machines.csv"))
		require.NoError(t, err)
		assert.Contains(t, string(machines), today, zone)
		assert.Contains(t, ok("import", books), "Nothing new", zone)
		other := filepath.Join(t.TempDir(), "other.toml")
		require.NoError(t, os.WriteFile(other, []byte("[shop]\ntime_zone = \""+zone+"\"\n[database]\npath = \"other.db\"\n"), 0o600))
		o := at(t, now, "", "--config", other, "import", books)
		assert.Equal(t, exitDone, o.code, "%s: %s%s", zone, o.out, o.errs)
	}
}
