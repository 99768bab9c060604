package visit

import (
	"context"
	"encoding/json"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
)

// randomProblem draws a small valid problem with every kind of rule in it.
func randomProblem(t *rapid.T) Problem {
	n := func(lo, hi int, what string) int { return rapid.IntRange(lo, hi).Draw(t, what) }
	p := Problem{Format: Format, Start: models.MustDate("2027-03-01").AddDays(n(0, 6, "start")), Days: n(5, 40, "days")}
	open := 60 * n(2, 8, "open")
	for i := range 7 {
		m := open
		if i >= 5 {
			m = open / 2 * n(0, 1, "weekend")
		}
		p.OpenMin = append(p.OpenMin, m)
		p.TechMin = append(p.TechMin, m*n(1, 3, "tech"))
	}
	p.Closed = []int{n(-2, p.Days+2, "closed")}
	from := n(0, p.Days-1, "off")
	p.TechOff = [][3]int{{from, from + n(0, 4, "off days"), n(0, open, "off minutes")}}
	classes, sites := n(1, 3, "classes"), n(1, 2, "sites")
	for c := range classes {
		p.Classes = append(p.Classes, Class{fmt.Sprintf("c%d", c), int64(n(0, 9000, "downtime"))})
	}
	for s := range sites {
		p.Sites = append(p.Sites, Site{fmt.Sprintf("s%d", s), int64(n(0, 3000, "transport"))})
	}
	for b := range n(1, 3, "bays") {
		bay := Bay{ID: fmt.Sprintf("b%d", b)}
		if n(0, 2, "all classes") == 0 {
			bay.Classes = []string{fmt.Sprintf("c%d", n(0, classes-1, "class"))}
		}
		p.Bays = append(p.Bays, bay)
	}
	groups := []string{"", "top", "skid", "wheels"}
	for m := range n(1, 8, "machines") {
		id := fmt.Sprintf("m%d", m)
		p.Machines = append(p.Machines, Machine{ID: id, Class: fmt.Sprintf("c%d", n(0, classes-1, "class")),
			Site: fmt.Sprintf("s%d", n(0, sites-1, "site")), Access: map[string]int{"top": n(0, 120, "top"), "skid": 15}})
		for range n(0, 14, "items") {
			due := n(-20, p.Days+20, "due")
			it := Item{ID: fmt.Sprintf("i%d", len(p.Items)), Machine: id, Earliest: due - n(0, 60, "early"), Due: due,
				Work: 5 * n(0, 80, "work"), Access: groups[n(0, 3, "group")], Interval: n(1, 400, "interval"),
				Value: int64(n(0, 40000, "value")), Late: int64(n(0, 1500, "late")), Skip: int64(n(0, 200000, "skip"))}
			if n(0, 4, "has latest") == 0 {
				latest := due + n(-5, 20, "latest")
				it.Latest = &latest
			}
			if n(0, 4, "has lead") == 0 {
				it.Lead = n(0, p.Days, "lead")
			}
			p.Items = append(p.Items, it)
		}
	}
	for range n(0, 2, "limits") {
		from := n(0, p.Days-1, "from")
		p.Limits = append(p.Limits, Limit{Class: fmt.Sprintf("c%d", n(0, classes-1, "class")), From: from, To: from + n(0, 20, "to"), MaxOut: n(0, 2, "out")})
	}
	for range n(0, 2, "blackouts") {
		from := n(0, p.Days-1, "from")
		p.Blackouts = append(p.Blackouts, Blackout{Site: fmt.Sprintf("s%d", n(0, sites-1, "site")), From: from, To: from + n(0, 5, "to")})
	}
	return p
}

// lockSome agrees some visits of a plan, so that they are possible together.
func lockSome(t *rapid.T, p *Problem, visits []Visit) {
	for _, v := range visits {
		if rapid.IntRange(0, 3).Draw(t, "lock") == 0 {
			p.Locked = append(p.Locked, Visit{v.Machine, v.Day, v.Bay, v.Items[:1]})
		}
	}
}

