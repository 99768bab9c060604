package store

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// TestWhatIsTakenBackCountsNowhere: it is gone from the history, stays in the
// list with reason and name, and does not come back with the same folder.
func TestWhatIsTakenBackCountsNowhere(t *testing.T) {
	s := newStore(t)
	set := fleet()
	set.Swaps = []models.Swap{{Machine: "M1", At: day1, Meter: models.Odometer, OldValue: models.Num(10)}}
	set.Services = []models.Service{{Machine: "M1", Item: "oil", At: day1}}
	_, err := s.Record(t.Context(), set, entry("import"))
	require.NoError(t, err)
	last, err := s.LastEntry(t.Context())
	require.NoError(t, err)
	facts, err := s.FactsOf(t.Context(), "M1", 0, -1)
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(facts), 3)
	for _, f := range facts {
		taken := models.Withdrawal{Sort: f.Sort, Taken: f.Row, Why: "wrong machine", By: "Kim"}
		_, err := s.Withdraw(t.Context(), "M2", taken, entry("hand"))
		assert.Equal(t, models.CodeNotFound, models.CodeOf(err), "another machine's %s", f.Sort)
		_, err = s.Withdraw(t.Context(), "M1", taken, entry("hand"))
		require.NoError(t, err)
		_, err = s.Withdraw(t.Context(), "M1", taken, entry("hand"))
		assert.Equal(t, models.CodeConflict, models.CodeOf(err))
	}
	gone := func() {
		h, err := s.History(t.Context(), "M1", models.Window{})
		require.NoError(t, err)
		assert.Empty(t, h.Swaps)
		assert.Empty(t, h.Services)
		for _, r := range h.Readings {
			assert.Equal(t, models.StandingWithdrawn, r.Standing)
		}
	}
	gone()
	before, err := s.History(t.Context(), "M1", models.Window{LastEntry: last})
	require.NoError(t, err)
	assert.Len(t, before.Services, 1, "then it was not known yet")
	done, err := s.Record(t.Context(), set, entry("import"))
	require.NoError(t, err)
	assert.False(t, done.Changed())
	gone()

	all, err := s.AllFacts(t.Context())
	require.NoError(t, err)
	assert.Equal(t, models.Withdrawn{Why: "wrong machine", By: "Kim"}, all.Services[0].Withdrawn)
	other := newStore(t)
	_, err = other.Record(t.Context(), all, entry("import"))
	require.NoError(t, err)
	carried, err := other.FactsOf(t.Context(), "M1", 0, -1)
	require.NoError(t, err)
	require.Len(t, carried, len(facts))
	for _, f := range carried {
		assert.Equal(t, models.Withdrawn{Why: "wrong machine", By: "Kim"}, f.Withdrawn, f.Sort)
	}
}

// takeBack takes back the one fact of a sort whose row a test knows by what it
// says, and gives what is told of it.
func takeBack(t *testing.T, s *Store, machine string, sort models.FactSort, says string) models.TakenFact {
	t.Helper()
	facts, err := s.FactsOf(t.Context(), machine, 0, -1)
	require.NoError(t, err)
	for _, f := range facts {
		if f.Sort == sort && f.Withdrawn.Why == "" && strings.Contains(f.What+" "+f.Item+" "+f.Detail, says) {
			taken, err := s.Withdraw(t.Context(), machine, models.Withdrawal{Sort: sort, Taken: f.Row, Why: "a slip", By: "Kim"}, entry("hand"))
			require.NoError(t, err)
			return taken
		}
	}
	require.Fail(t, "no such fact", "%s %s among %+v", sort, says, facts)
	return models.TakenFact{}
}

