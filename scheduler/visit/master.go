package visit

import (
	"math"
	"math/bits"
	"slices"

	"example.org/roundsman/scheduler/visit/simplex"
)

// The linear programme over blocks (Dantzig and Wolfe 1960, "Decomposition
// principle for linear programs"; Gilmore and Gomory 1961 for knapsacks). A
// block is what fills a bay for a day, or for the days of a long visit up to
// its last. A plan takes blocks so that
//
//	each item is done at most once           (price y)
//	no day of a bay is in two blocks
//	limits and technicians suffice           (prices z and r, rows only where a solution breaks them)
//	sum over blocks of floor(|items and C|/2) <= floor(|C|/2)   (price t, sets C of items where a solution breaks it)
//
// and gains most. Blocks are made as they are wanted: at prices (y, z, r, t)
// the timelines of the bound by bays are made of the blocks that gain most, so
// that one evaluation gives both a bound and new columns, and the bound rises
// to the value of the programme. The prices are smoothed towards those of the
// best bound (Wentges 1997, "Weighted Dantzig-Wolfe decomposition").
type master struct {
	b      *bounder
	lp     *simplex.LP
	rows   []row
	known  map[rowKey]bool
	blocks []block
	center *duals // of the best bound
	best   int64  // that bound, millicents
	all    bool   // rows of sets of items of several machines, and of machines in two bays, are added too
}

// block is what fills a bay for some days.
type block struct {
	line       int32 // timeline
	from, last int32
	visits     []option
	items      []int32 // places in duals.atom, rising
	parts      []int32 // items and, above them, days of the bay: of each no plan has two
	gain       int64   // cents
}

// row is one row of the programme.
type row struct {
	rowKey
	items []int32 // of a set
	cut   int     // its place in bounder.cuts, -1: of several machines
}

type rowKey struct {
	kind    rowKind
	at, day int32
	third   int32
}

type rowKind uint8

const (
	rowItem  rowKind = iota // at: item
	rowDay                  // at: timeline
	rowOut                  // at: limit
	rowTech                 //
	rowTwice                // at: unit, which is out at most once
	rowPairs                // at, day, third: three items
)

// newMaster makes the programme of items and days, without blocks.
func newMaster(b *bounder, all bool) *master {
	m := &master{b: b, lp: simplex.New(nil), known: map[rowKey]bool{}, best: math.MinInt64, all: all}
	for i := range b.atoms {
		m.addRow(row{rowKey: rowKey{kind: rowItem, at: int32(i)}})
	}
	for n := range b.lines {
		for _, d := range b.s.openDays {
			m.addRow(row{rowKey: rowKey{kind: rowDay, at: int32(n), day: d}})
		}
	}
	return m
}

func (m *master) addRow(r row) {
	m.known[r.rowKey] = true
	m.rows = append(m.rows, r)
	m.lp.AddRow(float64(m.rightSide(&r)), func(col int) float64 { return float64(m.coef(&r, &m.blocks[col])) })
}

func (m *master) rightSide(r *row) int64 {
	switch r.kind {
	case rowDay:
		return int64(m.b.lines[r.at].times)
	case rowOut:
		return int64(max(0, m.b.outFree[int(r.at)*m.b.s.days+int(r.day)]))
	case rowTech:
		return int64(max(0, m.b.techFree[r.day]))
	default:
		return 1
	}
}

// coef gives what a block takes of a row.
func (m *master) coef(r *row, bl *block) int64 {
	n := int64(0)
	switch r.kind {
	case rowItem:
		if contains(bl.items, r.at) {
			return 1
		}
	case rowDay:
		if bl.line == r.at && bl.from <= r.day && r.day <= bl.last {
			return 1
		}
	case rowTech:
		for i := range bl.visits {
			m.b.minutes(&bl.visits[i], func(d, minutes int32) {
				if d == r.day {
					n += int64(minutes)
				}
			})
		}
	case rowOut, rowTwice:
		for i := range bl.visits {
			if o := &bl.visits[i]; m.b.isOut(o, r.day) && (r.kind == rowTwice && o.unit == r.at || r.kind == rowOut && m.b.isUnder(o.unit, r.at)) {
				n++
			}
		}
	case rowPairs:
		for _, i := range r.items {
			if contains(bl.parts, i) {
				n++
			}
		}
		return n / 2
	}
	return n
}

