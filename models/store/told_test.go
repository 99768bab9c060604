package store

import (
	"maps"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

const told = models.Instant(1_772_400_000) // 2026-03-01T21:20:00Z

// toldShop is a machine of an owner who was told of it, has answered, and has
// something in the queue.
func toldShop() models.FactSet {
	notice := func(contact, key string, stage models.Stage, at models.Instant) models.KeyedNotice {
		return models.KeyedNotice{MessageKey: key, Notice: models.Notice{Owner: "O1", Contact: contact, Machine: "M1", Subject: models.SubjectItem,
			Item: models.ItemOil, Cycle: 1, Stage: stage, EarlyOn: day1, DueOn: day1 + 9, LateOn: day1 + 20, Driver: models.DriverMiles,
			Reason: models.ReasonUse, AtMiles: models.Num(900), Remaining: models.Remaining{Miles: models.Num(-3.5)}, Why: "may go", DecidedAt: at}}
	}
	withheld := notice("c2", "", models.StageComing, told)
	withheld.Why = "no consent"
	visit := notice("c1", "v/1/c1", "", told+50)
	visit.Subject, visit.Item, visit.Cycle = models.SubjectVisit, "4", 1
	return models.FactSet{
		Owners:   []models.Owner{{ID: "O1", Name: "Juniper Flat"}},
		Contacts: []models.Contact{{ID: "c1", Owner: "O1", Role: models.RoleService, Mail: "ada@example.com", MailConsentOn: day1 - 90}},
		Machines: []models.Machine{{ID: "M1", Tag: "R1", Kind: "utv", Owner: "O1", Meters: models.MetersMiles}},
		Messages: []models.Message{
			{Key: "a/c1/notices", Owner: "O1", Contact: "c1", Channel: models.ChannelMail, Address: "ada@example.com", Purpose: models.PurposeNotices,
				Language: "en", Composed: models.Composed{Subject: "Oil", Text: "Oil\nis due"}, State: models.MessageSent, Why: "sent", QueuedAt: told,
				NotBefore: told + 60, Tries: 2, EndedAt: told + 70, PeerID: "4Q2", ReceiptAt: told + 80, Receipt: "delivered"},
			{Key: "b/c1/notices", Owner: "O1", Contact: "c1", Channel: models.ChannelMail, Address: "ada@example.com", Purpose: models.PurposeNotices,
				State: models.MessageQueued, Why: "quiet hours", QueuedAt: told + 100, NotBefore: told + 9000},
			{Key: "v/1/c1", Owner: "O1", Contact: "c1", Channel: models.ChannelMail, Address: "ada@example.com", Purpose: models.PurposeVisit,
				State: models.MessageQueued, QueuedAt: told + 50, Composed: models.Composed{Calendar: "BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n"}},
			{Key: "answer/text/1/help", Owner: "O1", Contact: "c1", Channel: models.ChannelSMS, Address: "+12025550101", Purpose: models.PurposeHelp,
				Urgent: true, Body: "Call us.", InReplyTo: "text/1", State: models.MessageFailed, QueuedAt: told + 200, EndedAt: told + 210},
		},
		Notices: []models.KeyedNotice{notice("c1", "a/c1/notices", models.StageComing, told), withheld,
			notice("c1", "b/c1/notices", models.StageDue, told+100), visit},
		Attempts: []models.KeyedAttempt{
			{MessageKey: "a/c1/notices", Attempt: models.Attempt{Number: 1, StartedAt: told + 60, EndedAt: told + 61, Outcome: models.OutcomeTemporary, Code: "450", Why: "busy"}},
			{MessageKey: "a/c1/notices", Attempt: models.Attempt{Number: 2, StartedAt: told + 69, EndedAt: told + 70, Outcome: models.OutcomeSent, Code: "250", PeerID: "4Q2"}}},
		Replies: []models.Reply{{Key: "text/1", ReceivedAt: told + 200, Channel: models.ChannelSMS, From: "+12025550101", To: "+12025550100", Text: "help\nme",
			Owner: "O1", Contact: "c1", Question: `{"Kind":"meter"}`, Person: "names a day"}},
		ReplyActs: []models.KeyedAct{
			{ReplyKey: "text/1", Number: 1, ReplyAct: models.ReplyAct{Act: "reading", Machine: "M1", Detail: "900", At: told + 200}},
			{ReplyKey: "text/1", Number: 2, MessageKey: "answer/text/1/help", ReplyAct: models.ReplyAct{Act: "asked back", At: told + 200}}},
		ReplyMarks: []models.KeyedMark{{ReplyKey: "text/1", ReplyMark: models.ReplyMark{At: told + 300, By: "Pat", Note: "called"}}},
		Bounces:    []models.Bounce{{Key: "mail/1", At: told + 5, Channel: models.ChannelMail, Address: "old@example.com", Fate: models.FateDead, Code: "5.1.1", Words: "no"}},
		Calls:      []models.Call{{At: told + 400, Owner: "O1", By: "Pat", Reached: true, Note: "will come", AgainOn: day1 + 9}},
	}
}

// ashored gives what was told and answered without the numbers of a store.
func ashored(t *testing.T, s *Store) models.FactSet {
	set, err := s.AllFacts(t.Context())
	require.NoError(t, err)
	set = models.FactSet{Messages: set.Messages, Notices: set.Notices, Attempts: set.Attempts, Replies: set.Replies,
		ReplyActs: set.ReplyActs, ReplyMarks: set.ReplyMarks, Bounces: set.Bounces, Calls: set.Calls}
	for i := range set.Messages {
		set.Messages[i].ID, set.Messages[i].Round = 0, 0
	}
	for i := range set.Notices {
		set.Notices[i].ID, set.Notices[i].Round, set.Notices[i].Message = 0, 0, nil
	}
	for i := range set.Attempts {
		set.Attempts[i].ID, set.Attempts[i].Message = 0, 0
	}
	for i := range set.Replies {
		set.Replies[i].ID = 0
	}
	for i := range set.ReplyActs {
		set.ReplyActs[i].ID, set.ReplyActs[i].Reply, set.ReplyActs[i].Message = 0, 0, nil
	}
	for i := range set.ReplyMarks {
		set.ReplyMarks[i].ID, set.ReplyMarks[i].Reply = 0, 0
	}
	for i := range set.Bounces {
		set.Bounces[i].ID = 0
	}
	for i := range set.Calls {
		set.Calls[i].ID = 0
	}
	return set
}

func load(t *testing.T, s *Store, set models.FactSet) models.Recorded {
	t.Helper()
	done, err := s.Record(t.Context(), set, entry("import"))
	require.NoError(t, err)
	return done
}

func stateOf(t *testing.T, s *Store, key string) models.Message {
	t.Helper()
	var m models.Message
	require.NoError(t, s.read.Where("key = ?", key).Take(&m).Error)
	return m
}

func TestWhatWasToldIsLoadedOnce(t *testing.T) {
	s := newStore(t)
	set := toldShop()
	slices.Reverse(set.Messages)
	slices.Reverse(set.Notices)
	slices.Reverse(set.ReplyActs)
	done := load(t, s, set)
	for what, c := range map[string][2]int{"messages": {done.Messages.New, 4}, "notices": {done.Notices.New, 4}, "attempts": {done.Attempts.New, 2},
		"replies": {done.Replies.New, 1}, "acts": {done.ReplyActs.New, 2}, "marks": {done.ReplyMarks.New, 1},
		"bounces": {done.Bounces.New, 1}, "calls": {done.Calls.New, 1}} {
		assert.Equal(t, c[1], c[0], what)
	}
	first := ashored(t, s)
	byTime := toldShop()
	byTime.Messages = []models.Message{byTime.Messages[0], byTime.Messages[2], byTime.Messages[1], byTime.Messages[3]}
	assert.Equal(t, byTime.Messages, first.Messages, "in the order of time")
	assert.ElementsMatch(t, byTime.Notices, first.Notices)
	assert.Equal(t, models.SubjectVisit, first.Notices[2].Subject)
	byTime.Notices, first.Notices = nil, nil
	byTime.Owners, byTime.Contacts, byTime.Machines = nil, nil, nil
	assert.Equal(t, byTime, first)

	again := load(t, s, toldShop())
	assert.False(t, again.Changed(), "%+v", again)
	assert.Equal(t, 4, again.Messages.Same)
	assert.Equal(t, 4, again.Notices.Same)
	assert.Equal(t, 2, again.ReplyActs.Same)
	assert.Equal(t, 1, again.Calls.Same)
}

// TestLoadedNoticesStandInARoundThatNeverWas: the round of what was loaded is
// not the last one held, bars none, and has used no profile.
func TestLoadedNoticesStandInARoundThatNeverWas(t *testing.T) {
	s := newStore(t)
	load(t, s, toldShop())
	ctx := t.Context()
	var r models.Round
	require.NoError(t, s.read.Take(&r).Error)
	assert.Equal(t, models.Round{ID: 1, Slot: "loaded 1", State: models.RoundDone, LastEntry: 1, Notices: 2, Withheld: 1, Messages: 2, Note: r.Note}, r)
	for query, want := range map[string]int64{
		"SELECT count(*) FROM notices WHERE round = 1":                        3,
		"SELECT count(*) FROM notices WHERE round = 0 AND subject = 'visit'":  1,
		"SELECT count(*) FROM messages WHERE round = 1":                       2,
		"SELECT count(*) FROM messages WHERE round = 0":                       2,
		"SELECT count(*) FROM machine_states WHERE next_look = ''":            1,
		"SELECT count(*) FROM notices n JOIN messages m ON m.id = n.message":  3,
		"SELECT count(*) FROM reply_acts a JOIN messages m ON m.id=a.message": 1,
	} {
		var n int64
		require.NoError(t, s.read.Raw(query).Scan(&n).Error)
		assert.Equal(t, want, n, query)
	}
	_, ok, err := s.LastRound(ctx, math.MaxInt64)
	require.NoError(t, err)
	assert.False(t, ok)
	_, ok, err = s.UnfinishedRound(ctx)
	require.NoError(t, err)
	assert.False(t, ok)
	_, ok, err = s.ProfileInForce(ctx, told)
	require.NoError(t, err)
	assert.False(t, ok)
	for _, at := range []models.Instant{1, told - 1000} {
		_, err = s.BeginRound(ctx, models.Round{Slot: at.String(), At: at})
		assert.NoError(t, err, "a round at any time can be held")
	}
}

// TestNothingNewLeavesNoRound: a set whose notices are all known, beside
// something else that is new.
func TestNothingNewLeavesNoRound(t *testing.T) {
	s := newStore(t)
	load(t, s, toldShop())
	set := toldShop()
	set.Owners[0].Name = "Juniper Flat Ranch"
	assert.Equal(t, 1, load(t, s, set).Owners.Corrected)
	var n int64
	require.NoError(t, s.read.Table("rounds").Count(&n).Error)
	assert.EqualValues(t, 1, n)
}

// TestLoadingEndsWhatWaitsAndNeverRevives: a folder of a later day ends the
// messages that wait here; one of an earlier day does not put them back.
func TestLoadingEndsWhatWaitsAndNeverRevives(t *testing.T) {
	s := newStore(t)
	early, late := toldShop(), toldShop()
	m := &late.Messages[1]
	m.State, m.Why, m.EndedAt, m.Tries, m.PeerID = models.MessageSent, "sent", told+9100, 1, "4Q9"
	m.Composed = models.Composed{Subject: "Oil", Text: "Oil is due now"}
	late.Attempts = append(late.Attempts, models.KeyedAttempt{MessageKey: m.Key,
		Attempt: models.Attempt{Number: 1, StartedAt: told + 9100, EndedAt: told + 9100, Outcome: models.OutcomeSent}})
	load(t, s, early)
	done := load(t, s, late)
	assert.Equal(t, models.Counts{Corrected: 1, Same: 3}, done.Messages)
	assert.Equal(t, models.Counts{New: 1, Same: 2}, done.Attempts)
	got := stateOf(t, s, m.Key)
	assert.Equal(t, models.MessageSent, got.State)
	assert.Equal(t, "Oil is due now", got.Composed.Text)
	assert.Equal(t, told+9100, got.EndedAt)
	assert.False(t, load(t, s, early).Changed())
	assert.Equal(t, models.MessageSent, stateOf(t, s, m.Key).State)
}

// TestWhatIsToldHereIsNotSentFromThere: two stores of one shop that each told
// the same.
func TestWhatIsToldHereIsNotSentFromThere(t *testing.T) {
	s := newStore(t)
	here := toldShop()
	here.Messages, here.Notices = here.Messages[:2], here.Notices[:3]
	load(t, s, models.FactSet{Owners: here.Owners, Contacts: here.Contacts, Machines: here.Machines, Messages: here.Messages, Notices: here.Notices})

	there := toldShop()
	all, part := there.Messages[1], there.Messages[1]
	all.Key, part.Key = "x/c1/notices", "y/c1/notices"
	all.Composed.Text, part.Composed.Text = "Oil", "Oil and belt"
	due := there.Notices[2]
	due.MessageKey = all.Key
	coming, belt := there.Notices[0], there.Notices[0]
	coming.MessageKey, belt.MessageKey, belt.Item = part.Key, part.Key, models.ItemBelt
	load(t, s, models.FactSet{Messages: []models.Message{all, part}, Notices: []models.KeyedNotice{due, coming, belt}})

	got := stateOf(t, s, all.Key)
	assert.Equal(t, models.MessageDropped, got.State)
	assert.Equal(t, models.ReasonToldAlready, got.Why)
	assert.Equal(t, models.Instant(1_700_000_000), got.EndedAt)
	got = stateOf(t, s, part.Key)
	assert.Equal(t, models.MessageQueued, got.State)
	assert.True(t, got.Composed.IsZero(), "it is composed anew, of the belt alone")
	assert.Equal(t, models.MessageQueued, stateOf(t, s, "b/c1/notices").State, "the first of the two goes")
}

// TestAHeldMessageIsKeptAsWaiting: what a courier holds is exported as what
// waits, a try that has begun as one in doubt.
func TestAHeldMessageIsKeptAsWaiting(t *testing.T) {
	s := newStore(t)
	set := toldShop()
	second := set.Messages[1]
	second.Key = "c/c1/notices"
	second.NotBefore += 10
	set.Messages = append(set.Messages, second)
	load(t, s, set)
	ctx := t.Context()
	lease := models.Lease{By: "courier", Now: told + 9100, Ends: told + 9200}
	held, err := s.Claim(ctx, lease, models.ChannelMail, 10)
	require.NoError(t, err)
	require.Len(t, held, 3)
	i := slices.IndexFunc(held, func(c models.Claimed) bool { return c.Message.Key == "b/c1/notices" })
	held[i].Message.Composed = models.Composed{Subject: "Oil", Text: "Oil is due", HTML: "<p>Oil is due</p>"}
	_, err = s.Begin(ctx, lease, held[i], func(models.Claimed) models.Ruling {
		return models.Ruling{Verdict: models.VerdictGo, Address: "ada@example.com", LeaseEnds: told + 9300}
	})
	require.NoError(t, err)

	kept := map[string]models.Message{}
	for _, m := range ashored(t, s).Messages {
		kept[m.Key] = m
		assert.NotEqual(t, models.MessageSending, m.State)
		assert.Zero(t, m.LeaseBy+m.Composed.HTML)
		assert.Zero(t, m.LeaseEnds)
	}
	begun := kept["b/c1/notices"]
	assert.True(t, begun.InDoubt)
	assert.Equal(t, told+9300, begun.NotBefore)
	assert.Equal(t, "Oil is due", begun.Composed.Text)
	assert.False(t, kept["c/c1/notices"].InDoubt)
	assert.Equal(t, told+9010, kept["c/c1/notices"].NotBefore)
	assert.NotEmpty(t, kept["v/1/c1"].Composed.Calendar, "an invitation that waits is kept")

	other := newStore(t)
	load(t, other, models.FactSet{Owners: set.Owners, Contacts: set.Contacts, Machines: set.Machines,
		Messages: slices.Collect(maps.Values(kept)), Notices: set.Notices})
	assert.ElementsMatch(t, slices.Collect(maps.Values(kept)), ashored(t, other).Messages)
}

func TestWhatHangsOnNothingIsRefused(t *testing.T) {
	shop := toldShop()
	for name, set := range map[string]models.FactSet{
		"notice":  {Notices: shop.Notices},
		"attempt": {Attempts: shop.Attempts},
		"act":     {ReplyActs: shop.ReplyActs},
		"mark":    {ReplyMarks: shop.ReplyMarks},
	} {
		s := newStore(t)
		_, err := s.Record(t.Context(), set, entry("import"))
		assert.Equal(t, models.CodeConflict, models.CodeOf(err), name)
		n, err := s.LastEntry(t.Context())
		require.NoError(t, err)
		assert.Zero(t, n, "nothing is kept")
	}
}

// TestWhatWasToldCountsAsAlways: silence, a call, a dead address and the last
// talk are seen as if they had happened here.
func TestWhatWasToldCountsAsAlways(t *testing.T) {
	s := newStore(t)
	set := toldShop()
	set.Contacts[0].Mail = "OLD@example.com"
	load(t, s, models.FactSet{Owners: set.Owners, Contacts: set.Contacts, Machines: set.Machines})
	require.NoError(t, s.write.Exec("UPDATE machine_states SET next_look = '2099-01-01'").Error)
	load(t, s, models.FactSet{Bounces: set.Bounces})
	var look string
	require.NoError(t, s.read.Raw("SELECT next_look FROM machine_states").Scan(&look).Error)
	assert.Empty(t, look, "another way is looked for")

	load(t, s, models.FactSet{Messages: set.Messages, Notices: set.Notices})
	who, err := s.People(t.Context(), []string{"O1"}, day1)
	require.NoError(t, err)
	p := who["O1"].People[0]
	assert.Equal(t, []models.Channel{models.ChannelMail}, p.Retired)
	assert.Equal(t, 2, p.Unanswered)
	require.NotNil(t, p.Waiting)
	assert.Equal(t, "b/c1/notices", p.Waiting.Key)

	load(t, s, models.FactSet{Replies: set.Replies, Calls: set.Calls})
	who, err = s.People(t.Context(), []string{"O1"}, day1)
	require.NoError(t, err)
	assert.Zero(t, who["O1"].People[0].Unanswered)
	talk, err := s.Sender(t.Context(), models.ChannelMail, "ada@example.com", "")
	require.NoError(t, err)
	require.NotNil(t, talk.Last)
	assert.Equal(t, "a/c1/notices", talk.Last.Key)
	assert.Equal(t, models.StageComing, talk.Notices[0].Stage)
	talk, err = s.Sender(t.Context(), models.ChannelSMS, "+12025550101", "")
	require.NoError(t, err)
	assert.Equal(t, `{"Kind":"meter"}`, talk.Question)
}
