package inbox

import (
	"slices"

	"example.org/roundsman/models"
)

// findSenses finds what phrases say, by the token at which each begins, and
// turns round what a "not" in the same clause denies. denied marks clauses in
// which it is not plain what a "not" denies, by the token of that.
func findSenses(ts []token) (out map[int][]sense, denied map[int]bool) {
	out, denied = map[int][]sense{}, map[int]bool{}
	not, last := -1, sense("") // the token of the "not" that reaches here, and what it denied last
	for i := 0; i < len(ts); i++ {
		if ts[i].used && ts[i].kind == tokWord && at(ts, i) == "no" {
			continue // of a promise that is set aside
		}
		switch ts[i].kind {
		case tokGood:
			out[i] = append(out[i], senseGood)
			ts[i].used = true
		case tokBad:
			out[i] = append(out[i], sense(KindNo))
			ts[i].used = true
		case tokStrong, tokAsk:
			not, last = -1, ""
		case tokWeak:
			not = -1
		}
		w := at(ts, i)
		if w == "si" && (at(ts, i-1) == "ver" || at(ts, i+1) == "no" && (at(ts, i-1) == "y" || at(ts, i-1) == "o")) {
			denied[i] = true // "a ver si", "y si no": an "if"
			continue
		}
		if list := saidAt(ts, i); len(list) > 0 {
			e := list[0]
			if n := len(e.words) - 1; n > 0 && enders[e.words[n]] && !slices.ContainsFunc(e.words, func(w string) bool { return negators[w] }) && len(saidAt(ts, i+n+1)) > 0 && saidAt(ts, i+n+1)[0].sense == senseFault {
				ts[i].used, i, not = true, i+n, i+n // "it quit leaking"
				continue
			}
			single := len(e.words) == 1 && negators[w] || len(e.words) == 2 && e.words[1] == "in" && at(ts, i+2) != "" // "im in court"
			if !single {
				s := e.sense
				switch {
				case w == "no" && s == senseFault && last == senseFault:
					s = senseGood // "no leaks no heat"
				case not >= 0 && deniable(s):
					if s = contrary(s); !plainly(ts, not, i) {
						s, denied[not] = "", true
					}
					not, last = -1, e.sense
				case last == e.sense && deniable(e.sense) && negates(ts, i):
					s = contrary(s) // "no leaks or smoke"
				}
				if s != "" && s != senseSaid {
					out[i] = append(out[i], s)
				}
				for k := range e.words {
					ts[i+k].used, ts[i+k].hint = true, s == senseDoubt
				}
				i += len(e.words) - 1
				continue
			}
		}
		switch {
		case ts[i].kind == tokNumber && ts[i].text == "0" && deniableAhead(ts, i+1): // "0 issues"
			ts[i].kind, ts[i].text, not = tokWord, "zero", i
		case butWords[w]:
			not, last = -1, ""
		case enders[w] && not >= 0: // "never stopped leaking", "won't quit leaking"
			not = -1
		case enders[w]:
			if deniableAhead(ts, i+1) {
				not = i
			}
		case w == "no" && answers(ts, i):
			out[i] = append(out[i], sense(KindNo))
			ts[i].used = true
		case concord[w] && (last != "" || i > 0 && ts[i-1].used): // "ya no tira nada"
		case negators[w]:
			not = i
			if !deniableAhead(ts, i+1) {
				denied[i], not = true, -1
			}
		}
	}
	return out, denied
}

// otherwise sets aside what is promised only for the contrary case: "if not,
// ill call you" says nothing now.
func otherwise(ts []token) {
	for i := range ts {
		first := i == 0 || ts[i-1].kind == tokStrong || ts[i-1].kind == tokWeak
		if !first || !(at(ts, i) == "si" || at(ts, i) == "if") || at(ts, i+1) != "no" && at(ts, i+1) != "not" {
			continue
		}
		promise, plain, j := false, true, i+2
		for ; j < len(ts) && ts[j].kind != tokStrong; j++ {
			if senseAt(ts, j, sense(KindLater), senseCall) {
				promise, j = true, j+len(sayings.at(ts, j)[0].words)-1
				continue
			}
			plain = plain && (ts[j].kind == tokWeak || ts[j].kind == tokWord && (known(ts[j].text) || len(sayings[ts[j].text]) > 0))
		}
		for k := i; promise && plain && k < j; k++ {
			ts[k].used = true
		}
	}
}

