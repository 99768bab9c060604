package models

import (
	"maps"
	"slices"
	"strings"
	"time"
)

// Kind is a kind of machine that the program knows, with the words that the
// trade has for it.
type Kind struct {
	ID     string   // as rules name it
	EN, ES string   // its name for people
	Words  []string // further trade words, in either language

	// What a meter of such a machine does not show in its whole life, far above
	// what such machines are worn out at (common practice, no source); MostMiles
	// is 0 where it has no odometer as a rule.
	MostMiles, MostHours float64
}

// Kinds lists every kind that the program knows. Which of them have rules is
// for the rules to say. The words are common practice, no source.
func Kinds() []Kind {
	return []Kind{
		{"utv", "side-by-side", "vehículo utilitario", []string{"sxs", "ssv", "utility vehicle", "utility side by side", "recreational off highway vehicle", "rov", "lado a lado", "todoterreno utilitario"}, 100_000, 15_000},
		{"atv", "quad", "cuatrimoto", []string{"quad bike", "four wheeler", "4 wheeler", "fourwheeler", "all terrain vehicle", "three wheeler", "cuatriciclo", "cuadriciclo", "cuatri"}, 60_000, 12_000},
		{"tractor", "tractor", "tractor", []string{"compact tractor", "utility tractor", "subcompact tractor", "farm tractor", "tractor compacto", "tractor agricola"}, 100_000, 40_000},
		{"generator", "generator", "generador", []string{"gen set", "genset", "gen", "standby generator", "portable generator", "light tower", "grupo electrogeno", "planta electrica", "planta de luz"}, 0, 100_000},
		{"pump", "pump", "bomba", []string{"water pump", "trash pump", "motor pump", "motobomba", "bomba de agua"}, 0, 60_000},
		{"snowmobile", "snowmobile", "moto de nieve", []string{"snow machine", "sled", "snow mobile", "motonieve"}, 50_000, 6_000},
		{"dirtbike", "dirt bike", "moto de campo", []string{"off road motorcycle", "trail bike", "motocross bike", "mx bike", "moto de cross", "moto de trocha"}, 80_000, 6_000},
		{"mower", "mower", "podadora", []string{"lawn mower", "riding mower", "zero turn", "zero turn mower", "ride on mower", "cortacesped", "segadora"}, 0, 15_000},
		{"skid_steer", "skid steer", "minicargadora", []string{"skid steer loader", "skid loader", "compact track loader", "ctl", "minicargador"}, 0, 30_000},
		{"golf_cart", "golf cart", "carrito de golf", []string{"golf car", "golf buggy", "carro de golf"}, 60_000, 30_000},
	}
}

// kindIDs gives the id of a kind by each word for it, as plainKind writes it.
var kindIDs = func() map[string]string {
	ids := map[string]string{}
	for _, k := range Kinds() {
		for _, w := range append([]string{k.ID, k.EN, k.ES}, k.Words...) {
			ids[foldName(w)] = k.ID
		}
	}
	return ids
}()

// KindID gives the id of the kind that a shop's word means: of "side-by-side",
// "Side by Side" or "SXS" it is utv. A word that the program does not know is
// a kind of its own, whatever the case of its letters.
func KindID(word string) string {
	plain := foldName(word)
	for _, w := range []string{plain, strings.TrimSuffix(plain, "s")} {
		if id, ok := kindIDs[w]; ok {
			return id
		}
	}
	return plain
}

// KindName gives what people call a kind in a language (BCP 47); a kind that the
// program does not know is called what the shop calls it.
func KindName(word, lang string) string {
	id := KindID(word)
	for _, k := range Kinds() {
		if k.ID == id {
			return Phrase{EN: k.EN, ES: k.ES}.In(lang)
		}
	}
	return word
}

// Reach is how far one meter of a machine can have run.
type Reach struct {
	most  float64 // miles or hours in its whole life
	miles float64 // of an hour meter: what may be miles by mistake; 0: nothing
	built Date    // of an hour meter: the first day on which it can have run; 0: not known
}

// Reach gives how far one of the machine's meters can have run. A machine of a
// model year is built in the year before at the earliest, and one of a kind that
// the program does not know runs as long as any of the trade (both: common
// practice, no source).
func (m Machine) Reach(meter Meter) Reach {
	k := Kind{MostHours: 100_000}
	if i := slices.IndexFunc(Kinds(), func(k Kind) bool { return k.ID == KindID(m.Kind) }); i >= 0 {
		k = Kinds()[i]
	}
	rolls := k.MostMiles > 0 || m.Meters.Has(Odometer)
	if k.MostMiles == 0 {
		k.MostMiles = 300_000
	}
	if meter == Odometer {
		return Reach{most: k.MostMiles}
	}
	r := Reach{most: k.MostHours}
	if rolls {
		r.miles = k.MostMiles
	}
	if m.Year > 0 {
		r.built = DateOf(time.Date(m.Year-1, 1, 1, 0, 0, 0, 0, time.UTC))
	}
	return r
}

// Beyond says why a meter can hardly have run so far by a day, in miles or
// hours; "" where it can. A day of 0 is not known.
func (r Reach) Beyond(v float64, on Date) (why Reason) {
	switch {
	case v > r.most:
		why = ReasonNeverRuns
	case r.built != 0 && on >= r.built && v > 24*float64(on-r.built+1):
		why = ReasonNotPassed
	default:
		return ""
	}
	if v <= r.miles {
		return ReasonMilesInBox
	}
	return why
}

// Near says whether a meter that stands there may pass the most on its way.
func (r Reach) Near(v float64) bool { return v > r.most/2 }

// NearKind gives the id of the kind that a word probably misspells; "" where
// it is known or like none.
func NearKind(word string) string {
	if _, known := kindIDs[KindID(word)]; known {
		return ""
	}
	return kindIDs[Nearest(foldName(word), slices.Sorted(maps.Keys(kindIDs)), mostSlips)]
}

// Fits says whether a rule is for a machine: whether it has all that the rule
// names.
func (r Rule) Fits(m Machine) bool {
	same := func(want, have string) bool {
		return want == "" || strings.EqualFold(strings.TrimSpace(want), strings.TrimSpace(have))
	}
	return (r.Kind == "" || KindID(r.Kind) == KindID(m.Kind)) && same(r.Make, m.Make) && same(r.Model, m.Model) &&
		(r.Machine == "" || r.Machine == m.ID)
}

// ForNobody says what is odd about a rule for a model of which there is no
// machine, and what to do about it; "" where there is one.
func (r Rule) ForNobody(machines []Machine) (what, remedy string) {
	if r.Model == "" || r.Retired || slices.ContainsFunc(machines, r.Fits) {
		return "", ""
	}
	named := map[string]string{} // as people write them, by how they are compared
	for _, m := range machines {
		if m.Model != "" {
			named[foldName(m.Make+" "+m.Model)] = strings.TrimSpace(m.Make + " " + m.Model)
		}
	}
	remedy = "write a machine's model as its machine has it; the rule waits for one of its own until then"
	if near := Nearest(foldName(r.Make+" "+r.Model), slices.Sorted(maps.Keys(named)), mostSlips); near != "" {
		remedy = "if you mean " + named[near] + ", write that, and take this one away"
	}
	return "is for a model that no machine is of", remedy
}
