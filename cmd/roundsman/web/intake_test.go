package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// A machine that is taken in with a complaint has a job with the owner's own
// words; one that is too long is refused before anything is written.
func TestAMachineIsTakenInWithItsComplaint(t *testing.T) {
	s := newShop(t)
	dana := s.as("Dana")
	typed := url.Values{"owner.name": {"Lone Pine"}, "machine.tag": {"P1"}, "machine.kind": {"utv"}, "reading.hours": {"40"}, "complaint": {strings.Repeat("drips ", 100)}}
	a := dana.post("/intake", typed)
	assert.Equal(t, http.StatusUnprocessableEntity, a.code)
	assert.Contains(t, a.body, "drips drips")
	owners, err := s.app.Store.OwnersOf(t.Context(), []string{"lone-pine"})
	require.NoError(t, err)
	assert.Empty(t, owners)

	typed.Set("complaint", "drips something green under the radiator")
	a = dana.post("/intake", typed)
	require.Equal(t, http.StatusSeeOther, a.code, a.body)
	require.Contains(t, a.to, "/jobs/")
	assert.Contains(t, dana.get(a.to).body, "<q>drips something green under the radiator</q>")
	assert.Contains(t, dana.get("/machines/lone-pine-p1").body, "drips something green under the radiator")
}

// A machine without a meter, and one whose meter nobody has read yet, are taken
// in by saying so; where neither a reading nor that is given, the page asks.
func TestAMachineIsTakenInWithoutAReading(t *testing.T) {
	s := newShop(t)
	dana := s.as("Dana")
	for meters, want := range map[string]models.Meters{"none": models.MetersNone, "hours": models.MetersHours, "both_km": models.MetersBothKM} {
		a := dana.post("/intake", url.Values{"owner.name": {"Lone Pine"}, "machine.tag": {meters}, "machine.kind": {"trailer"}, "machine.meters": {meters}})
		require.Equal(t, http.StatusSeeOther, a.code, a.body)
		m, err := s.app.Store.FindMachine(t.Context(), "lone-pine/"+meters)
		require.NoError(t, err)
		assert.Equal(t, want, m.Meters)
		h, err := s.app.Store.History(t.Context(), m.ID, models.Window{})
		require.NoError(t, err)
		assert.Empty(t, h.Readings)
	}
	a := dana.post("/intake", url.Values{"owner.name": {"Lone Pine"}, "machine.tag": {"X"}, "machine.kind": {"utv"}})
	assert.Equal(t, http.StatusUnprocessableEntity, a.code)
	assert.Regexp(t, `name="machine.meters"[^>]*aria-invalid="true"`, a.body)
	assert.NotContains(t, a.body, "<details open>", "nothing was typed there")
	a = dana.post("/intake", url.Values{"owner.name": {"Lone Pine"}, "machine.tag": {"X"}, "machine.kind": {"utv"}, "machine.serial": {"77"}})
	assert.Contains(t, a.body, "<details open>", "what was typed is to be seen")
}

// On a phone the page on which a walk-in is taken in is two screens long.
func TestTheIntakeFitsTwoScreensOfAPhone(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := newBrowser(t).open(t, s.srv.URL, 390, false)
	p.logIn("Dana")
	p.visit("/intake")
	p.noSideways()
	assert.LessOrEqual(t, p.eval("document.documentElement.scrollHeight"), 2*844.0)
	p.shot("intake-brief")
}

// A machine's page of care shows whether the owner's people are written to, and
// records that one wants no more, or may be written to again.
func TestTheCarePageRecordsARefusal(t *testing.T) {
	s := newShop(t)
	dana := s.as("Dana")
	m := s.machineOf(s.ours)
	c := s.contactOf(s.ours)
	path := "/machines/" + url.PathEscape(m.ID) + "/care"
	assert.Contains(t, dana.get(path).body, "Messages to "+c.Name)
	for _, act := range []string{"stop", "lift"} {
		a := dana.post("/owners/"+url.PathEscape(s.ours)+"/stop", url.Values{"contact": {c.ID}, "next": {path}, "stop.act": {act}, "stop.way": {"mail"}, "stop.why": {"said so by phone"}})
		require.Equal(t, http.StatusSeeOther, a.code, a.body)
		assert.Equal(t, path+"?said=line", a.to)
		today := models.DateOf(s.clock().In(s.app.Runner.Notify.Zone)).String()
		assert.Equal(t, act == "stop", strings.Contains(dana.get(path).body, "mail: stopped on "+today), act)
	}
}

// What a field of the desk's forms is refused with, and what to do about it, is
// said in the language of the page.
func TestFaultsOfFieldsAreInSpanish(t *testing.T) {
	s := newShop(t)
	dana := s.as("Dana")
	require.Equal(t, http.StatusSeeOther, dana.post("/language", url.Values{"language": {"es"}}).code)
	m := s.machineOf(s.ours)
	contact := dana.post("/owners/"+url.PathEscape(s.ours)+"/contacts", url.Values{"contact.name": {"Bo"}, "contact.mobile": {"555-0110"}, "contact.mail": {"bo at example"},
		"contact.prefers": {"fax"}, "contact.language": {"?"}})
	assert.Contains(t, contact.body, "escríbalo con el código de área")
	assert.Contains(t, contact.body, "elija correo, texto o llamada")
	machine := dana.post("/machines/"+url.PathEscape(m.ID)+"/edit", url.Values{"machine.tag": {"Z9"}, "machine.kind": {""}, "machine.meters": {string(m.Meters)}, "machine.year": {"soon"},
		"machine.in_service": {"soon"}, "machine.miles_start": {"many"}, "machine.lowest_c": {"cold"}, "machine.duty": {"hard"}, "machine.cooling": {"oil"}})
	assert.Contains(t, machine.body, "escriba AAAA-MM-DD")
	for _, a := range []answer{contact, machine} {
		assert.Equal(t, http.StatusUnprocessableEntity, a.code)
		for _, word := range []string{"; write ", "; give ", "; say ", "; leave ", "> is ", ">is ", ">has "} {
			assert.NotContains(t, a.body, word)
		}
	}
}
