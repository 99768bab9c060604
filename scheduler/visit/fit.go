package visit

import "math/bits"

// fit plans some atoms of a unit in what the state has left, on the days
// lo..hi, and books the stops. kept are the unit's stops that stay as they
// are, already booked; locks are the agreed visits that others may join,
// booked as agreed. The new stops are appended to dst.
//
// The best set of stops is found exactly but for two things: stops that would
// overlap are planned one after the other, and a visit over several days is
// followed in the bay that lets it become longest.
func (p *placer) fit(dst []stop, id int, atoms uint32, kept []stop, locks []int32, lo, hi int32) []stop {
	p.id, p.u, p.free, p.lo, p.hi = id, &p.st.s.units[id], atoms, lo, hi
	p.barred = p.barred[:0]
	for i := range kept {
		p.barred = append(p.barred, span{kept[i].day, kept[i].last})
	}
	for _, l := range locks {
		p.barred = append(p.barred, span{p.u.locks[l].day, p.u.locks[l].last})
	}
	bars := len(p.barred)
	p.survey()
	p.divide(p.free)
	for n, l := range locks {
		v := p.join(l, bars-len(locks)+n)
		dst = append(dst, v)
		p.free &^= v.atoms
		p.barred = append(p.barred, span{v.day, v.last})
	}
	for p.free != 0 {
		again := false
		p.stops(p.free, func(pick uint32) {
			if v, ok := p.settle(pick); ok {
				dst = append(dst, v)
				p.free &^= pick
			} else {
				again = true
			}
		})
		if !again {
			break
		}
		// What did not go beside the others is looked at once more around them.
		p.survey()
		p.divide(p.free)
		if p.solve(p.free) == 0 {
			break
		}
	}
	return dst
}

// settle books the stop noted for a set, unless an earlier one is in its way.
func (p *placer) settle(set uint32) (stop, bool) {
	s := p.st.s
	v := stop{atoms: set, day: p.day[set], lock: -1, work: p.u.work[set]}
	v.last = s.end(v.day, v.work)
	for _, b := range p.barred {
		if v.day <= b.to && v.last >= b.from {
			return v, false
		}
	}
	v.bay = p.chooseBay(v.day, v.work)
	if v.bay < 0 {
		return v, false
	}
	v.gain = p.u.stopGain(set, v.day, v.last)
	p.book(&v)
	p.barred = append(p.barred, span{v.day, v.last})
	return v, true
}

func (p *placer) book(v *stop) { p.st.use(p.id, v, 1) }

// chooseBay gives the bay that fits most closely, -1 when none does.
func (p *placer) chooseBay(day, work int32) int32 {
	st, s := p.st, p.st.s
	best, least := int32(-1), int32(noLimit)
	for _, b := range s.sets[p.u.set].bays {
		left := st.bay[int(b)*s.days+int(day)]
		spare := left - work
		if work > s.open[day] {
			if left < s.open[day] || p.reach(b, day, work) < work {
				continue
			}
			spare = p.spareAtEnd(b, day, work)
		}
		if spare >= 0 && spare < least {
			best, least = b, spare
		}
	}
	return best
}

// spareAtEnd gives the minutes left in a bay on the last day of a visit over
// several days.
func (p *placer) spareAtEnd(bay, day, work int32) int32 {
	s := p.st.s
	last := s.end(day, work)
	return p.st.bay[int(bay)*s.days+int(last)] - (work - (s.before[last] - s.before[day]))
}

// stopGain gives the cents that a free visit saves against skipping its atoms.
func (u *unit) stopGain(set uint32, day, last int32) int64 {
	gain := -u.trip - u.downtime*int64(last-day+1)
	for _, t := range u.told {
		if t.day == day {
			gain += t.cents
		}
	}
	return gain + u.atomGain(set, day)
}

// atomGain gives the cents saved by doing atoms on a day.
func (u *unit) atomGain(set uint32, day int32) int64 {
	gain := int64(0)
	for ; set != 0; set &= set - 1 {
		a := &u.atoms[bits.TrailingZeros32(set)]
		gain += a.skip - int64(a.at(day))
	}
	return gain
}

// join finds the atoms that had best join a locked visit, which is booked as
// agreed, and books it with them; own is the place of its span among the
// barred.
func (p *placer) join(l int32, own int) stop {
	st, s, lk := p.st, p.st.s, &p.u.locks[l]
	v := stop{day: lk.day, last: lk.last, bay: lk.bay, lock: l, work: lk.work[0]}
	may := p.free & lk.joins
	if may == 0 {
		return v
	}
	p.st.use(p.id, &v, -1)
	held := p.barred[own]
	p.barred[own] = span{1, 0}
	left := min(st.bay[int(lk.bay)*s.days+int(lk.day)], st.tech[lk.day])
	reach := int32(0)
	if left == s.open[lk.day] {
		reach = p.reach(lk.bay, lk.day, lk.work[may])
	}
	best := p.solve(p.free)
	for set := may; set != 0; set = (set - 1) & may {
		w := lk.work[set]
		if (w <= s.open[lk.day] && w > left) || (w > s.open[lk.day] && w > reach) {
			continue
		}
		last := s.end(lk.day, w)
		gain := p.u.atomGain(set, lk.day) - p.u.downtime*int64(last-lk.last)
		priced := gain
		if p.price.share > 0 {
			rate := p.price.minute[int(p.u.set)*s.days+int(lk.day)] * p.price.share >> 10
			priced -= rate * int64(w-lk.work[0]) / 1000
		}
		if total := priced + p.solve(p.free&^set); total > best {
			best = total
			v.atoms, v.last, v.work, v.gain = set, last, w, gain
		}
	}
	p.barred[own] = held
	p.st.use(p.id, &v, 1)
	return v
}
