package visit

// puzzle looks for a better plan of a shop with one bay than st holds, with
// more and more beginnings, while go on says so. It gives the stops of the
// best found, nil for none.
func (r *run) puzzle(st *state, top int64, firstWidth, lastWidth int, halt func() bool) [][]stop {
	if !jigsawFits(r.shop) {
		return nil
	}
	b := newBounder(r.shop, byBays, r.o.Parallel)
	a := newAscent(b, (r.shop.base-top)*1000)
	for i := 0; i < puzzleRounds && !halt(); i++ {
		a.round()
	}
	r.climbs = append(r.climbs, a)
	var found [][]stop
	for width := firstWidth; width <= lastWidth && !halt(); width *= 4 {
		j := newJigsaw(b, a.bestDuals(), top)
		pieces, ok := j.solve(width, halt)
		if !ok {
			continue
		}
		stops := r.piecesToStops(pieces)
		gain := int64(0)
		for u := range stops {
			for i := range stops[u] {
				gain += stops[u][i].gain
			}
		}
		if plan := (&state{s: r.shop, stops: stops}).visits(); gain > top && len(Check(r.p, plan).Broken) == 0 {
			top, found = gain, stops
		}
	}
	return found
}

// puzzleRounds is how many rounds the prices of the puzzle get.
const puzzleRounds = 800

// piecesToStops makes stops of pieces, locked visits among them.
func (r *run) piecesToStops(pieces [][]piece) [][]stop {
	stops := make([][]stop, len(r.shop.units))
	for u := range r.shop.units {
		unit := &r.shop.units[u]
		joined := make([]bool, len(unit.locks))
		for _, p := range pieces[u] {
			v := stop{atoms: p.set, day: p.day, last: p.last, lock: p.lock, work: unit.work[p.set]}
			if p.lock >= 0 {
				joined[p.lock] = true
				l := &unit.locks[p.lock]
				v.work, v.bay = l.work[p.set], l.bay
				v.gain = unit.atomGain(p.set, p.day)
			} else {
				v.gain = unit.stopGain(p.set, p.day, p.last)
			}
			stops[u] = append(stops[u], v)
		}
		for i := range unit.locks {
			if !joined[i] {
				l := &unit.locks[i]
				stops[u] = append(stops[u], stop{day: l.day, last: l.last, bay: l.bay, lock: int32(i), work: l.work[0]})
			}
		}
	}
	return stops
}
