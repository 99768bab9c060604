package web_test

import (
	"net/http"
	"net/url"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
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
	require.Equal(t, http.StatusSeeOther, dana.post("/release", url.Values{"all": {"yes"}}).code)
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

// TestACareFormKeepsWhatWasTyped when it is refused, says why above it, in
// Spanish where the pages speak it, and asks "sure?" of a doubtful value.
func TestACareFormKeepsWhatWasTyped(t *testing.T) {
	s := newShop(t)
	m := s.machineOf(s.ours)
	path := "/machines/" + url.PathEscape(m.ID) + "/care"
	dana := s.as("Dana")
	for _, tt := range []struct {
		act   string
		typed url.Values
		shows []string
	}{
		{"standing", url.Values{"state": {"laid_up"}, "note": {"in the barn"}}, []string{`value="laid_up" selected`, `value="in the barn"`, "a machine is laid up until a day", "say until when"}},
		{"baseline", url.Values{"said.coolant": {"done"}, "about.coolant": {"soon"}, "said.hoses": {"fine"}},
			[]string{`value="done" selected`, `value="soon"`, `value="fine" selected`, "coolant=done:soon is not understood"}},
		{"swap", url.Values{"meter": {string(models.Odometer)}, "old": {"many"}, "new": {"12"}}, []string{`value="many"`, `value="12"`, "many&#34; is not a number"}},
		{"swap", url.Values{"meter": {string(models.Odometer)}, "old": {"512040"}, "new": {"0"}}, []string{`value="512040"`, "Look again:", `name="sure"`}},
	} {
		page := dana.post(path+"/"+tt.act, tt.typed)
		assert.Equal(t, http.StatusUnprocessableEntity, page.code)
		for _, text := range tt.shows {
			assert.Contains(t, page.body, text)
		}
		assert.Contains(t, page.body, `action="`+path+"/"+tt.act+`"`, "it is the same page")
	}
	require.Equal(t, http.StatusSeeOther, dana.post("/language", url.Values{"language": {"es"}}).code)
	page := dana.post(path+"/standing", url.Values{"state": {"laid_up"}})
	assert.Contains(t, page.body, "una máquina se guarda hasta un día")
	assert.Contains(t, page.body, "diga hasta cuándo, con un día que aún no llega")
}

// "We sold it" leads the desk to the act.
func TestSoldItLeadsToTheAct(t *testing.T) {
	s := newShop(t)
	m, c := s.machineOf(s.ours), s.contactOf(s.ours)
	require.NoError(t, s.app.Replier.Apply(t.Context(), models.Reply{Key: "text/sold", ReceivedAt: models.InstantOf(s.clock()), Channel: models.ChannelMail,
		From: c.Mail, Text: "we sold " + m.Label(), Owner: m.Owner, Contact: c.ID}))
	assert.Contains(t, s.as("Dana").get("/today").body, "/machines/"+url.PathEscape(m.ID)+`/care"`)
}

// What a reply brought is taken back where the reply is shown.
func TestTheDeskTakesBackWhatAReplyBrought(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	m := s.machineOf(s.ours)
	h, err := s.app.Store.History(t.Context(), m.ID, models.Window{})
	require.NoError(t, err)
	require.NoError(t, s.app.Replier.Apply(t.Context(), models.Reply{Key: "text/undo", ReceivedAt: models.InstantOf(s.clock()), Channel: models.ChannelMail,
		From: s.contactOf(s.ours).Mail, Owner: m.Owner, Contact: s.contactOf(s.ours).ID, Text: m.Label() + " oil changed yesterday. How much for tires?"}))
	changed, err := s.app.Store.History(t.Context(), m.ID, models.Window{})
	require.NoError(t, err)
	require.Len(t, changed.Services, len(h.Services)+1)

	dana := s.as("Dana")
	action := regexp.MustCompile(`action="(/replies/[0-9]+/undo)"`)
	found := action.FindStringSubmatch(dana.get("/today").body)
	require.Len(t, found, 2)
	assert.Equal(t, http.StatusUnprocessableEntity, dana.post(found[1], url.Values{}).code, "it says why")
	require.Equal(t, http.StatusSeeOther, dana.post(found[1], url.Values{"why": {"it was another machine"}}).code)
	after, err := s.app.Store.History(t.Context(), m.ID, models.Window{})
	require.NoError(t, err)
	assert.Equal(t, h.Services, after.Services)
	assert.Equal(t, http.StatusConflict, dana.post(found[1], url.Values{"why": {"again"}}).code)
}

// The page of what is held back names the machines with their owners and with
// what would be said of each first, and releases those that are ticked.
func TestTheReleasePageReleasesWhatIsTicked(t *testing.T) {
	s := newShop(t)
	dana := s.as("Dana")
	all, err := s.app.Care().InCare(t.Context(), "")
	require.NoError(t, err)
	_, err = s.app.Care().Release(t.Context(), all, false, models.HeldBack, "", scheduler.By{At: s.clock(), Actor: "test", Means: "test"})
	require.NoError(t, err)
	page := dana.get("/release").body
	for _, m := range all {
		assert.Contains(t, page, `name="machine" value="`+m.ID+`"`)
		assert.Contains(t, page, "<b>"+m.Label()+"</b> "+m.Kind)
	}
	assert.Contains(t, page, "Quill Creek Ranch</a></li>")
	would, err := s.app.PreviewRelease(t.Context(), all, s.clock())
	require.NoError(t, err)
	first, more, _ := would.First("QC-06")
	require.NotEmpty(t, first)
	require.NotZero(t, more)
	assert.Equal(t, models.StageLate, first[0].Stage)
	assert.Contains(t, page, "late Jul 11: ")

	a := dana.post("/release", url.Values{})
	assert.Equal(t, http.StatusUnprocessableEntity, a.code)
	assert.Contains(t, a.body, "no machine is ticked")
	held := func() int {
		h, err := s.app.Care().Held(t.Context())
		require.NoError(t, err)
		return h.Machines
	}
	assert.Equal(t, len(all), held())
	require.Equal(t, http.StatusSeeOther, dana.post("/release", url.Values{"machine": {"QC-06", "QC-22", "nothing"}}).code)
	assert.Equal(t, len(all)-2, held())
	assert.NotContains(t, dana.get("/release").body, `value="QC-06"`)

	theirs := dana.get("/release?owner=quillcreek").body
	assert.NotContains(t, theirs, "Marten Hollow Lodge")
	require.Equal(t, http.StatusSeeOther, dana.post("/release?owner=quillcreek", url.Values{"all": {"yes"}}).code)
	rest := 0
	for _, m := range all {
		if m.Owner != "quillcreek" {
			rest++
		}
	}
	assert.Equal(t, rest, held())
}

// The counts of machines in care and held back are those that the machines
// themselves give, whatever has become of some.
func TestTheCountsOfCareAreThoseOfItsMachines(t *testing.T) {
	s := newShop(t)
	ctx, care := t.Context(), s.app.Care()
	all, err := care.InCare(ctx, "")
	require.NoError(t, err)
	by := scheduler.By{At: s.clock(), Actor: "test", Means: "test"}
	_, err = care.Change(ctx, all[0], scheduler.Standing{State: models.StandsScrapped}, by)
	require.NoError(t, err)
	_, err = care.Change(ctx, all[1], scheduler.Standing{State: models.StandsSold, ToNew: "Sage Hollow"}, by)
	require.NoError(t, err)
	_, err = care.Change(ctx, all[2], scheduler.Standing{State: models.StandsSold}, by)
	require.NoError(t, err)
	_, err = care.Release(ctx, all[3:6], false, models.HeldBack, "", by)
	require.NoError(t, err)

	now, err := care.InCare(ctx, "")
	require.NoError(t, err)
	said, err := care.Store.Releases(ctx)
	require.NoError(t, err)
	want := map[string]models.OwnerCare{}
	held := 0
	for _, m := range now {
		o := want[m.Owner]
		o.Owner, o.Machines = m.Owner, o.Machines+1
		if said[m.ID].State != models.Released {
			o.Held++
			held++
		}
		want[m.Owner] = o
	}
	got, err := s.app.Store.CareByOwner(ctx)
	require.NoError(t, err)
	assert.Equal(t, want, models.ByKey(got, func(o models.OwnerCare) string { return o.Owner }))
	h, err := care.Held(ctx)
	require.NoError(t, err)
	assert.Equal(t, scheduler.Held{Machines: held, Of: len(all) - 2}, h)
}
