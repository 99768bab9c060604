package store

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// recordContacts records versions of contacts, as an import does.
func recordContacts(t *testing.T, s *Store, cs ...models.Contact) models.Recorded {
	t.Helper()
	done, err := s.Record(t.Context(), models.FactSet{Contacts: cs}, models.Entry{RecordedAt: 1, Actor: "test", Means: "import"})
	require.NoError(t, err)
	return done
}

func TestAnImportClearsNoStop(t *testing.T) {
	const mail, mobile = "Ada@example.com", "+12025550101"
	on := models.MustDate("2026-02-01")
	for name, versions := range map[string][]models.Contact{
		"same again":          {{Mail: mail, Mobile: mobile}},
		"other letters' case": {{Mail: "ada@EXAMPLE.com", Mobile: mobile}},
		"there and back":      {{Mail: "b@example.com", Mobile: "+12025550102"}, {Mail: "ada@example.com", Mobile: mobile}},
		"away and back":       {{}, {Mail: mail, Mobile: mobile}},
	} {
		t.Run(name, func(t *testing.T) {
			s := newStore(t)
			first := models.Contact{ID: "C1", Owner: "O1", Role: models.RoleOwner, Mail: mail, Mobile: mobile, SMSStopOn: on, MailStopOn: on}
			recordContacts(t, s, first)
			for _, v := range versions {
				v.ID, v.Owner, v.Role = first.ID, first.Owner, first.Role
				recordContacts(t, s, v)
			}
			c, _, err := s.Contact(t.Context(), "C1")
			require.NoError(t, err)
			assert.Equal(t, [2]models.Date{on, on}, [2]models.Date{c.SMSStopOn, c.MailStopOn})
		})
	}
	s := newStore(t)
	recordContacts(t, s, models.Contact{ID: "C1", Owner: "O1", Role: models.RoleOwner, Mobile: mobile, SMSStopOn: on})
	recordContacts(t, s, models.Contact{ID: "C1", Owner: "O1", Role: models.RoleOwner, Mobile: "+12025550102"})
	c, _, err := s.Contact(t.Context(), "C1")
	require.NoError(t, err)
	assert.Zero(t, c.SMSStopOn, "a new number has not been stopped")
}

func TestAContactThatGoesToAnotherOwnerConcernsBoth(t *testing.T) {
	s := newStore(t)
	m := func(id, owner string) models.Machine {
		return models.Machine{ID: id, Kind: "utv", Owner: owner, Meters: models.MetersHours}
	}
	_, err := s.Record(t.Context(), models.FactSet{Machines: []models.Machine{m("M1", "O1"), m("M2", "O2"), m("M3", "O3")}},
		models.Entry{RecordedAt: 1, Actor: "test", Means: "import"})
	require.NoError(t, err)
	recordContacts(t, s, models.Contact{ID: "C1", Owner: "O1", Role: models.RoleService})
	done := recordContacts(t, s, models.Contact{ID: "C1", Owner: "O2", Role: models.RoleService})
	assert.Equal(t, 2, done.MachinesTouched, "who is told at O1 has changed too")
}

func TestStopsThatCrossAreBothKept(t *testing.T) {
	s := newStore(t)
	on := models.MustDate("2026-02-01")
	recordContacts(t, s, models.Contact{ID: "C1", Owner: "O1", Role: models.RoleOwner, Mail: "ada@example.com", Mobile: "+12025550101"})
	read, _, err := s.Contact(t.Context(), "C1")
	require.NoError(t, err)
	say := func(key string, c models.Contact) {
		_, err := s.SaveReply(t.Context(), models.AppliedReply{Reply: models.Reply{Key: key, Owner: "O1", Contact: "C1"},
			Contacts: []models.Contact{c}}, models.Entry{RecordedAt: 2, Actor: "test", Means: "reply"})
		require.NoError(t, err)
	}
	byText, byMail := read, read
	byText.SMSStopOn, byMail.MailStopOn = on, on
	say("text", byText)
	recordContacts(t, s, models.Contact{ID: "C1", Owner: "O1", Role: models.RoleOwner, Mail: "ada@example.com", Mobile: "+12025550101", Name: "Ada"})
	say("mail", byMail) // read before the other two were recorded
	c, _, err := s.Contact(t.Context(), "C1")
	require.NoError(t, err)
	assert.Equal(t, [2]models.Date{on, on}, [2]models.Date{c.SMSStopOn, c.MailStopOn})
	assert.Equal(t, "Ada", c.Name)
}

func TestANameWrittenOtherwiseIsNoSecondContact(t *testing.T) {
	s := newStore(t)
	c := func(id, name, mail string) models.Contact {
		return models.Contact{ID: id, Owner: "O1", Name: name, Role: models.RoleOwner, Mail: mail}
	}
	recordContacts(t, s, c("O1/ann", "Ann", "ann@example.com"), c("O1/bo", "Bo", "bo@example.com"), c("own", "Cy", "cy@example.com"))
	anne := []models.Contact{c("O1/anne", "Anne", "Ann@example.com"), c("O1/bo", "Bo", "bo@example.com")}
	done := recordContacts(t, s, anne...)
	assert.Equal(t, models.Counts{Corrected: 1, Same: 1}, done.Contacts)
	assert.False(t, recordContacts(t, s, c("O1/anne", "Anne", "Ann@example.com")).Changed(), "the same again")
	done = recordContacts(t, s, c("O1/dee", "Dee", "bo@example.com"), c("O1/bo", "Bo", "bo@example.com"), c("O1/cyr", "Cyr", "cy@example.com"))
	assert.Equal(t, models.Counts{New: 2, Same: 1}, done.Contacts, "Bo is in the set himself, and Cy has an id of his own")
	all, err := s.Contacts(t.Context())
	require.NoError(t, err)
	require.Len(t, all, 5)
	assert.Equal(t, "Anne", all[0].Name)
	assert.Equal(t, "O1/ann", all[0].ID)
}