// concord words only go along with a "no" before them.
var concord = wordSet("nada ninguna ninguno ningun nunca nadie")

// deniable says whether a "not" turns what a phrase says round.
func deniable(s sense) bool {
	return s == senseFault || s == senseGood || s == sense(KindDone) || s == sense(KindComeback)
}

// deniableAhead says whether a phrase that a "not" can deny follows in the
// same clause.
func deniableAhead(ts []token, i int) bool {
	for ; i < len(ts) && ts[i].kind != tokStrong && ts[i].kind != tokAsk && ts[i].kind != tokWeak && !butWords[at(ts, i)]; i++ {
		for _, e := range saidAt(ts, i) {
			if deniable(e.sense) {
				return true
			}
		}
	}
	return false
}

// plainly says whether nothing but small words stand between a "not" and what
// it denies.
func plainly(ts []token, not, i int) bool {
	for k := not + 1; k < i; k++ {
		if !bridges[at(ts, k)] && !negators[at(ts, k)] && !enders[at(ts, k)] || i-not > 7 {
			return false
		}
	}
	return true
}

// negates says whether a fault goes on a list that a "not" began.
func negates(ts []token, i int) bool {
	w := at(ts, i-1)
	return w == "or" || w == "nor" || w == "ni" || w == "o"
}

// answers says whether a "no" is an answer and not part of what follows: it
// stands alone, or before a word with which a sentence begins.
func answers(ts []token, i int) bool {
	if slices.ContainsFunc(works[at(ts, i-1)], func(e entry) bool { return len(e.words) == 1 }) {
		return false // "el aceite ya, el anticongelante no"
	}
	if i+1 >= len(ts) || ts[i+1].kind != tokWord && ts[i+1].kind != tokNumber {
		return true
	}
	next := at(ts, i+1)
	if ts[i+1].kind == tokNumber || next == "no" || next == "about" || next == "around" {
		return true
	}
	if startWordsOf[next] { // but "eso no es cierto"
		return i == 0 || ts[i-1].kind != tokWord || ts[i-1].used || leadWords[at(ts, i-1)] || butWords[at(ts, i-1)]
	}
	for _, e := range sayings.at(ts, i+1) { // "no all good"
		if e.sense == senseGood && !spanishVerbs[e.words[0]] {
			return true
		}
	}
	return false
}

// spanishVerbs behind a "no" are denied by it: "no anda bien".
var spanishVerbs = wordSet("anda va funciona camina trabaja quedo esta aguanto jala")

// contrary gives what a denied phrase says.
func contrary(s sense) sense {
	switch s {
	case senseFault, sense(KindComeback):
		return senseGood
	case senseGood:
		return senseFault
	case sense(KindDone):
		return sense(KindLater)
	}
	return s
}

// findItems finds work of the catalogue, by the token at which its name begins.
func findItems(ts []token) map[int]string {
	out := map[int]string{}
	oil := -1
	for i := 0; i < len(ts); i++ {
		if w := at(ts, i); (w == "filter" || w == "filtro") && oil >= 0 && i-oil <= 4 && out[oil] == models.ItemOil {
			out[i], ts[i].used = models.ItemOilFilter, true // "the oil and its filter"
			continue
		}
		if list := works.at(ts, i); len(list) > 0 {
			out[i] = list[0].value
			oil = i
			for k := range list[0].words {
				ts[i+k].used = true
			}
			i += len(list[0].words) - 1
		}
	}
	return out
}
