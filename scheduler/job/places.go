package job

import (
	"strings"

	"example.org/roundsman/models"
)

// placeCooling is the cooling system with all that shows heat.
const placeCooling = "cooling"

// coolingThings are the things of the lexicon that belong to it; every other
// system is a place of its own.
var coolingThings = wordSet("hot coolant radiator thermostat sensor pump hose cap fan")

// places gives the places of a machine that some words name.
func places(texts ...string) map[string]bool {
	out := map[string]bool{}
	for _, text := range texts {
		for _, w := range Words(text) {
			_, k := weightOf(w)
			switch {
			case coolingThings[w]:
				out[placeCooling] = true
			case k == system:
				out[w] = true
			}
		}
	}
	return out
}

// Cooling says whether words tell of the cooling system or of heat.
func Cooling(words string) bool { return places(words)[placeCooling] }

// Elsewhere says whether words tell of a fault in another place than the repair
// that a check asks after: a belt that squeals after work on the coolant. Where
// either names no place they may be of the same.
func Elsewhere(j models.Job, c models.Check, words string) bool {
	repaired := places(j.Complaint, j.Cause, j.Correction)
	if strings.HasPrefix(c.Def, placeCooling) {
		repaired[placeCooling] = true
	}
	told := places(words)
	for p := range told {
		if repaired[p] {
			return false
		}
	}
	return len(told) > 0 && len(repaired) > 0
}
