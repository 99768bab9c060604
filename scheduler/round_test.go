package scheduler_test

import (
	"context"
	"log/slog"
	"math"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
	"example.org/roundsman/notify/policy"
	"example.org/roundsman/scheduler"
)

func date(s string) models.Date { return models.MustDate(s) }

var denver = func() *time.Location {
	l, err := time.LoadLocation("America/Denver")
	if err != nil {
		return time.UTC
	}
	return l
}()

// noon gives midday of a date in the test shop's zone.
func noon(d models.Date) time.Time { return d.In(denver).Add(12 * time.Hour) }

func openStore(t *testing.T) *store.Store {
	t.Helper()
	st, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "facts.db"), store.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, st.Close()) })
	return st
}

func runnerOf(st scheduler.Store) *scheduler.Runner {
	return &scheduler.Runner{Store: st, Log: slog.New(slog.DiscardHandler), Notify: policy.Settings{
		Zone: denver, Language: "en"}}
}

func record(t *testing.T, st *store.Store, set models.FactSet) {
	t.Helper()
	set.Release("test")
	_, err := st.Record(t.Context(), set, models.Entry{RecordedAt: 1, Actor: "test", Means: "test"})
	require.NoError(t, err)
}

func hold(t *testing.T, h *scheduler.Runner, d models.Date) models.Round {
	t.Helper()
	r, err := h.Run(t.Context(), scheduler.HandSlot(noon(d)), noon(d))
	require.NoError(t, err)
	return r
}

// calendarFleet has two machines whose coolant look is due by the calendar
// alone, so that every date is known exactly: 12 months after 2025-03-10.
func calendarFleet() models.FactSet {
	in := date("2025-03-10")
	m := func(id string) models.Machine {
		return models.Machine{ID: id, Tag: id, Kind: "utv", Owner: "O1", Meters: models.MetersHours, InService: in,
			HoursStart: models.Num(0), Cooling: models.CoolingLiquid}
	}
	return models.FactSet{
		Owners: []models.Owner{{ID: "O1", Name: "Juniper Flat"}},
		Contacts: []models.Contact{{ID: "C1", Owner: "O1", Name: "Ada", Role: models.RoleService,
			Mail: "ada@example.com", MailConsentOn: in}},
		Machines: []models.Machine{m("M1"), m("M2")},
		Rules:    []models.Rule{{Kind: "utv", Item: models.ItemCoolantLook, Months: 12, Origin: models.OriginHand}},
	}
}

func notices(t *testing.T, st *store.Store) []models.Notice {
	t.Helper()
	ns, err := st.NoticesOf(t.Context(), []string{"M1", "M2", "M3"})
	require.NoError(t, err)
	return ns
}

func TestARoundTellsEachStageOnceInOneMessage(t *testing.T) {
	st := openStore(t)
	record(t, st, calendarFleet())
	h := runnerOf(st)

	r := tell(t, h, st, date("2026-02-07"))
	assert.Equal(t, 2, r.Looked)
	assert.Zero(t, r.Notices, "31 days before the date is before the lead of 30")

	r = tell(t, h, st, date("2026-02-08"))
	assert.Equal(t, 2, r.Looked, "the day on which the lead begins is a day to look")
	assert.Equal(t, 2, r.Notices)
	assert.Equal(t, 1, r.Messages, "two machines of one owner gather in one message")

	r = tell(t, h, st, date("2026-02-09"))
	assert.Zero(t, r.Looked, "nothing has changed and no date has come")

	r = tell(t, h, st, date("2026-03-10"))
	assert.Equal(t, 2, r.Withheld, "the date itself: due, which goes along with the next message")
	// Grace: the larger of 14 days and 5 % of 365, that is 19 days.
	r = tell(t, h, st, date("2026-03-29"))
	assert.Zero(t, r.Notices, "the last day of grace")
	assert.Equal(t, 2, tell(t, h, st, date("2026-03-30")).Withheld, "late, which those who knew are told with the next message")
	assert.Equal(t, 2, tell(t, h, st, date("2026-04-06")).Notices, "or a week after")
	var stages []models.Stage
	for _, n := range notices(t, st) {
		if n.Machine == "M1" && n.Told() {
			stages = append(stages, n.Stage)
			assert.Equal(t, date("2026-03-10"), n.DueOn)
			assert.Equal(t, models.DriverCalendar, n.Driver)
		}
	}
	assert.Equal(t, []models.Stage{models.StageComing, models.StageLate}, stages)
}

