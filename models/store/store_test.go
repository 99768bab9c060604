package store

import (
	"context"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

func saveLook(t *testing.T, s *Store, l models.Look) {
	t.Helper()
	_, err := s.SaveLook(t.Context(), l)
	require.NoError(t, err)
}

func newStore(t *testing.T) *Store {
	t.Helper()
	s, err := Open(t.Context(), filepath.Join(t.TempDir(), "facts.db"), Options{})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, s.Close()) })
	return s
}

var day1 = models.MustDate("2026-03-01")

func entry(means string) models.Entry {
	return models.Entry{RecordedAt: 1_700_000_000, Actor: "test", Means: means}
}

// fleet is a small set of facts of every sort.
func fleet() models.FactSet {
	return models.FactSet{
		Owners: []models.Owner{{ID: "O1", Name: "Juniper Flat"}},
		Contacts: []models.Contact{{ID: "C1", Owner: "O1", Name: "Ada", Role: models.RoleService,
			Mail: "ada@example.com", Mobile: "+12025550101", MailConsentOn: day1}},
		Machines: []models.Machine{
			{ID: "M1", Tag: "R1", Kind: "utv", Owner: "O1", Meters: models.MetersBoth, InService: day1, MilesStart: models.Num(0), HoursStart: models.Num(0)},
			{ID: "M2", Tag: "R2", Kind: "generator", Owner: "O1", Meters: models.MetersHours, InService: day1},
		},
		Rules: []models.Rule{{Kind: "utv", Item: "oil", Miles: models.Num(1000), Months: 12, Origin: models.OriginFolder}},
		Readings: []models.Reading{
			{Machine: "M1", At: day1.AddDays(10), Miles: models.Num(100.5), Hours: models.Num(9), Source: "owner"},
			{Machine: "M1", At: day1.AddDays(40), Miles: models.Num(420), Source: "shop"},
		},
		Swaps:    []models.Swap{{Machine: "M2", At: day1.AddDays(5), Meter: models.HourMeter, NewValue: models.Num(0)}},
		Services: []models.Service{{Machine: "M1", Item: "oil", At: day1.AddDays(40), Miles: models.Num(420)}},
	}
}

func TestRecordTwiceChangesNothing(t *testing.T) {
	s := newStore(t)
	first, err := s.Record(t.Context(), fleet(), entry("import"))
	require.NoError(t, err)
	assert.Equal(t, models.Counts{New: 2}, first.Machines)
	assert.Equal(t, models.Counts{New: 2}, first.Readings)
	assert.Equal(t, 2, first.MachinesTouched)
	last, err := s.LastEntry(t.Context())
	require.NoError(t, err)

	again, err := s.Record(t.Context(), fleet(), entry("import"))
	require.NoError(t, err)
	assert.False(t, again.Changed())
	assert.Equal(t, models.Counts{Same: 2}, again.Readings)
	same, err := s.LastEntry(t.Context())
	require.NoError(t, err)
	assert.Equal(t, last, same, "an entry without a fact must not stay")
}

func TestCorrectionIsANewRowThatNamesTheOld(t *testing.T) {
	s := newStore(t)
	_, err := s.Record(t.Context(), fleet(), entry("import"))
	require.NoError(t, err)
	m := fleet().Machines[0]
	m.Tag = "R1-new"
	done, err := s.Record(t.Context(), models.FactSet{Machines: []models.Machine{m}}, entry("hand"))
	require.NoError(t, err)
	assert.Equal(t, models.Counts{Corrected: 1}, done.Machines)

	ms, err := s.Machines(t.Context())
	require.NoError(t, err)
	require.Len(t, ms, 2)
	assert.Equal(t, "R1-new", ms[0].Tag)
	require.NotNil(t, ms[0].Replaces)
	var rows int64
	require.NoError(t, s.read.Raw("SELECT count(*) FROM machines WHERE machine = 'M1'").Scan(&rows).Error)
	assert.EqualValues(t, 2, rows, "the old row stays")

	// Within the first entry's window the old version is the one that held.
	h, err := s.History(t.Context(), "M1", models.Window{LastEntry: 1})
	require.NoError(t, err)
	assert.Equal(t, "R1", h.Machine.Tag)
}

func TestFactsAreWrittenOnce(t *testing.T) {
	s := newStore(t)
	_, err := s.Record(t.Context(), fleet(), entry("import"))
	require.NoError(t, err)
	for _, table := range []string{"entries", "owners", "contacts", "machines", "readings", "swaps", "services", "rules"} {
		_, err := s.writeDB.ExecContext(t.Context(), "DELETE FROM "+table)
		assert.ErrorContains(t, err, "facts are written once", "deleting %s", table)
		_, err = s.writeDB.ExecContext(t.Context(), "UPDATE "+table+" SET id = id + 100")
		assert.ErrorContains(t, err, "facts are written once", "updating %s", table)
	}
}

