package store

import (
	"context"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// workedOn is the day on which the shop works on what waits to be told.
var workedOn = models.DateOf(told.Time())

// twoTold is a shop whose one waiting message tells of two machines, with a
// visit of the first agreed.
func twoTold(t *testing.T) *Store {
	s := newStore(t)
	set := toldShop()
	set.Machines = append(set.Machines, models.Machine{ID: "M2", Tag: "R2", Kind: "utv", Owner: "O1", Meters: models.MetersMiles})
	set.Notices[2].LastOn = workedOn - 90
	second := set.Notices[2]
	second.Machine = "M2"
	set.Notices = append(set.Notices, second)
	set.Messages[1].Composed = models.Composed{Subject: "Oil", Text: "R1 and R2: oil is due"}
	set.Owners = append(set.Owners, models.Owner{ID: "O2", Name: "Sage Hollow"})
	set.Visits = []models.Visit{{ID: "4", UID: "v", Machine: "M1", State: models.VisitAgreed, On: day1 + 60, Until: day1 + 60, Items: "oil"}}
	set.Releases = []models.Release{{State: models.Released}, {Machine: "M1", State: models.Released}, {Machine: "M2", State: models.Released}}
	load(t, s, set)
	return s
}

func stand(t *testing.T, s *Store, set models.FactSet) {
	t.Helper()
	_, err := s.Record(t.Context(), set, models.Entry{RecordedAt: told + 500, Actor: "Pat", Means: "standing"})
	require.NoError(t, err)
}

func TestASaleStopsWhatWaitsForTheSeller(t *testing.T) {
	s := twoTold(t)
	m := models.Machine{ID: "M1", Tag: "R1", Kind: "utv", Owner: "O2", Meters: models.MetersMiles}
	stand(t, s, models.FactSet{Machines: []models.Machine{m},
		Standings: []models.MachineStanding{{Machine: "M1", On: day1 + 30, State: models.StandsSold, NewOwner: "O2", By: "Pat"}}})

	both := stateOf(t, s, "b/c1/notices")
	assert.Equal(t, models.MessageQueued, both.State, "it tells of another machine too")
	assert.Empty(t, both.Composed.Text, "and is composed anew")
	alone := stateOf(t, s, "v/1/c1")
	assert.Equal(t, models.MessageDropped, alone.State)
	assert.Equal(t, models.ReasonNotTheirs, alone.Why)
	assert.NotZero(t, alone.EndedAt)

	logs, err := s.Messages(t.Context(), MessageFilter{States: []models.MessageState{models.MessageQueued}})
	require.NoError(t, err)
	require.Len(t, logs, 1)
	require.Len(t, logs[0].Notices, 1, "what waits is shown without it")
	assert.Equal(t, "M2", logs[0].Notices[0].Machine)
	can, err := s.Tellable(t.Context(), []string{"M1", "M2"})
	require.NoError(t, err)
	assert.False(t, can["M1"].Released, "nobody has released it to the buyer")
	assert.True(t, can["M2"].Released)

	claimed, err := s.Claim(t.Context(), models.Lease{By: "x", Now: told + 99_999, Ends: told + 100_099}, models.ChannelMail, 9)
	require.NoError(t, err)
	require.Len(t, claimed, 1)
	require.Len(t, claimed[0].Notices, 1)
	assert.Equal(t, "M2", claimed[0].Notices[0].Machine)

	v, err := s.Visit(t.Context(), "4")
	require.NoError(t, err)
	assert.Equal(t, models.VisitDropped, v.State)
	ns, err := s.NoticesOf(t.Context(), []string{"M1"})
	require.NoError(t, err)
	lost := 0
	for _, n := range ns {
		if n.Lost {
			lost++
		}
	}
	assert.Equal(t, 2, lost, "the notice and the visit's count as told to nobody")

	// The shop's own file lags behind, and the export carries all of it.
	m.Owner = "O1"
	stand(t, s, models.FactSet{Machines: []models.Machine{m}})
	got, err := s.FindMachine(t.Context(), "M1")
	require.NoError(t, err)
	assert.Equal(t, "O2", got.Owner, "a folder does not undo a sale")
	set, err := s.AllFacts(t.Context())
	require.NoError(t, err)
	to := newStore(t)
	load(t, to, set)
	back, err := to.AllFacts(t.Context())
	require.NoError(t, err)
	assert.Equal(t, stopped(set), stopped(back))
	assert.Len(t, stopped(back), 2)
	assert.Equal(t, words(set.Releases), words(back.Releases))

	_, err = s.Record(t.Context(), models.FactSet{Releases: []models.Release{{Machine: "M1", State: models.Released, By: "Pat"}}},
		models.Entry{RecordedAt: told + 600, Actor: "Pat", Means: "release"})
	require.NoError(t, err)
	can, err = s.Tellable(t.Context(), []string{"M1"})
	require.NoError(t, err)
	assert.True(t, can["M1"].Released, "now somebody has")
	stand(t, s, models.FactSet{Standings: set.Standings})
	can, err = s.Tellable(t.Context(), []string{"M1"})
	require.NoError(t, err)
	assert.True(t, can["M1"].Released, "the same sale again changes nothing")
}

func stopped(set models.FactSet) (out []string) {
	for _, n := range set.Notices {
		if n.Stopped != "" {
			out = append(out, n.Machine+" "+string(n.Subject)+" "+string(n.Stopped))
		}
	}
	return out
}

func TestAMachineThatHasLeftIsOnNoList(t *testing.T) {
	s := twoTold(t)
	tags, _ := labels(t, s, models.FleetFilter{Limit: 9})
	require.ElementsMatch(t, []string{"R1", "R2"}, tags)
	stand(t, s, models.FactSet{Standings: []models.MachineStanding{{Machine: "M1", On: day1 + 30, State: models.StandsScrapped}}})
	tags, _ = labels(t, s, models.FleetFilter{Limit: 9})
	assert.Equal(t, []string{"R2"}, tags)
	stand(t, s, models.FactSet{Standings: []models.MachineStanding{{Machine: "M1", On: day1 + 31, State: models.StandsInUse, Note: "it was mended"}}})
	tags, _ = labels(t, s, models.FleetFilter{Limit: 9})
	assert.ElementsMatch(t, []string{"R1", "R2"}, tags)
}

func TestHoldingTheShopBackStopsWhatWaits(t *testing.T) {
	s := twoTold(t)
	stand(t, s, models.FactSet{Releases: []models.Release{{State: models.HeldBack, By: "Pat"}}})
	m := stateOf(t, s, "b/c1/notices")
	assert.Equal(t, models.MessageDropped, m.State)
	assert.Equal(t, models.ReasonHeldBack, m.Why)
	can, err := s.Tellable(t.Context(), []string{"M1", "M2"})
	require.NoError(t, err)
	assert.False(t, can["M1"].Released)
	stand(t, s, models.FactSet{Releases: []models.Release{{State: models.Released, By: "Pat"}}})
	can, err = s.Tellable(t.Context(), []string{"M1", "M2"})
	require.NoError(t, err)
	assert.True(t, can["M1"].Released, "what was released itself is so again")
}

// A round that read its facts before a machine was held back tells nobody of
// it, though it writes afterwards.
func TestARoundThatReadBeforeTheHoldTellsNothing(t *testing.T) {
	s := twoTold(t)
	last, err := s.LastEntry(t.Context())
	require.NoError(t, err)
	stand(t, s, models.FactSet{Releases: []models.Release{{Machine: "M1", State: models.HeldBack}}})
	n := models.Notice{Owner: "O1", Contact: "c1", Machine: "M1", Subject: models.SubjectItem, Item: "belt", Cycle: 1, Stage: models.StageDue}
	other := n
	other.Machine = "M2"
	letter := func(key string, ns ...models.Notice) models.MessageWithNotices {
		return models.MessageWithNotices{Notices: ns, Message: models.Message{Key: key, Owner: "O1", Contact: "c1", Channel: models.ChannelMail,
			Purpose: models.PurposeNotices, State: models.MessageQueued}}
	}
	saveLook(t, s, models.Look{LastEntry: last, Letters: []models.MessageWithNotices{letter("r/1", n), letter("r/2", other)}})
	var keys []string
	require.NoError(t, s.read.Raw("SELECT key FROM messages WHERE key LIKE 'r/%'").Scan(&keys).Error)
	assert.Equal(t, []string{"r/2"}, keys)
}

func TestAShopThatHasWrittenBeforeGoesOn(t *testing.T) {
	for _, sent := range []bool{false, true} {
		db, g, err := connect(filepath.Join(t.TempDir(), "old.db"), true, 1)
		require.NoError(t, err)
		require.NoError(t, migrateTo(context.Background(), db, 9))
		for _, q := range []string{
			"INSERT INTO entries (recorded_at, actor, means, note) VALUES (1, 'a', 'import', '')",
			`INSERT INTO machines (entry, machine, tag, kind, owner, meters, in_service, make, model, year, serial, duty, site, cooling, fuel)
				VALUES (1, 'M1', 'R1', 'utv', 'O1', 'miles', '', '', '', 0, '', '', '', '', '')`,
			`INSERT INTO messages (key, round, owner, contact, channel, address, purpose, language, urgent, body, in_reply_to, subject_line, text, html,
				calendar, segments, state, why, queued_at, not_before, tries, in_doubt, lease_by, lease_ends, ended_at, peer_id, receipt_at, receipt)
				VALUES ('k', 0, 'O1', 'c1', 'mail', 'a@example.com', 'notices', '', 0, '', '', '', 'x', '', '', 0, ` +
				map[bool]string{true: "'sent'", false: "'queued'"}[sent] + `, '', 1, 1, 1, 0, '', 0, 2, '', 0, '')`,
		} {
			require.NoError(t, g.Exec(q).Error)
		}
		require.NoError(t, migrate(context.Background(), db))
		can, err := tellable(g, []string{"M1"})
		require.NoError(t, err)
		assert.Equal(t, sent, can["M1"].Released)
		require.NoError(t, db.Close())
	}
}

// words gives releases without their numbers.
func words(rs []models.Release) (out []models.Release) {
	for _, r := range rs {
		r.Fact = models.Fact{}
		out = append(out, r)
	}
	return out
}

// TestACorrectionStopsWhatCountsFromIt: a first word or a service that is
// corrected to earlier, said not to be known, or taken back is told nowhere any
// more as the last time, and the next round tells what holds.
func TestACorrectionStopsWhatCountsFromIt(t *testing.T) {
	first := func(state models.BaselineState, on models.Date) models.FactSet {
		return models.FactSet{ByHand: true, Baselines: []models.Baseline{{Machine: "M1", Item: "oil", On: workedOn - 80, State: state, DoneOn: on, By: "Pat"}}}
	}
	for _, tt := range []struct {
		name    string
		had     models.FactSet
		correct func(*Store)
		stops   bool
	}{
		{"to earlier", first(models.BaselineDone, workedOn-90), func(s *Store) { stand(t, s, first(models.BaselineDone, workedOn-300)) }, true},
		{"to not known", first(models.BaselineDone, workedOn-90), func(s *Store) { stand(t, s, first(models.BaselineUnknown, 0)) }, true},
		{"a first word taken back", first(models.BaselineDone, workedOn-90), func(s *Store) { takeBack(t, s, "M1", models.SortBaseline, "oil") }, true},
		{"a service taken back", models.FactSet{Services: []models.Service{{Machine: "M1", Item: "oil", At: workedOn - 90}}}, func(s *Store) { takeBack(t, s, "M1", models.SortService, "oil") }, true},
		{"of an older word", first(models.BaselineDone, workedOn-200), func(s *Store) { stand(t, s, first(models.BaselineDone, workedOn-300)) }, false},
		{"said again", first(models.BaselineDone, workedOn-90), func(s *Store) { stand(t, s, first(models.BaselineDone, workedOn-90)) }, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := twoTold(t)
			stand(t, s, tt.had)
			waiting := func() (n int64) {
				require.NoError(t, s.read.Raw(`SELECT count(*) FROM notices n JOIN messages m ON m.id = n.message WHERE m.key = 'b/c1/notices' AND n.machine = 'M1'
					AND n.id NOT IN (SELECT notice FROM stopped_notices)`).Scan(&n).Error)
				return n
			}
			require.EqualValues(t, 1, waiting())
			tt.correct(s)
			assert.Equal(t, tt.stops, waiting() == 0)
		})
	}
}

