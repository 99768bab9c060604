package visit

import "math/bits"

// option is a visit that one day of a timeline may hold. What joins a locked
// visit stands on the day on which that one would end.
type option struct {
	unit      int32
	lock      int32 // the locked visit that is joined, -1: none
	set       uint32
	weight    int32 // grains on its only day, or on its last day when it is longer
	day, last int32
	gain      int64
}

// count books what a visit takes of what is priced.
func (b *bounder) count(o *option, times int32) {
	s, u := b.s, &b.s.units[o.unit]
	for set := o.set; set != 0; set &= set - 1 {
		b.use.atom[b.first[o.unit]+int32(bits.TrailingZeros32(set))] += times
	}
	for i := range b.cuts {
		if b.cuts[i].unit == o.unit {
			b.use.cut[i] += b.cuts[i].halves(o.set) * int64(times)
		}
	}
	b.minutes(o, func(d, m int32) { b.use.tech[d] += int64(m) * int64(times) })
	from := o.day
	if o.lock >= 0 {
		from++
	}
	for _, k := range s.groups[u.group].limits {
		for e := from; e <= o.last; e++ {
			b.use.out[int(k)*s.days+int(e)] += times
		}
	}
}

// minutes calls fn for what a visit takes of each day, beyond what the locked
// visit that it joins takes anyway.
func (b *bounder) minutes(o *option, fn func(d, m int32)) {
	u := &b.s.units[o.unit]
	if o.lock >= 0 {
		b.extra(&u.locks[o.lock], o.set, fn)
		return
	}
	left := u.work[o.set]
	for d := o.day; left > 0; d++ {
		if m := min(left, b.s.open[d]); m > 0 {
			fn(d, m)
			left -= m
		}
	}
}

// lastMinutes gives the minutes that a visit takes of its last day.
func (b *bounder) lastMinutes(o *option) int32 {
	last := int32(0)
	b.minutes(o, func(d, minutes int32) {
		if d == o.last {
			last = minutes
		}
	})
	return last
}

// isOut says whether a visit keeps its machine out on a day, beyond the locked
// visit that it joins.
func (b *bounder) isOut(o *option, d int32) bool {
	return d <= o.last && (d > o.day || (d == o.day && o.lock < 0))
}

// trueGain gives the cents that a visit saves.
func (b *bounder) trueGain(o *option) int64 {
	u := &b.s.units[o.unit]
	if o.lock < 0 {
		return u.stopGain(o.set, o.day, o.last)
	}
	l := &u.locks[o.lock]
	return u.atomGain(o.set, l.day) - u.downtime*int64(o.last-l.last)
}
