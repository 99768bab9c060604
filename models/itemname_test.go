package models_test

import (
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"

	"example.org/roundsman/models"
)

func TestItemName(t *testing.T) {
	tests := []struct{ item, lang, want string }{
		{models.ItemCoolant, "en", "coolant change"},
		{models.ItemCoolant, "", "coolant change"},
		{models.ItemCoolant, "de", "coolant change"},
		{models.ItemCoolant, "es", "cambio de refrigerante"},
		{models.ItemCoolant, "es-MX", "cambio de refrigerante"},
		{models.ItemCoolant, "ES_419", "cambio de refrigerante"},
		{models.ItemECTSensor, "en-US", "coolant temperature sensor change"},
		{models.ItemBreakIn, "es", "servicio de asentamiento"},
		{"winch_rope", "en", "winch rope"},
		{"winch_rope", "es", "winch rope"},
		{"drive", "en", "drive"},
		{"", "en", ""},
	}
	for _, tt := range tests {
		t.Run(tt.item+"/"+tt.lang, func(t *testing.T) {
			assert.Equal(t, tt.want, models.ItemName(tt.item, tt.lang))
		})
	}
}

// Every known item has its own words in both languages, fit for the middle of
// a sentence and for a text message.
func TestItemNamesAreComplete(t *testing.T) {
	seen := map[string]string{}
	for _, item := range models.KnownItems() {
		for _, lang := range []string{"en", "es"} {
			name := models.ItemName(item, lang)
			assert.NotEqual(t, strings.ReplaceAll(item, "_", " "), name, "%s has no words in %s", item, lang)
			assert.LessOrEqual(t, utf8.RuneCountInString(name), 50, name)
			first, _ := utf8.DecodeRuneInString(name)
			assert.True(t, unicode.IsLower(first), name)
			assert.Equal(t, strings.TrimSpace(name), name)
			assert.Empty(t, seen[lang+name], "%s and %s are both called %q", item, seen[lang+name], name)
			seen[lang+name] = item
		}
		assert.NotEqual(t, models.ItemName(item, "en"), models.ItemName(item, "es"), item)
	}
	assert.Len(t, models.KnownItems(), 19, "an item added to rule.go needs words here")
}

func TestSpanish(t *testing.T) {
	for lang, want := range map[string]bool{
		"es": true, "ES": true, "es-MX": true, "es-419": true, "es_ES": true,
		"": false, "en": false, "est": false, "e": false, "pt-es": false,
	} {
		assert.Equal(t, want, models.Spanish(lang), lang)
	}
}
