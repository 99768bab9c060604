package models_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"example.org/roundsman/models"
)

// 49 CFR 565.15, tables III to V: values of letters, weights, and check digits.
func TestVINCheck(t *testing.T) {
	for vin, want := range map[string]string{
		"1M8GDM9AXKP042788":  "", // the usual worked example: sum 351, remainder 10, X
		"11111111111111111":  "", // sum 89, remainder 1
		"1G4AH59H45G118341":  "", // the regulation's own sample, sum 411, remainder 4
		"1J9RP1A36A1644345":  "", // an outline of the agency, sum 314, remainder 6
		"1m8gdm9axkp042788":  "", // lower case is read the same
		"1M8GDM9A0KP042788":  "has check digit 0 where a road vehicle's VIN would have X: compare it with the plate",
		"1G4AH59H45G118314":  "has check digit 4 where a road vehicle's VIN would have 1: compare it with the plate", // sum 408 = 37 x 11 + 1
		"1M8GDM9AXKPO42788":  "has the letter O, which no VIN has: look whether it is a 1 or a 0",
		"1M8GDM9AXKPi42788":  "has the letter I, which no VIN has: look whether it is a 1 or a 0",
		"1M8GDM9AXKPQ42788":  "has the letter Q, which no VIN has: look whether it is a 1 or a 0",
		"1M8GDM9AXKP-42788":  "has the character '-', which no VIN has",
		"":                   "", // no such number at all
		"12345":              "",
		"1M8GDM9AXKP0427889": "",
	} {
		assert.Equal(t, want, models.VINCheck(vin), vin)
	}
}

// One wrong character is always seen, but for letters of the same value (such
// as A and J) and differences that are a multiple of 11, which cannot arise
// from one character: weights and differences are below 11.
func TestVINCheckSeesOneSlip(t *testing.T) {
	const alphabet = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ"
	value := func(c byte) byte { // by the table's own words
		switch {
		case c <= '9':
			return c - '0'
		case c <= 'H':
			return c - 'A' + 1
		case c <= 'R':
			return c - 'J' + 1
		default:
			return c - 'S' + 2
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		vin := []byte("1M8GDM9AXKP042788")
		i := rapid.IntRange(0, 16).Filter(func(i int) bool { return i != 8 }).Draw(t, "place")
		c := alphabet[rapid.IntRange(0, len(alphabet)-1).Draw(t, "character")]
		same := value(c) == value(vin[i]) || (10*(int(value(c))-int(value(vin[i]))))%11 == 0
		vin[i] = c
		assert.Equal(t, same, models.VINCheck(string(vin)) == "", string(vin))
	})
	assert.NotPanics(t, func() { models.VINCheck(strings.Repeat("ſ", 8) + "a") })
}
