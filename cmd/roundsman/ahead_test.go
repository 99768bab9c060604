package main

import (
	"bytes"
	"context"
	"log/slog"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
)

func TestATimeFarAheadIsRefusedWithoutSure(t *testing.T) {
	db := newDB(t)
	must(t, db, "import", write(t, books))
	before := contents(t, db)
	for _, args := range [][]string{{"round", "--at", "2062-11-02"}, {"import", write(t, books), "--at", "2026-11-04"},
		{"reply", "--from", "ada@example.com", "--text", "ok", "--at", "2027-01-01"}, {"plan", "post", "--at", "2027-01-01"}, {"plan", "keep", "R1", "--at", "2027-01-01"}} {
		o := command(t, db, args...)
		assert.Equal(t, exitInput, o.code, "%v", args)
		assert.Contains(t, o.errs, "lies more than a day ahead of the clock, which shows 2026-11-02T17:00:00Z; look at the date", "%v", args)
	}
	assert.Equal(t, before, contents(t, db))
	must(t, db, "round", "--at", "2026-11-03") // less than a day
	must(t, db, "round", "--at", "2062-11-02", "--dry-run")
	must(t, db, "due", "--at", "2062-11-02")
}

// One slip of a digit must not end the rounds: the service goes by its clock
// and says what it found, and the slip can be taken back.
func TestARoundHeldFarAheadHasAWayBack(t *testing.T) {
	db := newDB(t)
	must(t, db, "import", write(t, books))
	never := newDB(t)
	must(t, never, "import", write(t, books))
	releaseAll(t, db)
	releaseAll(t, never)
	must(t, db, "round", "--at", "2062-11-02", "--sure")

	var log bytes.Buffer
	opened(t, db, func(a *app.App) {
		s := &scheduler.Service{Runner: a.Runner, Times: []models.TimeOfDay{models.At(7, 0)}, Clock: models.ClockFunc(testClock), Log: slog.New(slog.NewTextHandler(&log, nil))}
		r, held, err := s.RunOwed(context.Background())
		require.NoError(t, err)
		assert.True(t, held, "rounds go on")
		assert.Equal(t, models.MustDate("2026-11-02"), r.Today)
		_, held, err = s.RunOwed(context.Background())
		require.NoError(t, err)
		assert.False(t, held, "the slot is held once")
	})
	assert.Equal(t, 1, bytes.Count(log.Bytes(), []byte("level=ERROR")), log.String())
	assert.Contains(t, log.String(), "at=2062-11-02T")
	assert.Contains(t, log.String(), "roundsman round --take-back")
	assert.Contains(t, command(t, db, "round", "--at", "2026-11-03").errs, "roundsman round --take-back")

	assert.Regexp(t, `^Took back 1 round: \d+ notices count as not told now, \d+ waiting messages? dropped; 0 messages had been sent\.`, must(t, db, "round", "--take-back"))
	assert.Equal(t, "No round lies ahead of the clock.\n", must(t, db, "round", "--take-back"))

	// What is told now is what would have been told without the slip.
	must(t, db, "round")
	must(t, never, "round")
	assert.ElementsMatch(t, waitingNotices(t, never), waitingNotices(t, db))
	require.NotEmpty(t, waitingNotices(t, db))

	// And the export of it loads.
	dir := t.TempDir()
	must(t, db, "export", dir)
	other := newDB(t)
	must(t, other, "import", dir)
	assert.ElementsMatch(t, waitingNotices(t, db), waitingNotices(t, other))
	assert.Equal(t, contents(t, db), contents(t, other))
}

// waitingNotices gives what the messages that wait tell.
func waitingNotices(t *testing.T, db string) (tell []string) {
	t.Helper()
	opened(t, db, func(a *app.App) {
		letters, _, err := a.Store.Letters(t.Context(), 0, 100)
		require.NoError(t, err)
		for _, l := range letters {
			for _, n := range l.Notices {
				tell = append(tell, l.Message.Contact+" "+n.Machine+" "+string(n.Subject)+" "+n.Item+" "+string(n.Stage)+" "+n.DueOn.String())
			}
		}
	})
	return tell
}

// releaseAll lets a shop write to its owners.
func releaseAll(t *testing.T, db string) {
	t.Helper()
	opened(t, db, func(a *app.App) {
		_, err := a.Store.Record(t.Context(), models.FactSet{Releases: []models.Release{{State: models.Released, By: "test"}, {Machine: "M1", State: models.Released, By: "test"}, {Machine: "M2", State: models.Released, By: "test"}}},
			models.Entry{RecordedAt: models.InstantOf(testNow.Add(-time.Hour)), Actor: "test", Means: "test"})
		require.NoError(t, err)
	})
}
