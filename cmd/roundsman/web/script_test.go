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

// hostile is a text that does harm wherever it is not escaped: in text, in an
// attribute with either quote, in an address, in a style or script.
const hostile = `<script>alert(1)</script>"'><img src=x onerror=alert(1)>{{.}}</style></title></textarea>`

// TestScriptInEveryTextField puts hostile text into every fact and every form
// that a page shows, and looks at every page.
func TestScriptInEveryTextField(t *testing.T) {
	t.Parallel()
	longWalk(t)
	s := newShop(t)
	st := s.app.Store
	m := s.machineOf(s.ours)
	owner := models.Owner{ID: m.Owner, Name: hostile, Type: hostile}
	m.Tag, m.Kind, m.Make, m.Model, m.Serial, m.Site = hostile, hostile, hostile, hostile, hostile, hostile
	c := s.contactOf(s.ours)
	c.Name = hostile
	today := models.DateOf(s.clock())
	_, err := st.Record(t.Context(), models.FactSet{Owners: []models.Owner{owner}, Machines: []models.Machine{m}, Contacts: []models.Contact{c},
		Readings: []models.Reading{{Machine: m.ID, At: today, Miles: models.Num(1), Source: hostile}},
		Rules:    []models.Rule{{Kind: hostile, Item: hostile, Months: 12, Teardown: hostile, Note: hostile, Origin: models.OriginHand}},
		Closures: []models.Closure{{Sort: models.ClosureBlack, From: today, To: today, Note: hostile}},
		Services: []models.Service{{Machine: m.ID, Item: hostile, At: today.AddDays(-3)}}}, models.Entry{RecordedAt: 1, Actor: hostile, Means: "test", Note: hostile})
	require.NoError(t, err)
	_, err = st.SaveReply(t.Context(), models.AppliedReply{Reply: models.Reply{Key: hostile, ReceivedAt: 1, Channel: models.ChannelMail, From: hostile, Text: hostile, Owner: m.Owner, Contact: c.ID, Person: hostile},
		Acts: []models.ReplyAct{{Act: hostile, Machine: m.ID, Detail: hostile, At: 1}}}, models.Entry{RecordedAt: 1, Actor: "x", Means: "reply"})
	require.NoError(t, err)

	dana := s.as("Dana")
	job := dana.post("/machines/"+url.PathEscape(m.ID)+"/jobs", url.Values{"complaint": {hostile}})
	require.Equal(t, http.StatusSeeOther, job.code, job.body)
	path, _, _ := strings.Cut(job.to, "?")
	for act, form := range map[string]url.Values{
		"line": {"what": {hostile}, "cooling": {"yes"}}, "part": {"name": {hostile}, "maker": {hostile}, "number": {hostile}, "place": {hostile}},
		"amend": {"cause": {hostile}, "correction": {hostile}},
	} {
		require.Equal(t, http.StatusSeeOther, dana.post(path+"/"+act, form).code, act)
	}
	require.Equal(t, http.StatusSeeOther, dana.post(path+"/done", url.Values{"correction": {hostile}}).code)
	require.Equal(t, http.StatusSeeOther, dana.post("/calls", url.Values{"owner": {m.Owner}, "reached": {"no"}, "note": {hostile}}).code)
	hard := dana.post("/rules", url.Values{"text": {hostile}})
	require.Equal(t, http.StatusUnprocessableEntity, hard.code)
	doubt := dana.post("/machines/"+url.PathEscape(m.ID)+"/reading", url.Values{"miles": {hostile}})
	require.Equal(t, http.StatusUnprocessableEntity, doubt.code)
	intake := dana.post("/intake", url.Values{"owner.name": {hostile}, "contact.mobile": {hostile}, "machine.kind": {hostile}, "reading.miles": {hostile}})
	require.Equal(t, http.StatusUnprocessableEntity, intake.code)
	failed := s.visitor().post("/login", url.Values{"name": {hostile}, "password": {"x"}, "next": {hostile}})

	bodies := map[string]string{"rules refused": hard.body, "reading refused": doubt.body, "log-in refused": failed.body, "intake refused": intake.body}
	for _, p := range []string{"/today", "/fleet", "/fleet?find=" + url.QueryEscape(hostile), "/shop", path, "/machines/" + url.PathEscape(m.ID), "/plan", "/rules", "/settings", "/trail",
		"/intake", "/owners/" + url.PathEscape(m.Owner), "/machines/" + url.PathEscape(m.ID) + "/edit",
		"/nowhere/" + url.PathEscape(hostile), "/today?said=" + url.QueryEscape(hostile), "/fleet?stage=" + url.QueryEscape(hostile) + "&owner=" + url.QueryEscape(hostile)} {
		bodies[p] = dana.get(p).body
	}
	link := "/o/" + s.link(c.ID, s.clock())
	bodies["link"] = s.visitor().get(link).body
	shown := 0
	for name, body := range bodies {
		for _, bad := range []string{"<script>alert", "<img src=x", "onerror=alert(1)>", "</style></title>"} {
			assert.NotContains(t, body, bad, name)
		}
		if strings.Contains(body, "&lt;script&gt;alert(1)&lt;/script&gt;") {
			shown++
		}
	}
	assert.GreaterOrEqual(t, shown, 9, "the hostile text must have been on most pages, escaped")
	svg := dana.get("/machines/" + url.PathEscape(m.ID) + "/use.svg")
	assert.NotContains(t, svg.body, "<script>alert")
}
