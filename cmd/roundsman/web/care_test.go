package web_test

import (
	"net/http"
	"net/url"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// The desk sells a machine, says what is known of its past, replaces a meter
// and holds it back, all from its page; nobody else may.
func TestTheDeskKeepsMachines(t *testing.T) {
	s := newShop(t)
	m := s.machineOf(s.ours)
	path := "/machines/" + url.PathEscape(m.ID) + "/care"
	dana := s.as("Dana")
	page := dana.get(path)
	require.Equal(t, http.StatusOK, page.code)
	assert.Contains(t, page.body, "in use")
	assert.Contains(t, page.body, "The owner is told of this machine.")

	require.Equal(t, http.StatusSeeOther, dana.post(path+"/release", url.Values{"hold": {"yes"}}).code)
	assert.Contains(t, dana.get(path).body, "Held back: the owner is not told")
	assert.Contains(t, dana.get("/today").body, "machines are held back")
	assert.Contains(t, dana.get("/release").body, "What would be said on release")
	require.Equal(t, http.StatusSeeOther, dana.post("/release", url.Values{}).code)
	assert.Contains(t, dana.get(path).body, "The owner is told of this machine.")

	require.Equal(t, http.StatusSeeOther, dana.post(path+"/baseline", url.Values{"said.coolant": {"done"}, "about.coolant": {"2025-05"}}).code)
	h, err := s.app.Store.History(t.Context(), m.ID, models.Window{})
	require.NoError(t, err)
	require.Len(t, h.Baselines, 1)
	assert.Equal(t, models.MustDate("2025-05-15"), h.Baselines[0].DoneOn)
	assert.NotEqual(t, http.StatusSeeOther, dana.post(path+"/baseline", url.Values{"said.coolant": {"done"}, "about.coolant": {"soon"}}).code)

	meter := string(models.Odometer)
	if !m.Meters.Has(models.Odometer) {
		meter = string(models.HourMeter)
	}
	swaps := len(h.Swaps)
	swap := url.Values{"meter": {meter}, "old": {"51204"}, "new": {"0"}}
	assert.Equal(t, http.StatusUnprocessableEntity, dana.post(path+"/swap", swap).code, "it is asked about")
	swap.Set("sure", "yes")
	require.Equal(t, http.StatusSeeOther, dana.post(path+"/swap", swap).code)

	require.Equal(t, http.StatusSeeOther, dana.post(path+"/standing", url.Values{"state": {"sold"}, "to_new": {"Sage Hollow"}}).code)
	assert.Contains(t, dana.get(path).body, "sold to sagehollow")
	sold, err := s.app.Store.FindMachine(t.Context(), m.ID)
	require.NoError(t, err)
	assert.Equal(t, "sagehollow", sold.Owner)
	h, err = s.app.Store.History(t.Context(), m.ID, models.Window{})
	require.NoError(t, err)
	assert.Len(t, h.Swaps, swaps+1)

	require.Equal(t, http.StatusSeeOther, dana.post(path+"/standing", url.Values{"state": {"scrapped"}}).code)
	assert.NotContains(t, dana.get("/fleet?find="+url.QueryEscape(m.ID)).body, "/machines/"+url.PathEscape(m.ID)+`"`, "it is on no list")
	assert.Equal(t, http.StatusOK, dana.get("/machines/"+url.PathEscape(m.ID)).code, "its page is still there")
}

// "We sold it" leads the desk to the act.
func TestSoldItLeadsToTheAct(t *testing.T) {
	s := newShop(t)
	m, c := s.machineOf(s.ours), s.contactOf(s.ours)
	require.NoError(t, s.app.Replier.Apply(t.Context(), models.Reply{Key: "text/sold", ReceivedAt: models.InstantOf(s.clock()), Channel: models.ChannelMail,
		From: c.Mail, Text: "we sold " + m.Label(), Owner: m.Owner, Contact: c.ID}))
	assert.Contains(t, s.as("Dana").get("/today").body, "/machines/"+url.PathEscape(m.ID)+`/care"`)
}
