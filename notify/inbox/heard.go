package inbox

import "strings"

// respelled gives the words that are meant where a thumb slipped or a voice
// was misheard: a word that is written so for nothing else, letters that are
// drawn out, an "in" for "ing". Words that are other words too stand in
// misheard and count only where the sentence needs them.
func respelled(ts []token) []token {
	dictated := true // points are spoken only where none is typed
	for _, t := range ts {
		dictated = dictated && t.text != "."
	}
	for i := range ts {
		t := &ts[i]
		if t.kind != tokWord {
			continue
		}
		if w, ok := spellings[t.text]; ok {
			t.text = w
		}
		if m, ok := misheard[t.text]; ok && m.needed(ts, i) {
			t.text = m.means
		}
		if dictated && spokenSigns[t.text] && i > 0 && at(ts, i-1) != "en" {
			t.kind, t.text = tokStrong, "."
			continue
		}
		if !meant(t.text) {
			for _, w := range []string{squeezed(t.text, 2), squeezed(t.text, 1), t.text + "g"} {
				if w != t.text && meant(w) && (strings.HasSuffix(t.text, "in") || w != t.text+"g") {
					t.text = w
					break
				}
			}
		}
	}
	return ts
}

// meant says whether a word is one that the reader knows.
func meant(w string) bool {
	return known(w) || len(sayings[w]) > 0 || len(works[w]) > 0 || len(kinds[w]) > 0 || weekdays[w] != 0 || numerals[w].kind != 0
}

// squeezed leaves at most n of a letter that stands three times or more.
func squeezed(w string, n int) string {
	var b strings.Builder
	rs := []rune(w)
	for i := 0; i < len(rs); {
		j := i
		for j < len(rs) && rs[j] == rs[i] {
			j++
		}
		k := j - i
		if k > 2 {
			k = n
		}
		b.WriteString(strings.Repeat(string(rs[i]), k))
		i = j
	}
	return b.String()
}

// spokenSigns are signs that voice typing wrote out.
var spokenSigns = wordSet("period punto")

// spellings are slips that are no other word (common practice, no source).
var spellings = func() map[string]string {
	out := map[string]string{}
	for right, slips := range map[string]string{
		"great": "gr8 grt graet grrreat", "good": "gud goood guud", "tomorrow": "tomorow tmrw 2morrow tomoro tommorow tomorrrow tmr",
		"monday": "munday mondy", "tuesday": "tusday teusday tuseday tuesdy", "wednesday": "wensday wendsday wednsday wenesday weds",
		"thursday": "thrusday thurday thursdy thersday", "friday": "firday fryday fridy", "saturday": "saterday saturdy", "sunday": "sundy",
		"thanks": "thnx tks tnx thanx thnks thaks", "running": "runing runnin", "overheating": "overheeting overheatin over-heating", "leaking": "leeking leakin",
		"hours": "hurs houres houers ours", "miles": "milez myles", "working": "workin wrking", "coolant": "coolent coolnt", "problem": "prob problm",
		"que": "q k ke", "porque": "xq pq porq", "tambien": "tb tmb tbn", "gracias": "grasias grax grasia", "somewhere": "somewheres", "horas": "oras hrs horitas", "millas": "miyas",
		"hasta": "asta", "hace": "ase", "voy": "boy", "vamos": "bamos", "trabaja": "travaja", "bien": "vien byen", "esta": "sta", "estoy": "toy", "ustedes": "uds",
		"viernes": "biernes vierne", "miercoles": "miercole", "jueves": "juebes", "sabado": "savado", "calienta": "calyenta", "anticongelante": "anticongelnte", "aceite": "aseite", "llego": "yego", "llevo": "yevo", "ahi": "ai ay",
	} {
		for _, w := range strings.Fields(slips) {
			out[w] = right
		}
	}
	for _, w := range []string{"k", "ours", "hrs", "boy", "prob", "weds"} { // words of their own
		delete(out, w)
	}
	return out
}()

// mishearing is a word that stands for another of the same sound where what
// is beside it asks for that.
type mishearing struct {
	means  string
	needed func(ts []token, i int) bool
}

