package store

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// look stores forecasts as a round does.
func look(t *testing.T, s *Store, notices []models.Notice, fs ...models.Forecast) {
	t.Helper()
	l := models.Look{Round: 1, LastEntry: 1 << 40, Forecasts: fs, Notices: notices}
	seen := map[string]bool{}
	for _, f := range fs {
		if !seen[f.Machine] {
			seen[f.Machine] = true
			l.States = append(l.States, models.MachineState{Machine: f.Machine, NextLook: models.MaxDate})
		}
	}
	saveLook(t, s, l)
}

// labels gives the tags on a page.
func labels(t *testing.T, s *Store, f models.FleetFilter) (tags []string, page models.FleetPage) {
	t.Helper()
	if f.Limit == 0 {
		f.Limit = 10
	}
	page, err := s.Fleet(t.Context(), f)
	require.NoError(t, err)
	for _, l := range page.Lines {
		tags = append(tags, l.Machine.Tag)
	}
	return tags, page
}

func TestAFleetPageIsSortedSearchedAndPaged(t *testing.T) {
	s := newStore(t)
	set := fleet()
	set.Owners = append(set.Owners, models.Owner{ID: "O2", Name: "Marten 100% Lodge"})
	set.Machines = append(set.Machines,
		models.Machine{ID: "M3", Tag: "R3", Kind: "atv", Owner: "O2", Make: "Ostrand", Model: "Ridge_450", Meters: models.MetersHours, InService: day1},
		models.Machine{ID: "M4", Tag: "R4", Kind: "atv", Owner: "O2", Meters: models.MetersHours, InService: day1})
	_, err := s.Record(t.Context(), set, entry("import"))
	require.NoError(t, err)
	tags, page := labels(t, s, models.FleetFilter{})
	assert.Equal(t, []string{"R1", "R2", "R3", "R4"}, tags, "before any round")
	assert.Equal(t, map[models.Stage]int{"": 4}, page.Stages)

	due := func(machine, item string, stage models.Stage, days int) models.Forecast {
		return models.Forecast{Machine: machine, Item: item, Stage: stage, DueOn: day1.AddDays(days)}
	}
	look(t, s, nil, due("M1", "oil", models.StageComing, 20), due("M1", "belt", models.StageClear, 2),
		due("M2", "oil", models.StageLate, -9), due("M3", "oil", models.StageComing, 10),
		models.Forecast{Machine: "M4", Item: "oil", Stage: models.StageUnsure})
	tags, page = labels(t, s, models.FleetFilter{})
	assert.Equal(t, []string{"R2", "R3", "R1", "R4"}, tags, "stage, then date")
	assert.Equal(t, map[models.Stage]int{models.StageLate: 1, models.StageComing: 2, models.StageUnsure: 1}, page.Stages)
	assert.Equal(t, day1.AddDays(-9), page.Lines[0].DueOn)
	assert.Equal(t, "Juniper Flat", page.Lines[0].Owner.Name)
	assert.Zero(t, page.Lines[3].DueOn)

	for find, want := range map[string][]string{
		"r3": {"R3"}, "marten": {"R3", "R4"}, "MARTEN atv ostrand": {"R3"}, "100%": {"R3", "R4"}, "100%25": nil, "_": {"R3"}, `\`: nil,
		"juniper generator": {"R2"}, "' OR 1=1 --": nil,
	} {
		tags, page = labels(t, s, models.FleetFilter{Find: find})
		assert.Equal(t, want, tags, find)
		assert.Equal(t, len(want), page.Total, find)
	}
	tags, page = labels(t, s, models.FleetFilter{Owner: "O2", Stage: models.StageComing})
	assert.Equal(t, []string{"R3"}, tags)
	assert.Equal(t, 1, page.Total)
	assert.Equal(t, 1, page.Stages[models.StageUnsure], "the other stages are counted all the same")
	tags, page = labels(t, s, models.FleetFilter{Limit: 2, Offset: 2})
	assert.Equal(t, []string{"R1", "R4"}, tags)
	assert.Equal(t, 4, page.Total)

	// A new name and a new owner are found at once.
	set.Owners[0].Name = "Quill Creek"
	set.Machines[0].Owner = "O2"
	_, err = s.Record(t.Context(), models.FactSet{Owners: set.Owners[:1], Machines: set.Machines[:1]}, entry("import"))
	require.NoError(t, err)
	tags, _ = labels(t, s, models.FleetFilter{Find: "quill"})
	assert.Equal(t, []string{"R2"}, tags)
	tags, _ = labels(t, s, models.FleetFilter{Owner: "O2"})
	assert.Equal(t, []string{"R3", "R1", "R4"}, tags)

	require.NoError(t, s.ForgetDerived(t.Context()))
	_, page = labels(t, s, models.FleetFilter{})
	assert.Equal(t, map[models.Stage]int{"": 4}, page.Stages, "derived rows are thrown away")
}

// An older store's machines are on the fleet's pages right after the schema
// has been brought up.
func TestTheSchemaBringsTheFleetsLinesWithIt(t *testing.T) {
	s := newStore(t)
	_, err := s.Record(t.Context(), fleet(), entry("import"))
	require.NoError(t, err)
	look(t, s, nil, models.Forecast{Machine: "M1", Item: "oil", Stage: models.StageDue, DueOn: day1}, models.Forecast{Machine: "M1", Item: "belt", Stage: models.StageComing, DueOn: day1.AddDays(-1)})
	_, want := labels(t, s, models.FleetFilter{})
	sql, err := migrationFiles.ReadFile("migrations/00007_web.sql")
	require.NoError(t, err)
	_, fill, ok := strings.Cut(string(sql), "INSERT INTO fleet_lines")
	require.True(t, ok)
	fill, _, _ = strings.Cut(fill, "-- +goose StatementBegin")
	_, err = s.writeDB.ExecContext(t.Context(), "DELETE FROM fleet_lines; INSERT INTO fleet_lines"+fill)
	require.NoError(t, err)
	_, got := labels(t, s, models.FleetFilter{})
	assert.Equal(t, want, got)
}

func TestACallEndsTheSilence(t *testing.T) {
	s := newStore(t)
	_, err := s.Record(t.Context(), fleet(), entry("import"))
	require.NoError(t, err)
	now := models.InstantOf(time.Date(2026, 3, 20, 10, 0, 0, 0, time.UTC))
	today := models.MustDate("2026-03-20")
	call := func(reached bool, again models.Date) {
		require.NoError(t, s.RecordCall(t.Context(), models.Call{At: now, Owner: "O1", By: "Sam", Reached: reached, AgainOn: again, Note: "x"}, entry("call")))
	}

	// A message without an answer is silence; a call by which the owner was
	// reached ends it.
	m := models.Message{Key: "k", Owner: "O1", Contact: "C1", Channel: models.ChannelMail, Purpose: models.PurposeNotices, State: models.MessageSent, QueuedAt: now + 60}
	_, err = s.QueueMessage(t.Context(), m)
	require.NoError(t, err)
	people, err := s.People(t.Context(), []string{"O1"}, today)
	require.NoError(t, err)
	assert.Equal(t, 1, people["O1"].People[0].Unanswered)
	now += 120
	call(true, 0)
	people, err = s.People(t.Context(), []string{"O1"}, today)
	require.NoError(t, err)
	assert.Zero(t, people["O1"].People[0].Unanswered)
}

func TestUsersSessionsAndPasses(t *testing.T) {
	s := newStore(t)
	_, err := s.Record(t.Context(), fleet(), entry("import"))
	require.NoError(t, err)
	for _, bad := range []models.User{{Name: "", Role: models.UserDesk}, {Name: " x", Role: models.UserDesk}, {Name: "x", Role: "king"},
		{Name: "x", Role: models.UserManager}, {Name: "x", Role: models.UserDesk, Owner: "O1"}} {
		_, err := s.AddUser(t.Context(), bad)
		assert.Equal(t, models.CodeInvalid, models.CodeOf(err), "%+v", bad)
	}
	_, err = s.AddUser(t.Context(), models.User{Name: "Rosa", Role: models.UserManager, Owner: "nobody"})
	assert.Equal(t, models.CodeNotFound, models.CodeOf(err))
	u, err := s.AddUser(t.Context(), models.User{Name: "Rosa", Role: models.UserManager, Owner: "O1"})
	require.NoError(t, err)
	_, err = s.AddUser(t.Context(), models.User{Name: "rosa", Role: models.UserDesk})
	assert.Equal(t, models.CodeConflict, models.CodeOf(err), "names differ by more than the case of letters")

	require.NoError(t, s.BeginSession(t.Context(), models.Session{Token: "t", User: u.ID, CreatedAt: 10, EndsAt: 20}))
	require.NoError(t, s.AddPass(t.Context(), models.LoginToken{Token: "p", User: u.ID, EndsAt: 20}))
	has := func(now models.Instant) bool {
		_, _, ok, err := s.SessionUser(t.Context(), "t", now)
		require.NoError(t, err)
		return ok
	}
	assert.True(t, has(19))
	assert.False(t, has(20))
	ok, err := s.UsePass(t.Context(), "p", 19)
	require.NoError(t, err)
	assert.True(t, ok)
	ok, err = s.UsePass(t.Context(), "p", 19)
	require.NoError(t, err)
	assert.False(t, ok, "once")
	require.NoError(t, s.SetPassword(t.Context(), "ROSA", "hash"))
	assert.False(t, has(11), "a new password ends all sessions")
	require.NoError(t, s.RemoveUser(t.Context(), "Rosa", 30))
	_, ok, err = s.UserNamed(t.Context(), "Rosa")
	require.NoError(t, err)
	assert.False(t, ok)
	_, err = s.AddUser(t.Context(), models.User{Name: "Rosa", Role: models.UserDesk})
	assert.NoError(t, err, "the name is free again")
}

func TestTheTrailIsWrittenOnce(t *testing.T) {
	s := newStore(t)
	for _, what := range []string{"logged in", "entered a reading"} {
		require.NoError(t, s.AddTrace(t.Context(), models.AuditEntry{At: 1, Who: "Sam", What: what}))
	}
	ts, err := s.Traces(t.Context(), 0, 1)
	require.NoError(t, err)
	require.Len(t, ts, 1)
	assert.Equal(t, "entered a reading", ts[0].What)
	for _, sql := range []string{"UPDATE traces SET who = 'x'", "DELETE FROM traces"} {
		_, err := s.writeDB.ExecContext(t.Context(), sql)
		assert.ErrorContains(t, err, "written once", sql)
	}
	key, err := s.WebKey(t.Context(), "links", []byte("first"))
	require.NoError(t, err)
	again, err := s.WebKey(t.Context(), "links", []byte("second"))
	require.NoError(t, err)
	assert.Equal(t, key, again)
	require.NoError(t, s.WithdrawLinks(t.Context(), "C1", 9, "Sam"))
	at, err := s.LinksWithdrawn(t.Context(), "C1")
	require.NoError(t, err)
	assert.Equal(t, models.Instant(9), at)
}
