package web_test

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/models"
)

// A walk-in customer is taken in with one page, by who types at the counter.
func TestAWalkInIsTakenInOnOnePage(t *testing.T) {
	everyScreen(t, true, func(t *testing.T, s *testShop, p *page) {
		p.logIn("Dana")
		p.visit("/intake")
		for field, text := range map[string]string{"owner.name": "Juniper Flat", "contact.name": "Ada Reyes", "contact.mobile": "555-0110",
			"contact.consent_how": "in person", "machine.tag": "R12", "machine.kind": "utv", "reading.miles": "1,500"} {
			p.fill(`input[name="`+field+`"]`, text)
		}
		p.eval(`document.querySelector('input[value=sms]').checked = true`)
		p.noSideways()
		p.send("form.desk button")
		p.has("has no area code") // and what was typed is still there
		assert.Equal(t, "Juniper Flat", p.eval(`document.querySelector('input[name="owner.name"]').value`))
		assert.Equal(t, true, p.eval(`document.querySelector('input[value=sms]').checked`))
		p.noSideways()
		p.fill(`input[name="contact.mobile"]`, "(970) 555-0198")
		p.send("form.desk button")
		p.has("It is written down.")
		p.has("R12")
		p.visit("/owners/juniper-flat")
		p.has("Ada Reyes")
		p.noSideways()

		m, err := s.app.Store.FindMachine(t.Context(), "juniper-flat/R12")
		require.NoError(t, err)
		assert.Equal(t, models.MetersMiles, m.Meters)
		cs, err := s.app.Store.ContactsOf(t.Context(), []string{"juniper-flat"})
		require.NoError(t, err)
		require.Len(t, cs, 1)
		assert.Equal(t, "+19705550198", cs[0].Mobile)
		assert.Equal(t, models.DateOf(s.clock()), cs[0].SMSConsentOn)
		assert.Equal(t, "in person", cs[0].ConsentHow)
	})
}

func TestOwnersPeopleAndMachinesAreCorrectedOnTheirPages(t *testing.T) {
	s := newShop(t)
	dana, st := s.as("Dana"), s.app.Store
	m, c := s.machineOf(s.ours), s.contactOf(s.ours)
	a := dana.post("/owners/"+s.ours, url.Values{"owner.name": {"Renamed Ranch"}, "owner.type": {"ranch"}})
	require.Equal(t, http.StatusSeeOther, a.code, a.body)
	a = dana.post("/owners/"+s.ours+"/contacts", url.Values{"contact": {c.ID}, "contact.name": {c.Name}, "contact.role": {string(c.Role)},
		"contact.mobile": {"970 555 0177"}, "contact.mail": {c.Mail}, "contact.prefers": {"phone"}, "contact.consent_how": {c.ConsentHow}})
	require.Equal(t, http.StatusSeeOther, a.code, a.body)
	a = dana.post("/owners/"+s.ours+"/contacts", url.Values{"contact.name": {"New Person"}, "contact.role": {"operator"}, "contact.mail": {"new@example.com"}})
	require.Equal(t, http.StatusSeeOther, a.code, a.body)
	assert.Contains(t, dana.get("/machines/"+m.ID+"/edit").body, `value="`+m.Tag+`"`)
	a = dana.post("/machines/"+m.ID+"/edit", url.Values{"machine.tag": {"Z9"}, "machine.kind": {m.Kind}, "machine.meters": {string(m.Meters)}})
	require.Equal(t, http.StatusSeeOther, a.code, a.body)

	owners, err := st.OwnersOf(t.Context(), []string{s.ours})
	require.NoError(t, err)
	assert.Equal(t, "Renamed Ranch", owners[0].Name)
	now, ok, err := st.Contact(t.Context(), c.ID)
	require.NoError(t, err)
	require.True(t, ok)
	assert.Equal(t, []any{"+19705550177", models.ChannelPhone, c.MailConsentOn}, []any{now.Mobile, now.Prefers, now.MailConsentOn})
	assert.Equal(t, "Z9", s.machineOf(s.ours).Tag)
	_, ok, err = st.Contact(t.Context(), s.ours+"/new-person")
	require.NoError(t, err)
	assert.True(t, ok)

	a = dana.post("/machines/"+m.ID+"/edit", url.Values{"machine.tag": {"Z9"}, "machine.kind": {""}, "machine.meters": {string(m.Meters)}})
	assert.Equal(t, http.StatusUnprocessableEntity, a.code)
	assert.Contains(t, a.body, "is empty")
	assert.Equal(t, http.StatusNotFound, dana.post("/owners/"+s.ours+"/contacts", url.Values{"contact": {"nobody"}, "contact.name": {"x"}}).code)
	assert.Equal(t, http.StatusNotFound, dana.get("/owners/nobody").code)
}