// TestSolveKeepsEveryRule plans random problems: no hard rule is broken, the
// cost is what the checker counts, and no plan is below its bound.
func TestSolveKeepsEveryRule(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := randomProblem(t)
		require.NoError(t, p.Validate("drawn"))
		first, err := Solve(context.Background(), p, Options{})
		require.NoError(t, err)
		require.Empty(t, Check(&p, first.Visits).Broken)
		lockSome(t, &p, first.Visits)
		if p.Validate("drawn") != nil {
			t.Skip("what was cut out of a visit does not fit by itself")
		}
		var told []Notified
		for i, v := range first.Visits {
			if i%3 == 0 {
				told = append(told, Notified{v.Machine, v.Day, int64(rapid.IntRange(1, 20000).Draw(t, "cents"))})
			}
		}
		o := Options{Seed: rapid.Uint64().Draw(t, "seed"), Steps: 200, Told: told}
		plan, err := Solve(context.Background(), p, o)
		require.NoError(t, err)
		rep := Check(&p, plan.Visits)
		require.Empty(t, rep.Broken)
		require.Equal(t, rep.Cost.Total(), plan.Cost)
		require.LessOrEqual(t, plan.Bound, plan.Cost+plan.Moved)
		again, err := Bound(&p, told, plan.Prices)
		require.NoError(t, err)
		require.Equal(t, plan.Bound, again, "the bound follows from the prices alone")
		require.LessOrEqual(t, plan.Bound, first.Cost+moved(first.Visits, told)+1<<40*int64(len(p.Locked)), "no feasible plan lies below")

		o.Parallel = sideBySide
		twin, err := Solve(context.Background(), p, o)
		require.NoError(t, err)
		a, _ := json.Marshal(plan)
		b, _ := json.Marshal(twin)
		require.Equal(t, string(a), string(b), "cores do not change the plan")
	})
}

// drawCuts draws sets of items that are priced together.
func drawCuts(t *rapid.T, b *bounder) {
	var cuts []cut
	for u := range b.s.units {
		for range rapid.IntRange(0, 3).Draw(t, "pairs") {
			cuts = append(cuts, cut{int32(u), uint32(rapid.IntRange(0, 1<<len(b.s.units[u].atoms)-1).Draw(t, "of"))})
		}
	}
	b.setCuts(cuts)
}

// TestBoundsHoldForEveryPrice draws prices by chance: whatever they are, the
// bound they give lies below the cost of a plan, also where the visits of
// another plan were agreed, may grow over their days and fill them.
func TestBoundsHoldForEveryPrice(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := randomProblem(t)
		plan, err := Solve(context.Background(), p, Options{Seed: 1, Steps: 300})
		require.NoError(t, err)
		if rapid.Bool().Draw(t, "agreed") {
			lockSome(t, &p, plan.Visits)
			if p.Validate("drawn") != nil {
				t.Skip("what was cut out of a visit does not fit by itself")
			}
		}
		for _, by := range []way{byMachines, byBays} {
			b := newBounder(newBoundShop(&p, nil), by, inTurn)
			if by == byBays {
				drawCuts(t, b)
			}
			y := b.newDuals(by)
			top := rapid.Int64Range(1, 50_000_000).Draw(t, "top")
			for i := range y.tech {
				y.tech[i] = rapid.Int64Range(0, top/100).Draw(t, "tech")
			}
			for i := range y.minute {
				y.minute[i] = rapid.Int64Range(0, top/100).Draw(t, "minute")
			}
			for i := range y.atom {
				y.atom[i] = rapid.Int64Range(0, top).Draw(t, "item")
			}
			for i := range y.cut {
				y.cut[i] = rapid.Int64Range(0, top).Draw(t, "pair")
			}
			for i := range y.out {
				if int(b.outFree[i]) <= len(p.Machines) {
					y.out[i] = rapid.Int64Range(0, top).Draw(t, "out")
				}
			}
			require.LessOrEqual(t, boundCents(b.evaluate(y)), plan.Cost, by)
		}
	})
}
