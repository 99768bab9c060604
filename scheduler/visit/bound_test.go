package visit

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
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
		s := &shop{sets: []bayset{{kinds: []int32{0}}}}
		for u := range rapid.IntRange(1, 5).Draw(t, "units") {
			s.units = append(s.units, unit{})
			from, gain := int32(len(table.short)), int64(0)
			for w := int32(0); w <= int32(room); w++ {
				if rapid.IntRange(0, 2).Draw(t, "offered") == 0 { // heavier ones gain more, as offers lists them
					gain += rapid.Int64Range(1, 50).Draw(t, "gain")
					table.short = append(table.short, option{unit: int32(u), weight: w, gain: gain})
				}
			}
			if to := int32(len(table.short)); to > from {
				table.runs = append(table.runs, run32{from, to})
			}
		}
		(&bounder{s: s}).pack(&table, 0, room+1)
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
