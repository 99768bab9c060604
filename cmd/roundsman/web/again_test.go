package web_test

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestARefusedFormComesBack on the page on which it stood, with what was typed
// and why it was refused, in the language of the page; no refusal of what
// somebody typed leads to a page without the form.
func TestARefusedFormComesBack(t *testing.T) {
	s := newShop(t)
	dana := s.as("Dana")
	m := s.machineOf(s.ours)
	path := "/machines/" + url.PathEscape(m.ID)
	facts, err := s.app.Store.FactsOf(t.Context(), m.ID, 0, 1)
	require.NoError(t, err)
	take := path + "/withdraw/" + string(facts[0].Sort) + "/" + strconv.FormatInt(facts[0].Row, 10)
	opened := dana.post(path+"/jobs", url.Values{"complaint": {"runs hot"}})
	require.Equal(t, http.StatusSeeOther, opened.code, opened.body)
	job, _, _ := strings.Cut(opened.to, "?")
	letters, _, err := s.app.Store.Letters(t.Context(), 0, 1)
	require.NoError(t, err)
	require.NotEmpty(t, letters)
	letter := "/messages/" + strconv.FormatInt(letters[0].Message.ID, 10)
	long := strings.Repeat("word ", 150)
	tests := []struct {
		name, path string
		typed      url.Values
		shows      []string // of what was typed
		en, es     string
	}{
		{"a fact, without why", take, url.Values{"why": {"  "}}, []string{`name="why"`}, "nothing says why it is taken back", "no dice por qué se anula"},
		{"a line of a job", job + "/line", url.Values{"what": {"hose clamp"}, "minutes": {"many"}, "cooling": {"yes"}}, []string{`value="hose clamp"`, `value="many"`, `value="yes" checked`}, "are no minutes", "no son minutos"},
		{"a part", job + "/part", url.Values{"name": {"clamp"}, "qty": {"few"}, "place": {"left"}}, []string{`value="clamp"`, `value="few"`, `value="left"`}, "is not a number", "no es un número"},
		{"a message held", letter + "/hold", url.Values{"until": {"2026-01-02"}}, []string{`value="2026-01-02"`}, "it cannot be held until", "no se puede retener hasta"},
		{"days of the shop", "/closures", url.Values{"sort": {"limit"}, "from": {"2026-12-01"}, "to": {"2026-12-03"}, "most": {"some"}, "note": {"hunting season"}},
			[]string{`value="limit" checked`, `value="2026-12-01"`, `value="some"`, `value="hunting season"`}, "how many may be out at once?", "¿cuántas pueden faltar a la vez?"},
		{"a visit that is not there", "/plan/move", url.Values{"machine": {m.ID}, "on": {"2027-01-02"}, "other": {"2027-01-09"}}, nil, "the plan has changed", "el plan cambió"},
	}
	for _, lang := range []string{"en", "es"} {
		require.Equal(t, http.StatusSeeOther, dana.post("/language", url.Values{"language": {lang}}).code)
		for _, tt := range tests {
			a := dana.post(tt.path, tt.typed)
			assert.Contains(t, []int{http.StatusUnprocessableEntity, http.StatusConflict}, a.code, "%s %s", lang, tt.name)
			assert.Contains(t, a.body, map[string]string{"en": tt.en, "es": tt.es}[lang], "%s %s", lang, tt.name)
			assert.Equal(t, 1, strings.Count(a.body, `role="alert" tabindex`), "%s %s: said once", lang, tt.name)
			for _, shown := range tt.shows {
				assert.Contains(t, a.body, shown, "%s %s", lang, tt.name)
			}
		}
	}

	link := "/o/" + s.link(s.contactOf(s.ours).ID, s.clock())
	back := dana.post(link+"/back", url.Values{"machine": {m.ID}, "words": {long}})
	assert.Equal(t, http.StatusUnprocessableEntity, back.code)
	assert.Contains(t, back.body, strings.TrimSpace(long))
	assert.Contains(t, back.body, "at most 500 fit")
}
