package web_test

import (
	"encoding/base64"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A machine's sheet prints on one page of either size: A4 is 210 by 297 mm (ISO
// 216), Letter 8.5 by 11 inches (ANSI/ASME Y14.1).
func TestASheetPrintsOnOnePage(t *testing.T) {
	t.Parallel()
	b := newBrowser(t)
	s := morning(t)
	p := b.open(t, s.srv.URL, 1280, true)
	p.logIn("Tomas")
	page := regexp.MustCompile(`/Type\s*/Page\b`)
	for _, tag := range []string{"T-2", "U-6", "3"} {
		m, err := s.app.Store.FindMachine(t.Context(), tag)
		require.NoError(t, err)
		p.visit("/machines/" + m.ID)
		for name, size := range map[string][2]float64{"A4": {8.27, 11.69}, "Letter": {8.5, 11}} {
			var out struct{ Data string }
			p.do("Page.printToPDF", obj{"paperWidth": size[0], "paperHeight": size[1], "preferCSSPageSize": false, "printBackground": true}, &out)
			pdf, err := base64.StdEncoding.DecodeString(out.Data)
			require.NoError(t, err)
			require.NotEmpty(t, page.FindAll(pdf, -1))
			assert.Len(t, page.FindAll(pdf, -1), 1, "%s on %s", tag, name)
		}
	}
}
