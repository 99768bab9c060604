package smpp

import (
	"errors"
	"strings"
)

// Types of number and numbering plans (sections 5.2.5, 5.2.6).
const (
	tonInternational = 1
	tonNational      = 2
	tonNetwork       = 3
	tonAlphanumeric  = 5
	npiISDN          = 1
)

// errAddress is given for an address that is no phone number.
var errAddress = errors.New("is not a phone number: write + and 7 to 15 digits, country code first")

// ErrSender is given for a sender that no center can take.
var ErrSender = errors.New("is not a sender: write +number, a short code of 3 to 8 digits, or up to 11 letters and digits")

// destAddress gives the address of a number in E.164 with its plus: at most
// 15 digits, the first not 0 (ITU-T E.164).
func destAddress(number string) (Address, error) {
	digits, ok := strings.CutPrefix(number, "+")
	if !ok || !isDigits(digits) || digits[0] == '0' || len(digits) < 7 || len(digits) > 15 {
		return Address{}, errAddress
	}
	return Address{TON: tonInternational, NPI: npiISDN, Digits: digits}, nil
}

// sourceAddress gives the address of a sender: a number with or without its
// plus, a short code, a name of up to 11 characters, or "" for the sender
// that the center has on file.
func sourceAddress(sender string) (Address, error) {
	digits := strings.TrimPrefix(sender, "+")
	switch {
	case sender == "":
		return Address{}, nil
	case isDigits(digits) && len(digits) >= 9 && len(digits) <= 15:
		return Address{TON: tonInternational, NPI: npiISDN, Digits: digits}, nil
	case digits == sender && isDigits(digits) && len(digits) >= 3 && len(digits) <= 8:
		return Address{TON: tonNetwork, Digits: digits}, nil
	case !isDigits(digits) && len(sender) <= 11 && isPlainName(sender):
		return Address{TON: tonAlphanumeric, Digits: sender}, nil
	}
	return Address{}, ErrSender
}

func isPlainName(s string) bool {
	for _, r := range s {
		ok := r == ' ' || r == '-' || r == '.' || r == '&' || r == '_' ||
			'0' <= r && r <= '9' || 'A' <= r && r <= 'Z' || 'a' <= r && r <= 'z'
		if !ok {
			return false
		}
	}
	return true
}

// Number gives an address as it is written for people: international numbers
// with their plus; a national one too, where the country's calling code is
// known. Centers differ in how they mark numbers, so ten digits and more of
// unknown type are taken as international unless they are as long as national
// ones (10) and a country is given.
func (a Address) Number(country string) string {
	d := strings.TrimPrefix(strings.TrimSpace(a.Digits), "+")
	switch {
	case !isDigits(d) || a.TON == tonAlphanumeric || a.TON == tonNetwork && len(d) <= 8:
		return a.Digits
	case strings.HasPrefix(a.Digits, "+"):
		return "+" + d
	case a.TON == tonInternational:
		return "+" + strings.TrimPrefix(d, "00")
	case country != "" && (a.TON == tonNational || a.TON == 0 && len(d) == 10):
		return "+" + country + strings.TrimPrefix(d, "0")
	case len(d) >= 10 && d[0] != '0':
		return "+" + d
	}
	return a.Digits
}