func TestImportNeverClearsAStop(t *testing.T) {
	s := newStore(t)
	set := fleet()
	set.Contacts[0].SMSStopOn = day1.AddDays(3)
	_, err := s.Record(t.Context(), set, entry("reply"))
	require.NoError(t, err)
	again, err := s.Record(t.Context(), fleet(), entry("import")) // without the stop
	require.NoError(t, err)
	assert.Equal(t, models.Counts{Same: 1}, again.Contacts)
	cs, err := s.Contacts(t.Context())
	require.NoError(t, err)
	assert.Equal(t, day1.AddDays(3), cs[0].SMSStopOn)
}

func TestItemsAddAndCorrectRules(t *testing.T) {
	s := newStore(t)
	shipped := models.FactSet{Rules: []models.Rule{
		{Kind: "utv", Item: "oil", Miles: models.Num(2000), Origin: models.OriginShipped},
		{Kind: "utv", Item: "coolant", Months: 24, Origin: models.OriginShipped},
		{Kind: "atv", Item: "coolant", Months: 24, Origin: models.OriginShipped},
	}}
	_, err := s.Record(t.Context(), shipped, entry("shipped rules"))
	require.NoError(t, err)
	done, err := s.Record(t.Context(), fleet(), entry("import"))
	require.NoError(t, err)
	assert.Empty(t, done.Retired)
	list := func(read func(context.Context) ([]models.Rule, error)) (have []string) {
		rules, err := read(t.Context())
		require.NoError(t, err)
		for _, r := range rules {
			have = append(have, fmt.Sprintf("%s %s %s %d", r.Kind, r.Item, r.Miles, r.Months))
		}
		return have
	}
	assert.Equal(t, []string{"atv coolant  24", "utv coolant  24", "utv oil 1000 12"}, list(s.Rules))

	retire := models.FactSet{Rules: []models.Rule{{Kind: "utv", Item: "coolant", Origin: models.OriginFolder, Retired: true}}}
	done, err = s.Record(t.Context(), retire, entry("import"))
	require.NoError(t, err)
	require.Len(t, done.Retired, 1)
	assert.Equal(t, "coolant", done.Retired[0].Item)
	assert.Equal(t, []string{"atv coolant  24", "utv oil 1000 12"}, list(s.Rules))
	assert.Equal(t, []string{"atv coolant  24", "utv coolant  24", "utv oil 1000 12"}, list(s.EveryRule), "with the figures it had")
	done, err = s.Record(t.Context(), retire, entry("import"))
	require.NoError(t, err)
	assert.False(t, done.Changed())
}

func TestAKindIsOneInWhateverLetters(t *testing.T) {
	s := newStore(t)
	m := func(id, kind string) models.Machine {
		return models.Machine{ID: id, Kind: kind, Owner: "O1", Meters: models.MetersHours}
	}
	_, err := s.Record(t.Context(), models.FactSet{Machines: []models.Machine{m("M1", "utv"), m("M2", "atv")}, Rules: []models.Rule{
		{Kind: "utv", Item: "oil", Months: 12, Origin: models.OriginShipped},
		{Kind: "utv", Item: "coolant", Months: 24, Origin: models.OriginShipped},
	}}, entry("shipped rules"))
	require.NoError(t, err)
	own := models.FactSet{Rules: []models.Rule{{Kind: "UTV", Item: "oil", Months: 6, Origin: models.OriginFolder}}}
	done, err := s.Record(t.Context(), own, entry("import"))
	require.NoError(t, err)
	assert.Equal(t, 1, done.MachinesTouched, "the machines of utv, whatever its letters")
	done, err = s.Record(t.Context(), own, entry("import"))
	require.NoError(t, err)
	assert.False(t, done.Changed())

	done, err = s.Record(t.Context(), models.FactSet{Rules: []models.Rule{{Machine: "M1", Item: "oil", Months: 3, Origin: models.OriginHand}}}, entry("hand"))
	require.NoError(t, err)
	assert.Equal(t, 1, done.MachinesTouched, "a rule for one machine concerns no other")
}

