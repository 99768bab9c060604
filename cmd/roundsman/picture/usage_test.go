package picture

import (
	"encoding/xml"
	"io"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
)

func sample() Usage {
	d := models.MustDate("2026-01-01")
	u := Usage{Title: "R1: utv, miles", Unit: "mi", Today: d.AddDays(100),
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

func TestPictureNamesWhatItShows(t *testing.T) {
	got := texts(t, sample().Draw(English()))
	for _, words := range []string{"R1: utv, miles", "Dots are readings", "four cases of five", "today, Apr 11, 2026", "1,595 mi",
		"May 1, 2026: coolant level and condition inspection and 1 more", "Jul 20, 2026: engine oil change"} {
		assert.Contains(t, got, words)
	}
	spanish := English()
	spanish.Language = "es"
	assert.Contains(t, texts(t, sample().Draw(spanish)), "hoy, Apr 11, 2026")
	assert.Equal(t, sample().Draw(English()), sample().Draw(English()), "the same picture gives the same bytes")
}

func TestAnEmptyPictureIsDrawnToo(t *testing.T) {
	got := texts(t, Usage{Title: "R1", Today: models.MustDate("2026-01-01")}.Draw(English()))
	assert.Contains(t, got, "R1")
	assert.NotContains(t, got, "falls due")
}

func TestItemsThatTheCalendarDrivesStandOnThePath(t *testing.T) {
	m := sample().merged(English())
	require.Len(t, m, 2)
	assert.InDelta(t, 850, m[0].Value, 30, "the likely value of that day")
	assert.Equal(t, 1500.0, m[1].Value)
}

// The picture of a machine's use is one that any reader of XML takes, and
// stands within its frame whatever the readings.
func TestThePictureOfUseStaysInItsFrame(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		u := Usage{Unit: "mi", Today: sample().Today}
		for range rapid.IntRange(0, 12).Draw(rt, "readings") {
			u.Read = append(u.Read, Dot{On: sample().Today.AddDays(-rapid.IntRange(0, 3000).Draw(rt, "ago")), Value: rapid.Float64Range(0, 1e6).Draw(rt, "value")})
			u.Doubts = append(u.Doubts, Dot{On: sample().Today.AddDays(-rapid.IntRange(0, 3000).Draw(rt, "ago")), Value: rapid.Float64Range(-10, 1e9).Draw(rt, "value")})
		}
		for i := range rapid.IntRange(0, 30).Draw(rt, "path") {
			v := rapid.Float64Range(0, 1e6).Draw(rt, "likely")
			u.Path = append(u.Path, Range{On: sample().Today.AddDays(i * 20), Low: v / 2, Likely: v, High: v * 2})
		}
		d := xml.NewDecoder(strings.NewReader(u.Draw(English())))
		for {
			tok, err := d.Token()
			if err == io.EOF {
				return
			}
			if err != nil {
				rt.Fatal(err)
			}
			e, ok := tok.(xml.StartElement)
			if !ok || e.Name.Local != "circle" {
				continue
			}
			for _, a := range e.Attr {
				v, err := strconv.ParseFloat(a.Value, 64)
				if a.Name.Local == "cx" && (err != nil || v < useLeft || v > useRight) || a.Name.Local == "cy" && (err != nil || v < 30 || v > 30+useHigh) {
					rt.Fatalf("a dot at %s = %s", a.Name.Local, a.Value)
				}
			}
		}
	})
}