// What was done, or found fine, is no more told as due: the oil of one machine
// leaves a message that tells of another too, and with that one's it is dropped.
func TestWorkStopsWhatWaitsToTellThatItIsDue(t *testing.T) {
	service := func(machine, item string, on models.Date) models.FactSet {
		return models.FactSet{Services: []models.Service{{Machine: machine, Item: item, At: on}}}
	}
	fine := func(machine, item string, on models.Date) models.FactSet {
		return models.FactSet{Baselines: []models.Baseline{{Machine: machine, Item: item, On: on, State: models.BaselineFine, By: "Pat"}}}
	}
	cases := []struct {
		name string
		set  models.FactSet
		left []string
	}{
		{"a service", service("M1", "oil", workedOn), []string{"M2"}},
		{"a baseline", fine("M1", "oil", workedOn), []string{"M2"}},
		{"both machines", models.FactSet{Services: append(service("M1", "oil", workedOn).Services, service("M2", "oil", workedOn).Services...)}, nil},
		{"another item", service("M1", "brakes", workedOn), []string{"M1", "M2"}},
		{"one done before what was told", service("M1", "oil", workedOn-100), []string{"M1", "M2"}},
		{"one of a day to come", service("M1", "oil", workedOn+99), []string{"M1", "M2"}},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			s := twoTold(t)
			stand(t, s, tc.set)
			var left []string
			rows, err := list[models.Notice](s.read.Raw(`SELECT n.* FROM notices n JOIN messages m ON m.id = n.message WHERE m.key = 'b/c1/notices'
				AND n.id NOT IN (SELECT notice FROM stopped_notices) ORDER BY n.machine`), "what waits")
			require.NoError(t, err)
			for _, n := range rows {
				left = append(left, n.Machine)
			}
			assert.Equal(t, tc.left, left)
			m := stateOf(t, s, "b/c1/notices")
			if tc.left == nil {
				assert.Equal(t, models.MessageDropped, m.State)
				assert.Equal(t, models.ReasonDone, m.Why)
				return
			}
			assert.Equal(t, models.MessageQueued, m.State)
			assert.Equal(t, len(tc.left) == 1, m.Composed.Text == "", "it is composed anew where it tells less")
		})
	}
}
