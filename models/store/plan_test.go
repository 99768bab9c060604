package store

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// ground is a small set of what visits are planned on.
func ground() models.FactSet {
	return models.FactSet{
		Sites:       []models.Site{{ID: "north", Name: "North barn", TransportCents: models.Num(4500)}},
		Bays:        []models.Bay{{ID: "1", Kinds: "utv, atv"}, {ID: "2"}},
		Technicians: []models.Technician{{ID: "sam", Name: "Sam", Mon: 480, Fri: 300}},
		Closures: []models.Closure{
			{Sort: models.ClosureBlack, From: day1, To: day1.AddDays(9), Kind: "utv", Note: "season"},
			{Sort: models.ClosureAway, From: day1, To: day1, Technician: "sam"},
		},
	}
}

func aVisit() models.Visit {
	return models.Visit{Machine: "M1", State: models.VisitPlanned, On: day1.AddDays(20), Until: day1.AddDays(20), Bay: "1", Items: "oil, coolant", Minutes: 90}
}

func TestGroundTwiceChangesNothing(t *testing.T) {
	s := newStore(t)
	first, err := s.Record(t.Context(), ground(), entry("import"))
	require.NoError(t, err)
	assert.Equal(t, models.Counts{New: 2}, first.Closures)
	assert.Equal(t, models.Counts{New: 2}, first.Bays)
	again, err := s.Record(t.Context(), ground(), entry("import"))
	require.NoError(t, err)
	assert.False(t, again.Changed())

	set := ground()
	set.Technicians[0].Fri = 0
	set.Bays = []models.Bay{{ID: "2", Retired: true}}
	done, err := s.Record(t.Context(), set, entry("hand"))
	require.NoError(t, err)
	assert.Equal(t, models.Counts{Corrected: 1}, done.Technicians)

	g, err := s.PlanningData(t.Context(), 0)
	require.NoError(t, err)
	assert.Len(t, g.Bays, 1, "a retired bay is gone")
	require.Len(t, g.Technicians, 1)
	assert.Equal(t, [7]int{480}, g.Technicians[0].Week())
	require.Len(t, g.Closures, 2)
	assert.Equal(t, "1", g.Closures[0].ID)
	all, err := s.AllFacts(t.Context())
	require.NoError(t, err)
	assert.Equal(t, g.Sites, all.Sites)
}

func TestVisitsKeepTheirHistory(t *testing.T) {
	s := newStore(t)
	letter := func() models.MessageWithNotices {
		return models.MessageWithNotices{
			Message: models.Message{Contact: "C1", Owner: "O1", Channel: models.ChannelMail, Address: "ada@example.com", Purpose: models.PurposeVisit, State: models.MessageQueued},
			Notices: []models.Notice{{Contact: "C1", Machine: "M1", Subject: models.SubjectVisit, DueOn: day1.AddDays(20)}},
		}
	}
	compose := func(v models.Visit, l *models.MessageWithNotices) error {
		l.Message.Composed.Calendar = "for " + v.UID
		return nil
	}
	change := func(v models.Visit, letters ...models.MessageWithNotices) (models.Visit, error) {
		after, err := s.ChangeVisits(t.Context(), []models.VisitChange{{Visit: v, Letters: letters}}, compose, entry("plan"))
		if err != nil {
			return models.Visit{}, err
		}
		require.Len(t, after, 1)
		return after[0], nil
	}
	v, err := change(aVisit())
	require.NoError(t, err)
	assert.Equal(t, "1", v.ID)
	assert.NotEmpty(t, v.UID)
	other, err := change(aVisit())
	require.NoError(t, err)
	assert.Equal(t, "2", other.ID)
	assert.NotEqual(t, v.UID, other.UID)

	agreed := v
	agreed.State, agreed.Sequence = models.VisitAgreed, 1
	agreed, err = change(agreed, letter())
	require.NoError(t, err)
	assert.Equal(t, v.UID, agreed.UID)
	require.NotNil(t, agreed.Replaces)

	_, err = change(v) // from the old version
	assert.Equal(t, models.CodeConflict, models.CodeOf(err))
	assert.ErrorContains(t, err, "changed by somebody else")

	dropped := agreed
	dropped.State, dropped.Sequence = models.VisitDropped, 2
	dropped, err = change(dropped, letter())
	require.NoError(t, err)
	back := dropped
	back.State, back.Sequence = models.VisitAgreed, 3
	_, err = change(back)
	assert.ErrorContains(t, err, "does not come back")

	history, err := s.VisitVersions(t.Context(), "1")
	require.NoError(t, err)
	require.Len(t, history, 3)
	for i, h := range history {
		assert.Equal(t, i, h.Visit.Sequence)
		assert.Equal(t, "plan", h.Entry.Means)
	}
	now, err := s.Visit(t.Context(), "1")
	require.NoError(t, err)
	assert.Equal(t, models.VisitDropped, now.State)
	_, err = s.Visit(t.Context(), "9")
	assert.Equal(t, models.CodeNotFound, models.CodeOf(err))

	logs, err := s.Messages(t.Context(), MessageFilter{})
	require.NoError(t, err)
	require.Len(t, logs, 2)
	assert.Equal(t, models.MessageDropped, logs[0].Message.State, "it had not gone yet, and the newest word goes alone")
	assert.Equal(t, models.ReasonAnew, logs[0].Message.Why)
	assert.Equal(t, models.MessageQueued, logs[1].Message.State)
	assert.Equal(t, "for "+v.UID, logs[0].Message.Composed.Calendar)
	assert.NotEqual(t, logs[0].Message.Key, logs[1].Message.Key)
	require.Len(t, logs[0].Notices, 1)
	assert.Equal(t, "1", logs[0].Notices[0].Item)
	assert.Equal(t, 1, logs[0].Notices[0].Cycle)
}

// A message that cannot be written takes the visit back with it.
func TestVisitsAndMessagesAreOnePiece(t *testing.T) {
	s := newStore(t)
	broken := errors.New("broken")
	_, err := s.ChangeVisits(t.Context(), []models.VisitChange{{Visit: aVisit(), Letters: []models.MessageWithNotices{{}}}},
		func(models.Visit, *models.MessageWithNotices) error { return broken }, entry("plan"))
	require.ErrorIs(t, err, broken)
	g, err := s.PlanningData(t.Context(), 0)
	require.NoError(t, err)
	assert.Empty(t, g.Visits)
	last, err := s.LastEntry(t.Context())
	require.NoError(t, err)
	assert.Zero(t, last)
}

func TestGroundIsWrittenOnce(t *testing.T) {
	s := newStore(t)
	_, err := s.Record(t.Context(), ground(), entry("import"))
	require.NoError(t, err)
	_, err = s.ChangeVisits(t.Context(), []models.VisitChange{{Visit: aVisit()}}, nil, entry("plan"))
	require.NoError(t, err)
	for _, table := range []string{"sites", "bays", "technicians", "closures", "visits"} {
		_, err := s.writeDB.ExecContext(t.Context(), "DELETE FROM "+table)
		assert.ErrorContains(t, err, "facts are written once", "deleting %s", table)
		_, err = s.writeDB.ExecContext(t.Context(), "UPDATE "+table+" SET id = id + 100")
		assert.ErrorContains(t, err, "facts are written once", "updating %s", table)
	}
}
