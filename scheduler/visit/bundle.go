package visit

import (
	"math"
	"sort"
)

// bundle brings a machine's atoms down to maxAtoms by planning items
// together: first those that lose least by it, which are those that share a
// teardown and fall due together. Plans stay feasible; the bound is taken
// with the items apart (see excuseMany).
func (s *shop) bundle(u *unit, atoms []atom, slack int64) []atom {
	for len(atoms) > maxAtoms {
		bestI, bestJ, best := -1, -1, int64(math.MaxInt64)
		var merged atom
		for i := range atoms {
			for j := i + 1; j < len(atoms); j++ {
				a := s.merge(&atoms[i], &atoms[j], slack)
				if a.lo > a.hi {
					continue
				}
				loss := a.gainLost(&atoms[i], &atoms[j])
				if s.shareTeardown(&atoms[i], &atoms[j]) {
					loss -= u.trip + u.downtime
				}
				if loss < best {
					bestI, bestJ, best, merged = i, j, loss, a
				}
			}
		}
		if bestI < 0 {
			atoms = s.dropLeast(atoms)
			continue
		}
		atoms[bestI] = merged
		atoms = append(atoms[:bestJ], atoms[bestJ+1:]...)
	}
	return atoms
}

// merge makes one atom of two; its window may be empty.
func (s *shop) merge(a, b *atom, slack int64) atom {
	m := atom{items: append(append([]int32{}, a.items...), b.items...), skip: a.skip + b.skip, own: a.own + b.own, lo: max(a.lo, b.lo), hi: min(a.hi, b.hi)}
	if m.skip+slack > math.MaxInt32 {
		m.lo, m.hi = 0, -1
		return m
	}
	worth := func(d int32) bool {
		return s.open[d] > 0 && int64(a.at(d))+int64(b.at(d)) < m.skip+slack
	}
	for m.lo <= m.hi && !worth(m.lo) {
		m.lo++
	}
	for m.lo <= m.hi && !worth(m.hi) {
		m.hi--
	}
	for d := m.lo; d <= m.hi; d++ {
		m.cost = append(m.cost, a.at(d)+b.at(d))
	}
	return m
}

// at gives the cents of doing the atom on a day of its window.
func (a *atom) at(d int32) int32 { return a.cost[d-a.lo] }

// best gives the least cents at which the atom can be done.
func (a *atom) best() int64 {
	least := a.cost[0]
	for _, c := range a.cost {
		least = min(least, c)
	}
	return int64(least)
}

// gainLost gives what two atoms lose when they become this one.
func (a *atom) gainLost(b, c *atom) int64 { return a.best() - b.best() - c.best() }

func (s *shop) shareTeardown(a, b *atom) bool {
	for _, i := range a.items {
		for _, j := range b.items {
			if g := s.p.Items[i].Access; g != "" && g == s.p.Items[j].Access {
				return true
			}
		}
	}
	return false
}

// dropLeast gives up the atom that gains least by being done: the last resort
// for a machine with many items that cannot be done together.
func (s *shop) dropLeast(atoms []atom) []atom {
	least := 0
	for i := range atoms {
		if atoms[i].skip-atoms[i].best() < atoms[least].skip-atoms[least].best() {
			least = i
		}
	}
	return append(atoms[:least], atoms[least+1:]...)
}

// excuseMany keeps the atoms that gain most and counts the others as done at
// their best, without work or visit: no plan does better by them.
func (s *shop) excuseMany(atoms []atom) []atom {
	if len(atoms) <= maxAtoms {
		return atoms
	}
	sort.SliceStable(atoms, func(i, j int) bool { return atoms[i].skip-atoms[i].best() > atoms[j].skip-atoms[j].best() })
	for i := range atoms[maxAtoms:] {
		a := &atoms[maxAtoms+i]
		s.base -= max(0, a.skip-a.best())
	}
	return atoms[:maxAtoms]
}
