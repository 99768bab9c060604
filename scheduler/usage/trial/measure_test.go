package trial

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/usage"
)

// tally sums up forecasts against the truth, in days.
type tally struct {
	n, miss, inside, width   float64
	simple                   map[string]float64
	informed, informedMissed float64
	informedWidth            float64
}

// report is what a folder of cases measures.
type report struct {
	all                           tally
	by                            map[string]*tally
	slips, caught, good, doubted  float64
	copies, copiesSeen, late, lat float64
}

// cut keeps a date within the horizon either side of the day asked.
func cut(d float64, c Case) float64 {
	return math.Min(math.Max(d, float64(c.AsOf)-horizon), float64(c.AsOf)+horizon)
}

// measure forecasts a folder's cases and compares with the answers; cases
// bound by the calendar are left out, as in the fleet's own tables.
func measure(f *folder) *report {
	answers, doubted := Forecast(f.Fleet, f.cases)
	r := &report{by: map[string]*tally{}}
	r.all.simple = map[string]float64{}
	hist := map[string]models.History{}
	for _, h := range f.Histories {
		hist[h.Machine.ID] = h
	}
	for _, a := range answers {
		if f.bound[a.Case] == "calendar" {
			continue
		}
		k := f.habit[a.Machine]
		if r.by[k] == nil {
			r.by[k] = &tally{simple: map[string]float64{}}
		}
		simple := simpleDates(f, hist[a.Machine], a.Case)
		for _, t := range []*tally{&r.all, r.by[k]} {
			t.add(f, a, simple)
		}
	}
	r.screen(f, doubted)
	return r
}

func (t *tally) add(f *folder, a Answer, simple map[string]float64) {
	truth := float64(f.truth[a.Case])
	t.n++
	t.miss += math.Abs(cut(float64(a.Due), a.Case) - truth)
	lo, hi := cut(float64(a.Early), a.Case), cut(float64(a.Late), a.Case)
	t.width += hi - lo
	if lo <= truth && truth <= hi {
		t.inside++
	}
	for k, v := range simple {
		t.simple[k] += math.Abs(cut(v, a.Case) - truth)
	}
	if o, ok := f.informed[a.Case]; ok {
		t.informed++
		t.informedMissed += math.Abs(cut(float64(o.Due), a.Case) - truth)
		t.informedWidth += cut(float64(o.Late), a.Case) - cut(float64(o.Early), a.Case)
	}
}

// simpleDates gives what the simple rules say, from readings freed of falls
// and leaps, whichever meter comes first.
func simpleDates(f *folder, h models.History, c Case) map[string]float64 {
	h.AsOf = c.AsOf
	s := usage.Screen(h)
	last := lastDone(h, c.Item)
	v := f.plain[[2]string{h.Machine.Kind, c.Item}]
	end := float64(c.AsOf) + horizon
	if cal := calendarLimit(h, last, v.Months); !cal.IsZero() {
		end = math.Min(end, float64(cal))
	}
	out := map[string]float64{}
	for name := range simpleRates {
		out[name] = end
	}
	for _, l := range limitsOf(usage.Fit(&s, nil), &s, last, v) {
		var path series
		for _, p := range s.Of(l.Meter) {
			path.add(float64(p.On), p.Value)
		}
		if len(path.day) < 2 {
			continue
		}
		passed, ok := path.reaches(l.Target)
		n := len(path.day) - 1
		for name, rate := range simpleRates {
			d := passed
			if !ok {
				d = path.day[n] + (l.Target-path.value[n])/math.Max(rate(path), 1e-9)
			}
			out[name] = math.Min(out[name], d)
		}
	}
	return out
}

// screen counts what the screening caught.
func (r *report) screen(f *folder, doubted []Doubted) {
	out := map[string]bool{}
	for _, d := range doubted {
		x := d.Reading
		out[dirtKey(x.Machine, x.At, x.Miles, x.Hours)] = true
	}
	seen := map[string]bool{}
	for _, h := range f.Histories {
		for _, x := range h.Readings {
			k := dirtKey(x.Machine, x.At, x.Miles, x.Hours)
			if seen[k] {
				continue
			}
			seen[k] = true
			hit := 0.0
			if out[k] {
				hit = 1
			}
			switch f.dirt[k] {
			case "":
				r.good++
				r.doubted += hit
			case "copy":
				r.copies++
				r.copiesSeen += hit
			case "late_date":
				r.late++
				r.lat += hit
			case "duplicate":
			default:
				r.slips++
				r.caught += hit
			}
		}
	}
}

