package trial

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// habit is a way of using machines, for invented fleets: on each day the
// machine goes out with a chance that depends on the season, for an outing of
// a gamma distributed length; the level of use changes now and then.
type habit struct {
	name, kind, ownerType string
	meters                models.Meters
	owners                int     // machines to an owner
	out                   float64 // chance of an outing on a day of full season
	hours                 float64 // mean length of an outing
	even                  float64 // gamma shape of the outings' length
	season                func(year float64) float64
	among                 float64 // log sd of the machines' levels
	change                float64 // days between changes of level; 0: none
	jump                  float64 // log sd of the changes
	growth                float64 // log growth a year
	pace                  float64 // miles an hour
	looks                 float64 // days between an owner's readings
}

func hill(center, width float64) func(float64) float64 {
	return func(y float64) float64 {
		d := math.Abs(y - center)
		d = math.Min(d, 1-d)
		return math.Max(0.02, math.Min(1, 1.6*math.Exp(-d*d/(2*width*width))))
	}
}

func allYear(float64) float64 { return 1 }

// habits are unlike those of the fleets that the model was made on: a lodge
// with a winter and a summer season, an orchard, pumps, a school, a growing
// delivery yard, southern snow.
var habits = []habit{
	{"lodge", "utv", "lodge", models.MetersBoth, 8, 0.7, 3, 2, func(y float64) float64 { return max(hill(0.1, 0.06)(y), hill(0.55, 0.09)(y)) }, 0.35, 250, 0.25, 0, 12, 25},
	{"orchard", "atv", "farm", models.MetersHours, 4, 0.6, 2.5, 3, hill(0.72, 0.12), 0.4, 400, 0.2, 0, 9, 40},
	{"pump", "pump", "farm", models.MetersHours, 4, 0.5, 6, 1, hill(0.5, 0.1), 0.5, 300, 0.3, 0, 1, 50},
	{"school", "utv", "school", models.MetersBothKM, 6, 0.6, 1.5, 4, func(y float64) float64 { return 1.02 - hill(0.55, 0.07)(y) }, 0.3, 0, 0, 0, 10, 30},
	{"yard", "utv", "contractor", models.MetersMiles, 5, 0.8, 2.5, 3, allYear, 0.4, 150, 0.7, 0.3, 11, 35},
	{"snow", "snowmobile", "private", models.MetersMiles, 1, 0.3, 3, 1.5, hill(0.6, 0.07), 0.5, 365, 0.4, 0, 22, 35},
	{"weekend", "utv", "private", models.MetersBoth, 1, 0.15, 2.5, 1, func(y float64) float64 { return 0.3 + 0.7*hill(0.45, 0.15)(y) }, 0.7, 200, 0.5, 0, 13, 45},
}

// inventedRules are the intervals of the invented fleets.
var inventedRules = map[string]plain{
	"oil":   {Miles: models.Num(1000), Hours: models.Num(100), Months: 18},
	"belt":  {Miles: models.Num(2200), Hours: models.Num(200), Months: 36},
	"plugs": {Hours: models.Num(60), Miles: models.Num(700)},
}

// life is one machine's true course while it is invented.
type life struct {
	*habit
	rng   *rand.Rand
	level float64
	base  float64
	born  models.Date
}

// gamma draws a gamma variate of a whole or broken shape and mean 1 as a sum
// of exponentials and a power (good enough for inventing).
func gammaDraw(r *rand.Rand, shape float64) float64 {
	sum := 0.0
	for s := shape; s > 0; s-- {
		e := r.ExpFloat64()
		if s < 1 {
			e *= s
		}
		sum += e
	}
	return sum / shape
}

// day gives the hours run on a day and lets the level change.
func (l *life) day(on models.Date) float64 {
	if l.change > 0 && l.rng.Float64() < 1/l.change {
		l.level = l.base * math.Exp(l.jump*l.rng.NormFloat64())
	}
	year := math.Mod(float64(on)/365.25, 1)
	grown := math.Exp(l.growth * float64(on-l.born) / 365.25)
	if l.rng.Float64() >= l.out*l.season(year) {
		return 0
	}
	return l.hours * l.level * grown * gammaDraw(l.rng, l.even)
}

