package usage

import (
	"math"
	"slices"
	"sort"

	"example.org/roundsman/models"
)

// chainBack bounds how many earlier looks a look may follow in the chain, so
// that the work grows linearly with the looks.
const chainBack = 20

// reach is the most use that is believed in a row of days, unless it is the
// machine's habit: so much a day for the first days, less after some, and less
// again after more (common practice, no source, but for the hours of a day).
type reach struct{ days, aDay float64 }

var (
	hoursReach = []reach{{14, 24}, {math.Inf(1), 16}}
	milesReach = []reach{{7, 900}, {30, 500}, {math.Inf(1), 100}}
)

// dayHours bounds even a habit.
const dayHours = 24.0

// bench is one meter's looks while they are judged.
type bench struct {
	c     *scale
	looks []look
	rate  float64 // usual use a day, true units
	calm  float64 // the same from one look to the next, untouched by one leap
	turns []float64
	top   float64 // what the meter turns over at, true units; 0: not known

	paceBy float64 // use for one unit of the other meter's; 0: not known
}

// usual gives the use that is usual in some days: some outings are always
// possible.
func (b *bench) usual(days float64) float64 { return b.rate * (days + 12) }

// most gives the use that is possible in some days. What counts something
// else than miles may show more a day, if it does so as a habit, and a machine
// that runs day and night may run on.
func (b *bench) most(days float64) float64 {
	days++
	habit, steps := 5*b.rate*days, milesReach
	if b.c.meter == models.HourMeter {
		habit, steps = math.Min(habit, dayHours*days), hoursReach
	}
	sum, from := 0.0, 0.0
	for _, r := range steps {
		sum += math.Max(0, math.Min(days, r.days)-from) * r.aDay
		from = r.days
	}
	return math.Max(sum, habit)
}

// link gives the log density of a step between two looks; ok is false for a
// fall and for more than is possible. slack is how far guesses among them may
// be off.
func (b *bench) link(dx, days, slack float64) (l float64, ok bool) {
	if slack > 0 {
		dx = math.Copysign(math.Max(0, math.Abs(dx)-slack), dx)
	}
	if dx < -fallSlack || dx > b.most(days) {
		return 0, false
	}
	u := b.usual(days)
	return math.Log(ahead(dx/u) / u), true
}

// leave gives the log density of leaving a look out as wrong.
func (b *bench) leave(l *look, span float64) float64 {
	p := ownerSlip
	switch {
	case l.confirmed, l.start:
		p = 1e-12
	case len(l.services) > 0:
		p = serviceSlip
	case l.shop:
		p = 0.004
	}
	return math.Log(p / span)
}

// leapSaid is the log density of any leap to a value that somebody said is
// right, in units of the usual use of a year.
const leapSaid = -14.0

// serviceSlip is how seldom the meter value of a service is wrong: it is
// written down by the shop, beside the machine (common practice, no source).
const serviceSlip = 2e-4

// over says whether a look shows more than the meter can.
func (b *bench) over(l *look) bool {
	return l.cannot != "" || b.top > 0 && b.c.unit(l.shown) >= b.top && !l.start && !l.confirmed
}

// anywhere gives the log density of the first look's value: any within reach of
// a year is as likely, and more is the rarer the farther up the meter it is. So
// a digit too many is likelier than one too few.
func anywhere(value, span float64) float64 {
	return -math.Log(span) - 2*math.Log(math.Max(value/span, 1))
}

// tie is less than any evidence: of two that are as likely the first stays.
const tie = 1e-9

// node is one look at one turn of the odometer in the chain.
type node struct {
	look  int
	value float64
	turn  float64
	best  float64
	from  int
}

