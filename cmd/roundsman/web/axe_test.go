package web_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestNothingSeriousIsInaccessible has axe-core
// (https://github.com/dequelabs/axe-core) look at every page for what WCAG 2.2
// A and AA ask and for its own best practices.
func TestNothingSeriousIsInaccessible(t *testing.T) {
	t.Parallel()
	path := filepath.Join(os.Getenv("ROUNDSMAN_NODE_PEERS"), "node_modules", "axe-core", "axe.min.js")
	axe, err := os.ReadFile(path)
	need(t, err == nil && os.Getenv("ROUNDSMAN_NODE_PEERS") != "", "axe-core (npm, into the folder that ROUNDSMAN_NODE_PEERS names)")
	b := newBrowser(t)
	s := morning(t)
	m := s.machineOf(s.ours)
	paths := []string{"/today", "/fleet", "/machines/" + m.ID, "/machines/" + m.ID + "/care", "/release", "/shop", "/jobs/1", "/plan", "/rules", "/rules?edit=new", "/settings", "/trail", "/nowhere", "/intake", "/owners/" + s.ours, "/machines/" + m.ID + "/edit",
		"/o/" + s.link(s.contactOf(s.ours).ID, s.clock())}
	for _, width := range []int{390, 1280} {
		p := b.open(t, s.srv.URL, width, true)
		p.visit("/login")
		check(t, p, string(axe))
		p.logIn("Dana")
		for _, path := range paths {
			if testing.Short() && path == "/plan" {
				continue // planning takes seconds
			}
			p.visit(path)
			// What is folded away is looked at too.
			p.eval("document.querySelectorAll('details').forEach(d => d.open = true)")
			check(t, p, string(axe))
		}
	}
}

func check(t *testing.T, p *page, axe string) {
	t.Helper()
	p.eval(axe + "; 1")
	found, ok := p.eval(`axe.run({runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}).then(r => JSON.stringify(
		r.violations.map(v => ({id: v.id, impact: v.impact, help: v.help, nodes: v.nodes.slice(0, 3).map(n => n.html.slice(0, 200) + " " + (n.any[0] || n.all[0] || n.none[0] || {message: ""}).message)}))))`).(string)
	require.True(t, ok)
	var violations []struct {
		ID, Impact, Help string
		Nodes            []string
	}
	require.NoError(t, json.Unmarshal([]byte(found), &violations))
	where := p.eval("location.pathname")
	for _, v := range violations {
		assert.NotContains(t, []string{"serious", "critical", "moderate"}, v.Impact, "%v at %d px: %s: %s\n%v", where, p.width, v.ID, v.Help, v.Nodes)
	}
	assert.NotZero(t, p.eval("document.querySelectorAll('h1').length"), where)
}
