package models

import (
	"maps"
	"slices"
	"strings"
)

// Kind is a kind of machine that the program knows, with the words that the
// trade has for it.
type Kind struct {
	ID     string   // as rules name it
	EN, ES string   // its name for people
	Words  []string // further trade words, in either language
}

// Kinds lists every kind that the program knows. Which of them have rules is
// for the rules to say. The words are common practice, no source.
func Kinds() []Kind {
	return []Kind{
		{"utv", "side-by-side", "vehículo utilitario", []string{"sxs", "ssv", "utility vehicle", "utility side by side", "recreational off highway vehicle", "rov", "lado a lado", "todoterreno utilitario"}},
		{"atv", "quad", "cuatrimoto", []string{"quad bike", "four wheeler", "4 wheeler", "fourwheeler", "all terrain vehicle", "three wheeler", "cuatriciclo", "cuadriciclo", "cuatri"}},
		{"tractor", "tractor", "tractor", []string{"compact tractor", "utility tractor", "subcompact tractor", "farm tractor", "tractor compacto", "tractor agricola"}},
		{"generator", "generator", "generador", []string{"gen set", "genset", "gen", "standby generator", "portable generator", "light tower", "grupo electrogeno", "planta electrica", "planta de luz"}},
		{"pump", "pump", "bomba", []string{"water pump", "trash pump", "motor pump", "motobomba", "bomba de agua"}},
		{"snowmobile", "snowmobile", "moto de nieve", []string{"snow machine", "sled", "snow mobile", "motonieve"}},
		{"dirtbike", "dirt bike", "moto de campo", []string{"off road motorcycle", "trail bike", "motocross bike", "mx bike", "moto de cross", "moto de trocha"}},
		{"mower", "mower", "podadora", []string{"lawn mower", "riding mower", "zero turn", "zero turn mower", "ride on mower", "cortacesped", "segadora"}},
		{"skid_steer", "skid steer", "minicargadora", []string{"skid steer loader", "skid loader", "compact track loader", "ctl", "minicargador"}},
		{"golf_cart", "golf cart", "carrito de golf", []string{"golf car", "golf buggy", "carro de golf"}},
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
