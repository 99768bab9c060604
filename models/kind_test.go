package models_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/roundsman/models"
)

// The words are those of the trade: common practice, no source.
func TestTradeWordsAreTheirKinds(t *testing.T) {
	for word, want := range map[string]string{
		"utv": "utv", "UTV": "utv", "side-by-side": "utv", "Side by Side": "utv", "side by sides": "utv", "sxs": "utv", "SxS": "utv",
		"quad": "atv", "Four-Wheeler": "atv", "4-wheeler": "atv", "Cuatrimoto": "atv",
		"gen set": "generator", "GenSet": "generator", "gen-set": "generator", "grupo electrógeno": "generator",
		"snow machine": "snowmobile", "skid_steer": "skid_steer", "Skid Steer": "skid_steer", "golf carts": "golf_cart",
		"Rotavator": "rotavator", "  wood  chipper ": "wood chipper",
	} {
		assert.Equal(t, want, models.KindID(word), word)
	}
}

// TestNoWordMeansTwoKinds: each word of the catalogue leads to its own kind.
func TestNoWordMeansTwoKinds(t *testing.T) {
	for _, k := range models.Kinds() {
		for _, w := range append([]string{k.ID, k.EN, k.ES}, k.Words...) {
			assert.Equal(t, k.ID, models.KindID(w), w)
		}
	}
}

func TestKindsHaveTheirNames(t *testing.T) {
	assert.Equal(t, "side-by-side", models.KindName("SxS", "en"))
	assert.Equal(t, "cuatrimoto", models.KindName("atv", "es-MX"))
	assert.Equal(t, "Wood chipper", models.KindName("Wood chipper", "es"), "the shop's own word")
}
