package phone_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
	"example.org/roundsman/models/phone"
)

func TestParse(t *testing.T) {
	// Lengths and trunk prefixes: ITU-T E.164 and its list of national
	// numbering plans (E.129). Numbers 555-01xx are kept for fiction (NANPA).
	tests := []struct{ number, country, want, wrong string }{
		{"(970) 555-0110", "US", "+19705550110", ""},
		{"970.555.0110", "US", "+19705550110", ""},
		{"1 970 555 0110", "US", "+19705550110", ""},
		{"+1 970 555 0110", "US", "+19705550110", ""},
		{"+19705550110", "", "+19705550110", ""},
		{"0151 23456789", "DE", "+4915123456789", ""}, // trunk 0 falls away
		{"+49 151 23456789", "US", "+4915123456789", ""},
		{"55 5555 0110", "MX", "+525555550110", ""},
		{"555-0110", "US", "", "has no area code"},
		{"970 555 011", "US", "", "has too few digits"},
		{"970 555 0110 0110", "US", "", "has too many digits"},
		{"970 555 0110 x12", "US", "", "has more than a number in it"},
		{"ask Bob", "US", "", "has more than a number in it"},
		{"970 555 0110", "", "", "has no country code"},
		{"()", "US", "", "is not a telephone number"},
	}
	for _, tt := range tests {
		got, err := phone.Parse(tt.number, tt.country)
		if tt.wrong != "" {
			assert.EqualError(t, err, tt.wrong, tt.number)
			continue
		}
		assert.NoError(t, err, tt.number)
		assert.Equal(t, tt.want, got, tt.number)
	}
}

func TestShow(t *testing.T) {
	assert.Equal(t, "(970) 555-0110", phone.Show("+19705550110", "US"))
	assert.Equal(t, "+1 970-555-0110", phone.Show("+19705550110", "MX"))
	assert.Equal(t, "+1 970-555-0110", phone.Show("+19705550110", ""))
	assert.Equal(t, "", phone.Show("", "US"))
	assert.Equal(t, "no number", phone.Show("no number", "US"))
}

func TestWhatIsShownReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		country := rapid.SampledFrom([]string{"US", "CA", "MX", "DE", "GB", "AU", "NZ", "FR"}).Draw(t, "country")
		digits := rapid.StringMatching(`[2-9][0-9]{9}`).Draw(t, "digits")
		number, err := phone.Parse(digits, country)
		if err != nil {
			t.Skip()
		}
		require.True(t, models.ValidMobile(number))
		back, err := phone.Parse(phone.Show(number, country), country)
		require.NoError(t, err)
		assert.Equal(t, number, back)
	})
}

func TestKnownCountry(t *testing.T) {
	assert.True(t, phone.KnownCountry("US"))
	for _, code := range []string{"", "us", "USA", "XX"} {
		assert.False(t, phone.KnownCountry(code), code)
	}
}

func FuzzParse(f *testing.F) {
	f.Add("(970) 555-0110", "US")
	f.Add("+1", "")
	f.Fuzz(func(t *testing.T, number, country string) {
		if got, err := phone.Parse(number, country); err == nil {
			assert.True(t, models.ValidMobile(got), "%q gives %q", number, got)
		}
	})
}