// best gives the simple rule that misses least and its mean miss.
func (t *tally) best() (string, float64) {
	var names []string
	for k := range t.simple {
		names = append(names, k)
	}
	slices.Sort(names)
	name, best := "", math.Inf(1)
	for _, k := range names {
		if v := t.simple[k] / t.n; v < best {
			name, best = k, v
		}
	}
	return name, best
}

// ratio is the mean miss by that of the best simple rule over all cases.
func (r *report) ratio() float64 {
	_, best := r.all.best()
	return r.all.miss / r.all.n / best
}

// worst gives the habit on which the model does worst by the best simple rule
// for that habit, and the one whose range holds least.
func (r *report) worst() (ratio float64, by string, inside float64, of string) {
	inside = 1
	for _, k := range r.names() {
		t := r.by[k]
		_, best := t.best()
		if v := t.miss / t.n / best; v > ratio {
			ratio, by = v, k
		}
		if v := t.inside / t.n; v < inside {
			inside, of = v, k
		}
	}
	return ratio, by, inside, of
}

func (r *report) names() []string {
	var names []string
	for k := range r.by {
		names = append(names, k)
	}
	slices.Sort(names)
	return names
}

// String gives the table.
func (r *report) String() string {
	var b strings.Builder
	name, best := r.all.best()
	ratio, by, inside, of := r.worst()
	fmt.Fprintf(&b, "%.0f cases bound by use; mean absolute error %.1f days, best simple rule (%s) %.1f\n", r.all.n, r.all.miss/r.all.n, name, best)
	fmt.Fprintf(&b, "ratio to the best simple rule          %.2f\n", r.ratio())
	if o := r.all; o.informed > 0 {
		fmt.Fprintf(&b, "ratio to the informed forecaster       %.2f\n", o.miss/o.n/(o.informedMissed/o.informed))
	}
	fmt.Fprintf(&b, "worst habit by its best simple rule    %.2f (%s)\n", ratio, by)
	var g tally
	sum := 0.0
	for _, k := range []string{"resort", "snow", "new"} {
		if t := r.by[k]; t != nil {
			g.n += t.n
			g.miss += t.miss
			sum += t.simple[name]
		}
	}
	if g.n > 0 {
		fmt.Fprintf(&b, "resort, snow and newly bought          %.2f\n", g.miss/sum)
	}
	fmt.Fprintf(&b, "80 %% range holds, all / worst habit    %.0f %% / %.0f %% (%s)\n", 100*r.all.inside/r.all.n, 100*inside, of)
	fmt.Fprintf(&b, "mean width of that range               %.0f days", r.all.width/r.all.n)
	if o := r.all; o.informed > 0 {
		fmt.Fprintf(&b, ", by the informed forecaster's %.2f", o.width/o.n/(o.informedWidth/o.informed))
	}
	fmt.Fprintf(&b, "\nslips and units caught                 %.1f %% of %.0f at %.2f %% of %.0f good ones doubted\n",
		100*r.caught/math.Max(1, r.slips), r.slips, 100*r.doubted/math.Max(1, r.good), r.good)
	if r.copies+r.late > 0 {
		fmt.Fprintf(&b, "copies / late dates seen               %.0f %% / %.0f %%\n", 100*r.copiesSeen/math.Max(1, r.copies), 100*r.lat/math.Max(1, r.late))
	}
	for _, k := range r.names() {
		t := r.by[k]
		_, best := t.best()
		fmt.Fprintf(&b, "  %-11s %4.0f cases  miss %5.1f  best simple %5.1f  holds %3.0f %%\n", k, t.n, t.miss/t.n, best, 100*t.inside/t.n)
	}
	return b.String()
}

// TestTable prints the table for a folder of cases:
//
//	go test ./scheduler/usage/trial -run TestTable -v -fleet DIR
func TestTable(t *testing.T) {
	if *fleetDir == "" {
		t.Skip("no -fleet given")
	}
	t.Logf("%s\n%s", *fleetDir, measure(readFolder(t, *fleetDir)))
}