// TestTheWordBeforeCountsAgain: of standings, baselines and releases the last
// word that was not taken back counts; the same folder brings nothing back, a
// person who says it again is heard, and an export carries all of it.
func TestTheWordBeforeCountsAgain(t *testing.T) {
	s := newStore(t)
	_, err := s.Record(t.Context(), fleet(), entry("import"))
	require.NoError(t, err)
	first := models.FactSet{
		Standings: []models.MachineStanding{{Machine: "M1", On: day1, State: models.StandsInUse, By: "Kim"}},
		Baselines: []models.Baseline{{Machine: "M1", Item: "oil", On: day1, State: models.BaselineFine, By: "Kim"}},
		Releases:  []models.Release{{Machine: "M1", State: models.HeldBack, By: "Kim"}},
	}
	last := models.FactSet{
		Standings: []models.MachineStanding{{Machine: "M1", On: day1.AddDays(1), State: models.StandsGone, By: "Kim"}},
		Baselines: []models.Baseline{{Machine: "M1", Item: "oil", On: day1, State: models.BaselineUnknown, By: "Kim"}},
		Releases:  []models.Release{{Machine: "M1", State: models.Released, By: "Kim"}},
	}
	for _, set := range []models.FactSet{first, last} {
		_, err := s.Record(t.Context(), set, entry("import"))
		require.NoError(t, err)
	}
	holds := func(s *Store, standing models.StandingState, baseline models.BaselineState, release models.ReleaseState) {
		t.Helper()
		h, err := s.History(t.Context(), "M1", models.Window{})
		require.NoError(t, err)
		assert.Equal(t, standing, h.Standing().State)
		if assert.Len(t, h.Baselines, 1) {
			assert.Equal(t, baseline, h.Baselines[0].State)
		}
		at, err := s.Standings(t.Context())
		require.NoError(t, err)
		assert.Equal(t, standing, at["M1"].State)
		can, err := s.Tellable(t.Context(), []string{"M1"})
		require.NoError(t, err)
		assert.Equal(t, release == models.Released, can["M1"].Released)
	}
	holds(s, models.StandsGone, models.BaselineUnknown, models.Released)
	takeBack(t, s, "M1", models.SortStanding, "gone")
	takeBack(t, s, "M1", models.SortBaseline, "unknown")
	takeBack(t, s, "M1", models.SortRelease, "released")
	holds(s, models.StandsInUse, models.BaselineFine, models.HeldBack)

	for _, set := range []models.FactSet{first, last} {
		done, err := s.Record(t.Context(), set, entry("import"))
		require.NoError(t, err)
		assert.False(t, done.Changed(), "the same folder again: %+v", done)
	}
	all, err := s.AllFacts(t.Context())
	require.NoError(t, err)
	done, err := s.Record(t.Context(), all, entry("import"))
	require.NoError(t, err)
	assert.False(t, done.Changed(), "its own export: %+v", done)
	other := newStore(t)
	_, err = other.Record(t.Context(), all, entry("import"))
	require.NoError(t, err)
	holds(other, models.StandsInUse, models.BaselineFine, models.HeldBack)
	done, err = other.Record(t.Context(), last, entry("import"))
	require.NoError(t, err)
	assert.False(t, done.Changed(), "the old folder beside a loaded export: %+v", done)

	before := last
	last.ByHand = true
	_, err = s.Record(t.Context(), last, entry("hand"))
	require.NoError(t, err)
	holds(s, models.StandsGone, models.BaselineUnknown, models.Released)

	// What was said again is so in a store that loads the export, once and for
	// all; there it may be taken back again, and no folder brings it back.
	again, err := s.AllFacts(t.Context())
	require.NoError(t, err)
	fresh := newStore(t)
	for range 2 {
		done, err = fresh.Record(t.Context(), again, entry("import"))
		require.NoError(t, err)
		holds(fresh, models.StandsGone, models.BaselineUnknown, models.Released)
	}
	assert.False(t, done.Changed(), "the export once more: %+v", done)
	back, err := fresh.AllFacts(t.Context())
	require.NoError(t, err)
	assert.Equal(t, takables(again), takables(back))
	takeBack(t, fresh, "M1", models.SortStanding, "gone")
	takeBack(t, fresh, "M1", models.SortBaseline, "unknown")
	takeBack(t, fresh, "M1", models.SortRelease, "released")
	for _, set := range []models.FactSet{again, before} {
		_, err = fresh.Record(t.Context(), set, entry("import"))
		require.NoError(t, err)
		h, err := fresh.History(t.Context(), "M1", models.Window{})
		require.NoError(t, err)
		assert.Equal(t, models.StandsInUse, h.Standing().State)
		assert.Empty(t, h.Baselines)
		can, err := fresh.Tellable(t.Context(), []string{"M1"})
		require.NoError(t, err)
		assert.False(t, can["M1"].Released)
	}

	// So it is in one that had the export from before.
	_, err = other.Record(t.Context(), again, entry("import"))
	require.NoError(t, err)
	holds(other, models.StandsGone, models.BaselineUnknown, models.Released)
}

