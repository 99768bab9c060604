package models

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// inspectionSuffix may be written for the end of an id that says "look".
const inspectionSuffix = "_inspection"

// itemWords gives for each item of the catalogue the words for it, the surer
// ones first: id and names, short names, what replies call it.
var itemWords = func() (ranks [3]map[string][]string) {
	for rank, of := range []func(Item) []string{
		func(it Item) []string { return []string{it.ID, it.Name.EN, it.Name.ES} },
		func(it Item) []string { return []string{it.Short.EN, it.Short.ES} },
		func(it Item) []string { return it.Replies },
	} {
		ranks[rank] = map[string][]string{}
		for _, it := range items {
			for _, w := range of(it) {
				if w = foldName(w); !slices.Contains(ranks[rank][w], it.ID) {
					ranks[rank][w] = append(ranks[rank][w], it.ID)
				}
			}
		}
	}
	return ranks
}()

// ItemNamed gives the id of the item that a whole word names: an id, with
// "brakes_inspection" for "brakes_look"; one of own, the shop's ids; else a
// name, short name or trade word in either language, whatever the capitals,
// accents and dashes. A word for two items names none.
func ItemNamed(word string, own ...string) (id string, ok bool) {
	id = strings.TrimSpace(word)
	if slices.Contains(own, id) || place(id) < len(items) {
		return id, true
	}
	if stem, cut := strings.CutSuffix(id, inspectionSuffix); cut && place(stem+"_look") < len(items) {
		return stem + "_look", true
	}
	plain := foldName(word)
	for _, names := range itemWords {
		if ids := names[plain]; len(ids) == 1 {
			return ids[0], true
		}
	}
	for _, o := range own {
		if foldName(o) == plain {
			return o, true
		}
	}
	return "", false
}

// FindItem gives the id of the item that a person means: as ItemNamed does, or
// by the beginning of its words where no other item begins so. Else the error
// names what is near: CodeUnclear where it may be several, CodeInvalid where
// it is none.
func FindItem(said string, own ...string) (string, error) {
	if id, ok := ItemNamed(said, own...); ok {
		return id, nil
	}
	begun := partNamed(said, own)
	if len(begun) == 1 {
		return begun[0], nil
	}
	near := NearItems(said, own...)
	const all = "`roundsman rules list` lists the items"
	if len(near) == 0 {
		return "", Errorf(CodeInvalid, all, "there is no item %q", said)
	}
	named := make([]string, len(near))
	for i, id := range near {
		if named[i] = id; ItemName(id, "en") != id {
			named[i] += " (" + ItemName(id, "en") + ")"
		}
	}
	remedy := fmt.Sprintf("write %s; %s", Listed(named, "or"), all)
	if len(begun) > 1 {
		return "", Errorf(CodeUnclear, remedy, "%q may be more than one item", said)
	}
	return "", Errorf(CodeInvalid, remedy, "there is no item %q", said)
}

// Bounds of what counts as near: characters that a part of a name must have,
// slips in a word, items that are named.
const (
	leastPart = 3
	mostSlips = 2
	mostNear  = 5
)

// NearItems lists the items that a word may mean, at most a few: those in
// whose words it is, else the one that it misspells.
func NearItems(word string, own ...string) []string {
	if part := partNamed(word, own); len(part) > 0 {
		return part[:min(len(part), mostNear)]
	}
	byWord := map[string]string{}
	for _, id := range append(KnownItems(), own...) {
		for _, w := range wordsOf(id) {
			byWord[w] = cmp.Or(byWord[w], id)
		}
	}
	if w := Nearest(foldName(word), slices.Sorted(maps.Keys(byWord)), mostSlips); w != "" {
		return []string{byWord[w]}
	}
	return nil
}

// partNamed lists the items of which a word begins a name or is a whole word
// in one.
func partNamed(word string, own []string) (ids []string) {
	plain := foldName(word)
	if len(plain) < leastPart {
		return nil
	}
	for _, id := range append(KnownItems(), own...) {
		if !slices.Contains(ids, id) && slices.ContainsFunc(wordsOf(id), func(w string) bool {
			return strings.HasPrefix(w, plain) || strings.Contains(" "+w+" ", " "+plain+" ")
		}) {
			ids = append(ids, id)
		}
	}
	return ids
}

// wordsOf gives the words for an item, as foldName writes them.
func wordsOf(id string) []string {
	it := ItemOf(id)
	out := append([]string{it.ID, it.Name.EN, it.Name.ES, it.Short.EN, it.Short.ES}, it.Replies...)
	for i, w := range out {
		out[i] = foldName(w)
	}
	return slices.DeleteFunc(out, func(w string) bool { return w == "" })
}

// accents of Spanish names and what is often typed instead; what parts words.
var accents = strings.NewReplacer("á", "a", "é", "e", "í", "i", "ó", "o", "ú", "u", "ü", "u", "ñ", "n",
	"_", " ", "-", " ", ":", " ", "/", " ", ".", " ")

// foldName gives a name in the form in which names are compared.
func foldName(s string) string {
	return strings.Join(strings.Fields(accents.Replace(strings.ToLower(s))), " ")
}