func TestTodayNamesOwnersWithNobodyToTell(t *testing.T) {
	s := newShop(t)
	dana := s.as("Dana")
	assert.NotContains(t, dana.get("/today").body, "Lone Pine")
	a := dana.post("/intake", url.Values{"owner.name": {"Lone Pine"}, "machine.tag": {"P1"}, "machine.kind": {"pump"}, "reading.hours": {"40"}})
	require.Equal(t, http.StatusSeeOther, a.code, a.body)
	assert.Contains(t, dana.get("/today").body, `<a href="/owners/lone-pine">Lone Pine</a> (nobody to tell)`)
}

func TestTodayCountsWhatIsDue(t *testing.T) {
	s := newShop(t)
	body := s.as("Dana").get("/today").body
	for _, stage := range []models.Stage{models.StageLate, models.StageDue, models.StageComing, models.StageUnsure} {
		page, err := s.app.Store.Fleet(t.Context(), models.FleetFilter{Limit: 1})
		require.NoError(t, err)
		assert.Regexp(t, `<a href="/fleet\?stage=`+string(stage)+`">[^\n]*<b>`+strconv.Itoa(page.Stages[stage])+`</b></a>`, body)
	}
}

// A first meter that no machine ever shows is asked about with what was typed,
// and taken from who looked twice.
func TestAnImpossibleFirstMeterIsAskedAboutOnThePage(t *testing.T) {
	s := newShop(t)
	dana := s.as("Dana")
	assert.NotContains(t, dana.get("/intake").body, `name="sure"`)
	form := url.Values{"owner.name": {"Lone Pine"}, "machine.tag": {"P1"}, "machine.kind": {"pump"}, "reading.hours": {"9999999"}}
	a := dana.post("/intake", form)
	require.Equal(t, http.StatusUnprocessableEntity, a.code)
	assert.Contains(t, a.body, "more than such a machine ever runs")
	assert.Contains(t, a.body, `name="sure"`)
	assert.Contains(t, a.body, "9999999")
	_, err := s.app.Store.FindMachine(t.Context(), "lone-pine/P1")
	require.Error(t, err)
	form.Set("sure", "yes")
	a = dana.post("/intake", form)
	require.Equal(t, http.StatusSeeOther, a.code, a.body)
}

// A number that another owner has is asked about by name beside its field, in
// the language of the pages, and shared by who says so.
func TestANumberOfAnotherOwnerIsAskedAboutOnThePage(t *testing.T) {
	s := newShop(t)
	dana := s.as("Dana")
	form := url.Values{"owner.name": {"Lone Pine"}, "contact.name": {"Ira"}, "contact.role": {"owner"}, "contact.mobile": {"+1 202 555 0144"}, "machine.tag": {"P1"}, "machine.kind": {"pump"}, "reading.hours": {"40"}}
	require.Equal(t, http.StatusSeeOther, dana.post("/intake", form).code)
	form.Set("owner.name", "Sage Hollow")
	a := dana.post("/intake", form)
	require.Equal(t, http.StatusUnprocessableEntity, a.code)
	assert.Contains(t, a.body, "is that of another owner too: Lone Pine (lone-pine); write that owner instead, or say that the two share it")
	assert.Contains(t, a.body, `name="sure"`)
	form.Set("sure", "yes")
	a = dana.post("/intake", form)
	require.Equal(t, http.StatusSeeOther, a.code, a.body)
}

// TestAKindWithoutRulesIsTold when a machine of it is taken in, and on its page.
func TestAKindWithoutRulesIsTold(t *testing.T) {
	s := newShop(t)
	desk := s.as("Dana")
	for kind, says := range map[string]string{"wood chipper": "Add rules for it, or correct the kind.", "quadd": "Is atv meant?"} {
		a := desk.post("/intake", url.Values{"owner.name": {"Sage Hollow"}, "machine.kind": {kind}, "reading.hours": {"12"}})
		require.Equal(t, http.StatusSeeOther, a.code, a.body)
		page := desk.get(a.to).body
		assert.Contains(t, page, "no rule is for its kind")
		assert.Contains(t, page, says)
		assert.NotContains(t, page, "Nothing is due or coming.")
	}
	a := desk.post("/intake", url.Values{"owner.name": {"Sage Hollow"}, "machine.kind": {"quad"}, "reading.hours": {"12"}})
	assert.Contains(t, desk.get(a.to).body, "It is written down.")
}

