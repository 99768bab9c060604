package inbox

import (
	"slices"
	"strconv"
	"strings"

	"example.org/roundsman/models"
)

// mention is a machine named in a text.
type mention struct {
	from, to int      // tokens
	ids      []string // those who answer to it; empty: none of the sender's does
}

// compact keeps letters and digits.
func compact(s string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || isDigit(r) || r > 127 {
			return r
		}
		return -1
	}, s)
}

// names gives what a machine is called by, compacted: its tag and its id.
func (k Known) names() []string {
	var out []string
	for _, n := range []string{k.Machine.Tag, k.Machine.ID} {
		if c := compact(fold(n)); c != "" && !slices.Contains(out, c) {
			out = append(out, c)
		}
	}
	return out
}

// answering lists the machines that a test holds for.
func (a Asked) answering(test func(Known) bool) []string {
	var out []string
	for _, k := range a.Machines {
		if test(k) {
			out = append(out, k.Machine.ID)
		}
	}
	return a.narrowed(out)
}

// narrowed prefers, of several machines of one name, those that the last
// message was about.
func (a Asked) narrowed(ids []string) []string {
	if len(ids) < 2 {
		return ids
	}
	var asked []string
	for _, id := range ids {
		if slices.Contains(a.About, id) {
			asked = append(asked, id)
		}
	}
	if len(asked) > 0 {
		return asked
	}
	return ids
}

// named lists the machines of a name, compacted.
func (a Asked) named(name string) []string {
	return a.answering(func(k Known) bool { return slices.Contains(k.names(), name) })
}

// mentions finds the machines named in a text and marks their tokens used.
func (a Asked) mentions(ts []token) []mention {
	var out []mention
	for i := 0; i < len(ts); i++ {
		m, ok := a.mentionAt(ts, i)
		if !ok {
			continue
		}
		for k := m.from; k < m.to; k++ {
			ts[k].used = true
		}
		out = append(out, m)
		i = m.to - 1
	}
	return out
}

// mentionAt reads a machine that is named at token i.
func (a Asked) mentionAt(ts []token, i int) (mention, bool) {
	if ts[i].kind != tokWord && ts[i].kind != tokNumber {
		return mention{}, false
	}
	if introWords[ts[i].text] {
		if m, ok := a.introduced(ts, i); ok {
			return m, true
		}
	}
	// A name may be written apart: "R 12" for R12.
	for n := 3; n >= 1; n-- {
		name, ok := joined(ts, i, n)
		if !ok || isNumber(name) || len(name) < 2 {
			continue
		}
		if ids := a.named(name); len(ids) > 0 {
			return mention{i, i + n, ids}, true
		}
	}
	if m, ok := a.afterFigure(ts, i); ok {
		return m, true
	}
	if m, ok := a.bareNumber(ts, i); ok {
		return m, true
	}
	if m, ok := a.byKind(ts, i); ok {
		return m, true
	}
	if ts[i].kind == tokWord && looksLikeTag(ts[i].text) {
		return mention{i, i + 1, nil}, true // a tag that none of the sender's machines bears
	}
	return mention{}, false
}

// introduced reads "unit 4", "# 4", "machine r12", "unit # 4". A number after
// such a word names a machine even where the sender has none of that name.
func (a Asked) introduced(ts []token, i int) (mention, bool) {
	j := i + 1
	for j < len(ts) && j < i+3 && introWords[at(ts, j)] {
		j++
	}
	name, ok := joined(ts, j, 1)
	if !ok || ts[j].kind == tokWord && unitWords[ts[j].text] != UnitNone {
		return mention{}, false
	}
	if n, ok := smallNumbers[name]; ok && len(name) > 2 && ts[j].kind == tokWord {
		name = strconv.Itoa(n) // "unit four"
	}
	ids := a.named(name)
	if len(ids) == 0 && isNumber(name) {
		ids = a.answering(func(k Known) bool { // "unit 12" for R12
			return slices.ContainsFunc(k.names(), func(n string) bool {
				return strings.TrimLeft(n, "abcdefghijklmnopqrstuvwxyz") == name
			})
		})
	}
	if len(ids) == 0 && (ts[j].kind != tokNumber || ts[i].text == "no" || ts[i].text == "number") {
		return mention{}, false // "no problem", "number 6120"
	}
	return mention{i, j + 1, ids}, true
}