// takables gives what a set says of facts that can be taken back.
func takables(set models.FactSet) (out []any) {
	for _, v := range set.Standings {
		v.Fact = models.Fact{}
		out = append(out, v)
	}
	for _, v := range set.Baselines {
		v.Fact = models.Fact{}
		out = append(out, v)
	}
	for _, v := range set.Releases {
		v.Fact = models.Fact{}
		out = append(out, v)
	}
	return out
}

// TestASaleTakenBackGivesTheMachineBack to the seller, released as it was; what it
// did to visits is told.
func TestASaleTakenBackGivesTheMachineBack(t *testing.T) {
	s := newStore(t)
	set := fleet()
	set.Owners = append(set.Owners, models.Owner{ID: "O9", Name: "Buyer"})
	set.Releases = []models.Release{{Machine: "M1", State: models.Released}}
	_, err := s.Record(t.Context(), set, entry("import"))
	require.NoError(t, err)
	was, err := s.FindMachine(t.Context(), "id:M1")
	require.NoError(t, err)
	sold := was
	sold.Owner = "O9"
	_, err = s.Record(t.Context(), models.FactSet{ByHand: true, Machines: []models.Machine{sold},
		Standings: []models.MachineStanding{{Machine: "M1", On: day1, State: models.StandsSold, NewOwner: "O9"}}}, entry("hand"))
	require.NoError(t, err)
	can, err := s.Tellable(t.Context(), []string{"M1"})
	require.NoError(t, err)
	assert.False(t, can["M1"].Released, "the word of the seller says nothing of the buyer")
	takeBack(t, s, "M1", models.SortStanding, "sold")
	can, err = s.Tellable(t.Context(), []string{"M1"})
	require.NoError(t, err)
	assert.True(t, can["M1"].Released, "as before the sale")
	now, err := s.FindMachine(t.Context(), "id:M1")
	require.NoError(t, err)
	assert.Equal(t, was.Owner, now.Owner)
}

// TestWorkTakenBack: a line of a job that is done goes with its service, a part
// and an answer go too, and an old folder brings none of them back.
func TestWorkTakenBack(t *testing.T) {
	s := newStore(t)
	books := fleet()
	books.Services = nil
	_, err := s.Record(t.Context(), books, entry("import"))
	require.NoError(t, err)
	set := models.FactSet{
		Jobs:         []models.Job{{ID: "7", Machine: "M1", State: models.JobDone, Turn: 1, OpenedOn: day1, DoneOn: day1, Correction: "x"}},
		JobLines:     []models.JobLine{{Job: "7", Line: 1, Turn: 1, Item: "oil"}, {Job: "7", Line: 2, Turn: 1, What: "wiring"}},
		Parts:        []models.Part{{Job: "7", Part: 1, Turn: 1, Name: "filter"}},
		Services:     []models.Service{{Machine: "M1", Item: "oil", At: day1}},
		Checks:       []models.Check{{ID: "3", Job: "7", Turn: 1, Kind: models.CheckBench, QuestionEN: "Dry?"}},
		CheckAnswers: []models.CheckAnswer{{Check: "3", At: 1_700_000_000, Result: models.CheckOK, By: "Pat"}},
	}
	_, err = s.Record(t.Context(), set, entry("import"))
	require.NoError(t, err)
	takeBack(t, s, "M1", models.SortLine, "oil")
	takeBack(t, s, "M1", models.SortPart, "filter")
	takeBack(t, s, "M1", models.SortAnswer, "Dry")
	gone := func(s *Store) {
		t.Helper()
		w, err := s.Job(t.Context(), "7")
		require.NoError(t, err)
		assert.True(t, w.Lines[0].Withdrawn)
		assert.False(t, w.Lines[1].Withdrawn)
		assert.True(t, w.Parts[0].Withdrawn)
		assert.Empty(t, w.Checks[0].Answers)
		h, err := s.History(t.Context(), "M1", models.Window{})
		require.NoError(t, err)
		assert.Empty(t, h.Services)
		owed, err := s.OwedChecks(t.Context(), []string{"M1"}, models.CheckBench)
		require.NoError(t, err)
		assert.Len(t, owed, 1)
	}
	gone(s)
	done, err := s.Record(t.Context(), set, entry("import"))
	require.NoError(t, err)
	assert.False(t, done.Changed(), "%+v", done)
	gone(s)
	all, err := s.AllFacts(t.Context())
	require.NoError(t, err)
	other := newStore(t)
	_, err = other.Record(t.Context(), all, entry("import"))
	require.NoError(t, err)
	gone(other)
	assert.Equal(t, models.TakenOut{TakenWhy: "a slip", TakenBy: "Kim"}, all.JobLines[0].TakenOut)
	back, err := other.AllFacts(t.Context())
	require.NoError(t, err)
	assert.Equal(t, all.JobLines[0].TakenOut, back.JobLines[0].TakenOut)
	assert.Equal(t, all.Parts[0].TakenOut, back.Parts[0].TakenOut)
	facts, err := other.FactsOf(t.Context(), "M1", 0, -1)
	require.NoError(t, err)
	assert.True(t, slices.ContainsFunc(facts, func(f models.MachineFact) bool { return f.Sort == models.SortLine && f.Why == "a slip" }), "the list says why")
	done, err = other.Record(t.Context(), all, entry("import"))
	require.NoError(t, err)
	assert.False(t, done.Changed(), "%+v", done)
}

