package models_test

import (
	"slices"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

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
		{models.ItemECTSensor, "en-US", "coolant temp sensor test"},
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

// Every item of the catalogue says all that its receivers need: words of its
// own in both languages, fit for the middle of a sentence and for a text
// message, what kind of work it is, its cautions.
func TestItemsAreComplete(t *testing.T) {
	seen := map[string]string{}
	once := func(item, what string) {
		assert.Contains(t, []string{"", item}, seen[what], "shared: %q", what)
		seen[what] = item
	}
	for _, it := range models.Items() {
		once(it.ID, it.ID)
		for _, p := range []models.Phrase{it.Name, it.Short} {
			assert.NotEqual(t, p.EN, p.ES, it.ID)
			for lang, name := range map[string]string{"en": p.EN, "es": p.ES} {
				first, _ := utf8.DecodeRuneInString(name)
				assert.True(t, unicode.IsLower(first), "%s: %q", it.ID, name)
				assert.Equal(t, strings.TrimSpace(name), name)
				assert.LessOrEqual(t, utf8.RuneCountInString(name), 50, name)
				once(it.ID, lang+": "+name)
			}
		}
		assert.LessOrEqual(t, utf8.RuneCountInString(it.Short.EN), 20, it.ID)
		assert.Contains(t, []models.Work{models.WorkChange, models.WorkService, models.WorkInspection, models.WorkTest}, it.Work, it.ID)
		assert.NotEmpty(t, it.Topics, "%s: nobody decided on its cautions", it.ID)
		assert.NotEmpty(t, it.Replies, "%s: nobody decided how replies name it", it.ID)
		assert.True(t, !it.Opens || it.Cooling, "%s opens what it does not belong to", it.ID)
		assert.True(t, !it.Opens || slices.Contains(it.Topics, models.TopicExhaust), "%s is bled with the engine running", it.ID)
		for _, by := range it.DoneBy {
			assert.Contains(t, models.KnownItems(), by, it.ID)
		}
		for _, p := range []models.Phrase{it.Passed, it.Means} {
			assert.Equal(t, p.EN == "", p.ES == "", "%s: said in one language only", it.ID)
		}
		if it.OnCondition {
			assert.True(t, slices.ContainsFunc(models.Items(), func(test models.Item) bool { return slices.Contains(test.DoneBy, it.ID) && test.Passed.EN != "" }),
				"%s: no test says when it is to be changed", it.ID)
		}
	}
}

// An item is found by its id, by another way to write the id, and by all names
// that lists print and the trade uses, however they are typed; a part of a name
// is enough where no other item has it.
func TestFindItem(t *testing.T) {
	for _, it := range models.Items() {
		for _, said := range []string{it.ID, it.Name.EN, it.Name.ES, strings.ToUpper(it.Name.EN), it.Short.EN, it.Short.ES} {
			got, ok := models.ItemNamed(said)
			assert.True(t, ok && got == it.ID, "%q is %q, not %s", said, got, it.ID)
		}
	}
	for said, want := range map[string]string{
		"Coolant change": models.ItemCoolant, "engine oil change": models.ItemOil, "cambio de bujias": models.ItemPlugs, "antifreeze": models.ItemCoolant,
		"brakes_inspection": models.ItemBrakesLook, "break in service": models.ItemBreakIn, " oil ": models.ItemOil, "coolant_inspection": models.ItemCoolantLook,
		"winch rope": "winch_rope", "winch_rope": "winch_rope", "brakes": "brakes", "rope_inspection": "rope_inspection",
	} {
		got, ok := models.ItemNamed(said, "winch_rope", "brakes", "rope_inspection")
		assert.True(t, ok && got == want, "%q is %q", said, got)
	}
	got, ok := models.ItemNamed("thermostat")
	assert.True(t, ok && got == models.ItemThermostat, "an id comes before a short name")
	for said, want := range map[string]string{"air fil": models.ItemAirFilter, "spark": models.ItemPlugs, "clearance": "valves", "winch": "winch_rope"} {
		got, err := models.FindItem(said, "winch_rope")
		assert.True(t, err == nil && got == want, "%q is %q (%v)", said, got, err)
		_, ok := models.ItemNamed(said, "winch_rope")
		assert.False(t, ok, "%q is no whole word", said)
	}
	for _, tt := range []struct {
		said string
		code models.Code
		near string
	}{
		{"filter", models.CodeUnclear, "air_filter (air filter service)"},
		{"coolnt chnge", models.CodeInvalid, "write coolant (coolant change);"},
		{"coolent", models.CodeInvalid, "write coolant (coolant change);"},
		{"zz", models.CodeInvalid, ""}, {"", models.CodeInvalid, ""}, {"winch_rope", models.CodeInvalid, ""}, {"_inspection", models.CodeUnclear, "first_inspection"},
	} {
		_, err := models.FindItem(tt.said)
		require.Error(t, err, tt.said)
		assert.Equal(t, tt.code, models.CodeOf(err), tt.said)
		assert.Contains(t, err.Error(), tt.near)
	}
}

func TestCompareItems(t *testing.T) {
	ids := []string{"zinc", models.ItemOil, "anode", models.ItemCoolant, models.ItemBrakesLook}
	slices.SortFunc(ids, models.CompareItems)
	assert.Equal(t, []string{models.ItemCoolant, models.ItemOil, models.ItemBrakesLook, "anode", "zinc"}, ids)
}

// The change of a part counts for its test; a test is no change.
func TestCountsFor(t *testing.T) {
	assert.True(t, models.CountsFor(models.ItemThermostatChange, models.ItemThermostat))
	assert.True(t, models.CountsFor(models.ItemECTSensorChange, models.ItemECTSensor))
	assert.False(t, models.CountsFor(models.ItemThermostat, models.ItemThermostatChange))
	assert.True(t, models.CountsFor("winch_rope", "winch_rope"))
	assert.False(t, models.CountsFor(models.ItemCoolant, models.ItemCoolantLook))
}

func TestSpanish(t *testing.T) {
	for lang, want := range map[string]bool{
		"es": true, "ES": true, "es-MX": true, "es-419": true, "es_ES": true,
		"": false, "en": false, "est": false, "e": false, "pt-es": false,
	} {
		assert.Equal(t, want, models.Spanish(lang), lang)
	}
}
