package inbox

import (
	"math"
	"strconv"

	"example.org/roundsman/models"
)

// figure is a number in a text that may be what a meter shows.
type figure struct {
	token int
	vals  []float64 // its readings, the likelier first
	unit  Unit
	rough bool
	run   bool // it may be a distance run since
	alone bool // a sign or "and" follows it
	bound bool // only a limit: "less than 6200"
	ago   bool // it is one: "500 miles ago"
	rival bool // it is said in the place of the one before: "6410, or 6140"
	words string
}

// holds says whether a span believes a value.
func (s Span) holds(v float64) bool {
	return (!s.Least.Known || v >= s.Least.F) && (!s.Most.Known || v <= s.Most.F)
}

// bounded says whether the span can tell a right value from a wrong one.
func (s Span) bounded() bool { return s.Least.Known || s.Most.Known }

// on gives the span for a day in the past. A value from before the last
// reading is at most that; how far below cannot be told from here, but half
// of it is a slip.
func (s Span) on(day, today models.Date) Span {
	if day == 0 || day >= today {
		return s
	}
	if s.Last.Known && s.LastOn != 0 && day < s.LastOn {
		return Span{Least: models.Num(s.Last.F / 2), Likely: s.Last, Most: s.Last, Last: s.Last, LastOn: s.LastOn}
	}
	return s
}

// verdict says how a figure fits a machine.
type verdict struct {
	meter  models.Meter
	value  float64
	ok     bool          // it can be taken without a question
	likely models.Number // where it cannot: what it probably is
	unit   bool          // the unit does not go with the meter
	none   bool          // the machine has no such meter
	both   bool          // it may be either meter
}

// fit finds which meter of a machine a figure is of, and whether it is
// believed.
func (k Known) fit(f figure, day, today models.Date) verdict {
	meters := k.meters(f.unit)
	if len(meters) == 0 {
		return k.misfit(f, day, today)
	}
	var good []verdict
	for _, m := range meters {
		span := k.span(m).on(day, today)
		for _, v := range f.vals {
			if span.holds(v) {
				good = append(good, verdict{meter: m, value: v, ok: true})
				break
			}
		}
	}
	if foreign(f.unit, k.Machine.Meters) {
		return k.convert(f, day, today)
	}
	switch {
	case len(good) == 1:
		return good[0]
	case len(good) > 1:
		good[0].ok, good[0].both = false, true
		return good[0]
	}
	return k.doubted(f, meters, day, today)
}

// doubted weighs a figure that no meter is believed to show: of the meter for
// which the plainer slip explains it, or of either.
func (k Known) doubted(f figure, meters []models.Meter, day, today models.Date) verdict {
	best, rank := verdict{meter: meters[0], value: f.vals[0], both: len(meters) > 1}, 0
	if m, ok := k.nearest(f.vals[0], meters); ok {
		best.meter, best.both = m, false
	}
	if f.rough { // no slip of the thumb
		return best
	}
	for _, m := range meters {
		likely, r := slip(f.vals[0], k.span(m).on(day, today))
		switch {
		case r == 0 || rank > 0 && r > rank:
		case r == rank:
			best.both, best.likely = true, models.Number{}
		default:
			best, rank = verdict{meter: m, value: f.vals[0], likely: models.Num(likely)}, r
		}
	}
	return best
}

// nearest finds the one meter whose likely value is of the size of a figure.
func (k Known) nearest(v float64, meters []models.Meter) (found models.Meter, ok bool) {
	for _, m := range meters {
		if l := k.span(m).Likely; l.Known && v > l.F/2 && v < l.F*2 {
			if ok {
				return "", false
			}
			found, ok = m, true
		}
	}
	return found, ok
}

// meters lists the meters of a machine that a unit can mean.
func (k Known) meters(u Unit) []models.Meter {
	var out []models.Meter
	if u != UnitHours && k.Machine.Meters.Has(models.Odometer) {
		out = append(out, models.Odometer)
	}
	if (u == UnitHours || u == UnitNone) && k.Machine.Meters.Has(models.HourMeter) {
		out = append(out, models.HourMeter)
	}
	return out
}

// foreign says whether a distance is given in the unit that the odometer does
// not show.
func foreign(u Unit, m models.Meters) bool {
	return u == UnitKM && !m.Metric() || u == UnitMiles && m.Metric()
}

// convert weighs a distance in the other unit: meant as said, or only the word
// was wrong. Either way it is asked.
func (k Known) convert(f figure, day, today models.Date) verdict {
	span, v := k.Miles.on(day, today), f.vals[0]
	other := math.Round(v / models.KilometersPerMile)
	if f.unit == UnitMiles {
		other = math.Round(v * models.KilometersPerMile)
	}
	out := verdict{meter: models.Odometer, value: v, unit: true}
	switch {
	case span.holds(other) && !(span.bounded() && span.holds(v)):
		out.likely = models.Num(other)
	case span.bounded() && span.holds(v) && !span.holds(other):
		out.likely = models.Num(v)
	}
	return out
}

// misfit weighs a figure whose unit no meter of the machine shows: "miles"
// may be said of an hour meter where the value fits that.
func (k Known) misfit(f figure, day, today models.Date) verdict {
	for _, m := range k.meters(UnitNone) {
		if span := k.span(m).on(day, today); span.bounded() && span.holds(f.vals[0]) {
			return verdict{meter: m, value: f.vals[0], likely: models.Num(f.vals[0]), unit: true}
		}
	}
	return verdict{none: true}
}

// slip finds the plainest slip of the thumb or the eye that turns a value into
// one that is believed, with its rank: 1 the tenths read as a digit or left
// out, 2 two digits changed places, 3 a digit too many or too few, 4 a wrong
// digit; 0 for none. Of several the one nearest to the likely value is given.
func slip(v float64, s Span) (likely float64, rank int) {
	if !s.bounded() {
		return 0, 0
	}
	whole, frac := math.Modf(v)
	digits := strconv.FormatFloat(whole, 'f', 0, 64)
	tries := [][]string{nil, swaps(digits), added(digits), changed(digits)}
	for n, list := range tries {
		values := []float64{v / 10, v * 10}
		if n > 0 {
			values = nil
		}
		for _, d := range list {
			if f, err := strconv.ParseFloat(d, 64); err == nil {
				values = append(values, f+frac)
			}
		}
		found := false
		for _, c := range values {
			if c <= 0 || c == v || !s.holds(c) {
				continue
			}
			if !found || math.Abs(c-s.Likely.Or(c)) < math.Abs(likely-s.Likely.Or(likely)) {
				likely, found = c, true
			}
		}
		if found {
			return likely, n + 1
		}
	}
	return 0, 0
}

// swaps gives the forms of digits in which two neighbors changed places.
func swaps(digits string) []string {
	var out []string
	for i := range len(digits) - 1 {
		out = append(out, digits[:i]+digits[i+1:i+2]+digits[i:i+1]+digits[i+2:])
	}
	return out
}

// added gives the forms with a digit less or a digit more.
func added(digits string) []string {
	var out []string
	for i := range digits {
		out = append(out, digits[:i]+digits[i+1:])
	}
	for i := range len(digits) + 1 {
		for c := '0'; c <= '9'; c++ {
			out = append(out, digits[:i]+string(c)+digits[i:])
		}
	}
	return out
}

// changed gives the forms in which one digit is another.
func changed(digits string) []string {
	var out []string
	for i := range digits {
		for c := '0'; c <= '9'; c++ {
			out = append(out, digits[:i]+string(c)+digits[i+1:])
		}
	}
	return out
}