func TestFindMachine(t *testing.T) {
	s := newStore(t)
	set := fleet()
	set.Machines = append(set.Machines,
		models.Machine{ID: "M3", Tag: "R1", Kind: "utv", Owner: "O2", Meters: models.MetersMiles})
	_, err := s.Record(t.Context(), set, entry("import"))
	require.NoError(t, err)
	for name, want := range map[string]string{"M1": "M1", "r2": "M2", "O2/R1": "M3", "o1/r1": "M1"} {
		m, err := s.FindMachine(t.Context(), name)
		require.NoError(t, err, name)
		assert.Equal(t, want, m.ID, name)
	}
	_, err = s.FindMachine(t.Context(), "R1")
	assert.Equal(t, models.CodeUnclear, models.CodeOf(err))
	assert.ErrorContains(t, err, "M1 (O1/R1, utv), M3 (O2/R1, utv)")
	_, err = s.FindMachine(t.Context(), "nix")
	assert.Equal(t, models.CodeNotFound, models.CodeOf(err))

	// An id does not silently win over another machine's tag.
	_, err = s.Record(t.Context(), models.FactSet{Machines: []models.Machine{
		{ID: "M4", Tag: "M1", Kind: "utv", Owner: "O2", Meters: models.MetersMiles}}}, entry("import"))
	require.NoError(t, err)
	_, err = s.FindMachine(t.Context(), "M1")
	assert.Equal(t, models.CodeUnclear, models.CodeOf(err))
	for name, want := range map[string]string{"id:M1": "M1", "O2/M1": "M4"} {
		m, err := s.FindMachine(t.Context(), name)
		require.NoError(t, err, name)
		assert.Equal(t, want, m.ID, name)
	}
}

func TestWordOnAReadingCounts(t *testing.T) {
	s := newStore(t)
	_, err := s.Record(t.Context(), fleet(), entry("import"))
	require.NoError(t, err)
	for _, standing := range []models.Standing{models.StandingWithdrawn, models.StandingConfirmed} {
		r := fleet().Readings[0]
		r.Standing = standing
		done, err := s.Record(t.Context(), models.FactSet{Readings: []models.Reading{r}}, entry("hand"))
		require.NoError(t, err)
		assert.Equal(t, models.Counts{New: 1}, done.ReadingWords)
		h, err := s.History(t.Context(), "M1", models.Window{})
		require.NoError(t, err)
		assert.Equal(t, standing, h.Readings[0].Standing)
	}
}

func TestWindowHidesLaterFacts(t *testing.T) {
	s := newStore(t)
	_, err := s.Record(t.Context(), fleet(), entry("import"))
	require.NoError(t, err)
	h, err := s.History(t.Context(), "M1", models.Window{AsOf: day1.AddDays(39)})
	require.NoError(t, err)
	assert.Len(t, h.Readings, 1)
	assert.Empty(t, h.Services)
	next, err := s.NextFacts(t.Context(), []string{"M1", "M2"}, day1.AddDays(10))
	require.NoError(t, err)
	assert.Equal(t, map[string]models.Date{"M1": day1.AddDays(40)}, next)
	assert.Equal(t, "Juniper Flat", h.Owner.Name)
}

func TestAFactMarksItsMachineForTheRound(t *testing.T) {
	s := newStore(t)
	_, err := s.Record(t.Context(), fleet(), entry("import"))
	require.NoError(t, err)
	owed := func() []models.OwnerMachines {
		o, err := s.ToLook(t.Context(), day1, day1, 20260300)
		require.NoError(t, err)
		return o
	}
	assert.Equal(t, []models.OwnerMachines{{Owner: "O1", Machines: []string{"M1", "M2"}}}, owed())
	last, err := s.LastEntry(t.Context())
	require.NoError(t, err)
	look := models.Look{LastEntry: last, States: []models.MachineState{
		{Machine: "M1", NextLook: day1.AddDays(30), Profile: 20260300},
		{Machine: "M2", NextLook: day1.AddDays(1), Profile: 20260300}}}
	saveLook(t, s, look)
	assert.Empty(t, owed())

	set := models.FactSet{Readings: []models.Reading{{Machine: "M1", At: day1, Miles: models.Num(1), Source: "x"}}}
	_, err = s.Record(t.Context(), set, entry("reading"))
	require.NoError(t, err)
	assert.Equal(t, []models.OwnerMachines{{Owner: "O1", Machines: []string{"M1"}}}, owed())
	// A look that read the facts before that reading must not unmark it.
	saveLook(t, s, look)
	assert.Equal(t, []models.OwnerMachines{{Owner: "O1", Machines: []string{"M1"}}}, owed())
}