func TestAMissedStageIsNotMadeUp(t *testing.T) {
	st := openStore(t)
	record(t, st, calendarFleet())
	r := hold(t, runnerOf(st), date("2026-05-01"))
	assert.Equal(t, 2, r.Notices)
	for _, n := range notices(t, st) {
		assert.Equal(t, models.StageLate, n.Stage, "one notice of the stage as it is, none of those gone by")
	}
}

func TestAServiceBeginsANewCycle(t *testing.T) {
	st := openStore(t)
	record(t, st, calendarFleet())
	h := runnerOf(st)
	tell(t, h, st, date("2026-03-10"))
	record(t, st, models.FactSet{Services: []models.Service{{Machine: "M1", Item: models.ItemCoolantLook, At: date("2026-03-12")}}})
	r := tell(t, h, st, date("2026-03-12"))
	assert.Equal(t, 1, r.Looked, "only the machine with a new fact")
	assert.Zero(t, r.Notices)
	r = tell(t, h, st, date("2027-03-12"))
	assert.Equal(t, 2, r.Notices, "M1 due again; M2 late meanwhile")
	last := notices(t, st)
	assert.Equal(t, 2, last[len(last)-2].Cycle)
}

func TestWithheldIsRecordedWithItsReasonAndToldOnceItMay(t *testing.T) {
	st := openStore(t)
	set := calendarFleet()
	set.Contacts[0].MailConsentOn = 0
	record(t, st, set)
	h := runnerOf(st)
	r := hold(t, h, date("2026-03-10"))
	assert.Zero(t, r.Notices)
	assert.Equal(t, 2, r.Withheld)
	for _, n := range notices(t, st) {
		assert.Equal(t, models.ReasonNoConsent, n.Why)
		assert.True(t, n.Withheld())
	}
	record(t, st, models.FactSet{Contacts: calendarFleet().Contacts}) // consent is given
	r = hold(t, h, date("2026-03-11"))
	assert.Equal(t, 2, r.Notices)
	assert.Equal(t, 1, r.Messages)
}

func TestWhoWantsToBeCalledIsOnTheCallListAndNotWrittenTo(t *testing.T) {
	st := openStore(t)
	set := calendarFleet()
	set.Contacts[0].Prefers, set.Contacts[0].Mobile = models.ChannelPhone, "+12125550100"
	record(t, st, set)
	r := hold(t, runnerOf(st), date("2026-03-10"))
	assert.Zero(t, r.Notices)
	assert.Equal(t, 2, r.Withheld)
	list, total, err := scheduler.Calls(t.Context(), st, runnerOf(st).Notify, noon(date("2026-03-10")), 10)
	require.NoError(t, err)
	require.Equal(t, 1, total)
	assert.Equal(t, models.ReasonWantsCall, list[0].Why)
	assert.Equal(t, "+12125550100", list[0].Contacts[0].Mobile)
}

func TestNobodyToTellIsSaid(t *testing.T) {
	st := openStore(t)
	set := calendarFleet()
	set.Contacts = nil
	record(t, st, set)
	r := hold(t, runnerOf(st), date("2026-03-10"))
	assert.Equal(t, 2, r.Withheld)
	assert.Equal(t, models.ReasonNobody, notices(t, st)[0].Why)
}

