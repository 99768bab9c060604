package trial

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/usage"
)

// TestFirstMetersAreTaken: each reading taken as the first thing that is known
// of its machine, but for the year of one that came new, is hardly ever asked
// about (sources: testdata/real/README.md, testdata/fleet-small/README.md).
func TestFirstMetersAreTaken(t *testing.T) {
	all, asked := 0, 0
	for _, dir := range []string{"testdata/real/thinned-1", "testdata/real/thinned-2", "testdata/real/thinned-3", "testdata/fleet-small"} {
		for _, h := range readFolder(t, dir).Histories {
			bare := models.Machine{ID: h.Machine.ID, Kind: h.Machine.Kind, Meters: h.Machine.Meters}
			if used, known := h.Machine.BoughtUsed(); known && !used {
				bare.Year = h.Machine.InService.Year()
			}
			for _, r := range h.Readings {
				all++
				if d, _, ok := usage.Asks(models.History{Machine: bare, AsOf: r.At}, []models.Reading{r}); ok {
					asked++
					t.Log(bare.ID, bare.Kind, r.At, r.Value(d.Meter), d.Meter, d.Reason)
				}
			}
		}
	}
	require.Greater(t, all, 2000)
	t.Logf("%d of %d were asked about", asked, all)
	assert.LessOrEqual(t, float64(asked), 0.005*float64(all))
}
