package models_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/roundsman/models"
)

// ITU-T E.164: at most 15 digits with the country code, which does not begin
// with 0. 555-0100 to 555-0199 are kept for fiction (from memory).
func TestValidMobile(t *testing.T) {
	for number, want := range map[string]bool{
		"+12125550100":      true,
		"+123456789012345":  true,  // 15 digits
		"+1234567890123456": false, // 16
		"+02125550100":      false,
		"+5215555550100":    true,
		"+4915755550100":    true,
		"+2905000":          true, // the shortest numbers of small countries have 7 digits
		"+290500":           false,
		"":                  false,
		"+":                 false,
		"12125550100":       false,
		"+1 212 555 0100":   false,
		"+1-212-555-0100":   false,
		"+1212555010O":      false,
		"++12125550100":     false,
		"+12125550100\n":    false,
		"+１２１２５５５０１００":      false,
		"tel:+12125550100":  false,
	} {
		assert.Equal(t, want, models.ValidMobile(number), number)
	}
}

// RFC 5322, 3.2.3 (dot-atom), RFC 5321, 4.5.3.1 (lengths), RFC 1035, 2.3.4
// (labels), RFC 1123, 2.1 (host names).
func TestValidMail(t *testing.T) {
	local64, label63 := strings.Repeat("a", 64), strings.Repeat("b", 63)
	long := local64 + "@" + strings.Join([]string{label63, label63, strings.Repeat("c", 58)}, ".") + ".co" // 254
	assert.Len(t, long, 254)
	for mail, want := range map[string]bool{
		"rosa@example.com":                     true,
		"rosa.lopez+shop@mail.example.org":     true,
		"o'brien@example.com":                  true,
		"!#$%&'*+-/=?^_`{|}~@example.com":      true, // all of atext
		"1@example.com":                        true,
		"x@1and1.example.com":                  true,
		local64 + "@example.com":               true,
		local64 + "a@example.com":              false,
		"a@" + label63 + ".com":                true,
		"a@" + label63 + "b.com":               false,
		long:                                   true,
		"a" + long:                             false,
		"":                                     false,
		"rosa":                                 false,
		"@example.com":                         false,
		"rosa@":                                false,
		"rosa@localhost":                       false,
		"rosa@example":                         false,
		"rosa@example.com.":                    false,
		"rosa@.example.com":                    false,
		"rosa@exa..mple.com":                   false,
		"rosa@-example.com":                    false,
		"rosa@example-.com":                    false,
		"rosa@exam_ple.com":                    false,
		"rosa@192.0.2.1":                       false,
		"rosa@[192.0.2.1]":                     false,
		".rosa@example.com":                    false,
		"rosa.@example.com":                    false,
		"ro..sa@example.com":                   false,
		"ro sa@example.com":                    false,
		`"ro sa"@example.com`:                  false, // allowed by the RFC, refused here
		"rosa@lopez@example.com":               false,
		"Rosa <rosa@example.com>":              false,
		"rosa@example.com,bo@example.com":      false,
		"rosa@example.com\r\nBcc: x@y.example": false,
		"rosa@example.com ":                    false,
		"rosá@example.com":                     false,
		"rosa@exámple.com":                     false,
		"mailto:rosa@example.com":              false,
	} {
		assert.Equal(t, want, models.ValidMail(mail), mail)
	}
}

func TestValidDomain(t *testing.T) {
	for name, want := range map[string]bool{
		"example.com": true, "localhost": true, "a.b-c.d1": true, "xn--exmple-qta.com": true, "3com.example": true,
		"": false, ".": false, "a.": false, "a..b": false, "-a": false, "a-": false, "a b": false, "192.0.2.1": false, "a.1": false,
		strings.Repeat("a.", 126) + "a": true, strings.Repeat("a.", 127) + "a": false,
	} {
		assert.Equal(t, want, models.ValidDomain(name), name)
	}
}

func FuzzAddresses(f *testing.F) {
	for _, s := range []string{"", "rosa@example.com", "+12125550100", "a@b", "@"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if models.ValidMail(s) {
			// What is taken can stand in a header as it is.
			assert.Equal(t, -1, strings.IndexFunc(s, func(r rune) bool { return r <= ' ' || r >= 127 || strings.ContainsRune("<>,;:\"()[]\\", r) }), s)
			assert.Equal(t, 1, strings.Count(s, "@"), s)
		}
		if models.ValidMobile(s) {
			assert.Regexp(t, `^\+[1-9][0-9]{6,14}$`, s)
		}
	})
}
