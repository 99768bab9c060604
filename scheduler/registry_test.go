package scheduler_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/models/folder"
	"example.org/roundsman/models/store"
	"example.org/roundsman/scheduler"
)

func registryOf(st *store.Store) *scheduler.Registry {
	return &scheduler.Registry{Store: st, Zone: denver, Country: "US"}
}

var deskAct = scheduler.Act{At: time.Date(2026, 11, 2, 17, 0, 0, 0, time.UTC), By: "Dana", Means: "page"}

// walkIn is a customer at the counter.
func walkIn() scheduler.Intake {
	return scheduler.Intake{
		Owner:   folder.Cells{"name": "Juniper Flat Ranch", "type": "ranch"},
		Contact: folder.Cells{"name": "Ada Reyes", "role": "owner", "mobile": "(970) 555-0110", "prefers": "sms", "agrees": "sms", "consent_how": "in person"},
		Machine: folder.Cells{"tag": "R12", "kind": "utv", "cooling": "liquid"},
		Reading: folder.Cells{"miles": "1500", "hours": "92.5"},
	}
}

func TestAWalkInIsTakenInAtOnce(t *testing.T) {
	st := openStore(t)
	got, err := registryOf(st).Add(t.Context(), deskAct, walkIn())
	require.NoError(t, err)
	assert.True(t, got.Changed)
	assert.Equal(t, "juniper-flat-ranch", got.Owner.ID)
	assert.Equal(t, "juniper-flat-ranch/ada-reyes", got.Contact.ID)
	assert.Equal(t, "juniper-flat-ranch-r12", got.Machine.ID)
	set, err := st.AllFacts(t.Context())
	require.NoError(t, err)
	require.Len(t, set.Contacts, 1)
	c := set.Contacts[0]
	assert.Equal(t, []any{"+19705550110", models.ChannelSMS, date("2026-11-02"), models.Date(0), "in person"},
		[]any{c.Mobile, c.Prefers, c.SMSConsentOn, c.MailConsentOn, c.ConsentHow})
	require.Len(t, set.Machines, 1)
	assert.Equal(t, models.MetersBoth, set.Machines[0].Meters)
	require.Len(t, set.Readings, 1)
	r := set.Readings[0]
	assert.Equal(t, []any{"juniper-flat-ranch-r12", date("2026-11-02"), 1500.0, 92.5, models.SourceShop}, []any{r.Machine, r.At, r.Miles.F, r.Hours.F, r.Source})
	entries, err := st.Entries(t.Context(), []int64{c.Entry})
	require.NoError(t, err)
	assert.Equal(t, "Dana", entries[c.Entry].Actor)
}

// noJobs is a store in which no job can be written.
type noJobs struct{ *store.Store }

func (s noJobs) RecordWithJob(ctx context.Context, set models.FactSet, c *models.JobChange, by models.Entry) (models.Recorded, string, error) {
	if c != nil {
		c.Job.OpenedOn = 0 // which the table refuses
	}
	return s.Store.RecordWithJob(ctx, set, c, by)
}

// Of a walk-in whose job cannot be written nothing stays: it can be taken in
// again as it was typed.
func TestAWalkInWithAComplaintIsWholeOrNothing(t *testing.T) {
	st := openStore(t)
	failing := registryOf(st)
	failing.Store = noJobs{st}
	in := walkIn()
	in.Complaint = "runs hot after an hour"
	_, err := failing.Add(t.Context(), deskAct, in)
	require.Error(t, err)
	set, err := st.AllFacts(t.Context())
	require.NoError(t, err)
	assert.Zero(t, len(set.Owners)+len(set.Contacts)+len(set.Machines)+len(set.Readings)+len(set.Jobs))

	in = walkIn()
	in.Complaint = "runs hot after an hour"
	got, err := registryOf(st).Add(t.Context(), deskAct, in)
	require.NoError(t, err)
	w, err := st.Job(t.Context(), got.Job)
	require.NoError(t, err)
	assert.Equal(t, []any{got.Machine.ID, "runs hot after an hour"}, []any{w.Job.Machine, w.Job.Complaint})
	set, err = st.AllFacts(t.Context())
	require.NoError(t, err)
	assert.Equal(t, set.Machines[0].Entry, w.Job.Entry, "it is one entry")
}

