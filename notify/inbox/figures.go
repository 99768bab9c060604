package inbox

import (
	"strings"
)

// findFigures finds the numbers that may be of a meter, each with its unit:
// the word behind it, or before it where units lead ("miles 6120 hours 412").
func findFigures(ts []token) []figure {
	lead := unitsLead(ts)
	var out []figure
	for i := range ts {
		if ts[i].kind != tokNumber || ts[i].used {
			continue
		}
		if otherUnits[at(ts, i+1)] || before(ts, i, 3, gaugeWords) || before(ts, i, 3, paperWords) || streetWords[at(ts, i+1)] || streetWords[at(ts, i+2)] || phoneAt(ts, i) || isPaper(ts, i) {
			ts[i].kind = tokOther // "2 weeks", "temp at 190", "invoice 6120", "2100 Main St"
			continue
		}
		if withdrawn(ts, i) {
			ts[i].kind, ts[i].used, ts[i-1].used = tokOther, true, true // the "not" denies no more than that
			continue
		}
		joinThousands(ts, i)
		f := figure{token: i, vals: ts[i].vals, words: ts[i].text, rough: strings.HasSuffix(ts[i].text, "k")}
		f.run = before(ts, i, 2, runWords) || sinceWords[at(ts, i+1)] || unitWords[at(ts, i+1)] != UnitNone && sinceWords[at(ts, i+2)] ||
			unitWords[at(ts, i+1)] != UnitNone && (at(ts, i+2) == "of" || at(ts, i+2) == "on" && at(ts, i+3) == "it") ||
			f.vals[0] <= 24 && clockWords[at(ts, i-1)] && unitWords[at(ts, i+1)] == UnitNone
		f.ago = at(ts, i+1) == "ago" || unitWords[at(ts, i+1)] != UnitNone && (at(ts, i+2) == "ago" || at(ts, i-1) == "hace")
		f.bound = bounded(ts, i)
		f.rival = len(out) > 0 && rivals(ts, i)
		f.alone = i+1 < len(ts) && (ts[i+1].kind == tokWeak || ts[i+1].kind == tokStrong || at(ts, i+1) == "and" || at(ts, i+1) == "y")
		ts[i].used = true
		if u := unitWords[at(ts, i+1)]; u != UnitNone && !lead {
			f.unit = u
			ts[i+1].used = true
		} else if lead {
			f.unit = unitBefore(ts, i)
		}
		f.rough = f.rough || rough(ts, i)
		out = append(out, f)
	}
	return out
}

// isPaper knows a figure that is said to be of something else: "4912 is the code
// for my gate".
func isPaper(ts []token, i int) bool {
	if w := at(ts, i+1); w != "is" && w != "was" && w != "es" && w != "era" {
		return false
	}
	for k := i + 2; k <= i+4; k++ {
		if paperWords[at(ts, k)] {
			return true
		}
	}
	return false
}

// rough says whether a word of the same clause makes a figure an approximate one.
func rough(ts []token, i int) bool {
	for k := i - 1; k >= 0 && ts[k].kind != tokStrong && !mentionAhead(ts, k); k-- {
		if roughWords[at(ts, k)] || boundWords[at(ts, k)] && hairWords[at(ts, k-1)] || (at(ts, k) == "should" || at(ts, k) == "must") && at(ts, k+1) == "be" || at(ts, k) == "por" && (at(ts, k+1) == "ahi" || at(ts, k+1) == "las" || at(ts, k+1) == "los") ||
			(at(ts, k) == "ha" || at(ts, k) == "debe") && at(ts, k+1) == "de" {
			return true
		}
	}
	for k := i + 1; k < len(ts) && ts[k].kind != tokStrong && !mentionAhead(ts, k); k++ {
		if afterRough[at(ts, k)] || orSo(ts, k) {
			return true
		}
	}
	return false
}

// hairWords before a limit say that it is nearly the value: "just over 6100".
var hairWords = wordSet("just little hair poco tad bit")

// mentionAhead says whether a machine is named at a token: what hedges its
// figures does not hedge those of another.
func mentionAhead(ts []token, k int) bool {
	return ts[k].used && ts[k].kind == tokWord && looksLikeTag(ts[k].text)
}

// rivals says whether an "or" stands close before a figure: "6410 mi, or is it
// 6140", but not "6100 or so, 412 h".
func rivals(ts []token, i int) bool {
	for k := i - 1; k >= 0 && k >= i-5 && ts[k].kind == tokWord; k-- {
		if w := ts[k].text; (w == "or" || w == "o" || w == "u") && !orSo(ts, k) && !orNear[at(ts, k+1)] {
			return true
		}
	}
	return false
}

