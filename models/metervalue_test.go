package models_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/roundsman/models"
)

// The widths of guesses are common practice, no source.
func TestParseMeterValue(t *testing.T) {
	exact := func(f float64) models.MeterValue { return models.MeterValue{Number: models.Num(f)} }
	about := func(f, w float64) models.MeterValue {
		return models.MeterValue{Number: models.Num(f), Width: models.Num(w)}
	}
	for text, want := range map[string]models.MeterValue{
		"":                    {},
		"6120.4":              exact(6120.4),
		" 6,120.4 ":           exact(6120.4),
		"6 120,4":             exact(6120.4),
		"6\u202f120":          exact(6120),
		"6.120,4":             exact(6120.4),
		"6'120":               exact(6120),
		"61,5":                exact(61.5),
		"1,234,567":           exact(1234567),
		"6120 mi":             exact(6120),
		"6120mi":              exact(6120),
		"6,120 miles":         exact(6120),
		"about 4500":          about(4500, 225),
		"About 4,500 mi":      about(4500, 225),
		"~300":                about(300, 50),
		"approx. 4500":        about(4500, 225),
		"4500ish":             about(4500, 225),
		"4500 or so":          about(4500, 225),
		"4500 miles or so":    about(4500, 225),
		"unos 4500":           about(4500, 225),
		"alrededor de 4.500,": {},
		"4500 +-100":          about(4500, 100),
		"4500 ± 100 mi":       about(4500, 100),
		"about 4500 +/- 100":  about(4500, 100),
		"4400-4600":           about(4500, 100),
		"4400 to 4600":        about(4500, 100),
	} {
		v, err := models.ParseMeterValue(text, models.Odometer, false)
		if want == (models.MeterValue{}) && text != "" {
			assert.Error(t, err, text)
			continue
		}
		assert.NoError(t, err, text)
		assert.Equal(t, want, v, text)
	}
	for text, want := range map[string]error{
		"six": models.ErrNotANumber, "-5": models.ErrNegative, "6120 km": models.ErrOtherUnit, "41 h": models.ErrOtherUnit,
		"6,1204": models.ErrNotANumber, "1.2.3": models.ErrNotANumber, "about": models.ErrNotANumber, "4600-4400": models.ErrNotANumber,
		"500 miles ago": models.ErrNotANumber, "about 500 mi ago": models.ErrNotANumber, "500 ago": models.ErrNotANumber, "hace 500 millas": models.ErrNotANumber,
		"1e3": models.ErrNotANumber, "99999999999": models.ErrTooLarge,
	} {
		_, err := models.ParseMeterValue(text, models.Odometer, false)
		assert.ErrorIs(t, err, want, text)
	}
	v, err := models.ParseMeterValue("about 300 km", models.Odometer, true)
	assert.NoError(t, err)
	assert.Equal(t, about(300, 80), v, "50 miles are 80 km")
	v, err = models.ParseMeterValue("about 40 hours", models.HourMeter, true)
	assert.NoError(t, err)
	assert.Equal(t, about(40, 5), v)
}

// FuzzParseMeterValue holds that whatever is typed is refused or gives a
// figure in bounds whose width is above zero.
func FuzzParseMeterValue(f *testing.F) {
	for _, s := range []string{"6,120.4", "about 4500", "4400-4600", "4500 +- 9", "6 120,4 km", "~", ",,,", "1' 2"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		v, err := models.ParseMeterValue(s, models.Odometer, false)
		if err != nil {
			return
		}
		if v.F < 0 || v.F > models.MaxNumber || v.Width.Known && (v.Width.F <= 0 || !v.Known) {
			t.Errorf("%q gives %+v", s, v)
		}
	})
}

// A baseline is read without a panic, and what it says of a meter is what
// ParseMeterValue reads.
func FuzzParseBaseline(f *testing.F) {
	for _, s := range []string{"done:2025-05", "done:2025-05@1,500 mi", "done:about 400 h", "done:1500km", "fine", "done:", "done:@"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, said string) {
		b, err := models.ParseBaseline(models.ItemOil, said, models.Machine{ID: "M", Meters: models.MetersBoth})
		if err == nil && b.State == models.BaselineDone && b.DoneOn == 0 && !b.Miles.Known && !b.Hours.Known {
			t.Errorf("%q is taken and says nothing", said)
		}
		if b.Miles.F < 0 || b.Hours.F < 0 {
			t.Errorf("%q gives less than nothing", said)
		}
	})
}
