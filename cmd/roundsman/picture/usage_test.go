package picture

import (
	"bytes"
	"encoding/xml"
	"image/png"
	"io"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

func sample() Usage {
	d := models.MustDate("2026-01-01")
	u := Usage{Title: "R1: utv, miles", Unit: "miles", Today: d.AddDays(100),
		Read: []Dot{{d, 10}, {d.AddDays(50), 400}}, Doubts: []Dot{{d.AddDays(60), 4000}},
		Due: []Due{
			{Name: "coolant level and condition inspection", Early: d.AddDays(110), On: d.AddDays(120), Later: d.AddDays(150)},
			{Name: "greasing", Early: d.AddDays(110), On: d.AddDays(121), Later: d.AddDays(150), Value: 900},
			{Name: "engine oil change", Early: d.AddDays(180), On: d.AddDays(200), Later: d.AddDays(250), Value: 1500},
		}}
	for i := range 30 {
		v := float64(i) * 50
		u.Path = append(u.Path, Range{On: d.AddDays(7 * i), Low: v * 0.9, Likely: v, High: v * 1.1})
	}
	return u
}

func drawn(t *testing.T, u Usage, format string) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, u.Draw(&b, format))
	return b.Bytes()
}

func TestPictureNamesWhatItShows(t *testing.T) {
	svg := drawn(t, sample(), SVG)
	for _, words := range []string{"R1: utv, miles", "likely value", "4 cases of 5 lie within", "reading", "doubted", "today, Apr 11 2026",
		"May 1 2026: coolant level and condition inspection and 1 more", "Jul 20 2026: engine oil change"} {
		assert.Contains(t, string(svg), words)
	}
	for d := xml.NewDecoder(bytes.NewReader(svg)); ; {
		_, err := d.Token()
		if err == io.EOF {
			break
		}
		require.NoError(t, err, "well-formed XML")
	}
	img, err := png.Decode(bytes.NewReader(drawn(t, sample(), PNG)))
	require.NoError(t, err)
	assert.Greater(t, img.Bounds().Dx(), 800)
}

func TestTheSamePictureGivesTheSameBytes(t *testing.T) {
	assert.True(t, bytes.Equal(drawn(t, sample(), SVG), drawn(t, sample(), SVG)))
}

func TestAnEmptyPictureIsDrawnToo(t *testing.T) {
	assert.NotEmpty(t, drawn(t, Usage{Title: "R1", Today: models.MustDate("2026-01-01")}, SVG))
	assert.Error(t, sample().Draw(io.Discard, "gif"))
}

func TestItemsThatTheCalendarDrivesStandOnThePath(t *testing.T) {
	m := sample().merged()
	require.Len(t, m, 2)
	assert.InDelta(t, 850, m[0].Value, 30, "the likely value of that day")
	assert.Equal(t, 1500.0, m[1].Value)
}
