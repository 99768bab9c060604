package visit

import "math/bits"

// divider divides the atoms of one unit among stops, exactly: a dynamic
// programme over sets of atoms, given the best single stop of each set.
type divider struct {
	gain []int64 // [set] best gain of one stop with just these atoms
	day  []int32 // [set] its first day
	sets []uint32
	best []int64  // [set] best gain of any stops within the set
	pick []uint32 // [set] first of those stops; 0: the lowest atom is skipped
	seen []uint32
	turn uint32
	by   [maxAtoms][]uint32 // gainful sets by their lowest atom
}

func newDivider() divider {
	const n = 1 << maxAtoms
	return divider{gain: make([]int64, n), day: make([]int32, n), best: make([]int64, n), pick: make([]uint32, n),
		seen: make([]uint32, n)}
}

// reset forgets the stops noted.
func (v *divider) reset() {
	for _, set := range v.sets {
		v.gain[set] = 0
	}
	v.sets = v.sets[:0]
}

// note keeps the best day of a set.
func (v *divider) note(set uint32, gain int64, day int32) {
	was := v.gain[set]
	if gain <= was {
		return
	}
	if was == 0 {
		v.sets = append(v.sets, set)
	}
	v.gain[set], v.day[set] = gain, day
}

// divide finds the best stops within a set of atoms, no atom in two.
func (v *divider) divide(full uint32) int64 {
	for i := range v.by {
		v.by[i] = v.by[i][:0]
	}
	for _, set := range v.sets {
		if v.useful(set) {
			low := bits.TrailingZeros32(set)
			v.by[low] = append(v.by[low], set)
		}
	}
	v.turn++
	return v.solve(full)
}

// useful says whether no smaller set, one atom less, gains as much.
func (v *divider) useful(set uint32) bool {
	g := v.gain[set]
	for rest := set; rest != 0; rest &= rest - 1 {
		if v.gain[set&^(rest&-rest)] >= g {
			return false
		}
	}
	return true
}

// solve gives the best gain within a set.
func (v *divider) solve(set uint32) int64 {
	if set == 0 {
		return 0
	}
	if v.seen[set] == v.turn {
		return v.best[set]
	}
	low := bits.TrailingZeros32(set)
	best, pick := v.solve(set&^(1<<low)), uint32(0)
	for _, t := range v.by[low] {
		if t&^set == 0 {
			if g := v.gain[t] + v.solve(set&^t); g > best {
				best, pick = g, t
			}
		}
	}
	v.seen[set], v.best[set], v.pick[set] = v.turn, best, pick
	return best
}

// stops calls fn for each stop of the best division of a set.
func (v *divider) stops(set uint32, fn func(set uint32)) {
	v.solve(set)
	for set != 0 {
		if pick := v.pick[set]; pick != 0 {
			fn(pick)
			set &^= pick
			continue
		}
		set &= set - 1
	}
}
