package usage

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// FuzzProfile reads anything as a stored profile: what is taken must serve.
func FuzzProfile(f *testing.F) {
	b, err := benchProfile(f).MarshalBinary()
	require.NoError(f, err)
	f.Add(b)
	f.Add([]byte(`{"seasons":[],"fleet":{}}`))
	f.Add([]byte(`null`))
	h := benchHistory("m", 8)
	f.Fuzz(func(t *testing.T, b []byte) {
		var p Profile
		if p.UnmarshalBinary(b) != nil {
			assert.Zero(t, p)
			return
		}
		s := Screen(h)
		m := Fit(&s, &p)
		c := m.First([]Limit{{models.HourMeter, m.track.lastHr + 50}}, 0)
		assert.LessOrEqual(t, c.Early, c.Likely)
		assert.LessOrEqual(t, c.Likely, c.Late)
		again, err := p.MarshalBinary()
		require.NoError(t, err)
		require.NoError(t, new(Profile).UnmarshalBinary(again))
	})
}

// An empty fleet still makes a profile: the shipped one, numbered.
func TestEmptyFleet(t *testing.T) {
	p, err := NewFitter(20200100).Profile()
	require.NoError(t, err)
	b, err := p.MarshalBinary()
	require.NoError(t, err)
	var back Profile
	require.NoError(t, back.UnmarshalBinary(b))
	assert.Equal(t, 20200100, back.Number)
	s := Screen(benchHistory("m", 8))
	limits := []Limit{{models.HourMeter, 500}}
	assert.Equal(t, Fit(&s, nil).First(limits, 0), Fit(&s, &back).First(limits, 0))
}
