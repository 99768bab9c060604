package main

import (
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
)

var killsWanted = flag.Int("kills", 60, "rounds that TestAKilledRoundLosesNothingAndTellsNothingTwice ends before their end")

// killFleet has enough owners and machines for a round of several
// transactions, with something to tell about every machine.
func killFleet() models.FactSet {
	in := models.MustDate("2025-10-01")
	set := models.FactSet{Rules: []models.Rule{
		{Kind: "hauler", Item: models.ItemCoolantLook, Months: 12, Origin: models.OriginHand},
		{Kind: "hauler", Item: models.ItemOil, Hours: models.Num(100), Months: 13, Origin: models.OriginHand},
	}}
	for o := range 40 {
		owner := fmt.Sprintf("O%02d", o)
		set.Owners = append(set.Owners, models.Owner{ID: owner, Name: owner})
		set.Contacts = append(set.Contacts, models.Contact{ID: "C" + owner, Owner: owner, Name: "A", Role: models.RoleService,
			Mail: "a" + owner + "@example.com", MailConsentOn: in})
		for m := range 8 {
			id := fmt.Sprintf("%s-%d", owner, m)
			set.Machines = append(set.Machines, models.Machine{ID: id, Kind: "hauler", Owner: owner, Meters: models.MetersHours,
				InService: in, HoursStart: models.Num(0), Cooling: models.CoolingLiquid})
			set.Readings = append(set.Readings, models.Reading{Machine: id, At: in.AddDays(200), Hours: models.Num(40), Source: "owner"})
		}
	}
	return set
}

// toldBy gives every notice of a database with the message that carries it.
func toldBy(t *testing.T, db string) []string {
	t.Helper()
	st, err := store.Open(t.Context(), db, store.Options{})
	require.NoError(t, err)
	defer st.Close()
	logs, err := st.Messages(t.Context(), store.MessageFilter{})
	require.NoError(t, err)
	var out []string
	for _, l := range logs {
		for _, n := range l.Notices {
			out = append(out, fmt.Sprintf("%s: %s %s %s %d %s", l.Message.Key, n.Contact, n.Machine, n.Item, n.Cycle, n.Stage))
		}
	}
	withheld, err := st.WithheldNotices(t.Context(), 1<<20)
	require.NoError(t, err)
	for _, n := range withheld {
		out = append(out, fmt.Sprintf("withheld: %s %s %s", n.Machine, n.Item, n.Why))
	}
	return out
}

func copyFile(t *testing.T, from, to string) {
	t.Helper()
	src, err := os.Open(from)
	require.NoError(t, err)
	defer src.Close()
	dst, err := os.Create(to)
	require.NoError(t, err)
	_, err = io.Copy(dst, src)
	require.NoError(t, err)
	require.NoError(t, dst.Close())
}

// TestAKilledRoundLosesNothingAndTellsNothingTwice ends a round's process with
// SIGKILL at random moments and lets the next one take it up; the notices are
// those of a round that nobody disturbed.
func TestAKilledRoundLosesNothingAndTellsNothingTwice(t *testing.T) {
	t.Parallel()
	kills := *killsWanted
	if testing.Short() {
		kills = 4
	}
	self, err := os.Executable()
	require.NoError(t, err)
	dir := t.TempDir()
	base := filepath.Join(dir, "base.db")
	must(t, base, "user", "add", "--new", "Pat") // makes the file
	st, err := store.Open(t.Context(), base, store.Options{})
	require.NoError(t, err)
	fleet := killFleet()
	fleet.Release("test")
	_, err = st.Record(t.Context(), fleet, models.Entry{RecordedAt: 1, Actor: "test", Means: "test"})
	require.NoError(t, err)
	require.NoError(t, st.Close())

	play := func(db string) *exec.Cmd {
		cmd := exec.Command(self, "--db", db, "round", "--at", "2026-10-02T07:00:00-06:00")
		cmd.Env = append(os.Environ(), "ROUNDSMAN_TEST_PLAY=command")
		return cmd
	}
	calm := filepath.Join(dir, "calm.db")
	copyFile(t, base, calm)
	began := time.Now()
	out, err := play(calm).CombinedOutput()
	require.NoError(t, err, string(out))
	length := time.Since(began)
	want := toldBy(t, calm)
	require.True(t, len(want) == 640+120, "on each of 320 machines a coolant look is due and oil is coming, each of 40 owners is asked for three readings, and %d notices were written", len(want))

	rng := rand.New(rand.NewPCG(1, 2)) // the moments differ by the machine's own pace anyway
	broken, tries := 0, 0
	for ; broken < kills && tries < 3*kills; tries++ {
		db := filepath.Join(dir, fmt.Sprintf("%d.db", tries))
		copyFile(t, base, db)
		cmd := play(db)
		require.NoError(t, cmd.Start())
		time.Sleep(time.Duration(rng.Float64() * float64(length)))
		_ = cmd.Process.Kill() // it may have ended already
		// The pace of the machine changes; keep the moments within the round.
		if cmd.Wait() != nil {
			broken++
			length += length / 100
		} else {
			length -= length / 6
		}
		out, err := play(db).CombinedOutput()
		require.NoError(t, err, string(out))
		require.True(t, slices.Equal(want, toldBy(t, db)), "try %d: other notices than of a round that nobody disturbed", tries)
		for _, f := range []string{db, db + "-wal", db + "-shm", db + ".round.lock"} {
			_ = os.Remove(f)
		}
	}
	t.Logf("%d rounds were ended before their end, in %d tries", broken, tries)
	assert.Equal(t, kills, broken, "so many kills must fall within rounds")
}
