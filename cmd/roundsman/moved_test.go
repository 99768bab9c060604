package main

import (
	"fmt"
	"log/slog"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
)

// movedShop is a shop of 20 machines with its board on a day.
type movedShop struct {
	*app.App
	now time.Time
}

// newMovedShop begins a shop on a day.
func newMovedShop(t *testing.T, day models.Date) *movedShop {
	t.Helper()
	s := &movedShop{}
	s.on(day)
	a, err := app.New(t.Context(), demoSettings(t.TempDir()), app.Options{
		Clock: models.ClockFunc(func() time.Time { return s.now }), Log: slog.New(slog.DiscardHandler)})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, a.Close()) })
	s.App = a
	return s
}

// on sets the clock to the noon of a day.
func (s *movedShop) on(day models.Date) time.Time {
	s.now = day.In(time.UTC).Add(20 * time.Hour)
	return s.now
}

func (s *movedShop) record(t *testing.T, day models.Date, set models.FactSet) {
	t.Helper()
	_, err := s.Store.Record(t.Context(), set, models.Entry{RecordedAt: models.InstantOf(s.on(day)), Actor: "test", Means: "test"})
	require.NoError(t, err)
}

// board holds a round on a day and gives the board as "due --json" has it.
func (s *movedShop) board(t *testing.T, day models.Date) []boardRow {
	t.Helper()
	at := s.on(day)
	_, err := s.Runner.RunByHand(t.Context(), at, false)
	require.NoError(t, err)
	v, err := scheduler.Board(t.Context(), s.Store, s.Runner.Notify, at)
	require.NoError(t, err)
	return boardJSON(v.Lines)
}

// moved loads an export into a shop that begins on a day.
func (s *movedShop) moved(t *testing.T, day models.Date) *movedShop {
	t.Helper()
	dir := t.TempDir()
	_, err := s.Export(t.Context(), dir)
	require.NoError(t, err)
	other := newMovedShop(t, day)
	report, _, _, err := other.Import(t.Context(), os.DirFS(dir), app.ImportOptions{Today: day})
	require.NoError(t, err)
	require.Empty(t, report.Faults)
	return other
}

// A shop moves by its export and has the same board there, also where the old
// one is older than what it tells: the days on which machines and rules were
// recorded go along. What does not go along is the order in which facts came
// in. A fact of last month that came in after this month's first round is not
// in the old shop's profile and is in the new one's, so that dates by use may
// differ until the next month, from whose first round on they are the same.
func TestAMovedShopHasTheSameBoard(t *testing.T) {
	t.Parallel()
	day := models.MustDate
	begun := day("2026-08-20")
	old := newMovedShop(t, begun)
	var set models.FactSet
	var late []models.Reading
	for i := range 20 {
		m := models.Machine{ID: fmt.Sprintf("M%02d", i), Kind: []string{"utv", "atv", "tractor", "generator"}[i%4], Owner: fmt.Sprintf("o%d", i%12),
			Meters: models.MetersHours, InService: day("2024-03-01").AddDays(40 * i), Cooling: models.CoolingLiquid}
		m.HoursStart = models.Num(float64(i % 3 * 100))
		set.Machines = append(set.Machines, m)
		for on, n := m.InService, 0; on < day("2026-11-20"); on, n = on.AddDays(30+7*(i%5)), n+1 {
			r := models.Reading{Machine: m.ID, At: on, Source: "owner"}
			r.Hours = models.Num(m.HoursStart.F + float64(m.InService.DaysTo(on)*(1+i%4))/3 + float64(n%3))
			if on > day("2026-09-20") && i%2 == 0 {
				late = append(late, r)
				continue
			}
			set.Readings = append(set.Readings, r)
		}
		if i%3 == 0 {
			set.Services = append(set.Services, models.Service{Machine: m.ID, Item: models.ItemOil, At: day("2026-02-03")})
		}
	}
	for i := range set.Machines { // five came before the shop wrote them down in the program
		if set.Machines[i].InService > day("2024-09-01") {
			set.Machines[i].BooksSince = set.Machines[i].InService
		}
	}
	old.record(t, begun, set)
	for _, on := range []string{"2026-08-20", "2026-10-23", "2026-11-25"} {
		old.board(t, day(on))
	}
	asked := day("2026-11-28")
	want := old.board(t, asked)
	require.Greater(t, len(want), 100)
	assert.Equal(t, want, old.moved(t, asked).board(t, asked))

	old.record(t, asked, models.FactSet{Readings: late})
	there := old.moved(t, asked)
	assert.NotEqual(t, old.board(t, asked), there.board(t, asked), "else the README need not say so")
	next := day("2026-12-01")
	assert.Equal(t, old.board(t, next), there.board(t, next))
}
