package visit

import (
	"math"
	"math/rand/v2"
)

// walker improves a state by ruin and recreate: a few units that meet on
// neighboring days lose their stops and are placed again, one after the
// other, each exactly; the result is kept when it is better or, while the
// temperature lasts, not much worse. It works on the days lo..hi only and on
// the units it was given, so that several walkers can share a state when
// their days and units are apart.
type walker struct {
	st     state // shares its tables with the whole plan; total is its own
	place  *placer
	rng    *rand.Rand
	lo, hi int32
	units  []int32
	member []bool     // by unit: is it ours
	starts [][]int32  // by day: our units with a stop that begins there
	temp   float64    // cents
	buf    []stop     // stops being placed
	taken  []takenOut // units of the step
	mark   []uint32   // by unit: the step in which it was taken
	step   uint32
	from   int32 // days of the step
	to     int32

	keep bool // note the best plan met
	top  int64
	best [][]stop
}

// takenOut is a unit whose stops within the step's days were taken out.
type takenOut struct {
	unit   int32
	before []stop // all its stops as they were
}

func newWalker(st *state, price *prices, seed, stream uint64) *walker {
	w := &walker{st: *st, rng: rand.New(rand.NewPCG(seed, stream)), member: make([]bool, len(st.s.units)),
		starts: make([][]int32, st.s.days), mark: make([]uint32, len(st.s.units))}
	w.st.total = 0
	own := *price // each line of work draws its own share
	w.place = newPlacer(&w.st, &own)
	return w
}

// assign gives the walker its days and units.
func (w *walker) assign(units []int32, lo, hi int32) {
	for _, u := range w.units {
		w.member[u] = false
	}
	w.units, w.lo, w.hi = append(w.units[:0], units...), lo, hi
	for d := range w.starts {
		w.starts[d] = w.starts[d][:0]
	}
	for _, u := range units {
		w.member[u] = true
		for i := range w.st.stops[u] {
			d := w.st.stops[u][i].day
			w.starts[d] = append(w.starts[d], u)
		}
	}
}

// run makes steps at a temperature.
func (w *walker) run(steps int, temp float64) {
	if len(w.units) == 0 {
		return
	}
	w.temp = temp
	for range steps {
		w.once()
	}
}

// once makes one step.
func (w *walker) once() {
	w.step++
	w.place.price.share = int64(w.rng.IntN(1280))
	mid := w.middle()
	w.from, w.to = w.lo, w.hi
	if reach := w.reachOf(); reach > 0 {
		w.from, w.to = max(w.lo, mid-reach), min(w.hi, mid+reach)
	}
	w.taken = w.taken[:0]
	before := w.st.total
	w.ruin(mid, w.from, w.to)
	w.recreate(w.from, w.to)
	delta := w.st.total - before
	if delta >= 0 || (w.temp > 0 && float64(delta) > w.temp*math.Log(w.rng.Float64())) {
		if w.keep && w.st.total > w.top {
			w.noteBest()
		}
		return
	}
	for i := len(w.taken) - 1; i >= 0; i-- {
		w.putBack(&w.taken[i])
	}
}

// putBack makes a unit's stops what they were before the step. Stops outside
// the step's days have not changed and are not touched: they may lie on
// another walker's days.
func (w *walker) putBack(t *takenOut) {
	u := int(t.unit)
	w.unlist(t.unit)
	for i := range w.st.stops[u] {
		if v := &w.st.stops[u][i]; v.day >= w.from && v.last <= w.to {
			w.st.use(u, v, -1)
		}
	}
	w.st.stops[u] = append(w.st.stops[u][:0], t.before...)
	for i := range w.st.stops[u] {
		if v := &w.st.stops[u][i]; v.day >= w.from && v.last <= w.to {
			w.st.use(u, v, 1)
		}
	}
	w.list(t.unit)
}

// noteBest keeps a copy of the stops.
func (w *walker) noteBest() {
	w.top = w.st.total
	if w.best == nil {
		w.best = make([][]stop, len(w.st.stops))
	}
	for u := range w.st.stops {
		w.best[u] = append(w.best[u][:0], w.st.stops[u]...)
	}
}

// reachOf draws how many days to each side of the middle are planned again;
// 0 is all of them.
func (w *walker) reachOf() int32 {
	if w.hi-w.lo < 45 {
		return 0
	}
	switch r := w.rng.IntN(10); {
	case r < 1:
		return 0
	case r < 4:
		return 40
	default:
		return int32(10 + w.rng.IntN(25))
	}
}