func TestNoNoticeIsWrittenTwice(t *testing.T) {
	s := newStore(t)
	r, err := s.BeginRound(t.Context(), models.Round{Slot: "s", At: 1, Today: day1})
	require.NoError(t, err)
	n := models.Notice{Round: r.ID, Owner: "O1", Contact: "C1", Machine: "M1", Subject: models.SubjectItem, Item: "oil", Cycle: 1, Stage: models.StageDue}
	look := models.Look{Round: r.ID, Letters: []models.MessageWithNotices{{Message: models.Message{Key: "k", State: models.MessageQueued}, Notices: []models.Notice{n}}}}
	saveLook(t, s, look)
	look.Letters[0].Message.Key = "k2"
	look.Letters[0].Notices[0].ID = 0
	_, err = s.SaveLook(t.Context(), look)
	assert.Equal(t, models.CodeConflict, models.CodeOf(err))
	logs, err := s.Messages(t.Context(), MessageFilter{})
	require.NoError(t, err)
	assert.Len(t, logs, 1, "the second message must be rolled back with its notice")
}

func TestOpenRefusesWhatIsNotItsOwn(t *testing.T) {
	dir := t.TempDir()
	text := filepath.Join(dir, "text.db")
	require.NoError(t, os.WriteFile(text, []byte(strings.Repeat("no database at all ", 100)), 0o600))
	_, err := Open(t.Context(), text, Options{})
	assert.Equal(t, models.CodeInvalid, models.CodeOf(err))
	assert.ErrorContains(t, err, "is not a database of this program")

	newer := filepath.Join(dir, "newer.db")
	s, err := Open(t.Context(), newer, Options{})
	require.NoError(t, err)
	_, err = s.writeDB.Exec("INSERT INTO schema_versions (version_id, is_applied) VALUES (99999, 1)")
	require.NoError(t, err)
	require.NoError(t, s.Close())
	before, err := os.ReadFile(newer)
	require.NoError(t, err)
	_, err = Open(t.Context(), newer, Options{})
	assert.Equal(t, models.CodeConflict, models.CodeOf(err))
	assert.ErrorContains(t, err, "use a newer program")
	after, err := os.ReadFile(newer)
	require.NoError(t, err)
	assert.Equal(t, before, after, "a newer schema must be left as it is")
}

func TestPragmasHoldOnEveryConnection(t *testing.T) {
	s := newStore(t)
	for name, db := range map[string]*sql.DB{"writer": s.writeDB, "reader": s.readDB} {
		var conns []*sql.Conn
		for range db.Stats().MaxOpenConnections {
			c, err := db.Conn(t.Context())
			require.NoError(t, err)
			conns = append(conns, c)
			for pragma, want := range map[string]string{"journal_mode": "wal", "foreign_keys": "1", "busy_timeout": "10000"} {
				var got string
				require.NoError(t, c.QueryRowContext(t.Context(), "PRAGMA "+pragma).Scan(&got))
				assert.Equal(t, want, got, "%s: %s", name, pragma)
			}
		}
		for _, c := range conns {
			require.NoError(t, c.Close())
		}
	}
	_, err := s.readDB.Exec("DELETE FROM forecasts")
	assert.Error(t, err, "a reading connection must not write")
}

// TestMigrationsFromEveryVersion brings a file from each earlier schema up to
// the newest and compares it with one made at once.
func TestMigrationsFromEveryVersion(t *testing.T) {
	schema := func(db *sql.DB) string {
		rows, err := db.Query("SELECT sql FROM sqlite_master WHERE sql IS NOT NULL AND name NOT LIKE 'schema_versions%' ORDER BY type, name")
		require.NoError(t, err)
		defer rows.Close()
		var all []string
		for rows.Next() {
			var q string
			require.NoError(t, rows.Scan(&q))
			all = append(all, q)
		}
		require.NoError(t, rows.Err())
		return strings.Join(all, "\n")
	}
	want := schema(newStore(t).writeDB)
	files, err := migrationFiles.ReadDir("migrations")
	require.NoError(t, err)
	for v := 1; v <= len(files); v++ {
		db, _, err := connect(filepath.Join(t.TempDir(), "old.db"), true, 1)
		require.NoError(t, err)
		require.NoError(t, migrateTo(context.Background(), db, int64(v)))
		require.NoError(t, migrate(context.Background(), db))
		assert.Equal(t, want, schema(db), "from version %d", v)
		require.NoError(t, db.Close())
	}
}

func TestLockIsHeldByOne(t *testing.T) {
	s := newStore(t)
	unlock, ok, err := s.TryLock("round")
	require.NoError(t, err)
	require.True(t, ok)
	_, second, err := s.TryLock("round")
	require.NoError(t, err)
	assert.False(t, second)
	require.NoError(t, unlock())
	unlock, ok, err = s.TryLock("round")
	require.NoError(t, err)
	assert.True(t, ok)
	require.NoError(t, unlock())
}