// chain keeps the looks of the likeliest chain that never falls and does not
// leap, trusting services and the shop most, and settles the turns of the
// odometer. A look left out costs what a wrong reading is rare; a step in the
// chain costs what such use is rare. It gives the chain's log density.
func (b *bench) chain(keep []bool, turn []float64) float64 {
	ls := b.looks
	span := b.usual(400)
	out := make([]float64, len(ls)+1) // cost of leaving out all before
	for i := range ls {
		out[i+1] = out[i] + b.leave(&ls[i], span)
	}
	var nodes []node
	first := make([]int, len(ls)+1)
	for j := range ls {
		first[j] = len(nodes)
		if b.over(&ls[j]) {
			continue
		}
		for _, t := range b.turns {
			n := node{look: j, value: ls[j].value + t, turn: t, from: -1}
			n.best = out[j] + anywhere(n.value, span) - t/span
			for i := first[max(0, j-chainBack)]; i < first[j]; i++ {
				p := &nodes[i]
				l, ok := b.link(n.value-p.value, float64(ls[j].on-ls[p.look].on), ls[j].width+ls[p.look].width)
				if ls[j].confirmed && n.value >= p.value && (!ok || l < leapSaid-math.Log(span)) {
					l, ok = leapSaid-math.Log(span), true // somebody said that it leapt
				}
				if !ok {
					continue
				}
				if v := p.best + out[j] - out[p.look+1] + l; v > n.best {
					n.best, n.from = v, i
				}
			}
			nodes = append(nodes, n)
		}
	}
	end, top := -1, math.Inf(-1) // a look that stands alone is kept
	for i := range nodes {
		if v := nodes[i].best + out[len(ls)] - out[nodes[i].look+1]; v > top+tie {
			end, top = i, v
		}
	}
	for i := range keep {
		keep[i] = false
	}
	for ; end >= 0; end = nodes[end].from {
		keep[nodes[end].look], turn[nodes[end].look] = true, nodes[end].turn
	}
	return top
}

// usualRate is a meter's usual use a day: the median slope between looks some
// weeks apart, of the trusted ones where there are enough, but not far under
// their overall rate, for seasonal machines rest most of the time.
func usualRate(meter models.Meter, ls []look) float64 {
	least, unknown := leastRate(meter), 2.0
	if meter == models.Odometer {
		unknown = 20
	}
	var trusted []look
	for _, l := range ls {
		if l.shop {
			trusted = append(trusted, l)
		}
	}
	pick := ls
	if len(trusted) >= 4 {
		pick = trusted
	}
	if len(pick) < 3 {
		return unknown
	}
	rate := median(slopes(pick, -1))
	if len(pick) < fewLooks { // one wrong value must not speak for itself
		for k := range pick {
			rate = math.Min(rate, math.Max(unknown, median(slopes(pick, k))))
		}
	}
	return math.Max(least, rate)
}

// fewLooks is how many looks tell a rate that one of them cannot bend.
const fewLooks = 6

// slopes gives the use a day between looks some weeks apart, but one.
func slopes(ls []look, but int) []float64 {
	var out []float64
	for i := range ls {
		for j := i + 1; j < min(len(ls), i+chainBack); j++ {
			dt, dx := float64(ls[j].on-ls[i].on), ls[j].value-ls[i].value
			if dt >= 14 && dx >= 0 && i != but && j != but {
				out = append(out, dx/dt)
			}
		}
	}
	return out
}

// leastRate is the least use a day that is taken for usual.
func leastRate(meter models.Meter) float64 {
	if meter == models.Odometer {
		return 0.3
	}
	return 0.03
}

// calmRate is the median use a day from one look to the next.
func calmRate(meter models.Meter, ls []look) float64 {
	var slopes []float64
	for i := 1; i < len(ls); i++ {
		if dt := float64(ls[i].on - ls[i-1].on); dt > 0 {
			slopes = append(slopes, (ls[i].value-ls[i-1].value)/dt)
		}
	}
	return math.Max(leastRate(meter), median(slopes))
}

// median of a list, 0 for none; it sorts the list.
func median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	slices.Sort(x)
	return x[len(x)/2]
}

// settle finds the chain with and without a turning odometer and marks the
// looks outside it; a turn that is only inferred must explain much.
func (b *bench) settle() {
	n := len(b.looks)
	keep, turn := make([]bool, n), make([]float64, n)
	b.turns = []float64{0}
	if w := b.c.wrap; w > 0 {
		b.top = w
		for t := range maxTurnsTried(b.looks, w) {
			b.turns = append(b.turns, float64(t+1)*w)
		}
	}
	top := b.chain(keep, turn)
	if b.c.meter == models.Odometer && b.c.wrap == 0 {
		for _, shown := range []float64{10000, 100000} {
			w := b.c.unit(shown)
			if !b.mayTurn(w) {
				continue
			}
			k, t := make([]bool, n), make([]float64, n)
			b.turns, b.top = []float64{0, w}, w
			if v := b.chain(k, t); v > top+inferTurn {
				keep, turn, top = k, t, v
				b.c.wrap = w
			}
		}
		b.top = b.c.wrap
	}
	for i := range b.looks {
		l := &b.looks[i]
		l.kept = keep[i] || l.start || l.confirmed
		l.turn = turn[i]
		l.value += turn[i]
	}
	b.alignTurns(keep)
}

// inferTurn is the log evidence that a turn of an odometer of unknown maximum
// must bring.
const inferTurn = 12

