package interval

import (
	"cmp"
	"maps"
	"math"
	"slices"
	"strings"

	"example.org/roundsman/models"
)

// Precision of a rule: the more narrowly it says which machines it is for, the
// more it counts. One machine beats make and model, which beats a kind.
const (
	forKind    = 1
	forHalf    = 2 // a make or a model alone
	forModel   = 4 // make and model
	forMachine = 8
)

// Book is a set of rules laid out for looking up those of a machine. It never
// changes and may be asked from everywhere at once.
type Book struct {
	byMachine map[string][]models.Rule
	byModel   map[string][]models.Rule // by make and model, folded
	byKind    map[string][]models.Rule // folded
	other     []models.Rule            // a make or a model alone
}

// NewBook lays out rules. Of several with the same key the one written last
// (the highest row, else the later in the list) holds; where that one is
// retired, none does. A rule that names no kind, make, model or machine is for
// no machine.
func NewBook(rules []models.Rule) *Book {
	last := make(map[models.RuleKey]models.Rule, len(rules))
	for _, r := range rules {
		k := foldKey(r.Key())
		if old, ok := last[k]; !ok || r.Row >= old.Row {
			last[k] = r
		}
	}
	b := &Book{byMachine: map[string][]models.Rule{}, byModel: map[string][]models.Rule{}, byKind: map[string][]models.Rule{}}
	for _, k := range slices.SortedFunc(maps.Keys(last), compareKeys) {
		switch r := last[k]; {
		case r.Retired || r.Item == "":
		case k.Machine != "":
			b.byMachine[k.Machine] = append(b.byMachine[k.Machine], r)
		case k.Make != "" && k.Model != "":
			b.byModel[modelKey(k.Make, k.Model)] = append(b.byModel[modelKey(k.Make, k.Model)], r)
		case k.Make != "" || k.Model != "":
			b.other = append(b.other, r)
		case k.Kind != "":
			b.byKind[k.Kind] = append(b.byKind[k.Kind], r)
		}
	}
	return b
}

// For gives the rules that hold for a machine, one for each item that fits it,
// by item. Under severe duty their limits are multiplied by the rule's severe
// factor; months are rounded down, but not to none.
func (b *Book) For(m models.Machine) []models.Rule {
	best := map[string]models.Rule{}
	for _, list := range [][]models.Rule{b.byKind[models.KindID(m.Kind)], b.other,
		b.byModel[modelKey(m.Make, m.Model)], b.byMachine[m.ID]} {
		for _, r := range list {
			if !r.Fits(m) || !models.Fits(r.Item, m) {
				continue
			}
			if old, ok := best[r.Item]; !ok || outranks(r, old) {
				best[r.Item] = r
			}
		}
	}
	out := slices.SortedFunc(maps.Values(best), func(a, b models.Rule) int { return cmp.Compare(a.Item, b.Item) })
	if m.Duty == models.DutySevere {
		for i := range out {
			out[i] = tighten(out[i])
		}
	}
	return out
}

// Resolve gives the rules that hold for one machine, as Book.For does. For
// many machines make a Book once.
func Resolve(rules []models.Rule, m models.Machine) []models.Rule {
	return NewBook(rules).For(m)
}

// outranks says whether r holds where old would hold too.
func outranks(r, old models.Rule) bool {
	if a, b := precision(r), precision(old); a != b {
		return a > b
	}
	return r.Row > old.Row
}

func precision(r models.Rule) int {
	p := 0
	if r.Machine != "" {
		p += forMachine
	}
	switch {
	case r.Make != "" && r.Model != "":
		p += forModel
	case r.Make != "" || r.Model != "":
		p += forHalf
	}
	if r.Kind != "" {
		p += forKind
	}
	return p
}

// tighten multiplies a rule's limits by its severe factor. A factor outside
// 0.1..1 is left aside: config and import refuse it.
func tighten(r models.Rule) models.Rule {
	f := r.SevereFactor
	if !f.Known || f.F < 0.1 || f.F >= 1 {
		return r
	}
	for _, n := range []*models.Number{&r.Miles, &r.Hours, &r.FirstMiles, &r.FirstHours} {
		n.F *= f.F
	}
	for _, n := range []*int{&r.Months, &r.FirstMonths} {
		if *n > 0 {
			// A hair is added so that 10 months times 0.7 are 7.
			*n = max(1, int(math.Floor(float64(*n)*f.F+1e-9)))
		}
	}
	return r
}

func fold(s string) string { return strings.ToLower(strings.TrimSpace(s)) }

func modelKey(maker, model string) string { return fold(maker) + "\x00" + fold(model) }

func foldKey(k models.RuleKey) models.RuleKey {
	return models.RuleKey{Kind: models.KindID(k.Kind), Make: fold(k.Make), Model: fold(k.Model), Machine: k.Machine, Item: k.Item}
}

func compareKeys(a, b models.RuleKey) int {
	return cmp.Or(cmp.Compare(a.Item, b.Item), cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Make, b.Make),
		cmp.Compare(a.Model, b.Model), cmp.Compare(a.Machine, b.Machine))
}