// invent makes a fleet of n machines with cases and answers. The same seed
// gives the same fleet.
func invent(seed uint64, n int) *folder {
	f := &folder{truth: map[Case]models.Date{}, bound: map[Case]string{}, informed: map[Case]Answer{},
		habit: map[string]string{}, dirt: map[string]string{}}
	f.plain = map[[2]string]plain{}
	var rules []models.Rule
	for _, h := range habits {
		for item, v := range inventedRules {
			f.plain[[2]string{h.kind, item}] = v
		}
		rules = append(rules, rulesOf(h.kind, inventedRules)...)
	}
	f.Rules = bookOf(rules)
	row := int64(0)
	for i := range n {
		h := &habits[i%len(habits)]
		f.inventMachine(h, fmt.Sprintf("I%04d", i+1), rand.New(rand.NewPCG(seed, uint64(i))), i/len(habits)/h.owners, &row)
	}
	return f
}

// course is what happens to a machine from day to day.
type course struct {
	hist         models.History
	hours, miles []float64 // true, by day since in service
	level        []float64 // of use, by day
	life         life
	row          *int64
}

func (f *folder) inventMachine(h *habit, id string, rng *rand.Rand, owner int, row *int64) {
	base := math.Exp(h.among * rng.NormFloat64())
	l := life{habit: h, rng: rng, level: base, base: base, born: models.MustDate("2019-01-01").AddDays(rng.IntN(900))}
	m := models.Machine{ID: id, Tag: id, Kind: h.kind, Owner: fmt.Sprintf("%s-%d", h.name, owner), Meters: h.meters, InService: l.born}
	start := 0.0
	if rng.Float64() < 0.3 {
		start = math.Round(200 * rng.Float64())
	}
	if h.meters.Has(models.HourMeter) {
		m.HoursStart = models.Num(start)
	}
	if h.meters.Has(models.Odometer) {
		m.MilesStart = models.Num(math.Round(m.Meters.Shown(start * h.pace)))
	}
	c := course{hist: models.History{Machine: m, Owner: models.Owner{ID: m.Owner, Name: m.Owner, Type: h.ownerType}}, row: row}
	asOf := 20 + rng.IntN(1000)
	hours := start
	pace := h.pace * math.Exp(0.1*rng.NormFloat64())
	miles := start * h.pace
	for d := range asOf + 900 {
		u := l.day(l.born.AddDays(d))
		hours += u
		miles += u * pace * math.Exp(0.1*rng.NormFloat64())
		c.hours, c.miles, c.level = append(c.hours, hours), append(c.miles, miles), append(c.level, l.level)
	}
	c.life = l
	f.inventFacts(&c, rng, asOf)
	f.habit[id] = h.name
	f.Histories = append(f.Histories, c.hist)
}

// inventFacts lets the machine be read and serviced until its case's day.
func (f *folder) inventFacts(c *course, rng *rand.Rand, asOf int) {
	m := c.hist.Machine
	h := habits[slices.IndexFunc(habits, func(h habit) bool { return h.kind == m.Kind && h.ownerType == c.hist.Owner.Type })]
	items := []string{"oil", "belt", "plugs"}
	done := map[string]int{"oil": -1, "belt": -1, "plugs": -1}
	wait := map[string]int{}
	for d := 0; d <= asOf; d++ {
		for _, item := range items {
			due := c.due(item, done[item])
			if d >= due && wait[item] == 0 {
				wait[item] = d + 1 + int(12*rng.ExpFloat64())
			}
			if wait[item] > 0 && d >= wait[item] {
				f.read(c, rng, d, models.SourceShop)
				last := c.hist.Readings[len(c.hist.Readings)-1]
				c.hist.Services = append(c.hist.Services, models.Service{Machine: m.ID, Item: item, At: last.At, Miles: last.Miles, Hours: last.Hours})
				done[item], wait[item] = d, 0
			}
		}
		if rng.Float64() < 1/h.looks {
			f.read(c, rng, d, "owner")
		}
	}
	for _, item := range items {
		due := c.due(item, done[item])
		ahead := due - asOf
		if ahead >= 3 && ahead <= 400 || ahead <= -2 && ahead >= -200 {
			k := Case{m.ID, item, m.InService.AddDays(asOf)}
			f.cases = append(f.cases, k)
			f.truth[k], f.bound[k] = m.InService.AddDays(due), "usage"
			f.informed[k] = c.informed(k, done[item])
		}
	}
}

// futures is how many ways on the informed forecaster tries.
const futures = 61