// TestWhatAPersonSaysAgainCounts: a reading, service or change of meter that
// was taken back and is typed again word for word holds, in the store and in
// one that loads its export, and may be taken back once more; a folder that is
// loaded again brings nothing back, and takes nothing back that was said again.
func TestWhatAPersonSaysAgainCounts(t *testing.T) {
	s := newStore(t)
	set := fleet()
	set.Swaps = []models.Swap{{Machine: "M1", At: day1.AddDays(5), Meter: models.HourMeter, NewValue: models.Num(0)}}
	_, err := s.Record(t.Context(), set, entry("import"))
	require.NoError(t, err)
	holds := func(s *Store, n int, last int64) {
		t.Helper()
		h, err := s.History(t.Context(), "M1", models.Window{LastEntry: last})
		require.NoError(t, err)
		assert.Len(t, h.Services, n)
		assert.Len(t, h.Swaps, n)
		standing := map[int]models.Standing{0: models.StandingWithdrawn}[n]
		assert.Equal(t, standing, h.Readings[0].Standing)
	}
	gone := func() {
		takeBack(t, s, "M1", models.SortReading, "owner")
		takeBack(t, s, "M1", models.SortService, "oil")
		takeBack(t, s, "M1", models.SortSwap, "hours")
		holds(s, 0, 0)
	}
	gone()
	taken, err := s.AllFacts(t.Context())
	require.NoError(t, err)
	before, err := s.LastEntry(t.Context())
	require.NoError(t, err)
	typed := models.FactSet{ByHand: true, Readings: set.Readings[:1], Services: set.Services, Swaps: set.Swaps}
	done, err := s.Record(t.Context(), typed, entry("hand"))
	require.NoError(t, err)
	assert.Equal(t, [3]int{1, 1, 1}, [3]int{done.Readings.New, done.Services.New, done.Swaps.New})
	holds(s, 1, 0)
	holds(s, 0, before)
	done, err = s.Record(t.Context(), typed, entry("hand"))
	require.NoError(t, err)
	assert.False(t, done.Changed(), "said once more, which is known")
	done, err = s.Record(t.Context(), taken, entry("import"))
	require.NoError(t, err)
	assert.False(t, done.Changed(), "an export from before")
	holds(s, 1, 0)

	all, err := s.AllFacts(t.Context())
	require.NoError(t, err)
	other := newStore(t)
	_, err = other.Record(t.Context(), all, entry("import"))
	require.NoError(t, err)
	holds(other, 1, 0)

	gone()
	done, err = s.Record(t.Context(), set, entry("import"))
	require.NoError(t, err)
	assert.False(t, done.Changed(), "the folder again")
	holds(s, 0, 0)
}