// bareNumber reads a number that is a machine's whole name: only where no
// meter of the sender's can show it ("4 done", "R12 and 4"), or where it opens
// a clause and another number follows ("4 is at 6120").
func (a Asked) bareNumber(ts []token, i int) (mention, bool) {
	if ts[i].kind != tokNumber || !isNumber(ts[i].text) {
		return mention{}, false
	}
	ids := a.named(ts[i].text)
	if len(ids) == 0 || unitWords[at(ts, i+1)] != UnitNone || otherUnits[at(ts, i+1)] || clockWords[at(ts, i-1)] {
		return mention{}, false
	}
	if a.nobodyShows(ts[i].vals[0]) {
		return mention{i, i + 1, ids}, true
	}
	if !opens(ts, i) && !ts[i].dash {
		return mention{}, false
	}
	if !numberFollows(ts, i+1) {
		return mention{}, false
	}
	return mention{i, i + 1, ids}, true
}

// afterFigure reads "2150 on 4": a small word, a machine's whole name in
// digits, and a figure before them.
func (a Asked) afterFigure(ts []token, i int) (mention, bool) {
	switch at(ts, i) {
	case "on", "for", "en", "del", "de", "la", "el", "the":
	default:
		return mention{}, false
	}
	name, ok := joined(ts, i+1, 1)
	if !ok || !isNumber(name) || i == 0 {
		return mention{}, false
	}
	ids := a.named(name)
	for k := i - 1; k >= 0 && k >= i-4 && len(ids) > 0; k-- {
		if ts[k].kind == tokNumber && !ts[k].used {
			return mention{i, i + 2, ids}, true
		}
	}
	return mention{}, false
}

// nobodyShows says whether no meter of the sender's machines can show a value.
func (a Asked) nobodyShows(v float64) bool {
	return !slices.ContainsFunc(a.Machines, func(k Known) bool {
		return slices.ContainsFunc(k.meters(UnitNone), func(m models.Meter) bool {
			s := k.span(m)
			return !s.bounded() || s.holds(v)
		})
	})
}

// opens says whether a token begins a clause or an entry of a list.
func opens(ts []token, i int) bool {
	return i == 0 || ts[i-1].kind == tokStrong || ts[i-1].kind == tokWeak || at(ts, i-1) == "and" || at(ts, i-1) == "y" || at(ts, i-1) == "the"
}

// numberFollows says whether another figure comes before the clause ends.
func numberFollows(ts []token, i int) bool {
	for ; i < len(ts) && ts[i].kind != tokStrong && ts[i].kind != tokWeak; i++ {
		if ts[i].kind == tokNumber {
			return true
		}
		if unitWords[ts[i].text] != UnitNone {
			return false // "412 hours 6120": the first was a figure
		}
	}
	return false
}

// byKind reads "the generator" where the sender has one machine of the kind.
func (a Asked) byKind(ts []token, i int) (mention, bool) {
	for _, e := range kinds.at(ts, i) {
		article := at(ts, i-1)
		ids := a.answering(func(k Known) bool { return strings.EqualFold(k.Machine.Kind, e.value) })
		if len(ids) == 1 {
			return mention{i, i + len(e.words), ids}, true
		}
		if len(ids) == 0 && e.value != "pump" && (article == "the" || article == "el" || article == "la" || article == "our" || article == "my") {
			return mention{i, i + len(e.words), nil}, true // a kind of which the sender has none
		}
	}
	return mention{}, false
}

// joined puts n tokens together into a name.
func joined(ts []token, i, n int) (string, bool) {
	var b strings.Builder
	for k := i; k < i+n; k++ {
		if k >= len(ts) || ts[k].used || ts[k].kind != tokWord && ts[k].kind != tokNumber {
			return "", false
		}
		if ts[k].kind == tokNumber && !isNumber(ts[k].text) {
			return "", false
		}
		b.WriteString(compact(ts[k].text))
	}
	return b.String(), b.Len() > 0
}

func isNumber(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }

// looksLikeTag knows one to three letters with one to four digits behind.
func looksLikeTag(s string) bool {
	s = compact(s)
	digits := strings.TrimLeft(s, "abcdefghijklmnopqrstuvwxyz")
	letters := len(s) - len(digits)
	return letters >= 1 && letters <= 3 && isNumber(digits) && len(digits) <= 4
}
