package visit

import (
	"cmp"
	"slices"
)

const (
	broken  = 0.02 // by how much a solution must break a row
	mostNew = 40   // sets of items that are added at once
)

// separate adds rows that a solution breaks and gives how many.
func (m *master) separate(x []float64) int {
	n := m.addShared(x)
	if n == 0 {
		n = m.addPairs(x)
	}
	return n
}

// addShared adds rows of limits, technicians and machines out twice.
func (m *master) addShared(x []float64) int {
	use, order := map[rowKey]float64{}, []rowKey(nil)
	take := func(k rowKey, v float64) {
		if _, ok := use[k]; !ok {
			order = append(order, k)
		}
		use[k] += v
	}
	for j := range m.blocks {
		if x[j] < 1e-6 {
			continue
		}
		for i := range m.blocks[j].visits {
			o := &m.blocks[j].visits[i]
			m.b.minutes(o, func(d, minutes int32) { take(rowKey{kind: rowTech, day: d}, x[j]*float64(minutes)) })
			for d := o.day; d <= o.last; d++ {
				if !m.b.isOut(o, d) {
					continue
				}
				if m.all {
					take(rowKey{kind: rowTwice, at: o.unit, day: d}, x[j])
				}
				for _, k := range m.b.s.groups[m.b.s.units[o.unit].group].limits {
					take(rowKey{kind: rowOut, at: k, day: d}, x[j])
				}
			}
		}
	}
	n := 0
	for _, k := range order {
		r := row{rowKey: k, cut: -1}
		if rhs := float64(m.rightSide(&r)); !m.known[k] && use[k] > rhs+1e-4*(1+rhs) {
			m.addRow(r)
			n++
		}
	}
	return n
}

// addPairs adds the sets of three items of which a solution does most pairs
// too many.
func (m *master) addPairs(x []float64) int {
	type set struct {
		items [3]int32
		by    float64
	}
	n := m.b.atoms
	if m.all {
		n += len(m.b.lines) * m.b.s.days
	}
	two := make([]float64, n*n)
	with := make([][]int32, n) // by item: blocks
	for j := range m.blocks {
		if x[j] < 1e-6 {
			continue
		}
		parts := m.blocks[j].parts
		if !m.all {
			parts = m.blocks[j].items
		}
		for a, i := range parts {
			with[i] = append(with[i], int32(j))
			for _, k := range parts[a+1:] {
				two[int(i)*n+int(k)] += x[j]
			}
		}
	}
	var found []set
	for i := range int32(n) {
		for j := i + 1; j < int32(n); j++ {
			if two[int(i)*n+int(j)] == 0 && !m.all {
				continue
			}
			for k := j + 1; k < int32(n); k++ {
				v := two[int(i)*n+int(j)] + two[int(i)*n+int(k)] + two[int(j)*n+int(k)]
				if v <= 1+broken || m.known[rowKey{rowPairs, i, j, k}] || (!m.all && m.b.unitOf(i) != m.b.unitOf(k)) {
					continue
				}
				for _, at := range with[i] {
					if bl := &m.blocks[at]; contains(bl.parts, j) && contains(bl.parts, k) {
						v -= 2 * x[at]
					}
				}
				if v > 1+broken {
					found = append(found, set{[3]int32{i, j, k}, v})
				}
			}
		}
	}
	slices.SortStableFunc(found, func(a, b set) int { return cmp.Compare(b.by, a.by) })
	found = found[:min(len(found), mostNew)]
	for _, f := range found {
		m.addSet(f.items)
	}
	return len(found)
}

func contains(items []int32, i int32) bool {
	_, ok := slices.BinarySearch(items, i)
	return ok
}

// unitOf gives the unit of an item.
func (b *bounder) unitOf(item int32) int32 {
	at, ok := slices.BinarySearch(b.first, item)
	if !ok {
		return int32(at - 1)
	}
	for at+1 < len(b.first) && b.first[at+1] == item { // units without items stand before
		at++
	}
	return int32(at)
}

// addSet adds the row of a set of items, with a price in the bound where the
// rows are only of items of one machine.
func (m *master) addSet(items [3]int32) {
	r := row{rowKey: rowKey{rowPairs, items[0], items[1], items[2]}, items: items[:], cut: -1}
	if !m.all {
		u := m.b.unitOf(items[0])
		c := cut{unit: u}
		for _, i := range items {
			c.set |= 1 << (i - m.b.first[u])
		}
		r.cut = len(m.b.cuts)
		m.b.setCuts(append(m.b.cuts, c))
		if m.center != nil {
			y := m.b.newDuals(byBays)
			copy(y.all, m.center.all) // the new price comes last
			m.center = y
		}
	}
	m.addRow(r)
}
