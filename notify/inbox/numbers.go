package inbox

import (
	"slices"
	"strconv"
	"strings"
)

// numeral is a word for a number: its value and how many digits it fills
// where words are only strung together ("sixty one forty five").
type numeral struct {
	value int
	kind  byte // 'd' a digit, 't' ten to nineteen, 'T' full tens, 'c' full hundreds, 'h' hundred, 'k' thousand, 'y' joins
}

var numerals = func() map[string]numeral {
	out := map[string]numeral{"hundred": {100, 'h'}, "thousand": {1000, 'k'}, "mil": {1000, 'k'}, "and": {0, 'y'}, "y": {0, 'y'}, "oh": {0, 'd'}}
	for kind, list := range map[byte]string{
		'd': "zero one two three four five six seven eight nine|cero uno dos tres cuatro cinco seis siete ocho nueve",
		't': "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen|diez once doce trece catorce quince dieciseis diecisiete dieciocho diecinueve",
		'T': "twenty thirty forty fifty sixty seventy eighty ninety|veinte treinta cuarenta cincuenta sesenta setenta ochenta noventa",
		'c': "|cien doscientos trescientos cuatrocientos quinientos seiscientos setecientos ochocientos novecientos",
	} {
		for _, words := range strings.Split(list, "|") {
			for i, w := range strings.Fields(words) {
				switch kind {
				case 'd':
					out[w] = numeral{i, kind}
				case 't':
					out[w] = numeral{10 + i, kind}
				case 'T':
					out[w] = numeral{20 + 10*i, kind}
				case 'c':
					out[w] = numeral{100 + 100*i, kind}
				}
			}
		}
	}
	for i, w := range strings.Fields("veintiuno veintidos veintitres veinticuatro veinticinco veintiseis veintisiete veintiocho veintinueve") {
		out[w] = numeral{21 + i, 't'}
	}
	for i, w := range strings.Fields("doscientas trescientas cuatrocientas quinientas seiscientas setecientas ochocientas novecientas") {
		out[w] = numeral{200 + 100*i, 'c'}
	}
	out["ciento"], out["un"], out["una"], out["fourty"], out["ninty"] = numeral{100, 'c'}, numeral{1, 'd'}, numeral{1, 'd'}, numeral{40, 'T'}, numeral{90, 'T'}
	return out
}()

// sayNumbers puts figures in the place of numbers that are written as words,
// as voice typing does: "six thousand one hundred twenty", "sixty one
// fifteen", "four twelve". A lone small word stays a word.
func sayNumbers(ts []token) []token {
	var out []token
	for i := 0; i < len(ts); {
		n, f, ok := numeralsAt(ts, i)
		if !ok {
			out = append(out, ts[i])
			i++
			continue
		}
		s := strconv.Itoa(f)
		out = append(out, token{kind: tokNumber, text: s, vals: []float64{float64(f)}, from: ts[i].from, to: ts[i+n-1].to})
		i += n
	}
	return out
}

// numeralsAt reads the longest run of words for one number at token i.
func numeralsAt(ts []token, i int) (n, value int, ok bool) {
	var run []numeral
	j := i
	for ; j < len(ts); j++ {
		w, known := numerals[at(ts, j)]
		if ts[j].kind == tokNumber && isNumber(ts[j].text) && len(ts[j].text) <= 3 && len(run) == 0 {
			if next := numerals[at(ts, j+1)].kind; next == 'h' || next == 'k' {
				w, known = numeral{int(ts[j].vals[0]), 't'}, true // "6 thousand"
			}
		}
		if ts[j].kind == tokNumber && isNumber(ts[j].text) && len(ts[j].text) <= 3 && len(run) > 0 && run[len(run)-1].kind == 'k' {
			w, known = numeral{int(ts[j].vals[0]), 't'}, true // "6 mil 141"
		}
		if !known || ts[j].kind == tokWord && w.kind == 'y' && (len(run) == 0 || numerals[at(ts, j+1)].kind == 0 || numerals[at(ts, j+1)].kind == 'y') {
			break
		}
		run = append(run, w)
	}
	if _, plain := grammar(run); !plain { // "sixty one thirty two and four eleven" are two
		if k := slices.IndexFunc(run, func(w numeral) bool { return w.kind == 'y' }); k > 0 {
			run, j = run[:k], i+k
		}
	}
	whole, plain := grammar(run)
	switch {
	case len(run) == 0 || len(run) == 1 && (whole < 20 || run[0].kind == 'k' || run[0].kind == 'h'):
		return 0, 0, false
	case plain:
		return j - i, whole, true
	}
	s := strung(run)
	v, err := strconv.Atoi(s)
	return j - i, v, err == nil && len(s) <= 6 && s != ""
}

// grammar reads a number as it is said in full; plain is false where the
// words do not make one.
func grammar(run []numeral) (value int, plain bool) {
	total, part, last := 0, 0, byte(0)
	for k, w := range run {
		switch {
		case w.kind == 'y':
			if last == 'd' || last == 't' {
				return 0, false
			}
			continue
		case w.kind == 'k':
			if part == 0 && total == 0 {
				part = 1
			}
			total, part = total+part*1000, 0
		case w.kind == 'h':
			if part == 0 || part > 99 {
				return 0, false
			}
			part *= 100
		case w.kind == 'c' && part == 0, w.kind == 'T' && part%100 == 0, w.kind == 't' && part%100 == 0,
			w.kind == 'd' && part%10 == 0 && last != 'd' && last != 't' && !(k == 0 && w.value == 0):
			part += w.value
		default:
			return 0, false
		}
		last = w.kind
	}
	return total + part, true
}

// strung reads words that are only strung together, two digits at a time.
func strung(run []numeral) string {
	var b strings.Builder
	for k := 0; k < len(run); k++ {
		w := run[k]
		switch {
		case w.kind == 'h' || w.kind == 'k' || w.kind == 'c' || w.kind == 'y':
			return ""
		case w.kind == 'T' && k+1 < len(run) && run[k+1].kind == 'd' && run[k+1].value > 0:
			b.WriteString(strconv.Itoa(w.value + run[k+1].value))
			k++
		default:
			b.WriteString(strconv.Itoa(w.value))
		}
	}
	return b.String()
}
