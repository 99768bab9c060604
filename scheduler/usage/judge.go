package usage

import (
	"math"
	"sort"

	"example.org/roundsman/models"
)

// judge weighs the looks of each meter that the machine has: first each meter
// by itself, then both against each other.
func judge(h models.History) []*bench {
	var bs []*bench
	for _, meter := range []models.Meter{models.Odometer, models.HourMeter} {
		if !h.Machine.Meters.Has(meter) {
			continue
		}
		looks := collect(h, meter)
		c := newScale(h, meter, looks)
		b := &bench{c: &c, looks: looks, rate: usualRate(meter, looks), calm: calmRate(meter, looks)}
		b.settle()
		bs = append(bs, b)
	}
	for i, b := range bs {
		var other *bench
		if len(bs) == 2 {
			other = bs[1-i]
		}
		if other != nil {
			b.paceBy = b.pace(other)
		}
		b.slips(other)
	}
	for i, b := range bs {
		var other *bench
		if len(bs) == 2 {
			other = bs[1-i]
		}
		b.reasons(other)
	}
	return bs
}

// sureSlip is the odds of slip to use from which a look that fits in the chain
// is doubted. To doubt a good reading costs one question and hardly moves a
// date; to keep a wrong one moves it by months. So the odds are set low, where
// about one good reading in 300 is doubted.
const sureSlip = 0.0115

// sureLast is the same for a look that none follows and no other meter speaks
// for: a busy month looks like a slip there, and the next reading will tell.
const sureLast = 0.7

// ownerSlip is how often anybody's value is wrong whose kind of slip is not
// known.
const ownerSlip = 0.02

// shopSlip is how much rarer the shop's own slips are.
const shopSlip = 0.1

// slips drops looks from the chain that fit in it, but that a slip explains
// much better than use does.
func (b *bench) slips(other *bench) {
	seen := 0
	for i := range b.looks {
		l := &b.looks[i]
		if !l.kept {
			continue
		}
		if seen++; l.start || l.confirmed || l.width > 0 { // no slip of the hand makes a guess
			continue
		}
		w, ok := b.window(i, other)
		if !ok || b.agrees(i, &w) {
			continue
		}
		alone := w.spread == 0 && math.IsInf(w.high, 1)
		if alone && seen <= fewLooks && b.strange(i, &w) {
			l.kept = false
			continue
		}
		if len(l.services) > 0 {
			continue
		}
		good := w.density(l.value)
		_, _, bad := w.explain(b.c, l)
		bad += b.asHours(l, other)
		if l.shop {
			bad *= shopSlip
		}
		odds := sureSlip
		if alone {
			odds = sureLast
		}
		if bad > odds*good {
			l.kept = false
		}
	}
}

// A value that is ten times what is likely is a slip before it is use, where
// little is known of the machine and the last look is no older than some weeks
// (common practice, no source). The likely value is up to a tenth more than the
// last look's; below ten there are too few digits to tell.
const (
	strangeDays  = 45
	strangeShare = 0.1
	strangeLeast = 10.0
)

// strange says whether a digit too many explains the last look of a machine of
// which little is known.
func (b *bench) strange(i int, w *window) bool {
	l := &b.looks[i]
	before, _ := b.around(i)
	p := &b.looks[before]
	if l.on-p.on > strangeDays || p.shown < strangeLeast || l.shown < 5*p.shown {
		return false
	}
	high := math.Max(p.shown+1, (1+strangeShare)*p.shown)
	var buffer [192]guess
	for _, g := range guesses(buffer[:0], l.shown, b.c.metric, b.c.meter) {
		if (g.reason == models.ReasonExtraDigit || g.reason == models.ReasonTenths) && g.shown >= p.shown-fallSlack && g.shown <= high {
			return true
		}
	}
	return false
}

// agrees says whether a look stands with the two kept after it and leaps from
// the one before: three that agree are hardly all wrong.
func (b *bench) agrees(i int, w *window) bool {
	l := &b.looks[i]
	if math.IsInf(w.high, 1) || w.high-l.value > w.after {
		return false
	}
	before, next := b.around(i)
	if l.value-w.low < 12*b.calm*(float64(l.on-b.looks[before].on)+12) {
		return false
	}
	_, third := b.around(next)
	if third < 0 {
		return false
	}
	n, t := &b.looks[next], &b.looks[third]
	return t.value-n.value < 2*b.usual(float64(t.on-n.on))
}

// asHours gives the density with which the machine's hours, entered in the
// miles box, give what was read.
func (b *bench) asHours(l *look, other *bench) float64 {
	if other == nil || b.c.meter != models.Odometer {
		return 0
	}
	if _, ok := other.read(l.on); ok {
		return 0 // the hours stand in their own box
	}
	lo, hi, ok := other.between(l.on)
	if !ok {
		return 0
	}
	mid, side := (lo+hi)/2, (hi-lo)/2+1.5
	z := (l.shown - mid) / side
	return shareHours * 0.375 * math.Pow(1+z*z/4, -2.5) / side
}

// between gives what the meter showed at the kept looks around a day.
func (b *bench) between(on models.Date) (lo, hi float64, ok bool) {
	i := sort.Search(len(b.looks), func(i int) bool { return b.looks[i].on > on })
	before, after := b.around(i)
	if i < len(b.looks) && b.looks[i].kept {
		after = i
	}
	if before < 0 {
		return 0, 0, false
	}
	p := &b.looks[before]
	lo, hi = p.shown, p.shown+b.rate*float64(on-p.on)*1.5
	if after >= 0 && b.looks[after].shown >= lo {
		hi = b.looks[after].shown
	}
	return lo, hi, true
}

// A trip meter shows up to 999.9 and is set to 0 now and then (common practice,
// no source); a value that is less than a fifth of the odometer's is taken for
// one where no slip explains it.
const (
	tripMost  = 1000
	tripShare = 5
)

// reasons names for each doubted look why, and what it probably showed.
func (b *bench) reasons(other *bench) {
	for i := range b.looks {
		l := &b.looks[i]
		if l.kept {
			continue
		}
		if l.cannot != "" { // the swap says so, no slip is looked for
			l.reason = l.cannot
			continue
		}
		w, ok := b.window(i, other)
		if !ok {
			l.reason = models.ReasonLeaps
			if b.over(l) {
				l.reason = models.ReasonOverMaximum
			}
			continue
		}
		reason, likely, bad := w.explain(b.c, l)
		if l.width == 0 && b.asHours(l, other) > bad {
			l.reason = models.ReasonHoursInBox
			continue
		}
		if l.width == 0 && reason != "" && bad > 0.05*shareNoReason/w.scale {
			l.reason, l.likely = reason, likely
			continue
		}
		switch {
		case b.over(l):
			l.reason = models.ReasonOverMaximum
		case l.value < w.low && b.c.meter == models.Odometer && l.shown < tripMost && l.shown < w.low/tripShare:
			l.reason = models.ReasonTrip
		case l.value < w.low:
			l.reason = models.ReasonFalls
		case l.value > w.low+b.most(1):
			l.reason = models.ReasonImpossible
		default:
			l.reason = models.ReasonLeaps
		}
	}
}
