package web_test

import (
	"fmt"
	"net/url"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
)

// TestARefusalIsOnTheFirstScreen of a phone, with the focus on it and its form
// below, whichever form of a machine it answers.
func TestARefusalIsOnTheFirstScreen(t *testing.T) {
	t.Parallel()
	b := newBrowser(t)
	s := newShop(t)
	facts, m := s.servedMachine()
	fact := facts[0]
	machine := "/machines/" + url.PathEscape(m.ID)
	p := b.open(t, s.srv.URL, 390, false)
	p.logIn("Dana")
	for _, tt := range []struct{ page, action, fill, value string }{
		{machine, machine + "/reading", "input[name=" + s.meterOf(m) + "]", "1"},
		{machine, machine + "/reading", "input[name=" + s.meterOf(m) + "]", "many"},
		{machine, machine + "/jobs", "input[name=" + s.meterOf(m) + "]", "many"},
		{machine, fmt.Sprintf("%s/withdraw/%s/%d", machine, fact.Sort, fact.Row), "input[name=why]", " "},
		{machine + "/care", machine + "/care/swap", "input[name=old]", "many"},
		{machine + "/care", machine + "/care/baseline", "button", ""},
		{machine + "/care", machine + "/care/standing", "input[name=until]", ""},
	} {
		p.visit(tt.page)
		form := fmt.Sprintf("form[action=%q]", tt.action)
		p.eval("window.__old = 1")
		p.eval(fmt.Sprintf(`(() => { const f = document.querySelector(%q), i = f.querySelector(%q);
			if (f.querySelector('select[name=state]')) f.querySelector('select[name=state]').value = 'laid_up';
			i.value = %q; f.submit(); return 1; })()`, form, tt.fill, tt.value))
		p.loaded()
		p.until("document.activeElement.matches('.warn[role=alert]')")
		top, ok := p.eval("document.querySelector('.warn[role=alert]').getBoundingClientRect().top").(float64)
		require.True(t, ok)
		assert.GreaterOrEqual(t, top, 0.0, tt.action)
		assert.Less(t, top, 700.0, tt.action)
		if tt.page == machine {
			assert.Less(t, top+p.eval("scrollY").(float64), 844.0, "%s: it stands at the top of the page", tt.action)
		}
		assert.Equal(t, true, p.eval(fmt.Sprintf("!!document.activeElement.closest(%q)", form)), "%s: the form is open below it", tt.action)
		p.noSideways()
	}
}

// servedMachine gives a machine of ours without a job in hand that has
// services, and what is written down of it.
func (s *testShop) servedMachine() ([]models.MachineFact, models.Machine) {
	s.t.Helper()
	ms, err := s.app.Store.Machines(s.t.Context())
	require.NoError(s.t, err)
	for _, m := range ms {
		jobs, err := s.app.Store.JobsOf(s.t.Context(), []string{m.ID})
		require.NoError(s.t, err)
		facts, err := s.app.Store.FactsOf(s.t.Context(), m.ID, 0, -1)
		require.NoError(s.t, err)
		if m.Owner == s.ours && len(jobs) == 0 && len(facts) > 3 {
			return facts, m
		}
	}
	s.t.Fatal("no machine was served")
	return nil, models.Machine{}
}

// meterOf names a meter that a machine has.
func (s *testShop) meterOf(m models.Machine) string {
	if m.Meters.Has(models.Odometer) {
		return string(models.Odometer)
	}
	return string(models.HourMeter)
}

// TestNoPageIsWiderThanAPhone at 390 px, whoever looks at it.
func TestNoPageIsWiderThanAPhone(t *testing.T) {
	t.Parallel()
	b := newBrowser(t)
	s := morning(t)
	m := s.machineOf(s.ours)
	p := b.open(t, s.srv.URL, 390, true)
	p.visit("/login")
	p.noSideways()
	p.logIn("Dana")
	machine := "/machines/" + url.PathEscape(m.ID)
	_, err := s.app.Care().Release(t.Context(), nil, true, models.HeldBack, "", scheduler.By{At: s.clock(), Actor: "Dana", Means: "desk"})
	require.NoError(t, err)
	for _, path := range []string{"/today", "/fleet", machine, machine + "/care", machine + "/edit", "/release", "/shop", "/jobs/1", "/plan", "/rules", "/rules?edit=new", "/settings", "/trail",
		"/nowhere", "/intake", "/owners/" + s.ours, "/o/" + s.link(s.contactOf(s.ours).ID, s.clock())} {
		if testing.Short() && path == "/plan" {
			continue // planning takes seconds
		}
		p.visit(path)
		p.shot("phone" + url.PathEscape(path))
		p.noSideways()
		p.eval("document.querySelectorAll('details').forEach(d => d.open = true)")
		p.noSideways()
	}
}
