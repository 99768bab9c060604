package models_test

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
)

func TestGrouped(t *testing.T) {
	for want, f := range map[string]float64{"0": 0, "999": 999, "1,000": 1000, "-1,234,568": -1234568, "12,345.6": 12345.6, "-0.5": -0.5} {
		assert.Equal(t, want, models.Grouped(f))
	}
	assert.Equal(t, "-100", models.Grouped(-100))
	assert.Equal(t, "100,000", models.Grouped(int64(100000)))
}

func TestListed(t *testing.T) {
	for want, words := range map[string][]string{"": nil, "a": {"a"}, "a or b": {"a", "b"}, "a, b or c": {"a", "b", "c"}} {
		assert.Equal(t, want, models.Listed(words, "or"))
	}
}

func TestHoursOf(t *testing.T) {
	for want, minutes := range map[string]int{"25 min": 25, "1 h": 60, "1.4 h": 84, "2 h": 120} {
		assert.Equal(t, want, models.HoursOf(minutes))
	}
}

// Nothing is lost, no line is too long, and each but the last is full.
func TestWrap(t *testing.T) {
	assert.Equal(t, []string{"- one two", "  three"}, models.Wrap("- ", "  ", "one two three", 10))
	assert.Equal(t, []string{"abcd", "ef"}, models.Wrap("", "", "abcdef", 4))
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.SliceOf(rapid.StringMatching(`[a-zñ]{1,12}`)).Draw(t, "words")
		width := rapid.IntRange(3, 30).Draw(t, "width")
		lines := models.Wrap("> ", "  ", strings.Join(words, " "), width)
		var all strings.Builder
		for _, l := range lines {
			assert.LessOrEqual(t, utf8.RuneCountInString(l), width)
			all.WriteString(strings.ReplaceAll(l, " ", ""))
		}
		assert.Equal(t, ">"+strings.Join(words, ""), all.String())
	})
}

func TestNearest(t *testing.T) {
	words := []string{"coolant", "month", "sitting"}
	for word, want := range map[string]string{"coolent": "coolant", "months": "month", "kitten": "sitting", "mo": "", "": ""} { // kitten, sitting: three slips, as textbooks have it
		assert.Equal(t, want, models.Nearest(word, words, 3), word)
	}
	assert.Empty(t, models.Nearest("kitten", words, 2))
}
