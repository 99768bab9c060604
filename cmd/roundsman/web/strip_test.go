package web

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
)

func TestAStripSaysWhatItShows(t *testing.T) {
	t.Parallel()
	f := sampleFrame("en")
	s := sampleStrip(f, wideStrip)
	assert.Equal(t, "late: thermostat test, Sep 3; coming: coolant, Nov 22 (Nov 7 to Jan 1); clear: hoses, Jul 10, 2027 (May 21, 2027 to Sep 28, 2027); "+
		"visit Nov 17: coolant, cap; no date: cap; no machine out: season, Dec 2 – Dec 22", s.Words)
	assert.Len(t, s.Notches, 3)
	assert.True(t, s.Notches[0].Heavy)
	assert.Equal(t, s.Left, s.Notches[0].X, "what is late stands at the beginning")
	assert.Len(t, s.Knots, 1)
	assert.Len(t, s.Closed, 1)
	assert.NotEmpty(t, s.Strands, "an unsure date frays the thread")
	assert.Equal(t, "nothing due within a year", f.strip(stripOf{Width: smallStrip}).Words)
	assert.Contains(t, sampleStrip(sampleFrame("es"), wideStrip).Words, "atrasado: prueba del termostato, 3 sep")
}

// Whatever is shown, marks stay on the picture and words do not run into each
// other or over its edge.
func TestAStripStaysReadable(t *testing.T) {
	t.Parallel()
	f := sampleFrame("en")
	rapid.Check(t, func(rt *rapid.T) {
		width := rapid.SampledFrom([]int{wideStrip, smallStrip}).Draw(rt, "width")
		items := models.KnownItems()
		var fs []models.Forecast
		for i := range rapid.IntRange(0, len(items)).Draw(rt, "items") {
			due := f.Today.AddDays(rapid.IntRange(-400, 800).Draw(rt, "due"))
			v := models.Forecast{Item: items[i], DueOn: due, EarlyOn: due.AddDays(-rapid.IntRange(0, 300).Draw(rt, "before")),
				LateOn: due.AddDays(rapid.IntRange(0, 300).Draw(rt, "after")), LeadDays: 30, GraceDays: 14}
			if rapid.Bool().Draw(rt, "undated") && i%5 == 0 {
				v.EarlyOn, v.DueOn, v.LateOn = 0, 0, 0
			}
			fs = append(fs, v)
		}
		s := f.strip(stripOf{Forecasts: fs, Width: width})
		ends := map[int]int{}
		for _, n := range s.Notches {
			if n.X < s.Left || n.X > s.Right {
				rt.Fatalf("a notch at %d is not on the thread", n.X)
			}
			if n.Row == 0 {
				continue
			}
			wide := int(charWide * float64(len([]rune(n.Text))))
			from := n.TextX
			if n.End {
				from -= wide
			}
			if from < 0 || from+wide > width+8 {
				rt.Fatalf("%q at %d runs over the edge", n.Text, from)
			}
			if from < ends[n.Row] {
				rt.Fatalf("%q runs into the words before it", n.Text)
			}
			ends[n.Row] = from + wide
		}
	})
}

func TestHatchingStaysInItsRectangle(t *testing.T) {
	t.Parallel()
	f := sampleFrame("en")
	assert.Equal(t, "M16 20L10 26M20 22L12 30M20 28L18 30", f.Hatch(10, 20, 10, 10))
	assert.Empty(t, f.Hatch(0, 0, 2, 2))
}

func TestTheGraphCountsDays(t *testing.T) {
	t.Parallel()
	f := sampleFrame("en")
	g := f.graph(map[models.Date]map[models.MessageState]int{
		f.Today: {models.MessageSent: 4, models.MessageFailed: 1}, f.Today.AddDays(-3): {models.MessageQueued: 2}, f.Today.AddDays(-300): {models.MessageSent: 9},
	})
	assert.Equal(t, "Oct 30: 0 sent, 2 waiting, 0 failed; Nov 2: 4 sent, 0 waiting, 1 failed", g.Words)
	assert.Equal(t, 4, g.Sent)
	assert.Equal(t, 1, g.Failed)
}

// TestBoldWordsOfTheStripMeetNoOthers: what is late or due is written bold, and
// so takes more room than the same words would; and every line is drawn before
// the words, which it then passes behind.
func TestBoldWordsOfTheStripMeetNoOthers(t *testing.T) {
	t.Parallel()
	f := sampleFrame("en")
	var fs []models.Forecast
	for i, item := range []string{models.ItemCoolant, models.ItemThermostat, models.ItemHoses, models.ItemCap} {
		on := f.Today.AddDays(-40 + 70*i)
		fs = append(fs, models.Forecast{Machine: "m1", Item: item, Stage: models.StageLate, EarlyOn: on, DueOn: on, LateOn: on, LeadDays: 10})
	}
	s := f.strip(stripOf{Forecasts: fs, Width: smallStrip})
	ends := map[int]int{}
	for _, n := range s.Notches {
		if n.Row == 0 || n.End {
			continue
		}
		wide := charWide
		if n.Heavy {
			wide = 7.2 // pixels of an average bold letter at 12 px in the browser of the tests
		}
		assert.GreaterOrEqual(t, n.TextX, ends[n.Row], n.Text)
		ends[n.Row] = n.TextX + int(wide*float64(len([]rune(n.Text))))
	}
	p, err := loadPages()
	require.NoError(t, err)
	body, err := p.render("machine", sampleMachine("en"))
	require.NoError(t, err)
	svg, _, _ := strings.Cut(body.String()[strings.Index(body.String(), `<svg class="strip"`):], "</svg>")
	assert.Less(t, strings.LastIndex(svg, `class="lead"`), strings.Index(svg, `class="word"`))
}
