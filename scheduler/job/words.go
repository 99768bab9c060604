package job

import (
	"strings"
	"unicode"
)

// Words gives a complaint's words in the form in which complaints are
// compared: the trade's words for the same thing become one (English and
// Spanish alike), other words lose their endings, and filling words go. Each
// comes once, in the order of the text.
func Words(text string) []string {
	var out []string
	seen := map[string]bool{}
	ts := tokens(text)
	for i := 0; i < len(ts); {
		word, n := concept(ts[i:])
		if n == 0 {
			word, n = plain(ts[i]), 1
		}
		i += n
		if word != "" && !seen[word] {
			seen[word] = true
			out = append(out, word)
		}
	}
	return out
}

// folded are letters with marks and what is written for them.
var folded = map[rune]rune{'á': 'a', 'é': 'e', 'í': 'i', 'ó': 'o', 'ú': 'u', 'ü': 'u', 'ñ': 'n', 'ç': 'c', 'à': 'a', 'è': 'e'}

// tokens gives the words of a text in lower case and without accents.
func tokens(text string) []string {
	text = strings.Map(func(r rune) rune {
		r = unicode.ToLower(r)
		if f, ok := folded[r]; ok {
			return f
		}
		switch {
		case r == '\'' || r == '’': // won't is one word
			return -1
		case unicode.IsLetter(r) || unicode.IsDigit(r):
			return r
		}
		return ' '
	}, text)
	return strings.Fields(text)
}

// concept finds the longest way of saying a thing of the trade at the
// beginning of some words: its name, and how many words it takes (0: none).
func concept(ts []string) (name string, n int) {
	for _, c := range lexicon {
		for _, way := range c.ways {
			if k := len(way); k > n && k <= len(ts) && says(ts[:k], way) {
				name, n = c.name, k
			}
		}
	}
	return name, n
}

// says compares words with a way of saying; a pattern with a star takes any
// ending.
func says(ts, way []string) bool {
	for i, pattern := range way {
		stem, open := strings.CutSuffix(pattern, "*")
		if ts[i] != stem && !(open && strings.HasPrefix(ts[i], stem)) {
			return false
		}
	}
	return true
}

// plain gives a word that is none of the trade's without its ending; "" for a
// filling word.
func plain(w string) string {
	if filling[w] {
		return ""
	}
	for _, end := range []string{"ing", "ed", "es", "s"} {
		if s, ok := strings.CutSuffix(w, end); ok && len(s) >= 4 {
			return s
		}
	}
	return w
}

// filling are words that say nothing about a fault.
var filling = wordSet(`a an the and or but of to in on at by for with from it its is was were are be been has have had
	i we he she they you my our this that there when while after before then than so as if not no very really just
	again still back also only some any all more most up down out over off into
	engine motor machine unit quad buggy rig thing customer owner says said reports reported complains came comes
	goes go going does do did gets get got seems seem like about too much little bit long around come on time times day days
	un una el la los las lo y o de del al en con por para que se es esta estan fue hay cuando mientras muy mas
	su sus le les me ya tambien otra vez maquina equipo cliente dueno dice despues hace`)

func wordSet(list string) map[string]bool {
	out := map[string]bool{}
	for _, w := range strings.Fields(list) {
		out[w] = true
	}
	return out
}

// kind says whether a thing of the trade is something felt or a place.
type kind int

const (
	symptom kind = iota + 1
	system
)

// thing is one thing of the trade with the ways in which people say it.
type thing struct {
	name string
	kind kind
	ways [][]string
}

func ways(name string, k kind, list string) thing {
	t := thing{name: name, kind: k}
	for _, way := range strings.Split(list, "|") {
		t.ways = append(t.ways, strings.Fields(way))
	}
	return t
}

