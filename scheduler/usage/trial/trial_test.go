package trial

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// A lie planted in the future of every machine changes no answer of an earlier
// day, nor do the order of machines, facts and cases.
func TestNoPeekingAndNoOrder(t *testing.T) {
	f := invent(5, 42)
	days := make([]models.Date, len(f.cases))
	for i, c := range f.cases {
		days[i] = c.AsOf
	}
	slices.Sort(days)
	cut := days[len(days)*2/3]
	cases := slices.DeleteFunc(slices.Clone(f.cases), func(c Case) bool { return c.AsOf >= cut })
	require.NotEmpty(t, cases)
	// Facts after the cut belong to the future already; the lie comes on top.
	want, doubts := Forecast(f.Fleet, cases)
	for i := range f.Histories {
		h := &f.Histories[i]
		for d := range 3 {
			r := models.Reading{Machine: h.Machine.ID, At: cut.AddDays(d), Miles: models.Num(99000), Hours: models.Num(9000), Source: models.SourceShop}
			r.Row = int64(1_000_000 + 10*i + d)
			h.Readings = append([]models.Reading{r}, h.Readings...)
		}
		h.Services = append([]models.Service{{Machine: h.Machine.ID, Item: "oil", At: cut, Miles: models.Num(98000), Hours: models.Num(8000)}}, h.Services...)
		h.Swaps = append(h.Swaps, models.Swap{Machine: h.Machine.ID, At: cut, Meter: models.HourMeter, OldValue: models.Num(9000)})
	}
	got, doubtsThen := Forecast(f.Fleet, cases)
	assert.Equal(t, want, got)
	assert.Equal(t, doubts, doubtsThen)

	slices.Reverse(f.Histories)
	for i := range f.Histories {
		slices.Reverse(f.Histories[i].Readings)
		slices.Reverse(f.Histories[i].Services)
	}
	slices.Reverse(cases)
	got, _ = Forecast(f.Fleet, cases)
	slices.Reverse(got)
	assert.Equal(t, want, got)
}

func TestForecastUnknown(t *testing.T) {
	f := invent(5, 7)
	got, _ := Forecast(f.Fleet, []Case{{"nobody", "oil", models.MustDate("2021-01-01")},
		{f.Histories[0].Machine.ID, "no such item", models.MustDate("2021-01-01")}, {f.Histories[0].Machine.ID, "oil", 0}})
	for _, a := range got {
		assert.False(t, a.OK)
	}
}

// The calendar caps every date, and the horizon does.
func TestCaps(t *testing.T) {
	in := models.MustDate("2024-01-31")
	h := models.History{Machine: models.Machine{ID: "m", Kind: "utv", Meters: models.MetersHours, InService: in, HoursStart: models.Num(0)}}
	f := Fleet{Histories: []models.History{h}, Rules: bookOf(rulesOf("utv", map[string]plain{
		"months": {Months: 1}, "hours": {Hours: models.Num(1e6)}}))}
	got, _ := Forecast(f, []Case{{"m", "months", in}, {"m", "hours", in}})
	assert.Equal(t, models.MustDate("2024-02-29"), got[0].Due)
	assert.Equal(t, in.AddDays(horizon), got[1].Due)
	assert.Equal(t, in.AddDays(horizon), got[1].Late)
}

func TestAddMonths(t *testing.T) {
	for _, c := range [][2]string{{"2024-01-31", "2024-02-29"}, {"2023-01-31", "2023-02-28"}, {"2024-12-15", "2025-01-15"}} {
		assert.Equal(t, models.MustDate(c[1]), addMonths(models.MustDate(c[0]), 1))
	}
	assert.Equal(t, models.MustDate("2026-02-28"), addMonths(models.MustDate("2024-02-29"), 24))
}

// A service that tells no meter value is placed by the model.
func TestServiceWithoutValue(t *testing.T) {
	in := models.MustDate("2023-01-01")
	h := models.History{Machine: models.Machine{ID: "m", Kind: "utv", Meters: models.MetersHours, InService: in, HoursStart: models.Num(0)}}
	for i := range 12 {
		r := models.Reading{Machine: "m", At: in.AddDays(30 * (i + 1)), Hours: models.Num(float64(30 * (i + 1))), Source: models.SourceShop}
		r.Row = int64(i + 1)
		h.Readings = append(h.Readings, r)
	}
	h.Services = []models.Service{{Machine: "m", Item: "oil", At: in.AddDays(315)}}
	f := Fleet{Histories: []models.History{h}, Rules: bookOf(rulesOf("utv", map[string]plain{"oil": {Hours: models.Num(100)}}))}
	got, _ := Forecast(f, []Case{{"m", "oil", in.AddDays(360)}})
	assert.InDelta(t, 415, float64(got[0].Due-in), 12) // an hour a day
}
