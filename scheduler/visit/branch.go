package visit

import (
	"cmp"
	"math"
	"slices"
)

// brancher finds the best plan of a list of blocks: branch and bound (Land and
// Doig 1960) over their linear programme, with rows added where its solutions
// break them (Padberg and Rinaldi 1991, "A branch-and-cut algorithm"). It
// branches on whether an item is done on a day.
//
// Floating point decides nothing: at each node the duals are rounded to
// millionths of a cent, and the most that any plan of the node can gain is
// summed up anew in integers (Neumaier and Shcherbina 2004, "Safe bounds in
// linear and mixed-integer linear programming").
type brancher struct {
	m      *master
	top    int64   // cents: gain that a plan must beat
	chosen []block // of the best plan
	price  []int64 // by row: its dual, millionths of a cent
	nodes  int
	limit  int  // of nodes
	whole  bool // nothing was cut short
	halt   func() bool
	rules  []rule
	banned []bool
}

// rule is one decision on the way to a node.
type rule struct {
	item, day int32
	yes       bool
}

const (
	mostTried   = 8  // items and days that are tried before branching on one
	triedPivots = 40 // of each trial
	rootRounds  = 60 // of new sets of items
	nodePivots  = 4000
	nodeRounds  = 3
	micro       = 1_000_000
)

// bestOf finds the plan of some blocks that gains more than top cents, nil for
// none; false when it was cut short, which proves nothing.
func (b *bounder) bestOf(blocks []block, top int64, nodes int, halt func() bool) ([]block, bool) {
	r := &brancher{m: newMaster(b, true), top: top, limit: nodes, whole: true, halt: halt}
	r.take(blocks)
	r.node()
	return r.chosen, r.whole
}

// take makes the programme of some blocks and of its rows.
func (r *brancher) take(blocks []block) {
	rows := r.m.rows
	r.m = newMaster(r.m.b, true)
	r.m.blocks = blocks
	r.banned = make([]bool, len(blocks))
	for i := range blocks {
		// Up to a thousandth of a cent less, another for each: ties among the
		// reduced costs would let the dual simplex go round in circles.
		_, part := math.Modf(float64(i+1) * 0.6180339887498949)
		r.m.lp.AddColumn(float64(blocks[i].gain)-part/1000, r.m.entries(&blocks[i]))
	}
	for _, row := range rows[len(r.m.rows):] {
		r.m.addRow(row)
	}
}

// shrink leaves out blocks that no better plan has: those that cost more at the
// prices than is left to gain ("reduced cost fixing"). It says whether they
// were many.
func (r *brancher) shrink(most int64) bool {
	var rest []block
	for j := range r.m.blocks {
		if most+min(0, r.beyond(j)) >= (r.top+1)*micro {
			rest = append(rest, r.m.blocks[j])
		}
	}
	if 10*len(rest) > 9*len(r.m.blocks) {
		return false
	}
	r.take(rest)
	return true
}

// node looks through the plans that obey the rules.
func (r *brancher) node() {
	if r.nodes++; r.nodes > r.limit || r.halt() {
		r.whole = false
	}
	if !r.whole {
		return
	}
	r.obey()
	most, x, rounds := int64(0), []float64(nil), rootRounds
	if len(r.rules) > 0 {
		rounds = nodeRounds
	}
	for round := 0; ; round++ {
		ok := r.solve(float64(r.top) + 0.5)
		if most = r.most(); ok && most < (r.top+1)*micro {
			return
		}
		if !ok || !r.solve(math.Inf(-1)) {
			r.whole = false
			return
		}
		if most = r.most(); most < (r.top+1)*micro {
			return
		}
		x = r.m.lp.Values()
		if r.m.addShared(x) > 0 || (round < rounds && r.m.addPairs(x) > 0) {
			continue
		}
		if len(r.rules) > 0 || !r.shrink(most) {
			break
		}
	}
	at, day := r.between(x)
	if at < 0 {
		r.accept(x, most)
		return
	}
	r.rules = append(r.rules, rule{item: at, day: day, yes: true})
	r.node()
	r.rules[len(r.rules)-1].yes = false
	r.node()
	r.rules = r.rules[:len(r.rules)-1]
}

// solve solves the node's programme, anew where rounding or ties kept the last
// basis from going on.
func (r *brancher) solve(floor float64) bool {
	if r.m.lp.Solve(nodePivots, floor) {
		return true
	}
	r.take(r.m.blocks)
	r.obey()
	return r.m.lp.Solve(mostPivots, floor)
}

