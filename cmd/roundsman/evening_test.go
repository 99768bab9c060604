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

// A folder is imported again for one more reading; what was entered since in
// columns that its files do not have stands.
func TestAColumnThatIsNotThereEmptiesNothing(t *testing.T) {
	t.Parallel()
	db := filepath.Join(t.TempDir(), "facts.db")
	books := write(t, map[string]string{
		"owners.csv":   "owner,name,type\nO1,Ada Reyes,ranch\n",
		"contacts.csv": "owner,name,role,mail,mobile,prefers,sms_consent_on,mail_consent_on\nO1,Ada Reyes,owner,ada@example.com,,mail,,2026-01-05\n",
		"machines.csv": "machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max\nM1,R1,utv,O1,hours,2025-03-01,,0,\n",
	})
	must(t, db, "import", books)
	must(t, db, "contact", "change", "O1/ada-reyes", "--quiet-from", "18:00", "--quiet-to", "10:00")
	must(t, db, "owner", "change", "O1", "--language", "es")
	must(t, db, "machine", "change", "M1", "--serial", "ABC123", "--cooling", "liquid", "--duty", "severe")
	assert.Contains(t, must(t, db, "import", books), "Nothing new")

	require.NoError(t, os.WriteFile(filepath.Join(books, "machines.csv"),
		[]byte("machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max,serial\nM1,R1,utv,O1,hours,2025-03-01,,0,,\n"), 0o600))
	must(t, db, "import", books)
	out := filepath.Join(t.TempDir(), "out")
	must(t, db, "export", out)
	machines, err := os.ReadFile(filepath.Join(out, "machines.csv"))
	require.NoError(t, err)
	assert.NotContains(t, string(machines), "ABC123", "an empty cell empties")
	assert.Contains(t, string(machines), "severe")
	contacts, err := os.ReadFile(filepath.Join(out, "contacts.csv"))
	require.NoError(t, err)
	assert.Contains(t, string(contacts), "18:00,10:00")
}
