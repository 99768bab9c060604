package visit

import (
	"math/bits"
	"sort"
)

// A shop with one bay is a jigsaw: what one day takes, no other can. Here its
// timeline is built day by day from many beginnings at once (a beam search):
// each is judged by what it has gained and by what the timeline of the bound
// by bays could still gain after it, so that beginnings which use the wrong
// piece early are seen through early.
type jigsaw struct {
	b     *bounder
	y     *duals
	line  timeline
	days  []jigDay
	need  int64   // millicents: a plan must gain more to be of use
	sumUp int64   // of all prices of items
	left  []int64 // by day: price of technicians and limits from that day on
	pool  []begin
	heads [][]int32 // by day: beginnings to go on from
	same  map[jigKey]int32
	spare []int32 // places in pool that are free again
	width int
	now   int32 // day being filled
}

// mostFillings bounds in how many ways one day is filled after one beginning.
const mostFillings = 3000

// atomSet is a set of up to 128 atoms of the shop.
type atomSet [2]uint64

func (a atomSet) meets(b atomSet) bool { return a[0]&b[0]|a[1]&b[1] != 0 }
func (a atomSet) with(b atomSet) atomSet {
	return atomSet{a[0] | b[0], a[1] | b[1]}
}

// begin is the beginning of a timeline.
type begin struct {
	done   atomSet
	gain   int64 // millicents so far, prices of items taken off
	judged int64 // the most it can come to
	parent int32
	tail   int32 // minutes of its day used by a visit begun before
	unit   int32 // whose that is, -1: none
	made   []piece
}

// piece is one visit that can be put into a day.
type piece struct {
	unit    int32
	lock    int32 // it joins this lock; -1: a visit
	set     uint32
	atoms   atomSet
	minutes int32
	gain    int64
	day     int32
	last    int32
	tail    int32
}

// jigDay holds the pieces of one day.
type jigDay struct {
	runs    [][]piece // by unit, pieces that end on the day
	long    []piece
	rest    [][]int64 // [run][grains] the most that runs from that one on can gain
	expires atomSet   // atoms that cannot be done after the day
	price   int64     // of the day's technicians and limits
}

type jigKey struct {
	done atomSet
	tail int32
	unit int32
}

// jigsawFits says whether a shop can be planned as a jigsaw.
func jigsawFits(s *shop) bool {
	atoms := 0
	for u := range s.units {
		atoms += len(s.units[u].atoms)
	}
	return len(s.bays) == 1 && atoms <= 128 && !s.bundled
}

// newJigsaw makes ready at given prices; need is the gain in cents that a
// plan must beat.
func newJigsaw(b *bounder, y *duals, need int64) *jigsaw {
	s := b.s
	j := &jigsaw{b: b, y: y, need: need * 1000, days: make([]jigDay, s.days), left: make([]int64, s.days+1)}
	b.evaluate(y)
	j.line = timeline{b: b, bay: 0, kind: s.bays[0], times: 1}
	j.line.best()
	for _, m := range y.atom {
		j.sumUp += m
	}
	for d := s.days - 1; d >= 0; d-- {
		price := y.tech[d] * int64(b.techFree[d])
		for k := range s.p.Limits {
			if m := y.out[k*s.days+d]; m > 0 {
				price += m * int64(b.outFree[k*s.days+d])
			}
		}
		j.days[d].price = price
		j.left[d] = j.left[d+1] + price
	}
	root := j.sumUp + j.left[0] + j.line.from[0]
	slack := root - j.need
	for u := range s.units {
		for i := range s.units[u].atoms {
			at := int(b.first[u]) + i
			j.days[s.units[u].atoms[i].hi].expires[at/64] |= 1 << (at % 64)
		}
	}
	for _, d := range s.openDays {
		j.cutPieces(d, slack)
	}
	return j
}

// cutPieces lists the visits that may be put into a day without losing more
// than slack.
func (j *jigsaw) cutPieces(d int32, slack int64) {
	b, s := j.b, j.b.s
	day := &j.days[d]
	room := j.line.room(d)
	for u := range s.units {
		unit := &s.units[u]
		if d < unit.lo || d > unit.hi || !b.takes(j.line.kind, int32(u)) {
			continue
		}
		var run []piece
		if l := lockOn(unit, d); l >= 0 {
			run = j.joins(int32(u), l, room, slack)
		} else if b.mayBeOut(unit, d, d) {
			run = j.visits(day, int32(u), d, room, slack)
		}
		if len(run) > 0 {
			sort.SliceStable(run, func(a, b int) bool { return run[a].gain > run[b].gain })
			day.runs = append(day.runs, run)
		}
	}
	size := int(s.open[d]/b.grain) + 1
	day.rest = make([][]int64, len(day.runs)+1)
	day.rest[len(day.runs)] = make([]int64, size)
	for r := len(day.runs) - 1; r >= 0; r-- {
		after := day.rest[r+1]
		row := append([]int64{}, after...)
		for i := range day.runs[r] {
			o := &day.runs[r][i]
			if o.gain <= 0 {
				break
			}
			w := int(o.minutes / b.grain)
			for c := w; c < size; c++ {
				row[c] = max(row[c], after[c-w]+o.gain)
			}
		}
		day.rest[r] = row
	}
}

// lockOn gives the locked visit of a unit that is under way on a day, -1 for
// none.
func lockOn(u *unit, d int32) int32 {
	for i := range u.locks {
		if d >= u.locks[i].day && d <= u.locks[i].last {
			return int32(i)
		}
	}
	return -1
}

