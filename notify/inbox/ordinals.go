package inbox

import "strconv"

// ordinals are the words for the days of a month.
var ordinals = func() map[string]int {
	out := map[string]int{"primero": 1}
	for i, w := range []string{"first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth", "eleventh", "twelfth",
		"thirteenth", "fourteenth", "fifteenth", "sixteenth", "seventeenth", "eighteenth", "nineteenth", "twentieth"} {
		out[w] = i + 1
	}
	out["thirtieth"] = 30
	return out
}()

// sayOrdinals puts figures in the place of ordinal words that name a day of the
// month: beside a day of the week or a month, or by themselves where they can
// mean no other thing ("the seventh works", but not "the first time").
func sayOrdinals(ts []token) []token {
	var out []token
	for i := 0; i < len(ts); i++ {
		n, last := ordinals[at(ts, i)], i
		if tens := numerals[at(ts, i)]; tens.kind == 'T' && tens.value <= 30 {
			if unit := ordinals[at(ts, i+1)]; unit > 0 && unit < 10 {
				n, last = tens.value+unit, i+1 // "twenty first"
			}
		}
		if n == 0 || n > 31 || !ofTheMonth(ts, i, last, n) {
			out = append(out, ts[i])
			continue
		}
		out = append(out, token{kind: tokNth, text: strconv.Itoa(n), from: ts[i].from, to: ts[last].to})
		i = last
	}
	return out
}

// ofTheMonth says whether an ordinal from one token to another is a day.
func ofTheMonth(ts []token, from, to, n int) bool {
	k := from - 1
	for dateArticles[at(ts, k)] {
		k--
	}
	_, week := weekdays[at(ts, k)]
	if week || months[at(ts, k)] != 0 || months[at(ts, to+1)] != 0 || (at(ts, to+1) == "of" || at(ts, to+1) == "de") && months[at(ts, to+2)] != 0 {
		return true
	}
	next := at(ts, to+1)
	return n > 3 && at(ts, from-1) == "the" && (next == "" || dayEnds[next])
}

// dayEnds may follow a day that is named by an ordinal.
var dayEnds = wordSet("works is at will would please then in for it that ill i we well could can if")
