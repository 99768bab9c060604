package trial

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestRealMachines foretells three real machines in three thinnings of their
// records (sources and license: testdata/real/README.md). Their truths were
// not chosen to lie within the horizon; each is cut there, as the forecast is.
func TestRealMachines(t *testing.T) {
	var n, miss, inside float64
	simple := map[string]float64{}
	for i := range 3 {
		f := readFolder(t, fmt.Sprintf("testdata/real/thinned-%d", i+1))
		require.NotEmpty(t, f.cases)
		for c, day := range f.truth {
			f.truth[c] = min(day, c.AsOf.AddDays(horizon))
		}
		r := measure(f)
		n, miss, inside = n+r.all.n, miss+r.all.miss, inside+r.all.inside
		for k, v := range r.all.simple {
			simple[k] += v
		}
	}
	all := tally{n: n, simple: simple}
	name, best := all.best()
	t.Logf("%.0f cases: miss %.1f days, best simple rule (%s) %.1f, ratio %.2f, 80 %% range holds %.0f %%", n, miss/n, name, best, miss/n/best, 100*inside/n)
	assert.LessOrEqual(t, miss/n/best, 1.0)
	assert.GreaterOrEqual(t, inside/n, 0.70)
}
