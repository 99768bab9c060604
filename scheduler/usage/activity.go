package usage

import (
	"math"
	"sort"

	"example.org/roundsman/models"
)

// track is the use of one machine as one series. Both meters count the same
// use, so miles and hours are brought together as activity in meter hours.
type track struct {
	days   []float64 // Rata Die numbers, rising strictly
	act    []float64 // activity in hours, never falling
	spread []float64 // standard deviation of act; 0 where a meter was read exactly
	perMi  float64   // activity for a mile
	perHr  float64   // activity for an hour: 1
	lastMi float64   // true miles on the last day, as read or inferred
	lastHr float64   // true hours on the last day, as read or inferred
}

// pacePrior is how many hours of common running the kind's usual pace weighs
// against a machine's own.
const pacePrior = 10

// ownPace gives the miles a machine runs in an hour of its meter, from the
// days on which both were read, drawn to the kind's usual pace.
func ownPace(mi, hr []Point, pace float64) float64 {
	var m0, h0, m1, h1 float64
	n := 0
	for i, j := 0, 0; i < len(mi) && j < len(hr); {
		switch {
		case mi[i].On < hr[j].On:
			i++
		case mi[i].On > hr[j].On:
			j++
		default:
			if n == 0 {
				m0, h0 = mi[i].Value, hr[j].Value
			}
			m1, h1 = mi[i].Value, hr[j].Value
			n++
			i++
			j++
		}
	}
	p := (m1 - m0 + pacePrior*pace) / (h1 - h0 + pacePrior)
	return math.Min(math.Max(p, pace/8), pace*8)
}

// newTrack merges the meters of a machine. pace is the kind's usual speed in
// miles for an hour of the meter.
func newTrack(s *Screened, pace float64) track {
	mi, hr := s.Of(models.Odometer), s.Of(models.HourMeter)
	t := track{perMi: 1 / ownPace(mi, hr, pace), perHr: 1}
	main, other, mainPer, otherPer := hr, mi, t.perHr, t.perMi
	odometerLeads := len(mi) > len(hr)
	if odometerLeads {
		main, other, mainPer, otherPer = mi, hr, t.perMi, t.perHr
	}
	j := 0
	for i := 0; i <= len(main); i++ {
		until := models.MaxDate + 1
		if i < len(main) {
			until = main[i].On
		}
		for ; j < len(other) && other[j].On < until; j++ {
			t.between(main, i, other, j, mainPer, otherPer)
		}
		for ; j < len(other) && other[j].On == until; j++ {
			continue
		}
		if i < len(main) {
			t.push(float64(until), main[i].Value*mainPer, main[i].Spread*mainPer)
		}
	}
	mainLast, otherLast := t.lastOf(main, mainPer), t.lastOf(other, otherPer)
	t.lastHr, t.lastMi = mainLast, otherLast
	if odometerLeads {
		t.lastHr, t.lastMi = otherLast, mainLast
	}
	return t
}

// between adds a day on which only the other meter was read: the use since
// the leading meter's point before it, by the other meter's count.
func (t *track) between(main []Point, i int, other []Point, j int, mainPer, otherPer float64) {
	day := other[j].On
	var act float64
	switch {
	case i > 0:
		act = main[i-1].Value*mainPer + (other[j].Value-valueOn(other, main[i-1].On))*otherPer
		if i < len(main) {
			act = math.Min(act, main[i].Value*mainPer)
		}
	case len(main) > 0:
		act = main[0].Value*mainPer - (valueOn(other, main[0].On)-other[j].Value)*otherPer
	default:
		act = other[j].Value * otherPer
	}
	t.push(float64(day), act, other[j].Spread*otherPer)
}

// push adds a point; a later one of a day replaces the earlier.
func (t *track) push(day, act, spread float64) {
	n := len(t.days)
	if n > 0 {
		act = math.Max(act, t.act[n-1])
		if t.days[n-1] == day {
			t.act[n-1], t.spread[n-1] = act, spread
			return
		}
	}
	t.days, t.act, t.spread = append(t.days, day), append(t.act, act), append(t.spread, spread)
}

// lastOf gives what a meter stands at on the track's last day: its last value
// and the activity since.
func (t *track) lastOf(p []Point, per float64) float64 {
	if len(t.days) == 0 {
		return 0
	}
	if len(p) == 0 {
		return 0
	}
	last := p[len(p)-1]
	return last.Value + (t.act[len(t.act)-1]-t.on(float64(last.On)))/per
}

// on gives the activity on a day, linear between the points and level outside.
func (t *track) on(day float64) float64 {
	i := sort.SearchFloat64s(t.days, day)
	switch {
	case len(t.days) == 0:
		return 0
	case i == len(t.days):
		return t.act[i-1]
	case i == 0 || t.days[i] == day:
		return t.act[i]
	}
	f := (day - t.days[i-1]) / (t.days[i] - t.days[i-1])
	return t.act[i-1] + f*(t.act[i]-t.act[i-1])
}

// spreadOn gives the standard deviation of the activity on a day.
func (t *track) spreadOn(day float64) float64 {
	i := sort.SearchFloat64s(t.days, day)
	switch {
	case len(t.days) == 0:
		return 0
	case i == len(t.days):
		return t.spread[i-1]
	case i == 0 || t.days[i] == day:
		return t.spread[i]
	}
	f := (day - t.days[i-1]) / (t.days[i] - t.days[i-1])
	return math.Hypot((1-f)*t.spread[i-1], f*t.spread[i])
}

// valueOn gives a meter's value on a day, linear between its points and level
// outside.
func valueOn(p []Point, on models.Date) float64 {
	i := sort.Search(len(p), func(i int) bool { return p[i].On >= on })
	switch {
	case len(p) == 0:
		return 0
	case i == len(p):
		return p[i-1].Value
	case i == 0 || p[i].On == on:
		return p[i].Value
	}
	a, b := p[i-1], p[i]
	return a.Value + (b.Value-a.Value)*float64(on-a.On)/float64(b.On-a.On)
}

// need gives the activity that is left from the last day to a limit.
func (t *track) need(l Limit) float64 {
	if l.Meter == models.HourMeter {
		return (l.Target - t.lastHr) * t.perHr
	}
	return (l.Target - t.lastMi) * t.perMi
}