// informed gives the forecast of one who knows the machine's true habits and
// its true state on the day of its last reading, but not the future.
func (c *course) informed(k Case, done int) Answer {
	m, v, l := c.hist.Machine, inventedRules[k.Item], c.life
	from := 0
	for _, r := range c.hist.Readings {
		from = max(from, m.InService.DaysTo(r.At))
	}
	h0, mi0 := m.HoursStart.F, m.Meters.Miles(m.MilesStart.F)
	if done >= 0 {
		h0, mi0 = c.hours[done], c.miles[done]
	}
	pace := 1.0
	if c.hours[from] > c.hours[0] {
		pace = (c.miles[from] - c.miles[0]) / (c.hours[from] - c.hours[0])
	}
	need := math.Inf(1)
	if m.Meters.Has(models.HourMeter) {
		need = h0 + v.Hours.F - c.hours[from]
	}
	if m.Meters.Has(models.Odometer) {
		need = math.Min(need, (mi0+v.Miles.F-c.miles[from])/pace)
	}
	l.rng = rand.New(rand.NewPCG(uint64(k.AsOf), uint64(len(k.Item))))
	days := make([]int, futures)
	for i := range days {
		l.level = c.level[from]
		d := from
		for left := need; left > 0 && d < from+1200; d++ {
			left -= l.day(l.born.AddDays(d + 1))
		}
		days[i] = d
	}
	slices.Sort(days)
	on := func(i int) models.Date { return m.InService.AddDays(days[i]) }
	return Answer{Case: k, Early: on(futures / 10), Due: on(futures / 2), Late: on(futures - 1 - futures/10), OK: true}
}

// due gives the day (since in service) on which an item's first limit of use
// is reached; far beyond the course when it is not.
func (c *course) due(item string, done int) int {
	v, m := inventedRules[item], c.hist.Machine
	h0, mi0 := m.HoursStart.F, m.Meters.Miles(m.MilesStart.F)
	if done >= 0 {
		h0, mi0 = c.hours[done], c.miles[done]
	}
	for d := max(done, 0); d < len(c.hours); d++ {
		if m.Meters.Has(models.HourMeter) && c.hours[d] >= h0+v.Hours.F || m.Meters.Has(models.Odometer) && c.miles[d] >= mi0+v.Miles.F {
			return d
		}
	}
	return len(c.hours) + 1000
}

// read takes one reading, with a slip now and then when it is the owner's.
func (f *folder) read(c *course, rng *rand.Rand, d int, source string) {
	m := c.hist.Machine
	*c.row++
	r := models.Reading{Machine: m.ID, At: m.InService.AddDays(d), Source: source}
	r.Row = *c.row
	if m.Meters.Has(models.HourMeter) {
		r.Hours = models.Num(math.Round(c.hours[d]*10) / 10)
	}
	if m.Meters.Has(models.Odometer) {
		r.Miles = models.Num(math.Round(m.Meters.Shown(c.miles[d])*10) / 10)
	}
	if source != models.SourceShop && rng.Float64() < 0.025 {
		f.soil(&r, rng)
	}
	c.hist.Readings = append(c.hist.Readings, r)
}

// soil makes a slip in a reading.
func (f *folder) soil(r *models.Reading, rng *rand.Rand) {
	n := &r.Hours
	if r.Miles.Known && (rng.IntN(2) == 0 || !n.Known) {
		n = &r.Miles
	}
	text := strconv.Itoa(int(n.F))
	i := rng.IntN(len(text))
	kind := ""
	switch rng.IntN(4) {
	case 0:
		if i+1 < len(text) && text[i] != text[i+1] {
			b := []byte(text)
			b[i], b[i+1] = b[i+1], b[i]
			text, kind = string(b), "typo_swap"
		}
	case 1:
		text, kind = text[:i]+strconv.Itoa(rng.IntN(10))+text[i:], "typo_extra"
	case 2:
		if len(text) > 1 {
			text, kind = text[:i]+text[i+1:], "typo_missing"
		}
	case 3:
		if n == &r.Miles && n.F > 100 {
			text, kind = strconv.Itoa(int(n.F*models.KilometersPerMile)), "unit_km"
		}
	}
	v, err := strconv.ParseFloat(text, 64)
	if kind == "" || err != nil || v == math.Floor(n.F) {
		return
	}
	n.F = v
	f.dirt[dirtKey(r.Machine, r.At, r.Miles, r.Hours)] = kind
}

// TestInvented measures on invented fleets of habits that the model was not
// made on. The bounds leave room for the luck of a small fleet.
func TestInvented(t *testing.T) {
	n := 140
	if testing.Short() {
		n = 70
	}
	for _, seed := range []uint64{1} {
		f := invent(seed, n)
		require.NotEmpty(t, f.cases)
		r := measure(f)
		t.Logf("seed %d\n%s", seed, r)
		require.Less(t, r.ratio(), 0.85)
		require.InDelta(t, 0.80, r.all.inside/r.all.n, 0.09)
	}
}