// joins lists ways to join a locked visit of one day.
func (j *jigsaw) joins(u, l, room int32, slack int64) []piece {
	s, unit := j.b.s, &j.b.s.units[u]
	lk := &unit.locks[l]
	if lk.last != lk.day {
		return nil
	}
	var run []piece
	for set := lk.joins; set != 0; set = (set - 1) & lk.joins {
		more := lk.work[set] - lk.work[0]
		if lk.work[set] > s.open[lk.day] || more > room {
			continue
		}
		gain := unit.atomGain(set, lk.day)*1000 - j.priceOf(u, set)
		if gain >= -slack {
			run = append(run, piece{unit: u, lock: l, set: set, atoms: j.atomsOf(u, set), minutes: more, gain: gain, day: lk.day, last: lk.day})
		}
	}
	return run
}

// visits lists a unit's visits begun on a day; long ones go to the day.
func (j *jigsaw) visits(day *jigDay, u, d, room int32, slack int64) []piece {
	b, s, unit := j.b, j.b.s, &j.b.s.units[u]
	may := uint32(0)
	for i := range unit.atoms {
		if d >= unit.atoms[i].lo && d <= unit.atoms[i].hi {
			may |= 1 << i
		}
	}
	var run []piece
	until := j.line.clearUntil(d)
	for set := may; set != 0; set = (set - 1) & may {
		w := unit.work[set]
		last := s.end(d, w)
		if last >= int32(s.days) {
			continue
		}
		o := piece{unit: u, lock: -1, set: set, atoms: j.atomsOf(u, set), minutes: w, day: d, last: last,
			gain: unit.stopGain(set, d, last)*1000 - j.priceOf(u, set)}
		switch {
		case o.gain < -slack:
		case w <= s.open[d]:
			if w <= room {
				run = append(run, o)
			}
		case room == s.open[d] && last <= until && b.mayBeOut(unit, d, last) && j.apart(unit, d, last):
			o.tail = w - (s.before[last] - s.before[d])
			if o.tail <= j.line.room(last) {
				day.long = append(day.long, o)
			}
		}
	}
	return run
}

// apart says whether no locked visit of the unit is under way on the days.
func (j *jigsaw) apart(u *unit, from, to int32) bool {
	for i := range u.locks {
		if u.locks[i].day <= to && u.locks[i].last >= from {
			return false
		}
	}
	return true
}

func (j *jigsaw) priceOf(u int32, set uint32) int64 {
	price := int64(0)
	for ; set != 0; set &= set - 1 {
		price += j.y.atom[j.b.first[u]+int32(bits.TrailingZeros32(set))]
	}
	return price
}

func (j *jigsaw) atomsOf(u int32, set uint32) atomSet {
	var out atomSet
	for ; set != 0; set &= set - 1 {
		at := j.b.first[u] + int32(bits.TrailingZeros32(set))
		out[at/64] |= 1 << (at % 64)
	}
	return out
}

// pass takes a beginning over the days from..to-1: what expires undone loses
// its price, and the days' shared prices are spent.
func (j *jigsaw) pass(gain int64, done atomSet, from, to int32) int64 {
	for d := from; d < to; d++ {
		for half, set := range j.days[d].expires {
			for rest := set &^ done[half]; rest != 0; rest &= rest - 1 {
				gain -= j.y.atom[half*64+bits.TrailingZeros64(rest)]
			}
		}
	}
	return gain
}

// solve goes through the days with at most width beginnings each. It gives
// the stops by unit of the best timeline found when it beats need.
func (j *jigsaw) solve(width int, stop func() bool) ([][]piece, bool) {
	s := j.b.s
	j.pool = append(j.pool[:0], begin{parent: -1, unit: -1})
	j.heads, j.spare, j.width = make([][]int32, s.days+1), j.spare[:0], width
	j.heads[0] = []int32{0}
	for d := int32(0); d < int32(s.days); d++ {
		j.now, j.same = d, map[jigKey]int32{}
		j.thin(d)
		for _, h := range j.heads[d] {
			if stop() {
				return nil, false
			}
			j.goOn(h, d)
		}
	}
	best := int32(-1)
	for _, h := range j.heads[s.days] {
		if best < 0 || j.pool[h].judged > j.pool[best].judged {
			best = h
		}
	}
	if best < 0 {
		return nil, false
	}
	return j.trace(best), true
}

// thin keeps the best beginnings that reach a day.
func (j *jigsaw) thin(d int32) {
	heads := j.heads[d]
	sort.SliceStable(heads, func(a, b int) bool { return j.pool[heads[a]].judged > j.pool[heads[b]].judged })
	if len(heads) <= j.width {
		return
	}
	for _, h := range heads[j.width:] {
		if d == j.now+1 {
			b := &j.pool[h]
			delete(j.same, jigKey{b.done, b.tail, b.unit})
		}
		j.spare = append(j.spare, h)
	}
	j.heads[d] = heads[:j.width]
}

// trace gathers the pieces of a timeline by unit.
func (j *jigsaw) trace(h int32) [][]piece {
	out := make([][]piece, len(j.b.s.units))
	for ; h >= 0; h = j.pool[h].parent {
		for _, p := range j.pool[h].made {
			out[p.unit] = append(out[p.unit], p)
		}
	}
	return out
}
