package visit

import "math/bits"

// prices put a price on what visits share. They steer the search; the search
// itself counts true cents.
type prices struct {
	minute []int64 // [set*days+day] millicents a minute of bay and technician together
	out    []int64 // [group*(days+1)+day] millicents of being out on the days before
	share  int64   // part of the prices that counts, in 1/1024; 0: none
}

// placer finds the best stops of one unit in what a state has left. It is
// scratch space for one line of work and must not be shared.
type placer struct {
	st     *state
	price  *prices
	u      *unit
	id     int
	free   uint32 // atoms to plan
	lo, hi int32  // days to plan within
	barred []span // days on which the unit is out already

	divider

	// one day being looked at
	d       int32
	act     []int32 // atoms that can be done
	actGain []int64
	oneDay  int32 // most minutes of a visit of one day
	limit   int32 // most minutes of any visit
	fixed   int64 // cents of a one-day visit
	rate    int64 // millicents a minute, share applied
	chain   []link
}

// span is a run of days.
type span struct{ from, to int32 }

// link is an open day that a longer visit reaches.
type link struct {
	day  int32
	upTo int32 // minutes done when the visit ends on this day, at most
	rate int64
}

func newPlacer(st *state, price *prices) *placer {
	return &placer{st: st, price: price, divider: newDivider()}
}

// survey finds for each set of the free atoms the best single stop.
func (p *placer) survey() {
	p.reset()
	for d := max(p.lo, p.u.lo); d <= min(p.hi, p.u.hi); d++ {
		if p.openDay(d) {
			p.sumUp(0, 0, 0)
		}
	}
}

// openDay makes ready for a day; false when no visit can begin on it.
func (p *placer) openDay(d int32) bool {
	st, s, u := p.st, p.st.s, p.u
	if s.open[d] == 0 || p.isBarred(d) {
		return false
	}
	most := st.most[int(u.set)*s.days+int(d)]
	p.oneDay = min(most, st.tech[d])
	if p.oneDay <= 0 || !st.free(&s.groups[u.group], d) {
		return false
	}
	p.d = d
	p.act, p.actGain = p.act[:0], p.actGain[:0]
	for set := p.free; set != 0; set &= set - 1 {
		i := bits.TrailingZeros32(set)
		a := &u.atoms[i]
		if d >= a.lo && d <= a.hi {
			p.act = append(p.act, int32(i))
			p.actGain = append(p.actGain, a.skip-int64(a.cost[d-a.lo]))
		}
	}
	if len(p.act) == 0 {
		return false
	}
	p.fixed, p.rate = u.trip+u.downtime, 0
	for _, t := range u.told {
		if t.day == d {
			p.fixed -= t.cents
		}
	}
	if p.price.share > 0 {
		p.rate = p.price.minute[int(u.set)*s.days+int(d)] * p.price.share >> 10
		p.fixed += p.outPrice(d, d)
	}
	p.limit = p.oneDay
	p.chain = p.chain[:0]
	if most == s.open[d] && p.oneDay == most && u.work[p.free] > most {
		p.follow(d)
	}
	return true
}

// outPrice gives the cents at which being out on some days is priced.
func (p *placer) outPrice(from, to int32) int64 {
	row := p.price.out[int(p.u.group)*(p.st.s.days+1):]
	return (row[to+1] - row[from]) * p.price.share >> 10 / 1000
}

func (p *placer) isBarred(d int32) bool {
	for _, b := range p.barred {
		if d >= b.from && d <= b.to {
			return true
		}
	}
	return false
}

// follow finds how long a visit that begins on day d can become, in the bay
// that allows most.
func (p *placer) follow(d int32) {
	st, s := p.st, p.st.s
	var reach int32
	for _, b := range s.sets[p.u.set].bays {
		if st.bay[int(b)*s.days+int(d)] == s.open[d] {
			reach = max(reach, p.reach(b, d, p.u.work[p.free]))
		}
	}
	if reach <= s.open[d] {
		return
	}
	p.limit = reach
	done := s.open[d]
	p.chain = append(p.chain, link{day: d, upTo: done, rate: p.rate})
	for e := d + 1; done < reach; e++ {
		if s.open[e] == 0 {
			continue
		}
		done += s.open[e]
		rate := int64(0)
		if p.price.share > 0 {
			rate = p.price.minute[int(p.u.set)*s.days+int(e)] * p.price.share >> 10
		}
		p.chain = append(p.chain, link{day: e, upTo: done, rate: rate})
	}
}

// reach gives the most minutes, up to want, of a visit that begins on day d
// in an empty bay.
func (p *placer) reach(bay, d, want int32) int32 {
	st, s := p.st, p.st.s
	g := &s.groups[p.u.group]
	got := s.open[d]
	for e := d + 1; got < want && e < int32(s.days) && e <= p.hi; e++ {
		if p.isBarred(e) || !st.free(g, e) {
			break
		}
		if s.open[e] == 0 {
			continue
		}
		room := min(st.bay[int(bay)*s.days+int(e)], st.tech[e])
		got += max(0, room)
		if room < s.open[e] {
			break
		}
	}
	return min(got, want)
}

// sumUp goes through the sets of the day's atoms from the k-th on, added to
// set, and notes what each gains.
func (p *placer) sumUp(k int, set uint32, gain int64) {
	for ; k < len(p.act); k++ {
		next := set | 1<<p.act[k]
		w := p.u.work[next]
		if w > p.limit {
			continue
		}
		g := gain + p.actGain[k]
		if w <= p.oneDay {
			p.note(next, g-p.fixed-p.rate*int64(w)/1000, p.d)
		} else if w > p.st.s.open[p.d] {
			p.note(next, g-p.longCost(w), p.d)
		}
		p.sumUp(k+1, next, g)
	}
}

// longCost gives the cents, priced ones included, of a visit over days.
func (p *placer) longCost(w int32) int64 {
	cents, before := int64(0), int32(0)
	for _, l := range p.chain {
		cents += l.rate * int64(min(w, l.upTo)-before)
		if w <= l.upTo {
			cents = cents/1000 + p.fixed + p.u.downtime*int64(l.day-p.d)
			if p.price.share > 0 {
				cents += p.outPrice(p.d+1, l.day)
			}
			return cents
		}
		before = l.upTo
	}
	return 1 << 60
}