// middle draws the day around which a step works: that of a unit's stop, or a
// day on which something that is skipped could be done.
func (w *walker) middle() int32 {
	u := w.units[w.rng.IntN(len(w.units))]
	stops, unit := w.st.stops[u], &w.st.s.units[u]
	if n := len(stops) + len(unit.atoms); n > 0 {
		if i := w.rng.IntN(n); i < len(stops) {
			return min(max(stops[i].day, w.lo), w.hi)
		} else if a := &unit.atoms[i-len(stops)]; a.hi >= a.lo {
			return min(max(a.lo+w.rng.Int32N(a.hi-a.lo+1), w.lo), w.hi)
		}
	}
	return w.lo + w.rng.Int32N(w.hi-w.lo+1)
}

// ruin takes out the stops of a few units around a day.
func (w *walker) ruin(mid, lo, hi int32) {
	want := 2 + w.rng.IntN(4)
	if w.rng.IntN(4) == 0 { // somebody who may have nothing there yet
		w.takeOut(w.units[w.rng.IntN(len(w.units))], lo, hi)
	}
	for off := int32(0); off <= 2*(hi-lo) && len(w.taken) < want; off++ {
		d := mid + (off+1)/2
		if off%2 == 1 {
			d = mid - (off+1)/2
		}
		if d < lo || d > hi {
			if mid-(off+1)/2 < lo && mid+(off+1)/2 > hi {
				return
			}
			continue
		}
		// The list changes under takeOut: draw again each time.
		for tries := len(w.starts[d]); tries > 0 && len(w.taken) < want; tries-- {
			list := w.starts[d]
			if len(list) == 0 {
				break
			}
			if w.rng.IntN(4) > 0 {
				w.takeOut(list[w.rng.IntN(len(list))], lo, hi)
			}
		}
	}
}

// takeOut takes out a unit's stops within the days, but for what was agreed.
func (w *walker) takeOut(u int32, lo, hi int32) {
	if w.mark[u] == w.step || len(w.st.s.units[u].atoms) == 0 {
		return
	}
	w.mark[u] = w.step
	if len(w.taken) < cap(w.taken) {
		w.taken = w.taken[:len(w.taken)+1]
	} else {
		w.taken = append(w.taken, takenOut{})
	}
	t := &w.taken[len(w.taken)-1]
	t.unit = u
	t.before = append(t.before[:0], w.st.stops[u]...)
	w.unlist(u)
	unit := &w.st.s.units[u]
	rest := w.st.stops[u][:0]
	for _, v := range t.before {
		if v.day < lo || v.last > hi {
			rest = append(rest, v)
			continue
		}
		w.st.use(int(u), &v, -1)
		if v.lock >= 0 {
			l := &unit.locks[v.lock]
			v = stop{day: l.day, last: l.last, bay: l.bay, lock: v.lock, work: l.work[0]}
			w.st.use(int(u), &v, 1)
			rest = append(rest, v)
		}
	}
	w.st.stops[u] = rest
	w.list(u)
}

// recreate places the units taken out again, in an order drawn by chance.
func (w *walker) recreate(lo, hi int32) {
	n := len(w.taken)
	w.rng.Shuffle(n, func(i, j int) { w.taken[i], w.taken[j] = w.taken[j], w.taken[i] })
	for i := range w.taken {
		w.replan(w.taken[i].unit, lo, hi)
	}
}

// replan places what a unit does not do yet, and lets it join its locks, on
// some days.
func (w *walker) replan(u, lo, hi int32) {
	unit := &w.st.s.units[u]
	atoms := uint32(1)<<len(unit.atoms) - 1
	var locks []int32
	kept := w.buf[:0]
	for _, v := range w.st.stops[u] {
		if v.lock >= 0 && v.day >= lo && v.last <= hi && v.atoms == 0 {
			locks = append(locks, v.lock)
			continue
		}
		atoms &^= v.atoms
		kept = append(kept, v)
	}
	w.buf = kept
	w.unlist(u)
	w.st.stops[u] = w.place.fit(append(w.st.stops[u][:0], kept...), int(u), atoms, kept, locks, lo, hi)
	w.list(u)
}

// list and unlist keep the index of stops by day.
func (w *walker) list(u int32) {
	for i := range w.st.stops[u] {
		d := w.st.stops[u][i].day
		w.starts[d] = append(w.starts[d], u)
	}
}

func (w *walker) unlist(u int32) {
	for i := range w.st.stops[u] {
		d := w.st.stops[u][i].day
		l := w.starts[d]
		for j := range l {
			if l[j] == u {
				l[j] = l[len(l)-1]
				w.starts[d] = l[:len(l)-1]
				break
			}
		}
	}
}
