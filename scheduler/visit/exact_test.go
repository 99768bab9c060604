package visit

import (
	"context"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
)

func newRun(p *Problem, steps int64) *run {
	return &run{ctx: context.Background(), p: p, o: Options{Seed: 1, Steps: steps, Parallel: inTurn}, shop: newShop(p, nil)}
}

// fewBays draws a problem of one bay that takes every class, or of two, and of
// few items, as are solved exactly.
func fewBays(t *rapid.T, most int) (Problem, *run) {
	p := randomProblem(t)
	if p.Bays = p.Bays[:min(most, len(p.Bays))]; most == 1 {
		p.Bays = []Bay{{ID: "b0"}}
	}
	first, err := Solve(context.Background(), p, Options{})
	require.NoError(t, err)
	lockSome(t, &p, first.Visits)
	r := newRun(&p, 2000)
	if p.Validate("drawn") != nil || !r.fitsExact() {
		t.Skip("not of the kind that is solved exactly")
	}
	return p, r
}

// A list that lacks what some plan is made of makes false proofs: whatever
// plan a search by chance comes upon, all its blocks are in the list of its
// cost.
func TestEveryPlanIsInTheList(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, r := fewBays(t, 1)
		st := r.start()
		w := newWalker(st, r.prices(st), rapid.Uint64().Draw(t, "seed"), 1)
		w.assign(r.allUnits(), 0, int32(r.shop.days)-1)
		b := newBounder(r.shop, byBays, inTurn)
		m := newMaster(b, false)
		m.generate(b.newDuals(byBays))
		for range rapid.IntRange(1, 4).Draw(t, "plans") {
			w.run(20, 2000)
			blocks, whole := m.list(r.shop.base - st.total - w.st.total)
			if !whole {
				continue
			}
			for _, want := range blocksOf(r.shop, w.st.stops) {
				require.True(t, slices.ContainsFunc(blocks, func(bl block) bool {
					return bl.last == want.last && slices.Equal(bl.items, want.items)
				}), "day %d to %d: %v of %d blocks", want.from, want.last, want.items, len(blocks))
			}
		}
	})
}

// blocksOf takes the plan of one bay apart.
func blocksOf(s *shop, stops [][]stop) []block {
	byLast := map[int32]*block{}
	first := int32(0)
	for u := range stops {
		for _, v := range stops[u] {
			from, last := v.day, v.last
			for i := range s.units[u].atoms {
				if v.atoms&(1<<i) != 0 {
					bl := byLast[last]
					if bl == nil {
						bl = &block{from: from, last: last}
						byLast[last] = bl
					}
					bl.items = append(bl.items, first+int32(i))
				}
			}
		}
		first += int32(len(s.units[u].atoms))
	}
	var out []block
	for _, bl := range byLast {
		slices.Sort(bl.items)
		out = append(out, *bl)
	}
	return out
}

// A plan said to be the best is not beaten by a search that knows nothing of
// proofs, nor by its own bound.
func TestNothingBeatsWhatIsProven(t *testing.T) {
	proven := 0
	rapid.Check(t, func(t *rapid.T) {
		p, r := fewBays(t, rapid.IntRange(1, 2).Draw(t, "most bays"))
		st := r.start()
		start := st.total
		stops, ok := r.solveExactly(start, func() bool { return false })
		if !ok {
			return
		}
		proven++
		best := start
		if stops != nil {
			found := newState(r.shop)
			found.restore(stops)
			require.Empty(t, Check(&p, found.visits()).Broken)
			require.Greater(t, found.total, start)
			best = found.total
		}
		require.LessOrEqual(t, boundCents(r.climbs[0].best), r.shop.base-best)
		w := newWalker(st, r.prices(st), 7, 1)
		w.keep = true
		w.st.total = start
		w.noteBest()
		w.assign(r.allUnits(), 0, int32(r.shop.days)-1)
		w.run(1500, 3000)
		require.LessOrEqual(t, w.top, best, "a search by chance found more than the best there is")
	})
	assert.Positive(t, proven)
}

// The optimum of the instances under testdata, which an outside solver proves
// in TestOptimumEqualsMIP, is proven here as well, whatever the seed.
func TestSmallShopsAreProven(t *testing.T) {
	for _, seed := range []uint64{1, 2, 3} {
		p := readInstance(t, filepath.Join("testdata/plan", "one-bay.json"))
		plan, err := Solve(context.Background(), p, Options{Seed: seed, Steps: 2000})
		require.NoError(t, err)
		assert.True(t, plan.Optimal)
		again, err := Bound(&p, nil, plan.Prices)
		require.NoError(t, err)
		assert.Equal(t, plan.Bound, again)
		assert.LessOrEqual(t, plan.Bound, plan.Cost)
	}
}

// crowdedShop invents a shop of eight machines and one bay whose work does
// not all go into its days.
func crowdedShop(seed uint64) Problem {
	rng := rand.New(rand.NewPCG(seed, 12))
	p := Problem{Format: Format, Start: models.MustDate("2027-03-01"), Days: 21, OpenMin: []int{345, 345, 345, 345, 345, 0, 0}, TechMin: []int{345, 345, 345, 345, 345, 0, 0},
		TechOff: [][3]int{{8, 11, 200}}, Bays: []Bay{{ID: "b"}}, Sites: []Site{{"near", 1500}, {"far", 6000}}}
	for c, downtime := range []int64{2000, 4500, 9000, 15000} {
		id := fmt.Sprintf("c%d", c)
		p.Classes = append(p.Classes, Class{id, downtime})
		p.Limits = append(p.Limits, Limit{Class: id, From: 0, To: 20, MaxOut: 1})
	}
	for m := range 8 {
		id := fmt.Sprintf("m%d", m)
		p.Machines = append(p.Machines, Machine{ID: id, Class: p.Classes[m%4].ID, Site: p.Sites[m%2].ID, Access: map[string]int{"top": 45, "skid": 25}})
		for i := range 5 {
			due := rng.IntN(28) - 8
			p.Items = append(p.Items, Item{ID: fmt.Sprintf("%s-%d", id, i), Machine: id, Earliest: due - 30, Due: due, Work: 15 + 5*rng.IntN(40),
				Access: []string{"top", "skid", ""}[rng.IntN(3)], Interval: 120 + rng.IntN(200), Value: 3000 + rng.Int64N(20000), Late: 40 + rng.Int64N(500),
				Skip: 6000 + rng.Int64N(60000)})
		}
	}
	return p
}

// A crowded small shop is solved to the same proven best, whatever the seed.
func TestACrowdedShopIsProvenWhateverTheSeed(t *testing.T) {
	p, costs := crowdedShop(1), map[int64]bool{}
	for _, seed := range []uint64{1, 2, 3} {
		plan, err := Solve(context.Background(), p, Options{Seed: seed, Steps: 5000, Parallel: sideBySide})
		require.NoError(t, err)
		require.Empty(t, Check(&p, plan.Visits).Broken)
		assert.True(t, plan.Optimal, "seed %d", seed)
		assert.LessOrEqual(t, plan.Bound, plan.Cost)
		costs[plan.Cost] = true
	}
	assert.Len(t, costs, 1, "%v", costs)
}

func BenchmarkCrowdedShop(b *testing.B) {
	p := crowdedShop(1)
	for b.Loop() {
		_, err := Solve(context.Background(), p, Options{Seed: 1, Steps: 5000, Parallel: sideBySide})
		require.NoError(b, err)
	}
}