func TestADateThatSwingsBackIsCorrectedOnce(t *testing.T) {
	st := openStore(t)
	record(t, st, calendarFleet())
	h := runnerOf(st)
	tell(t, h, st, date("2026-02-20")) // coming, told for March 10
	rule := models.Rule{Kind: "utv", Item: models.ItemCoolantLook, Months: 24, Origin: models.OriginHand}
	record(t, st, models.FactSet{Rules: []models.Rule{rule}})
	assert.Equal(t, 2, tell(t, h, st, date("2026-02-21")).Withheld, "it waits for company, until a week before the day that was told")
	r := tell(t, h, st, date("2026-03-03"))
	assert.Equal(t, 2, r.Notices)
	moved := notices(t, st)[4]
	assert.Equal(t, models.StageMoved, moved.Stage)
	assert.Equal(t, date("2026-03-10"), moved.WasOn)
	assert.Equal(t, date("2027-03-10"), moved.DueOn)
	fs, err := st.Forecasts(t.Context(), nil)
	require.NoError(t, err)
	assert.Equal(t, 2, fs[0].Cycle, "a correction begins a new cycle")
	assert.Zero(t, tell(t, h, st, date("2026-03-04")).Notices)
	assert.Zero(t, tell(t, h, st, date("2027-02-23")).Notices, "the correction has told the day")
	assert.Equal(t, 2, tell(t, h, st, date("2027-03-10")).Notices, "due, in the new cycle")
}

func TestACorrectionThatNobodyNeedsStillEndsItsCycle(t *testing.T) {
	st := openStore(t)
	set := calendarFleet()
	record(t, st, set)
	h := runnerOf(st)
	assert.Equal(t, 2, tell(t, h, st, date("2026-02-08")).Notices, "Ada is told: coming")
	bo := set.Contacts[0]
	bo.ID, bo.Name, bo.Mail = "C2", "Bo", "bo@example.com"
	set.Contacts[0].Role = models.RoleOperator
	set.Rules[0].Months = 18
	record(t, st, models.FactSet{Contacts: []models.Contact{set.Contacts[0], bo}, Rules: set.Rules})
	assert.Zero(t, tell(t, h, st, date("2026-02-20")).Notices, "the date moves out, and Bo was never told of it")
	assert.Equal(t, 2, tell(t, h, st, date("2026-08-11")).Notices, "Bo is told: coming")
	record(t, st, models.FactSet{Services: []models.Service{
		{Machine: "M1", Item: models.ItemCoolantLook, At: date("2026-08-20")},
		{Machine: "M2", Item: models.ItemCoolantLook, At: date("2026-08-20")}}})
	assert.Zero(t, tell(t, h, st, date("2026-08-21")).Notices)
	assert.Equal(t, 2, tell(t, h, st, date("2028-02-05")).Notices, "coming again, 18 months after the service")
}

// meddler is a store into which somebody records rules while a round begins
// its work.
type meddler struct {
	*store.Store
	meddle func()
}

func (m *meddler) ToLook(ctx context.Context, today, soon models.Date, profile int) ([]models.OwnerMachines, error) {
	m.meddle()
	return m.Store.ToLook(ctx, today, soon, profile)
}

func TestRulesThatComeInDuringARoundAreNotOverlooked(t *testing.T) {
	st := openStore(t)
	set := calendarFleet()
	record(t, st, set)
	rule := set.Rules[0]
	rule.Months = 6
	h := runnerOf(&meddler{st, func() { record(t, st, models.FactSet{Rules: []models.Rule{rule}}) }})
	hold(t, h, date("2026-01-07"))
	hold(t, runnerOf(st), date("2026-01-08"))
	fs, err := st.Forecasts(t.Context(), []string{"M1"})
	require.NoError(t, err)
	require.Len(t, fs, 1)
	assert.Equal(t, date("2025-09-10"), fs[0].DueOn, "by the rule of six months")
}

func TestMoreNoticesJoinAMessageThatWaits(t *testing.T) {
	st := openStore(t)
	set := calendarFleet()
	second := set.Machines[1]
	set.Machines = set.Machines[:1]
	record(t, st, set)
	h := runnerOf(st)
	h.Notify.Rules.QuietFrom, h.Notify.Rules.QuietTo = models.At(11, 0), models.At(10, 0) // noon is quiet
	assert.Equal(t, 1, hold(t, h, date("2026-02-08")).Messages)
	record(t, st, models.FactSet{Machines: []models.Machine{second}})
	r := hold(t, h, date("2026-02-09"))
	assert.Equal(t, 1, r.Notices)
	assert.Zero(t, r.Messages, "it joins the message that nobody has taken up yet")
	logs, err := st.Messages(t.Context(), store.MessageFilter{})
	require.NoError(t, err)
	require.Len(t, logs, 1)
	assert.Len(t, logs[0].Notices, 2)
}

