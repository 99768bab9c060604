package inbox

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// A day word inside a longer expression is that day or none (the replies come on
// Wednesday, November 25, 2026).
func TestDaysAreReadWhole(t *testing.T) {
	a := played{Situation: "due"}.before(t)
	for text, want := range map[string]string{
		"Monday the seventh works": "2026-12-07", "el lunes siete la llevo": "2026-12-07", "lunes 7": "2026-12-07", "monday seven am": "2026-11-30",
		"Thursday three pm": "2026-11-26", "de mañana en ocho se la llevo": "2026-12-03", "de hoy en quince la llevo": "2026-12-09", "el lunes en ocho": "2026-12-07",
		"a week from tomorrow": "2026-12-03", "week from monday": "2026-12-07", "two weeks from friday": "2026-12-11", "mañana no, pasado": "2026-11-27",
		"thursday of next week": "2026-12-03", "next week thursday": "2026-12-03", "el martes de la semana que viene": "2026-12-01", "friday after work": "2026-11-27",
		"December seventh": "2026-12-07", "siete de diciembre": "2026-12-07", "twenty first of december": "2026-12-21", "tomorrow nine am": "2026-11-26",
	} {
		r := Read(text, a)
		if assert.Len(t, r.Acts, 1, text) {
			assert.Equal(t, KindDay, r.Acts[0].Kind, text)
			assert.Equal(t, want, r.Acts[0].On.String(), text)
		}
	}
	for _, text := range []string{
		"lunes 8", "el lunes ocho", "friday the fifth", "a week from the 3rd", "the day after monday", "a week after monday", "friday after thanksgiving",
		"the monday after christmas", "every friday works", "first monday of december", "el primer lunes de diciembre", "el jueves de la otra semana",
		"la otra semana el martes", "monday or tuesday", "el otro lunes", "monday through wednesday", "from monday on", "de aquí al lunes", "done monday or tuesday",
	} {
		r := Read(text, a)
		assert.Empty(t, r.Acts, text)
		assert.NotEmpty(t, r.Person, text)
	}
	fleet := played{Situation: "fleet"}.before(t)
	for _, text := range []string{"Dec 8 for U6, U1 and U3", "U6, U1 and U3 on dec 8"} {
		assert.Len(t, Read(text, fleet).Acts, 3, text)
	}
}
