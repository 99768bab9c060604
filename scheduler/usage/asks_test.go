package usage

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/roundsman/models"
)

// said is one value that somebody gave some days after the first.
type said struct {
	day    int
	value  float64
	width  float64
	source string
}

// shortHistory is a machine of which little is known.
func shortHistory(meter models.Meter, start models.Number, says ...said) models.History {
	in := models.MustDate("2026-05-01")
	h := models.History{Machine: models.Machine{ID: "M", Tag: "R1", Kind: "utv", Meters: models.MetersBoth}}
	if start.Known {
		h.Machine.InService = in
		if h.Machine.MilesStart = start; meter == models.HourMeter {
			h.Machine.MilesStart, h.Machine.HoursStart = models.Number{}, start
		}
	}
	for i, s := range says {
		r := models.Reading{Fact: models.Fact{Row: int64(i + 1)}, Machine: "M", At: in.AddDays(s.day), Source: s.source}
		if r.Miles = models.Num(s.value); meter == models.HourMeter {
			r.Miles, r.Hours = models.Number{}, models.Num(s.value)
		}
		if s.width > 0 {
			r.Width = models.Num(s.width)
		}
		h.Readings = append(h.Readings, r)
	}
	return h
}

// TestASlipOnAShortHistoryIsAsked: where one or two readings are all that is
// known, a digit too many, too few or swapped is asked about, and the true
// value stays trusted.
func TestASlipOnAShortHistoryIsAsked(t *testing.T) {
	const h, mi = models.HourMeter, models.Odometer
	for name, c := range map[string]struct {
		meter models.Meter
		start models.Number
		known []said
		next  said
	}{
		"1500 h, then 15000 the same day":  {meter: h, known: []said{{value: 1500}}, next: said{value: 15000}},
		"about 1500 h, then 15200":         {meter: h, known: []said{{value: 1500, width: 100}}, next: said{day: 9, value: 15200}},
		"2800 mi, then 28500":              {meter: mi, known: []said{{value: 2800}}, next: said{day: 20, value: 28500}},
		"2800 mi, then 28500 in six weeks": {meter: mi, known: []said{{value: 2800}}, next: said{day: 42, value: 28500}},
		"bought with 640 h, then 6550":     {meter: h, start: models.Num(640), next: said{day: 14, value: 6550}},
		"44 h, then 480":                   {meter: h, known: []said{{value: 44}}, next: said{day: 21, value: 480}},
		"44 h, then 480 in six weeks":      {meter: h, known: []said{{value: 44}}, next: said{day: 42, value: 480}},
		"12 h, then 120":                   {meter: h, known: []said{{value: 12}}, next: said{day: 8, value: 120}},
		"12 h, then 120 in four weeks":     {meter: h, known: []said{{value: 12}}, next: said{day: 28, value: 120}},
		"12 mi, then 120":                  {meter: mi, known: []said{{value: 12}}, next: said{day: 8, value: 120}},
		"two readings, then a digit more":  {meter: h, known: []said{{value: 640}, {day: 30, value: 655}}, next: said{day: 50, value: 6650}},
		"a digit fewer":                    {meter: h, known: []said{{value: 1500}}, next: said{day: 8, value: 152}},
		"two digits swapped":               {meter: h, known: []said{{value: 1240}}, next: said{day: 10, value: 2145}},
		"two digits swapped, that falls":   {meter: h, known: []said{{value: 2140}}, next: said{day: 10, value: 1248}},
		"more than 16 h a day for weeks":   {meter: h, known: []said{{value: 300}}, next: said{day: 60, value: 1700}},
		"more than 500 mi a day for weeks": {meter: mi, known: []said{{value: 300}}, next: said{day: 21, value: 15000}},
	} {
		for _, by := range [][2]string{{"shop", "shop"}, {"owner", "owner"}, {"owner", "shop"}, {"shop", "owner"}} {
			t.Run(name+"/"+by[0]+" then "+by[1], func(t *testing.T) {
				for i := range c.known {
					c.known[i].source = by[0]
				}
				c.next.source = by[1]
				hist := shortHistory(c.meter, c.start, c.known...)
				next := shortHistory(c.meter, c.start, append(c.known, c.next)...)
				fresh := next.Readings[len(next.Readings)-1]
				d, _, ok := Asks(hist, []models.Reading{fresh})
				assert.True(t, ok, "it is asked about")
				assert.Equal(t, c.meter, d.Meter)
				fresh.Standing = models.StandingConfirmed
				_, _, ok = Asks(hist, []models.Reading{fresh})
				assert.False(t, ok, "somebody is sure")
			})
		}
	}
}

// TestAnOrdinaryReadingOfAShortHistoryIsNot: what machines do is not asked
// about, however little is known of them.
func TestAnOrdinaryReadingOfAShortHistoryIsNot(t *testing.T) {
	const h, mi = models.HourMeter, models.Odometer
	for name, c := range map[string]struct {
		meter models.Meter
		start models.Number
		known []said
		next  said
	}{
		"new, and 60 h in a month":       {meter: h, start: models.Num(0), next: said{day: 30, value: 60}},
		"new, and 900 mi in a month":     {meter: mi, start: models.Num(0), next: said{day: 30, value: 900}},
		"a generator that runs all day":  {meter: h, known: []said{{value: 3100}}, next: said{day: 10, value: 3320}},
		"a hundred hours in two months":  {meter: h, known: []said{{value: 640}}, next: said{day: 60, value: 741}},
		"the same again":                 {meter: h, known: []said{{value: 640}}, next: said{day: 60, value: 640}},
		"a year later":                   {meter: h, known: []said{{value: 44}}, next: said{day: 365, value: 460}},
		"a guess, then read":             {meter: h, known: []said{{value: 1500, width: 100}}, next: said{day: 3, value: 1440}},
		"a guess after it was read":      {meter: h, known: []said{{value: 1500}}, next: said{day: 3, value: 1480, width: 100}},
		"read after years":               {meter: mi, known: []said{{value: 900}}, next: said{day: 1100, value: 9100}},
		"a long tour":                    {meter: mi, known: []said{{value: 4100}}, next: said{day: 14, value: 6600}},
		"the first hours of a new meter": {meter: h, known: []said{{value: 2}}, next: said{day: 21, value: 24}},
	} {
		t.Run(name, func(t *testing.T) {
			for i := range c.known {
				c.known[i].source = "shop"
			}
			c.next.source = "shop"
			hist := shortHistory(c.meter, c.start, c.known...)
			next := shortHistory(c.meter, c.start, append(c.known, c.next)...)
			d, _, ok := Asks(hist, next.Readings[len(next.Readings)-1:])
			assert.False(t, ok, "%+v", d)
		})
	}
}