func TestAGuessedMeterIsTakenAsAGuess(t *testing.T) {
	st := openStore(t)
	in := walkIn()
	in.Reading = folder.Cells{"miles": "about 1500", "hours": "92.5"}
	_, err := registryOf(st).Add(t.Context(), deskAct, in)
	require.NoError(t, err)
	set, err := st.AllFacts(t.Context())
	require.NoError(t, err)
	require.Len(t, set.Readings, 2, "one guessed, one read")
	for _, r := range set.Readings {
		assert.Equal(t, r.Miles.Known, r.Width.Known, "%+v", r)
	}
}

func TestAKnownOwnersSecondMachine(t *testing.T) {
	st := openStore(t)
	reg := registryOf(st)
	_, err := reg.Add(t.Context(), deskAct, walkIn())
	require.NoError(t, err)
	for i, owner := range []folder.Cells{{"name": "juniper flat RANCH"}, {"owner": "juniper-flat-ranch"}} {
		got, err := reg.Add(t.Context(), deskAct, scheduler.Intake{Owner: owner, Machine: folder.Cells{"tag": []string{"R13", "R14"}[i], "kind": "atv", "meters": "hours"}})
		require.NoError(t, err)
		assert.True(t, got.KnownOwner)
		assert.Equal(t, "Juniper Flat Ranch", got.Owner.Name, "it stays as it was")
		assert.Equal(t, []string{"juniper-flat-ranch-r13", "juniper-flat-ranch-r14"}[i], got.Machine.ID)
	}
	owners, err := st.Owners(t.Context())
	require.NoError(t, err)
	assert.Len(t, owners, 1)
}

// TestANumberOfAnotherOwnerIsAskedAbout wherever it is written down, and taken
// from who is sure; what is shared on record is not asked about again.
func TestANumberOfAnotherOwnerIsAskedAbout(t *testing.T) {
	st := openStore(t)
	reg := registryOf(st)
	_, err := reg.Add(t.Context(), deskAct, walkIn())
	require.NoError(t, err)
	second := func(sure bool) scheduler.Intake {
		in := walkIn()
		in.Owner["name"], in.Contact["mobile"], in.Sure = "Bo Lund", "970-555-0110", sure
		return in
	}
	ask := func(err error) {
		t.Helper()
		require.Equal(t, models.CodeDoubtful, models.CodeOf(err), "%v", err)
		require.ErrorContains(t, err, `contact: mobile "+19705550110" is that of another owner too: Juniper Flat Ranch (juniper-flat-ranch); `+folder.SharedRemedy)
	}
	_, err = reg.Add(t.Context(), deskAct, second(false))
	ask(err)
	owners, err := st.Owners(t.Context())
	require.NoError(t, err)
	require.Len(t, owners, 1, "nothing was kept")
	got, err := reg.Add(t.Context(), deskAct, second(true))
	require.NoError(t, err)
	_, err = reg.Change(t.Context(), deskAct, scheduler.Intake{Contact: folder.Cells{"contact": got.Contact.ID, "name": "Bo A. Lund"}})
	require.NoError(t, err, "it is on record as shared")
	_, err = reg.Change(t.Context(), deskAct, scheduler.Intake{Contact: folder.Cells{"contact": got.Contact.ID, "mobile": "970 555 0123"}})
	require.NoError(t, err)
	_, err = reg.Change(t.Context(), deskAct, scheduler.Intake{Contact: folder.Cells{"contact": got.Contact.ID, "mobile": "970 555 0110"}})
	ask(err)
}

