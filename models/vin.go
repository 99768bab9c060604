package models

import (
	"fmt"
	"strings"
)

// vinLength is the length of a vehicle identification number (49 CFR 565.13).
const vinLength = 17

// vinWeights are the weights of the positions of a VIN; that of the check
// digit is 0 (49 CFR 565.15(c), table IV).
var vinWeights = [vinLength]int{8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2}

// vinLetters gives the value of a letter as its place in a row of nine
// (49 CFR 565.15(c), table III): A J = 1, B K S = 2 ... I, O and Q are not
// used, nor are the places of a dot.
var vinLetters = [...]string{"ABCDEFGH.", "JKLMN.P.R", ".STUVWXYZ"}

// VINCheck gives a warning, in words that follow "serial ...", when a serial
// number of 17 characters does not stand the check of a road vehicle's VIN
// (49 CFR 565.15); "" when it does, or when it is no such number at all.
//
// It is a reason to look at the plate again and never one to refuse:
// off-road machines often have a 17-character number without a valid check
// digit, and one wrong number in eleven passes by chance.
func VINCheck(serial string) string {
	if len(serial) != vinLength {
		return ""
	}
	sum := 0
	for i := range vinLength {
		c := upper(serial[i])
		v, ok := vinValue(c)
		if !ok {
			if strings.IndexByte("IOQ", c) >= 0 {
				return fmt.Sprintf("has the letter %c, which no VIN has: look whether it is a 1 or a 0", c)
			}
			return fmt.Sprintf("has the character %q, which no VIN has", rune(c))
		}
		sum += v * vinWeights[i]
	}
	want := "0123456789X"[sum%11]
	got := upper(serial[8])
	if got == want {
		return ""
	}
	return fmt.Sprintf("has check digit %c where a road vehicle's VIN would have %c: compare it with the plate", got, want)
}

// upper gives an ASCII letter in upper case and every other byte as it is.
func upper(c byte) byte {
	if c >= 'a' && c <= 'z' {
		return c - 'a' + 'A'
	}
	return c
}

// vinValue gives the value of a character of a VIN.
func vinValue(c byte) (int, bool) {
	if c >= '0' && c <= '9' {
		return int(c - '0'), true
	}
	for _, row := range vinLetters {
		if i := strings.IndexByte(row, c); i >= 0 && c != '.' {
			return i + 1, true
		}
	}
	return 0, false
}
