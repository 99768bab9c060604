package inbox

import (
	"sort"
	"strings"
)

// add puts a phrase into the dictionary.
func (d dictionary) add(phrase string, s sense, value string) {
	words := strings.Fields(phrase)
	d[words[0]] = append(d[words[0]], entry{words: words, sense: s, value: value})
}

// sort puts longer phrases first, and equals in a fixed order.
func (d dictionary) sort() {
	for _, list := range d {
		sort.Slice(list, func(i, j int) bool {
			a, b := list[i], list[j]
			if len(a.words) != len(b.words) {
				return len(a.words) > len(b.words)
			}
			if x, y := strings.Join(a.words, " "), strings.Join(b.words, " "); x != y {
				return x < y
			}
			return a.sense+sense(a.value) < b.sense+sense(b.value)
		})
	}
}

// at gives every phrase that stands at token i, the longest first. Phrases do
// not run over signs or tokens from which something was read.
func (d dictionary) at(ts []token, i int) []entry {
	var out []entry
	for _, e := range d[at(ts, i)] {
		ok := true
		for k, w := range e.words {
			if at(ts, i+k) != w || ts[i+k].used {
				ok = false
				break
			}
		}
		if ok {
			out = append(out, e)
		}
	}
	return out
}

// whole says whether a folded text is one of a list of phrases and nothing
// else but signs around it.
func whole(folded string, list []string) (string, bool) {
	words := strings.FieldsFunc(folded, func(r rune) bool {
		return !(r >= 'a' && r <= 'z') && !(r >= '0' && r <= '9') && r != 'ñ'
	})
	text := strings.Join(words, " ")
	for _, w := range list {
		if text == w {
			return w, true
		}
	}
	return "", false
}