// misheard lists words of one sound (common practice, no source).
var misheard = map[string]mishearing{
	"know": {"no", func(ts []token, i int) bool {
		return faultAt(ts, i+1) || at(ts, i+1) == "more" || at(ts, i+1) == "complaints"
	}},
	"n": {"and", func(ts []token, i int) bool {
		return i > 0 && i+1 < len(ts) && ts[i+1].kind == tokWord && ts[i-1].kind <= tokNumber
	}},
	"knot":  {"not", func(ts []token, i int) bool { return faultAt(ts, i+1) || goodAt(ts, i+1) }},
	"grate": {"great", func(ts []token, i int) bool { return i == 0 || wellLeads[at(ts, i-1)] }},
	"fein":  {"fine", func(ts []token, i int) bool { return i == 0 || wellLeads[at(ts, i-1)] }},
	"bee":   {"be", func(ts []token, i int) bool { return beLeads[at(ts, i-1)] }},
	"won":   {"one", func(ts []token, i int) bool { return numeralAt(ts, i-1) || numeralAt(ts, i+1) }},
	"ate":   {"eight", func(ts []token, i int) bool { return numeralAt(ts, i-1) || numeralAt(ts, i+1) }},
	"tree":  {"three", func(ts []token, i int) bool { return numeralAt(ts, i-1) && !strings.HasSuffix(at(ts, i-1), "a") }},
	"sicks": {"six", numeralBeside},
	"for": {"four", func(ts []token, i int) bool {
		return digitTail(ts, i) || at(ts, i+1) == "hundred" || at(ts, i+1) == "thousand"
	}},
	"fore": {"four", numeralBeside},
	"to":   {"two", digitTail},
	"too":  {"two", func(ts []token, i int) bool { return digitTail(ts, i) || at(ts, i+1) == "hundred" }},
	"ours": {"hours", func(ts []token, i int) bool { return numeralAt(ts, i-1) || i > 0 && ts[i-1].kind == tokNumber }},
	"hole": {"whole", func(ts []token, i int) bool {
		return at(ts, i-1) == "a" || at(ts, i-1) == "the" && at(ts, i+1) == "time"
	}},
	"there": {"theyre", func(ts []token, i int) bool { return strings.HasSuffix(at(ts, i+1), "ing") && at(ts, i+1) != "nothing" }},
	"weak": {"week", func(ts []token, i int) bool {
		return at(ts, i-1) == "next" || at(ts, i-1) == "this" || at(ts, i-1) == "last"
	}},
	"brakes": {"breaks", func(ts []token, i int) bool { return at(ts, i+1) == "down" }},
	"steel":  {"still", func(ts []token, i int) bool { return strings.HasSuffix(at(ts, i+1), "ing") || faultAt(ts, i+1) }},
	"write": {"right", func(ts []token, i int) bool {
		return at(ts, i-1) == "running" || at(ts, i-1) == "thats" || at(ts, i-1) == "all"
	}},
	"leek":  {"leak", func(ts []token, i int) bool { return true }},
	"leeks": {"leaks", func(ts []token, i int) bool { return true }},
}

var (
	wellLeads = wordSet("running runs run ran works working looks is its doing going been feels sounds all just so real pretty")
	beLeads   = wordSet("will ill well to should could can might would")
)

func numeralAt(ts []token, i int) bool {
	k := numerals[at(ts, i)].kind
	return k != 0 && k != 'y' && at(ts, i) != "un" && at(ts, i) != "una" && at(ts, i) != "one"
}

func numeralBeside(ts []token, i int) bool { return numeralAt(ts, i-1) || numeralAt(ts, i+1) }

// digitTail says whether a word ends a number as its last digit: behind full
// tens that follow other words of the number, and before none.
func digitTail(ts []token, i int) bool {
	number := numeralAt(ts, i-2) || at(ts, i-2) == "and" && numeralAt(ts, i-3) || unitWords[at(ts, i+1)] != UnitNone
	return numerals[at(ts, i-1)].kind == 'T' && number && !numeralAt(ts, i+1) && count(ts, i+1) == 0 && weekdays[at(ts, i+1)] == 0 && at(ts, i+1) != "be" && at(ts, i+1) != "the"
}

func senseAt(ts []token, i int, ss ...sense) bool {
	for _, e := range sayings.at(ts, i) {
		for _, s := range ss {
			if e.sense == s {
				return true
			}
		}
	}
	return false
}

func faultAt(ts []token, i int) bool { return senseAt(ts, i, senseFault, sense(KindComeback)) }
func goodAt(ts []token, i int) bool  { return senseAt(ts, i, senseGood) }