func TestARoundDoesNotGoBackAndIsHeldOnce(t *testing.T) {
	st := openStore(t)
	record(t, st, calendarFleet())
	h := runnerOf(st)
	hold(t, h, date("2026-03-10"))
	_, err := h.Run(t.Context(), scheduler.HandSlot(noon(date("2026-03-10"))), noon(date("2026-03-10")))
	assert.Equal(t, models.CodeConflict, models.CodeOf(err))
	_, err = h.Run(t.Context(), "earlier", noon(date("2026-03-09")))
	assert.Equal(t, models.CodeConflict, models.CodeOf(err))
	assert.ErrorContains(t, err, "a round has been held at 2026-03-10")
}

func TestARoundByHandIsHeldAgainAtTheSameTime(t *testing.T) {
	st := openStore(t)
	set := calendarFleet()
	second := set.Machines[1]
	set.Machines = set.Machines[:1]
	record(t, st, set)
	h, at := runnerOf(st), noon(date("2026-03-10"))
	for i, want := range []int{1, 0, 1} {
		if i == 2 {
			record(t, st, models.FactSet{Machines: []models.Machine{second}})
		}
		r, err := h.RunByHand(t.Context(), at, false)
		require.NoError(t, err)
		assert.Equal(t, want, r.Notices, "round %d: what is new is told, and nothing twice", i+1)
	}
}

// endless is a store in which no round comes to its end.
type endless struct{ *store.Store }

func (endless) FinishRound(context.Context, models.Round) error { return assert.AnError }

func TestARoundTakenUpTellsWhatIsNewAfterItsMessagesHaveGone(t *testing.T) {
	st := openStore(t)
	set := calendarFleet()
	second := set.Machines[1]
	set.Machines = set.Machines[:1]
	record(t, st, set)
	at := noon(date("2026-03-10"))
	_, err := runnerOf(endless{st}).Run(t.Context(), "slot", at)
	require.ErrorIs(t, err, assert.AnError)
	require.NoError(t, st.DropMessage(t.Context(), 1, models.InstantOf(at))) // as when a courier has carried it
	record(t, st, models.FactSet{Machines: []models.Machine{second}})
	r, err := runnerOf(st).Run(t.Context(), "slot", at)
	require.NoError(t, err)
	assert.Equal(t, 2, r.Messages, "a second message to the same contact from the same round, counted beside the first")
	assert.Equal(t, 2, r.Looked, "each machine once, though the round was cut off between them")
	assert.Equal(t, 2, r.Notices)
	assert.Len(t, notices(t, st), 2)
}

// TestAVisitThatWasHeldBackIsToldOnce: the round after the release tells of it,
// and no other.
func TestAVisitThatWasHeldBackIsToldOnce(t *testing.T) {
	st := openStore(t)
	set := calendarFleet()
	record(t, st, set)
	by := models.Entry{RecordedAt: 2, Actor: "test", Means: "test"}
	hold1 := models.FactSet{ByHand: true, Releases: []models.Release{{Machine: "M1", State: models.HeldBack}}}
	_, err := st.Record(t.Context(), hold1, by)
	require.NoError(t, err)
	held := models.Notice{Owner: "O1", Contact: "C1", Machine: "M1", Subject: models.SubjectVisit, Why: models.ReasonHeldBack,
		DueOn: date("2025-07-01"), LateOn: date("2025-07-01"), DecidedAt: 2}
	_, err = st.ChangeVisits(t.Context(), []models.VisitChange{{Untold: []models.Notice{held}, Visit: models.Visit{Machine: "M1", State: models.VisitAgreed,
		On: date("2025-07-01"), Until: date("2025-07-01"), Items: models.ItemCoolantLook, Minutes: 60}}}, nil, by)
	require.NoError(t, err)
	h := runnerOf(st)
	h.Visits = &scheduler.Planner{Store: st, Notify: h.Notify}
	told := func() (n int) {
		for _, v := range notices(t, st) {
			if v.Subject == models.SubjectVisit && !v.Withheld() {
				n++
			}
		}
		return n
	}
	would := func(release ...models.OwnerMachines) (n int) {
		_, looks, err := h.DryRun(t.Context(), noon(date("2025-06-01")), release)
		require.NoError(t, err)
		for _, l := range looks {
			for _, m := range l.Letters {
				if m.Notices[0].Subject == models.SubjectVisit {
					n++
				}
			}
		}
		return n
	}
	hold(t, h, date("2025-06-01"))
	assert.Zero(t, told(), "still held back")
	assert.Zero(t, would())
	assert.Equal(t, 1, would(models.OwnerMachines{Owner: "O1", Machines: []string{"M1"}}), "a release would tell it")
	assert.Zero(t, would(models.OwnerMachines{Owner: "O2", Machines: []string{"M2"}}))
	hold1.Releases[0].State = models.Released
	_, err = st.Record(t.Context(), hold1, by)
	require.NoError(t, err)
	hold(t, h, date("2025-06-02"))
	assert.Equal(t, 1, told())
	hold(t, h, date("2025-06-03"))
	assert.Equal(t, 1, told(), "once")

	// A hold stops the message while it waits; the release after it tells anew.
	for _, state := range []models.ReleaseState{models.HeldBack, models.Released} {
		hold1.Releases[0].State = state
		_, err = st.Record(t.Context(), hold1, by)
		require.NoError(t, err)
		assert.Zero(t, told(), "stopped")
	}
	hold(t, h, date("2025-06-04"))
	assert.Equal(t, 1, told(), "told again")
	hold(t, h, date("2025-06-05"))
	assert.Equal(t, 1, told(), "once")
}