// obey bars the blocks that break a rule.
func (r *brancher) obey() {
	clear(r.banned)
	for _, c := range r.rules {
		for _, j := range r.barredBy(c) {
			r.banned[j] = true
		}
	}
	for j, bar := range r.banned {
		r.m.lp.Bar(j, bar)
	}
}

// barredBy lists the blocks that break a rule. Where an item is done on a day
// of the only bay, so do the day's blocks without it.
func (r *brancher) barredBy(c rule) []int {
	var out []int
	lines := r.m.b.lines
	alone := len(lines) == 1 && lines[0].times == 1
	for j := range r.m.blocks {
		bl := &r.m.blocks[j]
		if contains(bl.items, c.item) {
			if (r.m.does(bl, c.item) == c.day) != c.yes {
				out = append(out, j)
			}
		} else if alone && c.yes && bl.from <= c.day && c.day <= bl.last {
			out = append(out, j)
		}
	}
	return out
}

// does gives the day on which a block does an item.
func (m *master) does(bl *block, item int32) int32 {
	u := m.b.unitOf(item)
	for i := range bl.visits {
		if o := &bl.visits[i]; o.unit == u && o.set&(1<<(item-m.b.first[u])) != 0 {
			return o.day
		}
	}
	return -1
}

// most sums up in millionths of a cent what a plan of the node gains at most,
// rewards included: what the rows have at the prices, and of every block what
// it gains beyond them.
func (r *brancher) most() int64 {
	dual, sum := r.m.lp.Duals(), int64(0)
	r.price = r.price[:0]
	for i := range r.m.rows {
		r.price = append(r.price, int64(math.Round(max(0, dual[i])*micro)))
		sum += r.price[i] * r.m.rightSide(&r.m.rows[i])
	}
	for j := range r.m.blocks {
		if !r.banned[j] {
			sum += max(0, r.beyond(j))
		}
	}
	return sum
}

// beyond gives what a block gains beyond the prices of what it takes.
func (r *brancher) beyond(j int) int64 {
	gain := r.m.blocks[j].gain * micro
	for _, e := range r.m.lp.Column(j) {
		gain -= r.price[e.Row] * int64(e.Coef)
	}
	return gain
}

// between gives the item and day to branch on, -1 for none: of those done
// nearest to half the one that lowers the bound most on both sides ("strong
// branching": Applegate, Bixby, Chvatal and Cook 1995, "Finding cuts in the TSP").
func (r *brancher) between(x []float64) (item, day int32) {
	days := int32(r.m.b.s.days)
	part := make([]float64, r.m.b.atoms*int(days))
	for j := range r.m.blocks {
		if x[j] > 1e-6 {
			for _, i := range r.m.blocks[j].items {
				part[i*days+r.m.does(&r.m.blocks[j], i)] += x[j]
			}
		}
	}
	for _, rule := range r.rules {
		part[rule.item*days+rule.day] = 0 // decided
	}
	var near []rule
	for at, v := range part {
		if math.Abs(v-0.5) < 0.5-1e-4 {
			near = append(near, rule{item: int32(at) / days, day: int32(at) % days})
		}
	}
	if len(near) == 0 {
		return -1, 0
	}
	off := func(c rule) float64 { return math.Abs(part[c.item*days+c.day] - 0.5) }
	slices.SortStableFunc(near, func(a, b rule) int { return cmp.Compare(off(a), off(b)) })
	near = near[:min(len(near), mostTried)]
	best, most, now := 0, -1.0, r.m.lp.Objective()
	fall := make([]float64, 2*len(near))
	r.m.b.parallel(len(fall), func(i int) {
		c := near[i/2]
		c.yes = i%2 == 0
		fall[i] = max(1, now-r.m.lp.Try(r.barredBy(c), triedPivots, float64(r.top)))
	})
	for i := range near {
		if both := fall[2*i] * fall[2*i+1]; both > most {
			best, most = i, both
		}
	}
	return near[best].item, near[best].day
}

// accept takes a solution without parts as the best plan.
func (r *brancher) accept(x []float64, most int64) {
	gain, chosen := int64(0), []block(nil)
	for j := range x {
		if x[j] > 1e-4 && x[j] < 1-1e-4 {
			r.whole = false // between had nothing to branch on
			return
		}
		if x[j] > 0.5 {
			gain += r.m.blocks[j].gain
			chosen = append(chosen, r.m.blocks[j])
		}
	}
	if gain > r.top {
		r.top, r.chosen = gain, chosen
	}
	if most >= (gain+1)*micro {
		r.whole = false // rounding left room for a better one
	}
}