// TestAKnownPersonComesWithAnotherMachine: the person on record stays one, and
// what is said of her now is added.
func TestAKnownPersonComesWithAnotherMachine(t *testing.T) {
	st := openStore(t)
	reg := registryOf(st)
	_, err := reg.Add(t.Context(), deskAct, walkIn())
	require.NoError(t, err)
	in := walkIn()
	in.Machine["tag"], in.Contact["mail"], in.Contact["role"] = "R13", "ada@example.com", "manager"
	got, err := reg.Add(t.Context(), deskAct, in)
	require.NoError(t, err)
	assert.Equal(t, "juniper-flat-ranch/ada-reyes", got.Contact.ID)
	contacts, err := st.Contacts(t.Context())
	require.NoError(t, err)
	require.Len(t, contacts, 1)
	assert.Equal(t, "ada@example.com", contacts[0].Mail)
	assert.NotEqual(t, models.RoleManager, contacts[0].Role)
}

func TestWhatCannotBeTakenInIsToldAtOnceAndNothingIsKept(t *testing.T) {
	st := openStore(t)
	reg := registryOf(st)
	_, err := reg.Add(t.Context(), deskAct, walkIn())
	require.NoError(t, err)
	before, err := st.LastEntry(t.Context())
	require.NoError(t, err)
	tests := map[string]struct {
		change func(*scheduler.Intake)
		want   []string
	}{
		"a number without its area code": {func(in *scheduler.Intake) { in.Contact["mobile"] = "555-0111" },
			[]string{`contact: mobile "555-0111" has no area code; ` + models.MobileRemedy}},
		"several": {func(in *scheduler.Intake) {
			in.Contact["mail"], in.Machine["year"], in.Reading["miles"] = "ada", "nineteen", "-4"
		}, []string{
			`machine: year "nineteen" is not a whole number; write a whole number from 1900 to 2200`,
			`contact: mail "ada" is not a plain mail address; write it like name@example.com`,
			`reading: miles "-4" is negative; write what the meter shows, such as 6120.4, or "about 6100" for a guess`}},
		"no kind":      {func(in *scheduler.Intake) { delete(in.Machine, "kind") }, []string{`machine: kind is empty; write the shop's own word, for example utv`}},
		"no meters":    {func(in *scheduler.Intake) { in.Reading = nil }, []string{`machine: meters is empty; write miles, km, hours, both, both_km or none`}},
		"no such cell": {func(in *scheduler.Intake) { in.Machine["colour"] = "red" }, []string{`machine: column "colour" is not one of this file; take it out`}},
		"a start that no machine ever shows": {func(in *scheduler.Intake) { in.Machine["hours_start"] = "9999999" },
			[]string{`machine: hours_start "9999999" is more than such a machine ever runs; see whether a digit is too many, or the unit another`}},
		"consent, and nobody says how": {func(in *scheduler.Intake) { delete(in.Contact, "consent_how") },
			[]string{`contact: consent_how is empty; say how consent was given: in person, by phone, on a form ...`}},
		"an owner nobody knows": {func(in *scheduler.Intake) { in.Owner, in.Contact, in.Machine["owner"] = nil, nil, "nobody" },
			[]string{"machine: owner \"nobody\" is not known; give the id of an owner (`roundsman owner list`), or make the owner first"}},
		"a taken id": {func(in *scheduler.Intake) { in.Machine["machine"] = "juniper-flat-ranch-r12" },
			[]string{`machine: machine "juniper-flat-ranch-r12" is taken; give another id, or change that one`}},
		"the same person again": {func(in *scheduler.Intake) {
			in.Owner["name"], in.Contact["name"], in.Contact["mobile"] = "Juniper Flat Ranch", "A. Reyes", "+1 970 555 0110"
			in.Machine["tag"] = "R13"
		}, []string{`contact: mobile "+19705550110" is that of somebody there already: Ada Reyes (juniper-flat-ranch/ada-reyes); leave the person out, change that contact, or give this one an address of its own`}},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			in := walkIn()
			in.Owner["name"], in.Contact["mobile"] = "Another", "970 555 0199"
			tt.change(&in)
			_, err := reg.Add(t.Context(), deskAct, in)
			var faults models.Faults
			require.ErrorAs(t, err, &faults)
			got := make([]string, len(faults))
			for i, f := range faults {
				got[i] = f.String()
			}
			assert.Equal(t, tt.want, got)
			last, err := st.LastEntry(t.Context())
			require.NoError(t, err)
			assert.Equal(t, before, last)
		})
	}
}

