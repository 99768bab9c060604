package picture

import (
	"encoding/xml"
	"errors"
	"flag"
	"io"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/visit/shop"
)

var update = flag.Bool("update", false, "write the golden files anew")

func summer() Strip {
	d := models.MustDate
	s := Strip{Title: "Downtime plan of Juniper & Creek", From: d("2026-05-28"), Until: d("2026-06-30"),
		Tags: []Tag{
			{From: d("2026-05-29"), Until: d("2026-05-29"), Label: "R12", Place: "Mesa Verde Ranch", Work: "coolant change, thermostat change", Why: "last open day before the season; coolant change due Jun 3", Agreed: true},
			{From: d("2026-05-29"), Until: d("2026-06-02"), Label: "T1", Place: "north barn", Work: "hoses", Why: "the day it falls due"},
			{From: d("2026-06-29"), Until: d("2026-06-29"), Label: "a very long label", Place: "<yard>", Work: strings.Repeat("engine oil change, ", 20), Why: "soon"},
		},
		Off:  []shop.Off{{From: d("2026-06-01"), Until: d("2026-06-20"), Site: "mesa", Note: "summer season"}},
		Name: func(string) string { return "Mesa Verde Ranch" },
	}
	for on := s.From; on <= s.Until; on++ {
		wd := on.Weekday()
		day := shop.DayLoad{On: on, Used: int(on) % 5}
		if wd != 0 && wd != 6 {
			day.Open = 4
		}
		s.Days = append(s.Days, day)
	}
	s.Days[1].Open, s.Days[1].Closed = 0, "inventory"
	return s
}

// texts gives all texts of a picture, and fails where it is no XML.
func texts(t require.TestingT, svg string) string {
	var out []string
	for d := xml.NewDecoder(strings.NewReader(svg)); ; {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return strings.Join(strings.Fields(strings.Join(out, " ")), " ")
		}
		require.NoError(t, err)
		if data, ok := token.(xml.CharData); ok {
			out = append(out, string(data))
		}
	}
}

func TestStripSaysEverythingInWords(t *testing.T) {
	got := texts(t, summer().Draw())
	for _, want := range []string{
		"Downtime plan of Juniper & Creek", "May 2026", "June 2026", "3 visits",
		"Fri May 29: R12, Mesa Verde Ranch (agreed). coolant change, thermostat change",
		"last open day before the season; coolant change due Jun 3",
		"Fri May 29 to Jun 2: T1, north barn (planned). hoses",
		"Mesa Verde Ranch: summer season", "inventory",
	} {
		assert.Contains(t, got, want)
	}
	assert.Equal(t, 20, strings.Count(strings.Split(got, "<yard> (planned).")[1], "engine oil change,"), "long work is wrapped, not cut")
	assert.NotContains(t, got, "No visit begins", "each month has one")
}

// A plan reads in grey: every color of it is one.
func TestStripNeedsNoColor(t *testing.T) {
	for _, c := range regexp.MustCompile(`#[0-9a-fA-F]+`).FindAllString(regexp.MustCompile(`&#\d+;`).ReplaceAllString(summer().Draw(), ""), -1) {
		switch len(c) {
		case 4:
			assert.True(t, c[1] == c[2] && c[2] == c[3], c)
		case 7:
			assert.True(t, c[1:3] == c[3:5] && c[3:5] == c[5:7], c)
		default:
			assert.Fail(t, c)
		}
	}
	assert.Equal(t, 3, strings.Count(summer().Draw(), "stroke-dasharray"), "a planned tag in each month that it touches")
}

// A page shows a month by itself, and its tags lead to the visits.
func TestAMonthStandsAlone(t *testing.T) {
	s := summer()
	s.Tags[0].Link = "#day-2026-05-29"
	may, june := s.Month(models.MustDate("2026-05-01"), "Mayo <5>"), s.Month(models.MustDate("2026-06-01"), "Junio")
	assert.Contains(t, texts(t, may), "R12")
	assert.Contains(t, may, `<a href="#day-2026-05-29">`)
	assert.Contains(t, may, `aria-label="Mayo &lt;5&gt;"`)
	assert.NotContains(t, texts(t, june), "R12")
	assert.Contains(t, texts(t, june), "summer season")
}

func TestStripGolden(t *testing.T) {
	const path = "testdata/strip.svg"
	if *update {
		require.NoError(t, os.WriteFile(path, []byte(summer().Draw()), 0o600))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(want), summer().Draw())
}

// Whatever stands in the texts, the picture is sound XML and holds them.
func TestStripTakesAnyText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := summer()
		s.Title = rapid.String().Draw(t, "title")
		s.Tags[0].Label = rapid.String().Draw(t, "label")
		s.Tags[1].Work = rapid.String().Draw(t, "work")
		s.Off[0].Note = rapid.String().Draw(t, "note")
		assert.Contains(t, texts(t, s.Draw()), "June 2026")
	})
}

func TestStripOfNothing(t *testing.T) {
	s := Strip{Title: "Empty", From: models.MustDate("2026-12-31"), Until: models.MustDate("2026-12-31")}
	got := texts(t, s.Draw())
	assert.Contains(t, got, "No visit begins in this month.")
	assert.NotContains(t, got, "January 2027")
}