// maxTurnsTried gives how many turns the falls among the looks can stand for.
func maxTurnsTried(ls []look, wrap float64) int {
	falls := 0
	for i := 1; i < len(ls); i++ {
		if ls[i].value < ls[i-1].value-0.4*wrap {
			falls++
		}
	}
	return min(falls, maxTurns-5)
}

// mayTurn says whether a look stands high and a later one low enough for an
// odometer with that maximum to have turned over.
func (b *bench) mayTurn(wrap float64) bool {
	high, may := math.Inf(-1), false
	for i := range b.looks {
		v := b.looks[i].value
		if l := &b.looks[i]; (l.start || len(l.services) > 0) && b.c.unit(l.shown) >= wrap {
			return false
		}
		if v > 0.75*wrap && v < wrap*1.001 {
			high = math.Max(high, v)
		}
		if high > 0 && v < high-0.5*wrap {
			may = true
		}
	}
	return may
}

// alignTurns gives the looks outside the chain the turn of their neighbors.
func (b *bench) alignTurns(keep []bool) {
	turn := 0.0
	for i := range b.looks {
		l := &b.looks[i]
		if keep[i] {
			turn = l.turn
		} else if l.turn == 0 && turn > 0 {
			l.turn = turn
			l.value += turn
		}
	}
}

// around gives the kept looks before and after one, -1 for none; a look of
// the same day counts as before.
func (b *bench) around(i int) (before, after int) {
	before, after = -1, -1
	for j := i - 1; j >= 0; j-- {
		if b.looks[j].kept {
			before = j
			break
		}
	}
	for j := i + 1; j < len(b.looks); j++ {
		if b.looks[j].kept {
			after = j
			break
		}
	}
	return before, after
}

// window opens the view on one look; ok is false before the first kept one.
func (b *bench) window(i int, other *bench) (w window, ok bool) {
	before, after := b.around(i)
	if before < 0 {
		return w, false
	}
	l, p := &b.looks[i], &b.looks[before]
	w = window{low: p.value - p.width - l.width, high: math.Inf(1), scale: b.usual(float64(l.on - p.on))}
	if after >= 0 {
		n := &b.looks[after]
		share := 0.5
		if n.on > p.on {
			share = float64(l.on-p.on) / float64(n.on-p.on)
		}
		w.close(n.value+n.width+l.width, share)
		w.after = b.usual(float64(n.on - l.on))
	}
	b.hear(&w, i, before, after, other)
	return w, true
}

// paceSpread is the standard deviation of a machine's miles an hour between
// two looks, as a share of it.
const paceSpread = 0.06

// hear asks the other meter: the use since the look before, at the pace that
// the machine ran between the looks around.
func (b *bench) hear(w *window, i, before, after int, other *bench) {
	if other == nil {
		return
	}
	l := &b.looks[i]
	o, ok := other.read(l.on)
	if !ok {
		return
	}
	p, okP := other.read(b.looks[before].on)
	if !okP {
		return
	}
	pace := b.paceBy
	if after >= 0 {
		if n, okN := other.read(b.looks[after].on); okN && n-p > 8*other.rate {
			pace = (w.high - w.low) / (n - p)
		}
	}
	if pace <= 0 {
		return
	}
	w.other = w.low + (o-p)*pace
	w.spread = paceSpread*math.Abs(o-p)*pace + 1.5 + 1.5*pace
	if c := b.c.meter; c == models.HourMeter {
		w.spread = paceSpread*math.Abs(o-p)*pace + 1 + pace
	}
}

// read gives the kept value of a day, where there is one.
func (b *bench) read(on models.Date) (float64, bool) {
	i := sort.Search(len(b.looks), func(i int) bool { return b.looks[i].on >= on })
	for ; i < len(b.looks) && b.looks[i].on == on; i++ {
		if b.looks[i].kept {
			return b.looks[i].value, true
		}
	}
	return 0, false
}

// pace gives this meter's use for one unit of the other's, over all the days
// on which both were kept; 0 while there are too few.
func (b *bench) pace(other *bench) float64 {
	var x0, y0, x1, y1 float64
	n := 0
	for i := range b.looks {
		if !b.looks[i].kept {
			continue
		}
		if o, ok := other.read(b.looks[i].on); ok {
			if n == 0 {
				x0, y0 = b.looks[i].value, o
			}
			x1, y1 = b.looks[i].value, o
			n++
		}
	}
	if n < 3 || y1-y0 <= 0 {
		return 0
	}
	return (x1 - x0) / (y1 - y0)
}