// orNear behind an "or" make a figure before it a rough one.
var orNear = wordSet("menos mas algo asi so thereabouts there close near about around less more better")

// bounded knows a figure that is only a limit: "less than 6200". One that is
// near its limit ("just over") is a rough one.
func bounded(ts []token, i int) bool {
	for k := i - 1; k >= 0 && k >= i-4; k-- {
		switch w := at(ts, k); {
		case boundWords[w] && at(ts, k-1) != "o" && at(ts, k+1) != w && !roughWords[at(ts, k-1)] && !hairWords[at(ts, k-1)]:
			return true
		case (w == "than" || w == "de" && (at(ts, k-1) == "mas" || at(ts, k-1) == "menos" || at(ts, k-1) == "arriba" || at(ts, k-1) == "abajo") && at(ts, k-2) != "o") && at(ts, k-2) != "poco" && at(ts, k-2) != "little":
			return true
		}
	}
	return false
}

// phoneAt knows a telephone number that is written apart: "970 555 0142",
// "555 0142".
func phoneAt(ts []token, i int) bool {
	digits := func(k, n int) bool {
		return k >= 0 && k < len(ts) && (ts[k].kind == tokNumber || ts[k].kind == tokOther) && isNumber(ts[k].text) && len(ts[k].text) == n
	}
	return digits(i, 3) && digits(i+1, 4) || digits(i, 3) && digits(i+1, 3) && digits(i+2, 4) || digits(i, 4) && digits(i-1, 3) || len(ts[i].text) >= 10
}

// orSo knows words behind a figure that make it a rough one.
func orSo(ts []token, i int) bool {
	two, three := at(ts, i)+" "+at(ts, i+1), at(ts, i)+" "+at(ts, i+1)+" "+at(ts, i+2)
	return two == "or so" || three == "give or take" || three == "more or less" || three == "mas o menos"
}

// withdrawn knows figures that are named only to be taken back: "not 6120,
// 6130", "from 6050 to 6120".
func withdrawn(ts []token, i int) bool {
	switch at(ts, i-1) {
	case "not", "isnt":
		return true
	case "no":
		return !ts[i-1].used // else it is an answer: "no 6130"
	case "from", "de":
		for k := i + 1; k < len(ts) && k <= i+3; k++ {
			if w := at(ts, k); (w == "to" || w == "a") && k+1 < len(ts) && ts[k+1].kind == tokNumber {
				return true
			}
		}
	}
	return false
}

// before says whether one of a set of words stands up to n tokens before i.
func before(ts []token, i, n int, words map[string]bool) bool {
	for k := i - 1; k >= 0 && k >= i-n; k-- {
		if words[at(ts, k)] {
			return true
		}
	}
	return false
}

// joinThousands reads "6 120" as one figure.
func joinThousands(ts []token, i int) {
	if i+1 >= len(ts) || ts[i+1].kind != tokNumber || ts[i+1].used || !isNumber(ts[i].text) || !isNumber(ts[i+1].text) ||
		len(ts[i].text) > 2 || len(ts[i+1].text) != 3 || ts[i+1].from != ts[i].to+1 {
		return
	}
	ts[i].vals = []float64{ts[i].vals[0]*1000 + ts[i+1].vals[0]}
	ts[i+1].used = true
	if i+2 < len(ts) && ts[i+2].kind == tokWord { // its unit is found beside the second half
		ts[i+1].text, ts[i+1].kind = ts[i+2].text, tokWord
		ts[i+2].used = true
	}
}

// unitsLead says whether units stand before their figures in a text:
// "miles 6120 hours 412".
func unitsLead(ts []token) bool {
	first, last, num, lastNum := -1, -1, -1, -1
	for i, t := range ts {
		switch {
		case t.kind == tokWord && unitWords[t.text] != UnitNone:
			if first < 0 {
				first = i
			}
			last = i
		case t.kind == tokNumber && !t.used:
			if num < 0 {
				num = i
			}
			lastNum = i
		}
	}
	return first >= 0 && first < num && last < lastNum
}

// unitBefore gives the unit that leads to a figure.
func unitBefore(ts []token, i int) Unit {
	for k := i - 1; k >= 0 && k >= i-3; k-- {
		if ts[k].kind == tokNumber {
			return UnitNone
		}
		if u := unitWords[at(ts, k)]; u != UnitNone {
			return u
		}
	}
	return UnitNone
}
