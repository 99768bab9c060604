package visit

// goOn goes on from a beginning on a day in every way that may still beat
// what is known.
func (j *jigsaw) goOn(h, d int32) {
	s, from := j.b.s, j.pool[h]
	day := &j.days[d]
	if s.open[d] == 0 {
		j.put(h, from.done, from.gain, nil, d, d+1, 0, -1)
		return
	}
	if from.tail == 0 {
		for i := range day.long {
			o := &day.long[i]
			if !o.atoms.meets(from.done) {
				j.put(h, from.done.with(o.atoms), from.gain+o.gain, []piece{*o}, d, o.last, o.tail, o.unit)
			}
		}
	}
	f := filling{j: j, head: h, d: d, from: from, out: make([]int32, len(s.p.Limits))}
	if from.unit >= 0 {
		f.count(from.unit, 1)
	}
	f.fill(0, from.done, from.gain, j.line.room(d)-from.tail)
}

// filling fills one day after one beginning.
type filling struct {
	j     *jigsaw
	head  int32
	d     int32
	from  begin
	taken []piece
	out   []int32
	ways  int
}

func (f *filling) count(u, by int32) {
	for _, k := range f.j.b.s.groups[f.j.b.s.units[u].group].limits {
		f.out[k] += by
	}
}

func (f *filling) full(u int32) bool {
	s := f.j.b.s
	for _, k := range s.groups[s.units[u].group].limits {
		if f.out[k] >= f.j.b.outFree[int(k)*s.days+int(f.d)] {
			return true
		}
	}
	return false
}

// fill puts pieces of the runs from the r-th on into what is left of the day.
func (f *filling) fill(r int, done atomSet, gain int64, room int32) {
	j := f.j
	day := &j.days[f.d]
	after := j.sumUp + j.left[f.d+1] + j.line.from[f.d+1]
	if f.ways++; f.ways > mostFillings || gain+day.rest[r][room/j.b.grain]+after <= j.need {
		return
	}
	if r == len(day.runs) {
		j.put(f.head, done, gain, f.taken, f.d, f.d+1, 0, -1)
		return
	}
	defer f.fill(r+1, done, gain, room)
	run := day.runs[r]
	join := run[0].lock >= 0
	if run[0].unit == f.from.unit || (!join && f.full(run[0].unit)) {
		return
	}
	if !join {
		f.count(run[0].unit, 1)
	}
	for i := range run {
		o := &run[i]
		if gain+o.gain+day.rest[r+1][room/j.b.grain]+after <= j.need {
			break // runs are sorted by gain
		}
		if o.minutes > room || o.atoms.meets(done) {
			continue
		}
		f.taken = append(f.taken, *o)
		f.fill(r+1, done.with(o.atoms), gain+o.gain, room-o.minutes)
		f.taken = f.taken[:len(f.taken)-1]
	}
	if !join {
		f.count(run[0].unit, -1)
	}
}

// put notes a beginning that reaches a day, unless one that has done the same
// is better or it cannot beat what is known.
func (j *jigsaw) put(parent int32, done atomSet, gain int64, made []piece, from, to, tail, unit int32) {
	gain = j.pass(gain, done, from, to)
	judged := j.sumUp + j.left[to] + gain + j.line.from[to]
	if tail > 0 {
		room := (j.line.room(to) - tail) / j.b.grain
		judged = j.sumUp + j.left[to+1] + gain + j.days[to].rest[0][room] + j.line.from[to+1]
	}
	if judged <= j.need {
		return
	}
	key := jigKey{done, tail, unit}
	next := begin{done: done, gain: gain, judged: judged, parent: parent, tail: tail, unit: unit, made: append([]piece{}, made...)}
	if to == j.now+1 && tail == 0 {
		if i, ok := j.same[key]; ok {
			if j.pool[i].gain < gain {
				j.pool[i] = next
			}
			return
		}
	}
	at := int32(len(j.pool))
	if n := len(j.spare); n > 0 {
		at = j.spare[n-1]
		j.spare = j.spare[:n-1]
		j.pool[at] = next
	} else {
		j.pool = append(j.pool, next)
	}
	if to == j.now+1 && tail == 0 {
		j.same[key] = at
	}
	j.heads[to] = append(j.heads[to], at)
	if len(j.heads[to]) > 4*j.width {
		j.thin(to)
	}
}
