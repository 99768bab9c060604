package scheduler_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/models/folder"
	"example.org/roundsman/models/store"
	"example.org/roundsman/scheduler"
)

// exported writes a store's facts into a folder and reads them into another one.
func exported(t *testing.T, st *store.Store) *store.Store {
	t.Helper()
	set, err := st.AllFacts(t.Context())
	require.NoError(t, err)
	dir := filepath.Join(t.TempDir(), "books")
	require.NoError(t, folder.Write(t.Context(), dir, set))
	got, report, err := folder.Read(t.Context(), os.DirFS(dir), folder.Options{})
	require.NoError(t, err)
	require.Empty(t, report.Faults)
	other := openStore(t)
	_, err = other.Record(t.Context(), got, models.Entry{RecordedAt: models.InstantOf(deskAct.At), Actor: "t", Means: "import"})
	require.NoError(t, err)
	again, err := other.AllFacts(t.Context())
	require.NoError(t, err)
	dir2 := filepath.Join(t.TempDir(), "books")
	require.NoError(t, folder.Write(t.Context(), dir2, again))
	for _, name := range folder.Names() {
		was, err := os.ReadFile(filepath.Join(dir, name))
		require.NoError(t, err)
		is, err := os.ReadFile(filepath.Join(dir2, name))
		require.NoError(t, err)
		assert.Equal(t, string(was), string(is), name)
	}
	return other
}

// TestWhatWasWrittenDownByMistakeIsTakenBack: the machine with what was typed
// with it, then its owner with its people; a folder does not bring them back, a
// person does, and an export carries it.
func TestWhatWasWrittenDownByMistakeIsTakenBack(t *testing.T) {
	st := openStore(t)
	reg := registryOf(st)
	got, err := reg.Add(t.Context(), deskAct, walkIn())
	require.NoError(t, err)
	before, err := st.AllFacts(t.Context())
	require.NoError(t, err)
	take := func(sort models.FactSort, id, why string) ([]models.Contact, error) {
		return reg.TakeBack(t.Context(), deskAct, sort, id, why)
	}
	_, err = take(models.SortMachine, got.Machine.ID, " ")
	require.ErrorContains(t, err, "nothing says why")
	_, err = take(models.SortOwner, got.Owner.ID, "typed twice")
	require.Equal(t, models.CodeConflict, models.CodeOf(err))
	require.ErrorContains(t, err, "Juniper Flat Ranch has machines: R12")
	_, err = take(models.SortMachine, got.Machine.ID, "typed twice")
	require.NoError(t, err)
	_, err = take(models.SortMachine, got.Machine.ID, "typed twice")
	require.Equal(t, models.CodeNotFound, models.CodeOf(err))
	also, err := take(models.SortOwner, got.Owner.ID, "typed twice")
	require.NoError(t, err)
	require.Len(t, also, 1)

	day := date("2026-11-02")
	gone := func(st *store.Store) {
		t.Helper()
		ms, err := st.Machines(t.Context())
		require.NoError(t, err)
		os, err := st.Owners(t.Context())
		require.NoError(t, err)
		cs, err := st.Contacts(t.Context())
		require.NoError(t, err)
		assert.Empty(t, ms)
		assert.Empty(t, os)
		assert.Empty(t, cs)
		set, err := st.AllFacts(t.Context())
		require.NoError(t, err)
		require.Len(t, set.Machines, 1)
		assert.Equal(t, models.Retracted{Why: "typed twice", By: "Dana"}, set.Machines[0].Mistake)
		require.Len(t, set.Readings, 1)
		assert.Equal(t, "typed twice", set.Readings[0].Why)
		page, err := st.Fleet(t.Context(), models.FleetFilter{Limit: 10})
		require.NoError(t, err)
		assert.Empty(t, page.Lines)
		day++
		hold(t, runnerOf(st), day)
	}
	gone(st)
	_, err = st.Record(t.Context(), before, models.Entry{RecordedAt: models.InstantOf(deskAct.At), Actor: "t", Means: "import"})
	require.NoError(t, err)
	gone(st)
	gone(exported(t, st))

	again, err := reg.Add(t.Context(), deskAct, walkIn())
	require.NoError(t, err)
	assert.Equal(t, got.Machine.ID, again.Machine.ID)
	set, err := exported(t, st).AllFacts(t.Context())
	require.NoError(t, err)
	assert.Equal(t, models.Retracted{}, set.Machines[0].Mistake)
	assert.Empty(t, set.Readings[0].Why)
}

// TestAMachineWithAHistoryIsNotAMistake: what hangs on it is named, with the
// way out.
func TestAMachineWithAHistoryIsNotAMistake(t *testing.T) {
	st := openStore(t)
	reg := registryOf(st)
	got, err := reg.Add(t.Context(), deskAct, walkIn())
	require.NoError(t, err)
	_, err = st.Record(t.Context(), models.FactSet{Services: []models.Service{{Machine: got.Machine.ID, Item: "coolant", At: date("2026-10-02")}},
		Readings: []models.Reading{{Machine: got.Machine.ID, At: date("2026-10-20"), Miles: models.Num(1400), Source: "shop"}},
		Releases: []models.Release{{Machine: got.Machine.ID, State: models.Released}}},
		models.Entry{RecordedAt: models.InstantOf(deskAct.At), Actor: "t", Means: "import"})
	require.NoError(t, err)
	_, err = reg.TakeBack(t.Context(), deskAct, models.SortMachine, got.Machine.ID, "typed twice")
	require.Equal(t, models.CodeConflict, models.CodeOf(err))
	require.ErrorContains(t, err, "more is recorded of R12 than was typed with it: reading (1), service (1); take that back first, or say that it was sold, is gone or was scrapped")
}

// TestARefusalOutlivesItsContact: whoever is written down with that number or
// address is not written to either.
func TestARefusalOutlivesItsContact(t *testing.T) {
	st := openStore(t)
	reg := registryOf(st)
	got, err := reg.Add(t.Context(), deskAct, walkIn())
	require.NoError(t, err)
	stopped := got.Contact
	stopped.SetStop(models.ChannelSMS, date("2026-11-01"))
	_, err = st.Record(t.Context(), models.FactSet{Contacts: []models.Contact{stopped}}, models.Entry{RecordedAt: models.InstantOf(deskAct.At), Actor: "t", Means: "import"})
	require.NoError(t, err)
	_, err = reg.TakeBack(t.Context(), deskAct, models.SortContact, got.Contact.ID, "is another Ada")
	require.NoError(t, err)
	fresh, err := reg.Add(t.Context(), deskAct, scheduler.Intake{Contact: folder.Cells{"owner": got.Owner.ID, "name": "Bo", "role": "service", "mobile": "(970) 555-0110", "agrees": "sms", "consent_how": "in person"}})
	require.NoError(t, err)
	people, err := st.People(t.Context(), []string{got.Owner.ID}, date("2026-11-02"))
	require.NoError(t, err)
	require.Len(t, people[got.Owner.ID].People, 1)
	p := people[got.Owner.ID].People[0]
	require.Equal(t, fresh.Contact.ID, p.Contact.ID)
	require.Len(t, p.Sharing, 1)
	assert.Equal(t, date("2026-11-01"), p.Sharing[0].SMSStopOn)
	same, err := reg.Add(t.Context(), deskAct, scheduler.Intake{Contact: folder.Cells{"owner": got.Owner.ID, "name": "Ada Reyes", "role": "service", "mail": "ada@example.com", "mobile": "(970) 555-0111"}})
	require.NoError(t, err, "her id is free again")
	assert.Equal(t, got.Contact.ID, same.Contact.ID)
}
