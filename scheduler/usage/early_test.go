package usage

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// steadyHistory is an odometer read once a month at 300 miles a month.
func steadyHistory(extra ...models.Reading) models.History {
	in := models.MustDate("2024-01-10")
	h := models.History{Machine: models.Machine{ID: "M", Kind: "utv", Meters: models.MetersMiles, InService: in, MilesStart: models.Num(4000)}}
	for i := range 12 {
		h.Readings = append(h.Readings, models.Reading{Fact: models.Fact{Row: int64(i + 1)}, Machine: "M",
			At: in.AddDays(30 * (i + 1)), Miles: models.Num(4000 + 300*float64(i+1)), Source: "owner"})
	}
	h.Readings = append(h.Readings, extra...)
	return h
}

func TestAReadingBeforeTheMachineCameIsDoubtedUntilConfirmed(t *testing.T) {
	r := models.Reading{Fact: models.Fact{Row: 99}, Machine: "M", At: models.MustDate("2023-12-01"), Miles: models.Num(3900), Source: "owner"}
	s := Screen(steadyHistory(r))
	require.Len(t, s.Doubts, 1)
	assert.Equal(t, models.Doubt{Machine: "M", Reading: 99, Meter: models.Odometer, Reason: models.ReasonBefore}, s.Doubts[0])
	r.Standing = models.StandingConfirmed
	assert.Empty(t, Screen(steadyHistory(r)).Doubts)
}

func TestATripMeterReadForTheOdometerIsNamed(t *testing.T) {
	r := models.Reading{Fact: models.Fact{Row: 99}, Machine: "M", At: models.MustDate("2024-07-20"), Miles: models.Num(88.3), Source: "owner"}
	s := Screen(steadyHistory(r))
	require.Len(t, s.Doubts, 1)
	assert.EqualValues(t, 99, s.Doubts[0].Reading)
	assert.Equal(t, models.ReasonTrip, s.Doubts[0].Reason)
}
