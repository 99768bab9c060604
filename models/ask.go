package models

// Ask is what the shop does not know of a machine and would help: the English
// words, which stand after "ask". In gives the words that people are shown.
type Ask string

// What is asked for.
const (
	AskWhenEach    Ask = "when each was last done, or a look at them"
	AskWhen        Ask = "when it was last done, and what the meter showed"
	AskCooling     Ask = "whether the engine is cooled by liquid or by air"
	AskHowOften    Ask = "how often it is due on a meter that the machine has, or in months"
	AskBothMeters  Ask = "what both meters show"
	AskHourMeter   Ask = "what the hour meter shows"
	AskMeter       Ask = "what the meter shows"
	AskOdometer    Ask = "what the odometer shows"
	AskCoolantFill Ask = "how much coolant the whole system holds"
)

var asksInSpanish = map[Ask]string{
	AskWhenEach:    "cuándo se hizo cada uno por última vez, o una revisión",
	AskWhen:        "cuándo se hizo por última vez y qué marcaba el medidor",
	AskCooling:     "si el motor se enfría por líquido o por aire",
	AskHowOften:    "cada cuánto toca según un medidor que la máquina tenga, o en meses",
	AskBothMeters:  "qué marcan los dos medidores",
	AskHourMeter:   "qué marca el horómetro",
	AskMeter:       "qué marca el medidor",
	AskOdometer:    "qué marca el odómetro",
	AskCoolantFill: "cuánto refrigerante lleva todo el sistema",
}

// In gives the words in a language (BCP 47).
func (a Ask) In(language string) string {
	if es, ok := asksInSpanish[a]; ok && Spanish(language) {
		return es
	}
	return string(a)
}

// What is asked of an item or a kind by name.
var (
	AskAge     = Phrase{"how old the part is: %s", "qué antigüedad tiene la pieza: %s"}
	AskItem    = Phrase{"when the %s was last done", "cuándo se hizo por última vez: %s"}
	AskNoRules = Phrase{"what is due when: no rules for kind %s, add them with items.csv or correct the kind",
		"qué toca y cuándo: no hay reglas para la clase %s; agréguelas con items.csv o corrija la clase"}
)