func (b *bounder) isUnder(u, limit int32) bool {
	return slices.Contains(b.s.groups[b.s.units[u].group].limits, limit)
}

// newBlock makes a block of visits.
func (m *master) newBlock(line int, from, last int32, visits []option) block {
	bl := block{line: int32(line), from: from, last: last, visits: visits}
	for i := range visits {
		o := &visits[i]
		bl.gain += m.b.trueGain(o)
		for set := o.set; set != 0; set &= set - 1 {
			bl.items = append(bl.items, m.b.first[o.unit]+int32(bits.TrailingZeros32(set)))
		}
	}
	slices.Sort(bl.items)
	bl.parts = slices.Clone(bl.items)
	if m.b.lines[line].times == 1 {
		for d := from; d <= last; d++ {
			bl.parts = append(bl.parts, int32(m.b.atoms+line*m.b.s.days)+d)
		}
	}
	return bl
}

func (m *master) entries(bl *block) []simplex.Entry {
	var out []simplex.Entry
	for r := range m.rows {
		if c := m.coef(&m.rows[r], bl); c != 0 {
			out = append(out, simplex.Entry{Row: r, Coef: float64(c)})
		}
	}
	return out
}

// offer adds a block when it gains at the duals of the programme.
func (m *master) offer(line int, from, last int32, visits []option) int {
	if len(visits) == 0 {
		return 0
	}
	bl := m.newBlock(line, from, last, visits)
	entries := m.entries(&bl)
	if m.lp.ReducedCost(float64(bl.gain), entries) < 1e-4 {
		return 0
	}
	m.blocks = append(m.blocks, bl)
	m.lp.AddColumn(float64(bl.gain), entries)
	return 1
}

// prices gives the duals of the programme as prices, a share of them and the
// rest of the center's.
func (m *master) prices(share float64) *duals {
	y := m.b.newDuals(byBays)
	dual := m.lp.Duals()
	for r := range m.rows {
		v := int64(math.Round(1000 * max(0, dual[r])))
		switch row := &m.rows[r]; row.kind {
		case rowItem:
			y.atom[row.at] = min(v, maxPrice)
		case rowOut:
			y.out[int(row.at)*m.b.s.days+int(row.day)] = min(v, maxOutPrice)
		case rowTech:
			y.tech[row.day] = min(v, maxMinutePrice)
		case rowPairs:
			y.cut[row.cut] = min(v, maxPrice)
		}
	}
	if m.center != nil {
		for i := range y.all {
			y.all[i] = int64(math.Round(share*float64(y.all[i]) + (1-share)*float64(m.center.all[i])))
		}
	}
	return y
}

// generate evaluates prices and adds the blocks of the best timelines and of
// the best single days; it gives how many.
func (m *master) generate(y *duals) int {
	if v := m.b.evaluate(y); v > m.best {
		m.best, m.center = v, y
	}
	n := 0
	for i, t := range m.b.lines {
		t.follow(func(from, last int32, visits []option) { n += m.offer(i, from, last, visits) })
		for _, d := range m.b.s.openDays {
			n += m.offer(i, d, d, m.b.days[d].unpack(nil, t.pack(d), t.room(d)/m.b.grain))
		}
	}
	return n
}

// climb raises the bound to the value of the programme, adds what its solution
// breaks, and so on until that is nothing or halt says so.
func (m *master) climb(halt func() bool) bool {
	for cuts := 0; ; {
		if halt() || !m.lp.Solve(mostPivots, math.Inf(-1)) {
			return false
		}
		added := m.generate(m.prices(0.4))
		if added < 5 {
			added += m.generate(m.prices(1))
		}
		value := 1000*float64(m.b.s.base) - 1000*m.lp.Objective()
		if added > 0 && value-float64(m.best) > 1000 {
			continue
		}
		if cuts++; cuts > mostSeparations || m.separate(m.lp.Values()) == 0 {
			return true
		}
	}
}

const (
	mostPivots      = 20_000 // of one solution
	mostSeparations = 60
)