// full is a store on a disk that is full until there is room.
type full struct {
	*store.Store
	room *bool
}

func (f full) SaveLook(ctx context.Context, l models.Look) (models.Round, error) {
	if !*f.room {
		return models.Round{}, models.Errorf(models.CodeUnavailable, "make room", "the disk is full")
	}
	return f.Store.SaveLook(ctx, l)
}

// TestAFullDiskDoublesNoFigures: a round that was broken off and is taken up
// counts what it did once.
func TestAFullDiskDoublesNoFigures(t *testing.T) {
	st := openStore(t)
	record(t, st, calendarFleet())
	at, room := noon(date("2026-03-10")), false
	broken, err := runnerOf(full{st, &room}).Run(t.Context(), "slot", at)
	require.Error(t, err)
	assert.Zero(t, broken.Looked+broken.Notices+broken.Messages, "nothing was kept")
	room = true
	r, err := runnerOf(full{st, &room}).Run(t.Context(), "slot", at)
	require.NoError(t, err)
	assert.Equal(t, 2, r.Looked)
	assert.Equal(t, len(notices(t, st)), r.Notices)
	assert.Equal(t, 1, r.Messages)
}

func TestAZoneThatNobodyKnowsHoldsNothingUp(t *testing.T) {
	st := openStore(t)
	set := calendarFleet()
	set.Contacts[0].TimeZone = "Nowhere/Land"
	record(t, st, set)
	assert.Equal(t, 2, hold(t, runnerOf(st), date("2026-03-10")).Notices)
}

func TestDryRunStoresNothing(t *testing.T) {
	st := openStore(t)
	record(t, st, calendarFleet())
	r, looks, err := runnerOf(st).DryRun(t.Context(), noon(date("2026-03-10")), nil)
	require.NoError(t, err)
	assert.Equal(t, 2, r.Notices)
	require.Len(t, looks, 1)
	assert.Empty(t, notices(t, st))
	_, ok, err := st.LastRound(t.Context(), math.MaxInt64)
	require.NoError(t, err)
	assert.False(t, ok)
}

func TestAMachineThatHasNotComeYetIsLeftAlone(t *testing.T) {
	st := openStore(t)
	set := calendarFleet()
	set.Machines[0].InService = date("2026-04-01")
	record(t, st, set)
	h := runnerOf(st)
	hold(t, h, date("2026-03-10"))
	fs, err := st.Forecasts(t.Context(), []string{"M1"})
	require.NoError(t, err)
	assert.Empty(t, fs)
	hold(t, h, date("2026-04-01"))
	fs, err = st.Forecasts(t.Context(), []string{"M1"})
	require.NoError(t, err)
	assert.Len(t, fs, 1)
}
