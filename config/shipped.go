package config

import (
	"crypto/sha256"
	_ "embed" // the rules that come with the program
	"encoding/hex"
	"fmt"

	"example.org/roundsman/models"
)

//go:embed shipped.toml
var shippedRules []byte

// ShippedNote marks every rule that comes with the program.
const ShippedNote = "common practice, no source; set the maker's figures"

// Shipped gives the rules and teardowns that come with the program, for the
// kinds utv, atv, tractor and generator. Rules have the origin
// models.OriginShipped. The error is one of the program and never of its user.
func Shipped() (*RuleFile, error) {
	f, err := ParseRules("shipped.toml", shippedRules)
	if err != nil {
		return nil, fmt.Errorf("reading the rules that come with the program: %w", err)
	}
	for i := range f.Rules {
		f.Rules[i].Origin = models.OriginShipped
	}
	return f, nil
}

// ShippedDigest tells the shipped rules of one version from those of another.
func ShippedDigest() string { return Digest(shippedRules) }

// Digest gives the SHA-256 of a rules file, in hexadecimal digits.
func Digest(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}
