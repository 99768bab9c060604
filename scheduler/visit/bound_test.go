package visit

import (
	"context"
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
)

// A bound above its plan's cost, or one that its prices do not give, is a
// mistake of the program and must never be shown as a proof.
func TestABoundThatCannotBeIsNotGiven(t *testing.T) {
	for name, tt := range map[string]struct {
		cost, bound, again int64
		err                error
		want               int64
		gap                float64
	}{
		"sound":             {cost: 200, bound: 150, again: 150, want: 150, gap: 0.25},
		"best":              {cost: 200, bound: 200, again: 200, want: 200},
		"above the cost":    {cost: 200, bound: 296, again: 296, gap: 1},
		"not of the prices": {cost: 200, bound: 150, again: 149, gap: 1},
		"no prices":         {cost: 200, bound: 150, again: 150, err: errors.New("no"), gap: 1},
		"nothing to do":     {},
	} {
		p := Plan{Bound: tt.bound}
		p.settle(tt.cost, tt.again, tt.err)
		assert.Equal(t, tt.want, p.Bound, name)
		assert.InDelta(t, tt.gap, p.Gap, 1e-12, name)
	}
}

// The knapsack of a day gives the best gain for every room, exactly filled
// ones too, as trying all ways does.
func TestTheKnapsackFindsTheBest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		room := rapid.IntRange(0, 12).Draw(t, "room")
		table := dayTable{kinds: make([]knapsack, 1)}
		for u := range rapid.IntRange(1, 5).Draw(t, "units") {
			from, gain := int32(len(table.short)), int64(0)
			for w := int32(0); w <= int32(room); w++ {
				if rapid.IntRange(0, 2).Draw(t, "offered") == 0 { // heavier ones gain more, as offers lists them
					gain += rapid.Int64Range(1, 50).Draw(t, "gain")
					table.short = append(table.short, option{unit: int32(u), weight: w, gain: gain})
				}
			}
			if to := int32(len(table.short)); to > from {
				table.runs = append(table.runs, oneOf{from: from, to: to, bay: -1})
			}
		}
		table.pack(&table.kinds[0], room+1, func(*oneOf) bool { return true })
		for c := range room + 1 {
			assert.Equal(t, bestOf(&table, 0, int32(c)), table.kinds[0].best[c], "room %d", c)
		}
	})
}

// bestOf tries every way to fill a room from the runs from the r-th on.
func bestOf(t *dayTable, r int, room int32) int64 {
	if r == len(t.runs) {
		return 0
	}
	best := bestOf(t, r+1, room)
	for _, o := range t.short[t.runs[r].from:t.runs[r].to] {
		if o.weight <= room {
			best = max(best, o.gain+bestOf(t, r+1, room-o.weight))
		}
	}
	return best
}

// A locked visit that becomes longer takes the bay's minutes of the days it
// grows over: what fills them cannot be done besides, and the bound knows it
// without any price. Likewise of two machines under a limit of one.
func TestTheBoundKnowsWhatADayCannotHold(t *testing.T) {
	only := func(day int) *int { return &day }
	shop := func(edit func(p *Problem)) Problem {
		p := Problem{Format: Format, Start: models.MustDate("2027-03-01"), Days: 4, OpenMin: []int{100, 100, 100, 100, 100, 0, 0}, TechMin: []int{100, 100, 100, 100, 100, 0, 0},
			Bays: []Bay{{ID: "b"}}, Sites: []Site{{ID: "s"}}, Classes: []Class{{ID: "c"}}, Machines: []Machine{{ID: "m", Class: "c", Site: "s"}, {ID: "n", Class: "c", Site: "s"}}}
		edit(&p)
		return p
	}
	for name, tt := range map[string]struct {
		p    Problem
		want int64
	}{
		"grows over its day": {want: 300, p: shop(func(p *Problem) {
			p.Items = []Item{{ID: "agreed", Machine: "m", Work: 60, Interval: 9}, {ID: "joins", Machine: "m", Work: 140, Latest: only(0), Interval: 9, Skip: 400},
				{ID: "fills", Machine: "n", Work: 100, Earliest: 1, Due: 1, Latest: only(1), Interval: 9, Skip: 300}}
			p.Locked = []Visit{{Machine: "m", Bay: "b", Items: []string{"agreed"}}}
		})},
		"grows from its last day": {want: 300, p: shop(func(p *Problem) {
			p.Items = []Item{{ID: "agreed", Machine: "m", Work: 160, Interval: 9}, {ID: "joins", Machine: "m", Work: 100, Latest: only(0), Interval: 9, Skip: 400},
				{ID: "fills", Machine: "n", Work: 100, Earliest: 2, Due: 2, Latest: only(2), Interval: 9, Skip: 300}}
			p.Locked = []Visit{{Machine: "m", Bay: "b", Items: []string{"agreed"}}}
		})},
		"fills its last day": {want: 0, p: shop(func(p *Problem) {
			p.Items = []Item{{ID: "agreed", Machine: "m", Work: 60, Interval: 9}, {ID: "joins", Machine: "m", Work: 140, Latest: only(0), Interval: 9, Skip: 400},
				{ID: "fills", Machine: "n", Work: 100, Earliest: 2, Due: 2, Latest: only(2), Interval: 9, Skip: 300}}
			p.Locked = []Visit{{Machine: "m", Bay: "b", Items: []string{"agreed"}}}
		})},
		"one at a time": {want: 300, p: shop(func(p *Problem) {
			p.Items = []Item{{ID: "a", Machine: "m", Work: 40, Latest: only(0), Interval: 9, Skip: 400}, {ID: "b", Machine: "n", Work: 40, Latest: only(0), Interval: 9, Skip: 300}}
			p.Limits = []Limit{{Class: "c", From: 0, To: 3, MaxOut: 1}}
		})},
		"beside a long one": {want: 300, p: shop(func(p *Problem) {
			p.Items = []Item{{ID: "a", Machine: "m", Work: 140, Latest: only(0), Interval: 9, Skip: 400}, {ID: "b", Machine: "n", Work: 40, Earliest: 1, Due: 1, Latest: only(1), Interval: 9, Skip: 300}}
			p.Limits = []Limit{{Class: "c", From: 1, To: 1, MaxOut: 1}}
		})},
		"nothing takes no room": {want: 0, p: shop(func(p *Problem) {
			p.Items = []Item{{ID: "a", Machine: "m", Work: 200, Latest: only(0), Interval: 9, Skip: 400}, {ID: "b", Machine: "n", Work: 0, Latest: only(0), Interval: 9, Skip: 300}}
		})},
	} {
		b := newBounder(newBoundShop(&tt.p, nil), byBays, inTurn)
		assert.Equal(t, tt.want, boundCents(b.evaluate(b.newDuals(byBays))), name)
		plan, err := Solve(context.Background(), tt.p, Options{Seed: 1, Steps: 100})
		require.NoError(t, err)
		assert.Equal(t, tt.want, plan.Cost, name)
	}
}