// lexicon is how shops and owners say the common faults, in English and
// Spanish (common practice, no source).
var lexicon = []thing{
	ways("hot", symptom, "hot|overheat*|over heat*|runs hot|running hot|boil*|boils over|boiling over|steam*|temp light|high temp*|temp* high|too hot|red zone|calient*|calienta|se calienta|sobrecalient*|sobrecalent*|hierve|hirviendo|vapor"),
	ways("runs cold", symptom, "runs cold|running cold|no heat|never warms up|wont warm up|does not warm up|stays cold|no calienta|queda frio|frio"),
	ways("leak", symptom, "leak*|drip*|seep*|puddle*|loses|losing|lose|low level|fuga*|gotea*|goteo|pierde|perdiendo|charco"),
	ways("no start", symptom, "wont start|will not start|doesnt start|does not start|not start*|no start|no crank|hard start*|starts hard|hard to start|slow to start|crank*|no arranca|no prende|no enciende|cuesta arrancar|arranque"),
	ways("stall", symptom, "stall*|dies|died|die|quits|quit|shuts off|shuts down|shut off|shut down|cuts out|se apaga|apaga|se muere|se para"),
	ways("noise", symptom, "nois*|rattl*|squeal*|squeak*|grind*|knock*|clunk*|whin*|whistl*|ruido*|chilla*|rechina*|golpetea*"),
	ways("smoke", symptom, "smok*|humo|humea*"),
	ways("vibration", symptom, "vibrat*|shak*|shudder*|wobbl*|vibra*|tiembla"),
	ways("no power", symptom, "no power|lack* power|low power|low on power|down on power|bog*|sluggish|weak|wont pull|sin fuerza|no jala|falta fuerza"),
	ways("rough", symptom, "rough|runs rough|misfir*|sputter*|surg*|hunts|backfir*|tironea*|falla al acelerar"),
	ways("warning light", symptom, "check engine|engine light|warning light|warning lamp|check light|light on|luz de motor|testigo"),
	ways("smell", symptom, "smell*|odor|stink*|huele|olor"),
	ways("slip", symptom, "slip*|patina*"),
	ways("charge", symptom, "not charging|wont charge|dead battery|battery dead|no charge|no carga|bateria descargada"),

	ways("coolant", system, "coolant|antifreeze|refrigerante|anticongelante"),
	ways("oil", system, "oil|aceite"),
	ways("fuel", system, "fuel|gas|gasoline|diesel|combustible|gasolina"),
	ways("fan", system, "fan|fans|ventilador*"),
	ways("radiator", system, "radiator*|radiador*"),
	ways("thermostat", system, "thermostat*|tstat|t stat|termostato*"),
	ways("sensor", system, "sensor*|sender*|sending unit|temp gauge|gauge|gage|indicador|aguja"),
	ways("pump", system, "pump*|water pump|bomba*"),
	ways("hose", system, "hose*|manguera*"),
	ways("cap", system, "cap|pressure cap|radiator cap|tapon|tapa"),
	ways("belt", system, "belt*|cvt|correa*|banda"),
	ways("clutch", system, "clutch*|embrague"),
	ways("brakes", system, "brake*|braking|freno*"),
	ways("steering", system, "steer*|tie rod*|direccion"),
	ways("axle", system, "axle*|cv joint*|boot|boots|eje"),
	ways("battery", system, "battery|batter*|bateria*"),
	ways("transmission", system, "transmission|gearbox|gears|shift*|caja"),
	ways("exhaust", system, "exhaust|muffler|escape"),
	ways("tire", system, "tire*|tyre*|llanta*|wheel*|rueda*"),
	ways("suspension", system, "shock|shocks|suspension|amortiguador*|a arm|control arm"),
	ways("light", system, "headlight*|headlamp*|tail light*|faro*|turn signal*"),
	ways("winch", system, "winch*|malacate"),
	ways("body", system, "seat*|asiento*|door*|puerta*|windshield|parabrisas|roof|fender*|cargo bed"),
	ways("starter", system, "starter*"),
	ways("idle", system, "idle|idles|idling|ralenti"),
}

// weightOf gives how much a word tells about a fault, and of what kind it is
// (0: no word of the trade).
func weightOf(word string) (float64, kind) {
	for _, t := range lexicon {
		if t.name == word {
			if t.kind == symptom {
				return weightSymptom, symptom
			}
			return weightSystem, system
		}
	}
	return weightOther, 0
}
