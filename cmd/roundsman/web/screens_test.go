package web_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
)

// TestScreens keeps pictures of every page for a person to look at.
func TestScreens(t *testing.T) {
	t.Parallel()
	if os.Getenv("ROUNDSMAN_SHOTS") == "" {
		t.Skip("set ROUNDSMAN_SHOTS to a folder to get pictures of the pages")
	}
	s := newShop(t)
	b := newBrowser(t)
	m := s.machineOf(s.ours)
	for _, width := range []int{390, 1280} {
		p := b.open(t, s.srv.URL, width, true)
		p.visit("/login")
		p.shot("login")
		p.fill("input[name=name]", "Dana")
		p.fill("input[name=password]", password)
		p.send("main form button")
		p.has("Decide")
		p.shot("today")
		for name, path := range map[string]string{"fleet": "/fleet", "machine": "/machines/" + m.ID, "care": "/machines/" + m.ID + "/care", "release": "/release", "shop": "/shop", "plan": "/plan", "rules": "/rules", "settings": "/settings", "edit": "/rules?edit=new", "intake": "/intake", "ownerdesk": "/owners/" + s.ours, "machinedesk": "/machines/" + m.ID + "/edit", "trail": "/trail", "none": "/nowhere"} {
			p.visit(path)
			p.shot(name)
		}
		all, err := s.app.Care().InCare(t.Context(), "")
		require.NoError(t, err)
		for _, state := range []models.ReleaseState{models.HeldBack, models.Released} {
			p.visit("/release")
			p.shot("release-" + string(state))
			_, err = s.app.Care().Release(t.Context(), all, false, state, "", scheduler.By{At: s.clock(), Actor: "test", Means: "test"})
			require.NoError(t, err)
		}
	}
}