// TestTheStripSaysWhatTheTableSays: both are worked out now, also before the
// next look has seen what was recorded.
func TestTheStripSaysWhatTheTableSays(t *testing.T) {
	s := newShop(t)
	fleet, err := s.app.Store.Fleet(t.Context(), models.FleetFilter{Stage: models.StageLate, Limit: 1})
	require.NoError(t, err)
	require.NotEmpty(t, fleet.Lines)
	m := fleet.Lines[0].Machine
	path, desk := "/machines/"+url.PathEscape(m.ID), s.as("Dana")
	late := func() (strip, heading bool) {
		body := desk.get(path).body
		_, rest, _ := strings.Cut(body, `role="img" aria-label="`)
		words, _, _ := strings.Cut(rest, `"`)
		return strings.Contains(words, "late: "), strings.Contains(body, `class="stage late"`)
	}
	strip, table := late()
	require.True(t, strip && table)
	sheet, err := s.app.Sheet(t.Context(), m.ID, s.clock(), app.Planned{})
	require.NoError(t, err)
	var set models.FactSet
	for _, f := range sheet.Forecasts {
		set.Services = append(set.Services, models.Service{Machine: m.ID, Item: f.Item, At: models.DateOf(s.clock())})
	}
	_, err = s.app.Store.Record(t.Context(), set, models.Entry{RecordedAt: models.InstantOf(s.clock()), Actor: "Dana", Means: "desk"})
	require.NoError(t, err)
	strip, table = late()
	assert.False(t, table, "the table and the heading are of now")
	assert.False(t, strip, "and so is the picture")
}

// What was written down by mistake is taken back on its page, with a reason;
// what has a history is refused in the form.
func TestAMistakeIsTakenBackOnThePage(t *testing.T) {
	s := newShop(t)
	dana := s.as("Dana")
	form := url.Values{"owner.name": {"Lone Pine"}, "contact.name": {"Ira"}, "contact.role": {"owner"}, "contact.mobile": {"+1 202 555 0144"}, "machine.tag": {"P1"}, "machine.kind": {"pump"}, "reading.hours": {"40"}}
	require.Equal(t, http.StatusSeeOther, dana.post("/intake", form).code)
	assert.NotContains(t, dana.get("/owners/lone-pine").body, "Lone Pine was written down by mistake", "it has a machine")
	assert.Contains(t, dana.get("/machines/lone-pine-p1/edit").body, "P1 was written down by mistake")
	a := dana.post("/machines/lone-pine-p1/mistake", url.Values{"why": {" "}})
	require.Equal(t, http.StatusUnprocessableEntity, a.code)
	assert.Contains(t, a.body, "nothing says why it is taken back")
	a = dana.post("/machines/lone-pine-p1/mistake", url.Values{"why": {"typed twice"}})
	require.Equal(t, http.StatusSeeOther, a.code, a.body)
	assert.Equal(t, "/owners/lone-pine?said=withdrawn", a.to)
	assert.Equal(t, http.StatusNotFound, dana.get("/machines/lone-pine-p1").code)
	assert.Equal(t, http.StatusNotFound, dana.post("/owners/lone-pine/mistake", url.Values{"contact": {"nobody"}, "why": {"x"}}).code)
	a = dana.post("/owners/lone-pine/mistake", url.Values{"contact": {"lone-pine/ira"}, "why": {"typed twice"}})
	require.Equal(t, http.StatusSeeOther, a.code, a.body)
	a = dana.post("/owners/lone-pine/mistake", url.Values{"why": {"typed twice"}})
	require.Equal(t, http.StatusSeeOther, a.code, a.body)
	assert.Equal(t, http.StatusNotFound, dana.get("/owners/lone-pine").code)
	m := s.machineOf(s.ours)
	a = dana.post("/machines/"+m.ID+"/mistake", url.Values{"why": {"typed twice"}})
	require.Equal(t, http.StatusConflict, a.code)
	assert.Contains(t, a.body, "more is recorded of")
}