func TestChangeWritesOverWhatIsGivenOnly(t *testing.T) {
	st := openStore(t)
	reg := registryOf(st)
	_, err := reg.Add(t.Context(), deskAct, walkIn())
	require.NoError(t, err)
	got, err := reg.Change(t.Context(), deskAct, scheduler.Intake{Contact: folder.Cells{
		"contact": "juniper-flat-ranch/ada-reyes", "mobile": "", "mail": "ada@example.com", "prefers": "mail", "agrees": "mail", "consent_how": "by phone"}})
	require.NoError(t, err)
	assert.Equal(t, "", got.Contact.Mobile)
	assert.Equal(t, "Ada Reyes", got.Contact.Name)
	assert.Equal(t, date("2026-11-02"), got.Contact.MailConsentOn)
	got, err = reg.Change(t.Context(), deskAct, scheduler.Intake{Machine: folder.Cells{"machine": "juniper-flat-ranch-r12", "duty": "severe"}})
	require.NoError(t, err)
	assert.Equal(t, models.DutySevere, got.Machine.Duty)
	assert.Equal(t, "R12", got.Machine.Tag)
	got, err = reg.Change(t.Context(), deskAct, scheduler.Intake{Owner: folder.Cells{"owner": "juniper-flat-ranch", "name": "Juniper Flat"}})
	require.NoError(t, err)
	assert.Equal(t, "ranch", got.Owner.Type)
	again, err := reg.Change(t.Context(), deskAct, scheduler.Intake{Owner: folder.Cells{"owner": "juniper-flat-ranch", "name": "Juniper Flat"}})
	require.NoError(t, err)
	assert.False(t, again.Changed, "the same again is nothing new")
	_, err = reg.Change(t.Context(), deskAct, scheduler.Intake{Owner: folder.Cells{"owner": "nobody", "name": "x"}})
	assert.Equal(t, models.CodeNotFound, models.CodeOf(err))
}

func TestBlanksAreNoMachine(t *testing.T) {
	st := openStore(t)
	_, err := registryOf(st).Add(t.Context(), deskAct, scheduler.Intake{Owner: folder.Cells{"name": " "}, Machine: folder.Cells{"kind": " "}, Complaint: "runs rough"})
	require.Error(t, err)
	assert.ErrorContains(t, err, "choose what kind of machine it is")
	set, err := st.AllFacts(t.Context())
	require.NoError(t, err)
	assert.Empty(t, set.Machines)
	assert.Empty(t, set.Jobs)
}

func TestAStartAboveWhatWasReadIsRefused(t *testing.T) {
	st := openStore(t)
	g := registryOf(st)
	got, err := g.Add(t.Context(), deskAct, walkIn()) // 1,500 mi, 92.5 h
	require.NoError(t, err)
	change := func(cell, value string) error {
		_, err := g.Change(t.Context(), deskAct, scheduler.Intake{Machine: folder.Cells{"machine": got.Machine.ID, cell: value}})
		return err
	}
	assert.ErrorContains(t, change("hours_start", "9600"), "is more than the 92.5 read on 2026-11-02")
	assert.ErrorContains(t, change("miles_start", "1500.1"), "is more than the 1500 read on")
	require.NoError(t, change("hours_start", "92.5"))
	require.NoError(t, change("miles_start", "12"))
}

func TestTheDayFromWhichBooksAreWholeCannotBeCleared(t *testing.T) {
	st := openStore(t)
	g := registryOf(st)
	got, err := g.Add(t.Context(), deskAct, walkIn())
	require.NoError(t, err)
	_, err = g.Change(t.Context(), deskAct, scheduler.Intake{Machine: folder.Cells{"machine": got.Machine.ID, "books_since": ""}})
	assert.ErrorContains(t, err, "today begins it anew")
}
