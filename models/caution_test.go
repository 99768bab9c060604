package models_test

import (
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// gsm7 is the default alphabet of ETSI TS 100 900 (Unicode Consortium,
// GSM0338.TXT 1.1) without its control characters.
const gsm7 = "@£$¥èéùìòÇØøÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?" +
	"¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"

func ids(cs []models.Caution) []string {
	var out []string
	for _, c := range cs {
		out = append(out, c.ID)
	}
	return out
}

// topics lists every topic, in the order in which cautions are told.
var topics = []models.Topic{models.TopicCooling, models.TopicFan, models.TopicGenerator, models.TopicExhaust, models.TopicFuel, models.TopicOil,
	models.TopicBattery, models.TopicHydraulic, models.TopicBrakes, models.TopicRaised, models.TopicRolling, models.TopicPTO, models.TopicAny}

func TestCautionTexts(t *testing.T) {
	seen := map[string]bool{}
	last := -1
	for _, c := range models.Cautions() {
		assert.False(t, seen[c.ID], "%s stands twice", c.ID)
		seen[c.ID] = true
		rank := slices.Index(topics, c.Topic)
		assert.GreaterOrEqual(t, rank, max(last, 0), "%s: topics are not in their order", c.ID)
		last = rank
		for _, p := range []string{c.Short.EN, c.Short.ES} {
			assert.NotEmpty(t, p, c.ID)
			assert.LessOrEqual(t, utf8.RuneCountInString(p), 90, "%s is too long for a text: %s", c.ID, p)
			for _, r := range p {
				assert.True(t, strings.ContainsRune(gsm7, r), "%s: %q is not in the GSM 7-bit alphabet: %s", c.ID, r, p)
			}
		}
		for _, p := range []string{c.Long.EN, c.Long.ES} {
			assert.True(t, strings.HasSuffix(p, "."), "%s: a long text is made of sentences: %s", c.ID, p)
		}
		assert.NotEqual(t, c.Long.EN, c.Long.ES, c.ID)
	}
	for _, topic := range topics {
		assert.NotEmpty(t, models.CautionsOn(topic), "topic %s has no caution", topic)
	}
}

// The pairs are common practice, no source.
func TestCautionsFor(t *testing.T) {
	utv := models.Machine{Kind: "utv"}
	for _, tc := range []struct {
		item    string
		machine models.Machine
		has     []string
		lacks   []string
	}{
		{models.ItemThermostatChange, utv,
			[]string{"hot_coolant", "glycol_poison", "eyes_hands", "glycol_exhaust", "trapped_air", "fan_starts",
				"exhaust_gas", "support_raised", "brake_chocks", "manual_first"},
			[]string{"pto_off", "generator_starts", "fuel_fire"}},
		{models.ItemCoolantLook, utv, []string{"hot_coolant", "fan_starts"}, []string{"exhaust_gas"}},
		{models.ItemOil, utv, []string{"hot_oil", "exhaust_gas", "manual_first"}, []string{"hot_coolant"}},
		{models.ItemAirFilter, utv, []string{"manual_first"}, []string{"hot_coolant", "hot_oil"}},
		{models.ItemCoolant, models.Machine{Kind: "compact tractor"}, []string{"pto_off", "brake_chocks"}, []string{"generator_starts"}},
		{models.ItemCoolant, models.Machine{Kind: "Generator"}, []string{"generator_starts", "exhaust_gas"}, []string{"brake_chocks"}},
		{models.ItemOil, models.Machine{Kind: "towable generator"}, []string{"generator_starts", "brake_chocks"}, nil},
		{models.ItemFuelFilter, models.Machine{Kind: "pump"}, []string{"fuel_fire"}, []string{"brake_chocks"}},
		{models.ItemBattery, utv, []string{"battery_gas"}, []string{"hot_coolant"}},
		{"winch", models.Machine{}, []string{"fan_starts", "exhaust_gas", "support_raised", "brake_chocks", "manual_first"}, []string{"hot_coolant"}},
	} {
		got := ids(models.CautionsFor(tc.item, tc.machine))
		assert.Subset(t, got, tc.has, "%s on %q", tc.item, tc.machine.Kind)
		for _, id := range tc.lacks {
			assert.NotContains(t, got, id, "%s on %q", tc.item, tc.machine.Kind)
		}
	}
	// Whatever the item, the maker's manual comes last and once.
	for _, item := range []string{"", "oil", "coolant", "anything"} {
		got := ids(models.CautionsFor(item, models.Machine{}))
		require.NotEmpty(t, got)
		assert.Equal(t, "manual_first", got[len(got)-1])
	}
}

// Every item that opens or touches the cooling system is told of hot coolant
// and of glycol's poison.
func TestCautionsFollowCoolingItems(t *testing.T) {
	for _, item := range models.KnownItems() {
		got := ids(models.CautionsFor(item, models.Machine{}))
		touches := models.CoolingItem(item) || item == models.ItemFirstInspection // which looks at all there is
		assert.Equal(t, touches, slices.Contains(got, "hot_coolant"), item)
		assert.Equal(t, touches, slices.Contains(got, "glycol_poison"), item)
	}
}

func TestCautionsForAllTellsEachOnce(t *testing.T) {
	got := ids(models.CautionsForAll([]string{models.ItemCoolant, models.ItemThermostat, models.ItemOil}, models.Machine{Kind: "utv"}))
	sorted := slices.Clone(got)
	slices.Sort(sorted)
	assert.Equal(t, len(got), len(slices.Compact(sorted)))
	assert.Contains(t, got, "hot_oil")
	assert.Contains(t, got, "hot_coolant")
}

func TestPhraseIn(t *testing.T) {
	p := models.Phrase{EN: "cold", ES: "fría"}
	for tag, want := range map[string]string{"": "cold", "en": "cold", "en-US": "cold", "es": "fría", "ES": "fría",
		"es-MX": "fría", "es_MX": "fría", "fr": "cold", "est": "cold"} {
		assert.Equal(t, want, p.In(tag), tag)
	}
	assert.Equal(t, "cold", models.Phrase{EN: "cold"}.In("es"))
}

// A caller may change what it was given without harm to the next.
func TestCautionsIsACopy(t *testing.T) {
	cs := models.Cautions()
	cs[0].ID = "changed"
	assert.NotEqual(t, "changed", models.Cautions()[0].ID)
}
